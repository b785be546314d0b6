#include "fitwright/rework/rescue_ways.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <string>

#include "fitwright/trade/screw_holes.h"
#include "fitwright/trade/threads.h"
#include "fitwright/variation/geometry.h"

namespace fitwright::rework {
namespace {

using variation::Datum;
using variation::DatumKind;

constexpr double kAlongIt = 1e-6;
constexpr double kNoticeably_mm = 0.05;  // a series that is no wider opens nothing
constexpr std::array kSeries = {trade::ClearanceFit::kClose, trade::ClearanceFit::kNormal,
                                trade::ClearanceFit::kLoose};
// Coarse threads as commonly kept, in order (ISO 261, choice 1 sizes; from memory).
constexpr std::array kMetric = {"M2", "M2.5", "M3", "M4", "M5", "M6", "M8", "M10", "M12"};

double Across(const Vec3& r, const Vec3& axis) { return (r - axis * axis.dot(r)).norm(); }

// Metal between the hole and one other surface, if that one runs along it.
std::optional<double> WallTo(const Datum& hole, const Datum& other) {
  const double radius = 0.5 * hole.diameter_mm;
  const double along = std::abs(hole.direction_P.dot(other.direction_P));
  const Vec3 r = other.point_P_mm - hole.point_P_mm;
  if (other.kind == DatumKind::kPlane) {
    if (along > kAlongIt) return std::nullopt;
    return std::abs(other.direction_P.dot(r)) - radius;
  }
  if (other.kind != DatumKind::kAxis || along < 1 - kAlongIt) return std::nullopt;
  const double apart = Across(r, hole.direction_P);
  if (!other.inside) return 0.5 * other.diameter_mm - apart - radius;
  return apart < kNoticeably_mm ? std::nullopt
                                : std::optional(apart - radius - 0.5 * other.diameter_mm);
}

std::optional<double> WiderSeries_mm(const Joint& joint, double now_mm) {
  const trade::ThreadRow* row = joint.screw ? trade::FindThread(joint.screw->thread) : nullptr;
  if (row == nullptr) return std::nullopt;
  for (const trade::ClearanceFit fit : kSeries) {
    const Result<double> hole = trade::ClearanceHole_mm(*row, fit);
    if (hole && *hole > now_mm + kNoticeably_mm) return *hole;
  }
  return std::nullopt;
}

const char* NextThread(const std::string& thread) {
  for (std::size_t i = 0; i + 1 < kMetric.size(); ++i) {
    if (thread == kMetric[i]) return kMetric[i + 1];
  }
  return nullptr;
}

}  // namespace

std::optional<double> WallRound_mm(const Part& part, const Feature& hole) {
  const Datum own = variation::DatumOf(hole);
  std::optional<double> least;
  for (const Feature& other : part.features) {
    if (other.name == hole.name) continue;
    const auto wall = WallTo(own, variation::DatumOf(other));
    if (wall && *wall > 0 && (!least || *wall < *least)) least = *wall;
  }
  return least;
}

std::optional<ScrewHoles> FindScrewHoles(const Machine& machine, const FeatureRef& feature) {
  const Feature* sheet = machine.Find(feature);
  const auto* hole = sheet == nullptr ? nullptr : std::get_if<Hole>(&sheet->shape);
  if (hole == nullptr) return std::nullopt;
  const FeatureRef ref{SheetIdOf(feature.part), feature.feature};
  for (const Joint& joint : machine.joints) {
    if (joint.kind != JointKind::kScrewedPattern || (joint.fixed != ref && joint.moving != ref))
      continue;
    ScrewHoles found;
    found.joint = &joint;
    found.tapped = hole->thread.has_value();
    found.count = static_cast<int>(hole->entries_P_mm.size());
    found.now_mm = hole->diameter.middle_mm();
    if (found.tapped)
      found.next_thread = joint.screw ? NextThread(joint.screw->thread) : nullptr;
    else
      found.wider_mm = WiderSeries_mm(joint, found.now_mm);
    return found;
  }
  return std::nullopt;
}

}  // namespace fitwright::rework
