#include "fitwright/service/reckon.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "fitwright/files/project.h"
#include "fitwright/service/json_text.h"
#include "fitwright/sheets/reckoned_sheet.h"
#include "fitwright/units/length.h"

namespace fitwright::service {
namespace {

using reckon::Kind;
using Cell = std::variant<double, std::string>;

// Figures enough to carry on with: nine places, none of them noise.
constexpr int kPlaces = 9;

std::string Number(double value) {
  return std::isfinite(value) ? FormatTrimmed(value, kPlaces) : std::string("null");
}

std::string CellToJson(const Cell& cell, Kind kind, LengthUnit unit) {
  if (const auto* word = std::get_if<std::string>(&cell)) return JsonString(*word);
  return Number(reckon::Show(kind, std::get<double>(cell), unit).value);
}

std::string UnitOf(Kind kind, LengthUnit unit) {
  switch (kind) {
    case Kind::kWord:
    case Kind::kCounts:
    case Kind::kNumbers:
      return "";
    case Kind::kLengths:
      return std::string(UnitWord(unit));
    default:
      return std::string(reckon::Show(kind, 0, unit).unit);
  }
}

Kind KindOfOne(Kind kind) {
  if (kind == Kind::kLengths) return Kind::kLength;
  return kind == Kind::kCounts || kind == Kind::kNumbers ? Kind::kNumber : kind;
}

std::string GivenToJson(const reckon::Given& given) {
  std::string out;
  for (const reckon::GivenValue& value : given.values()) {
    const Kind kind = value.input->kind;
    std::string shown;
    if (kind == Kind::kWord) {
      shown = JsonString(value.word);
    } else if (kind != KindOfOne(kind)) {
      for (const double one : value.list) {
        shown += (shown.empty() ? "[" : ", ") + CellToJson(one, KindOfOne(kind), given.unit());
      }
      shown += "]";
    } else {
      shown = CellToJson(value.number, kind, given.unit());
    }
    out += fmt::format("{}\n    {{\"name\": {}, \"value\": {}, \"unit\": {}, \"usual\": {}}}",
                       out.empty() ? "" : ",", JsonString(value.input->name), shown,
                       JsonString(UnitOf(kind, given.unit())), value.by_fallback);
  }
  return out;
}

std::string LinesToJson(const std::vector<reckon::Line>& lines, LengthUnit unit) {
  std::string out;
  for (const reckon::Line& line : lines) {
    out +=
        fmt::format("{}\n    {{\"label\": {}, \"value\": {}, \"unit\": {}}}",
                    out.empty() ? "" : ",", JsonString(line.label),
                    CellToJson(line.value, line.kind, unit), JsonString(UnitOf(line.kind, unit)));
  }
  return out;
}

std::string TableToJson(const reckon::Table& table, LengthUnit unit) {
  std::string columns;
  for (const reckon::Column& column : table.columns) {
    columns += fmt::format("{}{{\"head\": {}, \"unit\": {}}}", columns.empty() ? "" : ", ",
                           JsonString(column.head), JsonString(UnitOf(column.kind, unit)));
  }
  std::string rows;
  for (const auto& row : table.rows) {
    std::string cells;
    for (std::size_t i = 0; i < row.size(); ++i) {
      cells += (i > 0 ? ", " : "") + CellToJson(row[i], table.columns[i].kind, unit);
    }
    rows += fmt::format("{}\n      [{}]", rows.empty() ? "" : ",", cells);
  }
  return fmt::format("\n    {{\"title\": {}, \"columns\": [{}], \"rows\": [{}]}}",
                     JsonString(table.title), columns, rows);
}

std::string ReckonedToJson(const reckon::Reckoning& reckoning, const reckon::Given& given,
                           const reckon::Reckoned& reckoned) {
  std::string tables;
  for (const reckon::Table& table : reckoned.tables) {
    tables += (tables.empty() ? "" : ",") + TableToJson(table, given.unit());
  }
  return fmt::format(
      "{{\n  \"schema\": \"{}\",\n  \"reckoning\": {},\n  \"unit\": \"{}\",\n  \"given\": [{}\n  "
      "],\n"
      "  \"found\": [{}\n  ],\n  \"tables\": [{}],\n  \"notes\": {},\n  \"cautions\": {},\n"
      "  \"source\": {}\n}}\n",
      kReckonSchemaId, JsonString(reckoning.name), UnitWord(given.unit()), GivenToJson(given),
      LinesToJson(reckoned.lines, given.unit()), tables, JsonStrings(reckoned.notes),
      JsonStrings(reckoned.cautions), JsonString(reckoned.source));
}

std::string InputsToJson(const reckon::Reckoning& reckoning, LengthUnit unit) {
  std::string out;
  for (const reckon::Input& input : reckoning.inputs) {
    out += fmt::format(
        "{}\n      {{\"name\": {}, \"about\": {}, \"unit\": {}, \"range\": {}, \"needed\": {}, "
        "\"usual\": {}}}",
        out.empty() ? "" : ",", JsonString(input.name), JsonString(input.about),
        JsonString(UnitOf(input.kind, unit)),
        JsonString(input.kind == Kind::kWord ? std::string(input.choices)
                                             : reckon::RangeText(input, unit)),
        input.needed, JsonString(input.fallback));
  }
  return out;
}

std::string NeedsToJson(const std::vector<const reckon::Reckoning*>& list, LengthUnit unit) {
  std::string out;
  for (const reckon::Reckoning* one : list) {
    out +=
        fmt::format("{}\n    {{\"name\": {}, \"purpose\": {}, \"example\": {}, \"inputs\": [{}]}}",
                    out.empty() ? "" : ",", JsonString(one->name), JsonString(one->purpose),
                    JsonString(one->example), InputsToJson(*one, unit));
  }
  return fmt::format("{{\n  \"schema\": \"{}\",\n  \"unit\": \"{}\",\n  \"reckonings\": [{}]\n}}\n",
                     kReckonSchemaId, UnitWord(unit), out);
}

bool IsGiven(const std::vector<std::string>& values, std::string_view name) {
  return std::any_of(values.begin(), values.end(), [&](const std::string& v) { return v.starts_with(name) && v.substr(name.size(), 1) == "="; });
}

bool IsLatheCut(const std::vector<std::string>& values) {
  constexpr std::array kOfLathe = {"cut=turn", "cut=turn_finish", "cut=face_in_lathe", "cut=bore", "cut=part_off"};
  if (!IsGiven(values, "cut")) return true;  // turn is taken then
  return std::any_of(values.begin(), values.end(), [&](const std::string& v) { return std::find(kOfLathe.begin(), kOfLathe.end(), v) != kOfLathe.end(); });
}

// The values with what the shop's machine adds to them. Errors: those of its file; a shop without such a machine.
Result<std::vector<std::string>> WithShop(const ReckonUse& use) {
  std::vector<std::string> values = use.values;
  if (!use.shop || use.what != "speed" || values.empty()) return values;
  Diagnostics faults;
  const auto shop = files::LoadShop(*use.shop, faults);
  if (!shop) return Unexpected(shop.error());
  const MachineToolKind kind = IsLatheCut(values) ? MachineToolKind::kLathe : MachineToolKind::kMill;
  const auto machine = std::find_if(shop->machines.begin(), shop->machines.end(), [&](const MachineTool& m) { return m.kind == kind; });
  if (machine == shop->machines.end()) {
    return Unexpected(Error{ErrorCode::kUsage, fmt::format("the shop has no {}", WordOf(kind)), use.shop->string(), "give steps and power instead", {}});
  }
  if (!IsGiven(values, "steps") && !IsGiven(values, "rpm-max") && !machine->speeds_rpm.empty()) {
    values.push_back(fmt::format("steps={:g}", fmt::join(machine->speeds_rpm, ",")));
  }
  if (!IsGiven(values, "power") && machine->power_W > 0) values.push_back(fmt::format("power={:g}W", machine->power_W));
  return values;
}

}  // namespace

Result<ReckonAnswer> Reckon(const ReckonUse& use, const sheets::TextOptions& options) {
  if (use.what.empty()) {
    std::vector<const reckon::Reckoning*> all;
    for (const reckon::Reckoning& one : reckon::Reckonings()) all.push_back(&one);
    return ReckonAnswer{sheets::ReckoningsText(options), NeedsToJson(all, use.unit), ""};
  }
  const auto reckoning = reckon::FindReckoning(use.what);
  if (!reckoning) return Unexpected(reckoning.error());
  if (use.values.empty()) {
    return ReckonAnswer{sheets::ReckoningText(**reckoning, use.unit, options),
                        NeedsToJson({*reckoning}, use.unit), ""};
  }
  const auto values = WithShop(use);
  if (!values) return Unexpected(values.error());
  const auto given = reckon::ReadGiven(**reckoning, *values, use.unit);
  if (!given) return Unexpected(given.error());
  const auto reckoned = (*reckoning)->calc(*given);
  if (!reckoned) return Unexpected(reckoned.error());
  return ReckonAnswer{sheets::ReckonedText(**reckoning, *given, *reckoned, options),
                      ReckonedToJson(**reckoning, *given, *reckoned),
                      reckoned->drawing.empty() ? "" : sheets::ReckonedSvg(**reckoning, *reckoned)};
}

}  // namespace fitwright::service
