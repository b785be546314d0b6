// Threads and knurls on the outside. Nothing of the blank is taken away in the solids.
#include <algorithm>
#include <cmath>

#include "fitwright/base/check.h"
#include "fitwright/planner/process_lathe.h"
#include "fitwright/trade/threads.h"

namespace fitwright::planner {
namespace {

constexpr double kThreading_rpm = 90;    // slow enough to stop by hand at the end (common practice)
constexpr double kThreadPass_mm = 0.12;  // of a pass, opinion
constexpr double kSamePitch_mm = 1e-6;
constexpr double kSameAngle_deg = 0.25;  // of a point and its thread: forms of the tables lie 5 degrees and more apart
constexpr double kLeastTurns = 2;        // that many at the end are cut on its lead chamfer
constexpr double kBlankUnder = 0.1;      // of the pitch: a blank that much under size cuts easier (opinion)
constexpr double kOffShoulder_mm = 0.2;  // of a die's face at the end of its first run (opinion)
constexpr double kKnurl_m_min = 15;      // rim speed, from memory
constexpr double kKnurlRaises = 0.25;    // of the pitch, on the diameter, opinion

struct Blank {
  Span span;       // of the outside that carries it
  double end = 0;  // where the thread begins, towards the tailstock
  double low = 0;  // where full thread ends
  double r = 0;
};

// Turned round, a die cuts full thread this share of its lead nearer to its face: about one turn of chamfer
// behind against two in front (from memory).
constexpr double kLeadBehind = 0.5;

// With the lead that it begins by, or with what is left of it when the die is turned round at the end.
const Tool* FindDie(const Job& job, const ExternalThread& thread, const Blank& blank, double lead) {
  return FindTool(
      job.shop(), job.machine(), ToolKind::kDie,
      [&](const Tool& t) {
        if (t.thread != thread.designation) return false;
        const double front = blank.low - lead * t.tip_flat_mm;
        // Die and holder pass over what lies below the thread, down to the shoulder.
        return OutsideAt(job, front + 0.01) <= 2 * blank.r + kZone_mm && front >= blank.span.low - kZone_mm &&
               ClearsJaws(job, front);
      },
      [](const Tool& t) { return t.tip_flat_mm; });
}

Status ThreadByDie(Job& job, const ExternalThread& thread, const Blank& blank, const Tool& die) {
  CutSettings by_hand;
  Step& step = AddStep(job, Operation::kThread, die, by_hand);
  step.depth_mm = thread.length_mm;
  step.levels_mm = {thread.length_mm};
  PathPiece piece;
  piece.kind = PathKind::kPlunge;
  piece.from_z_mm = blank.end + kApproach_mm;
  piece.points_S_mm = {Vec3(0, 0, blank.low - die.tip_flat_mm)};
  AddUnsweptPath(job, step, piece);
  step.words = fmt::format("Thread {} with the {} in the holder on the tailstock, {} of full thread: lathe stopped, chuck turned by "
                           "hand, backed off every half turn; open the die first, then close it until the nut goes on.",
                           thread.designation, die.words, Num(thread.length_mm));
  step.caution = "Die: no power; cutting oil; a bevel on the end starts it straight.";
  SetMinutes(job, step, 3 + thread.length_mm / 4);
  return Ok{};
}

// As far as the die goes lead first, then once more with its other face to the shoulder.
Status ThreadToShoulder(Job& job, const ExternalThread& thread, const Blank& blank, const Tool& die) {
  if (const Status first = ThreadByDie(job, thread, blank, die); !first) return first;
  Step& step = job.result.steps.back();
  const double room = blank.low - blank.span.low;
  step.path.front().points_S_mm.front().z() = blank.span.low + kOffShoulder_mm;
  step.coordinates.front().z_mm += job.machine().z_sense * (blank.span.low + kOffShoulder_mm - (blank.low - die.tip_flat_mm));
  PathPiece turned = step.path.front();
  turned.points_S_mm.front().z() = blank.low - kLeadBehind * die.tip_flat_mm;
  AddUnsweptPath(job, step, turned);
  step.coordinates.back().hole = "turned round";
  step.words += fmt::format(" The shoulder stands {} mm below the last full turn: run the die down until it nearly touches, take it off, turn it round in "
                            "its holder, run it on again by hand and cut the last turns with its other face, which has half the lead.",
                            Num(room));
  step.caution += " Stop short of the shoulder: a die that runs against it strips the thread.";
  SetMinutes(job, step, 5 + thread.length_mm / 4);
  return Ok{};
}

// The shape that a single point cuts, of the thread's own table.
struct Form {
  double angle_deg = 0;
  double depth_mm = 0;
  bool Fits(const Tool& point) const { return std::abs(point.point_deg - angle_deg) < kSameAngle_deg && point.reach_mm >= depth_mm; }
};

Form FormOf(const std::string& designation, bool inside) {
  const trade::ThreadRow* row = trade::FindThread(designation);
  FW_CHECK(row != nullptr, designation);
  return {trade::IncludedAngle_deg(*row), trade::PointDepth_mm(*row, inside)};
}

std::string PitchWords(const std::string& designation) {
  const trade::ThreadRow* row = trade::FindThread(designation);
  FW_CHECK(row != nullptr, designation);
  if (row->per_inch > 0) return fmt::format("{:g} threads to the inch", row->per_inch);
  return fmt::format("a pitch of {} mm", Num(row->pitch_mm));
}

Status ThreadByPoint(Job& job, const ExternalThread& thread, const Blank& blank, const Tool& tool) {
  const auto& pitches = job.machine().pitches_mm;
  if (std::none_of(pitches.begin(), pitches.end(), [&](double p) { return std::abs(p - thread.pitch_mm) < kSamePitch_mm; })) {
    return NoPlan(job, fmt::format("{} has no change wheels for a pitch of {}", job.machine().words, Num(thread.pitch_mm)),
                  fmt::format("buy a {} die", thread.designation));
  }
  CutSettings slow;
  slow.rpm = trade::StepAtOrBelow(job.machine().speeds_rpm, kThreading_rpm).value_or(job.machine().speeds_rpm.front());
  slow.feed_mm_min = slow.rpm * thread.pitch_mm;
  if (job.machine().feed_max_mm_min > 0 && slow.feed_mm_min > job.machine().feed_max_mm_min) {
    return NoPlan(job, "the slowest speed is too fast for so coarse a pitch", fmt::format("buy a {} die", thread.designation));
  }
  Step& step = AddStep(job, Operation::kThread, tool, slow);
  step.depth_mm = FormOf(thread.designation, false).depth_mm;
  step.levels_mm = PassLevels(step.depth_mm, kThreadPass_mm, 0.03);
  PathPiece piece;
  piece.kind = PathKind::kTurn;
  piece.points_S_mm = {Vec3(blank.r, 0, blank.end + 3 * thread.pitch_mm), Vec3(blank.r, 0, blank.low)};
  AddUnsweptPath(job, step, piece);
  step.words = fmt::format("Cut the {} thread with the {}: change wheels for {}, {} rpm, {} passes to {} deep, {} of full "
                           "thread; draw back, stop, run back by power, never open the nut.",
                           thread.designation, tool.words, PitchWords(thread.designation), Num(slow.rpm), step.levels_mm.size(),
                           Num(step.depth_mm), Num(thread.length_mm));
  step.caution = "The tool runs towards the shoulder: slowest speed, hand on the switch; try with the nut.";
  const double each = (thread.length_mm + 6 * thread.pitch_mm) / slow.feed_mm_min + 0.5;
  SetMinutes(job, step, static_cast<double>(step.levels_mm.size()) * each, 10);
  return Ok{};
}

// Its angle is the thread's, and there is room below the thread's end for its flank.
const Tool* FindPoint(const Job& job, const ExternalThread& thread, const Blank& blank) {
  const Form form = FormOf(thread.designation, false);
  return FindTool(
      job.shop(), job.machine(), ToolKind::kThreadingTool,
      [&](const Tool& t) {
        if (t.diameter_min_mm > 0 || !form.Fits(t)) return false;
        double below = 0;
        for (const Vec2& p : t.section_T_mm) below = std::min(below, p.y());
        for (double z = blank.low; z > blank.low + below; z -= 0.1) {
          if (OutsideAt(job, z) > 2 * blank.r + kZone_mm) return false;
        }
        return ClearsJaws(job, blank.low + below);
      },
      [](const Tool&) { return 0.0; });
}

}  // namespace

Status CutExternalThread(Job& job) {
  const auto& thread = std::get<ExternalThread>(job.feature.shape);
  const Feature* on = job.part().Find(thread.on);
  const auto* outer = on == nullptr ? nullptr : std::get_if<OuterDiameter>(&on->shape);
  if (outer == nullptr || !OnSpindle(job, outer->axis_P)) return NoPlan(job, "its axis is not the spindle's in this setup");
  Blank blank;
  blank.span = SpanInS(job, outer->axis_P, outer->from_mm, outer->to_mm);
  blank.end = job.ToS(outer->axis_P.point_mm + outer->axis_P.direction * (thread.at_start ? outer->from_mm : outer->to_mm)).z();
  if (blank.end < blank.span.high - kZone_mm) return NoPlan(job, "that end faces the headstock", "turn the part round");
  blank.low = blank.end - thread.length_mm;
  blank.r = outer->diameter.middle_mm() / 2;
  if (2 * blank.r > thread.major_mm + kBlankUnder || 2 * blank.r < 0.9 * thread.major_mm) {
    return NoPlan(job, fmt::format("its blank is {} across, not {}", Num(2 * blank.r), Num(thread.major_mm)),
                  "turn the blank to the thread's outside");
  }
  if (thread.length_mm <= kLeastTurns * thread.pitch_mm)
    return NoPlan(job, fmt::format("{} of full thread is no more than its lead", Num(thread.length_mm)), "ask for three turns or more");
  if (const Tool* die = FindDie(job, thread, blank, 1)) return ThreadByDie(job, thread, blank, *die);
  const Tool* point = FindPoint(job, thread, blank);
  const auto& pitches = job.machine().pitches_mm;
  const bool wheels = std::any_of(pitches.begin(), pitches.end(), [&](double p) { return std::abs(p - thread.pitch_mm) < kSamePitch_mm; });
  const Tool* turned = FindDie(job, thread, blank, kLeadBehind);
  if (turned != nullptr && (point == nullptr || !wheels)) return ThreadToShoulder(job, thread, blank, *turned);
  if (point != nullptr) return ThreadByPoint(job, thread, blank, *point);
  return NoPlan(job,
                fmt::format("neither die nor a threading tool of {} degrees reaches its end: {} mm are left below it, a die turned round wants {} mm, one turn of thread",
                            Num(FormOf(thread.designation, false).angle_deg), Num(blank.low - blank.span.low), Num(thread.pitch_mm)),
                fmt::format("end the full thread that much earlier, leave an undercut before the shoulder, or buy a {} die", thread.designation));
}

Result<bool> ThreadInside(Job& job, const HoleCut& cut) {
  const InternalThread& thread = *cut.hole->thread;
  const Vec3 entry = cut.places.front().entry_S;
  const double low = entry.z() - thread.depth_mm;
  const double floor = cut.through ? -1e9 : cut.floor_z_mm();
  const auto& pitches = job.machine().pitches_mm;
  const bool wheels = std::any_of(pitches.begin(), pitches.end(), [&](double p) { return std::abs(p - thread.pitch_mm) < kSamePitch_mm; });
  const Form form = FormOf(thread.designation, true);
  const Tool* tool = FindTool(
      job.shop(), job.machine(), ToolKind::kThreadingTool,
      [&](const Tool& t) {
        double below = 0;
        for (const Vec2& p : t.section_T_mm) below = std::min(below, p.y());
        return t.diameter_min_mm > 0 && t.diameter_min_mm <= cut.diameter_mm && low + below > floor &&
               t.stick_out_mm >= job.top_S_mm() - low && form.Fits(t);
      },
      [](const Tool& t) { return t.stick_out_mm; });
  if (tool == nullptr || !wheels || entry.head<2>().norm() > kZone_mm) return false;
  CutSettings slow;
  slow.rpm = trade::StepAtOrBelow(job.machine().speeds_rpm, kThreading_rpm).value_or(job.machine().speeds_rpm.front());
  slow.feed_mm_min = slow.rpm * thread.pitch_mm;
  if (job.machine().feed_max_mm_min > 0 && slow.feed_mm_min > job.machine().feed_max_mm_min) return false;
  Step& step = AddStep(job, Operation::kThread, *tool, slow);
  step.depth_mm = form.depth_mm;
  step.levels_mm = PassLevels(step.depth_mm, kThreadPass_mm, 0.03);
  PathPiece piece;
  piece.kind = PathKind::kTurn;
  piece.points_S_mm = {Vec3(cut.diameter_mm / 2, 0, entry.z() + 3 * thread.pitch_mm), Vec3(cut.diameter_mm / 2, 0, low)};
  AddUnsweptPath(job, step, piece);
  step.words = fmt::format("Cut the {} thread inside with the {}: change wheels for {}, {} rpm, {} passes to {} deep, {} of "
                           "full thread; draw in, stop, run back by power, never open the nut. Try it with the screw.",
                           thread.designation, tool->words, PitchWords(thread.designation), Num(slow.rpm), step.levels_mm.size(),
                           Num(step.depth_mm), Num(thread.depth_mm));
  step.caution = "Blind on the tool: mark its depth on the bar, slowest speed, hand on the switch.";
  const double each = (thread.depth_mm + 6 * thread.pitch_mm) / slow.feed_mm_min + 0.5;
  SetMinutes(job, step, static_cast<double>(step.levels_mm.size()) * each, 10);
  return true;
}

Status CutKnurl(Job& job) {
  const auto& knurl = std::get<Knurl>(job.feature.shape);
  const Feature* on = job.part().Find(knurl.on);
  const auto* outer = on == nullptr ? nullptr : std::get_if<OuterDiameter>(&on->shape);
  if (outer == nullptr || !OnSpindle(job, outer->axis_P)) return NoPlan(job, "its axis is not the spindle's in this setup");
  const Span span = SpanInS(job, outer->axis_P, knurl.from_mm, knurl.to_mm);
  const bool straight = knurl.pattern == KnurlPattern::kStraight;
  const Tool* tool = FindTool(
      job.shop(), job.machine(), ToolKind::kKnurlingTool,
      [&](const Tool& t) {
        return (t.teeth == 1) == straight && std::abs(t.pitch_mm - knurl.pitch_mm) < kSamePitch_mm;
      },
      [](const Tool&) { return 0.0; });
  if (tool == nullptr) {
    return NoPlan(job, fmt::format("the shop has no {} knurling wheels of {} mm", straight ? "straight" : "diamond", Num(knurl.pitch_mm)),
                  "buy the wheels, or take a pitch that the shop has");
  }
  const double r = outer->diameter.middle_mm() / 2;
  for (double z = span.low + 0.05; z < span.low + tool->width_mm; z += 0.1) {
    if (OutsideAt(job, z) > 2 * r + kZone_mm)
      return NoPlan(job, fmt::format("the wheels are {} wide and would run into the larger diameter beside it", Num(tool->width_mm)),
                    "draw the knurl longer, or leave more room beside it");
  }
  CutSettings slow;
  const double wanted = trade::SpeedFor_rpm(kKnurl_m_min, 2 * r);
  slow.rpm = trade::StepAtOrBelow(job.machine().speeds_rpm, wanted).value_or(job.machine().speeds_rpm.front());
  slow.feed_mm_min = slow.rpm * 0.25;
  Step& step = AddStep(job, Operation::kKnurl, *tool, slow);
  step.depth_mm = 0.25 * knurl.pitch_mm;
  step.levels_mm = {step.depth_mm};
  PathPiece piece;
  piece.kind = PathKind::kTurn;
  const double start = std::max(span.low, span.high - tool->width_mm);
  piece.points_S_mm = {Vec3(r, 0, start), Vec3(r, 0, span.low)};
  AddUnsweptPath(job, step, piece);
  step.words = fmt::format("Knurl {} over {} with the {}: wheels square, pressed in until the pattern closes, then fed along; it "
                           "raises the diameter by about {}.",
                           NameWords(knurl.on), Num(span.high - span.low), tool->words, Num(kKnurlRaises * knurl.pitch_mm));
  step.caution = "Knurling presses hard: short out of the jaws or on the centre, slow, plenty of oil.";
  SetMinutes(job, step, (span.high - span.low) / slow.feed_mm_min * 2, 2);
  return Ok{};
}

}  // namespace fitwright::planner
