#include "fitwright/recognize/line_reading.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <set>

#include "fitwright/recognize/wall_loops.h"

namespace fitwright::recognize {
namespace {

// A cut of more stretches is no shape that one marks out and files.
constexpr std::size_t kMostStretches = 12;
constexpr std::size_t kMostOutline = 24;
// Loops of more are teeth.
constexpr std::size_t kMostRound = 40;
constexpr std::size_t kMostLevels = 12;
// A corner is broken by no more; longer runs that two slanting walls would close leave air between
// them and what else was cut there.
constexpr std::size_t kMostOfCorner = 2;
// How far beyond the part's sides an open cutout's line goes round.
constexpr double kBeyond_mm = 1;
// Longer arcs are said in two: a radius and two ends then place the middle well.
constexpr double kLongArc_rad = 2.1;
// How far off the line a wall may lie that it explains.
constexpr double kOnLine_mm = 0.005;

enum class Closing { kWalls, kRim, kNeighbours };

struct Candidate {
  int axis = 2;
  bool within = true;
  Closing closing = Closing::kWalls;
  ClosedLine line;
  std::vector<std::size_t> faces;
  std::size_t stretches = 0;
};

Vec2 Tidied(const Vec2& p) { return {Tidy(p.x()), Tidy(p.y())}; }

void AddStretch(const WallStretch& s, ClosedLine& line) {
  if (std::abs(s.turn_rad) <= kLongArc_rad) {
    line.push_back({Tidied(s.from_mm), s.turn_rad});
    return;
  }
  const Vec2 middle = MiddleOf({{s.from_mm, s.turn_rad}, {s.to_mm, 0}}, 0);
  line.push_back({Tidied(s.from_mm), 0.5 * s.turn_rad});
  line.push_back({Tidied(middle), 0.5 * s.turn_rad});
}

ClosedLine LineOf(const WallLoop& loop) {
  ClosedLine line;
  for (const WallStretch& s : loop) AddStretch(s, line);
  return line;
}

std::vector<std::size_t> FacesOf(const WallLoop& loop) {
  std::vector<std::size_t> faces;
  for (const WallStretch& s : loop) faces.push_back(s.face);
  std::sort(faces.begin(), faces.end());
  faces.erase(std::unique(faces.begin(), faces.end()), faces.end());
  return faces;
}

bool IsAnyFree(const Draft& draft, const WallLoop& loop) {
  return std::any_of(loop.begin(), loop.end(),
                     [&](const WallStretch& s) { return draft.IsFree(s.face); });
}

// The part's outside seen along an axis, and the way round it a little beyond.
struct Rim {
  bool round = false;
  Vec2 low = Vec2::Zero();
  Vec2 high = Vec2::Zero();
  double radius = 0;  // about the origin

  Vec2 Beyond(const Vec2& p, const Vec2& out) const {
    return round ? Vec2((radius + kBeyond_mm) * p.normalized()) : Vec2(p + kBeyond_mm * out);
  }
};

Rim RimOf(const Draft& draft, int axis) {
  Rim rim;
  rim.round = draft.part.envelope == EnvelopeKind::kTurned && axis == 2;
  rim.low = Across(draft.graph.box_P.min_mm, axis);
  rim.high = Across(draft.graph.box_P.max_mm, axis);
  rim.radius = rim.high.cwiseMax(-rim.low).maxCoeff();
  return rim;
}

// A wall of the envelope itself.
bool IsOnRim(const PlacedGraph& graph, const Rim& rim, int axis, const WallStretch& s) {
  const PlacedFace& face = graph.faces[s.face];
  if (rim.round)
    return IsCylinder(face) && !face.hollow &&
           AreCoaxial(face.axis_P, {Vec3::Zero(), Vec3::UnitZ()});
  if (!IsPlane(face)) return false;
  const Vec2 n = Across(face.axis_P.direction, axis);
  for (int way = 0; way < 2; ++way) {
    if (n[way] > 1 - kSameWay_rad && IsSame(s.from_mm[way], rim.high[way])) return true;
    if (n[way] < -1 + kSameWay_rad && IsSame(s.from_mm[way], rim.low[way])) return true;
  }
  return false;
}

// Of a point on the grown box's border, how far round it lies anticlockwise, in sides from its
// least corner.
double PlaceRound(const Vec2& p, const Vec2& low, const Vec2& high) {
  const Vec2 share = (p - low).cwiseQuotient(high - low);
  const double off[] = {std::abs(share.y()), std::abs(share.x() - 1), std::abs(share.y() - 1),
                        std::abs(share.x())};
  const auto side = std::min_element(std::begin(off), std::end(off)) - std::begin(off);
  const double along[] = {share.x(), share.y(), 1 - share.x(), 1 - share.y()};
  return static_cast<double>(side) + std::clamp(along[side], 0.0, 0.999999);
}

// Clockwise round the outside from one place to the other, both beyond it.
void GoRound(const Rim& rim, const Vec2& from, const Vec2& to, ClosedLine& line) {
  if (rim.round) {
    double turn = std::atan2(from.x() * to.y() - from.y() * to.x(), from.dot(to));
    if (turn >= 0) turn -= 2 * kPi;
    AddStretch({0, from, to, turn}, line);
    return;
  }
  line.push_back({Tidied(from), 0});
  const Vec2 low = rim.low - Vec2::Constant(kBeyond_mm);
  const Vec2 high = rim.high + Vec2::Constant(kBeyond_mm);
  const double start = PlaceRound(from, low, high);
  double end = PlaceRound(to, low, high);
  if (end > start) end -= 4;
  const Vec2 corners[] = {low, {high.x(), low.y()}, high, {low.x(), high.y()}};
  for (int corner = static_cast<int>(std::ceil(start)) - 1; corner > end; --corner)
    line.push_back({Tidied(corners[(corner + 8) % 4]), 0});
}

// A run of walls from one side of the part to another, closed outside of it.
Candidate OpenCut(const PlacedGraph& graph, const Rim& rim, int axis, const WallLoop& run,
                  const WallStretch& before, const WallStretch& after) {
  Candidate cut;
  cut.axis = axis;
  cut.closing = Closing::kRim;
  cut.line = LineOf(run);
  cut.faces = FacesOf(run);
  cut.stretches = run.size();
  const Vec2 end = run.back().to_mm;
  cut.line.push_back({Tidied(end), 0});
  GoRound(rim, rim.Beyond(end, Across(graph.faces[after.face].axis_P.direction, axis)),
          rim.Beyond(run.front().from_mm, Across(graph.faces[before.face].axis_P.direction, axis)),
          cut.line);
  cut.line.push_back({Tidied(rim.Beyond(run.front().from_mm,
                                        Across(graph.faces[before.face].axis_P.direction, axis))),
                      0});
  return cut;
}

Candidate WholeLoop(int axis, const WallLoop& loop, bool within) {
  Candidate whole;
  whole.axis = axis;
  whole.within = within;
  whole.line = LineOf(loop);
  whole.faces = FacesOf(loop);
  whole.stretches = loop.size();
  return whole;
}

// What a loop round material shows: runs between walls of the envelope, or an outline.
void AddRuns(const Draft& draft, int axis, const WallLoop& loop,
             std::vector<Candidate>& candidates) {
  const Rim rim = RimOf(draft, axis);
  const std::size_t count = loop.size();
  std::vector<bool> on_rim;
  for (const WallStretch& s : loop) on_rim.push_back(IsOnRim(draft.graph, rim, axis, s));
  const auto first = std::find(on_rim.begin(), on_rim.end(), true);
  if (first == on_rim.end()) {
    candidates.push_back(WholeLoop(axis, loop, false));
    return;
  }
  const auto start = static_cast<std::size_t>(first - on_rim.begin());
  std::size_t base = start;
  WallLoop run;
  std::vector<Candidate> runs;
  for (std::size_t k = 1; k <= count; ++k) {
    const std::size_t i = (start + k) % count;
    if (!on_rim[i]) {
      run.push_back(loop[i]);
      continue;
    }
    if (!run.empty() && IsAnyFree(draft, run))
      runs.push_back(OpenCut(draft.graph, rim, axis, run, loop[base], loop[i]));
    run.clear();
    base = i;
  }
  candidates.insert(candidates.end(), runs.begin(), runs.end());
  if (!runs.empty() && !rim.round) candidates.push_back(WholeLoop(axis, loop, false));
}

// Where the walls before and after a run meet when they go on beyond its ends; none where they run
// alike and are one line, which closes it by itself.
struct Meeting {
  bool closes = false;
  std::optional<Vec2> corner;
};

Meeting MeetBeyond(const WallStretch& before, const WallLoop& run, const WallStretch& after) {
  Meeting meeting;
  if (before.turn_rad != 0 || after.turn_rad != 0) return meeting;
  const Vec2 a = (before.to_mm - before.from_mm).normalized();
  const Vec2 b = (after.to_mm - after.from_mm).normalized();
  const Vec2 chord = run.back().to_mm - run.front().from_mm;
  const auto cross = [](const Vec2& p, const Vec2& q) { return p.x() * q.y() - p.y() * q.x(); };
  const double turn = cross(a, b);
  if (std::abs(turn) <= kSameWay_rad) {
    meeting.closes =
        a.dot(b) > 0 && a.dot(chord) > kSamePlace_mm && std::abs(cross(a, chord)) <= kSamePlace_mm;
    return meeting;
  }
  const double ahead = cross(chord, b) / turn;
  const double behind = cross(chord, a) / turn;
  meeting.closes = ahead > kSamePlace_mm && behind < -kSamePlace_mm;
  meeting.closes &= run.size() <= kMostOfCorner;
  if (meeting.closes) meeting.corner = run.front().from_mm + ahead * a;
  return meeting;
}

// Notches in a flat and broken corners: runs that the walls on both sides of them close, the
// shortest first.
void AddNotches(const Draft& draft, int axis, const WallLoop& loop,
                std::vector<Candidate>& candidates) {
  const std::size_t count = loop.size();
  for (std::size_t length = 1; length <= kMostStretches && length + 2 <= count; ++length) {
    for (std::size_t i = 0; i < count; ++i) {
      WallLoop run;
      for (std::size_t k = 0; k < length; ++k) run.push_back(loop[(i + k) % count]);
      if (!IsAnyFree(draft, run)) continue;
      const Meeting meeting =
          MeetBeyond(loop[(i + count - 1) % count], run, loop[(i + length) % count]);
      if (!meeting.closes) continue;
      Candidate cut = WholeLoop(axis, run, true);
      cut.closing = Closing::kNeighbours;
      cut.line.push_back({Tidied(run.back().to_mm), 0});
      if (meeting.corner) cut.line.push_back({Tidied(*meeting.corner), 0});
      if (std::abs(AreaWithin_mm2(cut.line)) > kSamePlace_mm) candidates.push_back(std::move(cut));
    }
  }
}

// Where along the axis all of its walls stand.
std::optional<Span> CommonSpan(const PlacedGraph& graph, const Candidate& cut) {
  Span common{-1e9, 1e9};
  for (const std::size_t f : cut.faces) {
    const auto span = SpanAlong(graph, f, Vec3::Unit(cut.axis));
    if (!span) return std::nullopt;
    common.from_mm = std::max(common.from_mm, span->from_mm);
    common.to_mm = std::min(common.to_mm, span->to_mm);
  }
  if (common.length_mm() <= kSamePlace_mm) return std::nullopt;
  return common;
}

// sense: of the way out along the axis; depth 0 = over all of the part.
Outline MakeOutline(const Candidate& cut, double sense, double entry_mm, double depth_mm) {
  Outline outline;
  outline.into_P = -sense * Vec3::Unit(cut.axis);
  outline.origin_P_mm[cut.axis] = Tidy(entry_mm);
  outline.u_P = Vec3::Unit((cut.axis + 1) % 3);
  outline.v_P = sense * Vec3::Unit((cut.axis + 2) % 3);
  outline.line = sense > 0 ? cut.line : Mirrored(cut.line);
  outline.within = cut.within;
  outline.depth_mm = Tidy(depth_mm);
  return outline;
}

// Over all of the part, from either side to where its walls end, and as far as they stand.
std::vector<Outline> WaysToCut(const PlacedGraph& graph, const Candidate& cut, const Span& span) {
  const double low = graph.box_P.min_mm[cut.axis];
  const double high = graph.box_P.max_mm[cut.axis];
  std::vector<Outline> ways = {MakeOutline(cut, 1, high, 0)};
  if (span.from_mm > low + kSamePlace_mm)
    ways.push_back(MakeOutline(cut, 1, high, high - span.from_mm));
  if (span.to_mm < high - kSamePlace_mm)
    ways.push_back(MakeOutline(cut, -1, low, span.to_mm - low));
  if (ways.size() == 3) {
    ways.push_back(MakeOutline(cut, 1, span.to_mm, span.length_mm()));
    ways.push_back(MakeOutline(cut, -1, span.from_mm, span.length_mm()));
  }
  return ways;
}

Vec2 InPlane(const Outline& outline, const Vec3& p) {
  return {outline.u_P.dot(p), outline.v_P.dot(p)};
}

// Its floor, and walls on its line that other cuts have parted from those that made it.
std::vector<std::size_t> AlsoExplained(const Draft& draft, const Candidate& cut,
                                       const Outline& outline) {
  std::vector<std::size_t> more;
  const double floor = outline.into_P.dot(outline.origin_P_mm) + outline.depth_mm;
  for (std::size_t f = 0; f < draft.graph.faces.size(); ++f) {
    const PlacedFace& face = draft.graph.faces[f];
    if (!draft.IsFree(f)) continue;
    const double distance = DistanceTo(outline.line, InPlane(outline, face.inner_P_mm));
    const double deep = outline.into_P.dot(face.inner_P_mm);
    const bool reached = outline.depth_mm == 0 || deep < floor + kSamePlace_mm;
    if (StandsAlong(face, cut.axis) && reached && std::abs(distance) < kOnLine_mm)
      more.push_back(f);
    const bool looks_out =
        IsPlane(face) && face.axis_P.direction.dot(outline.into_P) < -1 + kSameWay_rad;
    if (outline.depth_mm > 0 && looks_out && IsSame(deep, floor) &&
        (distance < 0) == outline.within)
      more.push_back(f);
  }
  return more;
}

// Two straight stretches of walls that meet in a hollow corner.
bool HasSharpCorner(const Outline& outline) {
  const ClosedLine& line = outline.line;
  const double hand = AreaWithin_mm2(line) > 0 ? 1 : -1;
  for (std::size_t i = 0; i < line.size(); ++i) {
    const LineCorner& here = line[(i + 1) % line.size()];
    if (line[i].turn_rad != 0 || here.turn_rad != 0) continue;
    const Vec2 a = (here.at_mm - line[i].at_mm).normalized();
    const Vec2 b = (line[(i + 2) % line.size()].at_mm - here.at_mm).normalized();
    const double bend = hand * (a.x() * b.y() - a.y() * b.x());
    if (outline.within ? bend > 1e-3 : bend < -1e-3) return true;
  }
  return false;
}

// An arc among the walls was taken for a hole's that would cut metal.
void DropFalseHoles(Draft& draft, const std::vector<std::size_t>& faces,
                    const TakesOnlyAir& takes_only_air) {
  std::vector<FeatureId> wrong;
  for (const Feature& feature : draft.part.features) {
    if (!std::holds_alternative<Hole>(feature.shape)) continue;
    const auto& held = draft.faces[feature.name];
    const bool shared = std::any_of(held.begin(), held.end(), [&](std::size_t f) {
      return std::find(faces.begin(), faces.end(), f) != faces.end();
    });
    if (shared && !takes_only_air(draft.part, feature)) wrong.push_back(feature.name);
  }
  for (const FeatureId& name : wrong) draft.Drop(name, "");
}

// Breaks of corners all of whose faces a cut right through explains: two cutters with one face in
// common are the kernel's weakest work.
void DropCoveredBreaks(Draft& draft, const std::vector<std::size_t>& faces) {
  std::vector<FeatureId> covered;
  for (const Feature& feature : draft.part.features) {
    const auto& held = draft.faces[feature.name];
    const bool is_break = std::holds_alternative<EdgeChamfer>(feature.shape) && !held.empty();
    const bool all = std::all_of(held.begin(), held.end(), [&](std::size_t f) {
      return std::find(faces.begin(), faces.end(), f) != faces.end();
    });
    if (is_break && all) covered.push_back(feature.name);
  }
  for (const FeatureId& name : covered) draft.Drop(name, "");
}

bool TryCut(Draft& draft, const Candidate& cut, const TakesOnlyAir& takes_only_air,
            std::set<std::vector<std::size_t>>& tried) {
  if (cut.stretches > (cut.within ? kMostStretches : kMostOutline) || CrossesItself(cut.line))
    return false;
  const auto span = CommonSpan(draft.graph, cut);
  std::vector<std::size_t> key = cut.faces;
  key.push_back(draft.graph.faces.size() +
                static_cast<std::size_t>(6 * static_cast<int>(cut.closing) + 2 * cut.axis +
                                         (cut.within ? 1 : 0)));
  if (!span || !tried.insert(key).second) return false;
  for (const Outline& outline : WaysToCut(draft.graph, cut, *span)) {
    Feature feature;
    feature.name = FeatureId(cut.within ? "cutout" : "outline");
    feature.shape = outline;
    if (!takes_only_air(draft.part, feature)) continue;
    DropFalseHoles(draft, cut.faces, takes_only_air);
    if (outline.depth_mm == 0) DropCoveredBreaks(draft, cut.faces);
    const FeatureId name = draft.Add(feature.name.text(), outline, cut.faces);
    draft.Explain(name, AlsoExplained(draft, cut, outline));
    if (cut.closing == Closing::kWalls && HasSharpCorner(outline)) {
      draft.Say(
          name, "line",
          "Drawn with sharp inside corners: they are filed out, or stay as round as the cutter.");
    }
    return true;
  }
  return false;
}

bool HasSlantingWall(const PlacedGraph& graph, const WallLoop& loop) {
  return std::any_of(loop.begin(), loop.end(), [&](const WallStretch& s) {
    const PlacedFace& face = graph.faces[s.face];
    return IsPlane(face) && !AlongAxis(face.axis_P.direction);
  });
}

void SayTeeth(Draft& draft, const WallLoop& loop) {
  for (const WallStretch& s : loop) {
    if (!draft.IsFree(s.face)) continue;
    draft.why[s.face] =
        "teeth or many notches all round: a form cutter and a dividing head make them, or they are "
        "bought; a sheet has no word for them";
  }
}

bool IsHollow(const WallLoop& loop) { return AreaWithin_mm2(LineOf(loop)) < 0; }

using Tried = std::set<std::vector<std::size_t>>;

void ReadLoop(Draft& draft, int axis, const WallLoop& loop, const TakesOnlyAir& takes_only_air,
              Tried& tried) {
  if (loop.size() > kMostRound) {
    SayTeeth(draft, loop);
    return;
  }
  std::vector<Candidate> candidates;
  if (IsHollow(loop)) {
    candidates.push_back(WholeLoop(axis, loop, true));
  } else {
    AddRuns(draft, axis, loop, candidates);
  }
  AddNotches(draft, axis, loop, candidates);
  for (const Candidate& cut : candidates) {
    const bool free = std::any_of(cut.faces.begin(), cut.faces.end(),
                                  [&](std::size_t f) { return draft.IsFree(f); });
    if (free) TryCut(draft, cut, takes_only_air, tried);
  }
}

}  // namespace

void ReadSlantingHollows(Draft& draft, const TakesOnlyAir& takes_only_air) {
  std::set<std::vector<std::size_t>> tried;
  for (const int axis : {2, 1, 0}) {
    for (const double level : ChooseLevels(draft.graph, axis, kMostLevels)) {
      for (const WallLoop& loop : FindWallLoops(draft.graph, axis, level)) {
        if (!IsAnyFree(draft, loop) || !HasSlantingWall(draft.graph, loop) || !IsHollow(loop))
          continue;
        TryCut(draft, WholeLoop(axis, loop, true), takes_only_air, tried);
      }
    }
  }
}

void ReadLines(Draft& draft, const TakesOnlyAir& takes_only_air) {
  Tried tried;
  for (const int axis : {2, 1, 0}) {
    for (const double level : ChooseLevels(draft.graph, axis, kMostLevels)) {
      for (const WallLoop& loop : FindWallLoops(draft.graph, axis, level)) {
        if (IsAnyFree(draft, loop)) ReadLoop(draft, axis, loop, takes_only_air, tried);
      }
    }
  }
}

}  // namespace fitwright::recognize
