#include "fitwright/planner/build_plan.h"

#include <algorithm>
#include <cctype>
#include <cmath>

#include "fitwright/base/check.h"
#include "fitwright/planner/bench_work.h"
#include "fitwright/planner/check_words.h"
#include "fitwright/planner/cut_requests.h"
#include "fitwright/planner/finished_grip.h"
#include "fitwright/planner/hand_shaping.h"
#include "fitwright/planner/holding.h"
#include "fitwright/planner/holding_words.h"
#include "fitwright/planner/joint_looks.h"
#include "fitwright/planner/lathe_order.h"
#include "fitwright/planner/level_faces.h"
#include "fitwright/planner/measured_before.h"
#include "fitwright/planner/measuring.h"
#include "fitwright/planner/plan_lists.h"
#include "fitwright/planner/process.h"
#include "fitwright/planner/process_common.h"
#include "fitwright/planner/process_length.h"
#include "fitwright/planner/raw_length.h"
#include "fitwright/planner/seat_blocks.h"
#include "fitwright/planner/set_beside.h"
#include "fitwright/planner/setup_memo.h"
#include "fitwright/planner/setup_words.h"
#include "fitwright/planner/tool_pins.h"
#include "fitwright/planner/whole_trial.h"

namespace fitwright::planner {
namespace {

class Builder {
 public:
  Builder(const Machine& machine, const Shop& shop, const Subjects& subjects, const Strategy& strategy, const Choices& choices, CutMemo* memo,
          SetupMemo* setups = nullptr)
      : machine_(machine), shop_(shop), subjects_(subjects), strategy_(strategy), pins_(choices.pins), memo_(memo), setups_(setups) {
    for (const Part& part : machine.parts) {
      pieces_[part.name] = RawPiece(part);
    }
  }

  void Measured() {
    Settled settled;
    for (const SuitPair& pair : subjects_.suits) {
      const auto choice = strategy_.suits.find(pair.requirement);
      if (choice != strategy_.suits.end() && choice->second == Technique::kFitToMeasured) settled.push_back(pair.requirement);
    }
    for (const Part& part : machine_.parts) wanted_[part.name] = WantedMeasures(machine_, part, settled);
  }

  std::vector<std::uint64_t> TakeHistories() { return std::move(histories_); }

  Result<Plan> Build(const std::vector<OrderedSketch>& ordered) {
    constexpr std::size_t kAtTheEnd = 8;  // by hand, and the whole tried together
    plan_.setups.reserve(ordered.size() + kAtTheEnd);
    for (const OrderedSketch& item : ordered) {
      const Status done = AddSetup(item);
      if (!done) return Unexpected(done.error());
    }
    AddHandShaping();
    AddWholeTrial();
    if (!wanted_.empty()) {
      SayMeasuredBefore(plan_);
      SayMeasuredFirst(plan_);
      AskForLevelFaces(shop_, plan_);
    }
    double minutes = 0;
    for (const Setup& setup : plan_.setups) minutes += setup.time_min;
    plan_.hours_cutting = minutes / 60;
    ListJoints(subjects_, strategy_, plan_);
    ListPartsAndBuying(machine_, subjects_, plan_);
    return std::move(plan_);
  }

 private:
  Status AddSetup(const OrderedSketch& item) {
    const SetupSketch& sketch = item.sketch;
    histories_.push_back(0);
    if (const Status made = setups_ == nullptr ? MakeSetup(sketch) : RecallSetup(sketch); !made) return made;
    setup_.number = static_cast<int>(plan_.setups.size()) + 1;
    setup_.id = SetupId(fmt::format("s{:02d}", setup_.number));
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
    plan_.setups.push_back(std::move(setup_));
    return Ok{};
  }

  void Mount(const SetupSketch& sketch) {
    mount_min_ = 0;
    HoldingDeviceId& mounted = mounted_[sketch.machine];
    const HoldingDeviceId mount = MountedDevice(sketch.device, shop_);
    if (const MachineTool* machine = shop_.Find(sketch.machine)) setup_.zero.routine += DialWords(*machine, setup_, mounted.empty());
    if (mounted != mount && !mount.empty()) {
      mount_min_ = shop_.times.device_change;
      setup_.time_min += mount_min_;
      std::string& words = setup_.hold_words;
      if (!words.empty()) words.front() = static_cast<char>(std::toupper(static_cast<unsigned char>(words.front())));
      words = MountWords(mount == sketch.device ? sketch.holding : HoldingKind::kViseBedFirst) + words;
    }
    mounted = mount;
  }

  // Into setup_, by itself: neither its number nor what stands on the machine counts.
  Status MakeSetup(const SetupSketch& sketch) {
    Result<HeldPiece> held = MakeHolding(sketch, pieces_, machine_, shop_);
    if (!held) return Unexpected(held.error());
    setup_ = std::move(held->setup);
    clearance_below_mm_ = held->clearance_below_mm;
    setup_.time_min = held->seat_min;
    if (sketch.bench != SetupSketch::Bench::kNone) {
      setup_.steps = BenchSteps(machine_, shop_, subjects_, sketch);
      setup_.hold_words = "On the bench, on clean paper; nothing is cut here.";
      setup_.up.clear();
      return Ok{};
    }
    const Status cut = sketch.marks            ? MarkByPoints(sketch)
                       : sketch.through          ? CutThrough(sketch)
                       : !sketch.drilled.empty()  ? CutThroughBoth(sketch)
                       : !sketch.together.empty() ? CutTogether(sketch)
                                                  : CutAll(sketch);
    if (!cut) return cut;
    if (!sketch.marks) AddDeburr(sketch);
    if (shop_.Find(sketch.machine)->kind == MachineToolKind::kLathe) setup_.hold_words += HeldShortWords(setup_);
    if (!wanted_.empty()) AddMeasuring(shop_, pieces_, wanted_, MeasuredFinely(subjects_, strategy_), setup_);
    setup_.hold_words += ThinRingWords(shop_, pieces_, setup_);
    setup_.hold_words += SeatBlockWords(shop_, setup_, BoxInSetup(pieces_.at(sketch.part), setup_.parts.front().X_PS));
    GaugeAgain(shop_, pieces_, setup_);
    if (DrivesPin(sketch)) {
      for (Step& step : PinSteps(machine_, shop_, PartsOf(sketch), sketch.drilled)) setup_.steps.push_back(std::move(step));
    }
    AddReasons(sketch);
    return Ok{};
  }

  static bool DrivesPin(const SetupSketch& sketch) {
    return !sketch.drilled.empty() && !sketch.take_apart && sketch.way != Technique::kBoreInLine;
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

  // The one that is held first.
  static std::vector<PartId> PartsOf(const SetupSketch& sketch) {
    std::vector<PartId> parts = {sketch.part};
    parts.insert(parts.end(), sketch.mates.begin(), sketch.mates.end());
    return parts;
  }

  // What a setup depends on beside its outline: setups that its pieces have been through, fits of theirs that
  // the strategy decides.
  std::string Before(const std::vector<PartId>& parts) const {
    const auto concerned = [&](const PartId& part) { return std::find(parts.begin(), parts.end(), part) != parts.end(); };
    std::string before;
    for (const PartId& part : parts) {
      const auto made = made_.find(part);
      before += fmt::format("{}:{} ", part.text(), made == made_.end() ? 0 : made->second->id) + ToolPinsKey(pins_, part);
    }
    for (const SuitPair& pair : subjects_.suits) {
      const bool seats = std::any_of(pair.seats.begin(), pair.seats.end(), [&](const FeatureRef& seat) { return concerned(seat.part); });
      if (!seats && !concerned(pair.shaft.part) && !concerned(pair.bore.part)) continue;
      const auto share = strategy_.aim_share.find(pair.requirement);
      before += fmt::format("{}={}", pair.requirement.text(), static_cast<int>(strategy_.suits.at(pair.requirement)));
      before += share == strategy_.aim_share.end() ? ";" : fmt::format("@{};", share->second);
    }
    for (const auto& [feature, aim] : strategy_.own_aims) {
      if (concerned(feature.part)) before += KeyOf(feature, aim);
    }
    return before;
  }

  Status RecallSetup(const SetupSketch& sketch) {
    if (sketch.bench != SetupSketch::Bench::kNone) return MakeSetup(sketch);
    const std::vector<PartId> parts = PartsOf(sketch);
    const std::string before = Before(parts);
    std::shared_ptr<const MadeSetup> known = setups_->Find(before, sketch);
    if (known == nullptr) {
      for (const auto& [part, made] : made_) {
        pieces_[part] = made->after.at(part);
        pieces_[part].part = machine_.FindPart(part);  // the setup may be remembered from an excerpt that is gone
      }
      MadeSetup made;
      if (const Status done = MakeSetup(sketch); !done) made.error = done.error();
      Strip(setup_);
      made.setup = std::move(setup_);
      for (const PartId& part : parts) {
        if (const auto piece = pieces_.find(part); piece != pieces_.end()) made.after.insert(*piece);
      }
      known = setups_->Keep(before, sketch, std::move(made));
    }
    if (known->error) return Unexpected(*known->error);
    for (const auto& [part, piece] : known->after) made_[part] = known;
    setup_ = known->setup;
    histories_.back() = known->id;
    return Ok{};
  }

  void NumberSteps() {
    for (std::size_t i = 0; i < setup_.steps.size(); ++i) {
      setup_.steps[i].id = StepId(fmt::format("{}.{}", setup_.id.text(), i + 1));
      setup_.time_min += setup_.steps[i].time_min;
    }
  }

  // Waits for the last setup of its part.
  void AddHandShaping() {
    for (Setup& shaping : HandShaping(machine_, shop_)) {
      setup_ = std::move(shaping);
      setup_.number = static_cast<int>(plan_.setups.size()) + 1;
      setup_.id = SetupId(fmt::format("s{:02d}", setup_.number));
      for (auto at = plan_.setups.rbegin(); at != plan_.setups.rend() && setup_.waits_for.empty(); ++at) {
        if (at->parts.front().part == setup_.parts.front().part) setup_.waits_for = {at->id};
      }
      NumberSteps();
      plan_.setups.push_back(std::move(setup_));
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
    return setups_->WholeTrial({before.stays_on, before.pinned}, [&] {
      std::optional<Setup> whole = WholeTrial(machine_, shop_, subjects_, before);
      if (whole) Strip(*whole);
      return whole;
    });
  }

  // Waits for the last setup of every part.
  void AddWholeTrial() {
    std::optional<Setup> whole = MakeWholeTrial();
    if (!whole) return;
    setup_ = std::move(*whole);
    setup_.number = static_cast<int>(plan_.setups.size()) + 1;
    setup_.id = SetupId(fmt::format("s{:02d}", setup_.number));
    std::vector<PartId> seen;
    for (auto at = plan_.setups.rbegin(); at != plan_.setups.rend(); ++at) {
      const PartId& part = at->parts.front().part;
      if (std::find(seen.begin(), seen.end(), part) != seen.end()) continue;
      seen.push_back(part);
      setup_.waits_for.insert(setup_.waits_for.begin(), at->id);
    }
    NumberSteps();
    plan_.setups.push_back(std::move(setup_));
  }

  // Alike parts go through the setup one after the other; only the device is put up once.
  void RepeatForCopies(const SetupSketch& sketch) {
    const PartUse* use = machine_.FindUse(sketch.part);
    const int copies = use == nullptr ? 1 : use->quantity;
    if (copies < 2 || !sketch.mates.empty()) return;
    setup_.time_min += (copies - 1) * (setup_.time_min - mount_min_);
    setup_.leave_it_in.push_back(
        sketch.part_off ? fmt::format("{} alike: when one is parted off, draw the bar out and do every step again.", copies)
                        : fmt::format("{} alike: do every step of this page for each before anything is changed.", copies));
  }

  double PartedAt_S_mm(const SetupSketch& sketch) const {
    const Feature& face = *pieces_.at(sketch.part).part->Find(*sketch.part_off);
    const double at_P = std::get<PlanarFace>(face.shape).at.middle_mm() + sketch.part_off_leave_mm;
    return -at_P - sketch.up_P.dot(setup_.parts.front().X_PS.translation());
  }

  CutContext Context(const SetupSketch& sketch) const {
    CutContext context;
    context.shop = &shop_;
    context.memo = memo_;
    context.machine = shop_.Find(sketch.machine);
    context.holding = sketch.holding;
    context.clearance_below_mm = clearance_below_mm_;
    for (const FixtureSolid& fixture : setup_.fixtures) {
      const auto* ring = std::get_if<FixtureCylinder>(&fixture.shape);
      if (ring == nullptr || fixture.role == FixtureRole::kTailstock) continue;
      if (fixture.role == FixtureRole::kMandrel && fixture.grips) continue;
      context.jaws_S_mm = std::max(context.jaws_S_mm.value_or(ring->to_mm), ring->to_mm);
    }
    context.vise = RoomInVise(setup_);
    context.centred = sketch.support && sketch.centre;
    context.set_over_mm = setup_.tailstock_over_mm;
    if (context.machine->kind == MachineToolKind::kLathe && IsHeldShortOnFinished(setup_)) context.most_depth_mm = kLightCut_mm;
    if (sketch.part_off) context.parted_S_mm = PartedAt_S_mm(sketch);
    context.made = &pieces_.at(sketch.part).made;
    for (const PartPose& pose : setup_.parts) {
      const PieceState& piece = pieces_.at(pose.part);
      PieceInSetup in;
      in.part = piece.part;
      in.X_PS = pose.X_PS;
      in.piece_S = BoxInSetup(piece, pose.X_PS);
      for (const Band& band : piece.bands) {
        in.bar_diameter_mm = std::max(in.bar_diameter_mm, band.diameter_mm);
        const Axis3& axis = piece.part->turning_axis_P;
        const auto z_S = [&](double along) { return (pose.X_PS.inverse() * Vec3(axis.point_mm + axis.direction * along)).z(); };
        if (std::abs((pose.X_PS.linear().transpose() * axis.direction).z()) < 1 - 1e-9) continue;
        const auto [low, high] = std::minmax({z_S(band.from_mm), z_S(band.to_mm)});
        in.rounds_S.push_back({low, high, band.diameter_mm});
      }
      context.pieces.push_back(in);
    }
    return context;
  }

  Status Take(Result<CutResult> result) {
    if (!result) return Unexpected(result.error());
    for (Step& step : result->steps) setup_.steps.push_back(std::move(step));
    for (const BuyLine& line : result->missing) AddBuy(plan_, line);
    for (const std::string& warning : result->warnings) AddWarning(warning);
    return Ok{};
  }

  void NameCarried(const FeatureRef& ref, std::size_t from) {
    const Part& part = *machine_.FindPart(ref.part);
    for (std::size_t i = setup_.steps.size(); i-- > from;) {
      if (!setup_.steps[i].finishes) continue;
      for (const FeatureId& id : CarriedFaces(part, *part.Find(ref.feature))) {
        if (IsCarried(part, *part.Find(id)) && !pieces_.at(ref.part).IsMade(id)) {
          setup_.steps[i].features.push_back({ref.part, id});
        }
      }
      return;
    }
  }

  // Limits that what was read of other sizes leaves this one.
  void WorkToWindow(const FeatureRef& ref, std::size_t from) {
    const auto own = strategy_.own_aims.find(ref);
    if (own == strategy_.own_aims.end() || !own->second.window) return;
    const Window& window = *own->second.window;
    for (std::size_t i = from; i < setup_.steps.size(); ++i) {
      Step& step = setup_.steps[i];
      if (!step.aim || step.aim->kind != AimKind::kBringToSize) continue;
      step.aim->lower_mm = window.lower_mm;
      step.aim->upper_mm = window.upper_mm;
      if (!step.measure) continue;
      step.measure->lower_mm = window.lower_mm;
      step.measure->upper_mm = window.upper_mm;
    }
  }

  void SayLengthToSuit(const FeatureRef& ref, std::size_t from) {
    for (const SuitPair& pair : subjects_.suits) {
      for (std::size_t i = from; pair.closes && pair.shaft == ref && i < setup_.steps.size(); ++i) {
        Step& step = setup_.steps[i];
        if (step.aim && step.aim->closes == pair.requirement) SayClosing(machine_, shop_, pair, step);
      }
      if (!pair.closes || pair.shaft != ref || wanted_.empty()) continue;
      const bool made = std::any_of(setup_.steps.begin() + static_cast<std::ptrdiff_t>(from), setup_.steps.end(),
                                    [&](const Step& step) { return step.aim && step.aim->closes == pair.requirement; });
      if (!made) continue;
      for (Step& step : ProveClosing(machine_, shop_, pair)) setup_.steps.push_back(std::move(step));
    }
  }

  // What the builder wrote beside the feature, where it is finished.
  void SayNote(const FeatureRef& ref, std::size_t from) {
    const std::string& note = machine_.Find(ref)->note;
    if (note.empty()) return;
    for (std::size_t i = setup_.steps.size(); i-- > from;) {
      if (!setup_.steps[i].finishes) continue;
      setup_.steps[i].words += NoteBeside(ref, note);
      return;
    }
  }

  // Words that no plan can read, and what the step makes of them.
  std::string NoteBeside(const FeatureRef& ref, const std::string& note) const {
    const SuitPair* to_limits = nullptr;  // the first fit that it is not made to
    for (const SuitPair& pair : subjects_.suits) {
      if (pair.shaft != ref || pair.closes) continue;
      if (strategy_.suits.at(pair.requirement) == Technique::kFitToMeasured) return NoteFollowed(pair, note);
      if (to_limits == nullptr) to_limits = &pair;
    }
    if (to_limits == nullptr) {
      return fmt::format(" Your sheet: \"{}\" (the plan does not read that; the figures here are the drawing's).", note);
    }
    return fmt::format(" Your sheet: \"{}\". This step works to limits of its own; to have it made to suit, pin in choices.toml: technique {} = fit_to_measured.",
                       note, to_limits->requirement.text());
  }

  // An aim off the middle of the fit is another figure than a builder writes down.
  std::string NoteFollowed(const SuitPair& pair, const std::string& note) const {
    const std::string words = fmt::format(" Made to suit what was measured, for {}, as you noted (\"{}\")", pair.requirement.text(), note);
    const auto share = strategy_.aim_share.find(pair.requirement);
    if (pair.faces || share == strategy_.aim_share.end() || share->second >= 0.5) return words + ".";
    const double nearer_mm = (0.5 - share->second) * (pair.upper_mm - pair.lower_mm);
    return words + fmt::format("; aimed {:.3f} mm nearer the tight end than the middle of its limits, for what is too tight is cut again and what is too "
                               "loose is scrap.", nearer_mm);
  }

  Status CutAll(const SetupSketch& sketch) {
    for (const FeatureId& id : sketch.cuts) {
      const FeatureRef ref{sketch.part, id};
      CutRequest request = RequestFor({machine_, shop_, subjects_, strategy_, plan_}, ref);
      request.true_first = std::find(sketch.bored_true.begin(), sketch.bored_true.end(), id) != sketch.bored_true.end();
      if (sketch.on_marks) request.technique = sketch.way;
      const auto leave = sketch.leave_mm.find(id);
      if (leave != sketch.leave_mm.end()) {
        request.leave_mm = leave->second;
        setup_.leave_it_in.push_back(fmt::format("{} stays {:.1f} mm over size: it is finished in a later setup.", id.text(), leave->second));
      }
      const std::size_t from = setup_.steps.size();
      const Status taken = Take(MakeCutAsPinned(Context(sketch), request, pins_));
      if (!taken) return taken;
      WorkToWindow(ref, from);
      SayLengthToSuit(ref, from);
      SetHeightByTheSum(machine_, subjects_, strategy_, ref, from, setup_);
      NameCarried(ref, from);
      SayNote(ref, from);
      SayBoresSquare(machine_, shop_, pieces_.at(ref.part), ref, from, setup_);
      ApplyCut(pieces_.at(sketch.part), *machine_.Find(ref), sketch.up_P, request.leave_mm);
    }
    if (shop_.Find(sketch.machine)->kind == MachineToolKind::kLathe) OrderInLathe(*machine_.FindPart(sketch.part), setup_);
    if (sketch.centre && !sketch.support) {
      if (const Status taken = Take(MakeCentre(Context(sketch), *shop_.Find(*sketch.centre))); !taken) return taken;
    }
    if (!sketch.part_off) return Ok{};
    PieceState& piece = pieces_.at(sketch.part);
    const Feature& face = *piece.part->Find(*sketch.part_off);
    const Status taken = Take(MakePartOffAsPinned(Context(sketch), sketch.part, PartedAt_S_mm(sketch), pins_));
    if (!taken) return taken;
    if (sketch.part_off_leave_mm == 0 && !setup_.steps.empty()) {
      Step& step = setup_.steps.back();
      step.features = {{sketch.part, face.name}};
      step.finishes = true;
      step.words += fmt::format(" {} stays as parted: rub it flat on fine abrasive paper on a plate, wash it.", face.name.text());
      step.time_min += 2;
    }
    ApplyPartOff(piece, face, sketch.part_off_leave_mm);
    return Ok{};
  }

  Step AssemblyStep(const SetupSketch& sketch, Operation operation, const std::string& words, double minutes) const {
    Step step;
    step.operation = operation;
    step.parts = sketch.mates;
    step.joints = sketch.joints;
    step.time_min = minutes;
    step.words = words;
    return step;
  }

  int ScrewsOf(const SetupSketch& sketch) const {
    int screws = 0;
    for (const PatternJoint& pattern : subjects_.patterns) {
      if (std::find(sketch.joints.begin(), sketch.joints.end(), pattern.joint) != sketch.joints.end()) screws += pattern.count;
    }
    return screws;
  }

  std::string MateNames(const SetupSketch& sketch) const {
    std::string names;
    for (std::size_t i = 0; i < sketch.mates.size(); ++i) {
      if (i > 0) names += i + 1 == sketch.mates.size() ? " and " : ", ";
      names += sketch.mates[i].text();
    }
    return names;
  }

  // Where along the part its mates stand, one after the other.
  std::string EndsOfMates(const SetupSketch& sketch) const {
    std::string words;
    for (const FlushPair& pair : subjects_.flush) {
      const bool here = pair.main_face.part == sketch.part &&
                        std::find(sketch.together.begin(), sketch.together.end(), pair.face) != sketch.together.end();
      if (here) words += fmt::format(", {} with {}", pair.face.part.text(), SidewaysWords(machine_, pair));
    }
    return words;
  }

  Status CutTogether(const SetupSketch& sketch) {
    const double minutes = static_cast<double>(sketch.mates.size()) * shop_.times.assemble_place +
                           ScrewsOf(sketch) * shop_.times.assemble_screw;
    setup_.steps.push_back(AssemblyStep(sketch, Operation::kAssemble,
                                        fmt::format("Screw {} to {}{}, a straight edge over the faces that are cut next: each must have "
                                                    "something to come off. Leave them on: they are cut as one. What else was tried on it "
                                                    "comes off first.",
                                                    MateNames(sketch), sketch.part.text(), EndsOfMates(sketch)),
                                        minutes));
    CutRequest request;
    request.features = sketch.together;
    request.technique = Technique::kMachineTogether;
    const Status taken = Take(MakeCutAsPinned(Context(sketch), request, pins_));
    if (!taken) return taken;
    for (const FeatureRef& ref : sketch.together) {
      const Feature& face = *machine_.Find(ref);
      ApplyCut(pieces_.at(ref.part), face, std::get<PlanarFace>(face.shape).normal_P, 0);
    }
    setup_.leave_it_in.push_back("Do not take the parts apart after this cut; if it must be, dowel them or set them on a plate again.");
    return Ok{};
  }

  const Joint* JointOf(const SetupSketch& sketch, JointKind kind) const {
    for (const Joint& joint : machine_.joints) {
      const bool here = std::find(sketch.joints.begin(), sketch.joints.end(), joint.name) != sketch.joints.end();
      if (here && joint.kind == kind) return &joint;
    }
    return nullptr;
  }

  // How the parts are brought together before the holes go through both.
  std::string JoinWords(const SetupSketch& sketch) const {
    const std::string mate = sketch.drilled[0].part == sketch.part ? sketch.drilled[1].part.text() : sketch.drilled[0].part.text();
    if (sketch.comes_bonded) return fmt::format("It comes bonded and cured: {} on {}.", MateNames(sketch), sketch.part.text());
    if (const Joint* bonded = JointOf(sketch, JointKind::kBonded)) {
      return fmt::format("Before it goes into the vise bond {} to {} ({}): both clean and dry, at the place and turned the way the drawing has it. Let it cure for "
                         "{:.0f} min before anything is drilled.",
                         mate, sketch.part.text(), bonded->compound, bonded->cure_min);
    }
    if (JointOf(sketch, JointKind::kPressFit) != nullptr) return fmt::format("Before it goes into the vise press {} and {} together, turned the way the drawing has it.", mate, sketch.part.text());
    if (sketch.way == Technique::kBoreInLine) {
      return fmt::format("Put {} on {}, dowels in where there are any, every screw tight, a mark on both.", mate, sketch.part.text());
    }
    if (sketch.way == Technique::kReamDowels) {
      return fmt::format("Screw {} to {}, all screws in, just nipped. Tap it to where the drawing has it, by the indicator or on a plate, "
                         "then tighten in turns and look again: the dowels keep what is there now. Mark both.",
                         mate, sketch.part.text());
    }
    return fmt::format("Put {} on {} where the drawing has it and clamp the two together clear of the holes, burrs off between them. Mark "
                       "both, so that they go together the same way round again.",
                       mate, sketch.part.text());
  }

  Status PutMatesOn(const SetupSketch& sketch) {
    SetupSketch coming = sketch;
    std::erase_if(coming.mates, [&](const PartId& mate) {
      return std::find(sketch.on_already.begin(), sketch.on_already.end(), mate) != sketch.on_already.end();
    });
    const double minutes = sketch.comes_bonded ? 0 : shop_.times.assemble_place + ScrewsOf(sketch) * shop_.times.assemble_screw;
    if (!coming.mates.empty()) setup_.steps.push_back(AssemblyStep(coming, Operation::kAssemble, JoinWords(sketch), minutes));
    return Ok{};
  }

  // The mates on, then each hole through all of them in one go.
  Status CutThroughBoth(const SetupSketch& sketch) {
    if (const Status on = PutMatesOn(sketch); !on) return on;
    CutRequest request = RequestFor({machine_, shop_, subjects_, strategy_, plan_}, sketch.drilled.front());
    request.features = sketch.drilled;
    request.technique = sketch.way;
    CutContext context = Context(sketch);
    context.made = &pieces_.at(sketch.drilled.front().part).made;
    const std::size_t from = setup_.steps.size();
    if (const Status taken = Take(MakeCutAsPinned(context, request, pins_)); !taken) return taken;
    for (std::size_t i = from; i < setup_.steps.size(); ++i) {
      Step& step = setup_.steps[i];
      if (step.operation == Operation::kSpot) {
        step.features = {sketch.drilled.front()};
        step.finishes = false;
      } else {
        for (const FeatureRef& ref : sketch.drilled) step.parts.push_back(ref.part);
        step.words += fmt::format(" Through {} into {} in one go, nothing moved in between.", sketch.drilled[0].part.text(),
                                  sketch.drilled[1].part.text());
      }
    }
    for (const FeatureRef& ref : sketch.drilled) {
      const Feature& feature = *machine_.Find(ref);
      ApplyCut(pieces_.at(ref.part), feature, -std::get<Hole>(feature.shape).into_P, 0);
    }
    if (sketch.bare_mm > 0) setup_.leave_it_in.push_back(fmt::format("Over the jaws, clear of them: {}.", MateNames(sketch)));
    SayAfter(sketch);
    return Ok{};
  }

  void SayAfter(const SetupSketch& sketch) {
    const bool bores = sketch.way == Technique::kBoreInLine;
    if (sketch.take_apart) {
      const std::string words = bores ? fmt::format("Draw the dowels and take {} off.", MateNames(sketch))
                                      : fmt::format("Take {} off, take the burrs off between the two and wash the holes. Press each pin into "
                                                    "one of the parts; it goes into the other by hand or by light taps.",
                                                    MateNames(sketch));
      setup_.steps.push_back(AssemblyStep(sketch, Operation::kTakeApart, words, 1.0));
    } else {
      setup_.leave_it_in.push_back(bores ? "Do not take them apart: without dowels the bores do not come back in line."
                                         : "They stay together from now on.");
    }
  }

  // Spot, drill and tap the `first` holes, screw the mate down by them, then the rest.
  Status CutThrough(const SetupSketch& sketch) {
    const FeatureRef ref{sketch.part, sketch.cuts.front()};
    const int count = static_cast<int>(std::get<Hole>(machine_.Find(ref)->shape).entries_P_mm.size());
    std::vector<std::vector<int>> groups;
    std::vector<int> rest;
    std::vector<int> early;
    if (sketch.first >= 1) early.push_back(0);
    if (sketch.first >= 2 && count > 1) early.push_back(count / 2);
    for (const int hole : early) groups.push_back({hole});
    for (int i = 0; i < count; ++i) {
      if (std::find(early.begin(), early.end(), i) == early.end()) rest.push_back(i);
    }
    if (!rest.empty()) groups.push_back(rest);
    int screws = 0;
    for (const std::vector<int>& group : groups) {
      const Status cut = CutGroup(sketch, ref, group, screws, group == groups.back());
      if (!cut) return cut;
      screws += static_cast<int>(group.size());
    }
    ApplyCut(pieces_.at(sketch.part), *machine_.Find(ref), sketch.up_P, 0);
    return Ok{};
  }

  // How the mate finds its place: a spigot, else the faces that must come flush.
  std::string PlacedBy(const SetupSketch& sketch) const {
    for (const FlushPair& pair : subjects_.flush) {
      const bool between = std::find(sketch.mates.begin(), sketch.mates.end(), pair.face.part) != sketch.mates.end() &&
                           pair.main_face.part == sketch.part;
      if (between) {
        return fmt::format("with {} and {} against one straight parallel, {}, ", pair.face.feature.text() + " of the one",
                           pair.main_face.feature.text() + " of the other", SidewaysWords(machine_, pair));
      }
    }
    for (const PatternJoint& pattern : subjects_.patterns) {
      const bool here = std::find(sketch.joints.begin(), sketch.joints.end(), pattern.joint) != sketch.joints.end();
      if (here && pattern.located) return "in its spigot, turned to where the drawing has it, ";
    }
    return "where the drawing has it, by scribed lines, ";
  }

  // Pointed screws in the threads, the mate dropped on them square.
  Status MarkByPoints(const SetupSketch& sketch) {
    setup_.steps.push_back(AssemblyStep(
        sketch, Operation::kAssemble,
        fmt::format("Screw a pointed transfer screw into each thread of {}, all points one height, standing a millimetre or two out. Lower {} on "
                    "them square {}and do not let it slide. Mark both, so that they go together the same way round again.",
                    sketch.part.text(), MateNames(sketch), PlacedBy(sketch)),
        shop_.times.assemble_place + ScrewsOf(sketch) * shop_.times.assemble_screw));
    CutRequest request;
    request.features = {*sketch.marks};
    request.technique = sketch.way;
    request.through = sketch.through;
    if (const Status taken = Take(MakeCutAsPinned(Context(sketch), request, pins_)); !taken) return taken;
    setup_.steps.push_back(AssemblyStep(sketch, Operation::kTakeApart, fmt::format("Lift {} off, take the points out.", MateNames(sketch)), 0.5));
    return Ok{};
  }

  Status CutGroup(const SetupSketch& sketch, const FeatureRef& ref, const std::vector<int>& group, int screws, bool last) {
    const std::string held_by = screws == 0 ? "clamp it clear of the holes" : fmt::format("screw it down by {}", screws);
    setup_.steps.push_back(AssemblyStep(sketch, Operation::kAssemble,
                                        fmt::format("Put {} on {} {}and {}. Mark both, so that they go together the same way round "
                                                    "again.",
                                                    MateNames(sketch), sketch.part.text(), PlacedBy(sketch), held_by),
                                        shop_.times.assemble_place + screws * shop_.times.assemble_screw));
    CutRequest request;
    request.features = {ref};
    request.holes = group;
    request.technique = sketch.way;
    request.through = sketch.through;
    Result<CutResult> result = MakeCutAsPinned(Context(sketch), request, pins_);
    if (!result) return Unexpected(result.error());
    bool on = true;
    for (Step& step : result->steps) {
      if (on && step.operation != Operation::kSpotThrough) {
        setup_.steps.push_back(AssemblyStep(sketch, Operation::kTakeApart, fmt::format("Take {} off.", MateNames(sketch)), 0.5));
        on = false;
      }
      if (!last) step.finishes = false;
      setup_.steps.push_back(std::move(step));
    }
    for (const BuyLine& line : result->missing) AddBuy(plan_, line);
    for (const std::string& warning : result->warnings) AddWarning(warning);
    return Ok{};
  }

  void AddDeburr(const SetupSketch& sketch) {
    Step step;
    step.operation = Operation::kDeburr;
    step.time_min = shop_.times.deburr_feature * static_cast<double>(std::max<std::size_t>(1, sketch.cuts.size()));
    step.words = DeburrWords(setup_);
    // What is parted off cannot be held again so easily.
    const bool before_parting = IsPartedOff(setup_) && setup_.steps.size() > 1;
    setup_.steps.insert(setup_.steps.end() - (before_parting ? 1 : 0), step);
  }

  // Not only drilled and reamed, which follows the drill.
  bool IsBoredHere(const FeatureRef& bore) const {
    return std::any_of(setup_.steps.begin(), setup_.steps.end(), [&](const Step& step) {
      return step.operation == Operation::kBore && std::find(step.features.begin(), step.features.end(), bore) != step.features.end();
    });
  }

  void AddReasons(const SetupSketch& sketch) {
    const Part& part = *machine_.FindPart(sketch.part);
    std::optional<FeatureId> face;
    std::optional<FeatureId> bore;
    for (const FeatureId& id : sketch.cuts) {
      const Feature& feature = *part.Find(id);
      if (std::holds_alternative<PlanarFace>(feature.shape) && !face) face = id;
      const auto* hole = std::get_if<Hole>(&feature.shape);
      if (hole != nullptr && hole->use == HoleUse::kBore && !bore) bore = id;
    }
    if (face && bore) {
      setup_.reasons.push_back(fmt::format("{} and {} are cut without moving the piece, {}: mark this face, it is the one to seat on.", face->text(), bore->text(),
                                           IsBoredHere({sketch.part, *bore}) ? "so that the bore is square to the face"
                                                                              : "so that the bore is as square to the face as its drill ran, no squarer"));
    }
    if (sketch.through) {
      setup_.reasons.push_back(fmt::format("The holes are taken from {} itself, so they need not be measured.", sketch.through->part.text()));
    }
    if (!sketch.drilled.empty()) {
      setup_.reasons.push_back("One setting for both leaves the holes in line, whatever each part's own place is off.");
    }
    if (!sketch.together.empty()) {
      setup_.reasons.push_back("One cut over all of them leaves no step, whatever the screws' play was.");
    }
  }

  void AddWarning(const std::string& text) {
    if (std::find(plan_.warnings.begin(), plan_.warnings.end(), text) == plan_.warnings.end()) plan_.warnings.push_back(text);
  }

  const Machine& machine_;
  const Shop& shop_;
  const Subjects& subjects_;
  const Strategy& strategy_;
  const std::vector<Pin>& pins_;
  CutMemo* memo_;
  SetupMemo* setups_;
  std::map<PartId, std::shared_ptr<const MadeSetup>> made_;  // recalled: the last setup of each part
  std::vector<std::uint64_t> histories_;
  PieceStates pieces_;
  WantedOfParts wanted_;  // empty: no measuring beside the cuts' own
  Plan plan_;
  Setup setup_;
  double mount_min_ = 0;  // minutes of this setup that put the device up
  double clearance_below_mm_ = 0;
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
  return PlanToJudge{*std::move(plan), builder.TakeHistories()};
}

}  // namespace fitwright::planner
