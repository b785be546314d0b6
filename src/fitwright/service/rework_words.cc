// The sentences and the JSON of rework_use.h.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/rework/next_reading.h"
#include "fitwright/service/json_text.h"
#include "fitwright/service/rework_use.h"
#include "fitwright/sheets/numbers.h"
#include "fitwright/sheets/text.h"
#include "fitwright/sheets/words.h"

namespace fitwright::service {
namespace {

using rework::Changes;
using rework::Following;
using rework::RequirementChange;
using rework::SizeTarget;
using sheets::FineLength;
using sheets::NameText;

constexpr double kWorthSaying = 0.02;  // of a chance
constexpr std::size_t kMostOdds = 5;
constexpr double kAlong = 0.999;

std::string NumberOf(const SizeTarget& target) {
  const Setup& setup = *target.size.setup;
  return fmt::format("{}.{}", setup.number, target.size.step - setup.steps.data() + 1);
}

std::string ChanceWord(double odds) { return sheets::ChanceText(odds); }

// "+x" for an axis of the part.
std::string WayText(const Vec3& along) {
  for (int axis = 0; axis < 3; ++axis) {
    if (std::abs(along[axis]) < kAlong) continue;
    return fmt::format("{}{}", along[axis] < 0 ? "-" : "+", "xyz"[axis]);
  }
  return fmt::format("({:.2f}, {:.2f}, {:.2f})", along.x(), along.y(), along.z());
}

// Those whose odds moved, most first.
std::vector<RequirementChange> Moved(const Changes& changes) {
  std::vector<RequirementChange> moved;
  for (const RequirementChange& one : changes.requirements) {
    if (std::abs(one.after - one.before) >= kWorthSaying) moved.push_back(one);
  }
  std::stable_sort(moved.begin(), moved.end(),
                   [](const RequirementChange& a, const RequirementChange& b) {
                     return std::abs(a.after - a.before) > std::abs(b.after - b.before);
                   });
  return moved;
}

void AddExpected(const Workshop& w, const ReworkAnswer& answer, std::vector<std::string>& words) {
  const Changes& changes = answer.changes;
  if (!changes.counts) {
    words.emplace_back(
        "It changes no odds: the size is cut again later, or the plan has no figures for it.");
    return;
  }
  const std::string expected = fmt::format(
      "{} {} was expected, give or take {}", FineLength(changes.expected.mean_mm, w.unit()),
      UnitWord(w.unit()), FineLength(2 * changes.expected.sigma_mm, w.unit()));
  words.push_back(
      changes.surprising
          ? fmt::format("{}: {} come out so far from it. Measure again, then believe it.", expected,
                        ChanceWord(changes.expected.chance))
          : expected + ".");
}

void AddOdds(const Workshop& w, const Changes& changes, std::vector<std::string>& words) {
  const auto moved = Moved(changes);
  for (std::size_t i = 0; i < std::min(kMostOdds, moved.size()); ++i) {
    const RequirementChange& one = moved[i];
    const std::string name = NameText(one.name.text());
    const std::string kind(sheets::RequirementText(w.machine()->requirements[one.place].kind));
    const bool said = name.find(kind) != std::string::npos;  // "front spigot clearance" needs no "clearance" behind it
    words.push_back(fmt::format("{}{}: {}, before {}.", sheets::Capital(name), said ? "" : ", " + kind, ChanceWord(one.after), ChanceWord(one.before)));
  }
  if (moved.size() > kMostOdds)
    words.push_back(fmt::format("{} more move by less.", moved.size() - kMostOdds));
  if (moved.empty() && changes.counts)
    words.emplace_back("No requirement's odds move by 2 in 100 or more.");
  if (std::abs(changes.all_after - changes.all_before) >= kWorthSaying / 2) {
    words.push_back(fmt::format("All of them in one machine: {}, before {}.",
                                ChanceWord(changes.all_after), ChanceWord(changes.all_before)));
  }
}

std::string TargetText(const Workshop& w, const SizeTarget& t) {
  const LengthUnit unit = w.unit();
  const std::string name = sheets::Capital(NameText(t.size.feature));
  const std::string limits = sheets::LimitsText(t.now.lower_mm, t.now.upper_mm, unit);
  const std::string aim = FineLength(t.now.aim_mm, unit);
  if (!t.moved) {
    return fmt::format("{} (step {}), to suit {} as read: {} {}, aim {}. Its fits then hold: {}.", name, NumberOf(t), FineLength(*t.mate_mm, unit), limits,
                       UnitWord(unit), aim, ChanceWord(t.odds_now));
  }
  const std::string bring = fmt::format("{} (step {}): bring it to {} {}, aim {}.", name, NumberOf(t), limits, UnitWord(unit), aim);
  if (!t.mate_mm) {
    return fmt::format("{} Planned was {}. Its fits then hold: {}; as planned: {}.", bring, sheets::LimitsText(t.planned.lower_mm, t.planned.upper_mm, unit),
                       ChanceWord(t.odds_now), ChanceWord(t.odds_planned));
  }
  return fmt::format("{} By {} alone the sum would be {}; not all of a reading is believed, for no instrument is exact and another size was expected. Its fits then hold: {}; by the sum: {}.", bring,
                     FineLength(*t.mate_mm, unit), FineLength(t.planned.aim_mm, unit), ChanceWord(t.odds_now), ChanceWord(t.odds_planned));
}

std::string FollowingText(const Workshop& w, const Following& f) {
  const LengthUnit unit = w.unit();
  const auto off = [&](double mm, double sigma_mm) {
    return fmt::format("{}{} {}, give or take {}", mm < 0 ? "" : "+", FineLength(mm, unit), UnitWord(unit), FineLength(2 * sigma_mm, unit));
  };
  const std::string what = f.is_size ? "is expected to come out" : fmt::format("is expected to lie, along {} of the part,", WayText(f.along_P));
  return fmt::format("{} {} {} from the drawing's middle ({} before this reading).", sheets::Capital(NameText(f.feature)), what,
                     off(f.after_mm, f.after_sigma_mm), off(f.before_mm, f.before_sigma_mm));
}

std::string RescueWay(const Workshop& w, const ReworkAnswer& answer, const rework::Rescue& r) {
  const LengthUnit unit = w.unit();
  const std::string what = NameText(answer.past->taken.feature);
  const std::string size =
      fmt::format("{} {}", FineLength(std::abs(r.size_mm), unit), UnitWord(unit));
  switch (r.kind) {
    case RescueKind::kUseAsIs:
      return fmt::format("Leave {} as it is", what);
    case RescueKind::kMateToSuit: {
      std::vector<std::string> sizes;
      for (const SizeTarget& t : r.targets)
        sizes.push_back(fmt::format("{} to {}", NameText(t.size.feature),
                                    sheets::LimitsText(t.now.lower_mm, t.now.upper_mm, unit)));
      return "Make to suit it: " + sheets::ListText(sizes);
    }
    case RescueKind::kCutAgain:
      return fmt::format("Cut {} again: there is metal left", what);
    case RescueKind::kBush:
      return fmt::format("Open {} out to {}, bond a bush in and bore it to size", what, size);
    case RescueKind::kSleeve:
      return fmt::format("Turn {} down to {}, bond a sleeve on and turn it to size", what, size);
    case RescueKind::kOpenOut:
      return fmt::format("Open {} out to {}, the next series for its screws", what, size);
    case RescueKind::kNextScrew:
      return fmt::format("Tap {} for {} and open its mate's holes for that", what, r.detail);
    case RescueKind::kMovePattern:
      return fmt::format(
          "Move the {} holes of the part that are still to come by {} along {} of it", r.detail,
          size, WayText(r.size_mm < 0 ? Vec3(-r.along_P) : r.along_P));
    case RescueKind::kRemake: {
      const auto place = FindPlace(*w.plan, r.from->text(), 1);
      return fmt::format("Make {} again from step {}",
                         NameText(answer.past->taken.feature.part.text()),
                         place ? place->number() : r.from->text());
    }
  }
  return what;
}

Then ThenOf(RescueKind kind) {
  switch (kind) {
    case RescueKind::kUseAsIs:
    case RescueKind::kMateToSuit:
      return Then::kDone;
    case RescueKind::kRemake:
      return Then::kRemade;
    case RescueKind::kCutAgain:
    case RescueKind::kBush:
    case RescueKind::kSleeve:
    case RescueKind::kOpenOut:
    case RescueKind::kNextScrew:
    case RescueKind::kMovePattern:
      break;
  }
  return Then::kOpen;
}

bool IsNews(const SizeTarget& t) { return t.moved || t.mate_mm.has_value(); }

// Sizes are better aimed elsewhere, or something is missed more often by this much: opinion.
bool MayBePlannedBetter(const ReworkAnswer& answer) {
  constexpr double kWorse = 0.05;
  const auto& targets = answer.changes.targets;
  const auto& odds = answer.changes.requirements;
  return std::any_of(targets.begin(), targets.end(), [](const SizeTarget& t) { return t.moved; }) ||
         std::any_of(odds.begin(), odds.end(), [&](const RequirementChange& one) {
           return one.after < one.before - kWorse;
         });
}

std::vector<ToBring> FindToBring(const Workshop& workshop, const ReworkAnswer& answer) {
  std::vector<ToBring> bring;
  for (const SizeTarget& t : answer.changes.all_targets) {
    if (IsNews(t)) bring.push_back({t.size.step->id, t.size.feature.part, t.now.lower_mm, t.now.upper_mm, TargetText(workshop, t)});
  }
  return bring;
}

std::vector<std::string> NewsWords(const Workshop& workshop, const ReworkAnswer& answer) {
  const Changes& changes = answer.changes;
  std::vector<std::string> words;
  AddExpected(workshop, answer, words);
  AddOdds(workshop, changes, words);
  for (const SizeTarget& t : changes.targets) {
    if (IsNews(t)) words.push_back(TargetText(workshop, t));
  }
  // What is still to be cut is told by where it is to be brought.
  const auto is_told = [&](const Following& f) {
    return f.is_size && std::any_of(changes.targets.begin(), changes.targets.end(), [&](const SizeTarget& t) { return IsNews(t) && t.size.feature == f.feature; });
  };
  for (const Following& f : changes.following) {
    if (!is_told(f)) words.push_back(FollowingText(workshop, f));
  }
  return words;
}

}  // namespace

std::string UnreckonedWords(const Error& error) {
  const std::string at = error.value.empty() ? "" : fmt::format(" ({})", error.value);
  const std::string then = error.remedy.empty() ? "" : fmt::format(" To mend it: {}.", error.remedy);
  return fmt::format("The reading is kept, but what it changes cannot be reckoned: {}{}.{}",
                     error.message, at, then);
}

std::vector<std::string> ChangesWords(const Workshop& workshop, const ReworkAnswer& answer) {
  std::vector<std::string> words = NewsWords(workshop, answer);
  if (!answer.rescues.empty())
    words.emplace_back("It is outside its limits. What can be done, best first (odds of all that it bears on):");
  for (const rework::Rescue& r : answer.rescues) words.push_back(RescueText(workshop, answer, r));
  if (MayBePlannedBetter(answer)) words.emplace_back("What is left can be planned anew by it.");
  return words;
}

Consequences FindConsequences(const Workshop& workshop, const ReworkAnswer& answer) {
  Consequences found;
  found.event = answer.readings.back().event.id;
  found.words = NewsWords(workshop, answer);
  for (const rework::Rescue& r : answer.rescues) found.ways.push_back({ThenOf(r.kind), RescueText(workshop, answer, r)});
  found.plan_anew = MayBePlannedBetter(answer);
  found.bring = FindToBring(workshop, answer);
  return found;
}

std::string RescueText(const Workshop& workshop, const ReworkAnswer& answer,
                       const rework::Rescue& rescue) {
  const std::string after = rescue.expected_min - rescue.minutes < 1
                                ? ""
                                : fmt::format(", {} with what may be needed after it",
                                              sheets::TimeText(rescue.expected_min));
  return fmt::format("{}: {}, {}{}.", RescueWay(workshop, answer, rescue), ChanceWord(rescue.odds),
                     rescue.minutes < 1 ? "no time" : sheets::TimeText(rescue.minutes), after);
}

std::string ChangesText(const Workshop& workshop, const ReworkAnswer& answer,
                        const sheets::ReportOptions& options) {
  sheets::Book book;
  const PlacedReading& last = answer.readings.back();
  const Reading& read = *last.event.reading;
  book.pieces.emplace_back(
      sheets::Heading{2,
                      fmt::format("What {} {} changes", FineLength(read.value_mm, workshop.unit()),
                                  UnitWord(workshop.unit())),
                      fmt::format("step {}, {}", last.place.number(), NameText(read.feature))});
  for (const std::string& words : ChangesWords(workshop, answer))
    book.pieces.emplace_back(sheets::Paragraph{words, sheets::Tone::kPlain});
  return sheets::RenderText(book, {options.width, options.colour});
}

namespace {

std::string Window(const rework::SizeWindow& w) {
  return fmt::format("{{\"aim_mm\": {}, \"lower_mm\": {}, \"upper_mm\": {}}}", w.aim_mm, w.lower_mm,
                     w.upper_mm);
}

std::string RequirementToJson(const Workshop& w, const RequirementChange& one) {
  const Requirement& r = w.machine()->requirements[one.place];
  return fmt::format(
      "{{\"name\": {}, \"kind\": {}, \"planned\": {}, \"before\": {}, \"after\": {}, \"low\": {}, "
      "\"high\": {}}}",
      JsonString(one.name.text()), JsonString(WordOf(r.kind)), one.planned, one.before, one.after,
      one.low, one.high);
}

std::string TargetToJson(const Workshop& w, const SizeTarget& t) {
  return fmt::format(
      "{{\"part\": {}, \"feature\": {}, \"step\": {}, \"number\": {}, \"moved\": {}, \"mate_mm\": "
      "{}, "
      "\"planned\": {}, \"now\": {}, \"odds_planned\": {}, \"odds_now\": {}, \"saves_min\": {}, "
      "\"say\": {}}}",
      JsonString(t.size.feature.part.text()), JsonString(t.size.feature.feature.text()),
      JsonString(t.size.step->id.text()), JsonString(NumberOf(t)), t.moved,
      t.mate_mm ? fmt::format("{}", *t.mate_mm) : "null", Window(t.planned), Window(t.now),
      t.odds_planned, t.odds_now, t.saves_min,
      JsonString(IsNews(t) ? TargetText(w, t) : std::string()));
}

std::string FollowingToJson(const Workshop& w, const Following& f) {
  return fmt::format(
      "{{\"part\": {}, \"feature\": {}, \"what\": {}, \"before_mm\": {}, \"before_sigma_mm\": {}, "
      "\"after_mm\": {}, \"after_sigma_mm\": {}, \"say\": {}}}",
      JsonString(f.feature.part.text()), JsonString(f.feature.feature.text()),
      JsonString(f.is_size ? "size" : "place"), f.before_mm, f.before_sigma_mm, f.after_mm,
      f.after_sigma_mm, JsonString(FollowingText(w, f)));
}

}  // namespace

void AddNews(NextAnswer& answer) {
  if (!answer.next.step || !answer.workshop.plan || !answer.workshop.opened) return;
  const Workshop& w = answer.workshop;
  const auto standing = StandingOf(w, answer.build);
  if (!standing) return;
  if (!standing->readings.empty()) {
    const auto targets = rework::FindTargetsNow(*standing);
    if (!targets) return;
    for (const SizeTarget& t : *targets) {
      if (t.size.step != answer.next.step->place.step || !IsNews(t)) continue;
      answer.news.push_back(TargetText(w, t));
      answer.target = TargetToJson(w, t);
    }
  }
  const auto worth = rework::FindWorthReading(*standing);
  if (!worth) return;
  for (const rework::WorthReading& r : *worth) {
    const std::string number =
        fmt::format("{}.{}", r.setup->number, r.step - r.setup->steps.data() + 1);
    answer.news.push_back(
        r.needed
            ? fmt::format("Record {} (step {}): {} is made to suit it.", NameText(r.feature),
                          number, NameText(r.for_size))
            : fmt::format("Worth reading: {} (step {}), for {}: saves {} of remedies on average.",
                          NameText(r.feature), number, NameText(r.for_size),
                          sheets::TimeText(r.saves_min)));
  }
}

namespace {

std::string RescueToJson(const Workshop& w, const ReworkAnswer& answer, const rework::Rescue& r) {
  return fmt::format(
      "{{\"kind\": {}, \"odds\": {}, \"minutes\": {}, \"expected_min\": {}, \"from\": {}, \"say\": "
      "{}}}",
      JsonString(WordOf(r.kind)), r.odds, r.minutes, r.expected_min,
      r.from ? JsonString(r.from->text()) : "null", JsonString(RescueText(w, answer, r)));
}

std::string ReadingToJson(const Workshop& w, const ReworkAnswer& answer) {
  const PlacedReading& last = answer.readings.back();
  const auto& read = *last.event.reading;
  const rework::Expectation& e = answer.changes.expected;
  const std::string expected =
      answer.changes.counts ? fmt::format("{{\"mean_mm\": {}, \"sigma_mm\": {}, \"chance\": {}}}",
                                          e.mean_mm, e.sigma_mm, e.chance)
                            : "null";
  return fmt::format(
      "{{\"event\": {}, \"step\": {}, \"number\": {}, \"part\": {}, \"feature\": {}, \"value_mm\": "
      "{}, \"shown\": {}, \"counts\": {}, \"surprising\": {}, \"expected\": {}}}",
      last.event.number, JsonString(last.place.step->id.text()), JsonString(last.place.number()),
      JsonString(last.event.part.text()), JsonString(read.feature.feature.text()), read.value_mm,
      JsonString(FineLength(read.value_mm, w.unit()) + " " + std::string(UnitWord(w.unit()))),
      answer.changes.counts, answer.changes.surprising, expected);
}

}  // namespace

std::string ChangesToJson(const Workshop& workshop, const ReworkAnswer& answer) {
  const Changes& c = answer.changes;
  const auto requirement = [&](const RequirementChange& r) {
    return RequirementToJson(workshop, r);
  };
  return fmt::format(
      "{{\n  \"schema\": \"{}\",\n  \"build\": {},\n  \"reading\": {},\n"
      "  \"all\": {{\"planned\": {}, \"before\": {}, \"after\": {}, \"builds\": {:.0f}}},\n"
      "  \"requirements\": {},\n  \"moved\": {},\n  \"targets\": {},\n  \"following\": {},\n"
      "  \"rescue\": {},\n"
      "  \"say\": {}\n}}\n",
      kChangesSchemaId, answer.build, ReadingToJson(workshop, answer), c.all_planned, c.all_before,
      c.all_after, c.effective_builds, JsonLines(c.requirements, requirement),
      JsonLines(Moved(c), requirement),
      JsonLines(c.targets, [&](const SizeTarget& t) { return TargetToJson(workshop, t); }),
      JsonLines(c.following, [&](const Following& f) { return FollowingToJson(workshop, f); }),
      JsonLines(answer.rescues,
             [&](const rework::Rescue& r) { return RescueToJson(workshop, answer, r); }),
      JsonStrings(ChangesWords(workshop, answer)));
}

}  // namespace fitwright::service
