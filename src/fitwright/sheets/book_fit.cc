// Joints and techniques; will it fit, and what spoils it.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/sheets/book_pages.h"
#include "fitwright/sheets/numbers.h"
#include "fitwright/sheets/words.h"

namespace fitwright::sheets {
namespace {

constexpr double kMradPerRad = 1000;
constexpr double kSquareOver_mm = 25;
// Causes below this share of the whole are summed up in one line.
constexpr double kLeastShareShown = 0.03;
// Means and spreads below this print as nothing but zeros (mm, rad).
constexpr double kTooSmallToSay_mm = 5e-6;
// Odds above this need no tally.
constexpr double kAsGoodAsSure = 0.995;

bool IsAngle(RequirementKind kind) {
  return kind == RequirementKind::kSquare || kind == RequirementKind::kParallel ||
         kind == RequirementKind::kAngle;
}

// Four figures of a value in its own unit.
std::string Figures(double value) { return fmt::format("{:.4g}", value); }

std::string Quantity(const BookContext& context, RequirementKind kind, double value) {
  if (IsAngle(kind)) return FormatFixed(value * kMradPerRad, 2);
  if (kind == RequirementKind::kFormula) return Figures(value);
  return FineLength(value, context.unit);
}

std::string QuantityUnit(const BookContext& context, const RequirementOdds& odds) {
  if (IsAngle(odds.kind)) return "mrad";
  if (odds.kind != RequirementKind::kFormula) return std::string(UnitWord(context.unit));
  const Requirement* r = FindRequirement(context.machine, odds.name);
  return r == nullptr || !r->formula ? "" : r->formula->unit;
}

// What goes in: the joint's screws, or its pins.
std::string_view FastenerText(const BookContext& context, const RequirementOdds& odds) {
  const Requirement* r = FindRequirement(context.machine, odds.name);
  for (const Joint& joint : context.machine.joints) {
    if (r != nullptr && r->joint == joint.name && joint.kind == JointKind::kPinned) return "pin";
  }
  return "screw";
}

std::string ExpectedText(const BookContext& context, const RequirementOdds& odds) {
  if (!std::isfinite(odds.mean) || !std::isfinite(odds.sigma)) return "";
  if (std::abs(odds.mean) + odds.sigma < kTooSmallToSay_mm) return "";
  const std::string unit = QuantityUnit(context, odds);
  const std::string spread = Quantity(context, odds.kind, odds.sigma);
  if (odds.kind == RequirementKind::kScrewsEnter) {
    const bool spare = odds.mean <= 0;
    return fmt::format("The tightest {} {} {} {} on average; two builds in three within {} of it.",
                       FastenerText(context, odds), spare ? "has" : "lacks",
                       Quantity(context, odds.kind, std::abs(odds.mean)),
                       unit + (spare ? " to spare" : ""), spread);
  }
  return fmt::format("To be expected: {} {}, two builds in three within {} of it.",
                     Quantity(context, odds.kind, odds.mean), unit, spread);
}

Bars MakeBars(const BookContext& context, const RequirementOdds& odds) {
  Bars bars;
  double rest = 0;
  for (const CauseShare& cause : odds.causes) {
    if (cause.share < kLeastShareShown || cause.source == "rest") {
      rest += cause.share;
    } else {
      bars.bars.push_back({cause.share, context.Say(WithoutBrackets(cause.source))});
    }
  }
  std::stable_sort(bars.bars.begin(), bars.bars.end(),
                   [](const Bar& a, const Bar& b) { return a.share > b.share; });
  if (rest >= 0.005) bars.bars.push_back({rest, "all the rest"});
  return bars;
}

void AddRequirement(const BookContext& context, const RequirementOdds& odds, Book& book) {
  std::string name = odds.name.text();
  book.pieces.emplace_back(Heading{3, NameText(name), ChanceText(odds.chance)});
  book.pieces.emplace_back(Paragraph{
      fmt::format("{}: {}.", Capital(RequirementSentence(context, odds)),
                  RequirementLimits(context, odds)),
      Tone::kPlain});
  const std::string band = ShopBandText(odds.chance);
  if (!band.empty()) book.pieces.emplace_back(Entry{"Shop", band + ".", Tone::kPlain});
  const std::string seldom = SeldomText(odds.chance);
  if (!seldom.empty()) book.pieces.emplace_back(Entry{"Seldom", seldom + ".", Tone::kPlain});
  if (odds.chance.odds < kAsGoodAsSure) book.pieces.emplace_back(Tally{TallyOf(odds.chance.odds)});
  const std::string expected = ExpectedText(context, odds);
  if (!expected.empty()) book.pieces.emplace_back(Entry{"Size", expected, Tone::kPlain});
  const Bars bars = MakeBars(context, odds);
  if (bars.bars.size() < 2) return;  // the rest alone says nothing
  book.pieces.emplace_back(Entry{"Spoilt by", "share of what moves it", Tone::kPlain});
  book.pieces.emplace_back(bars);
}

const TechniqueOption* RunnerUp(const JointPlan& joint) {
  const TechniqueOption* best = nullptr;
  for (const TechniqueOption& option : joint.alternatives) {
    if (option.technique == joint.technique && option.first == joint.first) continue;
    if (best == nullptr || option.odds > best->odds ||
        (option.odds == best->odds && option.time_min < best->time_min)) {
      best = &option;
    }
  }
  return best;
}

const TechniqueOption* Chosen(const JointPlan& joint) {
  for (const TechniqueOption& option : joint.alternatives) {
    if (option.technique == joint.technique && option.first == joint.first) return &option;
  }
  return nullptr;
}

std::string PartsText(const std::vector<PartId>& parts) {
  std::vector<std::string> names;
  for (const PartId& p : parts) names.push_back(NameText(p.text()));
  return ListText(names);
}

}  // namespace

const Requirement* FindRequirement(const Machine& machine, const RequirementId& name) {
  for (const Requirement& r : machine.requirements) {
    if (r.name == name) return &r;
  }
  return nullptr;
}

std::string RequirementSentence(const BookContext& context, const RequirementOdds& odds) {
  const Requirement* requirement = FindRequirement(context.machine, odds.name);
  const bool pins = odds.kind == RequirementKind::kScrewsEnter && FastenerText(context, odds) == "pin";
  const std::string kind = pins ? "every pin goes in" : std::string(RequirementText(odds.kind));
  if (requirement == nullptr) return kind;
  if (!requirement->words.empty()) return context.Say(requirement->words);
  if (requirement->joint) return fmt::format("{} of {}", kind, NameText(requirement->joint->text()));
  if (requirement->a.part.empty()) return kind;
  return fmt::format("{}, {} and {}", kind, NameText(requirement->a), NameText(requirement->b));
}

std::string RequirementLimits(const BookContext& context, const RequirementOdds& odds) {
  const Requirement* r = FindRequirement(context.machine, odds.name);
  if (odds.kind == RequirementKind::kScrewsEnter) return fmt::format("every {} goes in", FastenerText(context, odds));
  if (r == nullptr || (!r->lower && !r->upper)) return context.Say(odds.limits);
  const std::string unit = QuantityUnit(context, odds);
  std::string text;
  if (r->lower && r->upper) {
    text = fmt::format("{} to {} {}", Quantity(context, odds.kind, *r->lower),
                       Quantity(context, odds.kind, *r->upper), unit);
  } else if (r->upper) {
    text = fmt::format("at most {} {}", Quantity(context, odds.kind, *r->upper), unit);
  } else {
    text = fmt::format("at least {} {}", Quantity(context, odds.kind, *r->lower), unit);
  }
  if (IsAngle(odds.kind) && r->upper) {
    text += fmt::format(" ({} in {})", FineLength(*r->upper * kSquareOver_mm, context.unit),
                        NamedLength(kSquareOver_mm, context.unit));
  }
  return text;
}

const CauseShare* LargestCause(const RequirementOdds& odds) {
  const CauseShare* largest = nullptr;
  for (const CauseShare& cause : odds.causes) {
    if (cause.source == "rest") continue;
    if (largest == nullptr || cause.share > largest->share) largest = &cause;
  }
  return largest;
}

void AddJoints(const BookContext& context, Book& book) {
  if (context.plan.joints.empty()) return;
  book.pieces.emplace_back(Heading{2, "Joints, and how each is made to fit", ""});
  book.pieces.emplace_back(Paragraph{
      "A next best has all else as chosen, and was weighed on fewer builds; where the same thing stands under What to do differently, that is a whole plan worked out anew, "
      "and the closer figure.", Tone::kPlain});
  for (const JointPlan& joint : context.plan.joints) {
    book.pieces.emplace_back(
        Heading{3, Capital(NameText(joint.name)), PartsText(joint.parts)});
    const TechniqueOption* chosen = Chosen(joint);
    const auto option_text = [](const TechniqueOption& o) {
      return fmt::format(": the whole plan {}, {}", ChanceText(o.odds), TimeText(o.time_min));
    };
    book.pieces.emplace_back(
        Entry{"Way", Capital(TechniqueText(joint.technique, joint.first)) +
                         (chosen != nullptr ? option_text(*chosen) : "") + ".",
              Tone::kPlain});
    if (const TechniqueOption* other = RunnerUp(joint)) {
      book.pieces.emplace_back(
          Entry{"Next best",
                Capital(TechniqueText(other->technique, other->first)) + option_text(*other) + ".",
                Tone::kPlain});
    }
    if (!joint.reason.empty()) {
      book.pieces.emplace_back(Entry{"Why", context.Say(joint.reason), Tone::kPlain});
    }
  }
}

void AddFit(const BookContext& context, const Odds& odds, Book& book) {
  book.pieces.emplace_back(Heading{2, "Will it fit", std::string(UnitWord(context.unit))});
  std::string text = fmt::format("All of it together: {}", ChanceText(odds.all));
  const std::string band = ShopBandText(odds.all);
  if (!band.empty()) text += "; " + band;
  text += fmt::format(". From {} builds on paper, seed {}.", odds.builds, odds.seed);
  book.pieces.emplace_back(Paragraph{text, Tone::kPlain});
  book.pieces.emplace_back(Tally{TallyOf(odds.all.odds)});
  std::vector<const RequirementOdds*> order;
  for (const RequirementOdds& r : odds.requirements) order.push_back(&r);
  std::stable_sort(order.begin(), order.end(), [](const auto* a, const auto* b) {
    return a->chance.odds < b->chance.odds;
  });
  for (const RequirementOdds* r : order) AddRequirement(context, *r, book);
}

}  // namespace fitwright::sheets
