#include "fitwright/sheets/report.h"

#include <fmt/format.h>

#include "fitwright/sheets/numbers.h"
#include "fitwright/sheets/text.h"
#include "fitwright/sheets/words.h"

namespace fitwright::sheets {
namespace {

BookOptions BookOptionsOf(const ReportOptions& options) {
  return {options.unit, options.older_than_sheets};
}

TextOptions TextOptionsOf(const ReportOptions& options) { return {options.width, options.colour}; }

std::string StepNumber(const Plan& plan, const StepId& id) {
  for (const Setup& setup : plan.setups) {
    for (std::size_t i = 0; i < setup.steps.size(); ++i) {
      if (setup.steps[i].id == id) return fmt::format("{}.{}", setup.number, i + 1);
    }
  }
  return id.text();
}

}  // namespace

std::string MakeReport(const Machine& machine, const Shop& shop, const Plan& plan,
                       const ReportOptions& options) {
  return RenderText(MakeBook(machine, shop, plan, BookOptionsOf(options)),
                    TextOptionsOf(options));
}

std::string MakeOddsReport(const Machine& machine, const Shop& shop, const Plan& plan,
                           const Odds& odds, const ReportOptions& options) {
  Book book = MakeOddsPages(machine, shop, plan, odds, BookOptionsOf(options));
  if (options.older_than_sheets) {
    book.pieces.insert(book.pieces.begin(),
                       Entry{"Look here", "This plan is older than the sheets: plan again.",
                             Tone::kLook});
  }
  return RenderText(book, TextOptionsOf(options));
}

std::string MakeReplayReport(const Plan& plan, const ReplayReport& replay,
                             const ReportOptions& options) {
  Book book;
  book.pieces.emplace_back(Heading{2, "The cuts replayed on solids", ""});
  if (options.older_than_sheets) {
    book.pieces.emplace_back(
        Entry{"Look here", "This plan is older than the sheets: plan again.", Tone::kLook});
  }
  book.pieces.emplace_back(
      Paragraph{replay.ok ? "The plan makes every part as drawn and breaks no rule."
                          : "The plan does not hold; see what is broken below.",
                replay.ok ? Tone::kPlain : Tone::kLook});
  book.pieces.emplace_back(Paragraph{
      "Looked at: every cutter's way through every piece, jaws, parallels, bed and table; grip, "
      "travel, reach, speeds, readings. Not looked at: the ways between cuts, the tailstock, clamps "
      "set by eye, the saw's blade, and whether the work gives way.",
      Tone::kPlain});
  Table table;
  table.columns = {{"part", "", Align::kLeft, true},
                   {"steps", "", Align::kRight, false},
                   {"broken rules", "", Align::kRight, false},
                   {"drawn", "mm3", Align::kPoint, false},
                   {"made", "mm3", Align::kPoint, false},
                   {"difference", "mm3", Align::kPoint, false}};
  for (const ReplayPart& part : replay.parts) {
    table.rows.push_back({NameText(part.name.text()), std::to_string(part.steps),
                          std::to_string(part.violations.size()),
                          FormatFixed(part.design_volume_mm3, 1),
                          FormatFixed(part.made_volume_mm3, 1),
                          FormatFixed(part.difference_mm3, 5)});
  }
  book.pieces.emplace_back(std::move(table));
  for (const ReplayPart& part : replay.parts) {
    for (const ReplayViolation& v : part.violations) {
      book.pieces.emplace_back(Entry{StepNumber(plan, v.step),
                                     fmt::format("{} ({}, {})", v.say,
                                                 NameText(part.name.text()), v.rule),
                                     Tone::kLook});
    }
  }
  return RenderText(book, TextOptionsOf(options));
}

}  // namespace fitwright::sheets
