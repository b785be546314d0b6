#include "fitwright/replay/shop_run.h"

#include <algorithm>
#include <map>
#include <optional>
#include <set>

#include "fitwright/base/parallel.h"
#include "fitwright/replay/bench_rules.h"
#include "fitwright/replay/design_check.h"
#include "fitwright/replay/plan_rules.h"
#include "fitwright/solid/build.h"
#include "fitwright/solid/measure.h"
#include "fitwright/solid/solid_bytes.h"

namespace fitwright::replay {
namespace {

// Every part used, in the machine's order, each followed by the copies that the plan names.
std::vector<PartId> PartsOf(const Machine& machine, const Plan& plan) {
  std::set<PartId> named;
  for (const Setup& setup : plan.setups) {
    for (const PartPose& pose : setup.parts) named.insert(pose.part);
  }
  std::vector<PartId> parts;
  for (const PartUse& use : machine.uses) {
    if (std::find(parts.begin(), parts.end(), use.part) == parts.end()) parts.push_back(use.part);
    for (const PartId& part : named) {
      const bool copy = part != use.part && SheetOf(part) == use.part;
      if (copy && std::find(parts.begin(), parts.end(), part) == parts.end()) parts.push_back(part);
    }
  }
  return parts;
}

// The pieces that a setup may touch; its own copy, so that setups of one wave do not meet.
Pieces PiecesFor(const Setup& setup, const Pieces& all) {
  Pieces own;
  for (const PartPose& pose : setup.parts) {
    const auto at = all.find(pose.part);
    if (at != all.end()) own.insert(*at);
  }
  return own;
}

struct WaveItem {
  std::size_t setup = 0;
  Pieces pieces;
  std::optional<Result<std::vector<Finding>>> done;
};

Status RunWave(const Shop& shop, const Plan& plan, const std::vector<std::size_t>& wave,
               const ShopRunOptions& options, ShopRun& run) {
  std::vector<WaveItem> items;
  items.reserve(wave.size());
  for (const std::size_t i : wave) items.push_back({i, PiecesFor(plan.setups[i], run.pieces), {}});
  const RunOptions setup_options{options.cancel, options.memo, options.stop_at_first};
  ParallelFor(items.size(), options.threads, [&](std::size_t k) {
    items[k].done = RunSetup(shop, plan.setups[items[k].setup], items[k].pieces, setup_options);
  });
  for (WaveItem& item : items) {
    if (!*item.done) return Unexpected(item.done->error());
    std::vector<Finding>& list = run.findings[item.setup];
    list.insert(list.end(), (**item.done).begin(), (**item.done).end());
    for (const auto& [part, piece] : item.pieces) run.pieces[part] = piece;
  }
  return Ok{};
}

Result<ReplayPart> Judge(const Part& part, const PartId& name, const Piece& piece, Memo* memo) {
  const Key key = KeyMaker().Add("judged").Add(name.text()).Add(piece.key).Get();
  if (memo != nullptr) {
    if (const auto known = memo->FindJudged(key)) return *known;
  }
  auto judged = JudgePart(part, name, piece, memo);
  if (judged && memo != nullptr) memo->KeepJudged(key, *judged);
  return judged;
}

bool Any(const std::vector<std::vector<Finding>>& lists) {
  return std::any_of(lists.begin(), lists.end(), [](const auto& list) { return !list.empty(); });
}

// Findings to their parts; what names no part of the machine stands under the first.
void HandOut(const ShopRun& run, ReplayReport& report) {
  if (report.parts.empty()) return;
  std::vector<std::vector<ReplayViolation>> before(report.parts.size());
  for (const auto& list : run.findings) {
    for (const Finding& f : list) {
      const auto at = std::find_if(report.parts.begin(), report.parts.end(),
                                   [&](const ReplayPart& p) { return p.name == f.part; });
      const auto index =
          at == report.parts.end() ? 0 : static_cast<std::size_t>(at - report.parts.begin());
      before[index].push_back({f.step, std::string(WordOf(f.rule)), f.say});
    }
  }
  for (std::size_t i = 0; i < report.parts.size(); ++i) {
    auto& violations = report.parts[i].violations;
    violations.insert(violations.begin(), before[i].begin(), before[i].end());
  }
}

}  // namespace

Result<Pieces> MakeRawPieces(const Machine& machine, const Plan& plan) {
  Pieces pieces;
  for (const PartId& name : PartsOf(machine, plan)) {
    const Part* part = machine.FindPart(SheetOf(name));
    if (part == nullptr) {
      return Unexpected(Error{ErrorCode::kUnknownPart,
                              "the machine uses a part that has no sheet",
                              name.text(),
                              "write its sheet, or take it out of the machine",
                              {}});
    }
    const auto stock = solid::MakeStock(*part);
    if (!stock) return Unexpected(stock.error());
    Piece piece;
    piece.solid_P = *stock;
    piece.volume_mm3 = solid::CalcVolume_mm3(*stock);
    KeyMaker key;
    key.Add(part->stock);
    const auto bytes = solid::ToBytes(*stock);  // what is made already is off it
    if (!bytes) return Unexpected(bytes.error());
    key.Add(std::string_view(*bytes));
    piece.key = key.Get();
    pieces.emplace(name, std::move(piece));
  }
  return pieces;
}

std::vector<std::vector<std::size_t>> MakeWaves(const Plan& plan) {
  std::map<PartId, std::size_t> next;  // first wave that is free for the part
  std::vector<std::vector<std::size_t>> waves;
  for (std::size_t i = 0; i < plan.setups.size(); ++i) {
    std::size_t wave = 0;
    for (const PartPose& pose : plan.setups[i].parts) wave = std::max(wave, next[pose.part]);
    for (const PartPose& pose : plan.setups[i].parts) next[pose.part] = wave + 1;
    if (waves.size() <= wave) waves.resize(wave + 1);
    waves[wave].push_back(i);
  }
  return waves;
}

Result<ShopRun> RunPlan(const Machine& machine, const Shop& shop, const Plan& plan,
                        const ShopRunOptions& options) {
  ShopRun run;
  run.findings = CheckPlanList(plan, shop);
  CheckBench(machine, plan, run.findings);
  auto pieces = MakeRawPieces(machine, plan);
  if (!pieces) return Unexpected(pieces.error());
  run.pieces = *std::move(pieces);
  std::size_t done = 0;
  for (const auto& wave : MakeWaves(plan)) {
    if (options.stop_at_first && Any(run.findings)) return run;
    if (options.progress) {
      options.progress("replaying the cuts",
                       static_cast<double>(done) / static_cast<double>(plan.setups.size()));
    }
    Status status = RunWave(shop, plan, wave, options, run);
    if (!status) return Unexpected(status.error());
    done += wave.size();
  }
  return run;
}

Result<ReplayReport> RunAndJudge(const Machine& machine, const Shop& shop, const Plan& plan,
                                 const ShopRunOptions& options, Pieces* made) {
  const auto run = RunPlan(machine, shop, plan, options);
  if (!run) return Unexpected(run.error());
  if (made != nullptr) *made = run->pieces;
  const std::vector<PartId> names = PartsOf(machine, plan);
  std::vector<std::optional<Result<ReplayPart>>> judged(names.size());
  const bool unfinished = options.stop_at_first && Any(run->findings);
  ParallelFor(names.size(), options.threads, [&](std::size_t i) {
    const Part& part = *machine.FindPart(SheetOf(names[i]));
    ReplayPart only_name;
    only_name.name = names[i];
    judged[i] = unfinished ? Result<ReplayPart>(only_name)
                           : Judge(part, names[i], run->pieces.at(names[i]), options.memo);
  });
  ReplayReport report;
  for (auto& part : judged) {
    if (!*part) return Unexpected(part->error());
    report.parts.push_back(**part);
  }
  HandOut(*run, report);
  report.ok = !report.parts.empty() &&
              std::all_of(report.parts.begin(), report.parts.end(),
                          [](const ReplayPart& p) { return p.violations.empty(); });
  return report;
}

}  // namespace fitwright::replay
