// What a shop cannot do, reckoned from the part and the list of tools alone: the second opinion on a
// refusal. Shares no code with the planner; rules of thumb are common practice unless said otherwise.
#pragma once

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <string>
#include <vector>

#include "fitwright/model/part.h"
#include "fitwright/model/shop.h"

namespace fitwright::random_parts {

struct Cause {
  FeatureId feature;  // empty: the part as a whole, how it is held
  std::string words;
};

class ShopLimits {
 public:
  ShopLimits(const Part& part, const Shop& shop) : part_(part), shop_(shop) {}
  std::vector<Cause> Find() {
    for (const Feature& f : part_.features) {
      if (f.finish == Finish::kAsSupplied) continue;
      std::visit([&](const auto& shape) { Look(f, shape); }, f.shape);
    }
    part_.envelope == EnvelopeKind::kBlock ? LookAtBlock() : LookAtTurned();
    return causes_;
  }

 private:
  using Fits = std::function<bool(const Tool&)>;

  void Add(const Feature& f, std::string words) { causes_.push_back({f.name, std::move(words)}); }
  void AddWhole(std::string words) { causes_.push_back({FeatureId(), std::move(words)}); }
  bool Any(ToolKind kind, const Fits& fits) const {
    return std::any_of(shop_.tools.begin(), shop_.tools.end(), [&](const Tool& t) { return t.kind == kind && fits(t); });
  }
  double Most(ToolKind kind, const Fits& fits, double Tool::* value) const {
    double most = 0;
    for (const Tool& t : shop_.tools) {
      if (t.kind == kind && fits(t)) most = std::max(most, t.*value);
    }
    return most;
  }
  double DeepestMill(double widest_mm) const {
    const Fits fits = [&](const Tool& t) { return t.diameter_mm <= widest_mm + 1e-6; };
    return std::max(Most(ToolKind::kEndMill, fits, &Tool::flute_mm), Most(ToolKind::kSlotDrill, fits, &Tool::flute_mm));
  }
  bool Turned() const { return part_.envelope == EnvelopeKind::kTurned; }
  bool OnAxis(const Hole& hole) const {
    if (!Turned() || hole.entries_P_mm.size() != 1) return false;
    const Vec3 off = hole.entries_P_mm.front() - part_.turning_axis_P.point_mm;
    return std::abs(hole.into_P.dot(part_.turning_axis_P.direction)) > 1 - 1e-9 && off.cross(part_.turning_axis_P.direction).norm() < 1e-6;
  }
  double Widest() const {
    double most = 0;
    for (const Feature& f : part_.features) {
      if (const auto* o = std::get_if<OuterDiameter>(&f.shape)) most = std::max(most, o->diameter.middle_mm());
    }
    return most;
  }

  void Look(const Feature& f, const Hole& hole);
  void LookAtThread(const Feature& f, const Hole& hole);
  void Look(const Feature& f, const Pocket& pocket);
  void Look(const Feature& f, const Slot& slot);
  void Look(const Feature& f, const StepCut& step);
  void Look(const Feature& f, const Groove& groove);
  void Look(const Feature& f, const Taper& taper);
  void Look(const Feature& f, const ExternalThread& thread);
  void Look(const Feature& f, const Knurl& knurl);
  void Look(const Feature& f, const Keyway& keyway);
  void Look(const Feature& f, const EdgeChamfer& chamfer);
  void Look(const Feature& f, const RoundChamfer& chamfer);
  template <typename Other>
  void Look(const Feature&, const Other&) {}
  void LookAtBlock();
  void LookAtTurned();

  const Part& part_;
  const Shop& shop_;
  std::vector<Cause> causes_;
};

inline void ShopLimits::Look(const Feature& f, const Hole& hole) {
  const double d = hole.diameter.middle_mm();
  const double point = hole.through ? 0.3 * d : 0;  // a 118 degree point comes out as a whole
  const Fits exact = [&](const Tool& t) { return t.diameter_mm >= hole.diameter.lower_mm - 1e-6 && t.diameter_mm <= hole.diameter.upper_mm + 1e-6; };
  const Fits enters = [&](const Tool& t) { return t.diameter_min_mm > 0 && t.diameter_min_mm <= d; };
  const double drilled = Most(ToolKind::kDrill, exact, &Tool::flute_mm) - point;
  const double reamed = Most(ToolKind::kReamer, exact, &Tool::stick_out_mm);
  const double sunk = std::max(Most(ToolKind::kCounterbore, exact, &Tool::flute_mm), Most(ToolKind::kEndMill, exact, &Tool::flute_mm));
  const double bored = hole.entries_P_mm.size() > 1 ? 0
                       : OnAxis(hole)               ? Most(ToolKind::kBoringBar, enters, &Tool::reach_mm)
                                                    : Most(ToolKind::kBoringHead, enters, &Tool::reach_mm);
  const double followed = DeepestMill(d);  // a bar or reamer follows a drill
  const double best = std::max({drilled, std::min(reamed, std::max(drilled, 1e9)), sunk, bored});
  if (hole.depth_mm > best) {
    Add(f, fmt::format("no tool makes {} deeper than {}; {} is wanted", d, best, hole.depth_mm));
  }
  const bool wide = d > 10 && bored < hole.depth_mm && drilled < hole.depth_mm;
  if (wide) Add(f, fmt::format("no bar for {} reaches {}", d, hole.depth_mm));
  if (!hole.through && hole.bottom == HoleBottom::kFlat && !hole.thread && followed < hole.depth_mm && !(OnAxis(hole) && bored >= hole.depth_mm)) {
    Add(f, fmt::format("no cutter that goes into {} flattens its floor {} deep", d, hole.depth_mm));
  }
  if (!hole.through && hole.bottom != HoleBottom::kFlat && drilled <= 0) Add(f, fmt::format("no drill of {} leaves that cone", d));
  if (hole.thread) LookAtThread(f, hole);
}

inline void ShopLimits::LookAtThread(const Feature& f, const Hole& hole) {
  const InternalThread& thread = *hole.thread;
  const Fits right = [&](const Tool& t) { return t.thread == thread.designation; };
  double lead = 1e9;
  double reach = 0;
  for (const Tool& t : shop_.tools) {
    if (t.kind != ToolKind::kTap || !right(t)) continue;
    lead = std::min(lead, t.tip_flat_mm);
    reach = std::max(reach, t.flute_mm);
  }
  const bool turned = OnAxis(hole) && Any(ToolKind::kThreadingTool, [&](const Tool& t) {
                        return t.diameter_min_mm > 0 && t.diameter_min_mm <= hole.diameter.middle_mm() && t.stick_out_mm >= thread.depth_mm;
                      });
  if (turned) return;
  if (reach == 0) return Add(f, fmt::format("no tap for {}", thread.designation));
  if (reach < thread.depth_mm) return Add(f, fmt::format("the longest {} tap cuts {} deep", thread.designation, reach));
  if (!hole.through && thread.depth_mm + lead > hole.depth_mm) Add(f, fmt::format("the lead of the {} tap does not fit under the thread", thread.designation));
}

inline void ShopLimits::Look(const Feature& f, const Pocket& pocket) {
  const double deep = DeepestMill(2 * pocket.corner_radius_mm);
  if (deep < pocket.depth_mm) Add(f, fmt::format("a cutter for corners of {} cuts {} deep at most, {} is wanted", pocket.corner_radius_mm, deep, pocket.depth_mm));
}

inline void ShopLimits::Look(const Feature& f, const Slot& slot) {
  const double deep = DeepestMill(slot.width.middle_mm());
  if (slot.width.middle_mm() >= 1 && deep < slot.depth_mm) Add(f, fmt::format("a cutter for {} cuts {} deep at most, {} is wanted", slot.width.middle_mm(), deep, slot.depth_mm));
}

inline void ShopLimits::Look(const Feature& f, const StepCut& step) {
  int axis = 0;
  step.into_P.cwiseAbs().maxCoeff(&axis);
  const double deep = step.removed_P.size_mm()[axis];
  if (DeepestMill(1e9) < deep) Add(f, fmt::format("no end mill cuts {} deep", deep));
}

inline void ShopLimits::Look(const Feature& f, const Groove& groove) {
  const double width = groove.to_mm - groove.from_mm;
  const double floor = groove.diameter.middle_mm();
  double surface = groove.internal ? 0 : 1e9;
  for (const Feature& other : part_.features) {
    if (const auto* o = std::get_if<OuterDiameter>(&other.shape); o != nullptr && !groove.internal) {
      if (std::min(o->from_mm, o->to_mm) < groove.to_mm - 1e-6 && std::max(o->from_mm, o->to_mm) > groove.from_mm + 1e-6) surface = std::min(surface, o->diameter.middle_mm());
    }
    if (const auto* h = std::get_if<Hole>(&other.shape); h != nullptr && groove.internal && OnAxis(*h)) surface = std::max(surface, h->diameter.middle_mm());
  }
  const double deep = 0.5 * std::abs(floor - surface);
  if (groove.internal && groove.profile != GrooveProfile::kSquare) return Add(f, "no tool of that shape goes inside");
  if (groove.profile == GrooveProfile::kRound) {
    if (!Any(ToolKind::kFormTool, [&](const Tool& t) { return std::abs(2 * t.nose_radius_mm - width) < 1e-3 && t.reach_mm >= deep; })) {
      Add(f, fmt::format("no round-nose tool {} wide goes {} deep", width, deep));
    }
    return;
  }
  if (groove.profile == GrooveProfile::kVee) {
    const double narrow = width - 2 * deep * std::tan(0.5 * groove.vee_deg * kPi / 180);
    const bool blade = Any(ToolKind::kGroovingTool, [&](const Tool& t) { return t.width_mm <= narrow + 1e-6 && t.reach_mm >= deep; });
    const auto point = [&](const Tool& t) { return t.diameter_min_mm == 0 && t.point_deg <= groove.vee_deg + 0.01 && t.reach_mm >= deep; };
    if (!blade && !Any(ToolKind::kThreadingTool, point) && !Any(ToolKind::kChamferTool, point)) {
      Add(f, fmt::format("no blade for a floor of {} and no point of {} degrees goes {} deep", narrow, groove.vee_deg, deep));
    }
    return;
  }
  const ToolKind kind = groove.internal ? ToolKind::kInternalGroovingTool : ToolKind::kGroovingTool;
  const bool cut = Any(kind, [&](const Tool& t) { return t.width_mm <= width + 1e-6 && t.reach_mm >= deep - 1e-6 && (!groove.internal || t.diameter_min_mm <= surface); });
  if (!cut) Add(f, fmt::format("no {}grooving tool up to {} wide reaches {} deep", groove.internal ? "inside " : "", width, deep));
}

inline void ShopLimits::Look(const Feature& f, const Taper& taper) {
  // The compound slide of a lathe of this size moves 60 mm or so (from memory).
  constexpr double kCompound_mm = 60;
  const double start = taper.start_diameter.middle_mm();
  const double end = taper.end_diameter.middle_mm();
  const double along = std::hypot(taper.to_mm - taper.from_mm, 0.5 * (start - end));
  if (along > kCompound_mm) Add(f, fmt::format("the cone is {} along its side, longer than the compound slide moves", along));
  if (!taper.internal) return;
  const double small = std::min(start, end);
  const bool bar = Any(ToolKind::kBoringBar, [&](const Tool& t) { return t.diameter_min_mm <= small && t.reach_mm >= taper.to_mm - taper.from_mm; });
  if (!bar) Add(f, fmt::format("no boring bar goes into {}", small));
}

inline void ShopLimits::Look(const Feature& f, const ExternalThread& thread) {
  const auto& blank = std::get<OuterDiameter>(part_.Find(thread.on)->shape);
  const bool die = Any(ToolKind::kDie, [&](const Tool& t) { return t.thread == thread.designation; });
  bool geared = false;
  for (const MachineTool& m : shop_.machines) {
    for (const double pitch : m.pitches_mm) geared = geared || std::abs(pitch - thread.pitch_mm) < 1e-6;
  }
  geared = geared && Any(ToolKind::kThreadingTool, [](const Tool& t) { return t.diameter_min_mm == 0; });
  if (!die && !geared) return Add(f, fmt::format("no die and no change wheels for {}", thread.designation));
  // A die's lead and a threading tool's run-out need two pitches or so beyond the full thread.
  const double room = std::abs(blank.to_mm - blank.from_mm) - thread.length_mm;
  const double far = thread.at_start ? blank.to_mm : blank.from_mm;
  const bool shoulder = std::any_of(part_.features.begin(), part_.features.end(), [&](const Feature& other) {
    const auto* o = std::get_if<OuterDiameter>(&other.shape);
    return o != nullptr && o->diameter.middle_mm() > blank.diameter.middle_mm() && (std::abs(o->from_mm - far) < 1e-6 || std::abs(o->to_mm - far) < 1e-6);
  });
  if (shoulder && room < 2 * thread.pitch_mm) Add(f, "it is wanted right up to the shoulder");
}

inline void ShopLimits::Look(const Feature& f, const Knurl& knurl) {
  const bool straight = knurl.pattern == KnurlPattern::kStraight;
  if (Any(ToolKind::kKnurlingTool, [&](const Tool& t) { return std::abs(t.pitch_mm - knurl.pitch_mm) < 1e-6 && (t.point_deg == 180) == straight; })) return;
  Add(f, fmt::format("no {} wheels of {}", straight ? "straight" : "diamond", knurl.pitch_mm));
}

inline void ShopLimits::Look(const Feature& f, const Keyway& keyway) {
  if (keyway.internal) return Add(f, "nothing in the shop slots a bore");
  const double radius = 0.5 * Widest();
  if (DeepestMill(keyway.width.middle_mm()) < radius - keyway.floor_mm) Add(f, "no cutter of its width goes that deep");
}

inline void ShopLimits::Look(const Feature& f, const EdgeChamfer& chamfer) {
  if (chamfer.rounded && !Any(ToolKind::kFile, [](const Tool&) { return true; })) Add(f, "no file to round a straight edge");
}

inline void ShopLimits::Look(const Feature& f, const RoundChamfer& chamfer) {
  if (!chamfer.rounded && std::abs(chamfer.axial_mm - chamfer.radial_mm) > 1e-6) Add(f, "the cutters for edges stand at 45 degrees");
}

inline void ShopLimits::LookAtBlock() {
  std::vector<double> sides;
  for (int i = 0; i < 3; ++i) sides.push_back(part_.block_P.size_mm()[i]);
  std::sort(sides.begin(), sides.end());
  double opening = 0;
  double travel = 0;
  for (const HoldingDevice& device : shop_.holding) {
    if (device.kind == HoldingDeviceKind::kVise) opening = std::max(opening, device.opening_mm);
  }
  for (const MachineTool& machine : shop_.machines) {
    if (machine.kind == MachineToolKind::kMill) travel = std::min(machine.travel_mm.x(), machine.travel_mm.y());
  }
  if (sides[1] > opening && sides[1] > travel) AddWhole(fmt::format("its middle side, {}, is more than the vise opens ({}) and the table moves ({})", sides[1], opening, travel));
}

inline void ShopLimits::LookAtTurned() {}

}  // namespace fitwright::random_parts
