#include "fitwright/service/build_words.h"

#include <fmt/format.h>

#include <algorithm>
#include <ctime>
#include <set>

#include "fitwright/sheets/numbers.h"
#include "fitwright/sheets/step_page.h"
#include "fitwright/sheets/text.h"
#include "fitwright/sheets/words.h"

namespace fitwright::service {
namespace {

using sheets::NameText;
using sheets::Tone;

std::string LocalTime(std::int64_t time_ms, const char* form) {
  const std::time_t seconds = static_cast<std::time_t>(time_ms / 1000);
  std::tm parts{};
  ::localtime_r(&seconds, &parts);
  char text[32];
  return {text, std::strftime(text, sizeof text, form, &parts)};
}

std::string InstrumentText(const Workshop& workshop, const InstrumentId& id) {
  const Instrument* known = workshop.opened ? workshop.opened->project.shop.Find(id) : nullptr;
  return known != nullptr && !known->words.empty() ? known->words : NameText(id.text());
}

std::string ReadingText(const Workshop& workshop, const LogEvent& event) {
  const Reading& reading = *event.reading;
  const LengthUnit unit = workshop.unit();
  const bool on_piece = reading.feature.part == event.part;
  std::string text =
      on_piece ? NameText(reading.feature.feature.text()) : NameText(reading.feature);
  if (!text.empty()) text += " ";
  text += fmt::format("{} {} (typed {})", sheets::FineLength(reading.value_mm, unit),
                      UnitWord(unit), reading.typed);
  if (!reading.instrument.empty()) text += ", " + InstrumentText(workshop, reading.instrument);
  return text;
}

std::string SetupName(const Plan& plan, const SetupId& id) {
  for (const Setup& setup : plan.setups) {
    if (setup.id != id) continue;
    const std::string piece = NameText(PieceOf(setup, 1).text());
    return piece.empty() ? fmt::format("setup {}", setup.number)
                         : fmt::format("setup {} ({})", setup.number, piece);
  }
  return id.text();
}

void AddLook(sheets::Book& book, std::string text) {
  book.pieces.emplace_back(sheets::Entry{"Look here", std::move(text), Tone::kLook});
}

void AddWarnings(const Workshop& workshop, sheets::Book& book) {
  if (!workshop.opened) AddLook(book, "The sheets cannot be read now: see fitwright check.");
  if (workshop.older_than_sheets) AddLook(book, "This plan is older than the sheets: plan again.");
}

void AddElsewhere(const NextAnswer& answer, sheets::Book& book) {
  if (answer.progress.elsewhere.empty()) return;
  AddLook(book, "Done to an earlier plan, and no step of this one:");
  for (const LogEvent& event : answer.progress.elsewhere) {
    book.pieces.emplace_back(
        sheets::ListItem{fmt::format("{} of revision {}, {}", StepWords(answer.workshop, event),
                                     event.revision, NameText(event.part.text()))});
  }
}

void AddStep(const NextAnswer& answer, const NextStep& next, sheets::Book& book) {
  const Workshop& w = answer.workshop;
  for (const Wait& wait : next.waits) {
    book.pieces.emplace_back(sheets::Entry{"Wait", WaitWords(*w.plan, wait), Tone::kStop});
  }
  const sheets::BookOptions options{w.unit(), w.older_than_sheets};
  const auto page = sheets::MakeStepPage(w.opened ? w.opened->project.machine : Machine{},
                                         w.opened ? w.opened->project.shop : Shop{}, *w.plan,
                                         next.place.step->id, next.begins_setup, options);
  book.pieces.insert(book.pieces.end(), page.pieces.begin(), page.pieces.end());
}

std::string Render(const sheets::Book& book, const sheets::ReportOptions& options) {
  return sheets::RenderText(book, {options.width, options.colour});
}

}  // namespace

std::string EventWords(const Workshop& workshop, const LogEvent& event) {
  switch (event.kind) {
    case LogKind::kStepDone:
      return "done";
    case LogKind::kStepUndone:
      return "not done after all";
    case LogKind::kReading:
      return ReadingText(workshop, event);
    case LogKind::kReadingUndone:
      return "the reading before does not count";
    case LogKind::kNote:
      return event.text;
    case LogKind::kPhoto:
      return "photo: " + event.text;
    case LogKind::kPartRemade:
      return "begun anew";
    case LogKind::kShopChange:
      return "the shop: " + event.text;
  }
  return event.text;
}

std::string StepWords(const Workshop& workshop, const LogEvent& event) {
  const auto plan = workshop.followed.find(event.revision);
  if (plan == workshop.followed.end() || event.step.empty()) return event.step.text();
  const auto place = FindPlace(plan->second, event.step.text(), 1);
  return place ? place->number() : event.step.text();
}

std::string WaitWords(const Plan& plan, const Wait& wait) {
  const std::string setup = SetupName(plan, wait.setup);
  if (wait.until_ms == 0) return sheets::Capital(setup) + " is to be done before.";
  return fmt::format("Until {}: what {} made is left alone so long.",
                     LocalTime(wait.until_ms, "%Y-%m-%d %H:%M"), setup);
}

std::string NextText(const NextAnswer& answer, const PlanNews& plan,
                     const sheets::ReportOptions& options) {
  sheets::Book book;
  const auto done = fmt::format("{} of {} steps done", answer.progress.done.size(), answer.steps);
  const std::string build = answer.build == 1 ? "" : fmt::format(", build {}", answer.build);
  if (!answer.next.step) {
    book.pieces.emplace_back(sheets::Heading{2, "All is done" + build, done});
    AddWarnings(answer.workshop, book);
    AddElsewhere(answer, book);
    return Render(book, options);
  }
  const StepPlace& place = answer.next.step->place;
  const std::string piece = NameText(place.piece.text());
  const std::string title =
      fmt::format("Next: {}{}{}", place.number(), piece.empty() ? "" : ", " + piece, build);
  book.pieces.emplace_back(sheets::Heading{2, title, done});
  AddWarnings(answer.workshop, book);
  for (const std::string& words : plan.about)
    book.pieces.emplace_back(sheets::Entry{"Planned anew", words, Tone::kPlain});
  AddStep(answer, *answer.next.step, book);
  for (const std::string& words : answer.news)
    book.pieces.emplace_back(sheets::Entry{"By readings", words, Tone::kLook});
  if (answer.next.meanwhile) {
    const StepPlace& other = answer.next.meanwhile->place;
    book.pieces.emplace_back(sheets::Heading{
        3, fmt::format("Meanwhile: {}, {}", other.number(), NameText(other.piece.text())), ""});
    AddStep(answer, *answer.next.meanwhile, book);
  }
  for (const std::string& words : plan.worth)
    book.pieces.emplace_back(sheets::Entry{"What is left", words, Tone::kLook});
  AddElsewhere(answer, book);
  return Render(book, options);
}

namespace {

// What became of the steps.
void AddStepWords(const RecordAnswer& answer, std::vector<std::string>& words) {
  std::set<StepId> done;
  std::set<StepId> undone;
  for (const LogEvent& event : answer.events) {
    if (event.kind == LogKind::kStepDone) done.insert(event.step);
    if (event.kind == LogKind::kStepUndone) undone.insert(event.step);
  }
  const auto say = [&](const std::set<StepId>& steps, std::string_view is_now) {
    if (steps.empty()) return;
    words.push_back(steps.size() > 1
                        ? fmt::format("{} steps are {}.", steps.size(), is_now)
                        : fmt::format("Step {} is {}.", answer.place->number(), is_now));
  };
  say(done, "done");
  say(undone, "open again");
  if (answer.check && done.empty() && undone.empty()) {
    words.push_back(fmt::format("Step {} stays open; --done says that it is done all the same.",
                                answer.place->number()));
  }
}

std::string OtherWords(const LogEvent& event) {
  switch (event.kind) {
    case LogKind::kNote:
      return "The note is kept.";
    case LogKind::kPhoto:
      return "The photo is kept by its name.";
    case LogKind::kShopChange:
      return "The change in the shop is kept.";
    case LogKind::kPartRemade:
      return fmt::format("{} is begun anew: what was done on it and with it is open again.",
                         sheets::Capital(NameText(event.part.text())));
    default:
      return "";
  }
}

}  // namespace

std::vector<std::string> RecordWords(const RecordAnswer& answer) {
  const Workshop& workshop = answer.workshop;
  std::vector<std::string> words;
  for (const LogEvent& event : answer.events) {
    if (!event.reading) continue;
    const std::string piece = NameText(event.part.text());
    words.push_back(fmt::format("Step {}{}: {}.", answer.place->number(),
                                piece.empty() ? "" : ", " + piece, ReadingText(workshop, event)));
    const auto check = CheckWords(*answer.check, event.reading->value_mm, workshop.unit());
    words.insert(words.end(), check.begin(), check.end());
  }
  words.insert(words.end(), answer.remarks.begin(), answer.remarks.end());
  AddStepWords(answer, words);
  for (const LogEvent& event : answer.events) {
    const std::string other = OtherWords(event);
    if (!other.empty()) words.push_back(other);
  }
  return words;
}

std::string RecordText(const RecordAnswer& answer, const sheets::ReportOptions& options) {
  sheets::Book book;
  AddWarnings(answer.workshop, book);
  std::string label = "Kept";
  for (const std::string& words : RecordWords(answer)) {
    const bool look = answer.check && words.rfind("Outside", 0) == 0;
    book.pieces.emplace_back(
        sheets::Entry{look ? "Look here" : label, words, look ? Tone::kLook : Tone::kPlain});
    label.clear();
  }
  return Render(book, options);
}

std::string LogText(const Workshop& workshop, std::optional<int> build,
                    const sheets::ReportOptions& options) {
  sheets::Book book;
  std::set<int> builds;
  for (const LogEvent& event : workshop.whole_log.events) builds.insert(event.build);
  const bool several = !build && builds.size() > 1;
  book.pieces.emplace_back(
      sheets::Heading{2, build ? fmt::format("The build log, build {}", *build) : "The build log",
                      fmt::format("{} plan{} followed", workshop.whole_log.revisions.size(),
                                  workshop.whole_log.revisions.size() == 1 ? "" : "s")});
  sheets::Table table;
  table.columns = {{"when", "", sheets::Align::kLeft, false},
                   {"plan", "", sheets::Align::kRight, false},
                   {"step", "", sheets::Align::kLeft, false},
                   {"piece", "", sheets::Align::kLeft, false},
                   {"what", "", sheets::Align::kLeft, true}};
  if (several)
    table.columns.insert(table.columns.begin() + 1, {"build", "", sheets::Align::kRight, false});
  for (const LogEvent& event : workshop.whole_log.events) {
    if (build && event.build != *build) continue;
    std::vector<std::string> row = {LocalTime(event.time_ms, "%Y-%m-%d %H:%M"),
                                    event.revision == 0 ? "" : fmt::format("{}", event.revision),
                                    StepWords(workshop, event), NameText(event.part.text()),
                                    EventWords(workshop, event)};
    if (several) row.insert(row.begin() + 1, fmt::format("{}", event.build));
    table.rows.push_back(std::move(row));
  }
  if (table.rows.empty()) {
    book.pieces.emplace_back(sheets::Paragraph{"Nothing was recorded yet.", Tone::kPlain});
  } else {
    book.pieces.emplace_back(std::move(table));
  }
  return Render(book, options);
}

}  // namespace fitwright::service
