#include "fitwright/sheets/solid/view_paper.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "fitwright/solid/cut.h"
#include "fitwright/solid/cutters.h"
#include "fitwright/solid/measure.h"
#include "fitwright/solid/primitives.h"
#include "fitwright/units/length.h"

namespace fitwright::sheets {
namespace {

constexpr std::array<double, 17> kScales = {20, 10, 5, 4,   3,   2.5,  2,   1.5, 1.25,
                                            1,  0.75, 0.5, 0.4, 0.3, 0.25, 0.2, 0.1};
constexpr double kRim_mm = 14;  // paper, for letters, axes and holding around the piece
constexpr double kLargestReamed_mm = 13;  // bores above are cut with a boring head
constexpr double kHatchGap_mm = 2;
constexpr double kChordOnPaper_mm = 0.03;
// Volumes under this are noise of coincident faces.
constexpr double kLeastRemoved_mm3 = 0.01;

bool IsShown(FixtureRole role) {
  switch (role) {
    case FixtureRole::kTable:
    case FixtureRole::kSpindleNose: return false;
    default: return true;
  }
}

std::vector<Vec2> OnPaper(const ViewFrame& frame, const std::vector<Vec2>& points) {
  std::vector<Vec2> paper;
  for (const Vec2& p : points) paper.push_back(frame.ToPaper(p));
  return paper;
}

// A slice of the solid in the plane through the spindle axis: its shadow is the turned profile.
Result<solid::Solid> SliceAtAxis(const solid::Solid& body) {
  constexpr double kHalf_mm = 0.02;
  constexpr double kReach_mm = 1000;
  auto slab = solid::MakeBox(
      {Vec3(-kHalf_mm, -kReach_mm, -kReach_mm), Vec3(kHalf_mm, kReach_mm, kReach_mm)});
  if (!slab) return slab;
  return solid::Common(body, *slab);
}

Status Hatch(const std::vector<solid::Solid>& removed, const ViewFrame& frame, Svg& svg) {
  solid::HatchOptions options;
  options.spacing_mm = kHatchGap_mm / frame.scale();
  for (const solid::Solid& body : removed) {
    if (body.empty()) continue;
    auto strokes = solid::MakeHatch(body, frame.view(), options);
    if (!strokes) return Unexpected(strokes.error());
    for (const solid::HatchStroke& s : *strokes) {
      svg.Line(frame.ToPaper(s.from_mm), frame.ToPaper(s.to_mm), Stroke::kHatch);
    }
  }
  return Ok{};
}

// Box of solids in the view's coordinates.
ShownBox BoxInView(const std::vector<solid::Solid>& bodies, const solid::ViewDirection& view) {
  ShownBox box{Vec2(1e9, 1e9), Vec2(-1e9, -1e9)};
  for (const solid::Solid& body : bodies) {
    const Box3 b = solid::CalcBox(body);
    for (int corner = 0; corner < 8; ++corner) {
      const Vec3 p((corner & 1) != 0 ? b.max_mm.x() : b.min_mm.x(),
                   (corner & 2) != 0 ? b.max_mm.y() : b.min_mm.y(),
                   (corner & 4) != 0 ? b.max_mm.z() : b.min_mm.z());
      const Vec2 v = solid::Project(view, p);
      box.least = box.least.cwiseMin(v);
      box.most = box.most.cwiseMax(v);
    }
  }
  return box;
}

// The visible lines of the pieces reach as far out as the pieces do, all four ways.
bool CoversPieces(const std::vector<solid::DrawingLine>& lines, const std::vector<solid::Solid>& bodies, std::size_t pieces,
                  const ViewFrame& frame) {
  constexpr double kNear_mm = 0.5;
  ShownBox drawn{Vec2(1e9, 1e9), Vec2(-1e9, -1e9)};
  for (const solid::DrawingLine& line : lines) {
    if (!line.visible || line.body >= pieces) continue;
    for (const Vec2& p : line.points_mm) {
      drawn.least = drawn.least.cwiseMin(p);
      drawn.most = drawn.most.cwiseMax(p);
    }
  }
  const ShownBox whole = BoxInView({bodies.begin(), bodies.begin() + static_cast<std::ptrdiff_t>(pieces)}, frame.view());
  return (drawn.least - whole.least).maxCoeff() < kNear_mm && (whole.most - drawn.most).maxCoeff() < kNear_mm;
}

// The pieces without their holding. Where the view along an axis loses a piece (walls seen edge on that meet
// a curved one), it is looked at from a hair beside it.
Result<std::vector<solid::DrawingLine>> ViewAlone(const std::vector<solid::Solid>& pieces, const ViewFrame& frame,
                                                  const solid::ViewOptions& options) {
  constexpr double kHair_rad = 2e-4;
  auto lines = solid::MakeView(pieces, frame.view(), options);
  if (!lines || CoversPieces(*lines, pieces, pieces.size(), frame)) return lines;
  solid::ViewDirection beside = frame.view();
  beside.to_eye = beside.to_eye.normalized() + kHair_rad * (beside.up + beside.up.cross(beside.to_eye.normalized()));
  return solid::MakeView(pieces, beside, options);
}

// whole: a piece that its holding covers in part is drawn through it, as far as it reaches. (Faces that lie on
// each other can also lose a piece in the view of all together.)
Status Edges(const std::vector<solid::Solid>& bodies, std::size_t pieces, const ViewFrame& frame,
             bool hidden, bool whole, Svg& svg) {
  solid::ViewOptions options;
  options.hidden = hidden;
  options.chord_mm = kChordOnPaper_mm / frame.scale();
  auto lines = solid::MakeView(bodies, frame.view(), options);
  if (!lines) return Unexpected(lines.error());
  if (whole && !CoversPieces(*lines, bodies, pieces, frame)) {
    auto own = ViewAlone({bodies.begin(), bodies.begin() + static_cast<std::ptrdiff_t>(pieces)}, frame, options);
    if (!own) return Unexpected(own.error());
    lines->insert(lines->end(), own->begin(), own->end());
  }
  // Light lines first, so that the piece's own lie on top.
  for (const bool holding : {true, false}) {
    for (const solid::DrawingLine& line : *lines) {
      const bool of_holding = line.body >= pieces;
      if (of_holding != holding || (of_holding && !line.visible)) continue;
      const Stroke stroke = of_holding     ? Stroke::kHolding
                            : line.visible ? Stroke::kVisible
                                           : Stroke::kHidden;
      svg.Polyline(OnPaper(frame, line.points_mm), stroke);
    }
  }
  return Ok{};
}

// What is removed, outlined in the line of the form before the cut.
Status RemovedOutline(const std::vector<solid::Solid>& removed, const ViewFrame& frame, Svg& svg) {
  std::vector<solid::Solid> bodies;
  for (const solid::Solid& body : removed) {
    if (!body.empty()) bodies.push_back(body);
  }
  if (bodies.empty()) return Ok{};
  solid::ViewOptions options;
  options.hidden = false;
  auto lines = solid::MakeView(bodies, frame.view(), options);
  if (!lines) return Unexpected(lines.error());
  for (const solid::DrawingLine& line : *lines) {
    svg.Polyline(OnPaper(frame, line.points_mm), Stroke::kStock);
  }
  return Ok{};
}

}  // namespace

ViewFrame::ViewFrame(const solid::ViewDirection& view, const Vec2& corner, const Vec2& size,
                     const Vec2& least, const Vec2& most)
    : view_(view), corner_(corner), size_(size), middle_(0.5 * (least + most)) {
  const Vec2 room = size - Vec2(2 * kRim_mm, 2 * kRim_mm);
  const Vec2 shown = (most - least).cwiseMax(Vec2(1e-3, 1e-3));
  const double largest = std::min(room.x() / shown.x(), room.y() / shown.y());
  scale_ = kScales.back();
  for (const double scale : kScales) {
    if (scale <= largest) {
      scale_ = scale;
      break;
    }
  }
}

Vec2 ViewFrame::ToPaper(const Vec2& view_mm) const {
  const Vec2 off = scale_ * (view_mm - middle_);
  return corner_ + 0.5 * size_ + Vec2(off.x(), -off.y());
}

Vec2 ViewFrame::ToPaper(const Vec3& point_S_mm) const {
  return ToPaper(solid::Project(view_, point_S_mm));
}

Vec2 ViewFrame::Direction(const Vec3& direction_S) const {
  const Vec2 v = solid::Project(view_, direction_S);
  if (v.norm() < 0.05) return Vec2::Zero();
  return Vec2(v.x(), -v.y()).normalized();
}

std::string ViewFrame::ScaleText() const {
  return scale_ >= 1 ? FormatTrimmed(scale_, 2) + ":1" : "1:" + FormatTrimmed(1 / scale_, 2);
}

namespace {

// Only holes: then the cutters themselves show what goes, and an elaborate piece need not be subtracted
// from its double, which is slow and may fail.
bool DrillsOnly(const Setup& setup) {
  return std::all_of(setup.steps.begin(), setup.steps.end(), [](const Step& step) {
    return std::all_of(step.path.begin(), step.path.end(), [](const PathPiece& path) {
      return path.kind == PathKind::kPlunge && path.set_diameter_mm < kLargestReamed_mm;
    });
  });
}

// The steps' cutters inside the box of the piece.
Result<std::vector<solid::Solid>> RemovedByCutters(const SetupPicture& picture,
                                                   const solid::Solid& before_S) {
  auto box = solid::MakeBox(solid::CalcBox(before_S));
  if (!box) return Unexpected(box.error());
  std::vector<solid::Solid> removed;
  for (const Step& step : picture.setup.steps) {
    const Tool* tool = picture.shop.Find(step.tool);
    for (const PathPiece& path : step.path) {
      if (tool == nullptr) continue;
      auto cutters = solid::MakeSweptCutter(*tool, path);
      if (!cutters) return Unexpected(cutters.error());
      for (const solid::Solid& cutter : *cutters) {
        auto met = solid::Common(*box, cutter);
        if (!met) return Unexpected(met.error());
        if (!met->empty()) removed.push_back(*std::move(met));
      }
    }
  }
  return removed;
}

// What stays in the chuck when the piece is parted off: the bar behind the blade.
Result<solid::Solid> BarLeft(const Setup& setup, const solid::Solid& before_S) {
  constexpr double kFar_mm = 2000;
  for (const Step& step : setup.steps) {
    if (step.operation != Operation::kPartOff || step.path.empty()) continue;
    const double z = step.path.front().points_S_mm.front().z();
    auto behind = solid::MakeBox({Vec3(-kFar_mm, -kFar_mm, -kFar_mm), Vec3(kFar_mm, kFar_mm, z)});
    if (!behind) return behind;
    return solid::Common(before_S, *behind);
  }
  return solid::Solid();
}

Status AddRemoved(const SetupPicture& picture, const solid::Solid& before_S,
                  const solid::Solid& after_S, StandingSolids& solids) {
  const double taken_mm3 = solid::CalcVolume_mm3(before_S) - solid::CalcVolume_mm3(after_S);
  if (taken_mm3 < kLeastRemoved_mm3) return Ok{};
  if (!DrillsOnly(picture.setup)) {
    auto left = BarLeft(picture.setup, before_S);
    if (!left) return Unexpected(left.error());
    std::vector<solid::Solid> stays = {after_S};
    if (!left->empty()) {
      stays.push_back(*left);
      solids.after.push_back(*std::move(left));
    }
    auto difference = solid::Cut(before_S, stays);
    if (difference) {
      solids.removed.push_back(*std::move(difference));
      return Ok{};
    }
  }
  auto met = RemovedByCutters(picture, before_S);
  if (!met) return Unexpected(met.error());
  solids.removed.insert(solids.removed.end(), met->begin(), met->end());
  return Ok{};
}

}  // namespace

Result<StandingSolids> MakeStandingSolids(const SetupPicture& picture, bool with_removed) {
  StandingSolids solids;
  for (std::size_t i = 0; i < picture.setup.parts.size(); ++i) {
    const Pose X_SP = picture.setup.parts[i].X_PS.inverse();
    solids.before.push_back(solid::Moved(picture.before_P[i], X_SP));
    solids.after.push_back(solid::Moved(picture.after_P[i], X_SP));
    if (!with_removed) continue;
    if (auto status = AddRemoved(picture, solids.before.back(), solids.after.back(), solids);
        !status) {
      return Unexpected(status.error());
    }
  }
  for (const FixtureSolid& fixture : picture.setup.fixtures) {
    if (!IsShown(fixture.role)) continue;
    auto body = solid::MakeFixture(fixture);
    if (!body) return Unexpected(body.error());
    solids.holding.push_back(*std::move(body));
  }
  return solids;
}

ShownBox CalcShownBox(const StandingSolids& solids, const solid::ViewDirection& view) {
  ShownBox box = BoxInView(solids.before, view);
  // Zero, when it is not far out, belongs to the picture.
  const Vec2 zero = solid::Project(view, Vec3::Zero());
  const Vec2 reach = 0.5 * (box.most - box.least) + Vec2(1, 1);
  if ((zero - 0.5 * (box.least + box.most)).cwiseAbs().cwiseQuotient(reach).maxCoeff() < 2) {
    box.least = box.least.cwiseMin(zero);
    box.most = box.most.cwiseMax(zero);
  }
  return box;
}

Status DrawView(const StandingSolids& solids, const ViewFrame& frame, const ViewContents& contents,
                Svg& svg) {
  svg.BeginClip(frame.corner(), frame.size());
  std::vector<solid::Solid> bodies;
  for (const solid::Solid& piece : solids.after) bodies.push_back(piece);
  const std::size_t pieces = bodies.size();
  if (contents.holding) {
    bodies.insert(bodies.end(), solids.holding.begin(), solids.holding.end());
  }
  if (contents.hatch) {
    std::vector<solid::Solid> removed = solids.removed;
    for (solid::Solid& body : removed) {
      if (body.empty() || !contents.section) continue;
      auto half = SliceAtAxis(body);
      if (!half) return Unexpected(half.error());
      body = *half;
    }
    if (auto status = Hatch(removed, frame, svg); !status) return status;
    if (auto status = RemovedOutline(removed, frame, svg); !status) return status;
  }
  if (auto status = Edges(bodies, pieces, frame, contents.hidden, contents.hatch, svg); !status) return status;
  svg.EndClip();
  return Ok{};
}

}  // namespace fitwright::sheets
