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
  void LookBesideKnurl(const Feature& f, const Knurl& knurl);
  void Look(const Feature& f, const Keyway& keyway);
  void LookInHub(const Feature& f, const Keyway& keyway);
  void Look(const Feature& f, const EdgeChamfer& chamfer);
  void Look(const Feature& f, const RoundChamfer& chamfer);
  template <typename Other>
  void Look(const Feature&, const Other&) {}
  double PlainLength(const FeatureId& id, const OuterDiameter& outer) const;
  bool SwingsInLathe(const Hole& hole) const;
  double Long_mm() const;
  void LookBetweenCentres();
  const MachineTool* Lathe() const {
    for (const MachineTool& machine : shop_.machines) {
      if (machine.kind == MachineToolKind::kLathe) return &machine;
    }
    return nullptr;
  }
  void LookAtStrips(double strip_mm);
  void LookAtBlock();
  void LookAtTurned();
  struct Land {
    double from, to, diameter;
    bool supplied;
    double plain = 0;
  };
  bool CanBeTurnedRound(const std::vector<Land>& lands) const;
  void LookAtHolesRound(const std::vector<Land>& lands);

  const Part& part_;
  const Shop& shop_;
  std::vector<Cause> causes_;
};

// Between the top and a boring bar's holder, and as much out below (opinion); half of that over a floor.
inline constexpr double kBarClear_mm = 1;

// Within a tenth: what a drill, or an end mill that is plunged, does not hold (common practice).
inline bool IsClose(const Size& size) { return size.width_mm() < 0.1 + 1e-9; }

inline void ShopLimits::Look(const Feature& f, const Hole& hole) {
  const double d = hole.diameter.middle_mm();
  const double point = hole.through ? 0.3 * d + 1 : 0;  // a 118 degree point comes out as a whole, and a little
  const Fits exact = [&](const Tool& t) { return t.diameter_mm >= hole.diameter.lower_mm - 1e-6 && t.diameter_mm <= hole.diameter.upper_mm + 1e-6; };
  // A bar goes into what is drilled before it, or what the stock brings.
  const Fits smaller = [&](const Tool& t) { return t.diameter_mm < d - 0.3; };
  const double open = std::max(Most(ToolKind::kDrill, smaller, &Tool::diameter_mm), part_.stock.inner_diameter_mm);
  const Fits enters = [&](const Tool& t) { return t.diameter_min_mm > 0 && t.diameter_min_mm <= open; };
  // A drill cuts over its size by a tenth or so (common practice): it makes no bore and no fit.
  const bool drills = hole.use != HoleUse::kBore && hole.diameter.width_mm() > 0.1;
  const double drilled = drills || hole.thread ? Most(ToolKind::kDrill, exact, &Tool::flute_mm) - point : 0;
  const Fits under = [&](const Tool& t) { return t.diameter_mm < d && t.diameter_mm > 0.9 * d - 0.1; };
  const double reamed = std::min(Most(ToolKind::kReamer, exact, &Tool::stick_out_mm), Most(ToolKind::kDrill, under, &Tool::flute_mm) - point);
  // Nor does an end mill that is plunged: it runs out (common practice).
  const double sunk = IsClose(hole.diameter) ? 0 : std::max({Most(ToolKind::kCounterbore, exact, &Tool::flute_mm), Most(ToolKind::kEndMill, exact, &Tool::flute_mm),
                                Most(ToolKind::kSlotDrill, exact, &Tool::flute_mm)});
  const double in_lathe = OnAxis(hole) || SwingsInLathe(hole) ? Most(ToolKind::kBoringBar, enters, &Tool::reach_mm) : 0;
  const double bar = OnAxis(hole) ? in_lathe : std::max(in_lathe, Most(ToolKind::kBoringHead, enters, &Tool::reach_mm));
  // A bar that faces a floor to its middle stands on the far side of the axis: thinner than the radius, its
  // edge (an eighth of it, or so) with it.
  const bool faced = OnAxis(hole) && !hole.through && hole.bottom == HoleBottom::kFlat;
  const double facing = Most(ToolKind::kBoringBar, [&](const Tool& t) { return enters(t) && 1.12 * t.shank_mm < 0.5 * d; }, &Tool::reach_mm);
  const double bored = hole.entries_P_mm.size() > 1 ? 0 : (faced ? facing : bar) - (hole.through ? 2 * kBarClear_mm : 1.5 * kBarClear_mm);
  const double best = std::max({drilled, reamed, sunk, bored});
  if (hole.depth_mm > best) {
    Add(f, fmt::format("no tool makes {} deeper than {}; {} is wanted", d, best, hole.depth_mm));
  }
  const bool wide = d > 10 && bored < hole.depth_mm && drilled < hole.depth_mm;
  if (wide) Add(f, fmt::format("no bar for {} reaches {}", d, hole.depth_mm));
  if (!hole.through && hole.bottom == HoleBottom::kFlat && !hole.thread && sunk < hole.depth_mm && bored < hole.depth_mm) {
    Add(f, fmt::format("no flat cutter of {} and no boring tool makes a floor {} deep", d, hole.depth_mm));
  }
  if (!hole.through && hole.bottom == HoleBottom::kFlat && IsClose(hole.diameter) && bored < hole.depth_mm &&
      DeepestMill(d - 0.1) < hole.depth_mm) {
    Add(f, fmt::format("a reamer wants a flat floor before it, and no cutter under {} is {} long", d, hole.depth_mm));
  }
  // Where the drill's point takes most of the depth, a cutter must open what the reamer finds: it takes out
  // 0.3 mm or so on the diameter, twice that in a shallow hole (common practice).
  const bool shallow = hole.depth_mm < 0.6 * d + 1;
  const Fits before = [&](const Tool& t) { return t.diameter_mm < d && t.diameter_mm > 0.82 * d; };
  if (!hole.through && hole.bottom == HoleBottom::kFlat && IsClose(hole.diameter) && shallow && bored < hole.depth_mm && sunk < hole.depth_mm &&
      !Any(ToolKind::kEndMill, before) && !Any(ToolKind::kSlotDrill, before)) {
    Add(f, fmt::format("{} deep is nearly all drill point, and no cutter a little under {} opens it for the reamer", hole.depth_mm, d));
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
  // The corner is the cutter's own radius: a table moved by hand makes no arcs.
  const double own = 2 * pocket.corner_radius_mm;
  const Fits fits = [&](const Tool& t) { return std::abs(t.diameter_mm - own) < 1e-3; };
  const double deep = std::max(Most(ToolKind::kEndMill, fits, &Tool::flute_mm), Most(ToolKind::kSlotDrill, fits, &Tool::flute_mm));
  if (deep < pocket.depth_mm) Add(f, fmt::format("a cutter for corners of {} cuts {} deep at most, {} is wanted", pocket.corner_radius_mm, deep, pocket.depth_mm));
}

inline void ShopLimits::Look(const Feature& f, const Slot& slot) {
  // A blind slot's round ends are the cutter's own; a through one's may be drilled.
  const Fits own = [&](const Tool& t) { return t.diameter_mm >= slot.width.lower_mm - 1e-6 && t.diameter_mm <= slot.width.upper_mm + 1e-6; };
  const double blind = std::max(Most(ToolKind::kEndMill, own, &Tool::flute_mm), Most(ToolKind::kSlotDrill, own, &Tool::flute_mm));
  const double deep = slot.through ? DeepestMill(slot.width.middle_mm()) : blind;
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
  const double start = taper.start_diameter.middle_mm();
  const double end = taper.end_diameter.middle_mm();
  const double along = std::hypot(taper.to_mm - taper.from_mm, 0.5 * (start - end));
  const MachineTool* lathe = Lathe();
  if (lathe != nullptr && along > lathe->top_slide_mm) {
    // Between centres the tailstock goes over by the length times the sine of half the angle (geometry).
    const double over = Long_mm() * 0.5 * std::abs(start - end) / along;
    if (taper.internal) Add(f, fmt::format("the cone is {} along its side, longer than the compound slide moves", along));
    if (!taper.internal && over > lathe->tailstock_over_mm) Add(f, fmt::format("the tailstock does not go {} over for that cone", over));
    if (!taper.internal) LookBetweenCentres();
  }
  if (!taper.internal) return;
  const double small = std::min(start, end);
  const bool bar = Any(ToolKind::kBoringBar, [&](const Tool& t) { return t.diameter_min_mm <= small && t.reach_mm >= taper.to_mm - taper.from_mm; });
  if (!bar) Add(f, fmt::format("no boring bar goes into {}", small));
}

// A block's bore is brought to the spindle's axis in the four-jaw, or on the faceplate under straps that stand a
// bolt's width outside it.
inline bool ShopLimits::SwingsInLathe(const Hole& hole) const {
  constexpr double kBolt_mm = 12;
  const MachineTool* lathe = Lathe();
  if (Turned() || lathe == nullptr || hole.entries_P_mm.size() > 1) return false;
  double far = 0;
  for (int i = 0; i < 8; ++i) {
    Vec3 corner;
    for (int k = 0; k < 3; ++k) corner[k] = (i >> k) & 1 ? part_.block_P.max_mm[k] : part_.block_P.min_mm[k];
    const Vec3 off = corner - hole.entries_P_mm.front();
    far = std::max(far, (off - hole.into_P * hole.into_P.dot(off)).norm());
  }
  return 2 * (far + kBolt_mm) <= lathe->swing_mm;
}

// With what is left on for its centres.
inline double ShopLimits::Long_mm() const { return part_.stock.IsBar() ? part_.stock.to_mm - part_.stock.from_mm : 0; }

// A bar on two centres springs in its middle as one of 2.52 times less springs at its free end (bending lines:
// L^3 / 48 against L^3 / 3), of which three diameters are common practice.
inline void ShopLimits::LookBetweenCentres() {
  constexpr double kMost_diameters = 3 * 2.52;
  double slimmest = 1e9;
  for (const Feature& f : part_.features) {
    if (const auto* o = std::get_if<OuterDiameter>(&f.shape)) slimmest = std::min(slimmest, o->diameter.middle_mm());
  }
  if (Long_mm() > kMost_diameters * slimmest) AddWhole(fmt::format("{} long and {} thick it springs between centres", Long_mm(), slimmest));
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
  if (thread.length_mm <= 2 * thread.pitch_mm) Add(f, "it is no longer than the two turns of its lead");
  if (shoulder && room < 2 * thread.pitch_mm) Add(f, "it is wanted right up to the shoulder");
}

inline void ShopLimits::Look(const Feature& f, const Knurl& knurl) {
  const bool straight = knurl.pattern == KnurlPattern::kStraight;
  if (Any(ToolKind::kKnurlingTool, [&](const Tool& t) { return std::abs(t.pitch_mm - knurl.pitch_mm) < 1e-6 && (t.point_deg == 180) == straight; })) {
    return LookBesideKnurl(f, knurl);
  }
  Add(f, fmt::format("no {} wheels of {}", straight ? "straight" : "diamond", knurl.pitch_mm));
}

// Cutters beside a shoulder: what is wider than the land runs into the larger diameter next to it.
inline void ShopLimits::LookBesideKnurl(const Feature& f, const Knurl& knurl) {
  const double wheel = Most(ToolKind::kKnurlingTool, [&](const Tool& t) { return std::abs(t.pitch_mm - knurl.pitch_mm) < 1e-6; }, &Tool::width_mm);
  const auto& on = std::get<OuterDiameter>(part_.Find(knurl.on)->shape);
  if (wheel <= std::abs(knurl.to_mm - knurl.from_mm)) return;
  const bool larger = std::any_of(part_.features.begin(), part_.features.end(), [&](const Feature& other) {
    const auto* o = std::get_if<OuterDiameter>(&other.shape);
    return o != nullptr && o->diameter.middle_mm() > on.diameter.middle_mm() && o->from_mm < knurl.from_mm + wheel && o->to_mm > knurl.to_mm - wheel;
  });
  if (larger) Add(f, fmt::format("wheels {} wide meet the larger diameter beside it", wheel));
}

// Slotted by a bit in a bar that goes through the bore, or broached.
inline void ShopLimits::LookInHub(const Feature& f, const Keyway& keyway) {
  double bore = 1e9;
  for (const Feature& other : part_.features) {
    const auto* hole = std::get_if<Hole>(&other.shape);
    if (hole != nullptr && OnAxis(*hole)) bore = std::min(bore, hole->diameter.middle_mm());
  }
  const double length = std::abs(keyway.to_mm - keyway.from_mm);
  const auto goes = [&](const Tool& t) {
    return t.width_mm >= keyway.width.lower_mm - 1e-6 && t.width_mm <= keyway.width.upper_mm + 1e-6 && t.diameter_min_mm < bore && t.reach_mm >= length &&
           t.flute_mm >= keyway.floor_mm - bore / 2;
  };
  if (!Any(ToolKind::kSlottingTool, goes) && !Any(ToolKind::kBroach, goes)) Add(f, "nothing in the shop slots its bore");
}

inline void ShopLimits::Look(const Feature& f, const Keyway& keyway) {
  if (keyway.internal) return LookInHub(f, keyway);
  const double radius = 0.5 * Widest();
  if (DeepestMill(keyway.width.middle_mm()) < radius - keyway.floor_mm) Add(f, "no cutter of its width goes that deep");
  // A blind end's round is the cutter's own, and a table moved by hand makes no arcs.
  const auto own = [&](const Tool& t) { return t.diameter_mm >= keyway.width.lower_mm - 1e-6 && t.diameter_mm <= keyway.width.upper_mm + 1e-6; };
  if (!Any(ToolKind::kEndMill, own) && !Any(ToolKind::kSlotDrill, own)) {
    Add(f, fmt::format("no cutter of {} to {} makes its round end", keyway.width.lower_mm, keyway.width.upper_mm));
  }
}

inline void ShopLimits::Look(const Feature& f, const EdgeChamfer& chamfer) {
  if (chamfer.rounded && !Any(ToolKind::kFile, [](const Tool&) { return true; })) Add(f, "no file to round a straight edge");
}

inline void ShopLimits::Look(const Feature& f, const RoundChamfer& chamfer) {
  if (!chamfer.rounded && std::abs(chamfer.axial_mm - chamfer.radial_mm) > 1e-6) Add(f, "the cutters for edges stand at 45 degrees");
  const auto* hole = std::get_if<Hole>(&part_.Find(chamfer.on)->shape);
  if (hole == nullptr || OnAxis(*hole)) return;
  const double mouth = hole->diameter.middle_mm() + 2 * chamfer.radial_mm;
  const bool opens = Any(ToolKind::kChamferMill, [&](const Tool& t) { return t.diameter_mm >= mouth && t.diameter_min_mm <= hole->diameter.middle_mm(); });
  if (!opens) Add(f, fmt::format("no 90 degree cutter that goes into {} opens to {}", hole->diameter.middle_mm(), mouth));
  if (hole->through) return;
  // A cone of 90 degrees reaches half as deep as it is wide.
  if (hole->depth_mm < 0.5 * mouth) Add(f, fmt::format("the point of a 90 degree cutter meets the floor of a hole {} deep", hole->depth_mm));
}

// Common practice: 5 mm in the jaws, 2 mm between them and the cut.
inline constexpr double kGrip_mm = 5;
inline constexpr double kClear_mm = 2;

inline void ShopLimits::LookAtBlock() {
  std::vector<double> sides;
  for (int i = 0; i < 3; ++i) sides.push_back(part_.block_P.size_mm()[i]);
  std::sort(sides.begin(), sides.end());
  const HoldingDevice* vise = nullptr;
  for (const HoldingDevice& device : shop_.holding) {
    if (device.kind == HoldingDeviceKind::kVise && (vise == nullptr || device.opening_mm > vise->opening_mm)) vise = &device;
  }
  if (vise == nullptr) return AddWhole("there is no vise");
  double travel = 0;
  for (const MachineTool& machine : shop_.machines) {
    if (machine.kind == MachineToolKind::kMill) travel = std::min(machine.travel_mm.x(), machine.travel_mm.y());
  }
  if (sides[1] > vise->opening_mm && sides[1] > travel) {
    AddWhole(fmt::format("its middle side, {}, is more than the vise opens ({}) and the table moves ({})", sides[1], vise->opening_mm, travel));
  }
  // Flat in the vise: the parallels that lift it clear of the jaws leave less than a grip.
  double packing = 1e9;
  for (const double strip : vise->parallels_mm) {
    if (strip + sides[0] >= vise->jaw_height_mm + kClear_mm) packing = std::min(packing, strip);
  }
  if (sides[0] < vise->jaw_height_mm && vise->jaw_height_mm - packing < kGrip_mm) {
    AddWhole(fmt::format("{} thick, it stands on {} of packing and {:.1f} in the jaws", sides[0], packing, vise->jaw_height_mm - packing));
  }
  // On edge: thinner than the parallels, it stands on the bed or on nothing.
  const double thin = vise->thin_parallel_thickness_mm;
  const double strip_mm = thin > 0 ? std::min(thin, vise->parallel_thickness_mm) : vise->parallel_thickness_mm;
  LookAtStrips(strip_mm);
  if (sides[0] < strip_mm && sides[1] < vise->jaw_height_mm + kClear_mm) {
    AddWhole(fmt::format("{} thick, it does not stand on parallels of {}, and {} high not on the bed", sides[0], strip_mm, sides[1]));
  }
}

// Parallels stand outside the outermost holes that come out below, along one pair of sides or the other.
inline void ShopLimits::LookAtStrips(double strip_mm) {
  constexpr double kBeside_mm = 0.5;
  for (const Feature& f : part_.features) {
    const auto* hole = std::get_if<Hole>(&f.shape);
    if (hole == nullptr || !hole->through) continue;
    double most = 0;
    for (int axis = 0; axis < 3; ++axis) {
      if (std::abs(hole->into_P[axis]) > 0.5) continue;
      double margin = 1e9;
      for (const Vec3& p : hole->entries_P_mm) {
        const double out = 0.5 * hole->diameter.middle_mm();
        margin = std::min({margin, p[axis] - out - part_.block_P.min_mm[axis], part_.block_P.max_mm[axis] - out - p[axis]});
      }
      most = std::max(most, margin);
    }
    if (most < strip_mm + kBeside_mm) AddWhole(fmt::format("{} leaves {} beside it, no room for parallels of {}", f.name.text(), most, strip_mm));
  }
}

// Longest stretch of plain outside, and whether there is bar to hold beside the part while it is turned.
inline void ShopLimits::LookAtTurned() {
  std::vector<Land> lands;
  for (const Feature& f : part_.features) {
    const auto* o = std::get_if<OuterDiameter>(&f.shape);
    if (o == nullptr) continue;
    lands.push_back({o->from_mm, o->to_mm, o->diameter.middle_mm(), f.finish == Finish::kAsSupplied});
    lands.back().plain = PlainLength(f.name, *o);
  }
  std::sort(lands.begin(), lands.end(), [](const Land& a, const Land& b) { return a.from < b.from; });
  double longest = 0;
  double thickest = 0;
  for (const Land& land : lands) {
    longest = std::max(longest, land.plain);
    thickest = std::max(thickest, land.diameter);
    // Common practice: work held at one end alone stands out three diameters at most.
    if (!land.supplied && land.to - land.from > 3 * land.diameter) AddWhole(fmt::format("{} across and {} long, it springs from the tool", land.diameter, land.to - land.from));
  }
  if (longest < kGrip_mm + kClear_mm) AddWhole(fmt::format("its longest plain outside is {}, too short to turn it round by", longest));
  // Bar too thick for the spindle stands out of the chuck by all that its jaws and body do not take.
  for (const MachineTool& machine : shop_.machines) {
    if (machine.kind != MachineToolKind::kLathe || thickest <= machine.spindle_bore_mm) continue;
    double inside = 0;
    for (const HoldingDevice& d : shop_.holding) inside = d.on == machine.name ? std::max(inside, d.jaw_reach_mm + d.body_length_mm) : inside;
    const double out = lands.back().to - lands.front().from - inside;
    if (out > 3 * thickest) AddWhole(fmt::format("{} of it stand out of the chuck, for {} does not go through the spindle", out, thickest));
  }
  LookAtHolesRound(lands);
  if (!CanBeTurnedRound(lands)) AddWhole("neither end leaves a land that holds it while the other end is turned");
}

// Holes round the axis are drilled with one end up: a land below that jaws close on, nothing larger under it,
// and above them a bore or a land long enough for the indicator to go round.
inline void ShopLimits::LookAtHolesRound(const std::vector<Land>& lands) {
  constexpr double kIndicator_mm = 3;  // opinion
  const bool round = std::any_of(part_.features.begin(), part_.features.end(), [&](const Feature& f) {
    const auto* hole = std::get_if<Hole>(&f.shape);
    return hole != nullptr && !OnAxis(*hole) && std::abs(hole->into_P.dot(part_.turning_axis_P.direction)) > 0.5;
  });
  const bool bored = std::any_of(part_.features.begin(), part_.features.end(), [&](const Feature& f) {
    const auto* hole = std::get_if<Hole>(&f.shape);
    return hole != nullptr && OnAxis(*hole);
  });
  if (!round) return;
  for (const bool high_up : {true, false}) {
    for (std::size_t i = 0; i < lands.size(); ++i) {
      bool grips = lands[i].plain >= kGrip_mm;
      bool shows = bored || lands[i].plain >= kGrip_mm + kIndicator_mm;
      for (std::size_t k = 0; k < lands.size(); ++k) {
        const bool below = high_up ? k < i : k > i;
        if (below) grips &= lands[k].diameter <= lands[i].diameter + 1e-6;
        if (!below && k != i) shows |= lands[k].plain >= kIndicator_mm;
      }
      if (grips && shows) return;
    }
  }
  AddWhole("for the holes round it there is no land to grip with one beside it to indicate on");
}

// From one end all that no larger land hides and that stands clear of the bar in the jaws; then by one of
// these lands, or one that needs no turning, the rest from the other end.
inline bool ShopLimits::CanBeTurnedRound(const std::vector<Land>& lands) const {
  const double room = kGrip_mm + kClear_mm;
  for (const bool from_high : {true, false}) {
    const double jaws = from_high ? part_.stock.from_mm + room : part_.stock.to_mm - room;
    std::vector<bool> first(lands.size(), false);
    double largest = 0;
    for (std::size_t k = 0; k < lands.size(); ++k) {
      const std::size_t i = from_high ? lands.size() - 1 - k : k;
      const bool clear = from_high ? lands[i].from >= jaws - 1e-6 : lands[i].to <= jaws + 1e-6;
      first[i] = lands[i].supplied || (clear && lands[i].diameter >= largest);
      largest = std::max(largest, lands[i].diameter);
    }
    for (std::size_t i = 0; i < lands.size(); ++i) {
      if (!first[i]) continue;
      bool others = true;      // that are turned from the other end, past nothing larger
      bool slimmer = true;     // what lies in the chuck beyond the land
      bool beside = false;     // the land next to the jaws is turned now
      for (std::size_t k = 0; k < lands.size(); ++k) {
        const bool outward = from_high ? k < i : k > i;
        if (!outward && k != i) slimmer &= lands[k].diameter <= lands[i].diameter + 1e-6;
        if (first[k]) continue;
        others &= outward;
        beside |= from_high ? k + 1 == i : k == i + 1;
        for (std::size_t m = 0; m < lands.size(); ++m) {
          if (from_high ? m < k : m > k) others &= lands[m].diameter <= lands[k].diameter + 1e-6;
        }
      }
      if (others && slimmer && lands[i].plain >= kGrip_mm + (beside ? kClear_mm : 0)) return true;
    }
  }
  return false;
}

inline double ShopLimits::PlainLength(const FeatureId& id, const OuterDiameter& outer) const {
  double from = outer.from_mm;
  double to = outer.to_mm;
  double plain = 0;
  std::vector<std::pair<double, double>> taken;
  for (const Feature& f : part_.features) {
    if (const auto* g = std::get_if<Groove>(&f.shape); g != nullptr && !g->internal) taken.push_back({g->from_mm, g->to_mm});
    if (const auto* t = std::get_if<Taper>(&f.shape); t != nullptr && !t->internal) taken.push_back({t->from_mm, t->to_mm});
    if (const auto* s = std::get_if<Flats>(&f.shape)) taken.push_back({s->from_mm, s->to_mm});
    if (const auto* k = std::get_if<Keyway>(&f.shape); k != nullptr && !k->internal) taken.push_back({k->from_mm, k->to_mm});
    if (const auto* k = std::get_if<Knurl>(&f.shape); k != nullptr && k->on == id) taken.push_back({k->from_mm, k->to_mm});
    const auto* c = std::get_if<RoundChamfer>(&f.shape);
    const auto* x = std::get_if<ExternalThread>(&f.shape);
    const double length = c != nullptr && c->on == id ? c->axial_mm : x != nullptr && x->on == id ? x->length_mm : 0;
    if (length > 0) (c != nullptr ? c->at_start : x->at_start) ? taken.push_back({from, from + length}) : taken.push_back({to - length, to});
  }
  std::sort(taken.begin(), taken.end());
  for (const auto& [a, b] : taken) {
    if (b <= from || a >= to) continue;
    plain = std::max(plain, a - from);
    from = std::max(from, b);
  }
  return std::max(plain, to - from);
}

}  // namespace fitwright::random_parts
