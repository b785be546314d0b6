#include <fmt/format.h>

#include <cmath>

#include "fitwright/reckon/entries.h"
#include "fitwright/reckon/hole_layout.h"

namespace fitwright::reckon {
namespace {

constexpr double kMostHoles = 360;
// Nearer to a full turn than this is none.
constexpr double kFullTurn_rad = 1e-9;
// A hole is drawn as this share of what the layout measures across.
constexpr double kMarkShare = 0.02;

Table CoordinateTable(const std::vector<Vec2>& points, const std::vector<double>& angles_rad) {
  Table table;
  table.title = "Holes";
  table.columns = {{"hole", Kind::kCount}, {"X", Kind::kLength}, {"Y", Kind::kLength}};
  if (!angles_rad.empty()) table.columns.push_back({"angle", Kind::kAngle});
  for (std::size_t i = 0; i < points.size(); ++i) {
    table.rows.push_back({static_cast<double>(i + 1), points[i].x(), points[i].y()});
    if (!angles_rad.empty()) table.rows.back().emplace_back(angles_rad[i]);
  }
  return table;
}

std::vector<double> AnglesOf(int count, double start_rad, double step_rad) {
  std::vector<double> angles;
  for (int i = 0; i < count; ++i) {
    double angle = std::fmod(start_rad + i * step_rad, kTurn_rad);
    if (angle < 0) angle += kTurn_rad;
    angles.push_back(angle > kTurn_rad - kFullTurn_rad ? 0 : angle);
  }
  return angles;
}

void DrawHoles(Drawing& drawing, const std::vector<Vec2>& points, double across_mm) {
  const double mark = kMarkShare * across_mm;
  for (std::size_t i = 0; i < points.size(); ++i) {
    drawing.rounds.push_back({points[i], mark, Style::kVisible});
    drawing.labels.push_back({points[i] + Vec2(2.2 * mark, 1.2 * mark), fmt::format("{}", i + 1)});
  }
}

void DrawCross(Drawing& drawing, const Vec2& centre, double reach_mm) {
  drawing.stretches.push_back(
      {centre - Vec2(reach_mm, 0), centre + Vec2(reach_mm, 0), Style::kCentre});
  drawing.stretches.push_back(
      {centre - Vec2(0, reach_mm), centre + Vec2(0, reach_mm), Style::kCentre});
}

double Handed(const Given& given) { return given.Word("way") == "clockwise" ? -1 : 1; }

Result<Reckoned> BoltCircle(const Given& given) {
  const double diameter = given.Number("diameter");
  const int holes = given.Count("holes");
  const Vec2 centre(given.Number("x"), given.Number("y"));
  const double step = Handed(given) * kTurn_rad / holes;
  const double start = given.Number("start");
  const auto points = PointsOnCircle(centre, 0.5 * diameter, holes, start, step);
  Reckoned r;
  r.Add("straight from hole to hole", Kind::kLength, ChordOf_mm(diameter, holes));
  r.Add("angle from hole to hole", Kind::kAngle, std::abs(step));
  r.tables.push_back(CoordinateTable(points, AnglesOf(holes, start, step)));
  r.source = "geometry: x = x0 + D/2 cos(a), y = y0 + D/2 sin(a); chord = D sin(180 deg / n)";
  DrawCross(r.drawing, centre, 0.58 * diameter);
  r.drawing.rounds.push_back({centre, 0.5 * diameter, Style::kCentre});
  DrawHoles(r.drawing, points, diameter);
  return r;
}

Result<Reckoned> HoleArc(const Given& given) {
  const int holes = given.Count("holes");
  const double start = given.Number("start");
  const double sweep = given.Number("sweep");
  const double radius = given.Number("radius");
  const Vec2 centre(given.Number("x"), given.Number("y"));
  const double step = Handed(given) * sweep / (holes - 1);
  const auto points = PointsOnCircle(centre, radius, holes, start, step);
  Reckoned r;
  r.Add("straight from hole to hole", Kind::kLength, 2 * radius * std::sin(std::abs(step) / 2));
  r.Add("angle from hole to hole", Kind::kAngle, std::abs(step));
  r.tables.push_back(CoordinateTable(points, AnglesOf(holes, start, step)));
  r.source = "geometry: x = x0 + R cos(a), y = y0 + R sin(a); chord = 2 R sin(step / 2)";
  DrawCross(r.drawing, centre, 0.3 * radius);
  for (const Vec2& point : points) r.drawing.stretches.push_back({centre, point, Style::kCentre});
  DrawHoles(r.drawing, points, 2 * radius);
  return r;
}

Result<Reckoned> HoleGrid(const Given& given) {
  Grid grid;
  grid.first_mm = Vec2(given.Number("x"), given.Number("y"));
  grid.columns = given.Count("columns");
  grid.rows = given.Count("rows");
  grid.pitch_mm = Vec2(given.Number("along"), given.Number("up"));
  grid.turn_rad = given.Number("turn");
  const auto points = PointsOfGrid(grid);
  Reckoned r;
  r.Add("holes", Kind::kCount, static_cast<double>(points.size()));
  r.Add("first to last, straight", Kind::kLength, (points.back() - points.front()).norm());
  r.tables.push_back(CoordinateTable(points, {}));
  r.source = "geometry: each step along turned by the angle from the X axis";
  DrawHoles(r.drawing, points, std::max((points.back() - points.front()).norm(), 1.0));
  return r;
}

Input ZeroX() {
  return Usual("x", Kind::kLength, "0 mm", "X of the centre from your zero", -kMostLength_mm,
               kMostLength_mm);
}
Input ZeroY() {
  return Usual("y", Kind::kLength, "0 mm", "Y of the centre from your zero", -kMostLength_mm,
               kMostLength_mm);
}
Input Start() {
  return Usual("start", Kind::kAngle, "0", "the first hole's angle from the X axis", -kTurn_rad,
               kTurn_rad);
}
Input Way() { return Choice("way", "anticlockwise", "which way round", "anticlockwise clockwise"); }

}  // namespace

std::vector<Reckoning> LayoutEntries() {
  return {
      {"bolt-circle",
       "Coordinates of holes equally spaced on a circle, from any zero.",
       "diameter=60 holes=6 start=15",
       {Needs("diameter", Kind::kLength, "diameter of the circle through the holes"),
        Needs("holes", Kind::kCount, "how many holes", 2, kMostHoles), Start(), ZeroX(), ZeroY(),
        Way()},
       BoltCircle},
      {"hole-arc",
       "Coordinates of holes equally spaced along part of a circle.",
       "radius=40 holes=5 sweep=90 start=45",
       {Needs("radius", Kind::kLength, "radius of the arc through the holes"),
        Needs("holes", Kind::kCount, "how many holes", 2, kMostHoles),
        Needs("sweep", Kind::kAngle, "angle from the first hole to the last", 1e-6, kTurn_rad),
        Start(), ZeroX(), ZeroY(), Way()},
       HoleArc},
      {"hole-grid",
       "Coordinates of holes in rows and columns, the whole turned if wanted.",
       "columns=3 rows=2 along=25 up=20 x=10 y=15 turn=5",
       {Needs("columns", Kind::kCount, "holes in a row", 1, 100),
        Needs("rows", Kind::kCount, "how many rows", 1, 100),
        Needs("along", Kind::kLength, "from hole to hole in a row"),
        Needs("up", Kind::kLength, "from row to row"),
        Usual("x", Kind::kLength, "0 mm", "X of the first hole from your zero", -kMostLength_mm,
              kMostLength_mm),
        Usual("y", Kind::kLength, "0 mm", "Y of the first hole from your zero", -kMostLength_mm,
              kMostLength_mm),
        Usual("turn", Kind::kAngle, "0", "the grid turned from the X axis", -kTurn_rad, kTurn_rad)},
       HoleGrid},
  };
}

}  // namespace fitwright::reckon
