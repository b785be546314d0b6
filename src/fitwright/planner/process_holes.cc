// Holes: drilled, reamed, counterbored, tapped. Bores by single point are in process_bores.cc.
#include <algorithm>
#include <cmath>

#include "fitwright/planner/process_common.h"

namespace fitwright::planner {
namespace {

constexpr double kLeastUnderReamer = 0.82;  // of its diameter: what it finds open where no drill went
constexpr double kLeastRunOut_mm = 0.2;
constexpr double kChipRoom_mm = 0.5;  // under a tap in a blind hole

// A drill, reamer or counterbore makes its own size: it cannot be brought nearer by measuring.
std::optional<Aim> FixedToolAim(const Job& job, const Size& size) {
  if (job.request.leave_mm > 0) return std::nullopt;
  Aim aim;
  aim.target_mm = size.middle_mm();
  aim.lower_mm = size.lower_mm;
  aim.upper_mm = size.upper_mm;
  return aim;
}

Status AddTap(Job& job, const HoleCut& cut) {
  const InternalThread& thread = *cut.hole->thread;
  const double room_mm = cut.through ? 1e9 : cut.depth_mm;
  const auto right = [&](const Tool& t) {
    return t.thread == thread.designation && t.flute_mm + kZone_mm >= thread.depth_mm;
  };
  // The longest lead that still leaves room for chips starts easiest; else the shortest.
  const Tool* tap = FindTool(
      job.shop(), job.machine(), ToolKind::kTap,
      [&](const Tool& t) {
        return right(t) && thread.depth_mm + t.tip_flat_mm + kChipRoom_mm <= room_mm;
      },
      [](const Tool& t) { return -t.tip_flat_mm; });
  const bool roomy = tap != nullptr;
  if (!roomy)
    tap = FindTool(job.shop(), job.machine(), ToolKind::kTap, right,
                   [](const Tool& t) { return t.tip_flat_mm; });
  if (tap == nullptr && job.lathe() && cut.places.size() == 1) {
    const Result<bool> turned = ThreadInside(job, cut);
    if (!turned) return Unexpected(turned.error());
    if (*turned) return Ok{};
  }
  if (tap == nullptr) {
    job.result.missing.push_back(
        {thread.designation + " taps, second and plug", 1, "for " + job.ref.text()});
    return NoPlan(job,
                  fmt::format("the shop has no {} tap that reaches {} mm", thread.designation,
                              Num(thread.depth_mm)),
                  "buy " + thread.designation + " taps");
  }
  if (thread.depth_mm + tap->tip_flat_mm > room_mm + kZone_mm) {
    return NoPlan(job,
                  fmt::format("{} {} deep and the lead of the {} ({} mm) do not fit a hole {} deep",
                              thread.designation, Num(thread.depth_mm), tap->words,
                              Num(tap->tip_flat_mm), Num(cut.depth_mm)),
                  "drill deeper or ask for less thread");
  }
  if (!roomy) {
    job.result.warnings.push_back(fmt::format(
        "{}: thread {} deep in a hole {} deep leaves no room for chips; clear it often.",
        job.ref.text(), Num(thread.depth_mm), Num(cut.depth_mm)));
  }
  Step& step = AddStep(job, Operation::kTap, *tap, {});
  step.depth_mm = thread.depth_mm;
  step.levels_mm = {thread.depth_mm};
  const double tip =
      thread.depth_mm + tap->tip_flat_mm + (cut.through ? std::min(cut.run_out_mm, kRunOut_mm) : 0);
  if (const Status s = AddPlunges(job, step, *tap, cut, tip); !s) return s;
  const std::string which = CountWords(cut.places.size());
  step.words = fmt::format(
      "Tap {}{} {} deep, the tap started true in the spindle, turned by hand, backed off every "
      "half turn.",
      which.empty() ? "" : "the " + which + " ", thread.designation, Num(thread.depth_mm));
  if (tap->words.find("plug") != std::string::npos)
    step.words += cut.through ? " Start with the second tap, end with the plug tap."
                              : " Start with the second tap; hook the chips out of the hole, then end with the plug tap.";
  step.caution = "Spindle stopped, drive out of gear; a drop of tapping oil.";
  const double each = 0.8 + 0.08 * thread.depth_mm / std::max(0.2, thread.pitch_mm);
  SetMinutes(job, step, each * static_cast<double>(cut.places.size()),
             job.shop().times.move_to_hole * static_cast<double>(cut.places.size()));
  return Ok{};
}

Status AddReam(Job& job, const HoleCut& cut) {
  const Size& size = cut.hole->diameter;
  const Tool* reamer = FindReamer(job.shop(), job.machine(), size.nominal_mm, size.fit,
                                  size.lower_mm, size.upper_mm);
  const double tip = cut.depth_mm + cut.run_out_mm;
  const Reach reach{0, ReachFor(job, cut, tip).out_mm};
  if (!LongEnough(*reamer, reach)) {
    return NoPlan(job, fmt::format("the {} is too short: {} mm out of the chuck are wanted",
                                   reamer->words, Num(reach.out_mm)));
  }
  const auto settings = Settings(job, *reamer, {trade::CutKind::kReam, reamer->diameter_mm});
  if (!settings) return Unexpected(settings.error());
  Step& step = AddStep(job, Operation::kReam, *reamer, *settings);
  step.depth_mm = tip;
  step.levels_mm = {tip};
  if (const Status s = AddPlunges(job, step, *reamer, cut, tip, cut.diameter_mm); !s) return s;
  step.aim = FixedToolAim(job, size);
  step.words = fmt::format("Ream {} slowly and with oil, in and out without stopping, {}.", HolesWords(job, cut),
                           DepthWords(cut, cut.depth_mm + cut.run_out_mm));
  if (!cut.through || cut.blind_for_now)
    step.words += " A machine reamer: a hand reamer's long lead is not full at that depth.";
  step.caution = "Never turn a reamer backwards; try it in an offcut first.";
  SetMinutes(job, step, 2 * tip / settings->feed_mm_min * static_cast<double>(cut.places.size()),
             job.shop().times.move_to_hole * static_cast<double>(cut.places.size()));
  SetMeasure(
      job, step,
      {{InstrumentKind::kCaliper, InstrumentKind::kTelescopicGauge, InstrumentKind::kBoreGauge},
       size.nominal_mm,
       size.lower_mm,
       size.upper_mm,
       ""});
  return Ok{};
}

Status CutReamed(Job& job, const HoleCut& cut) {
  const double left = trade::ReamingAllowance_mm(cut.diameter_mm);
  const Reach reach = ReachFor(job, cut, cut.depth_mm);
  const bool trued = job.request.true_first && job.lathe() && cut.through;
  const Tool* drill =
      trued ? FindLargestDrill(job.shop(), job.machine(), cut.diameter_mm - left - kLeastBoring_mm, reach)
            : FindDrillWithin(job.shop(), job.machine(), cut.diameter_mm - left, cut.diameter_mm - 3 * left,
                              cut.diameter_mm - 0.4 * left, 0, reach);
  if (drill == nullptr) {
    const auto want = Num(cut.diameter_mm - left);
    return NoPlan(job, fmt::format("no drill near {} mm for the reamer to follow", want),
                  "buy a " + want + " mm drill");
  }
  HoleCut rough = cut;
  if (!cut.through && cut.hole->bottom != HoleBottom::kFlat) {
    return NoPlan(job,
                  "a reamer cannot leave the drilled cone at the bottom of a blind hole as drawn",
                  "draw it through, or flat at the bottom");
  }
  if (!cut.through) {
    const double point = trade::DrillPointLength_mm(drill->diameter_mm, drill->point_deg);
    rough.depth_mm = cut.depth_mm - point - kLeastRunOut_mm;
    if (rough.depth_mm <= 0) return NoPlan(job, "too shallow for a drill before the reamer");
  }
  rough.run_out_mm += ChipRoom_mm(job, rough, *drill);
  const auto tip = DrillTipDepth(job, rough, drill->diameter_mm, drill->point_deg);
  if (!tip) return Unexpected(tip.error());
  if (!LongEnough(*drill, ReachFor(job, cut, *tip))) {
    return NoPlan(job, fmt::format("the {} is too short to come out below, {} mm down", drill->words, Num(*tip)),
                  "a longer drill, or draw the hole blind");
  }
  if (OpenedDiameter(job, cut) == 0) {
    if (const Status s = AddSpot(job, cut, drill->diameter_mm); !s) return s;
  }
  if (const Status s = AddDrills(job, rough, *drill, 0, *tip); !s) return s;
  if (trued) {
    if (const Status s = TrueBeforeReaming(job, cut, drill->diameter_mm, cut.diameter_mm - left); !s) return s;
  }
  if (!cut.through) {
    const double least = rough.depth_mm > 0.5 * cut.depth_mm ? 0.5 : kLeastUnderReamer;
    const Tool* mill = FindMill(job.shop(), job.machine(), least * cut.diameter_mm,
                                cut.diameter_mm - 0.1, true, ReachFor(job, cut, cut.depth_mm));
    if (mill == nullptr)
      return NoPlan(job, "no centre-cutting cutter to flatten the bottom before reaming");
    const auto settings = Settings(job, *mill, {trade::CutKind::kCounterbore, mill->diameter_mm});
    if (!settings) return Unexpected(settings.error());
    Step& step = AddStep(job, Operation::kMill, *mill, *settings);
    step.depth_mm = cut.depth_mm;
    step.levels_mm = {cut.depth_mm};
    if (const Status s = AddPlunges(job, step, *mill, cut, cut.depth_mm); !s) return s;
    step.words = fmt::format("Flatten the bottom {} deep.", Num(cut.depth_mm));
    SetMinutes(job, step, 0.5 * static_cast<double>(cut.places.size()));
  }
  return AddReam(job, cut);
}

Status CutFlat(Job& job, const HoleCut& cut, HoleWay way) {
  const Reach reach = ReachFor(job, cut, cut.depth_mm);
  const Tool* tool = way == HoleWay::kFlatMill
                         ? FindPlungeMill(job.shop(), job.machine(), cut.diameter_mm, reach)
                         : FindTool(
                               job.shop(), job.machine(), ToolKind::kCounterbore,
                               [&](const Tool& t) {
                                 return std::abs(t.diameter_mm - cut.diameter_mm) < kZone_mm &&
                                        LongEnough(t, reach);
                               },
                               [](const Tool&) { return 0.0; });
  if (tool == nullptr)
    return NoPlan(job, fmt::format("no {} mm flat cutter reaches {} mm", Num(cut.diameter_mm),
                                   Num(reach.out_mm)));
  const auto settings = Settings(job, *tool, {trade::CutKind::kCounterbore, tool->diameter_mm});
  if (!settings) return Unexpected(settings.error());
  Step& step = AddStep(job, Operation::kCounterbore, *tool, *settings);
  step.depth_mm = cut.depth_mm + cut.run_out_mm;
  step.levels_mm = {step.depth_mm};
  if (const Status s = AddPlunges(job, step, *tool, cut, step.depth_mm); !s) return s;
  step.aim = FixedToolAim(job, cut.hole->diameter);
  step.words = fmt::format("Sink {} {} deep with the {}.", HolesWords(job, cut), Num(cut.depth_mm),
                           tool->words);
  SetMinutes(job, step,
             step.depth_mm / settings->feed_mm_min * static_cast<double>(cut.places.size()),
             job.shop().times.move_to_hole * static_cast<double>(cut.places.size()));
  return Ok{};
}

Status CutDrilled(Job& job, const HoleCut& cut) {
  const bool exact_point = !cut.through;
  const double out_mm = cut.through ? cut.run_out_mm + trade::DrillPointLength_mm(cut.diameter_mm, trade::kUsualDrillPoint_deg) : 0;
  const Reach reach = ReachFor(job, cut, cut.depth_mm + out_mm);
  const Tool* drill = FindSizeDrill(job, *cut.hole, reach);
  if (drill == nullptr) drill = FindSizeDrill(job, *cut.hole, ReachFor(job, cut, cut.depth_mm));
  if (drill == nullptr) {
    return NoPlan(
        job,
        fmt::format("the {} mm drill is not long enough for {} mm{}: it must stand {} mm out of the chuck{}", Num(cut.diameter_mm),
                    Num(cut.depth_mm), exact_point ? "" : " and its run-out", Num(reach.out_mm),
                    reach.out_mm > cut.depth_mm + out_mm + 1 ? ", past what stands beside the hole" : ""),
        "buy a long drill of that size");
  }
  const bool same = std::abs(drill->diameter_mm - cut.diameter_mm) < kZone_mm;
  const auto tip = DrillTipDepth(job, cut, same ? drill->diameter_mm : cut.diameter_mm, drill->point_deg);
  if (!tip) return Unexpected(tip.error());
  if (!LongEnough(*drill, ReachFor(job, cut, *tip))) {
    return NoPlan(job,
                  fmt::format("the {} is too short: {} mm of flute, {} mm wanted", drill->words,
                              Num(drill->flute_mm), Num(*tip)),
                  "buy a long drill of that size");
  }
  if (job.request.technique != Technique::kSpotThrough && OpenedDiameter(job, cut) == 0) {
    if (const Status s = AddSpot(job, cut, drill->diameter_mm); !s) return s;
  }
  if (const Status s = AddDrills(job, cut, *drill, same ? 0 : cut.diameter_mm, *tip); !s) return s;
  if (!cut.hole->thread) job.result.steps.back().aim = FixedToolAim(job, cut.hole->diameter);
  return cut.hole->thread ? AddTap(job, cut) : Status(Ok{});
}

}  // namespace

Status CutHole(Job& job) {
  const auto cut = ReadHole(job);
  if (!cut) return Unexpected(cut.error());
  const HoleWay way = WayOf(job, job.feature, *cut->hole);
  switch (way) {
    case HoleWay::kDrill:
      return CutDrilled(job, *cut);
    case HoleWay::kReam:
      return CutReamed(job, *cut);
    case HoleWay::kFlatMill:
      return CutFlat(job, *cut, way);
    case HoleWay::kCounterboreTool:
      if (OpenedDiameter(job, *cut) == 0) {
        return NoPlan(job, "a counterbore follows its hole: the hole under it is not drilled yet",
                      "drill the hole first");
      }
      return CutFlat(job, *cut, way);
    case HoleWay::kBore:
      break;
  }
  return CutByBoring(job, *cut);
}

}  // namespace fitwright::planner
