#include "fitwright/review/solid/review_solids.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "fitwright/review/bores.h"
#include "fitwright/solid/build.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/measure.h"

namespace fitwright::review {
namespace {

// Shared space that is no more than noise of coincident faces.
constexpr double kOverlapAllowed_mm3 = 0.05;
constexpr int kRaysAround = 12;
constexpr int kRings = 3;
// Rays start this far inside the metal, so that a surface exactly on the wall does not count twice.
constexpr double kStart_mm = 1e-4;
constexpr double kNoise_mm = 1e-3;

struct Thinnest {
  double wall_mm = 0;
  std::string what;
};

// Where the wall is air, the hole opens into something and nothing is said.
Result<std::optional<double>> WallAlong(const solid::Solid& body, const Vec3& from,
                                        const Vec3& direction) {
  const Vec3 start = from + kStart_mm * direction;
  if (!solid::IsInside(body, start)) return std::optional<double>();
  return solid::FindThickness_mm(body, start, direction);
}

class PartRays {
 public:
  PartRays(const Part& part, const solid::Solid& body, const ReviewLimits& limits,
           std::vector<Finding>& findings)
      : part_(part), body_(body), limits_(limits), findings_(findings) {}

  Status Run() {
    for (const Feature& feature : part_.features) {
      if (!std::holds_alternative<Hole>(feature.shape)) continue;
      least_.reset();
      for (const Bore& bore : BoresOf(part_)) {
        if (bore.feature != &feature) continue;
        if (auto status = RunBore(bore); !status) return status;
      }
      if (!least_ || least_->wall_mm >= limits_.wall_mm - kNoise_mm) continue;
      findings_.push_back({Rule::kWallThin, part_.name.text() + "." + feature.name.text(),
                           fmt::format("{} leaves {:.2f} mm {}, least {:.2f} mm",
                                       feature.name.text(), least_->wall_mm, least_->what,
                                       limits_.wall_mm),
                           "move it, or make it smaller or shallower"});
    }
    return Ok{};
  }

 private:
  Status Look(const Vec3& from, const Vec3& direction, const char* what) {
    const auto wall = WallAlong(body_, from, direction);
    if (!wall) return Unexpected(wall.error());
    if (*wall && (!least_ || **wall < least_->wall_mm)) least_ = Thinnest{**wall, what};
    return Ok{};
  }

  Status RunBore(const Bore& bore) {
    Vec3 u;
    Vec3 v;
    MakeSquare(bore.into, u, v);
    for (int ring = 0; ring < kRings; ++ring) {
      const double depth = bore.depth_mm * (ring + 0.5) / kRings;
      for (int i = 0; i < kRaysAround; ++i) {
        const double angle = 2 * kPi * i / kRaysAround;
        const Vec3 out = std::cos(angle) * u + std::sin(angle) * v;
        const Vec3 from = bore.entry_mm + depth * bore.into + bore.radius_mm * out;
        if (auto status = Look(from, out, "at its side"); !status) return status;
      }
    }
    if (bore.hole->through) return Ok{};
    const Vec3 tip = bore.entry_mm + (bore.depth_mm + bore.cone_mm) * bore.into;
    return Look(tip, bore.into, "below its bottom");
  }

  const Part& part_;
  const solid::Solid& body_;
  const ReviewLimits& limits_;
  std::vector<Finding>& findings_;
  std::optional<Thinnest> least_;
};

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
    if (auto status = PartRays(*part, *body, limits, findings).Run(); !status) {
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
