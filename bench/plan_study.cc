// How good plans are, and how long they take to find. Prints
// - an example's plan beside the plain plan (each part by itself, holes by coordinates, parts in list order, fits turned
//   to suit their measured bores), in the default and the worn shop, requirement by requirement;
// - machines of 5, 20, 60 and 150 made-up parts: processor time, plans judged, minutes against a floor.
// - with TRIES: the example's plan beside the best of ten searches that each begin again so often from a shaken plan.
// Usage: plan_study EXAMPLE_FOLDER [MOST_PARTS [TRIES]]
#include <fmt/format.h>

#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <fstream>

#include "fitwright/files/project.h"
#include "fitwright/planner/planner.h"
#include "fitwright/planner/search.h"
#include "tests/support/random_part.h"

namespace {

namespace fs = std::filesystem;
using namespace fitwright;

double Processor_s() { return static_cast<double>(std::clock()) / CLOCKS_PER_SEC; }

// The plain plan with every shaft to its measured bore that lets itself be pinned so.
Result<Plan> PlainToSuit(const Machine& machine, const Shop& shop, const planner::PlannerOptions& options) {
  Choices choices;
  Result<Plan> plan = planner::MakePlainPlan(machine, shop, choices, options);
  for (const planner::SuitPair& pair : planner::FindDecisions(machine).suits) {
    if (pair.faces) continue;
    Choices more = choices;
    more.pins.push_back({PinKind::kTechnique, pair.requirement.text(), std::string(WordOf(Technique::kFitToMeasured)), 0});
    Result<Plan> suited = planner::MakePlainPlan(machine, shop, more, options);
    if (!suited) continue;
    plan = std::move(suited);
    choices = std::move(more);
  }
  return plan;
}

void Compare(const Machine& machine, Shop shop, ShopLevel level) {
  shop.level = level;
  const planner::PlannerOptions options;
  const Choices none;
  const double begun = Processor_s();
  const Result<Plan> plan = planner::MakePlan(machine, shop, none, options);
  const double took = Processor_s() - begun;
  const Result<Plan> plain = PlainToSuit(machine, shop, options);
  if (!plan || !plain) {
    fmt::print("{}: {}\n", WordOf(level), Format(plan ? plain.error() : plan.error()));
    return;
  }
  fmt::print("\n{}, {} shop, {} builds, {:.1f} s of the processor\n{:<32} {:>8} {:>8}\n", machine.name, WordOf(level), options.final_builds, took, "", "plan", "plain");
  fmt::print("{:<32} {:8.1f} {:8.1f}\n", "everything, in 100", 100 * plan->odds.all.odds, 100 * plain->odds.all.odds);
  fmt::print("{:<32} {:8.2f} {:8.2f}\n", "hours if all goes well", plan->hours_cutting, plain->hours_cutting);
  fmt::print("{:<32} {:8.2f} {:8.2f}\n", "expected hours", plan->hours_expected, plain->hours_expected);
  fmt::print("{:<32} {:8} {:8}\n", "setups", plan->setups.size(), plain->setups.size());
  for (std::size_t i = 0; i < plan->odds.requirements.size(); ++i) {
    fmt::print("  {:<30} {:8.1f} {:8.1f}\n", plan->odds.requirements[i].name.text(), 100 * plan->odds.requirements[i].chance.odds,
               100 * plain->odds.requirements[i].chance.odds);
  }
}

// The made-up part of the seed, alone in its project.
std::optional<Part> PartOf(std::uint64_t seed, const fs::path& dir) {
  const testing::RandomPart made = testing::MakeRandomPart(seed);
  fs::create_directories(dir / "parts");
  std::ofstream(dir / "machine.toml") << testing::MachineOfOne(made);
  std::ofstream(dir / "parts" / (made.name + ".toml")) << made.sheet;
  Diagnostics faults;
  auto project = files::LoadProject(dir, {}, faults);
  fs::remove_all(dir);
  if (!project || project->machine.parts.size() != 1) return std::nullopt;
  return project->machine.parts.front();
}

Machine MachineOf(const std::vector<Part>& parts) {
  Machine machine;
  machine.name = fmt::format("{} parts", parts.size());
  machine.parts = parts;
  for (const Part& part : parts) machine.uses.push_back({part.name});
  return machine;
}

struct Found {
  double minutes = 0;
  std::int64_t judged = 0;
};
std::optional<Found> Search(const Machine& machine, const Shop& shop) {
  planner::PlannerOptions options;
  options.search_builds = 64;
  options.threads = 1;
  const Choices none;
  planner::Search search(machine, shop, none, options);
  const auto plain = search.Plain();
  if (!plain) return std::nullopt;
  const planner::Strategy best = search.Improve(*plain);
  const auto judged = search.Look(best);
  return judged ? std::optional(Found{judged->expected_min, search.judged()}) : std::nullopt;
}

// Parts that the shop makes, their floor: each planned alone with nothing ever put up, which no plan of all can better
// but by a better plan of one.
void Grow(std::size_t most) {
  const Shop shop = files::DefaultShop();
  Shop standing = shop;
  standing.times.device_change = 0;
  const fs::path dir = fs::temp_directory_path() / fmt::format("plan_study_{}", std::time(nullptr));
  std::vector<Part> parts;
  double floor_min = 0;
  std::uint64_t seed = 0;
  fmt::print("\n{:>6} {:>10} {:>9} {:>9} {:>9} {:>7}\n", "parts", "processor", "judged", "minutes", "floor", "gap");
  for (const std::size_t count : {std::size_t{5}, std::size_t{20}, std::size_t{60}, std::size_t{150}}) {
    if (count > most) return;
    while (parts.size() < count) {
      auto part = PartOf(++seed, dir);
      if (!part) continue;
      part->name = PartId(fmt::format("part{:03}", parts.size() + 1));
      const auto alone = Search(MachineOf({*part}), standing);
      if (!alone) continue;
      floor_min += alone->minutes;
      parts.push_back(*std::move(part));
    }
    const double begun = Processor_s();
    const auto found = Search(MachineOf(parts), shop);
    if (!found) return;
    fmt::print("{:>6} {:>8.1f} s {:>9} {:>9.0f} {:>9.0f} {:>5.1f} %\n", count, Processor_s() - begun, found->judged, found->minutes, floor_min,
               100 * (found->minutes / floor_min - 1));
  }
}

// The searches differ by their draws alone; each plan is weighed once more with the same builds.
void Again(const Machine& machine, const Shop& shop, int tries) {
  constexpr std::uint64_t kSearches = 10;
  const Choices none;
  planner::PlannerOptions options;
  planner::Search judge(machine, shop, none, options);
  const Result<planner::Strategy> plain = judge.Plain();
  if (!plain) return;
  const planner::Strategy found = judge.Improve(*plain);
  const double own = judge.Cost(*judge.Look(found));
  fmt::print("\nexpected minutes as found {:.1f}; begun again {} times\n", own, tries);
  double least = own;
  for (std::uint64_t seed = 1; seed <= kSearches; ++seed) {
    const double begun = Processor_s();
    planner::PlannerOptions other = options;
    other.seed = seed;
    planner::Search search(machine, shop, none, other);
    const planner::Strategy best = search.TryAgain(search.Improve(*search.Plain()), tries);
    const double cost = judge.Cost(*judge.Look(best));
    least = std::min(least, cost);
    fmt::print("  seed {:2}: {:.1f}, {} plans judged, {:.0f} s of the processor\n", seed, cost, search.judged(), Processor_s() - begun);
  }
  fmt::print("as found over the best of them: {:.2f} %\n", 100 * (own / least - 1));
}

}  // namespace

int main(int argc, char** argv) {
  std::setvbuf(stdout, nullptr, _IOLBF, 0);
  const fs::path example = argc > 1 ? argv[1] : "examples/airbrush-compressor";
  Diagnostics faults;
  const auto project = files::LoadProject(example, {}, faults);
  if (!project) {
    fmt::print(stderr, "{}\n", Format(project.error()));
    return 2;
  }
  if (argc > 3) {
    Again(project->machine, project->shop, std::atoi(argv[3]));
    return 0;
  }
  for (const ShopLevel level : {ShopLevel::kDefault, ShopLevel::kWorn}) Compare(project->machine, project->shop, level);
  Grow(argc > 2 ? static_cast<std::size_t>(std::strtoul(argv[2], nullptr, 10)) : 150);
  return 0;
}
