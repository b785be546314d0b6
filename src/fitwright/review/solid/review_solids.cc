#include "fitwright/review/solid/review_solids.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "fitwright/review/metal.h"
#include "fitwright/review/wall_points.h"
#include "fitwright/solid/build.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/measure.h"
#include "fitwright/trade/materials.h"

namespace fitwright::review {
namespace {

// Shared space that is no more than noise of coincident faces.
constexpr double kOverlapAllowed_mm3 = 0.05;
constexpr std::size_t kRaysAFeature = 60;
// Rays start this far inside the metal, so that a surface exactly on the wall does not count twice.
constexpr double kStart_mm = 1e-4;
constexpr double kNoise_mm = 1e-3;

// A ray at a solid costs: the closed form has looked at every point already.
std::vector<WallPoint> Some(const std::vector<WallPoint>& points) {
  const std::size_t step = points.size() / kRaysAFeature + 1;
  std::vector<WallPoint> some;
  for (std::size_t i = 0; i < points.size(); ++i) {
    if (points[i].floor || i % step == 0) some.push_back(points[i]);
  }
  return some;
}

Status ReviewPartWalls(const Part& part, const solid::Solid& body, const ReviewLimits& limits,
                       std::vector<Finding>& findings) {
  // Where the wall is air, the cut opens into something and nothing is said.
  const auto metal = [&](const Vec3& from, const Vec3& way) -> Result<std::optional<double>> {
    return solid::FindThickness_mm(body, from + kStart_mm * way, way);
  };
  for (const Feature& feature : part.features) {
    const double least_mm = LeastWallOf(part, feature, limits);
    const auto wall_mm =
        FindThinWall_mm(Some(WallPointsOf(part, feature)), least_mm - kNoise_mm, metal);
    if (!wall_mm) return Unexpected(wall_mm.error());
    if (!*wall_mm) continue;
    findings.push_back({Rule::kWallThin, part.name.text() + "." + feature.name.text(),
                        fmt::format("{} leaves {:.2f} mm beside or below it, least {:.2f} mm",
                                    feature.name.text(), **wall_mm, least_mm),
                        "move it, or make it smaller or shallower"});
  }
  return Ok{};
}

Status ReviewPart(const Piece& piece, const solid::Solid& body, const ReviewLimits& limits,
                  std::vector<Finding>& findings) {
  if (piece.bought != nullptr) return Ok{};
  const std::size_t pieces = solid::CountPieces(body);
  if (pieces != 1 || !solid::IsValid(body)) {
    findings.push_back({Rule::kNotOnePiece, piece.part->name.text(),
                        fmt::format("what is drawn is {} pieces of metal", pieces),
                        "look for cuts that go right through"});
  }
  return ReviewPartWalls(*piece.part, body, limits, findings);
}

bool MayOverlap(const Machine& machine, const Piece& a, const Piece& b) {
  // Sheet gives way where something is clamped under it.
  for (const Piece* piece : {&a, &b}) {
    const trade::Material* material = trade::FindMaterial(piece->part->material);
    if (material != nullptr && material->kind == trade::MaterialKind::kGasketSheet) return true;
  }
  return std::any_of(machine.joints.begin(), machine.joints.end(), [&](const Joint& j) {
    const bool pair = (j.fixed.part == a.id && j.moving.part == b.id) ||
                      (j.fixed.part == b.id && j.moving.part == a.id);
    return pair && (j.kind == JointKind::kPressFit || j.kind == JointKind::kBearingSeat ||
                    j.kind == JointKind::kBearingOnShaft);
  });
}

Status ReviewPairs(const Machine& machine, const std::vector<Piece>& pieces,
                   const std::vector<solid::Solid>& placed, std::vector<Finding>& findings) {
  for (std::size_t i = 0; i < placed.size(); ++i) {
    for (std::size_t j = i + 1; j < placed.size(); ++j) {
      if (MayOverlap(machine, pieces[i], pieces[j])) continue;
      const auto common = solid::CalcCommonVolume_mm3(placed[i], placed[j]);
      if (!common) return Unexpected(common.error());
      if (*common <= kOverlapAllowed_mm3) continue;
      findings.push_back({Rule::kPartsOverlap, pieces[i].id.text() + " and " + pieces[j].id.text(),
                          fmt::format("the two share {:.2f} mm3 as drawn and placed", *common),
                          "look at their places in machine.toml and at what stands in the way"});
    }
  }
  return Ok{};
}

}  // namespace

Result<std::vector<Finding>> ReviewSolids(const Machine& machine, const ReviewLimits& limits,
                                          const WorkOptions& work) {
  std::vector<Finding> findings;
  std::vector<solid::Solid> placed;
  const std::vector<Piece> pieces = PiecesOf(machine);
  std::optional<solid::Solid> body;
  for (const Piece& piece : pieces) {
    if (work.cancelled()) {
      return Unexpected(Error{ErrorCode::kStopped, "stopped while looking at solids", "", "", {}});
    }
    work.Report("looking at solids",
                static_cast<double>(placed.size()) / static_cast<double>(pieces.size()));
    // Copies follow their part.
    const bool first = placed.empty() || pieces[placed.size() - 1].part != piece.part;
    if (first) {
      auto made = solid::MakeDesign(*piece.part);
      if (!made) return Unexpected(made.error());
      body = *std::move(made);
      if (auto status = ReviewPart(piece, *body, limits, findings); !status) {
        return Unexpected(status.error());
      }
    }
    placed.push_back(solid::Moved(*body, piece.X_WP));
  }
  if (auto status = ReviewPairs(machine, pieces, placed, findings); !status) {
    return Unexpected(status.error());
  }
  return findings;
}

}  // namespace fitwright::review
