#include "fitwright/replay/setup_run.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <memory>

#include "fitwright/model/faces.h"
#include "fitwright/replay/cutting.h"
#include "fitwright/replay/machine_rules.h"
#include "fitwright/replay/seating.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/measure.h"

namespace fitwright::replay {
namespace {

constexpr double kSamePlace = 1e-6;  // mm, and rad: a part still stands on another as it did
constexpr double kNearJaws_mm = 0.5;

Standing* Find(Floor& floor, const PartId& part) {
  const auto at =
      std::find_if(floor.begin(), floor.end(), [&](const Standing& s) { return s.part == part; });
  return at == floor.end() ? nullptr : &*at;
}

// Pieces as they come to the setup. Parts that nobody knows are left out with a finding.
Floor MakeFloor(const SetupView& view, const Pieces& pieces, Findings& findings) {
  Floor floor;
  for (const PartPose& pose : view.setup->parts) {
    const auto at = pieces.find(pose.part);
    if (at == pieces.end()) {
      findings.AddToSetup(Rule::kPartMissing,
                          fmt::format("the machine has no part {}", pose.part.text()));
      continue;
    }
    Standing s;
    s.part = pose.part;
    s.X_PS = pose.X_PS;
    s.piece = at->second;
    s.solid_S = solid::Moved(s.piece.solid_P, pose.X_PS.inverse());
    s.box_S = solid::CalcBox(s.solid_S);
    s.volume_mm3 = s.piece.volume_mm3;
    s.present = pose.held;
    floor.push_back(std::move(s));
  }
  return floor;
}

bool IsJoined(const Standing& s, const Standing& to) {
  const Pose X_PO = s.X_PS * to.X_PS.inverse();
  return std::any_of(s.piece.joined.begin(), s.piece.joined.end(), [&](const JoinedPart& j) {
    return j.part == to.part && (j.X_PO.matrix() - X_PO.matrix()).norm() < kSamePlace;
  });
}

// What stands in the setup must be what the setups before left together.
void CheckTogether(const SetupView& view, const Floor& floor, Findings& findings) {
  for (std::size_t i = 1; i < floor.size(); ++i) {
    if (!floor[i].present || IsJoined(floor[i], floor.front())) continue;
    findings.Add(floor[i].part, StepId(view.setup->id.text()), Rule::kPartMissing,
                 fmt::format("{} is said to be on {}, but was not put there", floor[i].part.text(),
                             floor.front().part.text()));
  }
  for (const Standing& s : floor) {
    for (const JoinedPart& j : s.piece.joined) {
      const bool listed = std::any_of(floor.begin(), floor.end(),
                                      [&](const Standing& o) { return o.part == j.part; });
      if (listed) continue;
      findings.Add(s.part, StepId(view.setup->id.text()), Rule::kPartLeftOn,
                   fmt::format("{} is still on {}, and the setup leaves it out", j.part.text(),
                               s.part.text()));
    }
  }
}

Status Assemble(const SetupView& view, const Step& step, Floor& floor, Findings& findings) {
  if (step.parts.empty()) {
    findings.Add(step.id, Rule::kPartMissing, "the step names no part to put on");
  }
  for (const PartId& part : step.parts) {
    Standing* s = Find(floor, part);
    if (s == nullptr) {
      findings.Add(step.id, Rule::kPartMissing,
                   fmt::format("{} is put on, but has no place in the setup", part.text()));
      continue;
    }
    if (s->present) continue;  // it is on already: screwed tighter
    if (s->piece.steps == 0) {
      findings.Add(part, step.id, Rule::kPartMissing,
                   fmt::format("{} is put on, but is still raw bar", part.text()));
    }
    s->present = true;
    const auto index = static_cast<std::size_t>(s - floor.data());
    Status in = CheckIncoming(view, floor, index, step.id, findings);
    if (!in) return in;
  }
  return Ok{};
}

void TakeApart(const Step& step, Floor& floor, Findings& findings) {
  for (const PartId& part : step.parts) {
    Standing* s = Find(floor, part);
    if (s != nullptr && s->present && s != &floor.front()) {
      s->present = false;
      continue;
    }
    findings.Add(step.id, Rule::kPartMissing,
                 fmt::format("{} is taken off, but is not on", part.text()));
  }
}

// Whether the step cut where a jaw holds, so that the grip must be looked at again.
bool CutNearJaws(const SetupView& view, const Floor& floor) {
  for (const Standing& s : floor) {
    if (!s.last_cut_S) continue;
    for (const Fixture& f : view.fixtures) {
      if (f.spec->grips && Overlap(Grown(f.box, kNearJaws_mm), *s.last_cut_S)) return true;
    }
  }
  return false;
}

Result<StepResult> RunStep(const SetupView& view, const Step& step, const StepResult& before) {
  StepResult result;
  result.floor = before.floor;
  result.near_jaws = before.near_jaws;
  for (Standing& s : result.floor) s.last_cut_S.reset();
  Findings findings(view);
  if (step.operation == Operation::kAssemble) {
    Status done = Assemble(view, step, result.floor, findings);
    if (!done) return Unexpected(done.error());
  } else if (step.operation == Operation::kTakeApart) {
    TakeApart(step, result.floor, findings);
  } else if (const Tool* tool = ToolOf(view, step); tool != nullptr && !step.path.empty()) {
    Status done = RunCut(view, step, *tool, result.floor, findings);
    if (!done) return Unexpected(done.error());
    result.near_jaws = result.near_jaws || CutNearJaws(view, result.floor);
  }
  result.findings = findings.Take();
  return result;
}

Key KeyOfSetup(const SetupView& view, const Floor& floor) {
  const Setup& setup = *view.setup;
  KeyMaker key;
  key.Add(setup.id.text()).Add(*view.machine).Add(view.device != nullptr);
  if (view.device != nullptr) key.Add(*view.device);
  for (const HoldingDevice& device : view.shop->holding) {  // what carries the end of what another device holds
    const bool carries = device.kind == HoldingDeviceKind::kTailstockCentre || device.kind == HoldingDeviceKind::kSteady;
    if (carries && device.on == view.machine->name) key.Add(device);
  }
  key.Add(static_cast<int>(setup.holding)).Add(setup.up).Add(setup.zero.point_P_mm);
  key.Add(setup.opening_mm).Add(setup.grip_depth_mm).Add(setup.parallels_mm).Add(setup.tailstock_over_mm);
  for (const Standing& s : floor) {
    key.Add(s.part.text()).Add(s.X_PS).Add(s.present).Add(s.piece.key);
    key.Add(static_cast<std::int64_t>(s.piece.joined.size()));
    for (const JoinedPart& j : s.piece.joined) key.Add(j.part.text()).Add(j.X_PO);
  }
  for (const FixtureSolid& fixture : setup.fixtures) key.Add(fixture);
  for (const Contact& c : setup.contacts) {
    key.Add(static_cast<int>(c.kind)).Add(c.surface.part.text()).Add(IsOnRaw(c)).Add(c.point_P_mm).Add(c.normal_P);
  }
  for (const Step& step : setup.steps) {  // seating looks at where outside turning goes
    for (const PathPiece& piece : step.path) {
      if (piece.kind == PathKind::kTurn && !piece.points_S_mm.empty())
        key.Add(HeightsOf(piece).first);
    }
  }
  return key.Get();
}

Key KeyOfStep(const SetupView& view, const Step& step, const Key& before) {
  KeyMaker key;
  key.Add(before).Add(step.id.text()).Add(static_cast<int>(step.operation)).Add(step.depth_mm);
  key.Add(step.through.has_value());
  if (step.through) key.Add(step.through->part.text());
  for (const PartId& part : step.parts) key.Add(part.text());
  const Tool* tool = ToolOf(view, step);
  key.Add(tool != nullptr);
  if (tool != nullptr) key.Add(*tool).Add(tool->words);
  for (const PathPiece& piece : step.path) {
    key.Add(static_cast<int>(piece.kind)).Add(piece.from_z_mm).Add(piece.set_diameter_mm);
    key.Add(static_cast<std::int64_t>(piece.points_S_mm.size()));
    for (const Vec3& p : piece.points_S_mm) key.Add(p);
    for (const double turn : piece.turns_rad) key.Add(turn);
    for (const double turn : piece.table_deg) key.Add(turn);
  }
  return key.Get();
}

Error Stopped() { return {ErrorCode::kStopped, "stopped before the replay was done", {}, {}, {}}; }

Error AtStep(Error error, const std::string& where) {
  error.message = where + ": " + error.message;
  return error;
}

// Last step that cut anything: a grip that is lost is lost there.
StepId LastCut(const Setup& setup) {
  for (auto step = setup.steps.rbegin(); step != setup.steps.rend(); ++step) {
    if (IsCutting(step->operation)) return step->id;
  }
  return StepId(setup.id.text());
}

class Runner {
 public:
  Runner(const SetupView& view, const RunOptions& options, const AfterStep& after)
      : view_(view), options_(options), after_(after) {}

  // Seating and all steps; findings of both in order.
  Result<StepResult> Run(const Floor& floor) {
    keys_ = {KeyOfSetup(view_, floor)};
    for (const Step& step : view_.setup->steps)
      keys_.push_back(KeyOfStep(view_, step, keys_.back()));
    if (options_.memo != nullptr && !after_) {
      if (auto whole = options_.memo->LoadSetup(keys_.back(), floor)) return *std::move(whole);
    }
    auto done = RunSteps(floor);
    if (done && options_.memo != nullptr && complete_)
      options_.memo->SaveSetup(keys_.back(), *done);
    return done;
  }

 private:
  Result<StepResult> RunSteps(const Floor& floor) {
    auto at = Remembered(keys_.front(), [&]() -> Result<StepResult> {
      StepResult seated;
      seated.floor = floor;
      auto findings = CheckSeating(view_, floor);
      if (!findings) return Unexpected(findings.error());
      seated.findings = *std::move(findings);
      return seated;
    });
    if (!at) return Unexpected(AtStep(at.error(), view_.setup->id.text()));
    std::vector<Finding> all = (*at)->findings;
    for (std::size_t i = 0; i < view_.setup->steps.size(); ++i) {
      if (options_.stop_at_first && !all.empty()) return Ended(**at, std::move(all), false);
      if (options_.cancel != nullptr && options_.cancel->cancelled()) return Unexpected(Stopped());
      const Step& step = view_.setup->steps[i];
      auto next = Remembered(keys_[i + 1], [&] { return RunStep(view_, step, **at); });
      if (!next) return Unexpected(AtStep(next.error(), step.id.text()));
      all.insert(all.end(), (*next)->findings.begin(), (*next)->findings.end());
      at = next;
      if (after_) after_(step, (*at)->floor);
    }
    Status grip = CheckGripAgain(**at, all);
    if (!grip) return Unexpected(AtStep(grip.error(), view_.setup->id.text()));
    return Ended(**at, std::move(all), true);
  }

  using Shared = std::shared_ptr<const StepResult>;
  template <typename Make>
  Result<Shared> Remembered(const Key& key, Make&& make) {
    if (options_.memo != nullptr) {
      if (Shared kept = options_.memo->FindStep(key)) return kept;
    }
    Result<StepResult> made = make();
    if (!made) return Unexpected(made.error());
    Shared shared = std::make_shared<const StepResult>(*std::move(made));
    if (options_.memo != nullptr) options_.memo->KeepStep(key, shared);
    return shared;
  }

  Status CheckGripAgain(const StepResult& last, std::vector<Finding>& all) {
    const bool parted = !last.floor.empty() && last.floor.front().parted_off;
    if (!last.near_jaws || parted) return Ok{};
    Findings findings(view_);
    Status grip = CheckGrip(view_, last.floor, LastCut(*view_.setup), findings);
    if (!grip) return grip;
    // What was wrong from the start is said already.
    const bool said = std::any_of(all.begin(), all.end(), [](const Finding& f) {
      return f.rule == Rule::kGripMissing || f.rule == Rule::kGripTooSmall;
    });
    if (!said) all.insert(all.end(), findings.list().begin(), findings.list().end());
    return Ok{};
  }

  StepResult Ended(const StepResult& last, std::vector<Finding> all, bool complete) {
    complete_ = complete;
    StepResult ended = last;
    ended.findings = std::move(all);
    return ended;
  }

  const SetupView& view_;
  const RunOptions& options_;
  const AfterStep& after_;
  std::vector<Key> keys_;
  bool complete_ = false;
};

// Puts the pieces back where the next setup finds them.
void PutBack(const Floor& floor, Pieces& pieces) {
  for (const Standing& s : floor) {
    Piece& piece = pieces.at(s.part);
    std::vector<JoinedPart> joined;
    for (const JoinedPart& j : piece.joined) {
      const bool here = std::any_of(floor.begin(), floor.end(),
                                    [&](const Standing& o) { return o.part == j.part; });
      if (!here) joined.push_back(j);
    }
    for (const Standing& o : floor) {
      if (s.present && o.present && o.part != s.part)
        joined.push_back({o.part, s.X_PS * o.X_PS.inverse()});
    }
    if (s.changed) {
      piece = s.piece;
      piece.solid_P = solid::Moved(s.solid_S, s.X_PS);
      piece.volume_mm3 = s.volume_mm3;
    }
    piece.joined = std::move(joined);
  }
}

// Findings in the order of the steps; those of the setup itself first.
void SortBySteps(const Setup& setup, std::vector<Finding>& findings) {
  std::map<StepId, std::size_t> place;
  for (std::size_t i = 0; i < setup.steps.size(); ++i) place.emplace(setup.steps[i].id, i + 1);
  const auto at = [&](const Finding& f) {
    const auto found = place.find(f.step);
    return found == place.end() ? std::size_t{0} : found->second;
  };
  std::stable_sort(findings.begin(), findings.end(),
                   [&](const Finding& a, const Finding& b) { return at(a) < at(b); });
}

}  // namespace

Result<std::vector<Finding>> RunSetup(const Shop& shop, const Setup& setup, Pieces& pieces,
                                      const RunOptions& options, const AfterStep& after) {
  auto made = MakeSetupView(shop, setup);
  if (!made) return Unexpected(made.error());
  std::vector<Finding> findings = std::move(made->findings);
  if (!made->ok) return findings;
  const SetupView& view = made->view;
  Findings own(view);
  const Floor floor = MakeFloor(view, pieces, own);
  if (!floor.empty()) CheckTogether(view, floor, own);
  CheckBalance(view, floor, own);
  CheckSetOver(view, floor, own);
  findings.insert(findings.end(), own.list().begin(), own.list().end());
  const std::vector<Finding> data = CheckMachineUse(view);
  findings.insert(findings.end(), data.begin(), data.end());
  const bool stop = options.stop_at_first && !findings.empty();
  if (floor.size() != setup.parts.size() || stop) {
    SortBySteps(setup, findings);
    return findings;
  }
  Runner runner(view, options, after);
  const auto done = runner.Run(floor);
  if (!done) return Unexpected(done.error());
  findings.insert(findings.end(), done->findings.begin(), done->findings.end());
  SortBySteps(setup, findings);
  PutBack(done->floor, pieces);
  return findings;
}

}  // namespace fitwright::replay
