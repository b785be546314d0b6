// Screws: whether they line up, enter, are long enough, and have room for head and key.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/review/bores.h"
#include "fitwright/review/rules.h"
#include "fitwright/trade/materials.h"
#include "fitwright/trade/fasteners.h"
#include "fitwright/trade/threads.h"

namespace fitwright::review {
namespace {

constexpr double kSamePlace_mm = 0.01;
constexpr int kRimPoints = 24;
constexpr int kEdgeWays = 72;
constexpr double kStackNoise_mm = 0.05;

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

// Depth below the hole's entry at which the head seats: the floor of a counterbore round it, else
// 0.
double SeatDepth_mm(const Part& part, const Hole& hole) {
  double seat_mm = 0;
  for (const Feature& feature : part.features) {
    const auto* other = std::get_if<Hole>(&feature.shape);
    if (other == nullptr || other == &hole || other->through) continue;
    if (other->into_P.dot(hole.into_P) < 1 - kDrawnAlike) continue;
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
  double gripped_mm =
      joint.washer_mm + sides.clear->depth_mm - SeatDepth_mm(*sides.clear_part, *sides.clear);
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
  const double least_mm = joint.screw->major_mm *
                          (soft ? limits.engagement_soft_diameters : limits.engagement_diameters);
  const double mesh_mm = std::min(in_mm, thread_mm);
  if (mesh_mm < least_mm - kNoise_mm) {
    findings.push_back(
        {Rule::kScrewTooShort, JointName(joint),
         fmt::format("{} x {:g} through {:g} mm leaves {:g} mm of thread in mesh, least {:g} mm",
                     joint.screw->thread, joint.screw->length_mm, gripped_mm,
                     std::max(0.0, mesh_mm), least_mm),
         in_mm < least_mm ? "take a longer screw" : "tap deeper"});
  }
  if (!sides.tapped->through && in_mm > thread_mm + kNoise_mm) {
    findings.push_back(
        {Rule::kScrewTooLong, JointName(joint),
         fmt::format(
             "{} x {:g} reaches {:g} mm into {} mm of thread: it bottoms before the head is "
             "down",
             joint.screw->thread, joint.screw->length_mm, in_mm, fmt::format("{:g}", thread_mm)),
         "take a shorter screw or tap deeper"});
  }
}

void CheckNeighbours(const Joint& joint, const ScrewSides& sides, double across_mm,
                     const std::string& what, std::vector<Finding>& findings) {
  const auto& entries = sides.clear->entries_P_mm;
  for (std::size_t i = 0; i < entries.size(); ++i) {
    for (std::size_t j = i + 1; j < entries.size(); ++j) {
      const double apart_mm = (entries[i] - entries[j]).norm();
      if (apart_mm >= across_mm - kNoise_mm) continue;
      findings.push_back(
          {Rule::kHeadOverlaps, sides.clear_ref.text(),
           fmt::format("holes {} and {} stand {:.2f} mm apart; the {} of {} is {:g} mm "
                       "across",
                       i + 1, j + 1, apart_mm, what, joint.screw->thread, across_mm),
           "move them apart, or take smaller screws"});
      return;
    }
  }
}

// The head's rim must stand on metal and clear whatever rises beside it.
void CheckHead(const Joint& joint, const ScrewSides& sides, std::vector<Finding>& findings) {
  const trade::ThreadRow* row = trade::FindThread(joint.screw->thread);
  if (row == nullptr) return;
  const trade::ScrewHead* head = trade::FindScrewHead(trade::HeadKind::kSocketCap, *row);
  if (head == nullptr) return;
  const trade::Washer* washer = joint.washer_mm > 0 ? trade::FindWasher(*row) : nullptr;
  const double across_mm = washer != nullptr ? washer->outside_mm : head->diameter_mm;
  const std::string what = washer != nullptr ? "washer" : "head";
  CheckNeighbours(joint, sides, across_mm, what, findings);
  const double seat_mm = SeatDepth_mm(*sides.clear_part, *sides.clear);
  if (seat_mm > 0)
    return;  // let into a counterbore: its walls are the loader's and the walls' business
  Vec3 u;
  Vec3 v;
  MakeSquare(sides.clear->into_P, u, v);
  for (std::size_t k = 0; k < sides.clear->entries_P_mm.size(); ++k) {
    for (int i = 0; i < kRimPoints; ++i) {
      const double angle = 2 * kPi * i / kRimPoints;
      const Vec3 rim = sides.clear->entries_P_mm[k] +
                       0.5 * across_mm * (std::cos(angle) * u + std::sin(angle) * v);
      bool stands = false;
      bool fouls = false;
      for (const Stretch& s : MetalAlong(*sides.clear_part, rim, sides.clear->into_P)) {
        if (s.from_mm <= kNoise_mm && s.to_mm > 0.1) stands = true;
        if (s.from_mm < -kNoise_mm && s.to_mm > -head->height_mm) fouls = true;
      }
      if (stands && !fouls) continue;
      findings.push_back(
          {Rule::kHeadOverlaps, sides.clear_ref.text(),
           fmt::format("the {} of {}, {:g} mm across, {} at hole {}", what, joint.screw->thread,
                       across_mm, fouls ? "runs into the metal beside it" : "hangs over the edge",
                       k + 1),
           "move the hole, take a smaller screw or face a seat for the head"});
      return;
    }
  }
}

// Every hole that the screws pass, from the head down.
struct Passed {
  FeatureRef ref;
  const Part* part = nullptr;
  const Hole* hole = nullptr;
};

std::vector<Passed> PassedHoles(const Machine& machine, const Joint& joint,
                                const ScrewSides& sides) {
  std::vector<Passed> passed = {{sides.clear_ref, sides.clear_part, sides.clear}};
  for (const FeatureRef& ref : joint.between) {
    const Feature* feature = machine.Find(ref);
    const auto* hole = feature == nullptr ? nullptr : std::get_if<Hole>(&feature->shape);
    if (hole != nullptr) passed.push_back({ref, machine.FindPart(ref.part), hole});
  }
  return passed;
}

void CheckLineUp(const Machine& machine, const Joint& joint, const ScrewSides& sides,
                 const Passed& passed, std::vector<Finding>& findings) {
  const Pose X_WC = PlaceOf(machine, passed.ref.part);
  const Pose X_WT = PlaceOf(machine, sides.tapped_ref.part);
  const Vec3 along = X_WT.linear() * sides.tapped->into_P;
  double worst_mm = 0;
  std::size_t worst = 0;
  for (std::size_t i = 0; i < passed.hole->entries_P_mm.size(); ++i) {
    double nearest_mm = 1e9;
    for (const Vec3& entry : sides.tapped->entries_P_mm) {
      const Vec3 off = X_WC * passed.hole->entries_P_mm[i] - X_WT * entry;
      nearest_mm = std::min(nearest_mm, (off - off.dot(along) * along).norm());
    }
    if (nearest_mm > worst_mm) {
      worst_mm = nearest_mm;
      worst = i;
    }
  }
  const bool askew = std::abs(along.dot(X_WC.linear() * passed.hole->into_P)) < 1 - kDrawnAlike;
  if (!askew && worst_mm <= kSamePlace_mm) return;
  findings.push_back(
      {Rule::kPatternsDoNotLineUp, JointName(joint),
       askew ? fmt::format("the axes of {} and {} are not parallel as placed", passed.ref.text(),
                           sides.tapped_ref.text())
             : fmt::format("hole {} of {} stands {:.3f} mm from the nearest hole of {} as drawn",
                           worst + 1, passed.ref.text(), worst_mm, sides.tapped_ref.text()),
       "look at first angle, zero and direction of both patterns, and at the place of the parts"});
}

// From the hole's middle to the nearest edge or opening beside it, half way down.
double EdgeDistance_mm(const Part& part, const Hole& hole, const Vec3& entry_P, double depth_mm) {
  Vec3 u;
  Vec3 v;
  MakeSquare(hole.into_P, u, v);
  const double radius = 0.5 * hole.diameter.middle_mm();
  double least = 1e9;
  for (int i = 0; i < kEdgeWays; ++i) {
    const double angle = 2 * kPi * i / kEdgeWays;
    const Vec3 out = std::cos(angle) * u + std::sin(angle) * v;
    for (const Stretch& s : MetalAlong(part, entry_P + 0.5 * depth_mm * hole.into_P, out)) {
      if (std::abs(s.from_mm - radius) < kSamePlace_mm) least = std::min(least, s.to_mm);
    }
  }
  return least;
}

void CheckEdges(const Joint& joint, const Passed& passed, const ReviewLimits& limits,
                std::vector<Finding>& findings) {
  const bool tapped = passed.hole->thread.has_value();
  const double depth_mm = tapped ? passed.hole->thread->depth_mm : passed.hole->depth_mm;
  const double least_mm = limits.clearance_edge_diameters * joint.screw->major_mm;
  double nearest_mm = 1e9;
  std::size_t nearest = 0;
  for (std::size_t i = 0; i < passed.hole->entries_P_mm.size(); ++i) {
    const double edge_mm =
        EdgeDistance_mm(*passed.part, *passed.hole, passed.hole->entries_P_mm[i], depth_mm);
    if (edge_mm >= nearest_mm - kNoise_mm) continue;
    nearest_mm = edge_mm;
    nearest = i;
  }
  if (nearest_mm >= least_mm - kNoise_mm) return;
  findings.push_back(
      {Rule::kEdgeNear, passed.ref.text(),
       fmt::format("the middle of hole {} stands {:.2f} mm from the nearest edge or opening, least "
                   "{:.2f} mm for {}",
                   nearest + 1, nearest_mm, least_mm, joint.screw->thread),
       "move it in, or take a smaller screw"});
}

// What lies between the head and the thread as placed, against what the joint counts.
void CheckStack(const Machine& machine, const Joint& joint, const ScrewSides& sides,
                std::vector<Finding>& findings) {
  const Vec3 seat_W = PlaceOf(machine, sides.clear_ref.part) *
                      Vec3(sides.clear->entries_P_mm.front() +
                           SeatDepth_mm(*sides.clear_part, *sides.clear) * sides.clear->into_P);
  const Pose X_WT = PlaceOf(machine, sides.tapped_ref.part);
  const Vec3 mouth_W = X_WT * sides.tapped->entries_P_mm.front();
  const double placed_mm = (mouth_W - seat_W).dot(X_WT.linear() * sides.tapped->into_P);
  const double counted_mm = Gripped_mm(machine, joint, sides) - joint.washer_mm;
  if (std::abs(placed_mm - counted_mm) <= kStackNoise_mm) return;
  findings.push_back(
      {Rule::kStackUnclear, JointName(joint),
       fmt::format("as placed, {:.2f} mm lie between the screw's seat and the mouth of the thread; "
                   "the parts named add up to {:.2f} mm",
                   placed_mm, counted_mm),
       "name in between what the screws pass, from the head down, and look at the parts' places"});
}

// The way in above the seat: the screw, its head and the key come straight down.
void CheckKeyRoom(const Machine& machine, const Joint& joint, const ScrewSides& sides,
                  std::vector<Finding>& findings) {
  const trade::ThreadRow* row = trade::FindThread(joint.screw->thread);
  if (row == nullptr) return;
  const trade::ScrewHead* head = trade::FindScrewHead(trade::HeadKind::kSocketCap, *row);
  if (head == nullptr) return;
  const Pose X_WC = PlaceOf(machine, sides.clear_ref.part);
  const double need_mm = joint.screw->length_mm + head->height_mm;
  const double seat_mm = SeatDepth_mm(*sides.clear_part, *sides.clear);
  Vec3 u;
  Vec3 v;
  MakeSquare(sides.clear->into_P, u, v);
  for (std::size_t k = 0; k < sides.clear->entries_P_mm.size(); ++k) {
    const Vec3 seat = sides.clear->entries_P_mm[k] + seat_mm * sides.clear->into_P;
    for (int i = 0; i < kRimPoints; ++i) {
      const double angle = 2 * kPi * i / kRimPoints;
      const Vec3 rim =
          seat + 0.5 * head->diameter_mm * (std::cos(angle) * u + std::sin(angle) * v);
      for (const FeatureRef& ref : {sides.clear_ref, sides.tapped_ref}) {
        const Pose X_PC = PlaceOf(machine, ref.part).inverse() * X_WC;
        const auto metal = MetalAlong(*machine.FindPart(ref.part), X_PC * rim,
                                      X_PC.linear() * Vec3(-sides.clear->into_P));
        const auto over = std::find_if(metal.begin(), metal.end(),
                                       [](const Stretch& s) { return s.to_mm > 0.1; });
        // What stands against the head itself is the head's own finding.
        if (over == metal.end() || over->from_mm < head->height_mm || over->from_mm > need_mm) {
          continue;
        }
        findings.push_back(
            {Rule::kNoKeyRoom, sides.clear_ref.text(),
             fmt::format(
                 "{} leaves {:.2f} mm above the seat of hole {}; {} x {:g} and its head need "
                 "{:.2f} mm to go in",
                 ref.part.text(), over->from_mm, k + 1, joint.screw->thread, joint.screw->length_mm,
                 need_mm),
             "move the hole, take a shorter screw, or cut a way in for the key"});
        return;
      }
    }
  }
}

void CheckSold(const Joint& joint, std::vector<Finding>& findings) {
  const trade::ThreadRow* row = trade::FindThread(joint.screw->thread);
  const trade::ThreadSeries series = row == nullptr ? trade::ThreadSeries::kIsoCoarse : row->series;
  const auto lengths = trade::ScrewLengths_mm(series);
  const double length_mm = joint.screw->length_mm;
  const bool sold = std::any_of(lengths.begin(), lengths.end(), [&](double sold_mm) {
    return std::abs(sold_mm - length_mm) < kNoise_mm;
  });
  if (sold || length_mm > lengths.back()) return;
  const auto below = trade::ScrewLengthAtOrBelow_mm(series, length_mm);
  findings.push_back(
      {Rule::kLengthNotSold, JointName(joint),
       fmt::format("{} x {:g} is not a length that is sold ({})", joint.screw->thread, length_mm,
                   trade::IsMetric(series) ? "ISO 888" : "lengths in inches, common practice"),
       below ? fmt::format("take {:g} mm, or the next longer, if the thread allows it", *below)
             : std::string("take a longer screw")});
}

}  // namespace

void ReviewScrews(const Machine& machine, const Joint& joint, const ReviewLimits& limits,
                  std::vector<Finding>& findings) {
  ScrewSides sides;
  if (!FindSides(machine, joint, sides)) return;
  std::vector<Passed> holes = PassedHoles(machine, joint, sides);
  for (const Passed& passed : holes) CheckLineUp(machine, joint, sides, passed, findings);
  if (!joint.screw) return;
  CheckSold(joint, findings);
  CheckStack(machine, joint, sides, findings);
  CheckLength(machine, joint, sides, limits, findings);
  CheckHead(joint, sides, findings);
  CheckKeyRoom(machine, joint, sides, findings);
  for (const Passed& passed : holes) {
    if (passed.hole->diameter.lower_mm > joint.screw->major_mm + kNoise_mm) continue;
    findings.push_back({Rule::kHoleTooSmall, passed.ref.text(),
                        fmt::format("a hole of {:.3f} mm at the least for a screw of {:g} mm",
                                    passed.hole->diameter.lower_mm, joint.screw->major_mm),
                        "open it to the fine clearance size of ISO 273 or more"});
  }
  holes.push_back({sides.tapped_ref, sides.tapped_part, sides.tapped});
  for (const Passed& passed : holes) CheckEdges(joint, passed, limits, findings);
}

}  // namespace fitwright::review
