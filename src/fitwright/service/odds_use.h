// `odds`: what the saved plan's odds are, what would lessen the misses, and what if.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "fitwright/service/use_cases.h"
#include "fitwright/sheets/odds_drawing.h"
#include "fitwright/variation/lessen.h"
#include "fitwright/variation/spread_out.h"

namespace fitwright::service {

struct OddsQuestion {
  OddsUse use;
  std::vector<std::string> what_if;  // KEY=VALUE, see variation/what_if.h
};

struct OddsAnswer {
  SavedPlan saved;                                  // with its odds as it stands
  std::vector<variation::Change> changes;           // asked for
  std::optional<Odds> changed;                      // the odds with all of them
  std::optional<variation::Lessenings> lessenings;  // where nothing was asked for
};

// Errors as CalcOddsOfPlan and ApplyWhatIf.
Result<OddsAnswer> AnswerOdds(const Opened& opened, const OddsQuestion& question);

// The odds pages, then what would lessen the misses and which readings are worth making; with
// changes these and, requirement by requirement, before and after.
std::string OddsReport(const Opened& opened, const OddsAnswer& answer,
                       const sheets::ReportOptions& options);
// {schema: fitwright-odds/1, odds, requirements} of the plan, and what_if, or lessen, wider_limits
// and readings.
std::string OddsAnswerToJson(const OddsAnswer& answer);

// One drawing for each requirement, the least likely first: file name and SVG.
Result<std::vector<std::pair<std::string, std::string>>> DrawOddsOf(const Opened& opened,
                                                                    const OddsAnswer& answer);

// The drawing of one requirement's spread, its words and chance left out; without edges where it
// does not vary.
sheets::OddsPicture PictureOfSpread(const Opened& opened, const RequirementOdds& odds,
                                    const std::optional<variation::SpreadOut>& spread);

// {schema: fitwright-lessen/1, misses, lessen: [{key, to, say, effects, saves}]}: `effects` and
// `saves` in words.
std::string LesseningsToJson(const Opened& opened, const SavedPlan& saved,
                             const variation::Lessenings& found);

}  // namespace fitwright::service
