#include "fitwright/sheets/step_page.h"

#include <fmt/format.h>

#include <algorithm>

namespace fitwright::sheets {
namespace {

// A table stands behind the last of the steps that share it, each of which heads a column of it.
bool IsTableOf(const Table& table, const std::string& number) {
  return std::any_of(table.columns.begin(), table.columns.end(),
                     [&](const Column& column) { return column.head.rfind(number + " ", 0) == 0; });
}

Book OneStep(const Book& sheet, const std::string& number, bool with_setup) {
  Book page;
  bool before_steps = true;
  bool in_step = false;
  for (const Piece& piece : sheet.pieces) {
    const auto* tick = std::get_if<TickLine>(&piece);
    if (tick != nullptr) {
      before_steps = false;
      in_step = tick->number == number;
    }
    const auto* table = std::get_if<Table>(&piece);
    const bool shared = table != nullptr && IsTableOf(*table, number);
    const bool behind = table != nullptr ? in_step : tick != nullptr && in_step;
    if ((before_steps && with_setup) || behind || shared) page.pieces.push_back(piece);
  }
  return page;
}

}  // namespace

Book MakeStepPage(const Machine& machine, const Shop& shop, const Plan& plan, const StepId& step,
                  bool with_setup, const BookOptions& options) {
  for (const Setup& setup : plan.setups) {
    for (std::size_t i = 0; i < setup.steps.size(); ++i) {
      if (setup.steps[i].id != step) continue;
      const Book sheet = MakeSetupSheet(machine, shop, plan, setup.id, options);
      return OneStep(sheet, fmt::format("{}.{}", setup.number, i + 1), with_setup);
    }
  }
  return {};
}

}  // namespace fitwright::sheets
