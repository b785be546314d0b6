// Slots and pockets on the mill, and spotting through a mate.
#include <algorithm>
#include <cmath>

#include "fitwright/planner/paths.h"
#include "fitwright/planner/paths_design.h"
#include "fitwright/planner/process_common.h"

namespace fitwright::planner {
namespace {

constexpr double kFinishLevel_mm = 0.2;
constexpr double kDimpleShare =
    0.85;  // of the tapping drill: the dimple goes away with the drilling
constexpr double kFillsWithin_mm = 0.15;  // a drill that loose in the mate's hole still spots it

// A sunk shape seen from above.
struct Sunk {
  FlatRegion shape;  // half lengths of the finished shape
  double entry_z = 0;
  double floor_z = 0;  // of the path: run-out included
  double depth_mm = 0;
  double run_out_mm = 0;
};

Result<Sunk> ReadSunk(const Job& job, const Vec3& into_P, const Vec3& centre_P, const Vec3& along_P,
                      double length_mm, double width_mm, double depth_mm, bool through) {
  const Vec3 into = job.DirToS(into_P);
  const bool reversed = into.z() > 1 - kDirection && through;
  if (into.z() > -1 + kDirection && !reversed) {
    return NoPlan(job, "it is not open towards the spindle in this setup",
                  "turn the part so that it is");
  }
  const Vec3 centre = job.ToS(reversed ? Vec3(centre_P + into_P * depth_mm) : centre_P);
  const Vec3 along = job.DirToS(along_P);
  Sunk sunk;
  sunk.shape.centre_mm = Vec2(centre.x(), centre.y());
  sunk.shape.u = Vec2(along.x(), along.y()).normalized();
  sunk.shape.half_u_mm = length_mm / 2;
  sunk.shape.half_v_mm = width_mm / 2;
  sunk.entry_z = centre.z();
  sunk.depth_mm = depth_mm;
  sunk.floor_z = centre.z() - depth_mm;
  if (!through) return sunk;
  HoleCut cut;
  cut.places.push_back({0, centre});
  cut.depth_mm = depth_mm;
  cut.through = true;
  if (const Status s = PlaceRunOut(job, cut); !s) return Unexpected(s.error());
  sunk.run_out_mm = cut.run_out_mm;
  sunk.floor_z -= cut.run_out_mm;
  return sunk;
}

Reach ReachOf(const Job& job, const Sunk& sunk) {
  HoleCut cut;
  cut.places.push_back({0, Vec3(sunk.shape.centre_mm.x(), sunk.shape.centre_mm.y(), sunk.entry_z)});
  return ReachFor(job, cut, sunk.entry_z - sunk.floor_z);
}

// Centre-cutting cutters within the diameters, largest first and of one size the shortest first,
// that run the path without touching the finished part with flutes or shank.
const Tool* FindClearMill(const Job& job, double least_mm, double most_mm, const Reach& reach,
                          const std::function<PathPiece(const Tool&)>& path_of) {
  std::vector<const Tool*> tools;
  for (const Tool& t : job.shop().tools) {
    const bool mill = t.kind == ToolKind::kEndMill || t.kind == ToolKind::kSlotDrill;
    if (!mill || !t.centre_cutting || !GoesOn(t, job.machine()) || !LongEnough(t, reach)) continue;
    if (t.diameter_mm >= least_mm - kZone_mm && t.diameter_mm <= most_mm + kZone_mm)
      tools.push_back(&t);
  }
  std::stable_sort(tools.begin(), tools.end(), [](const Tool* a, const Tool* b) {
    if (std::abs(a->diameter_mm - b->diameter_mm) > kZone_mm)
      return a->diameter_mm > b->diameter_mm;
    return a->flute_mm < b->flute_mm;
  });
  for (const Tool* t : tools) {
    if (!FindGouge(job.part(), job.piece.X_PS, *t, path_of(*t), job.highest_S_mm())) return t;
  }
  return nullptr;
}

Status AddClearing(Job& job, const Sunk& sunk, const Tool& tool, PathPiece piece,
                   const std::string& words) {
  const auto settings = Settings(job, tool, {trade::CutKind::kMillSlot, tool.diameter_mm});
  if (!settings) return Unexpected(settings.error());
  Step& step = AddStep(job, Operation::kMill, tool, *settings);
  step.depth_mm = sunk.depth_mm + sunk.run_out_mm;
  step.levels_mm = PassLevels(step.depth_mm, settings->depth_mm, kFinishLevel_mm);
  const double length = LengthOf(piece.points_S_mm);
  if (const Status s = AddPath(job, step, tool, std::move(piece)); !s) return s;
  step.words = fmt::format(
      "{}, down in {} levels of {} mm.", words, step.levels_mm.size(),
      Num(std::round(10 * (step.levels_mm.size() > 1 ? step.levels_mm.front() : step.depth_mm)) /
          10));
  step.caution = "It plunges into metal: a slot drill, or an end mill whose teeth meet at its centre, fed down gently. Clear the chips between levels.";
  SetMinutes(job, step,
             static_cast<double>(step.levels_mm.size()) * (length / settings->feed_mm_min + 0.3));
  return Ok{};
}

// Ends drilled at the full width, then the walls with a smaller cutter between them.
Status CutSlotFromEnds(Job& job, const Slot& slot, const Sunk& sunk, double width_mm) {
  Hole end;
  end.into_P = slot.into_P;
  end.depth_mm = slot.depth_mm;
  end.through = true;
  end.diameter = slot.width;
  const double half = sunk.shape.half_u_mm - width_mm / 2;
  HoleCut cut;
  cut.hole = &end;
  cut.depth_mm = slot.depth_mm;
  cut.diameter_mm = width_mm;
  cut.through = true;
  for (const double at : {-half, half}) {
    const Vec2 p = sunk.shape.At(at, 0);
    cut.places.push_back({static_cast<int>(cut.places.size()), Vec3(p.x(), p.y(), sunk.entry_z)});
  }
  end.entries_P_mm = {job.piece.X_PS * cut.places[0].entry_S,
                      job.piece.X_PS * cut.places[1].entry_S};
  if (const Status s = PlaceRunOut(job, cut); !s) return s;
  const Tool* drill =
      FindDrill(job.shop(), job.machine(), width_mm, 0, ReachFor(job, cut, slot.depth_mm));
  if (drill == nullptr) {
    return NoPlan(job,
                  fmt::format("neither a cutter nor a drill of {} mm for the slot's round ends",
                              Num(width_mm)),
                  fmt::format("buy a {} mm drill", Num(width_mm)));
  }
  const auto tip = DrillTipDepth(job, cut, drill->diameter_mm, drill->point_deg);
  if (!tip) return Unexpected(tip.error());
  const auto path_of = [&](const Tool& t) {
    FlatRegion room = sunk.shape;
    room.half_u_mm = half;
    room.half_v_mm = (width_mm - t.diameter_mm) / 2;
    PathPiece piece;
    piece.kind = PathKind::kMill;
    piece.points_S_mm = ClearRoom(room, sunk.floor_z, t.diameter_mm);
    return piece;
  };
  const Tool* mill =
      FindClearMill(job, 0.5 * width_mm, width_mm - 0.05, ReachOf(job, sunk), path_of);
  if (mill == nullptr)
    return NoPlan(job, fmt::format("no cutter under {} mm reaches {} deep", Num(width_mm),
                                   Num(ReachOf(job, sunk).cut_mm)));
  if (const Status s = AddSpot(job, cut, drill->diameter_mm); !s) return s;
  if (const Status s = AddDrills(job, cut, *drill, 0, *tip); !s) return s;
  job.result.steps.back().words =
      fmt::format("Drill both ends of the slot {} right through.", Num(width_mm));
  return AddClearing(
      job, sunk, *mill, path_of(*mill),
      fmt::format("Mill the slot {} by {} out between the two holes with the {}, to both walls",
                  Num(width_mm), Num(slot.length_mm), mill->words));
}

// Somewhere along the straight part of a slot there is metal on both sides of it.
bool BothWallsStand(const Job& job, const Sunk& sunk, double width_mm) {
  constexpr double kBehind_mm = 0.3;
  const FlatRegion& r = sunk.shape;
  const double straight = r.half_u_mm - width_mm / 2;
  const double z = sunk.entry_z - sunk.depth_mm / 2;
  const auto stands = [&](double along, double across) {
    const Vec2 p = r.At(along, across);
    return DesignStands(job, Vec3(p.x(), p.y(), z));
  };
  for (const double share : {0.0, -0.5, 0.5, -0.95, 0.95}) {
    const double off = width_mm / 2 + kBehind_mm;
    if (stands(share * straight, off) && stands(share * straight, -off)) return true;
  }
  return false;
}

// A pocket or slot that was cut before has opened the slot's middle all the way down.
bool IsOpenInTheMiddle(const Job& job, const Sunk& sunk) {
  constexpr double kAbove_mm = 0.1;
  const Vec2 middle = sunk.shape.At(0, 0);
  return std::any_of(job.part().features.begin(), job.part().features.end(), [&](const Feature& f) {
    const bool sunk_shape = std::holds_alternative<Pocket>(f.shape) || std::holds_alternative<Slot>(f.shape);
    if (!sunk_shape || !job.IsMade(f.name)) return false;
    const auto taken = [&](double z) { return FeatureTakes(job.part(), f, job.piece.X_PS * Vec3(middle.x(), middle.y(), z)); };
    return taken(sunk.floor_z + kAbove_mm) && taken(sunk.entry_z - kAbove_mm);
  });
}

// A bore that the cutter goes down in to reach what it mills and that it all but touches where its middle stands furthest out:
// at `ends` from centre_P_mm.
std::string BoreBesideWords(const Part& part, const Vec3& into_P, const Vec3& centre_P_mm, const std::vector<Vec3>& ends, double radius_mm) {
  constexpr double kAllBut_mm = 0.15;  // no further than a spindle is centred off and a cutter swings (opinion)
  for (const Feature& f : part.features) {
    const auto* bore = std::get_if<Hole>(&f.shape);
    if (bore == nullptr || bore->entries_P_mm.size() != 1 || std::abs(bore->into_P.dot(into_P)) < 1 - kDirection) continue;
    const Vec3 at = centre_P_mm - bore->entries_P_mm.front();
    const double down = bore->into_P.dot(at);
    if (down < kZone_mm || down > bore->depth_mm + kZone_mm) continue;  // the cut begins above it or below
    double gap = 1e9;
    for (const Vec3& end : ends) gap = std::min(gap, bore->diameter.middle_mm() / 2 - Vec3(at - bore->into_P * down + end).norm() - radius_mm);
    if (gap > 0 && gap < kAllBut_mm)
      return fmt::format(" Where it turns the cutter passes {} mm from the wall of {}, on its way down too: x and y 0 on that bore within half of it, the rows walked once by hand, the spindle stopped.", Num(gap), NameWords(f.name));
  }
  return {};
}

}  // namespace

Status CutSlot(Job& job) {
  const auto& slot = std::get<Slot>(job.feature.shape);
  const double width = slot.width.middle_mm() - 2 * job.request.leave_mm;
  const auto sunk = ReadSunk(job, slot.into_P, slot.centre_P_mm, slot.along_P, slot.length_mm,
                             width, slot.depth_mm, slot.through);
  if (!sunk) return Unexpected(sunk.error());
  const double half = sunk->shape.half_u_mm - width / 2;
  const bool open = IsOpenInTheMiddle(job, *sunk);
  const auto path_of = [&](const Tool& t) {
    FlatRegion room = sunk->shape;
    room.half_u_mm = half;
    room.half_v_mm = 0;
    PathPiece piece;
    piece.kind = PathKind::kMill;
    piece.points_S_mm = ClearRoom(room, sunk->floor_z, t.diameter_mm);
    if (open) {
      const Vec2 middle = sunk->shape.At(0, 0);
      piece.points_S_mm.insert(piece.points_S_mm.begin(), Vec3(middle.x(), middle.y(), sunk->floor_z));
    }
    return piece;
  };
  const Tool* exact = FindClearMill(job, width, width, ReachOf(job, *sunk), path_of);
  Status done = Ok{};
  if (exact != nullptr) {
    done = AddClearing(job, *sunk, *exact, path_of(*exact),
                       fmt::format("Mill the slot {} by {} with the {}", Num(width),
                                   Num(slot.length_mm), exact->words));
    if (done && open) job.result.steps.back().caution = "Down in the open middle, then out to either end, fed gently. Clear the chips between levels.";
  } else if (slot.through) {
    done = CutSlotFromEnds(job, slot, *sunk, width);
  } else {
    done = NoPlan(job,
                  fmt::format("no {} mm centre-cutting cutter goes {} deep there", Num(width),
                              Num(slot.depth_mm)),
                  fmt::format("buy a long {} mm cutter", Num(width)));
  }
  if (!done) return done;
  Step& step = job.result.steps.back();
  const Vec3 to_end = slot.along_P * ((slot.length_mm - width) / 2);
  step.caution += BoreBesideWords(job.part(), slot.into_P, slot.centre_P_mm, {to_end, Vec3(-to_end)}, width / 2);
  step.aim = MakeAim(job, slot.width, SafeSide::kSmall, "milled_thickness");
  if (!BothWallsStand(job, *sunk, width)) {
    step.words += " No two straight walls are left to measure between: its width is the cutter's, its place what the dials say.";
    return Ok{};
  }
  SetMeasure(job, step,
             {{InstrumentKind::kCaliper},
              slot.width.middle_mm(),
              slot.width.lower_mm,
              slot.width.upper_mm,
              ""});
  return Ok{};
}

Status CutPocket(Job& job) {
  const auto& pocket = std::get<Pocket>(job.feature.shape);
  const auto sunk = ReadSunk(job, pocket.into_P, pocket.centre_P_mm, pocket.along_P,
                             pocket.length_mm, pocket.width_mm, pocket.depth_mm, false);
  if (!sunk) return Unexpected(sunk.error());
  const double d = 2 * pocket.corner_radius_mm;
  if (d < 1)
    return NoPlan(job, "its corners are drawn sharp, a cutter leaves a radius",
                  "give the corners a cutter's radius");
  const auto path_of = [&](const Tool& t) {
    FlatRegion room = sunk->shape;
    room.half_u_mm -= t.diameter_mm / 2;
    room.half_v_mm -= t.diameter_mm / 2;
    PathPiece piece;
    piece.kind = PathKind::kMill;
    piece.points_S_mm = ClearRoom(room, sunk->floor_z, t.diameter_mm);
    return piece;
  };
  const Tool* tool = FindClearMill(job, d, d, ReachOf(job, *sunk), path_of);
  if (tool == nullptr) {
    job.result.missing.push_back({fmt::format("{} mm centre-cutting cutter, {} mm of flute", Num(d),
                                              Num(ReachOf(job, *sunk).cut_mm)),
                                  1, "for " + job.ref.text()});
    return NoPlan(job,
                  fmt::format("no {} mm cutter for its corner radius goes {} deep there", Num(d),
                              Num(pocket.depth_mm)),
                  fmt::format("buy a long {} mm cutter", Num(d)));
  }
  const Status done = AddClearing(
      job, *sunk, *tool, path_of(*tool),
      fmt::format("Mill the pocket {} by {} with the {}: rows against the cutter, back through the cut, then once round the walls",
                  Num(pocket.length_mm), Num(pocket.width_mm), tool->words));
  if (done) {
    const Vec3 along = pocket.along_P * (pocket.length_mm / 2 - pocket.corner_radius_mm);
    const Vec3 across = pocket.into_P.cross(pocket.along_P).normalized() * (pocket.width_mm / 2 - pocket.corner_radius_mm);
    job.result.steps.back().caution +=
        BoreBesideWords(job.part(), pocket.into_P, pocket.centre_P_mm, {along + across, along - across, across - along, -along - across}, pocket.corner_radius_mm);
  }
  return done;
}

Status CutSpotThrough(Job& job) {
  const auto cut = ReadHole(job);
  if (!cut) return Unexpected(cut.error());
  const FeatureRef& through = *job.request.through;
  const PieceInSetup* mate = nullptr;
  for (const PieceInSetup& p : job.context.pieces) {
    if (p.part->name == through.part) mate = &p;
  }
  const Feature* holes = mate == nullptr ? nullptr : mate->part->Find(through.feature);
  const auto* mate_hole = holes == nullptr ? nullptr : std::get_if<Hole>(&holes->shape);
  if (mate_hole == nullptr)
    return NoPlan(job, fmt::format("{} is not in the setup to spot through", through.text()),
                  "put the mate on first");
  const double fill = mate_hole->diameter.middle_mm();
  const Reach reach{0, job.highest_S_mm() - cut->entry_z_mm() + 2};
  const Tool* drill =
      FindDrillWithin(job.shop(), job.machine(), fill, fill - kFillsWithin_mm, fill, 0, reach);
  if (drill == nullptr) {
    return NoPlan(job,
                  fmt::format("no drill fills the {} mm holes of {} and reaches {} mm", Num(fill),
                              through.part.text(), Num(reach.out_mm)),
                  fmt::format("buy a {} mm drill: a loose one wanders in the hole", Num(fill)));
  }
  const auto settings = Settings(job, *drill, {trade::CutKind::kSpot, drill->diameter_mm});
  if (!settings) return Unexpected(settings.error());
  Step& step = AddStep(job, Operation::kSpotThrough, *drill, *settings);
  step.through = through;
  const double dimple = std::min(kDimpleShare * cut->diameter_mm, drill->diameter_mm);
  const double deep = 0.5 * dimple / std::tan(0.5 * drill->point_deg * kRadPerDeg);
  step.depth_mm = deep;
  step.levels_mm = {deep};
  if (const Status s = AddPlunges(job, step, *drill, *cut, deep); !s) return s;
  const std::size_t all = cut->hole->entries_P_mm.size();
  std::string which = fmt::format("hole {}", cut->places.front().index + 1);
  if (all == 1) which = "the hole";
  if (cut->places.size() > 1) {
    which = (cut->places.size() == all ? "the " : "the other ") + CountWords(cut->places.size());
  }
  step.words = fmt::format(
      "Spot {} through {} with the {}, which fills its holes: a dimple about {} across, no deeper.",
      which, through.part.text(), drill->words, Num(std::round(10 * dimple) / 10));
  if (std::abs(drill->diameter_mm - fill) > 0.02) {
    job.result.warnings.push_back(fmt::format(
        "{}: the {} is {} loose in the holes of {}; one that fills them spots truer.",
        job.ref.text(), drill->words, Num(fill - drill->diameter_mm), through.part.text()));
  }
  SetMinutes(job, step, 0.3 * static_cast<double>(cut->places.size()),
             job.shop().times.move_to_hole * static_cast<double>(cut->places.size()));
  return Ok{};
}

}  // namespace fitwright::planner
