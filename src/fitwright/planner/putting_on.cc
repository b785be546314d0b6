#include "fitwright/planner/putting_on.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <cmath>
#include <optional>

#include "fitwright/model/faces.h"
#include "fitwright/model/material.h"
#include "fitwright/model/shapes.h"
#include "fitwright/planner/assembly_looks.h"
#include "fitwright/planner/bench_work.h"
#include "fitwright/planner/fitting_bought.h"
#include "fitwright/planner/process_common.h"
#include "fitwright/planner/set_beside.h"
#include "fitwright/planner/sprung_way.h"

namespace fitwright::planner {
namespace {

constexpr double kAlong = 0.999;
constexpr double kTowards = 0.7;      // of the cosine: towards that side rather than another
constexpr double kOffCentre_mm = 1;

std::optional<Box3> BoxInW(const Machine& machine, const PartId& part) {
  const Part* sheet = machine.FindBought(part) != nullptr ? nullptr : machine.FindPart(part);
  const auto X_WP = machine.FindPlace(part);
  if (sheet == nullptr || !X_WP) return std::nullopt;
  const Box3 own = CalcEnvelope(*sheet);
  const Vec3 centre_W = *X_WP * own.centre_mm();
  const Vec3 half_W = X_WP->linear().cwiseAbs() * (0.5 * own.size_mm());
  return Box3{centre_W - half_W, centre_W + half_W};
}

std::string FaceTowards(const Machine& machine, const PartId& part, const Vec3& direction_W) {
  const Part* sheet = machine.FindBought(part) != nullptr ? nullptr : machine.FindPart(part);
  const auto X_WP = machine.FindPlace(part);
  if (sheet == nullptr || !X_WP) return {};
  const Feature* face = OutermostFace(*sheet, X_WP->linear().transpose() * direction_W);
  return face == nullptr ? "" : NameWords(face->name);
}

// Those that the step closes, what stops it first, screws last.
std::vector<const Joint*> JointsClosed(const Machine& machine, const review::AssemblyStep& way) {
  std::vector<const Joint*> joints;
  for (const Joint& joint : machine.joints) {
    const bool here = (Has(way.parts, joint.fixed.part) && Has(way.onto, joint.moving.part)) ||
                      (Has(way.parts, joint.moving.part) && Has(way.onto, joint.fixed.part));
    if (here && joint.kind != JointKind::kBelt) joints.push_back(&joint);
  }
  const auto rank = [](const Joint* j) { return IsFaceJoint(j->kind) ? 0 : j->kind == JointKind::kScrewedPattern ? 2 : 1; };
  std::stable_sort(joints.begin(), joints.end(), [&](const Joint* a, const Joint* b) { return rank(a) < rank(b); });
  return joints;
}

// Which part of the group meets which of those that are there.
struct Meeting {
  PartId part;
  PartId onto;
  const char* how = "onto";
};
Meeting MeetingOf(const Machine& machine, const review::AssemblyStep& way, const std::vector<const Joint*>& joints) {
  Meeting meeting{way.parts.front(), way.onto.empty() ? PartId() : way.onto.front()};
  if (joints.empty()) return meeting;
  const bool comes_moving = Has(way.parts, joints.front()->moving.part);
  meeting.part = comes_moving ? joints.front()->moving.part : joints.front()->fixed.part;
  meeting.onto = comes_moving ? joints.front()->fixed.part : joints.front()->moving.part;
  for (const Joint* joint : joints) {
    if (!IsRoundJoint(joint->kind)) continue;
    const bool moving = joint->moving.part == meeting.part;
    if (!moving && joint->fixed.part != meeting.part) continue;
    if ((moving ? joint->fixed.part : joint->moving.part) != meeting.onto) continue;
    meeting.how = std::holds_alternative<Hole>(machine.Find(moving ? joint->moving : joint->fixed)->shape) ? "over" : "into";
  }
  return meeting;
}

// Whether a circlip has room is told before it is in, by the depth of what it holds.
std::string CirclipRoomWords(const Machine& machine, const PartId& circlip, const PartId& onto, const Vec3& way_W) {
  const Part* part = machine.FindPart(onto);
  const auto X_WP = machine.FindPlace(onto);
  const auto X_WC = machine.FindPlace(circlip);
  if (part == nullptr || !X_WP || !X_WC) return {};
  const Vec3 out_P = X_WP->linear().transpose() * -way_W;
  const Vec3 centre_P = X_WP->inverse() * X_WC->translation();
  const Feature* mouth = OutermostFace(*part, out_P);
  if (mouth == nullptr) return {};
  const double mouth_mm = std::get<PlanarFace>(mouth->shape).at.middle_mm();
  for (const Feature& feature : part->features) {
    const auto* groove = std::get_if<Groove>(&feature.shape);
    if (groove == nullptr || !groove->internal) continue;
    const double base = out_P.dot(groove->axis_P.point_mm);
    const double along = out_P.dot(groove->axis_P.direction);
    const auto [inner, outer] = std::minmax({base + along * groove->from_mm, base + along * groove->to_mm});
    const double at = out_P.dot(centre_P);
    if (at < inner - 1 || at > outer + 1) continue;
    return fmt::format("First see that the circlip has room: depth micrometer from the {} down to the ring that it holds, at three places, less the lip before "
                       "its groove as measured when that was cut ({:.2f} mm as drawn), is no less than the circlip mikes; where it is less, what stands behind that ring is too long. Then ",
                       NameWords(mouth->name), mouth_mm - outer);
  }
  return {};
}

// It counts as float in every reading of one, so it is read where nothing else moves yet.
std::string ShiftWords(const Machine& machine) {
  const bool floats = std::any_of(machine.requirements.begin(), machine.requirements.end(), [](const Requirement& r) { return r.kind == RequirementKind::kEndFloat; });
  if (!floats || !RingsShift(machine)) return {};
  return " Then read what it lets the rings shift, before the shaft is in: down onto the outer ring, pushed home and drawn out against it, ________; it is taken off "
         "every reading of the float.";
}

// A ring springs into its groove, whichever way the drawn one could be slid out.
std::string SprungWords(const Machine& machine, const review::AssemblyStep& way) {
  if (way.parts.size() != 1) return {};
  const BoughtPart* bought = machine.FindBought(way.parts.front());
  if (bought != nullptr && bought->kind == BoughtKind::kCirclip && !way.onto.empty()) {
    const auto way_W = SprungWay_W(machine, way.parts.front());
    std::string from = way_W ? FromSideWords(machine, way.onto.front(), *way_W) : "";
    if (!from.empty()) from = " " + from;
    const std::string room = way_W ? CirclipRoomWords(machine, way.parts.front(), way.onto.front(), *way_W) : "";
    return room + fmt::format("{} into its groove in {}{} with circlip pliers, eye protection on: sprung out against the groove's floor all round, its ears free.{}",
                              NamesOf(way.parts), NamesOf({way.onto.front()}), from, ShiftWords(machine));
  }
  for (const Joint& joint : machine.joints) {
    if (joint.kind != JointKind::kRingInGroove) continue;
    const bool fixed = joint.moving.part == way.parts.front();
    if (!fixed && joint.fixed.part != way.parts.front()) continue;
    const FeatureRef& seat = fixed ? joint.fixed : joint.moving;
    const Feature* feature = machine.Find(seat);
    const auto* groove = feature == nullptr ? nullptr : std::get_if<Groove>(&feature->shape);
    if (groove == nullptr) continue;
    return fmt::format("{} into {}, {}, eye protection on: in all round, free to turn.", NamesOf(way.parts), FeatureOfPart(seat),
                       groove->internal ? "closed with pliers" : "opened no wider than it must");
  }
  return {};
}

// " Turned so that its breather is towards the deck of body.": a way of the part that lies along an axis of the machine.
std::string TowardsWords(const Machine& machine, const PartId& onto, const std::string& what, const Vec3& off_W) {
  for (const PartId& other : {machine.uses.front().part, onto}) {
    int axis = 0;
    if (off_W.cwiseAbs().maxCoeff(&axis) < kTowards) break;
    const std::string face = FaceTowards(machine, other, std::copysign(1.0, off_W[axis]) * Vec3::Unit(axis));
    if (!face.empty()) return fmt::format(" Turned so that {} is towards the {} of {}.", what, face, NamesOf({other}));
  }
  return {};
}

bool IsScrewedTo(const Machine& machine, const PartId& part, const PartId& onto) {
  return std::any_of(machine.joints.begin(), machine.joints.end(), [&](const Joint& j) {
    return j.kind == JointKind::kScrewedPattern && ((j.fixed.part == part && j.moving.part == onto) || (j.fixed.part == onto && j.moving.part == part));
  });
}

// A hole aside from the middle tells how the part is turned, else flats on it; what its screws let stand in several turns is dotted.
std::string TurnedWords(const Machine& machine, const PartId& part, const PartId& onto, const Vec3& way_W) {
  const Part* sheet = machine.FindPart(part);
  const auto X_WP = machine.FindPlace(part);
  if (sheet == nullptr || !X_WP) return {};
  const Vec3 way_P = X_WP->linear().transpose() * way_W;
  const Vec3 middle = CalcEnvelope(*sheet).centre_mm();
  for (const Feature& feature : sheet->features) {
    const auto* hole = std::get_if<Hole>(&feature.shape);
    if (hole == nullptr || hole->entries_P_mm.size() != 1 || std::abs(hole->into_P.dot(way_P)) < kAlong) continue;
    Vec3 off = hole->entries_P_mm.front() - middle;
    off -= off.dot(way_P) * way_P;
    if (off.norm() < kOffCentre_mm) continue;
    const std::string words = TowardsWords(machine, onto, "its " + NameWords(feature.name), X_WP->linear() * off.normalized());
    if (!words.empty()) return words;
  }
  for (const Feature& feature : sheet->features) {
    const auto* flats = std::get_if<Flats>(&feature.shape);
    if (flats == nullptr || std::abs(flats->axis_P.direction.dot(way_P)) < kAlong) continue;
    const std::string words = TowardsWords(machine, onto, "one of its " + NameWords(feature.name), X_WP->linear() * FlatNormal(*flats, 0));
    if (!words.empty()) return words;
  }
  return IsScrewedTo(machine, part, onto) ? " A dot on it and one on what it goes onto: it goes back in the same turn." : "";
}

// A flat thing that nothing guides: how far its edges stand in from those of what it lies on.
std::string EdgeWords(const Machine& machine, const PartId& part, const PartId& onto, const Vec3& way_W) {
  constexpr double kFlush_mm = 0.05;
  for (const auto& [screw, places] : FindThreadPlaces(machine)) {
    const auto through = [&](const FeatureRef& ref) { return ref.part == part; };
    if (std::any_of(places.begin(), places.end(), [&](const ThreadPlace& p) { return std::any_of(p.passes.begin(), p.passes.end(), through); })) return {};
  }
  const auto here = BoxInW(machine, part);
  const auto under = BoxInW(machine, onto);
  if (!here || !under) return {};
  std::string words;
  for (int axis = 0; axis < 3; ++axis) {
    if (std::abs(way_W[axis]) > kAlong) continue;
    const double low = here->min_mm[axis] - under->min_mm[axis];
    const double high = under->max_mm[axis] - here->max_mm[axis];
    const double side = low <= high ? -1.0 : 1.0;
    const std::string face = FaceTowards(machine, onto, side * Vec3::Unit(axis));
    if (face.empty() || std::min(low, high) < 0) return {};
    const double in = std::min(low, high);
    words += (words.empty() ? "" : " and ") + (in < kFlush_mm ? fmt::format("flush with the {}", face) : fmt::format("{:.1f} mm in from the {}", in, face));
  }
  return words.empty() ? "" : fmt::format(" Nothing guides it: its edges {} of {}, as drawn.", words, NamesOf({onto}));
}

std::size_t RingsOn(const Machine& machine, const PartId& part) {
  return static_cast<std::size_t>(std::count_if(machine.joints.begin(), machine.joints.end(), [&](const Joint& j) {
    return j.kind == JointKind::kRingInGroove && j.fixed.part == part;
  }));
}

std::string SlideWords(const Machine& machine, const Joint& joint) {
  const std::size_t rings = std::max(RingsOn(machine, joint.moving.part), RingsOn(machine, joint.fixed.part));
  if (rings == 0) return " A film of oil on both; it slides by hand its whole way.";
  return fmt::format(" Oil both. {}Press each ring in with the fingers as it meets the lead; nothing forced. It slides by hand its whole way.",
                     rings == 1 ? "" : rings == 2 ? "The gaps of the rings opposite each other. " : "The gaps of the rings evenly round. ");
}

// Where a shaft or a hub stops, when drawn faces tell.
std::string StopWords(const Machine& machine, const Joint& joint) {
  const bool fixed_goes_in = std::holds_alternative<OuterDiameter>(machine.Find(joint.fixed)->shape);
  const FeatureRef& inner = fixed_goes_in ? joint.fixed : joint.moving;
  const FeatureRef& outer = fixed_goes_in ? joint.moving : joint.fixed;
  const auto* hole = std::get_if<Hole>(&machine.Find(outer)->shape);
  if (hole == nullptr || machine.FindBought(inner.part) != nullptr || machine.FindBought(outer.part) != nullptr) return {};
  const std::string home = HomeWords(machine, inner, outer, hole->into_P);
  return home.starts_with("until its") && home.find("against") != std::string::npos ? " Push it on " + home + "." : "";
}

// Something that is there already stands round the faces that meet, higher than they do.
bool IsSunk(const Machine& machine, const Joint& joint, const std::vector<PartId>& there) {
  constexpr double kStands_mm = 0.5;
  const Feature* feature = machine.Find(joint.fixed);
  const auto* face = feature == nullptr ? nullptr : std::get_if<PlanarFace>(&feature->shape);
  const auto X_WF = machine.FindPlace(joint.fixed.part);
  const auto box_W = BoxInW(machine, joint.moving.part);
  const auto X_WM = machine.FindPlace(joint.moving.part);
  if (face == nullptr || !X_WF || !X_WM) return false;
  const Vec3 centre_W = box_W ? box_W->centre_mm() : X_WM->translation();
  const Vec3 n = X_WF->linear() * face->normal_P;
  const double level = face->at.middle_mm() + n.dot(X_WF->translation());
  return std::any_of(there.begin(), there.end(), [&](const PartId& id) {
    const auto box = BoxInW(machine, id);
    if (!box) return false;
    int axis = 0;
    n.cwiseAbs().maxCoeff(&axis);
    const double top = n[axis] > 0 ? box->max_mm[axis] : -box->min_mm[axis];
    if (top < level + kStands_mm) return false;
    for (int k = 0; k < 3; ++k) {
      if (k != axis && (box->min_mm[k] > centre_W[k] || box->max_mm[k] < centre_W[k])) return false;
    }
    return true;
  });
}

std::string JointWords(const Machine& machine, const Joint& joint, const std::vector<PartId>& there) {
  constexpr double kFeeler_mm = 0.03;  // the thinnest leaf of a common set
  switch (joint.kind) {
    case JointKind::kFaceContact:
      if (IsSunk(machine, joint, there)) {
        return fmt::format(" Home is where the {} meets the {}: no feeler reaches there; how far its outer face stands from the mouth, alike at three places round it.",
                           NameWords(joint.moving.feature), NameWords(joint.fixed.feature));
      }
      return fmt::format(" Home is where the {} meets the {}: no feeler of {:g} mm goes in between, all round.", NameWords(joint.moving.feature),
                         NameWords(joint.fixed.feature), kFeeler_mm);
    case JointKind::kGasketedFace:
      return " Both faces clean and dry, nothing folded, hole over hole.";
    case JointKind::kBearingSeat:
      return " Press on the outer ring alone, square, by a tube or a sleeve; never through the balls.";
    case JointKind::kBearingOnShaft:
      return " See first, before the bearings are in, that it slides into each inner ring by hand (else ease the shaft with fine abrasive paper). A tube behind the inner rings takes the push where one can stand there, never the balls; push on the middle of the shaft's own end, never on what is bonded or pinned to it.";
    case JointKind::kRunningFit:
      return " A drop of oil; it turns by hand and does not bind." + StopWords(machine, joint);
    case JointKind::kSliderInBore:
      return SlideWords(machine, joint);
    case JointKind::kHubOnShaft:
      return StopWords(machine, joint);
    case JointKind::kPressFit:
      return " Press it square, oiled, in one go." + StopWords(machine, joint);
    default:
      return {};
  }
}

// Parts that meet besides the two that are named first.
std::string GuidedWords(const Joint& joint, const Meeting& meeting) {
  const auto named = [&](const PartId& part) { return part == meeting.part || part == meeting.onto; };
  if (joint.kind != JointKind::kRunningFit || (named(joint.fixed.part) && named(joint.moving.part))) return {};
  return fmt::format(" Guide {} and {} into each other on the way.", FeatureOfPart(joint.fixed), FeatureOfPart(joint.moving));
}

int ScrewsOf(const Machine& machine, const Joint& joint) {
  const auto* hole = std::get_if<Hole>(&machine.Find(joint.fixed)->shape);
  return hole == nullptr ? 0 : static_cast<int>(hole->entries_P_mm.size());
}

std::string ScrewWords(const Machine& machine, const Joint& joint) {
  const int count = ScrewsOf(machine, joint);
  std::string words = joint.screw ? fmt::format(" Then {} screws {} x {:g}", count, joint.screw->thread, joint.screw->length_mm)
                                  : fmt::format(" Then {} screws", count);
  if (joint.washer_mm > 0) words += fmt::format(", a washer of {:g} mm under each head", joint.washer_mm);
  return words + ": all in by hand, then drawn up a little at a time, crosswise.";
}

std::string HeadWords(const Machine& machine, const review::AssemblyStep& way, const Meeting& meeting) {
  std::string words = NamesOf({meeting.part});
  const std::size_t others = way.parts.size() - 1;
  if (others > 0) words += ", with all that is on it,";
  if (way.onto.empty()) return words + " where the drawing has it, on what carries it there.";
  words += fmt::format(" {} {}", meeting.how, NamesOf({meeting.onto}));
  const std::string from = FromSideWords(machine, meeting.onto, way.direction_W);
  if (!from.empty()) words += " " + from;
  const std::string first = FaceTowards(machine, meeting.part, way.direction_W);
  return words + (first.empty() ? "." : fmt::format(", {} first.", first));
}

}  // namespace

bool Has(const std::vector<PartId>& list, const PartId& part) { return std::find(list.begin(), list.end(), part) != list.end(); }

std::string FromSideWords(const Machine& machine, const PartId& part, const Vec3& way_W) {
  const std::string face = FaceTowards(machine, part, -way_W);
  return face.empty() ? "" : fmt::format("from the {}", face);
}

std::string FeatureOfPart(const FeatureRef& ref) { return fmt::format("the {} of {}", NameWords(ref.feature), NamesOf({ref.part})); }

Step PutOnStep(const Machine& machine, const Shop& shop, const review::AssemblyStep& way) {
  Step step;
  step.operation = Operation::kTrial;
  step.parts = way.parts;
  const std::vector<const Joint*> joints = JointsClosed(machine, way);
  int screws = 0;
  for (const Joint* joint : joints) {
    step.joints.push_back(joint->name);
    if (joint->kind == JointKind::kScrewedPattern) screws += ScrewsOf(machine, *joint);
  }
  step.time_min = shop.times.assemble_place + screws * shop.times.assemble_screw;
  step.words = SprungWords(machine, way);
  if (!step.words.empty()) return step;
  const Meeting meeting = MeetingOf(machine, way, joints);
  step.words = HeadWords(machine, way, meeting);
  if (!way.onto.empty()) step.words += TurnedWords(machine, meeting.part, meeting.onto, way.direction_W);
  if (joints.empty() && !way.onto.empty()) step.words += EdgeWords(machine, meeting.part, meeting.onto, way.direction_W);
  std::vector<std::string> said;
  const auto say = [&](const std::string& words) {
    if (words.empty() || std::find(said.begin(), said.end(), words) != said.end()) return;
    step.words += words;
    said.push_back(words);
  };
  for (const Joint* joint : joints) {
    if (joint->kind == JointKind::kScrewedPattern) {
      say(ScrewWords(machine, *joint));
    } else {
      say(GuidedWords(*joint, meeting));
      say(JointWords(machine, *joint, way.onto));
    }
  }
  return step;
}

}  // namespace fitwright::planner
