#include "fitwright/replay/in_process.h"

#include <fmt/format.h>

#include <algorithm>

#include "fitwright/replay/shop_run.h"
#include "fitwright/solid/cut.h"

namespace fitwright::replay {
namespace {

std::vector<InProcessPiece> PiecesIn(const Setup& setup, const Pieces& pieces) {
  std::vector<InProcessPiece> found;
  for (const PartPose& pose : setup.parts) {
    const auto at = pieces.find(pose.part);
    if (at != pieces.end()) found.push_back({pose.part, pose.X_PS, at->second.solid_P, pose.held});
  }
  return found;
}

std::vector<InProcessPiece> PiecesOn(const Floor& floor) {
  std::vector<InProcessPiece> found;
  for (const Standing& s : floor) {
    found.push_back({s.part, s.X_PS, solid::Moved(s.solid_S, s.X_PS), s.present});
  }
  return found;
}

}  // namespace

Result<std::vector<SetupPieces>> MakeSetupPieces(const Machine& machine, const Shop& shop,
                                                 const Plan& plan, const ReplayOptions& options) {
  Memo memo(options.cache_dir, options.cache_bytes_most);
  const RunOptions run{options.cancel, &memo, false};
  auto pieces = MakeRawPieces(machine, plan);
  if (!pieces) return Unexpected(pieces.error());
  std::vector<SetupPieces> all;
  for (const Setup& setup : plan.setups) {
    if (options.progress) {
      options.progress("replaying the cuts",
                       static_cast<double>(all.size()) / static_cast<double>(plan.setups.size()));
    }
    SetupPieces here{setup.id, PiecesIn(setup, *pieces), {}};
    const auto done = RunSetup(shop, setup, *pieces, run);
    if (!done) return Unexpected(done.error());
    here.after = PiecesIn(setup, *pieces);
    all.push_back(std::move(here));
  }
  memo.Trim();
  return all;
}

Result<std::vector<InProcessPiece>> MakePiecesAfter(const Machine& machine, const Shop& shop,
                                                    const Plan& plan, const StepId& step,
                                                    const ReplayOptions& options) {
  Memo memo(options.cache_dir, options.cache_bytes_most);
  const RunOptions run{options.cancel, &memo, false};
  auto pieces = MakeRawPieces(machine, plan);
  if (!pieces) return Unexpected(pieces.error());
  for (const Setup& setup : plan.setups) {
    const bool here = std::any_of(setup.steps.begin(), setup.steps.end(),
                                  [&](const Step& s) { return s.id == step; });
    std::vector<InProcessPiece> found;
    AfterStep look;
    if (here) {
      look = [&](const Step& s, const Floor& floor) {
        if (s.id == step) found = PiecesOn(floor);
      };
    }
    const auto done = RunSetup(shop, setup, *pieces, run, look);
    if (!done) return Unexpected(done.error());
    if (here) return found;
  }
  return Unexpected(Error{ErrorCode::kNoPlan,
                          fmt::format("the plan has no step {}", step.text()),
                          step.text(),
                          "name a step of the plan",
                          {}});
}

}  // namespace fitwright::replay
