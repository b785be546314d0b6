#include "fitwright/planner/fitting_bought.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <cmath>
#include <cstdlib>
#include <optional>
#include <sstream>
#include <utility>

#include "fitwright/planner/bench_work.h"
#include "fitwright/planner/process_common.h"
#include "fitwright/planner/putting_on.h"
#include "fitwright/trade/threads.h"

namespace fitwright::planner {
namespace {

constexpr double kDrive_min = 3;   // a pin, a belt; opinion
constexpr double kOffset = 0.01;   // of the centres, that two pulleys may stand off each other's plane (common practice)

Step FitStep(const std::vector<PartId>& parts, std::string words, double minutes) {
  Step step;
  step.operation = Operation::kTrial;
  step.parts = parts;
  step.words = std::move(words);
  step.time_min = minutes;
  return step;
}

std::string Counted(const std::string& what, int count) { return count == 1 ? what : fmt::format("{} off: {}", count, what); }

// Words of letters and figures, in small letters.
std::set<std::string> SingleWords(const std::string& text) {
  std::set<std::string> words;
  std::string word;
  for (const char c : text + " ") {
    if (std::isalnum(static_cast<unsigned char>(c)) != 0) {
      word += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    } else if (word.size() > 2) {
      words.insert(std::exchange(word, ""));
    } else {
      word.clear();
    }
  }
  return words;
}

// "M8" of "lock nut M8 with washer"; nothing where no word of it is a thread.
std::string ThreadIn(const std::string& what) {
  std::istringstream words(what);
  for (std::string word; words >> word;) {
    while (!word.empty() && word.back() == ',') word.pop_back();
    if (trade::FindThread(word) != nullptr) return word;
  }
  return {};
}

struct Line {
  Vec3 point_W = Vec3::Zero();
  Vec3 out_W = Vec3::UnitZ();  // the way the screw comes out
};

// Mouths of the thread; of one on a shaft its free end.
std::vector<Line> LinesOf(const Machine& machine, const FeatureRef& ref) {
  const Part& part = *machine.FindPart(ref.part);
  const Pose X_WP = machine.FindPlace(ref.part).value_or(Pose::Identity());
  std::vector<Line> lines;
  const Feature& feature = *part.Find(ref.feature);
  if (const auto* hole = std::get_if<Hole>(&feature.shape)) {
    for (const Vec3& entry : hole->entries_P_mm) lines.push_back({X_WP * entry, X_WP.linear() * Vec3(-hole->into_P)});
  } else if (const auto* thread = std::get_if<ExternalThread>(&feature.shape)) {
    const auto* outer = std::get_if<OuterDiameter>(&part.Find(thread->on)->shape);
    if (outer == nullptr) return lines;
    const auto [low, high] = std::minmax(outer->from_mm, outer->to_mm);
    const double at = thread->at_start ? low : high;
    const Vec3 out = thread->at_start ? Vec3(-outer->axis_P.direction) : outer->axis_P.direction;
    lines.push_back({X_WP * Vec3(outer->axis_P.point_mm + outer->axis_P.direction * at), X_WP.linear() * out});
  }
  return lines;
}

// Of a hole or slot on the line: how far out of the line's point it begins and ends.
std::optional<std::pair<double, double>> SpanOnLine(const Feature& feature, const Pose& X_WP, const Line& line) {
  constexpr double kOnAxis_mm = 0.6;
  const auto span = [&](const Vec3& entry_P, const Vec3& into_P, double depth_mm, double aside_mm) -> std::optional<std::pair<double, double>> {
    const Vec3 into = X_WP.linear() * into_P;
    if (std::abs(into.dot(line.out_W)) < 1 - 1e-6) return std::nullopt;
    const Vec3 from = X_WP * entry_P - line.point_W;
    const double at = from.dot(line.out_W);
    if ((from - at * line.out_W).norm() > aside_mm) return std::nullopt;
    const double end = at + depth_mm * into.dot(line.out_W);
    return std::minmax(at, end);
  };
  if (const auto* slot = std::get_if<Slot>(&feature.shape)) {
    return span(slot->centre_P_mm, slot->into_P, slot->depth_mm, 0.5 * (slot->length_mm - slot->width.middle_mm()) + kOnAxis_mm);
  }
  const auto* hole = std::get_if<Hole>(&feature.shape);
  if (hole == nullptr || hole->thread) return std::nullopt;
  for (const Vec3& entry : hole->entries_P_mm) {
    if (const auto found = span(entry, hole->into_P, hole->depth_mm, kOnAxis_mm)) return found;
  }
  return std::nullopt;
}

std::vector<PartId> PlacedMade(const Machine& machine) {
  std::vector<PartId> parts;
  for (const PartUse& use : machine.uses) {
    parts.push_back(use.part);
    for (std::size_t k = 0; k < use.copies_X_WP.size(); ++k) parts.push_back(PartId(fmt::format("{}#{}", use.part.text(), k + 2)));
  }
  return parts;
}

// What stands between the head and the mouth of a tapped hole; of a nut what stands next under it.
std::vector<FeatureRef> PassedOver(const Machine& machine, const FeatureRef& thread, double reach_mm) {
  constexpr double kTouch_mm = 0.1;
  const bool nut = std::holds_alternative<ExternalThread>(machine.Find(thread)->shape);
  std::vector<std::pair<double, FeatureRef>> found;  // by how far out they end
  for (const Line& line : LinesOf(machine, thread)) {
    for (const PartId& id : PlacedMade(machine)) {
      if (id == thread.part) continue;
      const Pose X_WP = *machine.FindPlace(id);
      for (const Feature& feature : machine.FindPart(id)->features) {
        const auto span = SpanOnLine(feature, X_WP, line);
        if (!span || (nut ? span->second > 0 : span->first < -kTouch_mm || span->first > reach_mm)) continue;
        const FeatureRef ref{id, feature.name};
        const bool known = std::any_of(found.begin(), found.end(), [&](const auto& f) { return f.second.part == id; });
        if (!known) found.emplace_back(span->second, ref);
      }
    }
  }
  std::stable_sort(found.begin(), found.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
  if (nut && found.size() > 1) found.resize(1);
  std::vector<FeatureRef> passes;
  for (const auto& [end, ref] : found) passes.push_back(ref);
  return passes;
}

// The last figure of "M2.5 x 6"; 40 mm where there is none.
double LengthIn(const std::string& what) {
  constexpr double kUnknown_mm = 40;
  const std::size_t x = what.rfind(" x ");
  const double length = x == std::string::npos ? 0 : std::strtod(what.c_str() + x + 3, nullptr);
  return length > 0 ? length : kUnknown_mm;
}

std::vector<FeatureRef> FreeThreads(const Machine& machine, const std::string& designation) {
  std::vector<FeatureRef> threads;
  for (const PartUse& use : machine.uses) {
    for (const Feature& feature : machine.FindPart(use.part)->features) {
      const auto* hole = std::get_if<Hole>(&feature.shape);
      const auto* outer = std::get_if<ExternalThread>(&feature.shape);
      const bool same = (hole != nullptr && hole->thread && hole->thread->designation == designation) || (outer != nullptr && outer->designation == designation);
      const FeatureRef ref{use.part, feature.name};
      const bool taken = std::any_of(machine.joints.begin(), machine.joints.end(), [&](const Joint& j) {
        return j.kind == JointKind::kScrewedPattern && (j.fixed == ref || j.moving == ref);
      });
      if (same && !taken) threads.push_back(ref);
    }
  }
  return threads;
}

// How many words of the thread's place the bought part's own words have.
std::size_t Named(const BoughtPart& bought, const ThreadPlace& place) {
  const std::set<std::string> own = SingleWords(bought.part.name.text() + " " + bought.what + " " + bought.why);
  std::set<std::string> there = SingleWords(place.thread.text());
  for (const FeatureRef& ref : place.passes) there.merge(SingleWords(ref.part.text()));
  return static_cast<std::size_t>(std::count_if(there.begin(), there.end(), [&](const std::string& word) { return own.contains(word) && word != "screw"; }));
}

// A screw without a head in a hole across a bore bears on the shaft in it.
bool IsGrub(const Machine& machine, const BoughtPart& bought, const ThreadPlace& place) {
  const auto* hole = std::get_if<Hole>(&machine.Find(place.thread)->shape);
  return hole != nullptr && hole->through && SingleWords(bought.what).contains("grub");
}
constexpr const char* kGrubWords =
    " Its tip raises a burr on a plain shaft, and the hub does not come off again: a bit of brass rod before it (a small flat filed on "
    "the shaft does it too, while that is out of its bearings).";
constexpr const char* kHeldAgainst =
    " Hold against it by a plain round of the shaft in soft jaws, or by a strap round what the nut draws; never by a pin, a rod or what is bonded on.";
// A nut that holds the hub from outside leaves it the float: pushed home it would lose it.
std::string HubWords(const Machine& machine, const PartId& hub) {
  for (const auto& [bought, places] : FindThreadPlaces(machine)) {
    for (const ThreadPlace& place : places) {
      const bool nut = std::holds_alternative<ExternalThread>(machine.Find(place.thread)->shape);
      const bool holds = std::any_of(place.passes.begin(), place.passes.end(), [&](const FeatureRef& ref) { return ref.part == hub; });
      if (nut && holds) return " Draw the hub out against the tight nut and its washer first, so that the float stays what it is.";
    }
  }
  return " Push home first what it is to hold.";
}

// A thread that ends before its shoulder: a nut may come to its end before it holds anything.
std::string RunOutWords(const Machine& machine, const ThreadPlace& place) {
  const auto* thread = std::get_if<ExternalThread>(&machine.Find(place.thread)->shape);
  const Feature* on = thread == nullptr ? nullptr : machine.FindPart(place.thread.part)->Find(thread->on);
  const auto* outer = on == nullptr ? nullptr : std::get_if<OuterDiameter>(&on->shape);
  if (outer == nullptr) return {};
  const double plain_mm = std::abs(outer->to_mm - outer->from_mm) - thread->length_mm;
  if (plain_mm < 0.5) return {};
  return fmt::format(" The last {:.1f} mm before the shoulder have no full thread: where it stops before it is tight, one washer more.", plain_mm);
}

// Carried by bearings or running in a bore, by itself or bonded to what is.
bool Turns(const Machine& machine, const PartId& part) {
  const auto carried = [&](const PartId& id) {
    return std::any_of(machine.joints.begin(), machine.joints.end(),
                       [&](const Joint& j) { return j.kind == JointKind::kBearingOnShaft && (j.fixed.part == id || j.moving.part == id); });
  };
  if (carried(part)) return true;
  for (const BondGroup& group : FindBondGroups(machine)) {
    const bool here = std::find(group.parts.begin(), group.parts.end(), part) != group.parts.end();
    if (here && std::any_of(group.parts.begin(), group.parts.end(), carried)) return true;
  }
  return false;
}

std::string PlaceWords(const Machine& machine, const ThreadPlace& place) {
  const bool nut = std::holds_alternative<ExternalThread>(machine.Find(place.thread)->shape);
  std::string words;
  for (const FeatureRef& ref : place.passes) words += fmt::format("{} {}, ", nut ? "against" : "through", nut ? NamesOf({ref.part}) : FeatureOfPart(ref));
  return words + fmt::format("{} {}", nut ? "onto" : "into", FeatureOfPart(place.thread));
}

std::optional<double> Centres_mm(const Machine& machine, const Joint& belt) {
  const auto a = machine.FindPlace(belt.fixed.part);
  const auto b = machine.FindPlace(belt.moving.part);
  const Feature* feature = machine.Find(belt.fixed);
  const auto* groove = feature == nullptr ? nullptr : std::get_if<Groove>(&feature->shape);
  if (!a || !b || groove == nullptr) return std::nullopt;
  const Vec3 along = a->linear() * groove->axis_P.direction;
  const Vec3 apart = b->translation() - a->translation();
  return (apart - apart.dot(along) * along).norm();
}

}  // namespace

std::map<PartId, std::vector<ThreadPlace>> FindThreadPlaces(const Machine& machine) {
  std::map<PartId, std::vector<ThreadPlace>> found;
  for (const BoughtPart& bought : machine.bought) {
    if (bought.placed || bought.kind != BoughtKind::kScrew) continue;
    const std::string designation = ThreadIn(bought.what);
    std::vector<ThreadPlace> places;
    int openings = 0;
    for (const FeatureRef& thread : FreeThreads(machine, designation)) {
      places.push_back({thread, PassedOver(machine, thread, LengthIn(bought.what)), static_cast<int>(LinesOf(machine, thread).size())});
      openings += places.back().count;
    }
    if (openings > bought.quantity) {
      const auto best = std::max_element(places.begin(), places.end(), [&](const auto& a, const auto& b) { return Named(bought, a) < Named(bought, b); });
      const std::size_t most = Named(bought, *best);
      const auto alike = std::count_if(places.begin(), places.end(), [&](const auto& p) { return Named(bought, p) == most; });
      if (alike > 1 || best->count > bought.quantity) continue;
      places = {*best};
    }
    if (!places.empty()) found[bought.part.name] = places;
  }
  return found;
}

FittingBought::FittingBought(const Machine& machine, const Shop& shop, const std::set<JointId>& pinned)
    : machine_(machine), shop_(shop), places_(FindThreadPlaces(machine)), joined_(pinned) {
  for (const auto& [part, places] : places_) placed_.insert(part);
}

bool FittingBought::IsPin(const BoughtPart& bought) const {
  return std::any_of(machine_.joints.begin(), machine_.joints.end(),
                     [&](const Joint& j) { return j.kind == JointKind::kPinned && j.name.text() == bought.part.name.text(); });
}

std::vector<Step> FittingBought::Fit(const std::set<PartId>& joined) {
  std::vector<Step> steps;
  FitPins(joined, steps);
  FitNamed(joined, steps);
  for (const BoughtPart& bought : machine_.bought) {
    const auto open = places_.find(bought.part.name);
    if (open == places_.end()) continue;
    std::erase_if(open->second, [&](const ThreadPlace& place) {
      const auto on = [&](const FeatureRef& ref) { return joined.contains(ref.part); };
      if (!on(place.thread) || !std::all_of(place.passes.begin(), place.passes.end(), on)) return false;
      std::string words = fmt::format("{}: {}", Counted(bought.what, place.count), PlaceWords(machine_, place));
      if (!bought.why.empty()) words += fmt::format("; {}", bought.why);
      words += ".";
      if (IsGrub(machine_, bought, place)) words += kGrubWords + HubWords(machine_, place.thread.part);
      words += RunOutWords(machine_, place);
      if (Turns(machine_, place.thread.part) && std::holds_alternative<ExternalThread>(machine_.Find(place.thread)->shape)) words += kHeldAgainst;
      if (Turns(machine_, place.thread.part) && !SingleWords(bought.what).contains("lock")) words += " It goes round with what it is in: a drop of thread lock.";
      steps.push_back(FitStep({bought.part.name}, words + " Draw it tight, then try that what it holds has not moved and does not bind.",
                              place.count * shop_.times.assemble_screw));
      return true;
    });
  }
  return steps;
}

// What says itself on which part it goes, by all words of that part's name.
void FittingBought::FitNamed(const std::set<PartId>& joined, std::vector<Step>& steps) {
  for (const BoughtPart& bought : machine_.bought) {
    if (bought.placed || bought.kind != BoughtKind::kItem || placed_.contains(bought.part.name) || IsPin(bought)) continue;
    const std::set<std::string> own = SingleWords(bought.what + " " + bought.why);
    const auto named = std::find_if(joined.begin(), joined.end(), [&](const PartId& part) {
      const std::set<std::string> name = SingleWords(part.text());
      return name.size() > 1 && std::includes(own.begin(), own.end(), name.begin(), name.end());
    });
    if (named == joined.end()) continue;
    placed_.insert(bought.part.name);
    steps.push_back(FitStep({bought.part.name}, fmt::format("{}: {}. Nothing in the sheets holds {} there: a dab of grease until what comes over is on.",
                                                              Counted(bought.what, bought.quantity), bought.why, bought.quantity == 1 ? "it" : "them"),
                            bought.quantity * shop_.times.assemble_place));
  }
}

void FittingBought::FitPins(const std::set<PartId>& joined, std::vector<Step>& steps) {
  for (const Joint& joint : machine_.joints) {
    if (joint.kind != JointKind::kPinned || joined_.contains(joint.name)) continue;
    if (!joined.contains(joint.fixed.part) || !joined.contains(joint.moving.part)) continue;
    joined_.insert(joint.name);
    std::vector<PartId> pin;
    if (machine_.FindBought(PartId(joint.name.text())) != nullptr) pin = {PartId(joint.name.text())};
    steps.push_back(FitStep(pin, fmt::format("Drive the {} through {} into {}, flush or just under, by light taps with a drift thinner than the pin.",
                                             PinWords(machine_, joint), FeatureOfPart(joint.fixed), FeatureOfPart(joint.moving)), kDrive_min));
    steps.back().joints = {joint.name};
    steps.back().caution = "Eye protection: a pin can split or fly.";
  }
}

std::vector<Step> FittingBought::Belts(const std::set<PartId>& there) {
  std::vector<Step> steps;
  for (const Joint& joint : machine_.joints) {
    if (joint.kind != JointKind::kBelt || joined_.contains(joint.name)) continue;
    if (!there.contains(joint.fixed.part) || !there.contains(joint.moving.part)) continue;
    joined_.insert(joint.name);
    const BoughtPart* belt = machine_.FindBought(joint.belt);
    std::string words = fmt::format("{} over {} and {}.", belt == nullptr ? "The belt" : belt->what, FeatureOfPart(joint.fixed), FeatureOfPart(joint.moving));
    if (const auto centres = Centres_mm(machine_, joint)) {
      words += fmt::format(" Centres {:.1f} mm apart as drawn; a straight edge across the rims shows the grooves in one plane within {:.1f} mm.", *centres,
                           kOffset * *centres);
    }
    if (belt != nullptr && !belt->stretch.empty()) words += fmt::format(" Drawn tight: {}.", belt->stretch);
    steps.push_back(FitStep({joint.belt}, words + " Turn it by hand: it runs in its grooves.", kDrive_min));
    steps.back().joints = {joint.name};
    steps.back().caution = "Fingers clear; no motor until the guard is on.";
  }
  return steps;
}

std::vector<Step> FittingBought::Left() {
  std::vector<Step> steps;
  for (const BoughtPart& bought : machine_.bought) {
    if (bought.placed || placed_.contains(bought.part.name) || bought.kind == BoughtKind::kBelt || IsPin(bought)) continue;
    const std::string why = bought.why.empty() ? "" : fmt::format(" ({})", bought.why);
    steps.push_back(FitStep({bought.part.name}, fmt::format("{}{}: the sheets do not say where; fit it before the first run.", Counted(bought.what, bought.quantity), why),
                            bought.quantity * shop_.times.assemble_screw));
  }
  return steps;
}

std::vector<Step> FittingBought::Guards() const {
  const bool belted = std::any_of(machine_.joints.begin(), machine_.joints.end(), [](const Joint& j) { return j.kind == JointKind::kBelt; });
  const bool drawn = std::any_of(machine_.uses.begin(), machine_.uses.end(), [](const PartUse& use) { return SingleWords(use.part.text()).contains("guard"); });
  if (!belted || drawn) return {};
  Step step = FitStep({}, "Cover the belt, both pulleys and whatever else turns within reach, before the motor is wired: a guard that comes off with a tool "
                          "only, no opening that a finger goes through. The sheets have none: make it to what stands there; its time is not counted.",
                      0);
  step.caution = "Local rules on guards, wiring and pressure govern; where they want licensed work, have it done so.";
  return {step};
}

std::string PinWords(const Machine& machine, const Joint& joint) {
  if (const BoughtPart* bought = machine.FindBought(PartId(joint.name.text()))) return bought->what;
  if (joint.pin) return fmt::format("pin {:g} mm", joint.pin->nominal_mm);
  const auto* hole = std::get_if<Hole>(&machine.Find(joint.fixed)->shape);
  return hole == nullptr ? "pin" : fmt::format("pin {:g} mm", std::round(100 * hole->diameter.nominal_mm) / 100);
}

}  // namespace fitwright::planner
