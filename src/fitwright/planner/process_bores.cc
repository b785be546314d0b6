// Bores by a single point: piloted with drills, bored out with the boring head on the mill or a bar
// in the lathe, honed where the drawing asks for it.
#include <algorithm>
#include <cmath>
#include <limits>

#include "fitwright/planner/instruments.h"
#include "fitwright/planner/paths_design.h"
#include "fitwright/planner/process_common.h"

namespace fitwright::planner {
namespace {

constexpr double kBarDiametersOut = 4;   // a steel bar further out chatters (common practice)
constexpr double kFloorGap_mm = 0.3;     // a drill's point stays this far above a flat floor
constexpr double kLeastPilot_mm = 0.5;   // full depth of a pilot that is worth drilling
constexpr double kFaceIn_mm = 0.3;      // a floor is faced this far past the edge of the hole in it
constexpr double kFinishLeft_mm = 0.4;  // on the diameter, before the sizing cut

// A single-entry round hole on the job's axis, as it lies in S.
struct Coaxial {
  const Feature* feature = nullptr;
  const Hole* hole = nullptr;
  double top_S = 0;
  double bottom_S = 0;
  bool down = false;  // entered from +z
};

std::vector<Coaxial> CoaxialHoles(const Job& job, const Vec3& axis_S) {
  std::vector<Coaxial> found;
  for (const Feature& f : job.part().features) {
    const auto* hole = std::get_if<Hole>(&f.shape);
    if (hole == nullptr || hole->entries_P_mm.size() != 1) continue;
    const Vec3 into = job.DirToS(hole->into_P);
    const Vec3 entry = job.ToS(hole->entries_P_mm.front());
    if (std::abs(into.z()) < 1 - kDirection || (entry - axis_S).head<2>().norm() > kZone_mm)
      continue;
    const double exit = entry.z() + into.z() * hole->depth_mm;
    found.push_back({&f, hole, std::max(entry.z(), exit), std::min(entry.z(), exit), into.z() < 0});
  }
  std::stable_sort(found.begin(), found.end(),
                   [](const Coaxial& a, const Coaxial& b) { return a.top_S > b.top_S; });
  return found;
}

// Bores one behind the other on one axis are piloted at one go, by whichever is cut first.
std::vector<Coaxial> FamilyOf(const Job& job, const HoleCut& cut) {
  std::vector<Coaxial> family;
  if (job.request.features.size() > 1) {  // bores of several parts as one
    const auto& hole = std::get<Hole>(job.feature.shape);
    return {{&job.feature, &hole, cut.entry_z_mm(), cut.entry_z_mm() - hole.depth_mm, true}};
  }
  for (const Coaxial& c : CoaxialHoles(job, cut.places.front().entry_S)) {
    if (!c.down || WayOf(job, *c.feature, *c.hole) != HoleWay::kBore) continue;
    if (!family.empty()) {
      double reached = family.front().bottom_S;
      for (const Coaxial& f : family) reached = std::min(reached, f.bottom_S);
      if (c.top_S < reached - kZone_mm) {
        const bool has_own = std::any_of(family.begin(), family.end(), [&](const Coaxial& f) {
          return f.feature == &job.feature;
        });
        if (has_own) break;
        family.clear();
      }
    }
    family.push_back(c);
  }
  return family;
}

struct Pilot {
  const Tool* drill = nullptr;
  double tip_S = 0;
  bool through_floor = false;  // the pilot goes on below the floor of the family's deepest bore
  bool through = false;        // and out of the piece
};

bool PointIsFree(const Job& job, const Tool& drill, const Vec3& axis_S, double tip_S) {
  PathPiece piece;
  piece.points_S_mm = {Vec3(axis_S.x(), axis_S.y(), tip_S)};
  return !FindGouge(job.part(), job.piece.X_PS, drill, piece, tip_S + drill.diameter_mm);
}

// Largest drill that leaves the smallest bore something to cut and whose point has room.
std::optional<Pilot> FindPilot(const Job& job, const std::vector<Coaxial>& family,
                               const HoleCut& cut) {
  double smallest = 1e9;
  const Coaxial* deepest = &family.front();
  for (const Coaxial& c : family) {
    const double honed = c.feature->finish == Finish::kHoned ? kHoneAllowance_mm : 0;
    smallest = std::min(smallest, c.hole->diameter.middle_mm() - honed);
    if (c.bottom_S < deepest->bottom_S) deepest = &c;
  }
  const Vec3& axis = cut.places.front().entry_S;
  const double top = family.front().top_S;
  for (double most = smallest - kLeastBoring_mm; most > 0;) {
    const Tool* drill =
        FindLargestDrill(job.shop(), job.machine(), most,
                         {top - deepest->bottom_S, job.highest_S_mm() - deepest->bottom_S});
    if (drill == nullptr) return std::nullopt;
    const double point = trade::DrillPointLength_mm(drill->diameter_mm, drill->point_deg);
    if (deepest->hole->through) {
      HoleCut deep = cut;
      deep.places.front().entry_S.z() = top;
      deep.depth_mm = top - deepest->bottom_S;
      deep.through = true;
      const Status placed = PlaceRunOut(job, deep);
      if (!placed) return std::nullopt;
      deep.diameter_mm = drill->diameter_mm;
      deep.run_out_mm += ChipRoom_mm(job, deep, *drill);
      const auto tip = DrillTipDepth(job, deep, drill->diameter_mm, drill->point_deg);
      if (tip && PointIsFree(job, *drill, axis, top - *tip))
        return Pilot{drill, top - *tip, true, true};
    } else if (top - deepest->bottom_S - point - kFloorGap_mm >= kLeastPilot_mm) {
      return Pilot{drill, deepest->bottom_S + kFloorGap_mm, false, false};
    } else if (PointIsFree(job, *drill, axis, deepest->bottom_S - point - kFloorGap_mm)) {
      return Pilot{drill, deepest->bottom_S - point - kFloorGap_mm, true, false};
    }
    most = drill->diameter_mm - 0.01;
  }
  return std::nullopt;
}

// What stands open on the axis: made bores over the whole depth, or the pilot of a family begun
// before.
double OpenBefore(const Job& job, const HoleCut& cut, const std::vector<Coaxial>& family,
                  const std::optional<Pilot>& pilot) {
  double open = OpenedDiameter(job, cut);
  const bool begun = std::any_of(family.begin(), family.end(),
                                 [&](const Coaxial& c) { return job.IsMade(c.feature->name); });
  if (begun && pilot) open = std::max(open, pilot->drill->diameter_mm);
  return open;
}

// Radius to which a flat floor is faced in: just past the hole that goes on below it, else past the
// centre.
double FaceInRadius(const Job& job, const HoleCut& cut, const std::vector<Coaxial>& family,
                    const std::optional<Pilot>& pilot) {
  const double floor = cut.floor_z_mm();
  double inner = OpenRadiusAt(job, floor - 0.05);
  if (pilot && pilot->through_floor) inner = std::max(inner, pilot->drill->diameter_mm / 2);
  const bool goes_on = std::any_of(family.begin(), family.end(),
                                   [&](const Coaxial& c) { return c.bottom_S < floor - kZone_mm; });
  if (pilot && goes_on) inner = std::max(inner, pilot->drill->diameter_mm / 2);
  return inner > kFaceIn_mm + 0.2 ? inner - kFaceIn_mm : -0.2;
}

constexpr double kSectionShare = 0.9;  // of a bar's section, taken at one go in the drawn path

double Thickness(const Tool& bar) {
  double least = 0;
  for (const Vec2& p : bar.section_T_mm) least = std::min(least, p.x());
  return -least;
}

// How thick a ring one run of the bar clears down to where its corner stops: its end falls back from the corner.
double Slice_mm(const Tool& bar, double run_out_mm) {
  const double thick = Thickness(bar);
  double back = std::numeric_limits<double>::infinity();
  for (const Vec2& p : bar.section_T_mm) {
    if (p.x() < -thick + kZone_mm) back = std::min(back, p.y());
  }
  const bool falls_back = back > 0 && run_out_mm > 0;
  return kSectionShare * (falls_back ? std::min(thick, run_out_mm * thick / back) : thick);
}

struct BarWish {
  double open_mm = 0;       // of the hole that the bar goes into
  double out_mm = 0;        // from the face to the floor, with clearance
  double radius_mm = 0;     // of the bore
  double face_in_mm = 1e9;  // radius to which a floor is faced; 1e9 = no floor
};

const Tool* FindBar(const Job& job, const BarWish& wish, std::string* why) {
  const Tool* best = nullptr;
  double longest = 0;
  for (const Tool& t : job.shop().tools) {
    if (t.kind != ToolKind::kBoringBar || !GoesOn(t, job.machine()) || t.section_T_mm.empty())
      continue;
    if (t.diameter_min_mm > wish.open_mm + kZone_mm) continue;
    // The bar's back must clear the far side of the bore while its corner faces the floor.
    if (wish.face_in_mm < 1e8 && Thickness(t) - wish.face_in_mm > wish.radius_mm) continue;
    longest = std::max(longest, std::min(t.reach_mm, kBarDiametersOut * t.shank_mm));
    if (t.reach_mm + kZone_mm < wish.out_mm ||
        t.reach_mm > kBarDiametersOut * t.shank_mm + kZone_mm)
      continue;
    if (best == nullptr || t.shank_mm > best->shank_mm) best = &t;
  }
  if (best == nullptr && why != nullptr) {
    *why =
        longest > 0
            ? fmt::format(
                  "the stiffest bar that goes in reaches {} mm (4 diameters out); {} mm are wanted",
                  Num(longest), Num(wish.out_mm))
            : fmt::format("no boring bar goes into a {} mm hole", Num(wish.open_mm));
  }
  return best;
}

const Tool* FindHead(const Job& job, const HoleCut& cut, double open_mm, double set_mm,
                     std::string* why) {
  const double out = job.highest_S_mm() - cut.floor_z_mm() + cut.run_out_mm + 0.5;
  const Tool* best = nullptr;
  double longest = 0;
  for (const Tool& t : job.shop().tools) {
    if (t.kind != ToolKind::kBoringHead || !GoesOn(t, job.machine())) continue;
    if (t.diameter_min_mm > open_mm + kZone_mm || t.diameter_mm < set_mm - kZone_mm) continue;
    longest = std::max(longest, std::min(t.stick_out_mm, kBarDiametersOut * t.shank_mm));
    if (t.stick_out_mm + kZone_mm < out ||
        t.stick_out_mm > kBarDiametersOut * t.shank_mm + kZone_mm)
      continue;
    if (best == nullptr || t.shank_mm > best->shank_mm) best = &t;
  }
  if (best == nullptr && why != nullptr) {
    *why = longest > 0 ? fmt::format(
                             "the stiffest bar for the boring head that goes in reaches {} mm (4 "
                             "diameters out); {} mm are wanted",
                             Num(longest), Num(out))
                       : fmt::format("no bar for the boring head bores {} mm from a {} mm hole",
                                     Num(set_mm), Num(open_mm));
  }
  return best;
}

// listed: the diameter of each, where no table of passes is printed (a boring head is set by its own screw).
std::string CutsWords(double from_mm, double to_mm, double pass_mm, bool listed) {
  const int cuts =
      std::max(1, static_cast<int>(std::ceil((to_mm - from_mm) / (2 * pass_mm) - 1e-9)));
  if (cuts == 1) return "in one cut";
  std::string words = fmt::format("in {} cuts of about {} mm on the diameter", cuts, Num(std::round(10 * (to_mm - from_mm) / cuts) / 10));
  if (!listed) return words;
  for (int i = 1; i <= cuts; ++i) words += fmt::format("{} {:.1f}", i == 1 ? ":" : ",", from_mm + (to_mm - from_mm) * i / cuts);
  return words;
}

struct BoreCut {
  double from_mm = 0;        // diameter before
  double to_mm = 0;          // diameter after
  bool sizing = false;       // the cut that brings the bore to its size
  bool to_size = false;      // it is the feature's own size that comes out
  double floor_lift_mm = 0;  // roughing stops short of a flat floor
  double face_in_mm = 1e9;
};

Status AddBarCut(Job& job, const HoleCut& cut, const Tool& bar, const BoreCut& bore) {
  const auto settings = Settings(job, bar, {trade::CutKind::kBore, bore.to_mm});
  if (!settings) return Unexpected(settings.error());
  Step& step = AddStep(job, Operation::kBore, bar, *settings);
  const double r = bore.to_mm / 2;
  const double bottom = cut.floor_z_mm() - cut.run_out_mm + bore.floor_lift_mm;
  PathPiece piece;
  piece.kind = PathKind::kTurn;
  // Much is drawn in slices no thicker than the bar, so that no ring is left between them.
  const double slice = Slice_mm(bar, cut.run_out_mm);
  const int before = static_cast<int>(std::ceil((r - bore.from_mm / 2) / slice)) - 1;
  for (int i = before; i > 0; --i) {
    piece.points_S_mm = {Vec3(r - i * slice, 0, job.top_S_mm() + kApproach_mm), Vec3(r - i * slice, 0, bottom)};
    if (const Status s = AddPath(job, step, bar, piece); !s) return s;
  }
  piece.points_S_mm = {Vec3(r, 0, job.top_S_mm() + kApproach_mm), Vec3(r, 0, bottom)};
  if (bore.face_in_mm < r && bore.face_in_mm < 1e8)
    piece.points_S_mm.emplace_back(bore.face_in_mm, 0, bottom);
  if (const Status s = AddPath(job, step, bar, piece); !s) return s;
  step.depth_mm = (bore.to_mm - bore.from_mm) / 2;
  step.levels_mm = PassLevels(step.depth_mm, settings->depth_mm, bore.sizing ? 0.1 : 0);
  const double length = job.top_S_mm() + kApproach_mm - bottom;
  const auto passes = static_cast<double>(step.levels_mm.size());
  const double measuring = bore.sizing && job.request.aim == AimKind::kBringToSize
                               ? 2 * job.shop().times.measure + 2
                               : 0;
  SetMinutes(job, step, passes * length / settings->feed_mm_min, 0.6 * passes + measuring);
  return Ok{};
}

Status AddHeadCut(Job& job, const HoleCut& cut, const Tool& head, const BoreCut& bore) {
  const auto settings = Settings(job, head, {trade::CutKind::kBoreInMill, bore.to_mm});
  if (!settings) return Unexpected(settings.error());
  Step& step = AddStep(job, Operation::kBore, head, *settings);
  const double tip = cut.depth_mm + cut.run_out_mm - bore.floor_lift_mm;
  step.depth_mm = tip;
  step.levels_mm = {tip};
  if (const Status s = AddPlunges(job, step, head, cut, tip, bore.to_mm); !s) return s;
  step.caution =
      fmt::format("Boring head: not above {} rpm, never in reverse; turn it round by hand first. Lock x and y.",
                  Num(settings->rpm));
  const double pass = settings->depth_mm > 0 ? settings->depth_mm : 0.3;
  const double cuts = std::max(1.0, std::ceil((bore.to_mm - bore.from_mm) / (2 * pass) - 1e-9));
  const double measuring = bore.sizing && job.request.aim == AimKind::kBringToSize
                               ? 2 * job.shop().times.measure + 2
                               : 0;
  SetMinutes(job, step, cuts * tip / settings->feed_mm_min * static_cast<double>(cut.places.size()),
             1.0 * cuts + measuring);
  return Ok{};
}

// A gauge with shoes does not come down to a floor: a short counterbore is left to the caliper's inside points.
std::vector<InstrumentKind> InsideKinds(const HoleCut& cut) {
  constexpr double kGaugeEnd_mm = 5;  // from its shoes to its end (opinion)
  if (!cut.through && cut.depth_mm < kGaugeEnd_mm && cut.diameter_mm > kCaliperInside_mm) return {InstrumentKind::kCaliper};
  return {InstrumentKind::kCaliper, InstrumentKind::kTelescopicGauge, InstrumentKind::kBoreGauge};
}

Status AddBoreCut(Job& job, const HoleCut& cut, const BoreCut& bore) {
  std::string why;
  const double out = job.highest_S_mm() - cut.floor_z_mm() + cut.run_out_mm + 1;
  const Tool* tool = job.lathe()
                         ? FindBar(job, {bore.from_mm, out, bore.to_mm / 2, bore.face_in_mm}, &why)
                         : FindHead(job, cut, bore.from_mm, bore.to_mm, &why);
  if (tool == nullptr)
    return NoPlan(job, why, "bore it on the other machine, or buy a stiffer bar");
  if (const Status s =
          job.lathe() ? AddBarCut(job, cut, *tool, bore) : AddHeadCut(job, cut, *tool, bore);
      !s)
    return s;
  Step& step = job.result.steps.back();
  AddBreakIn(job, step, cut, bore.to_mm / 2);
  const double pass =
      trade::CutDataFor(job.material,
                        job.lathe() ? trade::CutKind::kBore : trade::CutKind::kBoreInMill,
                        trade::EdgeMaterial::kHss, bore.to_mm)
          .depth_mm;
  const std::string what = HolesWords(job, cut);
  if (!bore.sizing) {
    step.words = fmt::format("Bore {} out to {} {}.", what, Num(bore.to_mm),
                             CutsWords(bore.from_mm, bore.to_mm, pass, !job.lathe()));
    if (!cut.through && !job.lathe()) {
      step.words += " Every one goes down to the same stop, with a bar whose end cuts flat.";
    }
    return Ok{};
  }
  step.words =
      fmt::format("Bore {} to {}{}.", what, bore.to_size ? "size" : Num(bore.to_mm),
                  ", " + DepthWords(cut, cut.depth_mm + cut.run_out_mm));
  if (bore.to_size && job.request.aim == AimKind::kBringToSize)
    step.words += " Cut, let it cool, measure, cut again; run the last cut twice at one setting.";
  if (bore.face_in_mm < 1e8) {
    step.words += fmt::format(" Face its floor flat in the same setting: carriage stop at Z {}, power off a millimetre short of it, the rest by hand.",
                              Num(job.machine().z_sense * cut.floor_z_mm()));
  }
  if (!bore.to_size) return Ok{};
  const Size& size = cut.hole->diameter;
  constexpr double kSeats_mm = 0.1;  // between the limits of what something is seated in (opinion)
  if (!cut.through && cut.hole->bottom == HoleBottom::kFlat && size.width_mm() <= kSeats_mm) {
    step.words += " The bar's nose 0.2 mm at most: what seats there must reach the corner.";
  }
  step.aim = MakeAim(job, size, SafeSide::kSmall,
                     job.lathe() ? "bored_diameter_lathe" : "boring_head_diameter");
  const std::string other = BreaksInto(job, cut, size.middle_mm() / 2);
  const std::string places = !other.empty()      ? fmt::format("near both its ends, clear of {}, in three directions", other)
                             : cut.depth_mm > 10 ? "at two depths and in three directions"
                                                 : "in three directions";
  SetMeasure(
      job, step,
      {InsideKinds(cut),
       size.middle_mm(),
       size.lower_mm,
       size.upper_mm,
       size.width_mm() <= kSeats_mm ? places + ", the smallest written down" : places,
       false,
       job.top_S_mm() - cut.entry_z_mm()});
  return Ok{};
}

Status AddHone(Job& job, const HoleCut& cut) {
  const double d = cut.diameter_mm;
  const double tip = cut.depth_mm + (cut.through ? std::max(0.0, cut.run_out_mm - kRunOut_mm) : 0);
  if (!cut.through)
    return NoPlan(job, "a hone cannot reach the bottom of a blind bore",
                  "give it a relief or draw it through");
  const Tool* hone = FindTool(
      job.shop(), job.machine(), ToolKind::kHone,
      [&](const Tool& t) {
        return t.diameter_min_mm <= d && t.diameter_mm >= d &&
               t.stick_out_mm >= ReachFor(job, cut, tip).out_mm;
      },
      [](const Tool& t) { return t.diameter_mm; });
  if (hone == nullptr) {
    return NoPlan(job, fmt::format("the shop has no hone for {} mm", Num(d)),
                  fmt::format("buy a hone that covers {} mm", Num(d)));
  }
  CutSettings slow;
  const auto rpm = trade::StepAtOrBelow(job.machine().speeds_rpm, 300);
  slow.rpm = rpm.value_or(job.machine().speeds_rpm.empty() ? 0 : job.machine().speeds_rpm.front());
  Step& step = AddStep(job, Operation::kHone, *hone, slow);
  step.depth_mm = tip;
  step.levels_mm = {tip};
  if (const Status s = AddPlunges(job, step, *hone, cut, tip, d); !s) return s;
  const Size& size = cut.hole->diameter;
  step.aim = MakeAim(job, size, SafeSide::kSmall, "bore_form");
  step.words = fmt::format(
      "Hone the last {} mm on the diameter, stroking so that the marks cross; let the stones run "
      "out a third of their length at both ends.",
      Num(kHoneAllowance_mm));
  step.caution =
      "No loose rags near a turning hone; wash every trace of grit out before the bore is used.";
  SetMinutes(job, step, 12, 2 * job.shop().times.measure);
  SetMeasure(job, step,
             {{InstrumentKind::kTelescopicGauge, InstrumentKind::kBoreGauge},
              size.middle_mm(),
              size.lower_mm,
              size.upper_mm,
              "at two depths and in three directions, when it is cool, the smallest written down"});
  return Ok{};
}

// Bar with a hole in it, too narrow for any boring bar that reaches: drilled out first.
bool WantsDrillingOut(const Job& job, const HoleCut& cut, const std::optional<Pilot>& pilot, double open_mm) {
  if (!job.lathe() || !pilot || !pilot->through || pilot->drill->diameter_mm <= open_mm) return false;
  const double out = job.highest_S_mm() - cut.floor_z_mm() + cut.run_out_mm + 1;
  const double radius = cut.diameter_mm / 2;
  return FindBar(job, {open_mm, out, radius, 1e9}, nullptr) == nullptr &&
         FindBar(job, {pilot->drill->diameter_mm, out, radius, 1e9}, nullptr) != nullptr;
}

// Spot, step drills and the last drill for the whole family; for a flat floor on the mill the floor
// too. open_mm: what is open already, and afterwards.
Status AddPilot(Job& job, const HoleCut& cut, const std::vector<Coaxial>& family,
                const Pilot& pilot, double& open_mm) {
  HoleCut whole = cut;
  whole.places.front().entry_S.z() = family.front().top_S;
  whole.depth_mm = family.front().top_S - pilot.tip_S;
  if (open_mm == 0) {
    if (const Status s = AddSpot(job, whole, std::min(pilot.drill->diameter_mm, 10.0)); !s) return s;
  }
  whole.through = pilot.through;
  if (const Status s = PlaceRunOut(job, whole); !s) return s;
  const Status drilled = AddDrills(job, whole, *pilot.drill, 0, family.front().top_S - pilot.tip_S);
  if (!drilled) return drilled;
  std::erase_if(job.result.steps, [&](const Step& step) {  // those that the hole lets through
    const Tool* drill = job.shop().Find(step.tool);
    return step.operation == Operation::kDrill && drill != nullptr && drill->diameter_mm <= open_mm;
  });
  open_mm = pilot.drill->diameter_mm;
  const bool blind = !cut.through && !pilot.through_floor &&
                     std::abs(pilot.tip_S - cut.floor_z_mm() - kFloorGap_mm) < 1e-3;
  if (job.lathe() || !blind || cut.hole->bottom != HoleBottom::kFlat) return Ok{};
  const Tool* mill = FindMill(job.shop(), job.machine(), 4, cut.diameter_mm - kLeastBoring_mm, true,
                              ReachFor(job, cut, cut.depth_mm));
  if (mill == nullptr)
    return NoPlan(job, "no centre-cutting cutter is long enough to flatten the floor");
  const auto settings = Settings(job, *mill, {trade::CutKind::kCounterbore, mill->diameter_mm});
  if (!settings) return Unexpected(settings.error());
  Step& step = AddStep(job, Operation::kMill, *mill, *settings);
  step.depth_mm = cut.depth_mm;
  step.levels_mm = {cut.depth_mm};
  if (const Status s = AddPlunges(job, step, *mill, cut, cut.depth_mm); !s) return s;
  step.words = fmt::format("Flatten the floor {} deep.", Num(cut.depth_mm));
  SetMinutes(job, step, cut.depth_mm / std::max(1.0, settings->feed_mm_min));
  open_mm = std::max(open_mm, mill->diameter_mm);
  return Ok{};
}

}  // namespace

Status TrueBeforeReaming(Job& job, const HoleCut& cut, double open_mm, double to_mm) {
  BoreCut bore;
  bore.from_mm = open_mm;
  bore.to_mm = to_mm;
  if (const Status s = AddBoreCut(job, cut, bore); !s) return s;
  job.result.steps.back().words += " That brings it true to the spindle; the reamer follows what it finds.";
  return Ok{};
}

Status CutByBoring(Job& job, const HoleCut& cut) {
  if (cut.places.size() != 1) {
    return NoPlan(
        job,
        fmt::format("{} mm has no drill in the shop, and a pattern is not bored one by one",
                    Num(cut.diameter_mm)),
        fmt::format("buy a {} mm drill", Num(cut.diameter_mm)));
  }
  if (!cut.through && cut.hole->bottom != HoleBottom::kFlat) {
    return NoPlan(job, "a bored blind hole cannot keep a drill's cone at its bottom",
                  "draw the bottom flat, or use a drill's size");
  }
  if (job.machine().kind == MachineToolKind::kDrillPress)
    return NoPlan(job, "a bore is not bored on the drill press");
  const std::vector<Coaxial> family = FamilyOf(job, cut);
  FW_CHECK(!family.empty(), job.ref.text());
  const std::optional<Pilot> pilot = FindPilot(job, family, cut);
  double open = OpenBefore(job, cut, family, pilot);
  if (open == 0 || WantsDrillingOut(job, cut, pilot, open)) {
    if (!pilot)
      return NoPlan(job, "no drill makes a hole for the boring tool to start in",
                    "buy a drill a little under the bore");
    if (const Status s = AddPilot(job, cut, family, *pilot, open); !s) return s;
  }
  const bool honed = job.feature.finish == Finish::kHoned && job.request.leave_mm <= 0;
  const double target = cut.diameter_mm - (honed ? kHoneAllowance_mm : 0);
  if (open > target - kZone_mm)
    return NoPlan(
        job, fmt::format("it stands open at {} already, wider than {}", Num(open), Num(target)));
  BoreCut bore;
  bore.from_mm = open;
  const bool flat = !cut.through;
  if (flat && job.lathe()) bore.face_in_mm = FaceInRadius(job, cut, family, pilot);
  if (target - open > 2 * kFinishLeft_mm) {
    BoreCut rough = bore;
    rough.to_mm = target - kFinishLeft_mm;
    // On the mill every setting goes to the floor, for each faces only its own ring of it.
    rough.floor_lift_mm = flat && job.lathe() && cut.depth_mm > 1 ? 0.2 : 0;
    if (const Status s = AddBoreCut(job, cut, rough); !s) return s;
    bore.from_mm = rough.to_mm;
  }
  bore.to_mm = target;
  bore.sizing = true;
  bore.to_size = !honed && job.request.leave_mm <= 0;
  if (const Status s = AddBoreCut(job, cut, bore); !s) return s;
  return honed ? AddHone(job, cut) : Status(Ok{});
}

}  // namespace fitwright::planner
