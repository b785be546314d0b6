#include "fitwright/review/solid/review_solids.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "fitwright/review/wall_points.h"
#include "fitwright/solid/build.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/measure.h"

namespace fitwright::review {
namespace {

// Shared space that is no more than noise of coincident faces.
constexpr double kOverlapAllowed_mm3 = 0.05;
// Rays start this far inside the metal, so that a surface exactly on the wall does not count twice.
constexpr double kStart_mm = 1e-4;
constexpr double kNoise_mm = 1e-3;

Status ReviewPartWalls(const Part& part, const solid::Solid& body, const ReviewLimits& limits,
                       std::vector<Finding>& findings) {
  // Where the wall is air, the cut opens into something and nothing is said.
  const auto metal = [&](const Vec3& from, const Vec3& way) -> Result<std::optional<double>> {
    const Vec3 start = from + kStart_mm * way;
    if (!solid::IsInside(body, start)) return std::optional<double>();
    return solid::FindThickness_mm(body, start, way);
  };
  for (const Feature& feature : part.features) {
    const auto wall_mm = CalcLeastWall_mm(WallPointsOf(part, feature), metal);
    if (!wall_mm) return Unexpected(wall_mm.error());
    const double least_mm = LeastWallOf(part, feature, limits);
    if (!*wall_mm || **wall_mm >= least_mm - kNoise_mm) continue;
    findings.push_back({Rule::kWallThin, part.name.text() + "." + feature.name.text(),
                        fmt::format("{} leaves {:.2f} mm beside or below it, least {:.2f} mm",
                                    feature.name.text(), **wall_mm, least_mm),
                        "move it, or make it smaller or shallower"});
  }
  return Ok{};
}

bool PressedTogether(const Machine& machine, const PartId& a, const PartId& b) {
  return std::any_of(machine.joints.begin(), machine.joints.end(), [&](const Joint& j) {
    const bool pair = (j.fixed.part == a && j.moving.part == b) ||
                      (j.fixed.part == b && j.moving.part == a);
    return pair && (j.kind == JointKind::kPressFit || j.kind == JointKind::kBearingSeat);
  });
}

Status ReviewPairs(const Machine& machine, const std::vector<solid::Solid>& placed,
                   std::vector<Finding>& findings) {
  for (std::size_t i = 0; i < placed.size(); ++i) {
    for (std::size_t j = i + 1; j < placed.size(); ++j) {
      const PartId& a = machine.uses[i].part;
      const PartId& b = machine.uses[j].part;
      if (PressedTogether(machine, a, b)) continue;
      const auto common = solid::CalcCommonVolume_mm3(placed[i], placed[j]);
      if (!common) return Unexpected(common.error());
      if (*common <= kOverlapAllowed_mm3) continue;
      findings.push_back({Rule::kPartsOverlap, a.text() + " and " + b.text(),
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
  for (const PartUse& use : machine.uses) {
    if (work.cancelled()) {
      return Unexpected(Error{ErrorCode::kStopped, "stopped while looking at solids", "", "", {}});
    }
    work.Report("looking at solids", static_cast<double>(placed.size()) /
                                         static_cast<double>(machine.uses.size()));
    const Part* part = machine.FindPart(use.part);
    auto body = solid::MakeDesign(*part);
    if (!body) return Unexpected(body.error());
    const std::size_t pieces = solid::CountPieces(*body);
    if (pieces != 1 || !solid::IsValid(*body)) {
      findings.push_back({Rule::kNotOnePiece, part->name.text(),
                          fmt::format("what is drawn is {} pieces of metal", pieces),
                          "look for cuts that go right through"});
    }
    if (auto status = ReviewPartWalls(*part, *body, limits, findings); !status) {
      return Unexpected(status.error());
    }
    placed.push_back(solid::Moved(*body, use.X_WP));
  }
  if (auto status = ReviewPairs(machine, placed, findings); !status) {
    return Unexpected(status.error());
  }
  return findings;
}

}  // namespace fitwright::review
