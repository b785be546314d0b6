#include "fitwright/files/dimensions_reader.h"

#include <algorithm>
#include <limits>

#include "fitwright/units/expression.h"

namespace fitwright::files {
namespace {

constexpr double kFaulty = std::numeric_limits<double>::quiet_NaN();

using Calculations = std::map<std::string, Expression, std::less<>>;  // not worked out yet

std::vector<std::string> NamesOf(const Dimensions& done, const Calculations& open) {
  std::vector<std::string> names;
  for (const auto& [name, value] : done) names.push_back(name);
  for (const auto& [name, calculation] : open) names.push_back(name);
  return names;
}

Calculations ReadCalculations(TableReader& table, Dimensions& done) {
  Calculations open;
  for (const std::string& name : table.Keys()) {
    const auto text = table.LengthText(name);
    if (!CanBeNamedInExpression(name)) {
      table.Fault(
          ErrorCode::kBadName, name, "a dimension cannot be called so",
          "begin with a letter and use letters, digits and \"_\"; pi and functions are taken");
      continue;
    }
    std::optional<Result<Expression>> calculation;
    if (text) calculation = Expression::Parse(*text, table.unit());
    if (calculation && *calculation) {
      open.emplace(name, **calculation);
      continue;
    }
    done.emplace(name, kFaulty);
    if (calculation) table.Fault(name, calculation->error());
  }
  return open;
}

bool AllDone(const Expression& calculation, const Dimensions& done) {
  return std::all_of(calculation.names().begin(), calculation.names().end(),
                     [&](const std::string& name) { return done.contains(name); });
}

double Settle(TableReader& table, const std::string& name, const Expression& calculation,
              const Dimensions& done) {
  bool faulty = false;
  const auto value = Evaluate(calculation, [&](std::string_view used) {
    const double number = done.find(used)->second;
    faulty |= number != number;
    return number;
  });
  if (value && !faulty) return *value;
  if (!faulty) table.Fault(name, value.error());
  return kFaulty;
}

void ReportUnknown(TableReader& table, Calculations& open, Dimensions& done) {
  const auto known = NamesOf(done, open);
  for (auto it = open.begin(); it != open.end();) {
    const auto& names = it->second.names();
    const auto missing = std::find_if(names.begin(), names.end(), [&](const std::string& name) {
      return !done.contains(name) && !open.contains(name);
    });
    if (missing == names.end()) {
      ++it;
      continue;
    }
    Error error{
        ErrorCode::kUnknownName,
        fmt::format("{} is not a dimension of this sheet", *missing),
        "",
        fmt::format("write \"{}\", or one of: {}", NearestOf(*missing, known), ListOf(known)),
        {}};
    error.where.column = it->second.ColumnOf(static_cast<std::size_t>(missing - names.begin()));
    table.Fault(it->first, std::move(error));
    done.emplace(it->first, kFaulty);
    it = open.erase(it);
  }
}

// The names that wait for each other, from the first one that comes round to itself.
std::vector<std::string> RingOf(const Calculations& open, const Dimensions& done) {
  std::vector<std::string> way{open.begin()->first};
  while (true) {
    const auto& names = open.find(way.back())->second.names();
    const auto next = std::find_if(names.begin(), names.end(),
                                   [&](const std::string& name) { return !done.contains(name); });
    const auto seen = std::find(way.begin(), way.end(), *next);
    if (seen != way.end()) return {seen, way.end()};
    way.push_back(*next);
  }
}

void SettleReady(TableReader& table, Calculations& open, Dimensions& done) {
  for (bool more = true; more;) {
    more = false;
    for (auto it = open.begin(); it != open.end();) {
      if (!AllDone(it->second, done)) {
        ++it;
        continue;
      }
      done.emplace(it->first, Settle(table, it->first, it->second, done));
      it = open.erase(it);
      more = true;
    }
  }
}

}  // namespace

Dimensions ReadDimensions(TableReader& sheet) {
  Dimensions done;
  auto table = sheet.Table("dimensions");
  if (!table) return done;
  Calculations open = ReadCalculations(*table, done);
  ReportUnknown(*table, open, done);
  SettleReady(*table, open, done);
  while (!open.empty()) {
    const auto ring = RingOf(open, done);
    table->Fault(ErrorCode::kCyclicDimensions, ring.front(),
                 ring.size() == 1 ? "the dimension is made of itself"
                                  : fmt::format("these dimensions are made of each other: {}",
                                                ListOf(ring, 100)),
                 "write a number for one of them");
    for (const std::string& name : ring) {
      done.emplace(name, kFaulty);
      open.erase(name);
    }
    SettleReady(*table, open, done);
  }
  return done;
}

}  // namespace fitwright::files
