// Whether parts come together as drawn, and fit.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/review/rules.h"

namespace fitwright::review {
namespace {

constexpr double kSamePlace_mm = 0.01;
constexpr double kRootAt_mm = 0.05;
// Radius that a turning tool leaves in a corner; common practice 0.2 to 0.4.
constexpr double kNoseRadius_mm = 0.2;

std::string JointName(const Joint& joint) { return "joint " + joint.name.text(); }

Pose PlaceOf(const Machine& machine, const PartId& part) {
  return machine.FindPlace(part).value_or(Pose::Identity());
}

// Shaft and bore of a round joint.
struct RoundSides {
  FeatureRef shaft_ref;
  FeatureRef bore_ref;
  const OuterDiameter* shaft = nullptr;
  const Hole* bore = nullptr;
};

std::optional<RoundSides> FindRoundSides(const Machine& machine, const Joint& joint) {
  for (const auto& [s, b] :
       {std::pair(joint.moving, joint.fixed), std::pair(joint.fixed, joint.moving)}) {
    const auto* shaft = std::get_if<OuterDiameter>(&machine.Find(s)->shape);
    const auto* bore = std::get_if<Hole>(&machine.Find(b)->shape);
    if (shaft != nullptr && bore != nullptr && !bore->entries_P_mm.empty())
      return RoundSides{s, b, shaft, bore};
  }
  return std::nullopt;
}

bool MustEnter(JointKind kind) {
  return kind == JointKind::kSpigotInBore || kind == JointKind::kRunningFit ||
         kind == JointKind::kSliderInBore || kind == JointKind::kBonded ||
         kind == JointKind::kHubOnShaft;
}

void CheckFit(const Machine& machine, const Joint& joint, const RoundSides& sides,
              std::vector<Finding>& findings) {
  const double shaft_mm = sides.shaft->diameter.middle_mm();
  const double bore_mm = sides.bore->diameter.middle_mm();
  if (MustEnter(joint.kind) && bore_mm <= shaft_mm) {
    findings.push_back({Rule::kSpigotTooBig, JointName(joint),
                        fmt::format("{} {:.3f} mm in a bore of {:.3f} mm, both at the middle of "
                                    "their limits",
                                    joint.kind == JointKind::kSpigotInBore ? "spigot" : "shaft",
                                    shaft_mm, bore_mm),
                        "give the bore H7 and the spigot g6, or say press_fit"});
  }
  if (joint.kind == JointKind::kPressFit && bore_mm >= shaft_mm) {
    findings.push_back(
        {Rule::kLooseFit, JointName(joint),
         fmt::format("a press fit drawn with {:.3f} mm of clearance", bore_mm - shaft_mm),
         "give the shaft p6 or more, or say spigot_in_bore"});
  }
  for (const auto& [ref, size] : {std::pair(sides.shaft_ref, &sides.shaft->diameter),
                                  std::pair(sides.bore_ref, &sides.bore->diameter)}) {
    if (size->origin != LimitsOrigin::kGeneralTolerance) continue;
    if (machine.FindBought(ref.part) != nullptr) continue;
    findings.push_back(
        {Rule::kFitMissing, ref.text(),
         fmt::format(
             "{:g} mm by the general tolerance alone ({:.3f} to {:.3f} mm), though it mates "
             "in {}",
             size->nominal_mm, size->lower_mm, size->upper_mm, joint.name.text()),
         "state a fit, as fit = \"H7\" for a bore and fit = \"g6\" for what enters it, or limits"});
  }
}

// A cut against the root of the shaft, at root_mm along its axis.
bool HasUndercut(const Part& part, const OuterDiameter& shaft, double root_mm) {
  return std::any_of(part.features.begin(), part.features.end(), [&](const Feature& f) {
    const auto* groove = std::get_if<Groove>(&f.shape);
    return groove != nullptr && !groove->internal &&
           groove->diameter.middle_mm() < shaft.diameter.middle_mm() &&
           std::min(std::abs(groove->from_mm - root_mm), std::abs(groove->to_mm - root_mm)) <
               kRootAt_mm;
  });
}

bool HasLead(const Part& part, const FeatureId& bore, bool at_start) {
  return std::any_of(part.features.begin(), part.features.end(), [&](const Feature& f) {
    const auto* lead = std::get_if<RoundChamfer>(&f.shape);
    return lead != nullptr && lead->on == bore && lead->at_start == at_start &&
           lead->radial_mm >= kNoseRadius_mm && lead->axial_mm >= kNoseRadius_mm;
  });
}

// A flange that seats beside its spigot: the turning tool leaves a small radius in the corner.
void CheckRelief(const Machine& machine, const RoundSides& sides, std::vector<Finding>& findings) {
  const double clearance_mm =
      0.5 * (sides.bore->diameter.middle_mm() - sides.shaft->diameter.middle_mm());
  if (clearance_mm >= kNoseRadius_mm) return;
  const Part& part = *machine.FindPart(sides.shaft_ref.part);
  if (machine.FindBought(sides.shaft_ref.part) != nullptr) return;
  for (const Joint& face_joint : machine.joints) {
    if (!IsFaceJoint(face_joint.kind)) continue;
    const bool shaft_moves = face_joint.moving.part == sides.shaft_ref.part;
    const FeatureRef& own = shaft_moves ? face_joint.moving : face_joint.fixed;
    const FeatureRef& mate = shaft_moves ? face_joint.fixed : face_joint.moving;
    if (own.part != sides.shaft_ref.part || mate.part != sides.bore_ref.part) continue;
    const Feature* feature = machine.Find(own);
    const auto* face = feature == nullptr ? nullptr : std::get_if<PlanarFace>(&feature->shape);
    const Axis3& axis = sides.shaft->axis_P;
    if (face == nullptr || face->normal_P.cross(axis.direction).norm() > kDrawnAlike) continue;
    const double along = face->normal_P.dot(axis.direction);
    const double root_mm = along * (face->at.middle_mm() - face->normal_P.dot(axis.point_mm));
    if (std::min(std::abs(root_mm - sides.shaft->from_mm), std::abs(root_mm - sides.shaft->to_mm)) >
        kRootAt_mm) {
      continue;
    }
    if (HasUndercut(part, *sides.shaft, root_mm)) continue;
    const Vec3 root_W =
        PlaceOf(machine, sides.shaft_ref.part) * Vec3(axis.point_mm + root_mm * axis.direction);
    const Vec3 entry_W = PlaceOf(machine, sides.bore_ref.part) * sides.bore->entries_P_mm.front();
    const Vec3 into_W = PlaceOf(machine, sides.bore_ref.part).linear() * sides.bore->into_P;
    const bool at_start = (root_W - entry_W).dot(into_W) < 0.5 * sides.bore->depth_mm;
    if (HasLead(*machine.FindPart(sides.bore_ref.part), sides.bore_ref.feature, at_start)) continue;
    findings.push_back(
        {Rule::kNoRelief, sides.shaft_ref.text(),
         fmt::format(
             "neither an undercut at its root nor a lead of {:g} mm in {}: {} does not seat",
             kNoseRadius_mm, sides.bore_ref.text(), own.text()),
         "cut an undercut 1 mm wide and 0.3 mm deep at the root, or chamfer the bore's mouth"});
  }
}

void CheckAxes(const Machine& machine, const Joint& joint, const RoundSides& sides,
               std::vector<Finding>& findings) {
  const OuterDiameter* shaft = sides.shaft;
  const Hole* bore = sides.bore;
  const Pose X_WS = PlaceOf(machine, sides.shaft_ref.part);
  const Pose X_WB = PlaceOf(machine, sides.bore_ref.part);
  const Vec3 axis = X_WB.linear() * bore->into_P;
  const Vec3 off = X_WS * shaft->axis_P.point_mm - X_WB * bore->entries_P_mm.front();
  const double apart_mm = (off - off.dot(axis) * axis).norm();
  const bool askew = axis.cross(X_WS.linear() * shaft->axis_P.direction).norm() > kDrawnAlike;
  if (!askew && apart_mm <= kSamePlace_mm) return;
  findings.push_back(
      {Rule::kAxesApart, JointName(joint),
       askew ? std::string("the axes of spigot and bore are not parallel as placed")
             : fmt::format("the axes of spigot and bore are {:.3f} mm apart as placed", apart_mm),
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
  const bool opposed = normal.dot(X_WM.linear() * moving->normal_P) < -1 + kDrawnAlike;
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

void ReviewPlaces(const Machine& machine, const Joint& joint, std::vector<Finding>& findings) {
  if (IsFaceJoint(joint.kind)) CheckFaces(machine, joint, findings);
  if (!IsRoundJoint(joint.kind)) return;
  const auto sides = FindRoundSides(machine, joint);
  if (!sides) return;
  CheckFit(machine, joint, *sides, findings);
  CheckRelief(machine, *sides, findings);
  CheckAxes(machine, joint, *sides, findings);
}

}  // namespace fitwright::review
