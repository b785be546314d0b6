#include "fitwright/service/solid/known_solids.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <utility>

#include "fitwright/model/material.h"
#include "fitwright/recognize/drawn_sizes.h"
#include "fitwright/solid/build.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/measure.h"

namespace fitwright::service {
namespace {

constexpr double kShare = 1e-6;  // of the volume, what a file's own writing may change
constexpr double kNoise_mm3 = 1e-3;
constexpr double kBox_mm = 1e-3;

struct Measured {
  solid::Solid solid;
  double volume_mm3 = 0;
  Vec3 middle_mm = Vec3::Zero();
};

Measured Measure(const solid::Solid& solid) {
  return {solid, solid::CalcVolume_mm3(solid), solid::CalcCentroid_mm(solid)};
}

struct Candidate {
  PartId part;
  std::vector<Pose> places_X_WP;
  std::vector<Measured> drawn_P;  // ways of drawing it
};

bool HasLimits(const Part& part) {
  return std::any_of(part.features.begin(), part.features.end(), [](const Feature& feature) {
    const Size* size = recognize::SpokenSize(feature);
    return size != nullptr && std::abs(size->middle_mm() - size->nominal_mm) > kGeometryNoise_mm;
  });
}

// Tapped holes that end flat, as models often have them; nothing where the part has none with a point.
std::optional<Part> EndedFlat(Part part) {
  bool any = false;
  for (Feature& feature : part.features) {
    auto* hole = std::get_if<Hole>(&feature.shape);
    if (hole == nullptr || !hole->thread || hole->through || hole->bottom == HoleBottom::kFlat) continue;
    hole->bottom = HoleBottom::kFlat;
    any = true;
  }
  return any ? std::optional(std::move(part)) : std::nullopt;
}

std::vector<Measured> WaysOfDrawing(const Part& part, const std::filesystem::path& dir) {
  std::vector<Measured> ways;
  if (!part.unread.empty()) {
    const auto beside = solid::ReadStep((dir / "parts" / (part.name.text() + ".step")).string());
    if (beside && beside->shapes.size() == 1)
      ways.push_back(Measure(solid::Moved(beside->shapes[0], beside->placed[0].X_WF)));
    return ways;
  }
  if (const auto middle = solid::MakeDesign(part)) ways.push_back(Measure(*middle));
  if (const auto flat = EndedFlat(recognize::AtNominals(part))) {
    if (const auto design = solid::MakeDesign(*flat)) ways.push_back(Measure(*design));
  }
  if (!HasLimits(part)) return ways;
  if (const auto named = solid::MakeDesign(recognize::AtNominals(part))) ways.push_back(Measure(*named));
  return ways;
}

// The ways to turn a frame that lies along a part's faces by right angles, and its own middle onto the
// part's.
std::vector<Pose> QuarterTurns(const Pose& X_PF, const Vec3& middle_F, const Vec3& middle_P) {
  std::vector<Pose> poses;
  std::array<int, 3> order{0, 1, 2};
  do {
    for (int signs = 0; signs < 8; ++signs) {
      Eigen::Matrix3d turn = Eigen::Matrix3d::Zero();
      for (int k = 0; k < 3; ++k)
        turn(order[static_cast<std::size_t>(k)], k) = (signs >> k & 1) != 0 ? -1 : 1;
      if (turn.determinant() < 0) continue;
      Pose pose = Pose::Identity();
      pose.linear() = turn * X_PF.linear();
      pose.translation() = middle_P - pose.linear() * middle_F;
      poses.push_back(pose);
    }
  } while (std::next_permutation(order.begin(), order.end()));
  return poses;
}

class Finder {
 public:
  Finder(const Machine& confirmed, const std::filesystem::path& dir, const solid::StepContents& contents,
         const ShapesRead& shapes)
      : contents_(contents), shapes_(shapes) {
    for (const auto* uses : {&confirmed.uses, &confirmed.bought_uses}) {
      for (const PartUse& use : *uses) {
        const Part* part = confirmed.FindPart(use.part);
        if (part == nullptr) continue;
        Candidate candidate{use.part, {use.X_WP}, WaysOfDrawing(*part, dir)};
        candidate.places_X_WP.insert(candidate.places_X_WP.end(), use.copies_X_WP.begin(), use.copies_X_WP.end());
        candidates_.push_back(std::move(candidate));
      }
    }
  }

  std::optional<KnownSolid> Find(std::size_t shape) const {
    const Measured file = Measure(contents_.shapes[shape]);
    std::optional<KnownSolid> elsewhere;
    for (const Candidate* candidate : InOrder(shape)) {
      for (const Measured& drawn : candidate->drawn_P) {
        if (std::abs(drawn.volume_mm3 - file.volume_mm3) > kShare * file.volume_mm3 + kNoise_mm3) continue;
        for (const Pose& X_PF : PlacesInFile(shape, *candidate)) {
          if (Same(drawn, file, X_PF)) return KnownSolid{candidate->part, shape, X_PF};
        }
        if (elsewhere) continue;
        const Pose& X_BF = shapes_.at(shape).reading.X_PF;
        for (const Pose& X_PF : QuarterTurns(X_BF, file.middle_mm, drawn.middle_mm)) {
          if (!Same(drawn, file, X_PF)) continue;
          elsewhere = KnownSolid{candidate->part, shape, X_PF};
          break;
        }
      }
    }
    return elsewhere;
  }

 private:
  // Those of the solid's own name first.
  std::vector<const Candidate*> InOrder(std::size_t shape) const {
    const std::string name = SheetName(shapes_.at(shape).in_file);
    std::vector<const Candidate*> order;
    for (const Candidate& one : candidates_) order.push_back(&one);
    std::stable_partition(order.begin(), order.end(), [&](const Candidate* one) { return one->part.text() == name; });
    return order;
  }

  std::vector<Pose> PlacesInFile(std::size_t shape, const Candidate& candidate) const {
    std::vector<Pose> poses;
    for (const solid::PlacedShape& placed : contents_.placed) {
      if (placed.shape != shape) continue;
      for (const Pose& X_WP : candidate.places_X_WP) {
        const Pose X_PF = X_WP.inverse() * placed.X_WF;
        const bool known = std::any_of(poses.begin(), poses.end(), [&](const Pose& p) {
          return (p.matrix() - X_PF.matrix()).norm() < 1e-9;
        });
        if (!known) poses.push_back(X_PF);
      }
    }
    return poses;
  }

  static bool Same(const Measured& drawn, const Measured& file, const Pose& X_PF) {
    if ((X_PF * file.middle_mm - drawn.middle_mm).norm() > kBox_mm) return false;
    const Box3 a = solid::CalcBox(drawn.solid);
    const Box3 b = solid::CalcBoxIn(file.solid, X_PF);
    if ((a.min_mm - b.min_mm).norm() > kBox_mm || (a.max_mm - b.max_mm).norm() > kBox_mm) return false;
    const auto rest = solid::CalcSymmetricDifference_mm3(drawn.solid, solid::Moved(file.solid, X_PF));
    return rest && *rest <= kShare * drawn.volume_mm3 + kNoise_mm3;
  }

  const solid::StepContents& contents_;
  const ShapesRead& shapes_;
  std::vector<Candidate> candidates_;
};

}  // namespace

Result<std::vector<KnownSolid>> FindKnownSolids(const Machine& confirmed, const std::filesystem::path& dir,
                                                const solid::StepContents& contents, const ShapesRead& shapes,
                                                const WorkOptions& work) {
  work.Report("finding what is known", 0.8);
  const Finder finder(confirmed, dir, contents, shapes);
  std::vector<KnownSolid> known;
  for (const auto& [shape, read] : shapes) {
    if (work.cancelled()) return Unexpected(Error{ErrorCode::kStopped, "stopped before the file was read", {}, {}, {}});
    if (const auto found = finder.Find(shape)) known.push_back(*found);
  }
  return known;
}

double SharedBox(const Part& part, const Pose& X_WP, const solid::Solid& solid, const Pose& X_WF) {
  const Box3 a = CalcEnvelope(part);
  const Box3 b = solid::CalcBoxIn(solid, X_WP.inverse() * X_WF);
  const Vec3 shared = (a.max_mm.cwiseMin(b.max_mm) - a.min_mm.cwiseMax(b.min_mm)).cwiseMax(0);
  const double most = std::max(a.size_mm().prod(), b.size_mm().prod());
  return most > 0 ? shared.prod() / most : 0;
}

}  // namespace fitwright::service
