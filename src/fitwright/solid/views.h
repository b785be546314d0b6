// Line drawings and sections of solids as plain data, for drawing on paper or screen.
#pragma once

#include <cstddef>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/solid/solid.h"
#include "fitwright/units/geometry.h"

namespace fitwright::solid {

// Parallel projection. to_eye points from the thing drawn to the eye; up is what shows upright
// (made square to to_eye). Paper x runs to the right of one who looks, y up, both true length in
// the plane.
struct ViewDirection {
  Vec3 to_eye = Vec3::UnitZ();
  Vec3 up = Vec3::UnitY();
  static ViewDirection Top() { return {Vec3::UnitZ(), Vec3::UnitY()}; }
  static ViewDirection FromOperator() { return {-Vec3::UnitY(), Vec3::UnitZ()}; }
  static ViewDirection FromRight() { return {Vec3::UnitX(), Vec3::UnitZ()}; }
  // As one stands at a mill: a little to the right, looking down.
  static ViewDirection Standing() { return {Vec3(0.35, -0.80, 0.55), Vec3::UnitZ()}; }
};

// Place of a point on the paper of a view whose paper origin is the image of the frame's origin,
// mm.
Vec2 Project(const ViewDirection& view, const Vec3& point_mm);

enum class LineKind {
  kSharp,   // edge between two faces that meet at an angle
  kSmooth,  // edge between faces that run into each other
  kOutline  // limb of a curved face
};

struct DrawingLine {
  std::vector<Vec2> points_mm;  // two or more
  bool visible = true;
  LineKind kind = LineKind::kSharp;
  std::size_t body = 0;  // index of the solid it belongs to
};

struct ViewOptions {
  bool hidden = true;      // give hidden lines too
  bool smooth = false;     // give smooth edges too
  double chord_mm = 0.05;  // greatest sagitta of a chord of a sampled curve
};

// Hidden-line projection of all the solids together (they hide each other). Accuracy 0.02 mm: axis-
// aligned views are tilted by 1e-4 rad inside. Lines that fall on an equal or visible one are left
// out. Order: by body, visible first, kind, then by first point. About 50 ms for 60 faces.
Result<std::vector<DrawingLine>> MakeView(const std::vector<Solid>& solids,
                                          const ViewDirection& view,
                                          const ViewOptions& options = {});

// A closed polygon with holes; outer counter-clockwise, holes clockwise, first point not repeated.
struct Region {
  std::vector<Vec2> outer_mm;
  std::vector<std::vector<Vec2>> holes_mm;
};

// Cut faces of the solid in the plane through point square to view.to_eye, as seen in that view.
Result<std::vector<Region>> MakeSection(const Solid& solid, const Vec3& point_mm,
                                        const ViewDirection& view, double chord_mm = 0.05);

// Parallel strokes over the shadow that the solid throws on the paper, for hatching what a cut
// takes away. One stroke every spacing_mm, at angle_rad from paper x; strokes stand on multiples of
// the spacing from the paper's origin, so that neighbours line up.
struct HatchOptions {
  double angle_rad = 0.25 * kPi;
  double spacing_mm = 1.5;
  double chord_mm = 0.1;
};
struct HatchStroke {
  Vec2 from_mm = Vec2::Zero();
  Vec2 to_mm = Vec2::Zero();
};
Result<std::vector<HatchStroke>> MakeHatch(const Solid& solid, const ViewDirection& view,
                                           const HatchOptions& options = {});

}  // namespace fitwright::solid
