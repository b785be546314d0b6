#include "fitwright/variation/concerns.h"

#include "fitwright/variation/analysis.h"
#include "fitwright/variation/odds.h"
#include "fitwright/variation/reads.h"

namespace fitwright::variation {
namespace {

std::set<PartId> PartsOf(const Setup& setup) {
  std::set<PartId> parts;
  for (const PartPose& pose : setup.parts) parts.insert(SheetIdOf(pose.part));
  return parts;
}

// Of the setups that bring the sources in. How a device leans that stands through setups of many
// parts is no part's doing.
std::vector<std::set<PartId>> PartsOfSources(const Analysis& analysis, const Plan& plan) {
  std::vector<std::set<PartId>> parts(analysis.sources.size());
  for (std::size_t s = 0; s < parts.size(); ++s) {
    const int setup = analysis.sources[static_cast<SourceIndex>(s)].setup;
    if (setup >= 0) parts[s] = PartsOf(plan.setups[static_cast<std::size_t>(setup)]);
  }
  for (const auto& [source, setup] : analysis.sources.shared()) parts[source].clear();
  return parts;
}

}  // namespace

Result<std::map<PartId, std::set<std::size_t>>> FindConcerns(const Machine& machine,
                                                             const Shop& shop, const Plan& plan) {
  return FindConcerns(machine, shop, plan, KnownSetups{});
}

Result<std::map<PartId, std::set<std::size_t>>> FindConcerns(const Machine& machine, const Shop& shop, const Plan& plan,
                                                             const KnownSetups& known) {
  const Result<Analysis> analysis = Analyse(machine, shop, plan, known.readings == nullptr ? nullptr : &known);
  if (!analysis) return Unexpected(analysis.error());
  std::map<PartId, std::set<std::size_t>> concerns;
  const std::vector<std::set<PartId>> parts = PartsOfSources(*analysis, plan);
  for (std::size_t r = 0; r < analysis->requirements.size(); ++r) {
    for (const PartId& part : analysis->requirements[r].parts) concerns[SheetIdOf(part)].insert(r);
    const Wanted wanted = WantedOf(*analysis, {r});
    for (std::size_t s = 0; s < wanted.sources.size(); ++s) {
      if (wanted.sources[s] == 0) continue;
      for (const PartId& part : parts[s]) concerns[part].insert(r);
    }
  }
  return concerns;
}

}  // namespace fitwright::variation
