// The plans worth offering beside one another, each replayed.
#pragma once

#include <string>
#include <vector>

#include "fitwright/service/solid/use_cases.h"

namespace fitwright::service {

// `plan`, which `planner` has told and whose replay is known, and those worth offering beside it. Errors as
// planner::Planner::Offers and replay::Replay.
Result<std::vector<ProvedOffer>> ProveOffers(const Opened& opened, const PlanUse& use, planner::Planner& planner, const Plan& plan,
                                             const ReplayReport& replay);

// A table of them, and what each does otherwise than the first.
std::string OffersReport(const Opened& opened, const std::vector<ProvedOffer>& offers, const sheets::ReportOptions& options);

inline constexpr std::string_view kOffersSchemaId = "fitwright-offers/1";
// {schema, offers: [{number, trade, odds, low, high, hours_cutting, hours_expected, setups, replay_ok, differs}]}.
std::string OffersToJson(const std::vector<ProvedOffer>& offers);

}  // namespace fitwright::service
