#include "fitwright/planner/means.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "fitwright/planner/pins.h"
#include "fitwright/planner/process_common.h"
#include "fitwright/planner/search.h"
#include "fitwright/planner/technique_words.h"

namespace fitwright::planner {
namespace {

constexpr double kEasy_mm = 0.1;  // to either side: held without care by any machine (common practice)

// Whether one part by itself can be made, and why not.
class Bench {
 public:
  Bench(const Machine& machine, const PartId& part, const PlannerOptions& options, const std::vector<Pin>& pins)
      : use_(*machine.FindUse(part)), options_(options) {
    std::copy_if(pins.begin(), pins.end(), std::back_inserter(pins_.pins), [&](const Pin& pin) { return RefOf(pin).part == part && !IsTechnique(pin); });
    alone_.name = machine.name;
    alone_.display_unit = machine.display_unit;
    options_.work.progress = {};
    options_.search_builds = 8;
    options_.threads = 1;
    options_.outcomes = nullptr;
    options_.cuts = nullptr;
    options_.setups = nullptr;
    options_.subjects = nullptr;
  }
  bool Makes(const Part& part, const Shop& shop) {
    if (options_.work.cancelled()) return false;
    alone_.parts = {part};
    alone_.uses = {use_};
    alone_.uses.front().quantity = 1;
    Search search(alone_, shop, pins_, options_);
    const auto plain = search.Plain();
    why_ = plain ? "" : plain.error().message;
    return plain.has_value();
  }
  const std::string& why() const { return why_; }

 private:
  // Of a joint or a fit, or of another part: nothing of this one by itself.
  static bool IsTechnique(const Pin& pin) { return pin.kind == PinKind::kTechnique || pin.kind == PinKind::kAim || pin.kind == PinKind::kOrder; }

  PartUse use_;
  Choices pins_;
  PlannerOptions options_;
  Machine alone_;
  std::string why_;
};

std::optional<FeatureId> StandsOn(const Feature& feature) {
  if (const auto* chamfer = std::get_if<RoundChamfer>(&feature.shape)) return chamfer->on;
  if (const auto* thread = std::get_if<ExternalThread>(&feature.shape)) return thread->on;
  if (const auto* knurl = std::get_if<Knurl>(&feature.shape)) return knurl->on;
  return std::nullopt;
}

// The part is still the part without it.
bool CanBeLeftOut(const Feature& feature) {
  return !std::holds_alternative<PlanarFace>(feature.shape) && !std::holds_alternative<OuterDiameter>(feature.shape) &&
         !std::holds_alternative<Outline>(feature.shape) && feature.finish != Finish::kAsSupplied;
}

Part Without(const Part& part, const std::set<FeatureId>& left_out) {
  Part rest = part;
  const auto gone = [&](const Feature& f) {
    const auto on = StandsOn(f);
    return left_out.contains(f.name) || (on && left_out.contains(*on));
  };
  std::erase_if(rest.features, gone);
  for (Feature& feature : rest.features) {
    std::erase_if(feature.geometric, [&](const GeometricLimit& limit) { return limit.datum && rest.Find(*limit.datum) == nullptr; });
  }
  return rest;
}

// A smallest set of features (none of it can be put back) without which the part can be made; nothing where even
// the bare body cannot.
std::optional<std::set<FeatureId>> Culprits(Bench& bench, const Part& part, const Shop& shop) {
  std::set<FeatureId> out;
  for (const Feature& f : part.features) {
    if (CanBeLeftOut(f)) out.insert(f.name);
  }
  if (!bench.Makes(Without(part, out), shop)) return std::nullopt;
  // A counterbore goes back only after its hole: again until nothing more does.
  for (bool more = true; more;) {
    more = false;
    for (const Feature& f : part.features) {
      if (!out.contains(f.name)) continue;
      std::set<FeatureId> fewer = out;
      fewer.erase(f.name);
      if (!bench.Makes(Without(part, fewer), shop)) continue;
      out = fewer;
      more = true;
    }
  }
  return out;
}

struct Kit {
  std::vector<MachineTool> machines;
  std::vector<HoldingDevice> holding;
  std::vector<Tool> tools;
};

bool TakesMore(const HoldingDevice& a, const HoldingDevice& b) {
  return a.opening_mm > b.opening_mm || a.jaw_height_mm > b.jaw_height_mm || a.grip_max_mm > b.grip_max_mm || a.grip_min_mm < b.grip_min_mm ||
         a.body_diameter_mm > b.body_diameter_mm || a.bore_mm > b.bore_mm;
}
bool TakesMore(const MachineTool& a, const MachineTool& b) {
  return (a.travel_mm.array() > b.travel_mm.array()).any() || a.swing_mm > b.swing_mm || a.swing_cross_slide_mm > b.swing_cross_slide_mm ||
         a.between_centres_mm > b.between_centres_mm || a.daylight_mm > b.daylight_mm || a.spindle_bore_mm > b.spindle_bore_mm;
}

std::string LargerWords(const HoldingDevice& device) {
  const std::string name = device.words.empty() ? Words(device.name.text()) : device.words;
  if (device.kind == HoldingDeviceKind::kVise)
    return fmt::format("a larger {} (opens {} mm, jaws {} mm wide and {} high)", name, Num(device.opening_mm), Num(device.jaw_width_mm), Num(device.jaw_height_mm));
  if (device.grip_max_mm > 0) return fmt::format("a {} that takes {} to {} mm", name, Num(device.grip_min_mm), Num(device.grip_max_mm));
  return fmt::format("a larger {}", name);
}
std::string LargerWords(const MachineTool& machine) {
  if (machine.kind == MachineToolKind::kLathe)
    return fmt::format("a larger lathe (swings {} mm, {} between centres)", Num(machine.swing_mm), Num(machine.between_centres_mm));
  return fmt::format("a larger {} (travels {} x {} x {} mm)", Words(machine.name.text()), Num(machine.travel_mm.x()), Num(machine.travel_mm.y()),
                     Num(machine.travel_mm.z()));
}

template <typename Item>
Item Larger(Item item) {
  item.words = LargerWords(item);
  item.name = decltype(item.name)("larger_" + item.name.text());
  return item;
}

// What the catalogue has and the shop has not, or has only smaller.
Kit Missing(const Shop& shop, const Shop& catalogue) {
  Kit kit;
  for (const MachineTool& m : catalogue.machines) {
    const MachineTool* own = shop.Find(m.name);
    if (own == nullptr) kit.machines.push_back(m);
    if (own == nullptr || !TakesMore(m, *own)) continue;
    kit.machines.push_back(Larger(m));
    for (HoldingDevice with_it : catalogue.holding) {
      if (with_it.on != m.name) continue;
      with_it.on = kit.machines.back().name;
      with_it.name = HoldingDeviceId(fmt::format("{}_on_{}", with_it.name.text(), with_it.on.text()));
      kit.holding.push_back(with_it);
    }
  }
  for (const HoldingDevice& h : catalogue.holding) {
    const HoldingDevice* own = shop.Find(h.name);
    if (own == nullptr) kit.holding.push_back(h);
    else if (TakesMore(h, *own)) kit.holding.push_back(Larger(h));
  }
  std::copy_if(catalogue.tools.begin(), catalogue.tools.end(), std::back_inserter(kit.tools), [&](const auto& t) { return !shop.Find(t.name); });
  return kit;
}

Shop With(Shop shop, const Kit& kit) {
  // What is got for it is thought of first, before what has not done.
  shop.machines.insert(shop.machines.begin(), kit.machines.begin(), kit.machines.end());
  shop.holding.insert(shop.holding.begin(), kit.holding.begin(), kit.holding.end());
  shop.tools.insert(shop.tools.end(), kit.tools.begin(), kit.tools.end());
  return shop;
}

// Takes out of `list` in halves what the part does not need; `kit` holds the list.
template <typename Item>
void Thin(Bench& bench, const Part& part, const Shop& shop, Kit& kit, std::vector<Item> Kit::*list) {
  for (std::size_t chunk = (kit.*list).size(); chunk > 0; chunk /= 2) {
    for (std::size_t at = 0; at < (kit.*list).size();) {
      Kit fewer = kit;
      const auto first = (fewer.*list).begin() + static_cast<std::ptrdiff_t>(at);
      const auto count = std::min(chunk, (kit.*list).size() - at);
      (fewer.*list).erase(first, first + static_cast<std::ptrdiff_t>(count));
      if (bench.Makes(part, With(shop, fewer))) {
        kit = fewer;
      } else {
        at += count;
      }
    }
  }
}

// What must be got at least: the dear things are spared first. Nothing where all the catalogue does not help.
std::optional<Kit> LeastKit(Bench& bench, const Part& part, const Shop& shop, const Shop& catalogue) {
  Kit kit = Missing(shop, catalogue);
  if (!bench.Makes(part, With(shop, kit))) return std::nullopt;
  Thin(bench, part, shop, kit, &Kit::machines);
  Thin(bench, part, shop, kit, &Kit::holding);
  Thin(bench, part, shop, kit, &Kit::tools);
  return kit;
}

Means GetWords(const Kit& kit) {
  std::vector<std::string> words;
  for (const MachineTool& m : kit.machines) words.push_back(m.words.empty() ? Words(m.name.text()) : m.words);
  for (const HoldingDevice& h : kit.holding) words.push_back(h.words.empty() ? Words(h.name.text()) : h.words);
  for (const Tool& t : kit.tools) words.push_back(t.words.empty() ? Words(t.name.text()) : t.words);
  const MeansKind kind = !kit.machines.empty() ? MeansKind::kGetMachine : !kit.holding.empty() ? MeansKind::kGetHolding : MeansKind::kGetTool;
  return {kind, fmt::format("{}: {}.", kit.machines.empty() ? "Buy or borrow" : "Borrow time on, or buy", fmt::join(words, "; "))};
}

Size* SizeOf(Feature& feature) {
  if (auto* hole = std::get_if<Hole>(&feature.shape)) return hole->thread ? nullptr : &hole->diameter;
  if (auto* slot = std::get_if<Slot>(&feature.shape)) return &slot->width;
  return nullptr;
}

// Limits that any machine holds, where they alone would do.
void AddWiderLimits(Bench& bench, const Part& part, const Shop& shop, Lack& lack) {
  for (const FeatureId& id : lack.features) {
    Part wider = part;
    for (Feature& feature : wider.features) {
      Size* size = feature.name == id ? SizeOf(feature) : nullptr;
      if (size == nullptr || size->upper_mm - size->lower_mm >= 2 * kEasy_mm) continue;
      const Size before = *size;
      size->fit.clear();
      size->origin = LimitsOrigin::kGeneralTolerance;
      size->lower_mm = size->nominal_mm - kEasy_mm;
      size->upper_mm = size->nominal_mm + kEasy_mm;
      if (!bench.Makes(wider, shop)) continue;
      lack.means.push_back({MeansKind::kChangeDesign, fmt::format("Give {} limits of {} to {} mm instead of {} to {} mm, if what goes with it allows it.",
                                                                  FeatureRef{part.name, id}.text(), Num(size->lower_mm), Num(size->upper_mm),
                                                                  Num(before.lower_mm), Num(before.upper_mm))});
    }
  }
}

std::string NamesOf(const Lack& lack) {
  std::vector<std::string> names;
  for (const FeatureId& id : lack.features) names.push_back(Words(id.text()));
  return fmt::format("{}", fmt::join(names, ", "));
}

Lack LackOf(Bench& bench, const Part& part, const Shop& shop, const Shop& catalogue) {
  Lack lack;
  lack.part = part.name;
  lack.why = bench.why();
  const auto culprits = Culprits(bench, part, shop);
  if (culprits) lack.features.assign(culprits->begin(), culprits->end());
  if (culprits && !culprits->empty()) {
    // What stands in the way of the first alone.
    std::set<FeatureId> others = *culprits;
    others.erase(others.begin());
    if (!bench.Makes(Without(part, others), shop)) lack.why = bench.why();
  }
  AddWiderLimits(bench, part, shop, lack);
  if (const auto kit = LeastKit(bench, part, shop, catalogue)) lack.means.push_back(GetWords(*kit));
  const std::string name = Words(part.name.text());
  lack.means.push_back({MeansKind::kSendOut, lack.features.empty() ? fmt::format("Have the {} made elsewhere.", name)
                                                                   : fmt::format("Send the {} out for {}; all else of it can be made here.", name, NamesOf(lack))});
  if (!lack.features.empty()) {
    lack.means.push_back({MeansKind::kChangeDesign, fmt::format("Change the design so that the {} does without {}, or has {} in a form that this shop can make.", name,
                                                                NamesOf(lack), lack.features.size() > 1 ? "them" : "it")});
  }
  // What stands last costs a design, not a line of it.
  std::stable_sort(lack.means.begin(), lack.features.empty() ? lack.means.end() : lack.means.end() - 1,
                   [](const Means& a, const Means& b) { return a.kind < b.kind; });
  return lack;
}

}  // namespace

std::vector<Lack> FindLacks(const Machine& machine, const Shop& shop, const Shop& catalogue, const PlannerOptions& options,
                            const std::vector<Pin>& pins) {
  std::vector<Lack> lacks;
  for (const PartUse& use : machine.uses) {
    const Part& part = *machine.FindPart(use.part);
    Bench bench(machine, use.part, options, pins);
    if (!bench.Makes(part, shop)) lacks.push_back(LackOf(bench, part, shop, catalogue));
  }
  return lacks;
}

std::string MeansWords(const std::vector<Lack>& lacks) {
  std::string words;
  for (const Lack& lack : lacks) {
    if (lacks.size() > 1) words += fmt::format(" {}:", Words(lack.part.text()));
    for (std::size_t i = 0; i < lack.means.size(); ++i) words += fmt::format(" {}) {}", i + 1, lack.means[i].say);
  }
  return words;
}

Error SayLacks(const std::vector<Lack>& lacks, const Error& error) {
  if (lacks.empty()) return error;
  Error said = error;
  said.message.clear();
  said.remedy = "cheapest first (opinion; prices decide):" + MeansWords(lacks);
  for (const Lack& lack : lacks) {
    const std::string what = lack.features.empty() ? Words(lack.part.text()) : fmt::format("the {} of the {}", NamesOf(lack), Words(lack.part.text()));
    said.message += fmt::format("{}this shop cannot make {}: {}", said.message.empty() ? "" : "; ", what, lack.why);
  }
  return said;
}

}  // namespace fitwright::planner
