// Screws, and whether joints come together as drawn.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/model/material.h"
#include "fitwright/review/bores.h"
#include "fitwright/review/rules.h"
#include "fitwright/trade/materials.h"
#include "fitwright/trade/threads.h"

namespace fitwright::review {
namespace {

constexpr double kSamePlace_mm = 0.01;
constexpr double kSameDirection = 1e-4;
constexpr double kNoise_mm = 1e-6;
constexpr int kRimPoints = 24;

std::string JointName(const Joint& joint) { return "joint " + joint.name.text(); }

Pose PlaceOf(const Machine& machine, const PartId& part) {
  return machine.FindPlace(part).value_or(Pose::Identity());
}

// The two sides of a screwed joint.
struct ScrewSides {
  const Part* clear_part = nullptr;
  const Part* tapped_part = nullptr;
  const Hole* clear = nullptr;
  const Hole* tapped = nullptr;
  FeatureRef clear_ref;
  FeatureRef tapped_ref;
};

bool FindSides(const Machine& machine, const Joint& joint, ScrewSides& sides) {
  const auto* fixed = std::get_if<Hole>(&machine.Find(joint.fixed)->shape);
  const auto* moving = std::get_if<Hole>(&machine.Find(joint.moving)->shape);
  if (fixed == nullptr || moving == nullptr) return false;
  const bool fixed_tapped = fixed->thread.has_value();
  if (fixed_tapped == moving->thread.has_value()) return false;
  sides.clear_ref = fixed_tapped ? joint.moving : joint.fixed;
  sides.tapped_ref = fixed_tapped ? joint.fixed : joint.moving;
  sides.clear = fixed_tapped ? moving : fixed;
  sides.tapped = fixed_tapped ? fixed : moving;
  sides.clear_part = machine.FindPart(sides.clear_ref.part);
  sides.tapped_part = machine.FindPart(sides.tapped_ref.part);
  return true;
}

// Depth below the hole's entry at which the head seats: the floor of a counterbore round it, else 0.
double SeatDepth_mm(const Part& part, const Hole& hole) {
  double seat_mm = 0;
  for (const Feature& feature : part.features) {
    const auto* other = std::get_if<Hole>(&feature.shape);
    if (other == nullptr || other == &hole || other->through) continue;
    if (other->into_P.dot(hole.into_P) < 1 - kSameDirection) continue;
    if (other->diameter.middle_mm() <= hole.diameter.middle_mm()) continue;
    for (const Vec3& entry : other->entries_P_mm) {
      const Vec3 from = entry - hole.entries_P_mm.front();
      const double along = from.dot(hole.into_P);
      if ((from - along * hole.into_P).norm() > kSamePlace_mm) continue;
      seat_mm = std::max(seat_mm, along + other->depth_mm);
    }
  }
  return seat_mm;
}

// All that stands between the head and the tapped part.
double Gripped_mm(const Machine& machine, const Joint& joint, const ScrewSides& sides) {
  double gripped_mm = joint.washer_mm + sides.clear->depth_mm -
                      SeatDepth_mm(*sides.clear_part, *sides.clear);
  for (const FeatureRef& ref : joint.between) {
    const Feature* feature = machine.Find(ref);
    const auto* hole = feature == nullptr ? nullptr : std::get_if<Hole>(&feature->shape);
    if (hole != nullptr) gripped_mm += hole->depth_mm;
  }
  return gripped_mm;
}

void CheckLength(const Machine& machine, const Joint& joint, const ScrewSides& sides,
                 const ReviewLimits& limits, std::vector<Finding>& findings) {
  const double gripped_mm = Gripped_mm(machine, joint, sides);
  const double in_mm = joint.screw->length_mm - gripped_mm;
  const double thread_mm = sides.tapped->thread->depth_mm;
  const trade::Material* material = trade::FindMaterial(sides.tapped_part->material);
  const bool soft = material != nullptr && material->kind == trade::MaterialKind::kAluminium;
  const double least_mm =
      joint.screw->major_mm * (soft ? limits.engagement_soft_diameters : limits.engagement_diameters);
  const double mesh_mm = std::min(in_mm, thread_mm);
  if (mesh_mm < least_mm - kNoise_mm) {
    findings.push_back(
        {Rule::kScrewTooShort, JointName(joint),
         fmt::format("{} x {:g} through {:g} mm leaves {:g} mm of thread in mesh, least {:g} mm",
                     joint.screw->thread, joint.screw->length_mm, gripped_mm, std::max(0.0, mesh_mm),
                     least_mm),
         in_mm < least_mm ? "take a longer screw" : "tap deeper"});
  }
  if (!sides.tapped->through && in_mm > thread_mm + kNoise_mm) {
    findings.push_back(
        {Rule::kScrewTooLong, JointName(joint),
         fmt::format("{} x {:g} reaches {:g} mm into {} mm of thread: it bottoms before the head is "
                     "down",
                     joint.screw->thread, joint.screw->length_mm, in_mm,
                     fmt::format("{:g}", thread_mm)),
         "take a shorter screw or tap deeper"});
  }
}

// The head's rim must stand on metal and clear whatever rises beside it.
void CheckHead(const Joint& joint, const ScrewSides& sides, std::vector<Finding>& findings) {
  const trade::ThreadRow* row = trade::FindThread(joint.screw->thread);
  if (row == nullptr || row->head_diameter_mm <= 0) return;
  const double seat_mm = SeatDepth_mm(*sides.clear_part, *sides.clear);
  if (seat_mm > 0) return;  // let into a counterbore: its walls are the loader's and the walls' business
  Vec3 u;
  Vec3 v;
  MakeSquare(sides.clear->into_P, u, v);
  for (std::size_t k = 0; k < sides.clear->entries_P_mm.size(); ++k) {
    for (int i = 0; i < kRimPoints; ++i) {
      const double angle = 2 * kPi * i / kRimPoints;
      const Vec3 rim = sides.clear->entries_P_mm[k] +
                       0.5 * row->head_diameter_mm * (std::cos(angle) * u + std::sin(angle) * v);
      bool stands = false;
      bool fouls = false;
      for (const Stretch& s : CalcMaterialAlong(*sides.clear_part, rim, sides.clear->into_P)) {
        if (s.from_mm <= kNoise_mm && s.to_mm > 0.1) stands = true;
        if (s.from_mm < -kNoise_mm && s.to_mm > -row->head_height_mm) fouls = true;
      }
      if (stands && !fouls) continue;
      findings.push_back(
          {Rule::kHeadOverlaps, sides.clear_ref.text(),
           fmt::format("the head of {}, {:g} mm across, {} at hole {}", joint.screw->thread,
                       row->head_diameter_mm,
                       fouls ? "runs into the metal beside it" : "hangs over the edge", k + 1),
           "move the hole, take a smaller screw or face a seat for the head"});
      return;
    }
  }
}

void CheckLineUp(const Machine& machine, const Joint& joint, const ScrewSides& sides,
                 std::vector<Finding>& findings) {
  const Pose X_WC = PlaceOf(machine, sides.clear_ref.part);
  const Pose X_WT = PlaceOf(machine, sides.tapped_ref.part);
  const Vec3 along = X_WT.linear() * sides.tapped->into_P;
  double worst_mm = 0;
  std::size_t worst = 0;
  for (std::size_t i = 0; i < sides.clear->entries_P_mm.size(); ++i) {
    double nearest_mm = 1e9;
    for (const Vec3& entry : sides.tapped->entries_P_mm) {
      const Vec3 off = X_WC * sides.clear->entries_P_mm[i] - X_WT * entry;
      nearest_mm = std::min(nearest_mm, (off - off.dot(along) * along).norm());
    }
    if (nearest_mm > worst_mm) {
      worst_mm = nearest_mm;
      worst = i;
    }
  }
  const bool askew =
      std::abs(along.dot(X_WC.linear() * sides.clear->into_P)) < 1 - kSameDirection;
  if (!askew && worst_mm <= kSamePlace_mm) return;
  findings.push_back(
      {Rule::kPatternsDoNotLineUp, JointName(joint),
       askew ? fmt::format("the axes of {} and {} are not parallel as placed",
                           sides.clear_ref.text(), sides.tapped_ref.text())
             : fmt::format("hole {} of {} stands {:.3f} mm from the nearest hole of {} as drawn",
                           worst + 1, sides.clear_ref.text(), worst_mm, sides.tapped_ref.text()),
       "look at first angle, zero and direction of both patterns, and at the place of the parts"});
}

void CheckSpigot(const Machine& machine, const Joint& joint, std::vector<Finding>& findings) {
  const auto* shaft = std::get_if<OuterDiameter>(&machine.Find(joint.moving)->shape);
  const auto* bore = std::get_if<Hole>(&machine.Find(joint.fixed)->shape);
  PartId shaft_part = joint.moving.part;
  PartId bore_part = joint.fixed.part;
  if (shaft == nullptr || bore == nullptr) {
    shaft = std::get_if<OuterDiameter>(&machine.Find(joint.fixed)->shape);
    bore = std::get_if<Hole>(&machine.Find(joint.moving)->shape);
    std::swap(shaft_part, bore_part);
  }
  if (shaft == nullptr || bore == nullptr || bore->entries_P_mm.empty()) return;
  const double clearance_mm = bore->diameter.middle_mm() - shaft->diameter.middle_mm();
  if (joint.kind == JointKind::kSpigotInBore && clearance_mm <= 0) {
    findings.push_back({Rule::kSpigotTooBig, JointName(joint),
                        fmt::format("spigot {:.3f} mm in a bore of {:.3f} mm, both at the middle of "
                                    "their limits",
                                    shaft->diameter.middle_mm(), bore->diameter.middle_mm()),
                        "give the bore H7 and the spigot g6, or say press_fit"});
  }
  if (joint.kind == JointKind::kPressFit && clearance_mm >= 0) {
    findings.push_back({Rule::kLooseFit, JointName(joint),
                        fmt::format("a press fit drawn with {:.3f} mm of clearance", clearance_mm),
                        "give the shaft p6 or more, or say spigot_in_bore"});
  }
  const Pose X_WS = PlaceOf(machine, shaft_part);
  const Pose X_WB = PlaceOf(machine, bore_part);
  const Vec3 axis = X_WB.linear() * bore->into_P;
  const Vec3 off = X_WS * shaft->axis_P.point_mm - X_WB * bore->entries_P_mm.front();
  const double apart_mm = (off - off.dot(axis) * axis).norm();
  const bool askew = axis.cross(X_WS.linear() * shaft->axis_P.direction).norm() > kSameDirection;
  if (!askew && apart_mm <= kSamePlace_mm) return;
  findings.push_back({Rule::kAxesApart, JointName(joint),
                      askew ? std::string("the axes of spigot and bore are not parallel as placed")
                            : fmt::format("the axes of spigot and bore are {:.3f} mm apart as placed",
                                          apart_mm),
                      "look at the places of the two parts in machine.toml"});
}

void CheckFaces(const Machine& machine, const Joint& joint, std::vector<Finding>& findings) {
  const auto* fixed = std::get_if<PlanarFace>(&machine.Find(joint.fixed)->shape);
  const auto* moving = std::get_if<PlanarFace>(&machine.Find(joint.moving)->shape);
  if (fixed == nullptr || moving == nullptr) return;
  const Pose X_WF = PlaceOf(machine, joint.fixed.part);
  const Pose X_WM = PlaceOf(machine, joint.moving.part);
  const Vec3 normal = X_WF.linear() * fixed->normal_P;
  const Vec3 on_fixed = X_WF * Vec3(fixed->at.middle_mm() * fixed->normal_P);
  const Vec3 on_moving = X_WM * Vec3(moving->at.middle_mm() * moving->normal_P);
  const bool opposed = normal.dot(X_WM.linear() * moving->normal_P) < -1 + kSameDirection;
  const double gap_mm = (on_moving - on_fixed).dot(normal);
  if (opposed && std::abs(gap_mm) <= kSamePlace_mm) return;
  findings.push_back(
      {Rule::kFacesApart, JointName(joint),
       !opposed ? std::string("the two faces do not look at each other as placed")
                : fmt::format("the two faces are {:.3f} mm {} as placed", std::abs(gap_mm),
                              gap_mm > 0 ? "apart" : "inside each other"),
       "look at the places of the two parts in machine.toml"});
}

}  // namespace

void ReviewScrews(const Machine& machine, const Joint& joint, const ReviewLimits& limits,
                  std::vector<Finding>& findings) {
  ScrewSides sides;
  if (!FindSides(machine, joint, sides)) return;
  CheckLineUp(machine, joint, sides, findings);
  if (!joint.screw) return;
  CheckLength(machine, joint, sides, limits, findings);
  CheckHead(joint, sides, findings);
  if (sides.clear->diameter.lower_mm <= joint.screw->major_mm + kNoise_mm) {
    findings.push_back({Rule::kHoleTooSmall, sides.clear_ref.text(),
                        fmt::format("a hole of {:.3f} mm at the least for a screw of {:g} mm",
                                    sides.clear->diameter.lower_mm, joint.screw->major_mm),
                        "open it to the fine clearance size of ISO 273 or more"});
  }
}

void ReviewPlaces(const Machine& machine, const Joint& joint, std::vector<Finding>& findings) {
  if (IsFaceJoint(joint.kind)) CheckFaces(machine, joint, findings);
  if (IsRoundJoint(joint.kind)) CheckSpigot(machine, joint, findings);
}

}  // namespace fitwright::review
