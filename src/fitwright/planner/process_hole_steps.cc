// What all holes share: where they stand, how deep the tip goes, spotting, drilling in steps.
#include <algorithm>
#include <cmath>

#include "fitwright/planner/paths.h"
#include "fitwright/planner/paths_design.h"
#include "fitwright/planner/pieces.h"
#include "fitwright/planner/process_common.h"
#include "fitwright/trade/cutting.h"
#include "fitwright/trade/drills.h"

namespace fitwright::planner {
namespace {

constexpr double kTapLead_pitches = 6;  // room below a thread for a plug tap's lead (common practice: 2 to 6)

constexpr double kTight_mm = 0.05;  // limits narrower than this are not left to a drill
constexpr double kLargestReamed_mm = 12;
constexpr double kPointAndMore = 7.0 / 6;  // of the point of the drill before the reamer
constexpr double kReamerRunOut_mm = 3;  // a machine reamer's lead is 1 to 2 mm long (from memory), and out of the hole
constexpr double kSpotShare = 0.8;  // of the first drill: the spot goes away with the drilling
constexpr double kLeastRunOut_mm = 0.2;
constexpr double kThickestSkin_mm = 4;  // raw stock below an exit that is drilled through as well
constexpr double kDrillPointRoom_mm = 8;  // kept below a honed bore's run-out for the drill's point
constexpr double kBeyondExit_mm = 0.2;
constexpr double kFindMark_min = 1;       // over a punch mark by the wiggler (opinion)
constexpr double kPeckFactor = 1.3;       // drilling minutes with clearing of chips

Vec2 XY(const Vec3& p) { return {p.x(), p.y()}; }

std::vector<HolePlace> InTravelOrder(std::vector<HolePlace> places) {
  std::vector<Vec2> at;
  for (const HolePlace& p : places) at.push_back(XY(p.entry_S));
  std::vector<HolePlace> ordered;
  for (const int i : TravelOrder(at)) ordered.push_back(places[static_cast<std::size_t>(i)]);
  return ordered;
}

bool EnteredFrom(const Hole& hole, const Vec3& into_S, bool& reversed) {
  reversed = false;
  if (into_S.z() < -1 + kDirection) return true;
  reversed =
      into_S.z() > 1 - kDirection && hole.through && hole.use == HoleUse::kHole && !hole.thread;
  return reversed;
}

bool SameAxisDown(const Vec3& a, const Vec3& b) { return (XY(a) - XY(b)).norm() < kZone_mm; }

// Metal still standing over an entry that lies on the floor of a step or pocket not yet cut.
double CoverAbove(const Job& job, const Vec3& entry_S) {
  const Vec3 above_P = job.piece.X_PS * (entry_S + Vec3(0, 0, 0.05));
  for (const Feature& f : job.part().features) {
    const bool opens = std::holds_alternative<StepCut>(f.shape) ||
                       std::holds_alternative<Pocket>(f.shape) ||
                       std::holds_alternative<Slot>(f.shape);
    if (opens && !job.IsMade(f.name) && FeatureTakes(job.part(), f, above_P))
      return job.top_S_mm() - entry_S.z();
  }
  return 0;
}


// Outside every diameter of turned work there, and that diameter stands already.
bool IsOutsideTurned(const Job& job, const Vec3& p_P) {
  bool within = false;
  for (const Feature& f : job.part().features) {
    const auto* outer = std::get_if<OuterDiameter>(&f.shape);
    if (outer == nullptr || job.part().envelope != EnvelopeKind::kTurned) continue;
    const Vec3 from_axis = p_P - outer->axis_P.point_mm;
    const double along = from_axis.dot(outer->axis_P.direction);
    if (along < std::min(outer->from_mm, outer->to_mm) || along > std::max(outer->from_mm, outer->to_mm)) continue;
    const double off = (from_axis - along * outer->axis_P.direction).norm();
    if (off < outer->diameter.middle_mm() / 2 || !(job.IsMade(f.name) || IsAsSupplied(f))) return false;
    within = true;
  }
  return within;
}

// A hair beyond the exit nothing has been taken away so far.
bool IsBlindForNow(const Job& job, const HoleCut& cut) {
  const Vec3 exit_S = cut.places.front().entry_S - Vec3(0, 0, cut.depth_mm + kBeyondExit_mm);
  const Vec3 exit_P = job.piece.X_PS * exit_S;
  if (IsOutsideTurned(job, exit_P)) return false;
  return std::none_of(job.part().features.begin(), job.part().features.end(), [&](const Feature& f) {
    return job.IsMade(f.name) && FeatureTakes(job.part(), f, exit_P);
  });
}

}  // namespace

std::string HolesWords(const Job& job, const HoleCut& cut) {
  const std::string count = CountWords(cut.places.size());
  const std::string size = Num(cut.hole->diameter.nominal_mm) +
                           (cut.hole->diameter.fit.empty() ? "" : " " + cut.hole->diameter.fit);
  std::string what = "hole";
  if (cut.hole->use == HoleUse::kBore) what = "bore";
  if (cut.hole->use == HoleUse::kCounterbore) what = "counterbore";
  const Hole& hole = *cut.hole;
  const bool all = cut.places.size() == hole.entries_P_mm.size();
  if (!all && cut.places.size() == 1)
    return fmt::format("hole {} ({})", cut.places.front().index + 1, size);
  (void)job;
  return count.empty() ? fmt::format("the {} {}", size, what)
                       : fmt::format("{} {} {} {}s", all ? "the" : "the other", count, size, what);
}

std::string DepthWords(const HoleCut& cut, double depth_mm) {
  if (!cut.through) return Num(depth_mm) + " deep";
  if (!cut.blind_for_now) return "right through";
  return Num(std::round(10 * depth_mm) / 10) + " deep, not through yet: " + (cut.parted_open ? "parting opens it" : "a later cut opens it");
}

// Raw stock that a later cut takes away, between the exit and the underside of the piece.
double SkinBelow_mm(const Job& job, const HoleCut& cut) {
  const double skin = cut.floor_z_mm() - job.piece.piece_S.min_mm.z();
  if (skin < 0.01 || skin > kThickestSkin_mm || job.context.clearance_below_mm < kRunOut_mm) return 0;
  for (const HolePlace& place : cut.places) {
    for (int i = 0; i < 8; ++i) {
      const double angle = i * kPi / 4;
      const Vec3 rim = place.entry_S + cut.diameter_mm / 2 * Vec3(std::cos(angle), std::sin(angle), 0) -
                       Vec3(0, 0, cut.depth_mm + skin / 2);
      if (DesignHolds(job.part(), job.piece.X_PS * rim)) return 0;
    }
  }
  return skin;
}

double AirBelow_mm(const Job& job, const HoleCut& cut, double most_mm) {
  constexpr double kLook_mm = 0.25;
  double air = 0;
  while (air + kLook_mm <= most_mm) {
    for (const HolePlace& place : cut.places) {
      for (int i = 0; i <= 8; ++i) {
        const double r = i == 8 ? 0 : cut.diameter_mm / 2;
        const Vec3 out(r * std::cos(i * kPi / 4), r * std::sin(i * kPi / 4), -(cut.depth_mm + air + kLook_mm));
        if (DesignHolds(job.part(), job.piece.X_PS * (place.entry_S + out))) return air;
      }
    }
    air += kLook_mm;
  }
  return air;
}

double ChipRoom_mm(const Job& job, const HoleCut& cut, const Tool& drill) {
  constexpr double kUnderIt_mm = 3;       // common practice: room for lead and chips
  constexpr double kLookStep_mm = 0.25;   // of the look below
  if (!cut.blind_for_now) return 0;
  const double point = trade::DrillPointLength_mm(drill.diameter_mm, drill.point_deg);
  const double below = cut.floor_z_mm() - cut.run_out_mm - point - job.piece.piece_S.min_mm.z();
  const double most = std::min({kUnderIt_mm, below, AirBelow_mm(job, cut, cut.run_out_mm + kUnderIt_mm + point + kLookStep_mm) - cut.run_out_mm - point});
  if (most <= 0) return 0;
  return LongEnough(drill, ReachFor(job, cut, cut.depth_mm + cut.run_out_mm + most + point)) ? most : 0;
}

// What a drill may run into below the piece.
std::string UnderIt(const Job& job, const HoleCut& cut) {
  if (!cut.exits_below) return "";
  switch (job.context.holding) {
    case HoldingKind::kThreeJaw:
    case HoldingKind::kThreeJawShort:
    case HoldingKind::kFourJaw:
      return "; the chuck turned so that every jaw stands clear of it, and no ring under it: look down past the drill, stopped, first";
    case HoldingKind::kViseBedFirst:
    case HoldingKind::kViseJawFirst:
      return "; the parallels clear of it";
    default:
      return "; what it rests on clear of it";
  }
}

HoleWay WayOf(const Job& job, const Feature& feature, const Hole& hole);

Status PlaceRunOut(const Job& job, HoleCut& cut) {
  if (!cut.through) return Ok{};
  const double bottom = job.piece.piece_S.min_mm.z();
  const double skin = SkinBelow_mm(job, cut);
  cut.depth_mm += skin;
  cut.exits_below = cut.floor_z_mm() < bottom + 0.01;
  cut.blind_for_now = !cut.exits_below && IsBlindForNow(job, cut);
  // A tap wants room for its lead before what comes below is cut.
  if (cut.blind_for_now && cut.hole != nullptr && cut.hole->thread)
    cut.depth_mm += AirBelow_mm(job, cut, kTapLead_pitches * cut.hole->thread->pitch_mm);
  cut.run_out_mm =
      cut.exits_below ? std::min(kRunOut_mm, job.context.clearance_below_mm) : kRunOut_mm;
  if (cut.hole != nullptr && WayOf(job, job.feature, *cut.hole) == HoleWay::kReam) {
    const double point_mm = kPointAndMore * trade::DrillPointLength_mm(cut.diameter_mm, trade::kUsualDrillPoint_deg);
    const double most = cut.exits_below ? std::min(kReamerRunOut_mm, job.context.clearance_below_mm - point_mm) : kReamerRunOut_mm;
    cut.run_out_mm = std::max(cut.run_out_mm, AirBelow_mm(job, cut, most));
  }
  if (cut.run_out_mm < kLeastRunOut_mm) {
    return NoPlan(job, "a through hole has nowhere to run out below the piece",
                  "stand the piece on parallels clear of the hole");
  }
  const double room = cut.exits_below ? job.context.clearance_below_mm : cut.floor_z_mm() - bottom;
  if (job.feature.finish == Finish::kHoned && job.lathe()) {
    cut.run_out_mm = std::clamp(room - kDrillPointRoom_mm, cut.run_out_mm, kHoneRunOut_mm);
  }
  cut.parted_open = cut.blind_for_now && job.context.parted_S_mm && cut.floor_z_mm() - cut.run_out_mm < *job.context.parted_S_mm;
  return Ok{};
}

Result<HoleCut> ReadHole(const Job& job) {
  const auto& hole = std::get<Hole>(job.feature.shape);
  bool reversed = false;
  if (!EnteredFrom(hole, job.DirToS(hole.into_P), reversed)) {
    return NoPlan(job, "it is not entered from the spindle's side in this setup",
                  "turn the part so that its entry faces the spindle");
  }
  HoleCut cut;
  cut.hole = &hole;
  cut.depth_mm = hole.depth_mm;
  cut.diameter_mm = hole.diameter.middle_mm() - 2 * job.request.leave_mm;
  cut.through = hole.through;
  for (int i = 0; i < static_cast<int>(hole.entries_P_mm.size()); ++i) {
    const auto& wanted = job.request.holes;
    if (!wanted.empty() && std::find(wanted.begin(), wanted.end(), i) == wanted.end()) continue;
    Vec3 entry = hole.entries_P_mm[static_cast<std::size_t>(i)];
    if (reversed) entry += hole.into_P * hole.depth_mm;
    cut.places.push_back({i, job.ToS(entry)});
  }
  if (cut.places.empty()) return NoPlan(job, "no hole of the pattern is asked for");
  if (job.lathe()) {
    for (const HolePlace& p : cut.places) {
      if (XY(p.entry_S).norm() > kZone_mm)
        return NoPlan(job, "it does not lie on the lathe's axis", "drill it on the mill");
    }
  }
  cut.places = InTravelOrder(std::move(cut.places));
  if (const Status s = PlaceRunOut(job, cut); !s) return Unexpected(s.error());
  return cut;
}

const Tool* FindSizeDrill(const Job& job, const Hole& hole, const Reach& reach) {
  double point = 0;
  if (!hole.through) point = hole.bottom == HoleBottom::kPoint135 ? 135 : 118;
  return FindDrillWithin(job.shop(), job.machine(), hole.diameter.middle_mm(),
                         hole.diameter.lower_mm, hole.diameter.upper_mm, point, reach);
}

HoleWay WayOf(const Job& job, const Feature& feature, const Hole& hole) {
  if (hole.thread) return HoleWay::kDrill;
  const double d = hole.diameter.middle_mm();
  const bool tight = hole.diameter.width_mm() < kTight_mm;
  const bool flat = !hole.through && hole.bottom == HoleBottom::kFlat;
  const bool reamable =
      hole.diameter.nominal_mm <= kLargestReamed_mm && feature.finish != Finish::kHoned;
  if ((tight || hole.use == HoleUse::kBore) && reamable &&
      FindReamer(job.shop(), job.machine(), hole.diameter.nominal_mm, hole.diameter.fit,
                 hole.diameter.lower_mm, hole.diameter.upper_mm) != nullptr) {
    return HoleWay::kReam;
  }
  if (flat || hole.use == HoleUse::kCounterbore) {
    if (tight) return HoleWay::kBore;
    if (FindPlungeMill(job.shop(), job.machine(), d, {hole.depth_mm, 0}) != nullptr)
      return HoleWay::kFlatMill;
    const Tool* sink = FindTool(
        job.shop(), job.machine(), ToolKind::kCounterbore,
        [&](const Tool& t) { return std::abs(t.diameter_mm - d) < kZone_mm; },
        [](const Tool&) { return 0.0; });
    return sink != nullptr ? HoleWay::kCounterboreTool : HoleWay::kBore;
  }
  if (tight || hole.use == HoleUse::kBore || feature.finish == Finish::kHoned)
    return HoleWay::kBore;
  return FindSizeDrill(job, hole, {}) != nullptr ? HoleWay::kDrill : HoleWay::kBore;
}

Reach ReachFor(const Job& job, const HoleCut& cut, double tip_depth_mm) {
  double lowest = cut.entry_z_mm();
  double cover = 0;
  for (const HolePlace& p : cut.places) {
    lowest = std::min(lowest, p.entry_S.z());
    cover = std::max(cover, CoverAbove(job, p.entry_S));
  }
  const bool alone =
      FromMate(job.request.technique);  // the mate is off again by then
  const double top = alone ? job.top_S_mm() : job.highest_S_mm();
  return {tip_depth_mm + cover, std::max(0.0, top - lowest) + tip_depth_mm + 0.5};
}

Result<double> DrillTipDepth(const Job& job, const HoleCut& cut, double diameter_mm,
                             double point_deg) {
  const double point = trade::DrillPointLength_mm(diameter_mm, point_deg);
  if (!cut.through) return cut.depth_mm + point;
  double past = cut.run_out_mm + point;
  if (cut.exits_below && past > job.context.clearance_below_mm) {
    past = job.context.clearance_below_mm - 0.05;
    if (past < point + kLeastRunOut_mm) {
      return NoPlan(
          job,
          fmt::format("the point of a {} mm drill needs {} mm below the piece, there are {}",
                      Num(diameter_mm), Num(point + kLeastRunOut_mm),
                      Num(job.context.clearance_below_mm)),
          "stand the piece on higher parallels");
    }
  }
  return cut.depth_mm + past;
}

Status AddPlunges(Job& job, Step& step, const Tool& tool, const HoleCut& cut, double tip_depth_mm,
                  double set_diameter_mm) {
  PathPiece piece;
  piece.kind = PathKind::kPlunge;
  piece.set_diameter_mm = set_diameter_mm;
  const bool past_mate =
      step.operation == Operation::kSpotThrough || !FromMate(job.request.technique);
  piece.from_z_mm = (past_mate ? job.highest_S_mm() : job.top_S_mm()) + kApproach_mm;
  std::vector<std::string> names;
  for (const HolePlace& p : cut.places) {
    piece.points_S_mm.push_back(p.entry_S - Vec3(0, 0, tip_depth_mm));
    names.push_back(std::to_string(p.index + 1));
  }
  // Through a mate that is off again, or a tap's thread: nothing is swept there.
  if (tool.kind == ToolKind::kTap) {
    TurnPlunges(job, piece);
    for (std::size_t i = 0; i < piece.points_S_mm.size(); ++i) step.coordinates.push_back(PlaceReading(job, piece, i, names[i]));
    step.path.push_back(std::move(piece));
    return Ok{};
  }
  return AddPath(job, step, tool, std::move(piece), names);
}

Status AddSpot(Job& job, const HoleCut& cut, double first_drill_mm) {
  const double dimple = kSpotShare * first_drill_mm;
  const Reach reach = {0, ReachFor(job, cut, 0.5 * dimple).out_mm};
  const auto fits = [&](const Tool& t) {
    return t.diameter_mm >= std::min(dimple, 2.0) && LongEnough(t, reach);
  };
  const Tool* tool = FindTool(job.shop(), job.machine(), ToolKind::kSpotDrill, fits,
                              [](const Tool& t) { return t.diameter_mm; });
  const Tool* centre = FindTool(
      job.shop(), job.machine(), ToolKind::kCentreDrill,
      [&](const Tool& t) { return t.diameter_mm <= first_drill_mm && LongEnough(t, reach); },
      [](const Tool& t) { return -t.diameter_mm; });
  if (centre != nullptr && (job.lathe() || tool == nullptr)) tool = centre;
  if (tool == nullptr) {
    job.result.warnings.push_back(
        fmt::format("{}: no spotting or centre drill reaches it; the drill starts on a punch mark "
                    "and wanders more.",
                    job.ref.text()));
    return Ok{};
  }
  const auto settings = Settings(
      job, *tool,
      {tool->kind == ToolKind::kCentreDrill ? trade::CutKind::kCentreDrill : trade::CutKind::kSpot,
       tool->diameter_mm});
  if (!settings) return Unexpected(settings.error());
  Step& step = AddStep(job, Operation::kSpot, *tool, *settings);
  const double width = std::min(dimple, tool->diameter_mm);
  // A larger drill is led by the cone, not by the mark of the thin point; what is opened goes with the drilling.
  const bool into_cone = tool->kind == ToolKind::kCentreDrill && job.lathe() && trade::kCentreDrillMouth * tool->diameter_mm <= first_drill_mm &&
                         cut.depth_mm > CentreDepth_mm(*tool) + kLeastRunOut_mm;
  const double deep = into_cone ? CentreDepth_mm(*tool) : 0.5 * width / std::tan(0.5 * tool->point_deg * kRadPerDeg);
  step.depth_mm = deep;
  step.levels_mm = {deep};
  if (const Status s = AddPlunges(job, step, *tool, cut, deep); !s) return s;
  step.words = cut.places.size() > 1
                   ? fmt::format("Spot all {} to about {} across.", cut.places.size(),
                                 Num(std::round(width * 10) / 10))
                   : fmt::format("{} it to about {} across.", job.lathe() ? "Centre" : "Spot",
                                 Num(std::round(width * 10) / 10));
  if (into_cone) step.words = "Centre it, in until the 60 degree mouth opens: the drill that follows is led by the cone.";
  if (FromMate(job.request.technique)) {
    step.words = fmt::format("Bring the spindle over each mark with a wiggler in the chuck, write the readings down, and spot it to about {} across; "
                             "the drills go back to the same readings.",
                             Num(std::round(width * 10) / 10));
  }
  const double finding = FromMate(job.request.technique) ? kFindMark_min * static_cast<double>(cut.places.size()) : 0;
  SetMinutes(job, step,
             finding + static_cast<double>(cut.places.size()) * (0.1 + deep / settings->feed_mm_min),
             job.shop().times.move_to_hole * static_cast<double>(cut.places.size()));
  return Ok{};
}

Status AddDrills(Job& job, const HoleCut& cut, const Tool& last, double set_diameter_mm,
                 double tip_depth_mm) {
  const double last_point = trade::DrillPointLength_mm(set_diameter_mm > 0 ? set_diameter_mm : last.diameter_mm, last.point_deg);
  std::vector<const Tool*> drills = StepDrills(job.shop(), job.machine(), job.material,
                                               last.diameter_mm, ReachFor(job, cut, tip_depth_mm));
  drills.push_back(&last);
  for (const Tool* drill : drills) {
    const auto settings = Settings(job, *drill, {trade::CutKind::kDrill, drill->diameter_mm});
    if (!settings) return Unexpected(settings.error());
    const bool is_last = drill == &last;
    const double point = is_last ? last_point : trade::DrillPointLength_mm(drill->diameter_mm, drill->point_deg);
    const double full =
        tip_depth_mm - last_point;  // all to one full depth; a thinner point stays above
    Step& step = AddStep(job, Operation::kDrill, *drill, *settings);
    step.depth_mm = full;
    step.levels_mm = PeckLevels(full, drill->diameter_mm);
    if (const Status s =
            AddPlunges(job, step, *drill, cut, full + point, is_last ? set_diameter_mm : 0);
        !s)
      return s;
    step.words = fmt::format(
        "Drill {}{}{}.", cut.places.size() > 1 ? "the " + CountWords(cut.places.size()) + " " : "",
        Num(drill->diameter_mm),
        cut.through ? ", " + DepthWords(cut, full) : ", " + Num(full) + " deep to the full diameter");
    if (step.levels_mm.size() > 1) step.words += " Back out often to clear the chips.";
    using K = trade::MaterialKind;
    if (job.material.kind == K::kBrass || job.material.kind == K::kBronze) {
      step.caution =
          "Brass and bronze grab a drill: take the rake off its edges and clamp the work.";
    } else if (cut.through && !cut.blind_for_now && !job.lathe()) {
      step.caution = fmt::format("Ease the feed as the point breaks through{}.", UnderIt(job, cut));
    }
    AddBreakIn(job, step, cut, drill->diameter_mm / 2);
    AddGaps(job, step, cut);
    const double each = (full + point + kApproach_mm) / settings->feed_mm_min *
                        (step.levels_mm.size() > 1 ? kPeckFactor : 1.0);
    SetMinutes(job, step, each * static_cast<double>(cut.places.size()),
               job.shop().times.move_to_hole * static_cast<double>(cut.places.size()));
  }
  return Ok{};
}

std::string BreaksInto(const Job& job, const HoleCut& cut, double radius_mm) {
  std::string names;
  if (job.request.features.size() > 1) return names;  // a cross bore is filled by the other part
  for (const Feature& f : job.part().features) {
    const auto* other = std::get_if<Hole>(&f.shape);
    if (other == nullptr || !job.IsMade(f.name)) continue;
    const Vec3 d = job.DirToS(other->into_P);
    if (std::abs(d.z()) > kDirection) continue;
    const double r = other->diameter.middle_mm() / 2;
    // Its drill went on by the point, whatever was bored after it.
    const double point =
        other->bottom == HoleBottom::kFlat ? 0 : trade::DrillPointLength_mm(std::min(2 * r, kLargestDrill_mm), trade::kUsualDrillPoint_deg);
    bool meets = false;
    for (const Vec3& entry_P : other->entries_P_mm) {
      const Vec3 entry = job.ToS(entry_P);
      for (const HolePlace& place : cut.places) {
        const Vec2 away = XY(place.entry_S) - XY(entry);
        const double along = away.dot(XY(d));
        const double aside = std::abs(away.x() * d.y() - away.y() * d.x());
        const double beyond = std::max({0.0, -along, along - other->depth_mm - point});
        if (beyond >= radius_mm) continue;
        const double nearest = std::max(0.0, aside - std::sqrt(radius_mm * radius_mm - beyond * beyond));
        if (nearest >= r) continue;
        const double half = std::sqrt(r * r - nearest * nearest);  // of the cross hole's height there
        meets |= entry.z() - half < place.entry_S.z() && entry.z() + half > place.entry_S.z() - cut.depth_mm;
      }
    }
    if (meets) names += (names.empty() ? "" : " and ") + NameWords(f.name);
  }
  return names;
}

void AddBreakIn(const Job& job, Step& step, const HoleCut& cut, double radius_mm) {
  const std::string names = BreaksInto(job, cut, radius_mm);
  if (names.empty()) return;
  if (!step.caution.empty()) step.caution += " ";
  step.caution += fmt::format("It breaks into {} on its way: the cut is interrupted there, feed gently and hold back.", names);
}

void AddGaps(const Job& job, Step& step, const HoleCut& cut) {
  constexpr double kLook_mm = 0.05;
  constexpr double kLeastGap_mm = 0.5;
  const auto open = [&](double down_mm) {
    const Vec3 p_P = job.piece.X_PS * (cut.places.front().entry_S - Vec3(0, 0, down_mm));
    return std::any_of(job.part().features.begin(), job.part().features.end(), [&](const Feature& f) {
      const bool crosses = std::holds_alternative<Pocket>(f.shape) || std::holds_alternative<Slot>(f.shape) || std::holds_alternative<StepCut>(f.shape);
      return crosses && job.IsMade(f.name) && FeatureTakes(job.part(), f, p_P);
    });
  };
  std::string gaps;
  double from = -1;
  for (double down = kLook_mm; down < cut.depth_mm; down += kLook_mm) {
    if (from < 0 && open(down)) from = down;
    if (from < 0 || open(down)) continue;
    if (down - from > kLeastGap_mm && from > kLeastGap_mm) {
      const double sense = job.machine().z_sense;
      gaps += fmt::format("{} at Z {:.1f} mm and starts again at Z {:.1f} mm", gaps.empty() ? "" : ", once more", sense * (cut.entry_z_mm() - from),
                          sense * (cut.entry_z_mm() - down));
    }
    from = -1;
  }
  if (gaps.empty()) return;
  if (!step.caution.empty()) step.caution += " ";
  step.caution += fmt::format("It comes out into a gap{}: ease off there, feed in gently on the far side, where nothing guides it.", gaps);
}

namespace {

// The hole that the stock came with, when the cut stands on its axis.
double OpenInStock(const Job& job, const HoleCut& cut) {
  const Stock& stock = job.part().stock;
  if (stock.inner_diameter_mm <= 0 || std::abs(job.DirToS(stock.axis_P.direction).z()) < 1 - kDirection) return 0;
  const Vec3 on_axis = job.ToS(stock.axis_P.point_mm);
  const bool all = std::all_of(cut.places.begin(), cut.places.end(),
                               [&](const HolePlace& place) { return SameAxisDown(on_axis, place.entry_S); });
  return all ? stock.inner_diameter_mm : 0;
}

}  // namespace

double OpenedDiameter(const Job& job, const HoleCut& cut) {
  double opened = OpenInStock(job, cut);
  for (const Feature& f : job.part().features) {
    const auto* other = std::get_if<Hole>(&f.shape);
    if (other == nullptr || !job.IsMade(f.name)) continue;
    if (std::abs(job.DirToS(other->into_P).z()) < 1 - kDirection) continue;
    const bool all = std::all_of(cut.places.begin(), cut.places.end(), [&](const HolePlace& place) {
      return std::any_of(
          other->entries_P_mm.begin(), other->entries_P_mm.end(), [&](const Vec3& entry_P) {
            const Vec3 entry = job.ToS(entry_P);
            const Vec3 exit = job.ToS(entry_P + other->into_P * other->depth_mm);
            return SameAxisDown(entry, place.entry_S) &&
                   std::max(entry.z(), exit.z()) >= place.entry_S.z() - kZone_mm &&
                   std::min(entry.z(), exit.z()) <= place.entry_S.z() - cut.depth_mm + kZone_mm;
          });
    });
    if (all) opened = std::max(opened, other->diameter.middle_mm());
  }
  return opened;
}

}  // namespace fitwright::planner
