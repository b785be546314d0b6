#include "fitwright/planner/build_plan.h"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <iterator>
#include <utility>

#include "fitwright/base/check.h"
#include "fitwright/planner/hand_shaping.h"
#include "fitwright/planner/holding.h"
#include "fitwright/planner/holding_words.h"
#include "fitwright/planner/level_faces.h"
#include "fitwright/planner/measured_before.h"
#include "fitwright/planner/plan_lists.h"
#include "fitwright/planner/raw_length.h"
#include "fitwright/planner/setup_maker.h"
#include "fitwright/planner/setup_memo.h"
#include "fitwright/planner/setup_words.h"
#include "fitwright/planner/sums_before.h"
#include "fitwright/planner/tool_pins.h"
#include "fitwright/planner/whole_trial.h"

namespace fitwright::planner {
namespace {

SetupId SetupIdOf(int number) { return SetupId(fmt::format("s{:02d}", number)); }

StepId StepIdOf(int setup, std::size_t place) {
  // A search builds the same numbers again and again.
  static thread_local std::vector<std::vector<StepId>> known;
  const auto row = static_cast<std::size_t>(setup);
  if (known.size() <= row) known.resize(row + 1);
  while (known[row].size() <= place) known[row].emplace_back(fmt::format("{}.{}", SetupIdOf(setup).text(), known[row].size() + 1));
  return known[row][place];
}

void Number(Setup& setup) {
  for (std::size_t i = 0; i < setup.steps.size(); ++i) setup.steps[i].id = StepIdOf(setup.number, i);
}

class Builder {
 public:
  Builder(const Machine& machine, const Shop& shop, const Subjects& subjects, const Strategy& strategy, const Choices& choices, CutMemo* memo,
          SetupMemo* setups = nullptr)
      : machine_(machine), shop_(shop), subjects_(subjects), strategy_(strategy), pins_(choices.pins), setups_(setups),
        maker_(machine, shop, subjects, strategy, pins_, memo, plan_) {}

  void Measured() { maker_.Measure(); }

  std::vector<variation::KnownSetup> TakeKnown() { return std::move(known_); }

  Result<Plan> Build(const std::vector<OrderedSketch>& ordered) {
    constexpr std::size_t kAtTheEnd = 8;  // by hand, and the whole tried together
    plan_.setups.reserve(ordered.size() + kAtTheEnd);
    for (const OrderedSketch& item : ordered) {
      const Status done = AddSetup(item);
      if (!done) return Unexpected(done.error());
    }
    AddHandShaping();
    AddWholeTrial();
    if (maker_.measures()) {
      SayMeasuredBefore(machine_, plan_);
      SayMeasuredFirst(plan_);
      AskForLevelFaces(shop_, plan_);
    }
    double minutes = 0;
    for (const Setup& setup : plan_.setups) minutes += setup.time_min;
    plan_.hours_cutting = minutes / 60;
    if (setups_ == nullptr) {
      ListJoints(subjects_, strategy_, plan_);
      ListPartsAndBuying(machine_, subjects_, plan_);
    }
    return std::move(plan_);
  }

 private:
  Status AddSetup(const OrderedSketch& item) {
    const SetupSketch& sketch = item.sketch;
    Result<Setup> made = setups_ == nullptr ? maker_.Make(sketch) : RecallSetup(sketch);
    if (!made) return Unexpected(made.error());
    setup_ = *std::move(made);
    setup_.number = static_cast<int>(plan_.setups.size()) + 1;
    setup_.id = SetupIdOf(setup_.number);
    for (const std::size_t w : item.waits_for) {
      const Setup& other = plan_.setups[w];
      const bool same_part = other.parts.front().part == sketch.part;
      if (!same_part) setup_.waits_for.push_back(other.id);
    }
    if (!sketch.together.empty()) {
      stays_on_.insert(sketch.part);
      stays_on_.insert(sketch.mates.begin(), sketch.mates.end());
    }
    Mount(sketch);
    NumberSteps();
    RepeatForCopies(sketch);
    Append();
    return Ok{};
  }

  void Append() {
    plan_.setups.push_back(std::move(setup_));
    known_.push_back(std::exchange(now_known_, {}));
  }

  void Mount(const SetupSketch& sketch) {
    mount_min_ = 0;
    HoldingDeviceId& mounted = mounted_[sketch.machine];
    const HoldingDeviceId mount = MountedDevice(sketch.device, shop_);
    const MachineTool* machine = shop_.Find(sketch.machine);
    if (machine != nullptr && setups_ == nullptr) setup_.zero.routine += DialWords(*machine, setup_, mounted.empty());
    if (mounted != mount && !mount.empty()) {
      mount_min_ = shop_.times.device_change;
      setup_.time_min += mount_min_;
      std::string& words = setup_.hold_words;
      if (!words.empty()) words.front() = static_cast<char>(std::toupper(static_cast<unsigned char>(words.front())));
      words = MountWords(mount == sketch.device ? sketch.holding : HoldingKind::kViseBedFirst) + words;
    }
    mounted = mount;
  }

  // What only people and the proof read. Centres, steadies and jaws on round work, and turns of a rotary table, bear on the odds.
  static void Strip(Setup& setup) {
    std::erase_if(setup.fixtures, [](const FixtureSolid& fixture) {
      const bool bears = fixture.grips || fixture.supports || fixture.role == FixtureRole::kSteady;
      return !bears || !std::holds_alternative<FixtureCylinder>(fixture.shape);
    });
    setup.hold_words.clear();
    setup.leave_it_in.clear();
    setup.cautions.clear();
    setup.reasons.clear();
    for (Step& step : setup.steps) {
      step.words.clear();
      step.caution.clear();
      step.coordinates.clear();
      step.levels_mm.clear();
      std::erase_if(step.path, [](const PathPiece& piece) { return piece.table_deg.empty(); });
    }
  }

  // What a setup depends on beside its outline: setups that its pieces have been through, fits of theirs that
  // the strategy decides.
  std::string Before(const std::vector<PartId>& parts) {
    std::string before;
    for (const PartId& part : parts) {
      const auto made = made_.find(part);
      before.append(part.text()).append(":").append(std::to_string(made == made_.end() ? 0 : made->second->id)).append(" ");
    }
    if (parts.size() > 1) return before + Wanted(parts);
    const auto [wanted, is_new] = wanted_.try_emplace(parts.front());
    if (is_new) wanted->second = Wanted(parts);
    return before + wanted->second;
  }

  std::string Wanted(const std::vector<PartId>& parts) const {
    const auto concerned = [&](const PartId& part) { return std::find(parts.begin(), parts.end(), part) != parts.end(); };
    std::string wanted;
    for (const PartId& part : parts) wanted += ToolPinsKey(pins_, part);
    for (const SuitPair& pair : subjects_.suits) {
      const bool seats = std::any_of(pair.seats.begin(), pair.seats.end(), [&](const FeatureRef& seat) { return concerned(seat.part); });
      if (!seats && !concerned(pair.shaft.part) && !concerned(pair.bore.part)) continue;
      const auto share = strategy_.aim_share.find(pair.requirement);
      wanted += fmt::format("{}={}", pair.requirement.text(), static_cast<int>(strategy_.suits.at(pair.requirement)));
      wanted += share == strategy_.aim_share.end() ? ";" : fmt::format("@{};", share->second);
    }
    for (const auto& [feature, aim] : strategy_.own_aims) {
      if (concerned(feature.part)) wanted += KeyOf(feature, aim);
    }
    return wanted;
  }

  Result<Setup> RecallSetup(const SetupSketch& sketch) {
    if (sketch.bench != SetupSketch::Bench::kNone) return maker_.Make(sketch);
    const std::vector<PartId> parts = PartsOf(sketch);
    const std::string before = Before(parts);
    std::shared_ptr<const MadeSetup> known = setups_->Find(before, sketch);
    if (known == nullptr) {
      for (const auto& [part, made] : made_) {
        maker_.pieces()[part] = made->after.at(part);
        maker_.pieces()[part].part = machine_.FindPart(part);  // the setup may be remembered from an excerpt that is gone
      }
      known = setups_->Keep(before, sketch, MakeToKeep(sketch, parts));
    }
    if (known->error) return Unexpected(*known->error);
    for (const auto& [part, piece] : known->after) made_[part] = known;
    now_known_ = {known->id, &known->setup};
    return known->outline;
  }

  static Setup OutlineOf(const Setup& setup) {
    Setup outline;
    outline.machine = setup.machine;
    outline.holding = setup.holding;
    outline.device = setup.device;
    outline.parts = setup.parts;
    outline.time_min = setup.time_min;
    return outline;
  }

  MadeSetup MakeToKeep(const SetupSketch& sketch, const std::vector<PartId>& parts) {
    MadeSetup kept;
    Result<Setup> setup = maker_.Make(sketch);
    if (setup) {
      Strip(*setup);
      kept.outline = OutlineOf(*setup);
      kept.setup = *std::move(setup);
    } else {
      kept.error = setup.error();
    }
    for (const PartId& part : parts) {
      if (const auto piece = maker_.pieces().find(part); piece != maker_.pieces().end()) kept.after.insert(*piece);
    }
    return kept;
  }

  void NumberSteps() {
    Number(setup_);
    for (const Step& step : now_known_.whole == nullptr ? setup_.steps : now_known_.whole->steps) setup_.time_min += step.time_min;
  }

  // Waits for the last setup of its part.
  void AddHandShaping() {
    for (Setup& shaping : HandShaping(machine_, shop_)) {
      setup_ = std::move(shaping);
      setup_.number = static_cast<int>(plan_.setups.size()) + 1;
      setup_.id = SetupIdOf(setup_.number);
      for (auto at = plan_.setups.rbegin(); at != plan_.setups.rend() && setup_.waits_for.empty(); ++at) {
        if (at->parts.front().part == setup_.parts.front().part) setup_.waits_for = {at->id};
      }
      NumberSteps();
      Append();
    }
    plan_.assumed = HandShapingAssumed(machine_);
  }

  // Pins that went in where their holes were drilled through both parts.
  std::set<JointId> PinnedBefore() const {
    std::set<JointId> pinned;
    for (const SharedHoles& pair : subjects_.shared) {
      if (strategy_.shared.at(pair.subject) != Technique::kByCoordinates) pinned.insert(JointId(pair.subject));
    }
    return pinned;
  }

  std::optional<Setup> MakeWholeTrial() {
    const AssembledBefore before{stays_on_, PinnedBefore()};
    // An excerpt, which shares the memo, is not put together.
    if (setups_ == nullptr || subjects_.together.steps.empty()) return WholeTrial(machine_, shop_, subjects_, before);
    const Setup* known = setups_->WholeTrial({before.stays_on, before.pinned}, [&] {
      std::optional<Setup> whole = WholeTrial(machine_, shop_, subjects_, before);
      if (whole) Strip(*whole);
      return whole;
    });
    if (known == nullptr) return std::nullopt;
    now_known_ = {0, known};
    return OutlineOf(*known);
  }

  // Waits for the last setup of every part.
  void AddWholeTrial() {
    std::optional<Setup> whole = MakeWholeTrial();
    if (!whole) return;
    if (maker_.measures()) {
      std::vector<Step> sums = SumsBefore(machine_, shop_, maker_.SettledByFits(), plan_);
      whole->steps.insert(whole->steps.begin() + 1, std::make_move_iterator(sums.begin()), std::make_move_iterator(sums.end()));
    }
    setup_ = std::move(*whole);
    setup_.number = static_cast<int>(plan_.setups.size()) + 1;
    setup_.id = SetupIdOf(setup_.number);
    std::vector<PartId> seen;
    for (auto at = plan_.setups.rbegin(); at != plan_.setups.rend(); ++at) {
      const PartId& part = at->parts.front().part;
      if (std::find(seen.begin(), seen.end(), part) != seen.end()) continue;
      seen.push_back(part);
      setup_.waits_for.insert(setup_.waits_for.begin(), at->id);
    }
    NumberSteps();
    Append();
  }

  // Alike parts go through the setup one after the other; only the device is put up once.
  void RepeatForCopies(const SetupSketch& sketch) {
    if (sketch.part_off && setups_ == nullptr) {
      if (std::string words = ShortOneWords(machine_, subjects_, sketch.part); !words.empty()) setup_.leave_it_in.push_back(std::move(words));
    }
    const PartUse* use = machine_.FindUse(sketch.part);
    const int copies = use == nullptr ? 1 : use->quantity;
    if (copies < 2 || !sketch.mates.empty()) return;
    setup_.time_min += (copies - 1) * (setup_.time_min - mount_min_);
    if (setups_ != nullptr) return;
    setup_.leave_it_in.push_back(
        sketch.part_off ? fmt::format("{} alike: when one is parted off, draw the bar out and do every step again; where the hole of the one before goes deeper, leave out centring and drill on.", copies)
                        : fmt::format("{} alike: do every step of this page for each before anything is changed.", copies));
  }

  const Machine& machine_;
  const Shop& shop_;
  const Subjects& subjects_;
  const Strategy& strategy_;
  const std::vector<Pin>& pins_;
  SetupMemo* setups_;
  std::map<PartId, std::shared_ptr<const MadeSetup>> made_;  // recalled: the last setup of each part
  std::map<PartId, std::string> wanted_;  // what the strategy wants of each by itself
  std::vector<variation::KnownSetup> known_;  // of the plan's setups
  variation::KnownSetup now_known_;           // of this one
  Plan plan_;
  SetupMaker maker_;
  Setup setup_;
  double mount_min_ = 0;  // minutes of this setup that put the device up
  std::map<MachineToolId, HoldingDeviceId> mounted_;
  std::set<PartId> stays_on_;  // cut in one go and left together
};

}  // namespace

Result<Plan> BuildPlan(const Machine& machine, const Shop& shop, const Subjects& subjects, const Strategy& strategy,
                       const Choices& choices, CutMemo* memo) {
  const auto ordered = InOrder(machine, shop, subjects, strategy, choices);
  if (!ordered) return Unexpected(ordered.error());
  return Builder(machine, shop, subjects, strategy, choices, memo).Build(*ordered);
}

Result<Plan> BuildMeasuredPlan(const Machine& machine, const Shop& shop, const Subjects& subjects, const Strategy& strategy,
                               const Choices& choices, CutMemo* memo) {
  const auto ordered = InOrder(machine, shop, subjects, strategy, choices);
  if (!ordered) return Unexpected(ordered.error());
  Builder builder(machine, shop, subjects, strategy, choices, memo);
  builder.Measured();
  Result<Plan> plan = builder.Build(*ordered);
  if (plan) SayRawLengths(machine, shop, *plan);
  return plan;
}

Result<PlanToJudge> BuildPlanToJudge(const Machine& machine, const Shop& shop, const Subjects& subjects, const Strategy& strategy,
                                     const Choices& choices, CutMemo* memo, SetupMemo& setups) {
  const auto ordered = InOrder(machine, shop, subjects, strategy, choices, &setups);
  if (!ordered) return Unexpected(ordered.error());
  Builder builder(machine, shop, subjects, strategy, choices, memo, &setups);
  Result<Plan> plan = builder.Build(*ordered);
  if (!plan) return Unexpected(plan.error());
  return PlanToJudge{*std::move(plan), builder.TakeKnown()};
}

Plan WholePlan(PlanToJudge judged) {
  for (std::size_t i = 0; i < judged.plan.setups.size(); ++i) {
    if (judged.known[i].whole == nullptr) continue;
    Setup& outline = judged.plan.setups[i];
    Setup setup = *judged.known[i].whole;
    setup.id = outline.id;
    setup.number = outline.number;
    setup.time_min = outline.time_min;
    setup.waits_for = std::move(outline.waits_for);
    Number(setup);
    outline = std::move(setup);
  }
  return std::move(judged.plan);
}

}  // namespace fitwright::planner
