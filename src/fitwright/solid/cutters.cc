#include "fitwright/solid/cutters.h"

#include <BRepPrimAPI_MakePrism.hxx>
#include <BRepPrimAPI_MakeRevol.hxx>
#include <TopExp_Explorer.hxx>
#include <TopoDS.hxx>
#include <algorithm>
#include <cmath>
#include <gp_Ax1.hxx>
#include <gp_Vec.hxx>

#include "fitwright/solid/arcs.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/kernel.h"
#include "fitwright/solid/measure.h"
#include "fitwright/solid/outline_prism.h"
#include "fitwright/solid/planar.h"
#include "fitwright/solid/primitives.h"

namespace fitwright::solid {
namespace {

// Directions of a milling line: level when it rises less than this, upright when it strays less.
constexpr double kLevel_mm = 1e-6;
constexpr double kFarOut_mm = 1000;  // round an outline that is cut by hand

bool SweepsNothing(ToolKind kind) {
  switch (kind) {
    case ToolKind::kTap:
    case ToolKind::kTransferPunch:
    case ToolKind::kFile:
      return true;
    default:
      return false;
  }
}

bool CutsFlat(ToolKind kind) { return kind == ToolKind::kBoringHead || kind == ToolKind::kHone; }

Error BadTool(const Tool& tool, const char* what, double value) {
  return RangeError(fmt::format("tool {}: {}", tool.name.text(), what),
                    fmt::format("{:.6g}", value), "give the tool's true sizes");
}

// A body of revolution that hangs on the spindle: outline (r, z) with z above the tip.
struct SpindleBody {
  std::vector<Vec2> outline;
  bool cylinder = false;  // flat bottom, one diameter
  double diameter_mm = 0;
  double bottom_mm = 0;
  double top_mm = 0;
};

SpindleBody MakeSpindleCylinder(double diameter_mm, double bottom_mm, double top_mm) {
  const double r = 0.5 * diameter_mm;
  return {{{0, bottom_mm}, {r, bottom_mm}, {r, top_mm}, {0, top_mm}},
          true,
          diameter_mm,
          bottom_mm,
          top_mm};
}

// The body drawn out upward by lift_mm, as when it comes down from there.
std::vector<Vec2> Lifted(const SpindleBody& body, double lift_mm) {
  std::vector<Vec2> outline = body.outline;
  for (Vec2& p : outline) {
    if (p.y() > body.top_mm - kGeometryNoise_mm) p.y() += lift_mm;
  }
  return outline;
}

Result<Solid> SweepDown(const SpindleBody& body, const Vec3& tip, double lift_mm) {
  return MakeRevolve({tip, Vec3::UnitZ()}, Lifted(body, lift_mm));
}

// Level line: the silhouette square to the line, drawn along it, and a turned body at either end.
Status SweepLevelShaped(const SpindleBody& body, const Vec3& a, const Vec3& b,
                        std::vector<Solid>& swept) {
  std::vector<Vec2> silhouette = body.outline;
  for (std::size_t i = body.outline.size(); i-- > 0;) {
    if (body.outline[i].x() > kGeometryNoise_mm) {
      silhouette.emplace_back(-body.outline[i].x(), body.outline[i].y());
    }
  }
  const Vec3 along = (b - a).normalized();
  Pose frame = Pose::Identity();
  frame.linear().col(2) = along;
  frame.linear().col(1) = Vec3::UnitZ();
  frame.linear().col(0) = Vec3::UnitZ().cross(along);
  frame.translation() = a;
  const Result<Solid> middle = MakePrism(frame, silhouette, 0, (b - a).norm());
  if (!middle) return Unexpected(middle.error());
  swept.push_back(*middle);
  for (const Vec3& end : {a, b}) {
    const Result<Solid> turned = SweepDown(body, end, 0);
    if (!turned) return Unexpected(turned.error());
    swept.push_back(*turned);
  }
  return Ok{};
}

bool IsLevel(const Vec3& a, const Vec3& b) { return std::abs(a.z() - b.z()) <= kLevel_mm; }
bool IsUpright(const Vec3& a, const Vec3& b) { return (b - a).head<2>().norm() <= kLevel_mm; }

// All level lines of one height of a flat cylinder: their outlines joined in the plane, then
// raised.
Result<Solid> SweepLevelCylinder(const SpindleBody& body, const std::vector<Vec3>& run) {
  return Guard("milling sweep", [&]() -> Result<Solid> {
    std::vector<TopoDS_Shape> faces;
    for (std::size_t i = 0; i + 1 < run.size(); ++i) {
      const Vec3 along = run[i + 1] - run[i];
      faces.push_back(MakeRoundedFace(
          {.centre_mm = 0.5 * (run[i] + run[i + 1]) + body.bottom_mm * Vec3::UnitZ(),
           .along = along,
           .up = Vec3::UnitZ(),
           .length_mm = along.norm() + body.diameter_mm,
           .width_mm = body.diameter_mm,
           .corner_radius_mm = 0.5 * body.diameter_mm,
           .height_mm = 1}));
    }
    const TopoDS_Shape joined = FuseFaces(faces);
    return WrapOutward(
        BRepPrimAPI_MakePrism(joined, gp_Vec(0, 0, body.top_mm - body.bottom_mm)).Shape());
  });
}

Status FlushRun(const SpindleBody& body, std::vector<Vec3>& run, std::vector<Solid>& swept) {
  if (run.size() >= 2 && body.cylinder) {
    const Result<Solid> sweep = SweepLevelCylinder(body, run);
    if (!sweep) return Unexpected(sweep.error());
    swept.push_back(*sweep);
  } else if (run.size() >= 2) {
    for (std::size_t i = 0; i + 1 < run.size(); ++i) {
      const Status status = SweepLevelShaped(body, run[i], run[i + 1], swept);
      if (!status) return status;
    }
  }
  run.clear();
  return Ok{};
}

Status SweepMill(const Tool& tool, const SpindleBody& body, const std::vector<Vec3>& points,
                 std::vector<Solid>& swept) {
  if (points.size() == 1) {
    const Result<Solid> still = SweepDown(body, points.front(), 0);
    if (!still) return Unexpected(still.error());
    swept.push_back(*still);
    return Ok{};
  }
  std::vector<Vec3> run = {points.front()};
  for (std::size_t i = 1; i < points.size(); ++i) {
    const Vec3& a = points[i - 1];
    const Vec3& b = points[i];
    if ((b - a).norm() <= kLevel_mm) continue;
    if (IsLevel(a, b)) {
      run.push_back(b);
      continue;
    }
    if (!IsUpright(a, b)) {
      return Unexpected(BadTool(tool, "a milling line must be level or upright; it rises by (mm)",
                                b.z() - a.z()));
    }
    const Status status = FlushRun(body, run, swept);
    if (!status) return status;
    const Result<Solid> down = SweepDown(body, a.z() < b.z() ? a : b, std::abs(b.z() - a.z()));
    if (!down) return Unexpected(down.error());
    swept.push_back(*down);
    run = {b};
  }
  return FlushRun(body, run, swept);
}

Status SweepPlunges(const SpindleBody& body, const PathPiece& piece, std::vector<Solid>& swept) {
  for (const Vec3& point : piece.points_S_mm) {
    const Result<Solid> hole = SweepDown(body, point, std::max(0.0, piece.from_z_mm - point.z()));
    if (!hole) return Unexpected(hole.error());
    swept.push_back(*hole);
  }
  return Ok{};
}

Result<SpindleBody> MakeCuttingBody(const Tool& tool, const PathPiece& piece) {
  const double diameter = piece.set_diameter_mm > 0 ? piece.set_diameter_mm : tool.diameter_mm;
  if (!(diameter > 0)) return Unexpected(BadTool(tool, "no cutting diameter", diameter));
  const double point_deg = CutsFlat(tool.kind) ? 180 : tool.point_deg;
  if (!(point_deg > 0 && point_deg <= 180)) {
    return Unexpected(BadTool(tool, "point angle outside 0..180 degrees", point_deg));
  }
  const double cone = CalcPointLength_mm(diameter, point_deg);
  const double top = std::max(tool.flute_mm, cone + 0.01 * diameter);
  if (cone == 0) return MakeSpindleCylinder(diameter, 0, top);
  return SpindleBody{CalcToolOutline(diameter, point_deg, top), false, diameter, 0, top};
}

// Convex pieces of the section moved along one line each: their hulls tile the swept area.
std::vector<std::vector<Vec2>> SweepSection(const std::vector<std::vector<Vec2>>& convex,
                                            const std::vector<Vec3>& path) {
  std::vector<std::vector<Vec2>> hulls;
  const std::size_t lines = std::max<std::size_t>(1, path.size() - 1);
  for (std::size_t i = 0; i < lines; ++i) {
    const Vec3& a = path[i];
    const Vec3& b = path[std::min(i + 1, path.size() - 1)];
    for (const auto& piece : convex) {
      std::vector<Vec2> corners;
      for (const Vec2& p : piece) {
        corners.emplace_back(p.x() + a.x(), p.y() + a.z());
        corners.emplace_back(p.x() + b.x(), p.y() + b.z());
      }
      const std::vector<Vec2> hull = ClipToPositiveX(CalcConvexHull(corners));
      if (hull.size() >= 3 && CalcPolygonArea(hull) > kGeometryNoise_mm) hulls.push_back(hull);
    }
  }
  return hulls;
}

bool IsConvex(const std::vector<Vec2>& polygon) {
  std::vector<Vec2> ring = TidyPolygon(polygon);
  return CalcConvexHull(ring).size() == ring.size();
}

// A form tool where it stands at the end of its path, points (r, z), closed by straight lines on its own side of
// the work.
ArcOutline OutlineOf(const Tool& tool, double hollow_mm, const std::vector<Vec3>& path) {
  constexpr double kBeyond_mm = 3;
  const Vec2 at(path.back().x(), path.back().z());
  const double in = path.front().x() < path.back().x() - kLevel_mm ? -1 : 1;  // comes from inside a bore
  ArcOutline outline;
  if (hollow_mm > 0) {
    const double r = hollow_mm;
    const double beyond = in < 0 ? std::min(kBeyond_mm, 0.99 * at.x()) : kBeyond_mm;  // not over the axis
    outline.To(at - Vec2(in * r, 0), -in * kPi / 2);
    outline.To(at - Vec2(0, r));
    outline.To(at + Vec2(in * beyond, -r));
    outline.To(at + Vec2(in * beyond, kBeyond_mm));
    outline.To(at + Vec2(-in * r, kBeyond_mm));
    return outline;
  }
  const double r = tool.nose_radius_mm;
  const double out = std::max(tool.reach_mm, r + kBeyond_mm);
  outline.To(at + Vec2(in * out, -r));
  outline.To(at + Vec2(in * r, -r), -in * kPi);
  outline.To(at + Vec2(in * r, r));
  outline.To(at + Vec2(in * out, r));
  return outline;
}

Result<std::vector<Solid>> SweepForm(const Tool& tool, const PathPiece& piece) {
  const double hollow = tool.kind == ToolKind::kFile ? 0.5 * piece.set_diameter_mm : tool.hollow_radius_mm;
  if (hollow <= 0 && tool.nose_radius_mm <= 0) return Unexpected(BadTool(tool, "a form tool without a curve", 0));
  Result<Solid> swept = MakeArcRevolve({Vec3::Zero(), Vec3::UnitZ()}, OutlineOf(tool, hollow, piece.points_S_mm));
  if (!swept) return Unexpected(swept.error());
  return std::vector<Solid>{*std::move(swept)};
}

// A die in its holder: work passes through it, nothing else does.
Result<std::vector<Solid>> SweepDie(const Tool& tool, const PathPiece& piece) {
  std::vector<Solid> rings;
  for (const Vec3& at : piece.points_S_mm) {
    const double length = tool.flute_mm + tool.holder_length_mm;
    const Result<Solid> ring = MakeRing({at, Vec3::UnitZ()}, 0, length, tool.holder_diameter_mm, tool.diameter_mm);
    if (!ring) return Unexpected(ring.error());
    rings.push_back(*ring);
  }
  return rings;
}

Result<std::vector<Solid>> SweepTurn(const Tool& tool, const PathPiece& piece) {
  if (tool.section_T_mm.size() < 3) {
    return Unexpected(BadTool(tool, "no plan section; corners given",
                              static_cast<double>(tool.section_T_mm.size())));
  }
  const std::vector<std::vector<Vec2>> convex =
      IsConvex(tool.section_T_mm) ? std::vector<std::vector<Vec2>>{TidyPolygon(tool.section_T_mm)}
                                  : Triangulate(tool.section_T_mm);
  if (convex.empty()) return Unexpected(BadTool(tool, "the plan section crosses itself", 0));
  const std::vector<std::vector<Vec2>> hulls = SweepSection(convex, piece.points_S_mm);
  if (hulls.empty()) return std::vector<Solid>{};
  return Guard("turning sweep", [&]() -> Result<std::vector<Solid>> {
    const gp_Ax2 ax2 = ToAx2({Vec3::Zero(), Vec3::UnitZ()});
    // (r, z) of the section in the half plane through the seam.
    Pose frame = Pose::Identity();
    frame.linear().col(0) = Vec3(ax2.XDirection().X(), ax2.XDirection().Y(), 0).normalized();
    frame.linear().col(1) = Vec3::UnitZ();
    frame.linear().col(2) = frame.linear().col(0).cross(frame.linear().col(1));
    std::vector<Solid> swept;
    const TopoDS_Shape area = FuseConvex(frame, hulls);
    for (TopExp_Explorer it(area, TopAbs_FACE); it.More(); it.Next()) {
      swept.push_back(WrapOutward(BRepPrimAPI_MakeRevol(it.Current(), ax2.Axis()).Shape()));
    }
    return swept;
  });
}

Result<std::vector<Solid>> SweepSaw(const Tool& tool, const PathPiece& piece) {
  if (piece.points_S_mm.size() < 2) {
    return Unexpected(BadTool(tool, "a saw cut needs a point and a direction; points given",
                              static_cast<double>(piece.points_S_mm.size())));
  }
  const Result<Solid> beyond = MakeBeyond(piece.points_S_mm[0], piece.points_S_mm[1]);
  if (!beyond) return Unexpected(beyond.error());
  return std::vector<Solid>{*beyond};
}

// From the axis to the edge, as wide as the tool; the bore that it goes through is air.
Result<std::vector<Solid>> SweepStroke(const Tool& tool, const PathPiece& piece) {
  const std::vector<Vec3>& at = piece.points_S_mm;
  if (at.size() != 2) return Unexpected(BadTool(tool, "a stroke has two ends; points given", static_cast<double>(at.size())));
  const bool straight = std::abs(at[0].x() - at[1].x()) <= kLevel_mm && std::abs(at[0].y()) <= kLevel_mm && std::abs(at[1].y()) <= kLevel_mm;
  if (!straight || !(at[0].x() > 0)) {
    return Unexpected(BadTool(tool, "a stroke runs straight along z, its edge beside the axis in x; at x (mm)", at[0].x()));
  }
  if (!(tool.width_mm > 0)) return Unexpected(BadTool(tool, "no width", tool.width_mm));
  const auto [low, high] = std::minmax({at[0].z(), at[1].z()});
  const Result<Solid> box = MakeBox({{0, -tool.width_mm / 2, low}, {at[0].x(), tool.width_mm / 2, high}});
  if (!box) return Unexpected(box.error());
  return std::vector<Solid>{*box};
}

// The prism on the outline, or what stands around it.
Result<std::vector<Solid>> SweepByHand(const Tool& tool, const PathPiece& piece) {
  if (piece.points_S_mm.size() < 2 || !(piece.from_z_mm > piece.points_S_mm.front().z())) {
    return Unexpected(BadTool(tool, "an outline cut by hand needs two points below its top; points given",
                              static_cast<double>(piece.points_S_mm.size())));
  }
  PlanOutline outline;
  outline.from_mm = piece.points_S_mm.front().z();
  outline.to_mm = piece.from_z_mm;
  for (std::size_t i = 0; i < piece.points_S_mm.size(); ++i) {
    outline.points_mm.push_back(piece.points_S_mm[i].head<2>());
    outline.turns_rad.push_back(i < piece.turns_rad.size() ? piece.turns_rad[i] : 0);
  }
  const Result<Solid> inside = MakeOutlinePrism(outline);
  if (!inside) return Unexpected(inside.error());
  if (piece.kind == PathKind::kCutOut) return std::vector<Solid>{*inside};
  Box3 around = CalcBox(*inside);
  around.min_mm.head<2>().array() -= kFarOut_mm;
  around.max_mm.head<2>().array() += kFarOut_mm;
  const Result<Solid> block = MakeBox(around);
  if (!block) return Unexpected(block.error());
  const Result<Solid> outside = Cut(*block, {*inside});
  if (!outside) return Unexpected(outside.error());
  return std::vector<Solid>{*outside};
}

Result<std::vector<Solid>> SweepBody(const Tool& tool, const SpindleBody& body,
                                     const PathPiece& piece) {
  std::vector<Solid> swept;
  const Status status = piece.kind == PathKind::kPlunge
                            ? SweepPlunges(body, piece, swept)
                            : SweepMill(tool, body, piece.points_S_mm, swept);
  if (!status) return Unexpected(status.error());
  return swept;
}

}  // namespace

double CalcPointLength_mm(double diameter_mm, double point_deg) {
  if (point_deg >= 180) return 0;
  return 0.5 * diameter_mm / std::tan(0.5 * point_deg * kRadPerDeg);
}

std::vector<Vec2> CalcToolOutline(double diameter_mm, double point_deg, double body_mm) {
  const double r = 0.5 * diameter_mm;
  const double cone = CalcPointLength_mm(diameter_mm, point_deg);
  if (cone == 0) return {{0, 0}, {r, 0}, {r, body_mm}, {0, body_mm}};
  return {{0, 0}, {r, cone}, {r, body_mm}, {0, body_mm}};
}

Result<std::vector<Solid>> MakeSweptCutter(const Tool& tool, const PathPiece& piece) {
  const bool form = tool.kind == ToolKind::kFormTool || tool.kind == ToolKind::kFile;
  if (form && piece.kind == PathKind::kTurn && !piece.points_S_mm.empty()) return SweepForm(tool, piece);
  if (tool.kind == ToolKind::kDie) return SweepDie(tool, piece);
  const bool by_hand = piece.kind == PathKind::kCutAround || piece.kind == PathKind::kCutOut;
  if (piece.points_S_mm.empty() || (SweepsNothing(tool.kind) && !by_hand)) return std::vector<Solid>{};
  if (piece.kind == PathKind::kSaw) return SweepSaw(tool, piece);
  if (piece.kind == PathKind::kStroke) return SweepStroke(tool, piece);
  if (by_hand) return SweepByHand(tool, piece);
  if (piece.kind == PathKind::kTurn) return SweepTurn(tool, piece);
  const Result<SpindleBody> body = MakeCuttingBody(tool, piece);
  if (!body) return Unexpected(body.error());
  return SweepBody(tool, *body, piece);
}

Result<std::vector<Solid>> MakeSweptHolder(const Tool& tool, const PathPiece& piece) {
  std::vector<Solid> swept;
  if (piece.points_S_mm.empty() || tool.kind == ToolKind::kDie) return swept;
  if (piece.kind != PathKind::kPlunge && piece.kind != PathKind::kMill) return swept;
  std::vector<SpindleBody> bodies;
  const double shank_from = tool.flute_mm;
  if (tool.shank_mm > 0 && tool.stick_out_mm > shank_from + kGeometryNoise_mm) {
    bodies.push_back(MakeSpindleCylinder(tool.shank_mm, shank_from, tool.stick_out_mm));
  }
  if (tool.holder_diameter_mm > 0 && tool.holder_length_mm > 0) {
    const double from = std::max(tool.stick_out_mm, tool.flute_mm);
    bodies.push_back(
        MakeSpindleCylinder(tool.holder_diameter_mm, from, from + tool.holder_length_mm));
  }
  for (const SpindleBody& body : bodies) {
    Result<std::vector<Solid>> one = SweepBody(tool, body, piece);
    if (!one) return one;
    swept.insert(swept.end(), one->begin(), one->end());
  }
  return swept;
}

Result<Solid> MakeFixture(const FixtureSolid& fixture) {
  if (const auto* box = std::get_if<FixtureBox>(&fixture.shape)) {
    const Result<Solid> made = MakeBox(box->box_F);
    return made ? Result<Solid>(Moved(*made, box->X_SF)) : made;
  }
  const auto& round = std::get<FixtureCylinder>(fixture.shape);
  return MakeRing(round.axis_S, round.from_mm, round.to_mm, round.outer_mm, round.inner_mm);
}

}  // namespace fitwright::solid
