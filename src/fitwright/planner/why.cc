#include "fitwright/planner/why.h"

#include <fmt/format.h>

#include <algorithm>
#include <functional>

#include "fitwright/model/known_words.h"
#include "fitwright/planner/difference.h"
#include "fitwright/planner/pins.h"
#include "fitwright/planner/setup_pins.h"
#include "fitwright/planner/technique_words.h"
#include "fitwright/planner/underway.h"

namespace fitwright::planner {
namespace {

constexpr std::size_t kMostFails = 6;  // ways that do not go, told of one decision

std::string SideOf(const SetupSketch& sketch) {
  for (int axis = 0; axis < 3; ++axis) {
    if (std::abs(sketch.up_P[axis]) > 1 - 1e-9) return fmt::format("{}.{}{}", sketch.part.text(), sketch.up_P[axis] > 0 ? "+" : "-", "xyz"[axis]);
  }
  return "";
}

std::string JoinedWords(const std::vector<std::string>& sentences) { return fmt::format("{}", fmt::join(sentences, " ")); }

using IsAbout = std::function<bool(const Pin&)>;

// The builder's choices but those about the decision that is asked about.
Choices Without(const Choices& choices, const IsAbout& about) {
  Choices rest;
  std::copy_if(choices.pins.begin(), choices.pins.end(), std::back_inserter(rest.pins), [&](const Pin& pin) { return !about(pin); });
  return rest;
}
IsAbout AboutAny(const std::vector<std::string>& subjects) {
  return [subjects](const Pin& pin) { return std::find(subjects.begin(), subjects.end(), pin.subject) != subjects.end(); };
}

class Asker {
 public:
  Asker(const WhyInput& in, const IsAbout& about)
      : in_(in), choices_(Without(*in.choices, about)), search_(*in.machine, *in.shop, choices_, Finer(in.options)) {
    pinned_ = choices_.pins.size() < in.choices->pins.size();
    judged_ = search_.Look(*in.chosen);
  }
  Search& search() { return search_; }
  const Strategy& chosen() const { return *in_.chosen; }
  const WhyInput& in() const { return in_; }

  void Begin(const std::string& kind, const std::string& about, const std::string& what) {
    why_ = Why{};
    why_.kind = kind;
    why_.about = about;
    if (pinned_) why_.note = "choices.toml pins it.";
    if (judged_) why_.chosen = {what, judged_->odds, judged_->minutes, judged_->expected_min};
    best_.reset();
  }
  void Try(const std::string& what, const std::optional<Strategy>& strategy) {
    if (strategy && KeyOf(*strategy) == KeyOf(chosen())) return;
    const auto judged = strategy ? search_.Look(*strategy) : std::nullopt;
    if (!judged) return Fail(what, search_.last_reason());
    Take(what, *judged);
  }
  void Take(const std::string& what, const Judged& judged) {
    if (best_ && search_.Cost(judged) >= search_.Cost(*best_)) return;
    best_ = judged;
    why_.runner_up = WhyWay{what, judged.odds, judged.minutes, judged.expected_min};
  }
  void Fail(const std::string& what, const std::string& because) {
    const bool known = std::any_of(why_.fails.begin(), why_.fails.end(), [&](const WhyNot& n) { return n.what == what || n.because == because; });
    if (!known && !because.empty() && why_.fails.size() < kMostFails) why_.fails.push_back({what, because});
  }
  // `otherwise`: why there is nothing to set it against, where no way failed either.
  void End(const std::string& otherwise, std::vector<Why>& answers) {
    if (!why_.runner_up) why_.because = why_.fails.empty() ? otherwise : why_.fails.front().because;
    answers.push_back(why_);
  }

 private:
  static PlannerOptions Finer(PlannerOptions options) {
    options.search_builds = options.advice_builds;
    options.work.progress = {};
    return options;
  }
  const WhyInput& in_;
  Choices choices_;
  Search search_;
  std::optional<Judged> judged_;
  std::optional<Judged> best_;
  bool pinned_ = false;
  Why why_;
};

// False when the subject is no technique's.
bool AskTechnique(const WhyInput& in, const std::string& subject, std::vector<Why>& answers) {
  Asker ask(in, AboutAny({subject}));
  const Strategy& chosen = *in.chosen;
  const std::string about = "technique of " + subject;
  const std::string alone = "there is no other way to make it";
  for (const PatternJoint& p : ask.search().subjects().patterns) {
    if (p.joint.text() != subject) continue;
    ask.Begin("technique", about, SaySpotting(p, chosen.patterns.at(p.joint)));
    for (const PatternChoice& way : ask.search().PatternWays(p)) ask.Try(SaySpotting(p, way), ask.search().WithPattern(chosen, p.joint, way));
    ask.End(alone, answers);
  }
  for (const SharedHoles& p : ask.search().subjects().shared) {
    if (p.subject != subject) continue;
    ask.Begin("technique", about, SayShared(p, chosen.shared.at(p.subject)));
    for (const Technique way : ask.search().SharedOptions(p)) ask.Try(SayShared(p, way), ask.search().WithShared(chosen, p.subject, way));
    ask.End(alone, answers);
  }
  for (const FlushPair& p : ask.search().subjects().flush) {
    if (p.requirement.text() != subject) continue;
    ask.Begin("technique", about, SayFlush(p, chosen.flush.at(p.requirement)));
    for (const Technique way : {Technique::kByCoordinates, Technique::kMachineTogether}) ask.Try(SayFlush(p, way), ask.search().WithFlush(chosen, p.requirement, way));
    ask.End(alone, answers);
  }
  for (const SuitPair& p : ask.search().subjects().suits) {
    if (p.requirement.text() != subject) continue;
    ask.Begin("technique", about, SaySuit(p, chosen.suits.at(p.requirement)));
    for (const Technique way : {Technique::kByCoordinates, Technique::kBringToSize, Technique::kFitToMeasured}) {
      if (p.faces && way == Technique::kBringToSize) continue;
      ask.Try(SaySuit(p, way), ask.search().WithSuit(chosen, p.requirement, way));
    }
    ask.End(alone, answers);
  }
  return !answers.empty();
}

// Setup i of the part's route in another device, on another face, from another zero.
void AskHolding(const WhyInput& in, const PartId& part, std::size_t i, std::vector<Why>& answers) {
  const Route& route = in.chosen->routes.at(part);
  const SetupSketch& own = route.setups[i];
  Asker ask(in, [&](const Pin& pin) {
    return pin.subject == SideOf(own) || (ConcernsSetup(pin, own) && (pin.kind == PinKind::kMachine || pin.kind == PinKind::kHolding));
  });
  PieceState piece = RawPiece(*in.machine->FindPart(part));
  for (std::size_t k = 0; k < i; ++k) ApplySketch(piece, route.setups[k]);
  const std::vector<SetupSketch> others = ask.search().Others(own, piece);
  const std::string where = fmt::format("{}, {}", Words(part.text()), SideWords(own));
  const auto same_device = [&](const SetupSketch& s) { return s.device == own.device && s.holding == own.holding; };
  const auto same_seat = [&](const SetupSketch& s) { return same_device(s) && (s.jaw_P - own.jaw_P).norm() < 1e-9; };
  const auto ask_among = [&](const std::string& kind, const std::string& otherwise, const auto& belongs) {
    ask.Begin(kind, fmt::format("{} of {}", kind, where), HoldingWords(own, *in.shop));
    for (const SetupSketch& other : others) {
      if (!belongs(other)) continue;
      Strategy changed = *in.chosen;
      CopyHolding(other, changed.routes.at(part).setups[i]);
      ask.Try(HoldingWords(other, *in.shop), changed);
    }
    ask.End(otherwise, answers);
  };
  std::string devices;
  for (const HoldingDevice& device : in.shop->holding) {
    if (device.name != own.device) devices += (devices.empty() ? "" : ", ") + Words(device.name.text());
  }
  const std::string none = devices.empty() ? "the shop has no other holding device"
                                           : fmt::format("none of {} holds the piece with that side up as it stands then", devices);
  ask_among("holding", none, [&](const SetupSketch& s) { return !same_device(s); });
  ask_among("datum", "no other face that is fit to seat on can be reached so in that device", [&](const SetupSketch& s) { return same_device(s) && !same_seat(s); });
  ask_among("zero", "nothing else that a zero could be taken from stands finished then, or the device gives it",
            [&](const SetupSketch& s) { return same_seat(s); });
}

// Other ways through the shop: other sides, another order of them.
void AskSetups(const WhyInput& in, const PartId& part, std::vector<Why>& answers) {
  Asker ask(in, [&](const Pin& pin) { return pin.subject == part.text() || (pin.kind == PinKind::kSetup && RefOf(pin).part == part); });
  const Route& route = in.chosen->routes.at(part);
  std::vector<std::string> sides;
  for (const SetupSketch& sketch : route.setups) sides.push_back(SideWords(sketch));
  const std::string name = Words(part.text());
  ask.Begin("setups", "setups of " + name, fmt::format("The {} in {} setup{}: {}.", name, sides.size(), sides.size() == 1 ? "" : "s", fmt::join(sides, ", ")));
  Search::Options others = ask.search().RouteOptions(*in.chosen, part);
  for (std::size_t i = 0; i < route.setups.size(); ++i) {
    for (auto& option : ask.search().SetupOptions(*in.chosen, part, i)) others.push_back(std::move(option));
  }
  for (const auto& other : others) {
    if (!other) continue;
    const std::vector<SetupSketch>& setups = other->routes.at(part).setups;
    const bool same_order = std::equal(setups.begin(), setups.end(), route.setups.begin(), route.setups.end(), [](const SetupSketch& a, const SetupSketch& b) {
      return (a.up_P - b.up_P).norm() < 1e-9 && a.cuts == b.cuts;
    });
    if (same_order) continue;  // held otherwise only
    ask.Try(JoinedWords(WhatDiffers(ask.search().subjects(), *in.shop, *in.chosen, *other)), other);
  }
  ask.End("no other order of its sides makes every feature", answers);
}

// First and last setup of a part by itself, places in the plan.
struct Span {
  PartId part;
  int first = 0;
  int last = 0;
};
std::vector<Span> SpansOf(const WhyInput& in) {
  std::vector<Span> spans;
  for (const auto& [part, route] : in.chosen->routes) {
    Span span{part, -1, -1};
    for (std::size_t i = 0; i < in.plan->setups.size(); ++i) {
      const Setup& setup = in.plan->setups[i];
      if (setup.parts.empty() || setup.parts.front().part != part || setup.contacts.empty()) continue;
      if (span.first < 0) span.first = static_cast<int>(i);
      span.last = static_cast<int>(i);
    }
    if (span.first >= 0) spans.push_back(span);
  }
  std::stable_sort(spans.begin(), spans.end(), [](const Span& a, const Span& b) { return a.first < b.first; });
  return spans;
}

// A part before the one that the plan begins before it.
void AskOrder(const WhyInput& in, const Span& before, const Span& after, std::vector<Why>& answers) {
  Asker ask(in, AboutAny({before.part.text(), after.part.text()}));
  const std::string a = Words(before.part.text());
  const std::string b = Words(after.part.text());
  ask.Begin("order", fmt::format("{} before {}", a, b), fmt::format("The {} is begun first, in setup {}; the {} in setup {}.", a, before.first + 1, b, after.first + 1));
  Choices choices = *in.choices;
  choices.pins.push_back({PinKind::kOrder, before.part.text(), after.part.text(), 0});
  PlannerOptions options = in.options;
  options.search_builds = options.advice_builds;
  const std::string what = fmt::format("The {} first.", b);
  const Result<PlanToJudge> plan = BuildPlanToJudge(*in.machine, *in.shop, ask.search().subjects(), *in.chosen, choices, options.cuts, *options.setups);
  const auto judge = [&] { return options.underway != nullptr ? JudgeLeft(*options.underway, WholePlan(*plan)) : Judge(*in.machine, *in.shop, *plan, options); };
  const Result<Judged> judged = plan ? judge() : Result<Judged>(Unexpected(plan.error()));
  if (judged) ask.Take(what, *judged);
  if (!judged) ask.Fail(what, judged.error().message);
  ask.End("", answers);
}

void AskOrders(const WhyInput& in, const PartId& part, std::vector<Why>& answers) {
  const std::vector<Span> spans = SpansOf(in);
  for (std::size_t i = 0; i + 1 < spans.size(); ++i) {
    if (part.empty() || spans[i].part == part || spans[i + 1].part == part) AskOrder(in, spans[i], spans[i + 1], answers);
  }
}

// "7": the setup of the plan as a part's own, and its place in the route.
bool AskNumber(const WhyInput& in, const std::string& subject, std::vector<Why>& answers) {
  for (const Setup& setup : in.plan->setups) {
    if (std::to_string(setup.number) != subject && setup.id.text() != subject) continue;
    if (setup.parts.empty() || setup.contacts.empty()) return false;
    const PartId& part = setup.parts.front().part;
    const auto route = in.chosen->routes.find(part);
    if (route == in.chosen->routes.end()) return false;
    const Vec3 up_P = setup.parts.front().X_PS.linear() * Vec3::UnitZ();
    for (std::size_t i = 0; i < route->second.setups.size(); ++i) {
      const SetupSketch& sketch = route->second.setups[i];
      if ((sketch.up_P - up_P).norm() > 1e-6 || sketch.device != setup.device) continue;
      AskHolding(in, part, i, answers);
      AskSetups(in, part, answers);
      return true;
    }
  }
  return false;
}

std::vector<std::string> Askable(const WhyInput& in) {
  std::vector<std::string> known = {"order"};
  for (const JointPlan& joint : in.plan->joints) known.push_back(joint.name);
  for (const auto& [part, route] : in.chosen->routes) {
    known.push_back(part.text());
    for (const SetupSketch& sketch : route.setups) {
      const std::string side = SideOf(sketch);
      if (!side.empty() && std::find(known.begin(), known.end(), side) == known.end()) known.push_back(side);
    }
  }
  return known;
}

}  // namespace

Result<std::vector<Why>> TellWhy(const WhyInput& in, const std::string& subject) {
  std::vector<Why> answers;
  if (subject == "order") AskOrders(in, {}, answers);
  if (subject == "order" || AskTechnique(in, subject, answers) || AskNumber(in, subject, answers)) return answers;
  for (const auto& [part, route] : in.chosen->routes) {
    if (part.text() == subject) {
      AskSetups(in, part, answers);
      AskOrders(in, part, answers);
    }
    for (std::size_t i = 0; i < route.setups.size(); ++i) {
      if (SideOf(route.setups[i]) == subject) AskHolding(in, part, i, answers);
    }
  }
  if (!answers.empty()) return answers;
  return Unexpected(Error{ErrorCode::kUnknownSubject, "the plan has nothing of that name to ask about", subject,
                          fmt::format("ask about a setup by its number, or one of: {}", ListOf(Askable(in))), {}});
}

}  // namespace fitwright::planner
