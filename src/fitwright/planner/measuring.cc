#include "fitwright/planner/measuring.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/model/faces.h"
#include "fitwright/planner/instruments.h"
#include "fitwright/planner/level_faces.h"
#include "fitwright/planner/paths_design.h"
#include "fitwright/planner/process_common.h"
#include "fitwright/trade/general_tolerance.h"

namespace fitwright::planner {
namespace {

constexpr double kLeastDepth_mm = 0.5;  // what is shallower has no general tolerance (ISO 2768-1)
constexpr double kTooWide_mm = 0.05;    // of a groove over what goes in it (opinion)
constexpr double kBehind_mm = 0.3;      // where a wall is looked for, behind its surface

using K = InstrumentKind;

bool AreParallel(const Vec3& a, const Vec3& b) { return std::abs(a.dot(b)) > 1 - kDirection; }
bool Square(const Vec3& a, const Vec3& b) { return std::abs(a.dot(b)) < kDirection; }

const PlanarFace& FaceOf(const Feature& feature) { return std::get<PlanarFace>(feature.shape); }

// Half the width between limits of a length without its own; 0 = none is given.
double GeneralHalf_mm(const Part& part, double size_mm) {
  const auto half = trade::GeneralTolerance_mm(size_mm, part.general_tolerance);
  return half ? *half : 0;
}

class Finder {
 public:
  Finder(const Machine& machine, const Part& part, const Settled& settled) : machine_(machine), part_(part), settled_(settled) {}

  std::vector<Wanted> Find() {
    for (const Feature& f : part_.features) {
      if (const auto* hole = std::get_if<Hole>(&f.shape)) OfHole(f, *hole);
      if (const auto* outer = std::get_if<OuterDiameter>(&f.shape)) OfOutside(f, *outer);
      if (const auto* slot = std::get_if<Slot>(&f.shape); slot != nullptr && !slot->through)
        AddDepth(f, -slot->into_P, -slot->into_P.dot(slot->centre_P_mm) - slot->depth_mm);
      if (const auto* pocket = std::get_if<Pocket>(&f.shape)) OfPocket(f, *pocket);
      if (const auto* step = std::get_if<StepCut>(&f.shape)) OfStep(f, *step);
      if (const auto* groove = std::get_if<Groove>(&f.shape)) OfGroove(f, *groove);
    }
    return std::move(found_);
  }

 private:
  void Add(Wanted wanted) { found_.push_back(std::move(wanted)); }

  const Feature* FaceAt(const Vec3& normal_P, double at_mm) const {
    for (const Feature& f : part_.features) {
      const auto* face = std::get_if<PlanarFace>(&f.shape);
      if (face != nullptr && face->normal_P.dot(normal_P) > 1 - kDirection &&
          std::abs(face->at.middle_mm() - at_mm) < kDrawnAlike_mm)
        return &f;
    }
    return nullptr;
  }

  // From the part's end down to a level that looks the same way, at level_mm along open_P.
  void AddDepth(const Feature& feature, const Vec3& open_P, double level_mm) {
    const Feature* end = OutermostFace(part_, open_P);
    if (end == nullptr) return;
    const double depth = FaceOf(*end).at.middle_mm() - level_mm;
    if (depth < kLeastDepth_mm) return;
    const Feature* floor = FaceAt(open_P, level_mm);
    double half = GeneralHalf_mm(part_, depth);
    if (floor != nullptr) {
      const double own = FaceOf(*floor).at.width_mm() / 2;
      half = half > 0 ? std::min(half, own) : own;
    }
    if (half <= 0) return;
    const bool said = std::any_of(found_.begin(), found_.end(), [&](const Wanted& w) {
      return w.open_P.dot(open_P) > 1 - kDirection && std::abs(w.size_mm - depth) < kDrawnAlike_mm;
    });
    if (said) return;
    const bool outside = std::holds_alternative<OuterDiameter>(feature.shape);
    const std::string to = floor != nullptr ? NameWords(floor->name)
                           : outside        ? "the shoulder of " + NameWords(feature.name)
                                            : "the floor of " + NameWords(feature.name);
    Wanted wanted;
    wanted.feature = feature.name;
    wanted.needs = {feature.name, end->name};
    if (floor != nullptr) wanted.needs.push_back(floor->name);
    wanted.words = fmt::format("Measure from {} down to {}", NameWords(end->name), to);
    wanted.kinds = {K::kCaliper, K::kDepthMicrometer};
    wanted.size_mm = depth;
    wanted.lower_mm = depth - half;
    wanted.upper_mm = depth + half;
    wanted.open_P = open_P;
    wanted.after = ", at three places";
    if (outside) wanted.after += fmt::format(" (a base that does not reach over to the far side of {} wants a parallel laid across it, its thickness off)", NameWords(end->name));
    const double end_at = FaceOf(*end).at.middle_mm();
    Tighten(wanted, ShareOfDepth(machine_, part_, open_P, end_at, end_at - depth, settled_));
    Add(std::move(wanted));
    if (floor != nullptr && outside) AddFromFarEnd(*floor, *end);
  }

  // A shoulder that is closer to the far end than the end it is measured down from: over both.
  void AddFromFarEnd(const Feature& shoulder, const Feature& end) {
    const PlanarFace& face = FaceOf(shoulder);
    const Feature* far = OutermostFace(part_, -face.normal_P);
    if (far == nullptr || face.at.width_mm() >= FaceOf(end).at.width_mm() - kZone_mm) return;
    AddOver(shoulder, *far, NameWords(shoulder.name), face.at.middle_mm() + FaceOf(*far).at.middle_mm(), face.at.width_mm() / 2);
  }

  // From a face over to what looks the other way.
  void AddOver(const Feature& f, const Feature& from, const std::string& to, double size_mm, double half_mm) {
    if (size_mm < kLeastDepth_mm || half_mm <= 0) return;
    Wanted wanted;
    wanted.feature = f.name;
    wanted.needs = {f.name, from.name};
    wanted.words = fmt::format("Measure from {} over to {}", NameWords(from.name), to);
    wanted.kinds = {K::kCaliper, K::kMicrometer};
    wanted.size_mm = size_mm;
    wanted.lower_mm = size_mm - half_mm;
    wanted.upper_mm = size_mm + half_mm;
    Add(std::move(wanted));
  }

  // To what a requirement across parts leaves, where that is less than the sheet allows.
  void Tighten(Wanted& wanted, const std::optional<DistanceShare>& share) const {
    const double sheet = (wanted.upper_mm - wanted.lower_mm) / 2;
    if (!share || share->half_mm >= sheet) return;
    wanted.lower_mm = wanted.size_mm - share->half_mm;
    wanted.upper_mm = wanted.size_mm + share->half_mm;
    wanted.finely = true;
    const std::string sheet_alone = fmt::format(" (the sheet alone allows {:.3f} mm)", sheet);
    wanted.after += fmt::format("; {} wants it within {:.3f} mm", share->requirement.text(), share->half_mm);
    if (share->others > (share->reads ? 1 : 0))
      wanted.after += fmt::format(", its share beside {} other distance{}, which must not all be at their ends", share->others, share->others == 1 ? "" : "s");
    if (share->reads) {
      wanted.after += sheet_alone;
      wanted.beside = WordsBeside(*share->reads);
    } else {
      if (share->others > 0) wanted.after += "; where it is out, those still to be cut can take it up as far as their own limits let them, and what they come to counts";
      wanted.after += sheet_alone;
    }
  }

  // "shoulder, the floor of seat": a level that a bore ends in is told by the bore.
  std::string LevelWords(const FeatureId& id) const {
    const Feature* feature = part_.Find(id);
    const auto* face = feature == nullptr ? nullptr : std::get_if<PlanarFace>(&feature->shape);
    for (const Feature& f : part_.features) {
      const auto* hole = std::get_if<Hole>(&f.shape);
      if (face == nullptr || hole == nullptr || hole->bottom != HoleBottom::kFlat || hole->entries_P_mm.size() != 1 || face->normal_P.dot(hole->into_P) > -1 + kDirection) continue;
      const double floor = -hole->into_P.dot(hole->entries_P_mm.front()) - hole->depth_mm;
      if (std::abs(floor - face->at.middle_mm()) < kDrawnAlike_mm) return fmt::format("{}, the floor of {},", NameWords(id), NameWords(f.name));
    }
    return NameWords(id);
  }

  Wanted::Beside WordsBeside(const ReadsBetween& reads) const {
    const std::string other = LevelWords(reads.other);
    const bool meet = reads.between_mm < kZone_mm;
    const std::string alike = fmt::format("alike within {:.3f} mm", reads.half_mm);
    const std::string between = fmt::format("{:.3f} mm within {:.3f} mm", reads.between_mm, reads.half_mm);
    return {reads.other, meet ? fmt::format(", or {} with what {} was measured", alike, other) : fmt::format(", or that less what {} was measured, {}", other, between),
            fmt::format("; where it is out, {} is cut as much out the same way, for what counts is {}", other,
                        meet ? "that the two are " + alike : "what lies between the two, " + between)};
  }

  bool IsPinFit(const Feature& f, const Hole& hole) const {
    constexpr double kFit_mm = 0.05;  // a miked pin shows its axis
    return hole.entries_P_mm.size() == 1 && !hole.thread && hole.diameter.width_mm() < kFit_mm && Matters({part_.name, f.name});
  }

  // From an end that matters to the axis of a fitted hole across turned work: up to a pin in it. Its stubs stand out beyond the
  // round, where no caliper's other jaw finds the end.
  void OfCrossHole(const Feature& f, const Hole& hole) {
    if (part_.envelope != EnvelopeKind::kTurned || !IsPinFit(f, hole) || !Square(hole.into_P, part_.turning_axis_P.direction)) return;
    for (const double side : {-1.0, 1.0}) {
      const Vec3 n = side * part_.turning_axis_P.direction;
      const Feature* end = OutermostFace(part_, n);
      if (end == nullptr || !Matters({part_.name, end->name})) continue;
      const double end_at = FaceOf(*end).at.middle_mm();
      const double axis_at = n.dot(hole.entries_P_mm.front());
      const double r = hole.diameter.nominal_mm / 2;
      AddOverPins(f, end->name, end_at - axis_at, r,
                  fmt::format("Put a {:g} mm pin into {}; {} down on the plate, measure up to its top at both stubs, alike within 0.02 mm", 2 * r, NameWords(f.name), NameWords(end->name)),
                  fmt::format("that makes ________ ({:.3f} mm drawn) from {} to the hole's axis", end_at - axis_at, NameWords(end->name)),
                  ShareOfDistance(machine_, part_, n, end_at, axis_at, settled_), {K::kHeightGauge});
    }
  }

  // Between the axes of two fitted holes side by side: over pins in both.
  void OfHolePair(const Feature& f, const Hole& hole) {
    if (!IsPinFit(f, hole)) return;
    for (const Feature& other : part_.features) {
      if (&other == &f) return;  // each pair once
      const auto* first = std::get_if<Hole>(&other.shape);
      if (first == nullptr || !IsPinFit(other, *first) || !AreParallel(first->into_P, hole.into_P)) continue;
      Vec3 apart = hole.entries_P_mm.front() - first->entries_P_mm.front();
      apart -= hole.into_P * hole.into_P.dot(apart);
      const double rs = (hole.diameter.nominal_mm + first->diameter.nominal_mm) / 2;
      if (apart.norm() < rs + kLeastDepth_mm / 2) continue;
      const Vec3 n = apart.normalized();
      AddOverPins(f, other.name, apart.norm(), rs,
                  fmt::format("Put a {:g} mm pin into {} and a {:g} mm pin into {}; measure over both", first->diameter.nominal_mm, NameWords(other.name),
                              hole.diameter.nominal_mm, NameWords(f.name)),
                  fmt::format("that makes ________ ({:.3f} mm drawn) between the axes", apart.norm()),
                  ShareOfDistance(machine_, part_, n, n.dot(first->entries_P_mm.front()), n.dot(hole.entries_P_mm.front()), settled_));
    }
  }

  void AddOverPins(const Feature& f, const FeatureId& other, double distance_mm, double halves_mm, const std::string& words, const std::string& that_is,
                   const std::optional<DistanceShare>& share, const std::vector<InstrumentKind>& kinds = {K::kCaliper, K::kMicrometer}) {
    const double half = GeneralHalf_mm(part_, distance_mm);
    if (distance_mm < kLeastDepth_mm || half <= 0) return;
    Wanted wanted;
    wanted.feature = f.name;
    wanted.needs = {f.name, other};
    wanted.words = words;
    wanted.kinds = kinds;
    wanted.size_mm = distance_mm + halves_mm;
    wanted.lower_mm = wanted.size_mm - half;
    wanted.upper_mm = wanted.size_mm + half;
    wanted.after = fmt::format("; less half of what the pins mike, {:.3f} mm, {}", halves_mm, that_is);
    Tighten(wanted, share);
    Add(std::move(wanted));
  }

  void OfHole(const Feature& f, const Hole& hole) {
    OfCrossHole(f, hole);
    OfHolePair(f, hole);
    const bool bore = hole.use != HoleUse::kHole;
    if (bore && !hole.through && hole.bottom == HoleBottom::kFlat)
      AddDepth(f, -hole.into_P, -hole.into_P.dot(hole.entries_P_mm.front()) - hole.depth_mm);
    if (hole.use == HoleUse::kBore && hole.entries_P_mm.size() == 1) OfBorePlace(f, hole);
  }

  // A larger diameter stands beyond an end of this one.
  bool LargerAt(const OuterDiameter& outer, double along_mm) const {
    return std::any_of(part_.features.begin(), part_.features.end(), [&](const Feature& f) {
      const auto* other = std::get_if<OuterDiameter>(&f.shape);
      if (other == nullptr || !AreParallel(other->axis_P.direction, outer.axis_P.direction)) return false;
      const Vec3 p = outer.axis_P.point_mm + outer.axis_P.direction * along_mm;
      const double at = other->axis_P.direction.dot(p - other->axis_P.point_mm);
      return at > std::min(other->from_mm, other->to_mm) && at < std::max(other->from_mm, other->to_mm) &&
             other->diameter.middle_mm() > outer.diameter.middle_mm() + kZone_mm;
    });
  }

  void OfOutside(const Feature& f, const OuterDiameter& outer) {
    const Vec3& d = outer.axis_P.direction;
    const double base = d.dot(outer.axis_P.point_mm);
    const double low = std::min(outer.from_mm, outer.to_mm);
    const double high = std::max(outer.from_mm, outer.to_mm);
    if (LargerAt(outer, low - 0.01)) AddDepth(f, d, base + low);
    if (LargerAt(outer, high + 0.01)) AddDepth(f, -d, -(base + high));
  }

  // Both walls stand somewhere along them, far enough for a caliper's jaws.
  bool WallsStand(const Vec3& middle_P, const Vec3& along_P, double half_along_mm, const Vec3& across_P,
                  double half_across_mm) const {
    for (const double share : {0.0, -0.5, 0.5, -0.9, 0.9}) {
      const Vec3 p = middle_P + along_P * (share * half_along_mm);
      const Vec3 out = across_P * (half_across_mm + kBehind_mm);
      if (DesignHolds(part_, p + out) && DesignHolds(part_, p - out)) return true;
    }
    return false;
  }

  void AddGap(const Feature& f, const Pocket& pocket, const Vec3& along_P, double half_along_mm,
              const Vec3& across_P, double size_mm, const char* which) {
    const double half = GeneralHalf_mm(part_, size_mm);
    const Vec3 middle = pocket.centre_P_mm + pocket.into_P * (pocket.depth_mm / 2);
    if (half <= 0 || !WallsStand(middle, along_P, half_along_mm, across_P, size_mm / 2)) return;
    const Feature* end = OutermostFace(part_, -pocket.into_P);
    const double down =
        end == nullptr ? 0 : FaceOf(*end).at.middle_mm() + pocket.into_P.dot(pocket.centre_P_mm);
    Wanted wanted;
    wanted.feature = f.name;
    wanted.needs = {f.name};
    wanted.words = fmt::format("Measure {} from wall to wall {}", NameWords(f.name), which);
    wanted.kinds = {K::kCaliper, K::kTelescopicGauge};
    if (down > kCaliperJaws_mm) wanted.kinds = {K::kTelescopicGauge};
    wanted.size_mm = size_mm;
    wanted.lower_mm = size_mm - half;
    wanted.upper_mm = size_mm + half;
    wanted.open_P = -pocket.into_P;
    Add(std::move(wanted));
  }

  void OfPocket(const Feature& f, const Pocket& pocket) {
    const Vec3 across = pocket.into_P.cross(pocket.along_P).normalized();
    const double r = pocket.corner_radius_mm;
    AddGap(f, pocket, pocket.along_P, pocket.length_mm / 2 - r, across, pocket.width_mm, "across its width");
    AddGap(f, pocket, across, pocket.width_mm / 2 - r, pocket.along_P, pocket.length_mm, "along its length");
    AddDepth(f, -pocket.into_P, -pocket.into_P.dot(pocket.centre_P_mm) - pocket.depth_mm);
  }

  // What is left between a wall of the step and the face that looks the other way.
  void OfStep(const Feature& f, const StepCut& step) {
    const Vec3 middle = 0.5 * (step.removed_P.min_mm + step.removed_P.max_mm);
    for (int axis = 0; axis < 3; ++axis) {
      for (const double side : {-1.0, 1.0}) {
        const Vec3 n = -side * Vec3::Unit(axis);  // out of the material, into the step
        const double edge = side < 0 ? step.removed_P.min_mm[axis] : step.removed_P.max_mm[axis];
        Vec3 behind = middle;
        behind[axis] = edge + side * kBehind_mm;
        if (!DesignHolds(part_, behind)) continue;
        if (n.dot(step.into_P) < -1 + kDirection) {
          AddDepth(f, n, n[axis] * edge);
        } else {
          AddWall(f, n, n[axis] * edge);
        }
      }
    }
  }

  void AddWall(const Feature& f, const Vec3& normal_P, double level_mm) {
    const Feature* opposite = OutermostFace(part_, -normal_P);
    if (opposite == nullptr || !Matters({part_.name, opposite->name})) return;
    const double size = level_mm + FaceOf(*opposite).at.middle_mm();
    const Feature* wall = FaceAt(normal_P, level_mm);
    AddOver(f, *opposite, wall == nullptr ? "the wall of " + NameWords(f.name) : NameWords(wall->name), size, GeneralHalf_mm(part_, size));
  }

  // The made part or bought piece that goes into the groove.
  std::string FitsInGroove(const FeatureRef& ref) const {
    for (const Joint& joint : machine_.joints) {
      if (joint.kind != JointKind::kRingInGroove) continue;
      if (joint.fixed == ref) return NameWords(FeatureId(joint.moving.part.text()));
      if (joint.moving == ref) return NameWords(FeatureId(joint.fixed.part.text()));
    }
    return {};
  }

  void OfGroove(const Feature& f, const Groove& groove) {
    if (groove.undercut) return;  // clearance only
    const double width = std::abs(groove.to_mm - groove.from_mm);
    const std::string ring = FitsInGroove({part_.name, f.name});
    Wanted wanted;
    wanted.feature = f.name;
    wanted.needs = {f.name};
    wanted.open_P = groove.axis_P.direction;
    wanted.all_round = true;  // whichever end faces out, it was cut from there
    if (!groove.internal && width > kCaliperTips_mm - kZone_mm) {
      wanted.words = fmt::format("Measure {} down to its floor, the jaws' tips in the groove", NameWords(f.name));
      wanted.kinds = {K::kCaliper};
      wanted.size_mm = groove.diameter.middle_mm();
      wanted.lower_mm = groove.diameter.lower_mm;
      wanted.upper_mm = groove.diameter.upper_mm;
      Add(wanted);
    } else {
      wanted.words = fmt::format(
          "Read x where the tool only just touches the surface beside {}{}, and again at its floor: what lies between is its depth",
          NameWords(f.name), groove.internal ? " towards the mouth" : "");
      AddByDial(f, groove, wanted);
    }
    if (groove.profile != GrooveProfile::kSquare) return;
    wanted.kinds.clear();
    wanted.lower_mm = wanted.upper_mm = 0;
    const std::string fits = ring.empty() ? groove.internal ? "its circlip" : "its ring" : "the " + ring;
    // A circlip in a bore stands proud of it; a piston ring lies below the surface.
    const char* lies = groove.internal ? "with circlip pliers, eye protection on: sprung out against the groove's floor all round, its ears free" : "in all round without force, and below the surface";
    wanted.words = fmt::format("Burrs off the edges of {1} first. Try {0} in it: {2}; a slip {3:.2f} mm thick just goes in, one of {4:.2f} mm does not", fits, NameWords(f.name), lies, width, width + kTooWide_mm);
    Add(std::move(wanted));
    if (groove.internal) AddLip(f, groove);
  }

  // What stands between the groove of a circlip and the end that it goes in from.
  void AddLip(const Feature& f, const Groove& groove) {
    const Vec3& d = groove.axis_P.direction;
    const double base = d.dot(groove.axis_P.point_mm);
    const double a = base + std::min(groove.from_mm, groove.to_mm);
    const double b = base + std::max(groove.from_mm, groove.to_mm);
    const auto lip = [&](const Vec3& out_P, double wall_mm) {
      const Feature* end = OutermostFace(part_, out_P);
      return end == nullptr ? 1e9 : FaceOf(*end).at.middle_mm() - wall_mm;
    };
    const bool up = lip(d, b) <= lip(-d, -a);
    const Vec3 out_P = up ? d : Vec3(-d);
    const double size = up ? lip(d, b) : lip(-d, -a);
    const double half = GeneralHalf_mm(part_, size);
    if (half <= 0) return;
    const FeatureId& end = OutermostFace(part_, out_P)->name;
    Wanted wanted;
    wanted.feature = f.name;
    wanted.needs = {f.name, end};
    wanted.words = fmt::format("Its circlip in {} once more, drawn against the side towards the mouth: measure from {} down to it", NameWords(f.name), NameWords(end));
    wanted.kinds = {K::kDepthMicrometer, K::kCaliper};
    wanted.size_mm = size;
    wanted.lower_mm = size - half;
    wanted.upper_mm = size + half;
    wanted.open_P = out_P;
    Add(std::move(wanted));
  }

  // Depth on the diameter below the surface that the groove lies in.
  void AddByDial(const Feature& f, const Groove& groove, Wanted wanted) {
    const double middle = 0.5 * (groove.from_mm + groove.to_mm);
    const Vec3 p = groove.axis_P.point_mm + groove.axis_P.direction * middle;
    for (const Feature& other : part_.features) {
      const Size* surface = SurfaceAt(other, groove, p);
      if (surface == nullptr) continue;
      const double sign = groove.internal ? 1 : -1;
      const double a = sign * (groove.diameter.lower_mm - surface->middle_mm());
      const double b = sign * (groove.diameter.upper_mm - surface->middle_mm());
      wanted.lower_mm = std::min(a, b);
      wanted.upper_mm = std::max(a, b);
      wanted.after = " on the diameter";
      wanted.needs = {f.name, other.name};
      Add(std::move(wanted));
      return;
    }
  }

  const Size* SurfaceAt(const Feature& other, const Groove& groove, const Vec3& p) const {
    if (const auto* hole = std::get_if<Hole>(&other.shape); hole != nullptr && groove.internal) {
      const double at = hole->into_P.dot(p - hole->entries_P_mm.front());
      const bool here = AreParallel(hole->into_P, groove.axis_P.direction) && at > 0 && at < hole->depth_mm &&
                        (p - hole->entries_P_mm.front()).cross(hole->into_P).norm() < kZone_mm;
      return here ? &hole->diameter : nullptr;
    }
    const auto* outer = std::get_if<OuterDiameter>(&other.shape);
    if (outer == nullptr || groove.internal || !AreParallel(outer->axis_P.direction, groove.axis_P.direction))
      return nullptr;
    const double at = outer->axis_P.direction.dot(p - outer->axis_P.point_mm);
    return at > outer->from_mm && at < outer->to_mm ? &outer->diameter : nullptr;
  }

  bool Matters(const FeatureRef& ref) const {
    const auto joined = [&](const Joint& j) { return j.fixed == ref || j.moving == ref; };
    const auto asked = [&](const Requirement& r) {
      return r.a == ref || r.b == ref || std::any_of(r.gaps.begin(), r.gaps.end(), [&](const auto& gap) {
               return gap.first == ref || gap.second == ref;
             });
    };
    return std::any_of(machine_.joints.begin(), machine_.joints.end(), joined) ||
           std::any_of(machine_.requirements.begin(), machine_.requirements.end(), asked);
  }

  bool IsSeat(const FeatureId& id) const {
    return std::any_of(machine_.joints.begin(), machine_.joints.end(), [&](const Joint& j) {
      const FeatureRef ref{part_.name, id};
      return j.fixed == ref || j.moving == ref;
    });
  }

  // The axis of a bore that something fits, from the outer faces along it that something seats on. Of two that
  // lie opposite each other the one that is there first tells it: their distance is measured by itself.
  void OfBorePlace(const Feature& f, const Hole& hole) {
    if (part_.envelope != EnvelopeKind::kBlock || !Matters({part_.name, f.name})) return;
    std::vector<const Feature*> faces;
    for (const Feature& other : part_.features) {
      const auto* face = std::get_if<PlanarFace>(&other.shape);
      if (face != nullptr && Square(face->normal_P, hole.into_P) && OutermostFace(part_, face->normal_P) == &other &&
          Matters({part_.name, other.name}))
        faces.push_back(&other);
    }
    std::stable_partition(faces.begin(), faces.end(), [&](const Feature* face) { return IsSeat(face->name); });
    for (const Feature* face : faces) {
      const auto first = std::find_if(faces.begin(), faces.end(), [&](const Feature* other) {
        return AreParallel(FaceOf(*other).normal_P, FaceOf(*face).normal_P);
      });
      AddBorePlace(f, hole, *face, f.name.text() + " from " + (*first)->name.text());
    }
  }

  // How far in from its mouth the wall towards the face stands: half way where it does, else near one of its ends.
  std::optional<double> NearWallAt_mm(const Hole& hole, const Vec3& towards_P) const {
    constexpr double kIn_mm = 5;
    for (const double in : {hole.depth_mm / 2, kIn_mm, hole.depth_mm - kIn_mm}) {
      if (in <= 0 || in >= hole.depth_mm) continue;
      const Vec3 wall = hole.entries_P_mm.front() + hole.into_P * in + towards_P * (hole.diameter.middle_mm() / 2 + kBehind_mm);
      if (DesignHolds(part_, wall)) return in;
    }
    return std::nullopt;
  }

  void AddBorePlace(const Feature& f, const Hole& hole, const Feature& face, const std::string& place) {
    const double axis = FaceOf(face).at.middle_mm() - FaceOf(face).normal_P.dot(hole.entries_P_mm.front());
    const double half = GeneralHalf_mm(part_, axis);
    if (half <= 0) return;
    const double radius = hole.diameter.middle_mm() / 2;
    const Vec3& n = FaceOf(face).normal_P;
    const std::optional<double> near = NearWallAt_mm(hole, n);
    Wanted wanted;
    wanted.feature = f.name;
    wanted.needs = {f.name, face.name};
    wanted.place = place;
    wanted.words = fmt::format("{} down on the plate, measure up to the {} wall of {}", NameWords(face.name), near ? "near" : "far", NameWords(f.name));
    wanted.kinds = {K::kHeightGauge};
    wanted.after = near ? fmt::format(", over a 5 mm drill's shank, miked, that lies on its lowest line {:.0f} mm from its mouth (a flat scriber stands on its edges in the hollow), less the shank; with half the bore as measured, about {:.3f} mm, added,", *near, radius)
                        : fmt::format(", from below, its scriber's thickness (of a lever indicator the ball) added; less half the bore as measured, about {:.3f} mm,", radius);
    wanted.after += fmt::format(" that makes ________ ({:.3f} mm drawn) from {} to its axis", axis, NameWords(face.name));
    wanted.size_mm = near ? axis - radius : axis + radius;
    wanted.lower_mm = wanted.size_mm - half;
    wanted.upper_mm = wanted.size_mm + half;
    const double at = FaceOf(face).at.middle_mm();
    auto share = ShareOfMeeting(machine_, {part_.name, f.name}, n);
    const auto by_distance = ShareOfDistance(machine_, part_, n, at, at - axis, settled_);
    if (!share || (by_distance && by_distance->half_mm < share->half_mm)) share = by_distance;
    Tighten(wanted, share);
    Add(std::move(wanted));
  }

  const Machine& machine_;
  const Part& part_;
  const Settled& settled_;
  std::vector<Wanted> found_;
};

bool Finishes(const Step& step, const FeatureRef& ref) {
  return step.finishes && std::find(step.features.begin(), step.features.end(), ref) != step.features.end();
}

struct Placed {
  std::size_t after = 0;  // index of the step it follows
  bool out = false;       // of the machine
  Wanted wanted;
};

// From the face that looks the other way to one that was parted, or cut by the dial.
std::optional<Wanted> OfThickness(const Part& part, const PieceState& piece, const Feature& face) {
  const Vec3& n = FaceOf(face).normal_P;
  const Feature* opposite = OutermostFace(part, -n);
  if (opposite == nullptr || !piece.IsMade(opposite->name)) return std::nullopt;
  const double size = FaceOf(face).at.middle_mm() + FaceOf(*opposite).at.middle_mm();
  const double half = std::min(FaceOf(face).at.width_mm(), FaceOf(*opposite).at.width_mm()) / 2;
  if (size < kZone_mm || half <= 0) return std::nullopt;
  Wanted wanted;
  wanted.feature = face.name;
  wanted.needs = {face.name, opposite->name};
  wanted.words = OverWords(opposite->name, face.name);
  wanted.kinds = {K::kCaliper, K::kMicrometer};
  wanted.size_mm = size;
  wanted.lower_mm = size - half;
  wanted.upper_mm = size + half;
  return wanted;
}

// A hole whose limits the sheet states, from a tool of fixed size.
std::optional<Wanted> OfDrilled(const Feature& feature) {
  const auto* hole = std::get_if<Hole>(&feature.shape);
  if (hole == nullptr || hole->thread || hole->diameter.origin == LimitsOrigin::kGeneralTolerance)
    return std::nullopt;
  Wanted wanted;
  wanted.feature = feature.name;
  wanted.words = "Measure " + NameWords(feature.name);
  wanted.kinds = {K::kCaliper, K::kTelescopicGauge, K::kBoreGauge};
  if (hole->diameter.middle_mm() < kCaliperInside_mm) wanted.kinds.erase(wanted.kinds.begin());
  wanted.size_mm = hole->diameter.middle_mm();
  wanted.lower_mm = hole->diameter.lower_mm;
  wanted.upper_mm = hole->diameter.upper_mm;
  wanted.open_P = -hole->into_P;
  return wanted;
}

// What one step of the setup leaves to be measured, whatever the rest of the part.
std::optional<Wanted> OfStep(const PieceState& piece, const Step& step) {
  const Part& part = *piece.part;
  if (!step.finishes || step.features.empty() || step.features.front().part != part.name) return std::nullopt;
  if (step.aim && step.aim->kind == AimKind::kFitToMeasured) return std::nullopt;
  if (step.measure && step.measure->upper_mm > step.measure->lower_mm) return std::nullopt;
  const Feature* feature = part.Find(step.features.front().feature);
  if (feature == nullptr) return std::nullopt;
  if (std::holds_alternative<PlanarFace>(feature->shape)) return OfThickness(part, piece, *feature);
  return step.measure || step.operation == Operation::kPartOff ? std::nullopt : OfDrilled(*feature);
}

// Index of the last step that finishes one of the wanted's features; nothing while it is not yet due.
std::optional<std::size_t> DueAfter(const Setup& setup, const PieceState& piece, const Wanted& wanted) {
  std::optional<std::size_t> last;
  for (const FeatureId& id : wanted.needs) {
    if (!piece.IsMade(id)) return std::nullopt;
    for (std::size_t i = 0; i < setup.steps.size(); ++i) {
      if (Finishes(setup.steps[i], {piece.part->name, id})) last = std::max(last.value_or(i), i);
    }
  }
  return last;
}

// Not by a step of the setup after `after`.
bool IsMadeBy(const Setup& setup, const PieceState& piece, const FeatureId& id, std::size_t after) {
  if (!piece.IsMade(id)) return false;
  const auto later = setup.steps.begin() + static_cast<std::ptrdiff_t>(std::min(after + 1, setup.steps.size()));
  return std::none_of(later, setup.steps.end(), [&](const Step& step) { return Finishes(step, {piece.part->name, id}); });
}

bool OpenAsHeld(const Setup& setup, const PartPose& pose, const Wanted& wanted, bool lathe) {
  if (setup.steps.empty() || wanted.open_P.norm() < 0.5) return false;
  const double up = (pose.X_PS.linear().transpose() * wanted.open_P).z();
  return up > 1 - kDirection || (lathe && wanted.all_round && up < -1 + kDirection);
}

// No instrument goes into it: a plug of each limit. False for what is no hole of the sheet's own limits.
bool TryAPlug(Wanted& wanted) {
  if (!wanted.needs.empty()) return false;
  wanted.words = fmt::format("Try plugs in {}, drills' shanks miked for it: {:.3f} mm goes in, {:.3f} mm does not",
                             NameWords(wanted.feature), wanted.lower_mm, wanted.upper_mm);
  wanted.kinds.clear();
  wanted.lower_mm = wanted.upper_mm = 0;
  return true;
}

// Between the same two faces, from whichever of them.
bool IsSameLength(const Wanted& a, const Wanted& b) {
  return a.needs.size() == 2 && std::is_permutation(a.needs.begin(), a.needs.end(), b.needs.begin(), b.needs.end()) &&
         a.size_mm == b.size_mm;
}

Step MakeStep(const Shop& shop, const PartId& part, const Placed& placed, bool finely) {
  const Wanted& w = placed.wanted;
  Step step;
  step.operation = Operation::kMeasure;
  step.time_min = shop.times.measure;
  std::string words = placed.out ? "Out of the machine: " + w.words : w.words;
  if (w.kinds.empty() && w.upper_mm <= w.lower_mm) {
    step.words = words + ".";
    return step;
  }
  MeasureLine line;
  line.feature = {part, w.feature};
  if (w.needs.size() == 2) line.between = {{part, w.needs[0]}, {part, w.needs[1]}};
  if (w.needs.size() > 2) line.between = {{part, w.needs[1]}, {part, w.needs[2]}};  // down to what the feature ends in
  line.lower_mm = w.lower_mm;
  line.upper_mm = w.upper_mm;
  const InstrumentChoice choice = ChooseInstrument(shop, w.kinds, w.size_mm, w.upper_mm - w.lower_mm, finely);
  if (choice.instrument != nullptr) {
    line.instrument = choice.instrument->name;
    words += " with the " + choice.instrument->words;
    if (!placed.out && choice.instrument->kind == K::kDepthMicrometer) words += ", burrs off where it stands";
  }
  line.words = words + w.after;
  step.measure = line;
  return step;
}

// Another measure of the same place could be taken before, or is taken in this setup and listed first.
bool IsToldOtherwise(const Setup& setup, const PieceState& after, const std::vector<Wanted>& all, const Wanted& wanted) {
  if (wanted.place.empty()) return false;
  bool before = true;
  for (const Wanted& other : all) {
    if (&other == &wanted) before = false;
    if (&other == &wanted || other.place != wanted.place) continue;
    const bool there = std::all_of(other.needs.begin(), other.needs.end(), [&](const FeatureId& id) { return after.IsMade(id); });
    if (there && (before || !DueAfter(setup, after, other))) return true;
  }
  return false;
}

}  // namespace

std::vector<Wanted> WantedMeasures(const Machine& machine, const Part& part, const Settled& settled) {
  return Finder(machine, part, settled).Find();
}

void AddMeasuring(const Shop& shop, const PieceStates& pieces, const WantedOfParts& wanted_of,
                  const std::vector<FeatureRef>& finely, Setup& setup) {
  const MachineTool* tool = shop.Find(setup.machine);
  if (tool == nullptr || tool->kind == MachineToolKind::kBench) return;
  const bool lathe = tool->kind == MachineToolKind::kLathe;
  std::vector<std::pair<PartId, Placed>> placed;
  const auto place = [&](const PartPose& pose, const PieceState& piece, std::size_t after, Wanted w) {
    const double width = w.upper_mm - w.lower_mm;
    const bool out = !OpenAsHeld(setup, pose, w, lathe);
    if (!w.kinds.empty() && ChooseInstrument(shop, w.kinds, w.size_mm, width, false).instrument == nullptr && !TryAPlug(w)) return;
    if (w.beside) w.after += IsMadeBy(setup, piece, w.beside->other, out ? setup.steps.size() : after) ? w.beside->cut_already : w.beside->cut_later;
    const auto same = std::find_if(placed.begin(), placed.end(), [&](const auto& have) {
      return have.first == pose.part && IsSameLength(have.second.wanted, w);
    });
    if (same == placed.end()) placed.push_back({pose.part, {after, out, std::move(w)}});
  };
  for (const PartPose& pose : setup.parts) {
    const auto state = pieces.find(pose.part);
    const auto of_part = wanted_of.find(pose.part);
    if (state == pieces.end() || of_part == wanted_of.end()) continue;
    for (std::size_t i = 0; i < setup.steps.size(); ++i) {
      if (const auto own = OfStep(state->second, setup.steps[i])) place(pose, state->second, i, *own);
    }
    for (const Wanted& wanted : of_part->second) {
      const auto after = DueAfter(setup, state->second, wanted);
      if (after && !IsToldOtherwise(setup, state->second, of_part->second, wanted)) place(pose, state->second, *after, wanted);
    }
  }
  std::stable_sort(placed.begin(), placed.end(), [](const auto& a, const auto& b) {
    return a.second.out != b.second.out ? b.second.out : !a.second.out && a.second.after < b.second.after;
  });
  std::size_t inserted = 0;
  for (const auto& one : placed) {
    const PartId& part = one.first;
    const Placed& p = one.second;
    const bool fine = p.wanted.finely || std::any_of(p.wanted.needs.begin(), p.wanted.needs.end(), [&](const FeatureId& id) {
      return std::find(finely.begin(), finely.end(), FeatureRef{part, id}) != finely.end();
    });
    const auto at = p.out ? setup.steps.end() : setup.steps.begin() + static_cast<std::ptrdiff_t>(p.after + 1 + inserted);
    setup.steps.insert(at, MakeStep(shop, part, p, fine));
    if (!p.out) ++inserted;
  }
}

}  // namespace fitwright::planner
