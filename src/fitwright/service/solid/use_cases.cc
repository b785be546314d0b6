#include "fitwright/service/solid/use_cases.h"

#include <fmt/format.h>

#include <algorithm>
#include <future>

#include "fitwright/base/system.h"
#include "fitwright/files/plan_json.h"
#include "fitwright/planner/planner.h"
#include "fitwright/replay/in_process.h"
#include "fitwright/review/solid/review_solids.h"
#include "fitwright/service/finding_place.h"
#include "fitwright/service/kept_outcomes.h"
#include "fitwright/service/left_use.h"
#include "fitwright/service/solid/kept_plan.h"
#include "fitwright/service/solid/offers.h"
#include "fitwright/service/solid/replay_options.h"
#include "fitwright/solid/build.h"
#include "fitwright/solid/measure.h"
#include "fitwright/solid/step_io.h"
#include "fitwright/store/build_log_store.h"
#include "fitwright/trade/materials.h"

namespace fitwright::service {

replay::ReplayOptions ReplayOptionsOf(int threads, const WorkOptions& work) {
  replay::ReplayOptions options;
  options.threads = threads;
  options.cancel = work.cancel;
  options.progress = work.progress;
  if (const auto cache = UserCacheFolder(); !cache.empty()) options.cache_dir = cache / "pieces";
  return options;
}

namespace {

std::string ReplayWarning(const ReplayReport& replay) {
  std::size_t broken = 0;
  for (const ReplayPart& part : replay.parts) broken += part.violations.size();
  return fmt::format(
      "Do not cut to this plan: replayed on solids it breaks {} rule{}; 'fitwright replay' names step "
      "and rule.",
      broken, broken == 1 ? "" : "s");
}

// Fills the masses of the finished parts, g, where the material's density is known.
void WeighParts(const Machine& machine, const ReplayReport& replay, Plan& plan) {
  for (PlannedPart& planned : plan.parts) {
    const Part* part = machine.FindPart(planned.name);
    const trade::Material* material = part == nullptr ? nullptr : trade::FindMaterial(part->material);
    if (material == nullptr) continue;
    for (const ReplayPart& proved : replay.parts) {
      if (proved.name == planned.name) planned.mass_g = proved.design_volume_mm3 * material->density_g_cm3 / 1000;
    }
  }
}

Result<StepId> FindStep(const Plan& plan, const std::string& text) {
  for (const Setup& setup : plan.setups) {
    for (std::size_t i = 0; i < setup.steps.size(); ++i) {
      if (setup.steps[i].id.text() == text || fmt::format("{}.{}", setup.number, i + 1) == text) {
        return setup.steps[i].id;
      }
    }
  }
  return Unexpected(Error{ErrorCode::kUnknownFeature, "the plan has no such step", text,
                          "take a step id or number from the plan", {}});
}

Result<solid::Solid> PieceAfter(const Opened& opened, const std::string& part,
                                const std::string& after, const WorkOptions& work) {
  auto saved = LoadSavedPlan(opened);
  if (!saved) return Unexpected(saved.error());
  const auto step = FindStep(saved->plan, after);
  if (!step) return Unexpected(step.error());
  auto pieces = replay::MakePiecesAfter(opened.project.machine, opened.project.shop, saved->plan,
                                        *step, ReplayOptionsOf(0, work));
  if (!pieces) return Unexpected(pieces.error());
  for (const replay::InProcessPiece& piece : *pieces) {
    if (piece.part.text() == part) return piece.solid_P;
  }
  return Unexpected(Error{ErrorCode::kUnknownPart, "the part is not in that step's setup", part,
                          "name a part that the setup holds", {}});
}

Result<std::vector<solid::NamedSolid>> SolidsOf(const Opened& opened, const ExportUse& use,
                                                const WorkOptions& work) {
  std::vector<solid::NamedSolid> solids;
  const Machine& machine = opened.project.machine;
  if (use.part && use.after) {
    auto piece = PieceAfter(opened, *use.part, *use.after, work);
    if (!piece) return Unexpected(piece.error());
    solids.push_back({*use.part, *piece, Pose::Identity()});
    return solids;
  }
  for (const auto* uses : {&machine.uses, &machine.bought_uses}) {
    for (const PartUse& u : *uses) {
      if (use.part && u.part.text() != *use.part) continue;
      auto design = solid::MakeDesign(*machine.FindPart(u.part));
      if (!design) return Unexpected(design.error());
      solids.push_back({u.part.text(), *design, use.part ? Pose::Identity() : u.X_WP});
      if (use.part) continue;
      for (const Pose& X_WP : u.copies_X_WP) solids.push_back({u.part.text(), *design, X_WP});
    }
  }
  if (solids.empty()) {
    return Unexpected(Error{ErrorCode::kUnknownPart, "the machine has no such part",
                            use.part.value_or(""), "name a sheet that machine.toml uses", {}});
  }
  return solids;
}

}  // namespace

Result<CheckOutcome> CheckDeep(const Opened& opened, const WorkOptions& work) {
  CheckOutcome outcome = Check(opened);
  auto deep = review::ReviewSolids(opened.project.machine, {}, work);
  if (!deep) return Unexpected(deep.error());
  for (review::Finding& finding : *deep) {
    const bool said = std::any_of(
        outcome.findings.begin(), outcome.findings.end(), [&](const review::Finding& f) {
          return f.rule == finding.rule && f.where == finding.where;
        });
    if (!said) outcome.findings.push_back(std::move(finding));
  }
  FillPlaces(opened.project.dir, outcome.findings);
  outcome.deep = true;
  return outcome;
}

namespace {

planner::PlannerOptions OptionsOf(const PlanUse& use) {
  planner::PlannerOptions options;
  options.seed = use.seed;
  options.final_builds = use.builds;
  options.threads = use.threads;
  options.work = use.work;
  options.wish = use.wish;
  options.sure = use.sure;
  options.tries = use.tries;
  options.offers = use.offers;
  return options;
}

// What a plan says of its making, and the file.
Status FinishAndSave(const files::Project& project, const PlanUse& use, const ReplayReport& replayed,
                     const PlanOrigin& origin, Plan& plan) {
  plan.version = use.version;
  plan.inputs_hash = project.inputs_hash;
  plan.seed = use.seed;
  plan.assumed.insert(plan.assumed.begin(), project.assumed.begin(), project.assumed.end());
  WeighParts(project.machine, replayed, plan);
  if (!replayed.ok) plan.warnings.insert(plan.warnings.begin(), ReplayWarning(replayed));
  return files::SavePlan(project.dir, plan, origin);
}

Result<ProvedPlan> ProveLeft(const Opened& opened, const PlanUse& use, const Workshop& workshop) {
  if (use.wish != planner::Wish::kLeastHours || use.offers || use.tries > 0) return Unexpected(NoWishUnderway());
  planner::PlannerOptions options = OptionsOf(use);
  options.search_builds = kBuildsByReadings;
  auto left = PlanLeft(workshop, use.build, options);
  if (!left) return Unexpected(left.error());
  auto replayed = replay::Replay(opened.project.machine, opened.project.shop, left->plan,
                                 ReplayOptionsOf(use.threads, use.work));
  if (!replayed) return Unexpected(replayed.error());
  if (auto saved = FinishAndSave(opened.project, use, *replayed, left->origin, left->plan); !saved)
    return Unexpected(saved.error());
  return ProvedPlan{std::move(left->plan), *std::move(replayed), std::move(left->origin), {}};
}

// Planned and proved side by side.
Result<ProvedPlan> PlanAndProve(const Opened& opened, const PlanUse& use) {
  const files::Project& project = opened.project;
  planner::PlannerOptions options = OptionsOf(use);
  KeptOutcomes kept(project.dir);
  options.outcomes = &kept.memo();
  const Shop catalogue = files::DefaultShop();
  options.catalogue = &catalogue;
  planner::Planner planner(project.machine, project.shop, project.choices, options);
  auto plan = planner.Choose();
  if (!plan) return Unexpected(plan.error());
  const Plan cut = *plan;
  auto telling = std::async(use.threads == 1 ? std::launch::deferred : std::launch::async,
                            [&] { return planner.Tell(*plan); });
  auto replayed =
      replay::Replay(project.machine, project.shop, cut, ReplayOptionsOf(use.threads, use.work));
  const Status told = telling.get();
  if (!told) return Unexpected(told.error());
  if (!replayed) return Unexpected(replayed.error());
  Result<std::vector<ProvedOffer>> offers = std::vector<ProvedOffer>();
  if (use.offers) offers = ProveOffers(opened, use, planner, *plan, *replayed);
  if (!offers) return Unexpected(offers.error());
  kept.Save();
  PlanOrigin origin;
  origin.decided = planner.Decided();
  return ProvedPlan{*std::move(plan), *std::move(replayed), std::move(origin), *std::move(offers)};
}

// Nothing has changed since it was planned: it is proved as ever.
Result<ProvedPlan> ProveAgain(const Opened& opened, const PlanUse& use, Plan plan, PlanOrigin origin) {
  auto replayed = replay::Replay(opened.project.machine, opened.project.shop, plan, ReplayOptionsOf(use.threads, use.work));
  if (!replayed) return Unexpected(replayed.error());
  return ProvedPlan{std::move(plan), *std::move(replayed), std::move(origin), {}};
}

}  // namespace

Result<ProvedPlan> MakeProvedPlan(const Opened& opened, const PlanUse& use) {
  const files::Project& project = opened.project;
  OpenOptions open = use.open;
  open.dir = project.dir;
  const auto workshop = use.afresh ? Result<Workshop>(Workshop{}) : EnterWorkshop(open);
  if (workshop && IsUnderway(*workshop, use.build)) return ProveLeft(opened, use, *workshop);
  const KeptPlan kept(project, use);
  PlanOrigin origin;
  std::optional<Plan> known = kept.Find(&origin);
  const bool is_known = known.has_value();
  Result<ProvedPlan> proved = is_known ? ProveAgain(opened, use, *std::move(known), std::move(origin)) : PlanAndProve(opened, use);
  if (!proved) return proved;
  if (!is_known) kept.Save(proved->plan, proved->origin);
  if (!workshop && std::filesystem::exists(project.dir / store::kBuildLogFileName))
    proved->plan.warnings.push_back(fmt::format("From the sheets alone, whatever is done: {}.", workshop.error().message));
  if (auto saved = FinishAndSave(project, use, proved->replay, proved->origin, proved->plan); !saved) return Unexpected(saved.error());
  return proved;
}

Result<Replayed> ReplayPlan(const Opened& opened, int threads, const WorkOptions& work) {
  auto saved = LoadSavedPlan(opened);
  if (!saved) return Unexpected(saved.error());
  auto replayed = replay::Replay(opened.project.machine, opened.project.shop, saved->plan,
                                 ReplayOptionsOf(threads, work));
  if (!replayed) return Unexpected(replayed.error());
  return Replayed{*std::move(saved), *std::move(replayed)};
}

Status ExportStep(const Opened& opened, const ExportUse& use, const WorkOptions& work) {
  if (use.after && !use.part) {
    return Unexpected(Error{ErrorCode::kUsage, "--after needs a part", *use.after,
                            "add --part with the name of the part", {}});
  }
  auto solids = SolidsOf(opened, use, work);
  if (!solids) return Unexpected(solids.error());
  solid::StepWriting writing;
  writing.assembly_name = opened.project.machine.name;
  writing.unit = opened.unit;
  return solid::WriteStep(*solids, use.file.string(), writing);
}

}  // namespace fitwright::service
