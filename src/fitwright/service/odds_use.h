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
  int build = 0;  // of several machines made to this plan, whose readings count; 0: the one that it was made anew for, else the first
  bool afresh = false;  // as planned, whatever was read
};

struct OddsAnswer {
  int build = 1;
  int readings = 0;  // of that machine, by which all of it is reckoned; 0: as planned
  variation::Project project;                       // that was asked about, unchanged
  SavedPlan saved;                                  // with its odds as it stands
  std::vector<variation::Change> changes;           // asked for
  std::optional<Odds> changed;                      // the odds with all of them
  std::optional<variation::Lessenings> lessenings;  // where nothing was asked for
};

// By the readings of the build log, where there are any. Errors as CalcOddsOfPlan, ApplyWhatIf and
// EnterWorkshop.
Result<OddsAnswer> AnswerOdds(const Opened& opened, const OddsQuestion& question);

// That readings are counted in; empty where none are.
std::string ReadingsCountedWords(int readings, int build);

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
