// The build book for the page: the sheet model as JSON, so that page, paper and terminal say the
// same.
#pragma once

#include <string>
#include <string_view>

#include "fitwright/service/use_cases.h"
#include "fitwright/sheets/sheet_model.h"

namespace fitwright::service {

inline constexpr std::string_view kBookSchemaId = "fitwright-book/1";
inline constexpr std::string_view kProjectSchemaId = "fitwright-project/1";

// One piece: {"kind": "heading", "level", "text", "right"}, {"kind": "paragraph", "text", "tone"},
// {"kind": "entry", "label", "text", "tone"}, {"kind": "tick", "number", "text", "details",
// "pass_axis", "passes"}, {"kind": "item", "text"}, {"kind": "table", "columns": [{"head", "unit",
// "align"}], "rows"},
// {"kind": "tally", "met"}, {"kind": "bars", "bars": [{"share", "text"}]}, {"kind": "order",
// "parts", "rows": [{"lanes", "number", "text", "right", "waits"}]}. tone: plain, note, look, stop;
// lane: none, waiting, worked, joined; align: left, right, point.
std::string PieceToJson(const sheets::Piece& piece);

// {schema, unit, plan: its PlanIdOf, older_than_sheets, overview, setups: [{id, number, parts, machine, time_min,
// waits_for: [number], steps: [{id, operation, measure}], copies: [the piece, of several alike
// each], pieces}], joints, fit, assumed, cautions}
// with pieces as above; measure is null or {feature, instrument, lower_mm, upper_mm}; `overview`
// ends with the order of work. A setup's n-th tick piece is its n-th step. spreads: [{name, mean,
// sigma, lower, upper}] in mm or rad, null where there is no such number. Lengths in the text in
// opened.unit.
std::string BookToJson(const Opened& opened, const SavedPlan& saved);

// {schema, folder: its path's hash, name, unit, version, shop, parts: [{name, material}], plan: "none" | "current" |
// "older", plan_hash, sheets_hash, warnings, cautions}. `saved` null: there is no plan.
std::string ProjectToJson(const Opened& opened, const SavedPlan* saved, std::string_view version);

// plan.json as it reads back.
std::string PlanText(const SavedPlan& saved);

}  // namespace fitwright::service
