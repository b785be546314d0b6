// Holes cut in one go through pieces that are held together: one hole, as deep as all of them.
#include "fitwright/planner/process_together.h"

#include <algorithm>
#include <cmath>

namespace fitwright::planner {
namespace {

// A hole as the tool comes to it.
struct Shaft {
  Vec3 top_S = Vec3::Zero();
  double bottom_z = 0;
};

std::vector<Shaft> ShaftsOf(const Hole& hole, const Pose& X_PS) {
  const Pose X_SP = X_PS.inverse();
  std::vector<Shaft> shafts;
  for (const Vec3& entry : hole.entries_P_mm) {
    const Vec3 a = X_SP * entry;
    const Vec3 b = X_SP * Vec3(entry + hole.into_P * hole.depth_mm);
    shafts.push_back({a.z() > b.z() ? a : b, std::min(a.z(), b.z())});
  }
  return shafts;
}

Unexpected NotTogether(const FeatureRef& ref, const std::string& why) {
  return Unexpected(Error{ErrorCode::kNoPlan,
                          fmt::format("{}: {}", ref.text(), why),
                          ref.text(),
                          "drill the two parts by themselves",
                          {}});
}

const PieceInSetup* PieceOf(const CutContext& context, const PartId& part) {
  for (const PieceInSetup& piece : context.pieces) {
    if (piece.part->name == part) return &piece;
  }
  return nullptr;
}

}  // namespace

bool GoesThroughBoth(const CutRequest& request) {
  return request.technique == Technique::kDrillTogether ||
         request.technique == Technique::kReamDowels || request.technique == Technique::kBoreInLine;
}

Result<JoinedHoles> JoinHoles(const CutContext& context, const CutRequest& request) {
  const FeatureRef& lead = request.features.front();
  JoinedHoles joined;
  joined.piece = *PieceOf(context, lead.part);
  joined.feature = *joined.piece.part->Find(lead.feature);
  auto& hole = std::get<Hole>(joined.feature.shape);
  const std::vector<Shaft> upper = ShaftsOf(hole, joined.piece.X_PS);
  double bottom = upper.front().bottom_z;
  for (const FeatureRef& ref : request.features) {
    const PieceInSetup* piece = PieceOf(context, ref.part);
    const Feature* feature = piece == nullptr ? nullptr : piece->part->Find(ref.feature);
    const auto* own = feature == nullptr ? nullptr : std::get_if<Hole>(&feature->shape);
    if (own == nullptr) return NotTogether(ref, "it is no hole of a part that stands here");
    if (std::abs((piece->X_PS.linear().transpose() * own->into_P).z()) < 1 - kDirection)
      return NotTogether(ref, "its holes do not run along the spindle");
    if (std::abs(own->diameter.middle_mm() - hole.diameter.middle_mm()) > kDrawnAlike_mm)
      return NotTogether(ref, "its holes are not as wide as those above");
    for (const Shaft& shaft : ShaftsOf(*own, piece->X_PS)) {
      const bool on_line = std::any_of(upper.begin(), upper.end(), [&](const Shaft& u) {
        return (u.top_S - shaft.top_S).head<2>().norm() < kDrawnAlike_mm &&
               u.top_S.z() > shaft.top_S.z() - kDrawnAlike_mm;
      });
      if (!on_line) return NotTogether(ref, "no hole stands over it");
      if (shaft.bottom_z > bottom - kZone_mm) continue;
      bottom = shaft.bottom_z;
      hole.through = own->through;
      hole.bottom = own->bottom;
    }
    joined.piece.piece_S.min_mm = joined.piece.piece_S.min_mm.cwiseMin(piece->piece_S.min_mm);
    joined.piece.piece_S.max_mm = joined.piece.piece_S.max_mm.cwiseMax(piece->piece_S.max_mm);
  }
  hole.into_P = -joined.piece.X_PS.linear().col(2);
  for (std::size_t i = 0; i < upper.size(); ++i)
    hole.entries_P_mm[i] = joined.piece.X_PS * upper[i].top_S;
  hole.depth_mm = upper.front().top_S.z() - bottom;
  return joined;
}

}  // namespace fitwright::planner
