// Vise on the mill: bed first or jaw first; blocks, and turned pieces lying between their end faces.
#include <algorithm>
#include <array>
#include <cmath>

#include "fitwright/base/check.h"
#include "fitwright/model/faces.h"
#include "fitwright/model/shapes.h"
#include "fitwright/planner/angle_setting.h"
#include "fitwright/planner/clocking.h"
#include "fitwright/planner/holding_internal.h"
#include "fitwright/planner/holding_words.h"
#include "fitwright/planner/paths_design.h"
#include "fitwright/planner/technique_words.h"
#include "fitwright/planner/vise_strips.h"

namespace fitwright::planner {
namespace {

constexpr double kOpenOverJaw_mm = 4;  // of a wall behind the jaw, for a blade or a parallel against it (opinion)

constexpr double kStandAbove_mm = 2;     // work above the jaws below the lowest sideways cut
constexpr double kLeastBearing_mm2 = 40;  // of a jaw on the work, opinion
constexpr double kSharedGrip = 0.5;  // of what the deeper jaw holds, opposite the other: else they turn the piece over (opinion)
constexpr double kLeastGrip_mm = 5;      // common practice: at least 5 mm in the jaws
constexpr double kDeepExit_mm = 8;       // a hole that ends so far above the underside needs no room there
constexpr double kRoundBar_mm = 10;      // between the moving jaw and a rough side

struct ViseLayout {
  Pose X_PS = Pose::Identity();
  Box3 box_S;            // the piece in S
  double parallels_mm = 0;
  double grip_mm = 0;
  double jaw_top_S = 0;
};

Eigen::Matrix3d AxesOf(const SetupSketch& sketch, const HoldingDevice& vise) {
  const Vec3 z = sketch.up_P;
  const Vec3 y = vise.fixed_jaw_at_rear ? sketch.jaw_P : Vec3(-sketch.jaw_P);
  Eigen::Matrix3d R_PS;
  R_PS.col(0) = y.cross(z);
  R_PS.col(1) = y;
  R_PS.col(2) = z;
  return R_PS;
}

bool IsRoughBehind(const SetupSketch& sketch, const PieceState& piece) {
  return !FinishedFace(piece, -sketch.jaw_P) && piece.bands.empty();
}

// Of work that lies between its ends: the diameters of both ends, and the widest.
struct LyingEnds {
  double low_mm = 0;
  double high_mm = 0;
  double widest_mm = 0;
  double edge_mm = 0;  // of the largest chamfer or round on an end
};
LyingEnds EndsOf(const PieceState& piece) {
  LyingEnds ends;
  double low = 1e9;
  double high = -1e9;
  for (const Band& band : piece.bands) {
    if (band.from_mm < low) ends.low_mm = band.diameter_mm;
    if (band.to_mm > high) ends.high_mm = band.diameter_mm;
    low = std::min(low, band.from_mm);
    high = std::max(high, band.to_mm);
    ends.widest_mm = std::max(ends.widest_mm, band.diameter_mm);
  }
  for (const FeatureId& id : piece.made) {
    const auto* edge = std::get_if<RoundChamfer>(&CutOf(piece, id).shape);
    const auto* on = edge == nullptr ? nullptr : std::get_if<OuterDiameter>(&CutOf(piece, edge->on).shape);
    if (on == nullptr || on->diameter.middle_mm() < ends.widest_mm - kDrawnAlike_mm) continue;
    ends.edge_mm = std::max(ends.edge_mm, edge->radial_mm);
  }
  return ends;
}

// Part of a disc that lies below a level so high over its middle.
double DiscBelow_mm2(double radius_mm, double level_mm) {
  if (radius_mm <= 0) return 0;
  const double h = std::clamp(level_mm / radius_mm, -1.0, 1.0);
  return radius_mm * radius_mm * (kPi - std::acos(h) + h * std::sqrt(1 - h * h));
}

// What a jaw bears on at one end of work that lies, up to a level so high over its axis: the end less the
// broken edges on it and the holes that open there.
double EndBearing_mm2(const PieceState& piece, bool high_end, double level_mm) {
  const Axis3& axis = piece.part->turning_axis_P;
  const Band& band = high_end ? piece.bands.back() : piece.bands.front();
  const double at = high_end ? band.to_mm : band.from_mm;
  double outer = 0.5 * band.diameter_mm;
  double inner = 0.5 * band.inner_diameter_mm;
  double beside = 0;
  const auto opens = [&](const Vec3& p) { return std::abs(axis.direction.dot(p - axis.point_mm) - at) < kDrawnAlike_mm; };
  for (const FeatureId& id : piece.made) {
    const FeatureShape& shape = CutOf(piece, id).shape;
    const auto* hole = std::get_if<Hole>(&shape);
    const auto* edge = std::get_if<RoundChamfer>(&shape);
    if (edge != nullptr) hole = std::get_if<Hole>(&CutOf(piece, edge->on).shape);
    const auto* outside = edge == nullptr ? nullptr : std::get_if<OuterDiameter>(&CutOf(piece, edge->on).shape);
    if (outside != nullptr && opens(outside->axis_P.point_mm + outside->axis_P.direction * (edge->at_start ? outside->from_mm : outside->to_mm))) {
      outer = std::min(outer, 0.5 * outside->diameter.middle_mm() - edge->radial_mm);
    }
    if (hole == nullptr) continue;
    const Vec3 entry = hole->entries_P_mm.front();
    if (!opens(entry) && !(hole->through && opens(entry + hole->into_P * hole->depth_mm))) continue;
    const double radius = 0.5 * hole->diameter.middle_mm() + (edge != nullptr ? edge->radial_mm : 0);
    const bool on_axis = hole->entries_P_mm.size() == 1 && (entry - axis.point_mm).cross(axis.direction).norm() < kDrawnAlike_mm;
    on_axis ? inner = std::max(inner, radius) : beside += kPi * radius * radius * static_cast<double>(hole->entries_P_mm.size());
  }
  return DiscBelow_mm2(outer, level_mm) - DiscBelow_mm2(inner, level_mm) - beside;
}

bool LiesOnAFlat(const SetupSketch& sketch, const PieceState& piece) {
  if (piece.bands.empty()) return false;
  return std::any_of(piece.made.begin(), piece.made.end(), [&](const FeatureId& id) {
    const auto* flats = std::get_if<Flats>(&CutOf(piece, id).shape);
    for (int i = 0; flats != nullptr && i < flats->count; ++i) {
      if (FlatNormal(*flats, i).dot(sketch.up_P) < -0.5) return true;
    }
    return false;
  });
}

// Tilted work stands on its lowest edge: a step along that edge leaves it nothing to stand on.
bool RestsOnAStep(const SetupSketch& sketch, const PieceState& piece) {
  if (std::abs(sketch.up_P.cwiseAbs().maxCoeff() - 1) < 1e-9) return false;
  const double lowest = ExtentOf(piece, sketch.up_P).first;
  return std::any_of(piece.made.begin(), piece.made.end(), [&](const FeatureId& id) {
    const auto* step = std::get_if<StepCut>(&CutOf(piece, id).shape);
    if (step == nullptr) return false;
    const Vec3 low = sketch.up_P.cwiseMax(0).cwiseProduct(step->removed_P.min_mm) + sketch.up_P.cwiseMin(0).cwiseProduct(step->removed_P.max_mm);
    return low.sum() < lowest + kDrawnAlike_mm;
  });
}

Result<ViseLayout> LayOut(const SetupSketch& sketch, const PieceState& piece, const HoldingDevice& vise) {
  ViseLayout layout;
  const bool tilted = std::abs(sketch.up_P.cwiseAbs().maxCoeff() - 1) > 1e-9;
  layout.X_PS.linear() = AxesOf(sketch, vise);
  layout.box_S = BoxInSetup(piece, layout.X_PS);
  const double width = layout.box_S.size_mm().y() + (IsRoughBehind(sketch, piece) ? kRoundBar_mm : 0);
  if (width > vise.opening_mm) {
    return NoHold(fmt::format("{} is {:.1f} mm across the jaws; the vise opens {:.1f}", sketch.part.text(),
                              width, vise.opening_mm),
                  "turn the piece, or clamp it to the table");
  }
  if (RestsOnAStep(sketch, piece)) {
    return NoHold(fmt::format("the edge that {} would stand on is cut away by a step", sketch.part.text()),
                  "cut the slanting face before the step, or pack it under");
  }
  const LyingEnds ends = EndsOf(piece);
  const bool high_end = !piece.bands.empty() && sketch.jaw_P.dot(piece.part->turning_axis_P.direction) > 0;
  if ((high_end ? ends.high_mm : ends.low_mm) < ends.widest_mm - kDrawnAlike_mm || LiesOnAFlat(sketch, piece)) {
    return NoHold(fmt::format("{} is thicker elsewhere than at the fixed jaw: it neither bears there nor lies on its parallels", sketch.part.text()),
                  "lay it in a V-block");
  }
  const double top = TopAfterCuts(sketch, piece);
  const double height = top - layout.box_S.min_mm.z();
  const double need_above = std::max(SidewaysDepth_mm(sketch, piece, top) + kStandAbove_mm, sketch.bare_mm);
  const double room = RoomBelow_mm(sketch, piece, layout.box_S.min_mm.z());
  std::vector<double> packs = vise.parallels_mm;
  packs.push_back(0);
  std::sort(packs.begin(), packs.end());
  for (const double pack : packs) {
    if (pack < room) continue;
    if (pack + height < vise.jaw_height_mm + need_above) continue;
    layout.parallels_mm = pack;
    layout.jaw_top_S = layout.box_S.min_mm.z() + vise.jaw_height_mm - pack;
    const double bottom = layout.box_S.min_mm.z();
    const double high = std::min(top, layout.jaw_top_S);
    double shared_low = bottom;
    double shared_high = high;
    layout.grip_mm = piece.bands.empty() ? 0 : high - bottom - ends.edge_mm;
    if (!piece.bands.empty()) {
      const double slimmer = ends.widest_mm - std::min(ends.low_mm, ends.high_mm);
      shared_low = bottom + 0.5 * slimmer;
      shared_high = std::min(high, bottom + ends.widest_mm - 0.5 * slimmer);
    }
    for (const Vec3& side : {sketch.jaw_P, Vec3(-sketch.jaw_P)}) {
      if (!piece.bands.empty()) break;
      const auto [a, b] = SideSpan(piece, side, sketch.up_P);
      shared_low = std::max(shared_low, a);
      shared_high = std::min(shared_high, b);
      layout.grip_mm = std::max(layout.grip_mm, std::min(high, b) - std::max(bottom, a));
    }
    const double level = high - bottom - 0.5 * ends.widest_mm;
    const double bearing = piece.bands.empty()
                               ? std::min(vise.jaw_width_mm, layout.box_S.size_mm().x()) * layout.grip_mm
                               : std::min(EndBearing_mm2(piece, false, level), EndBearing_mm2(piece, true, level));
    if (piece.bands.empty() && !tilted && shared_high - shared_low < kSharedGrip * layout.grip_mm) {
      return NoHold(fmt::format("the jaws would bear on {} at different heights: {:.1f} mm of {:.1f} are opposite each other", sketch.part.text(),
                                std::max(0.0, shared_high - shared_low), layout.grip_mm),
                    "turn the piece, so that whole sides are between the jaws");
    }
    if (shared_high - shared_low >= kLeastGrip_mm && bearing >= kLeastBearing_mm2) return layout;
    break;
  }
  return NoHold(fmt::format("{} with {} up stands {:.1f} mm high and would be gripped by less than {:.0f} mm "
                            "below cuts {:.1f} mm deep",
                            sketch.part.text(), SideWord(sketch.up_P), height, kLeastGrip_mm,
                            need_above - kStandAbove_mm),
                "other parallels, or hold it another way up");
}

// The box of what rests on strips: of round work that lies, where it is thickest.
Box3 RestBox(const Box3& box, const PieceState& piece, const Pose& X_PS) {
  if (piece.bands.empty()) return BesideSteps(box, piece, X_PS);
  const double widest = EndsOf(piece).widest_mm;
  const Axis3& axis = piece.part->turning_axis_P;
  const Pose X_SP = X_PS.inverse();
  Box3 rest = box;
  rest.min_mm.y() = 1e9;
  rest.max_mm.y() = -1e9;
  for (const Band& band : piece.bands) {
    if (band.diameter_mm < widest - kDrawnAlike_mm) continue;
    for (const double along : {band.from_mm, band.to_mm}) {
      const double y = (X_SP * Vec3(axis.point_mm + axis.direction * along)).y();
      rest.min_mm.y() = std::min(rest.min_mm.y(), y);
      rest.max_mm.y() = std::max(rest.max_mm.y(), y);
    }
  }
  return rest;
}

// Where across the jaws the holes of the sketch are entered, in S.
std::vector<double> Presses(const SetupSketch& sketch, const PieceState& piece, const Pose& X_PS) {
  std::vector<double> presses;
  const Pose X_SP = X_PS.inverse();
  for (const FeatureId& id : sketch.cuts) {
    const auto* hole = std::get_if<Hole>(&CutOf(piece, id).shape);
    if (hole == nullptr) continue;
    for (const Vec3& p : hole->entries_P_mm) presses.push_back((X_SP * p).y());
  }
  for (const auto& [at, radius] : ThroughPlaces(sketch, piece, X_PS)) presses.push_back(at.y());  // the drilled ends of slots too
  return presses;
}

// False when no parallels carry the piece.
bool AddViseSolids(Setup& setup, const ViseLayout& layout, const SetupSketch& sketch, const PieceState& piece,
                   const HoldingDevice& vise) {
  const Box3& box = layout.box_S;
  const double x_mid = box.centre_mm().x();
  const double half = vise.jaw_width_mm / 2;
  const double bed = box.min_mm.z() - layout.parallels_mm;
  const double jaw_top = bed + vise.jaw_height_mm;
  const double rear = vise.fixed_jaw_at_rear ? 1.0 : -1.0;
  const auto jaw = [&](FixtureRole role, double y, double outward) {
    const double y2 = y + outward * vise.jaw_thickness_mm;
    FixtureSolid solid = Block(role, {x_mid - half, std::min(y, y2), bed}, {x_mid + half, std::max(y, y2), jaw_top});
    solid.grips = true;
    solid.grip_normal_S = Vec3(0, -outward, 0);
    return solid;
  };
  setup.fixtures.push_back(jaw(FixtureRole::kFixedJaw, rear > 0 ? box.max_mm.y() : box.min_mm.y(), rear));
  setup.fixtures.push_back(jaw(FixtureRole::kMovingJaw, rear > 0 ? box.min_mm.y() : box.max_mm.y(), -rear));
  FixtureSolid bed_solid =
      Block(FixtureRole::kBed, {x_mid - half, box.min_mm.y() - vise.jaw_thickness_mm, bed - vise.bed_height_mm},
            {x_mid + half, box.max_mm.y() + vise.jaw_thickness_mm, bed});
  bed_solid.supports = layout.parallels_mm == 0;
  setup.fixtures.push_back(bed_solid);
  setup.fixtures.push_back(Block(FixtureRole::kTable, {x_mid - 250, box.min_mm.y() - 120, bed - vise.bed_height_mm - 30},
                                 {x_mid + 250, box.max_mm.y() + 120, bed - vise.bed_height_mm}));
  if (layout.parallels_mm <= 0) return true;
  const Pose& X_PS = setup.parts.front().X_PS;
  const auto strips = ChooseStrips(vise, RestBox(layout.box_S, piece, X_PS), ThroughPlaces(sketch, piece, X_PS), Presses(sketch, piece, X_PS), layout.grip_mm);
  if (!strips) return false;
  for (const double y0 : strips->places) {
    FixtureSolid strip = Block(FixtureRole::kParallel, {x_mid - half, y0, bed}, {x_mid + half, y0 + strips->thickness_mm, box.min_mm.z()});
    strip.supports = true;
    setup.fixtures.push_back(strip);
  }
  return true;
}

// Round work stands so far out of the jaws that what shows how it is turned is reached.
Result<ViseLayout> LayOutShown(const SetupSketch& sketch, const PieceState& piece, const HoldingDevice& vise, bool tilted) {
  constexpr double kHigher_mm = 0.1;
  const double top = TopAfterCuts(sketch, piece);
  SetupSketch shown = sketch;
  for (std::size_t i = 0; i <= vise.parallels_mm.size(); ++i) {
    const Result<ViseLayout> layout = LayOut(shown, piece, vise);
    if (!layout && i > 0) break;
    if (!layout || piece.bands.empty() || tilted || IsAlikeAllRound(piece)) return layout;
    Setup probe;
    probe.parts.push_back({sketch.part, layout->X_PS, true});
    if (!AddViseSolids(probe, *layout, shown, piece, vise) || FindClock(piece, layout->X_PS, probe.fixtures, kOpenOverJaw_mm)) return layout;
    shown.bare_mm = top - layout->jaw_top_S + kHigher_mm;
  }
  return NoHold(CoveredWords(piece), "cut across the round before, or hold it so that it shows");
}

struct ContactMaker {
  Setup& setup;
  const PieceState& piece;
  Pose X_PS;
  void Add(ContactKind kind, const std::optional<FeatureId>& face, const Vec3& p_S, const Vec3& n_S,
           bool lifts = false) {
    AddTurn(face, p_S, n_S, face ? kind : ContactKind::kRough);
    setup.contacts.back().lifts = lifts && face.has_value();
  }
  // An edge is found by the finder on a raw side too, only less surely.
  void Find(ContactKind kind, const std::optional<FeatureId>& face, const Vec3& p_S, const Vec3& n_S) {
    AddTurn(face, p_S, n_S, face || kind == ContactKind::kEdgeFound ? kind : ContactKind::kRough);
  }
  // Set by eye and square or to an angle: without a face it is free, and nothing is drawn for it.
  void AddTurn(const std::optional<FeatureId>& face, const Vec3& p_S, const Vec3& n_S, ContactKind kind) {
    Contact contact;
    contact.kind = kind;
    contact.surface = {piece.part->name, face.value_or(FeatureId{})};
    contact.point_P_mm = X_PS * p_S;
    contact.normal_P = X_PS.linear() * n_S;
    setup.contacts.push_back(contact);
  }
};

std::optional<FeatureId> FaceOn(const PieceState& piece, const Pose& X_PS, const Vec3& n_S) {
  return FinishedFace(piece, X_PS.linear() * n_S);
}

// The outside that a turned piece lying in the vise rests on.
std::optional<FeatureId> RestingOutside(const PieceState& piece) {
  const Band* widest = nullptr;
  for (const Band& band : piece.bands) {
    if (widest == nullptr || band.diameter_mm > widest->diameter_mm) widest = &band;
  }
  return widest == nullptr ? std::nullopt : widest->feature;
}

// A finished side square to the jaw that shows whether the piece stands upright.
std::optional<FeatureId> UprightBy(const ContactMaker& make) {
  const auto left = FaceOn(make.piece, make.X_PS, -Vec3::UnitX());
  return left ? left : FaceOn(make.piece, make.X_PS, Vec3::UnitX());
}

void AddSupportContacts(ContactMaker& make, const ViseLayout& layout, const SetupSketch& sketch,
                        double jaw_side) {
  const Box3& b = layout.box_S;
  const double x0 = b.min_mm.x();
  const double x1 = b.max_mm.x();
  const double xm = b.centre_mm().x();
  const double y_jaw = jaw_side > 0 ? b.max_mm.y() : b.min_mm.y();
  const double y_free = jaw_side > 0 ? b.min_mm.y() : b.max_mm.y();
  const double z0 = b.min_mm.z();
  const double z1 = layout.jaw_top_S;
  const Vec3 up = Vec3::UnitZ();
  const Vec3 off_jaw(0, -jaw_side, 0);
  const auto jaw_face = FaceOn(make.piece, make.X_PS, Vec3(0, jaw_side, 0));
  const bool lying = !make.piece.bands.empty();
  const auto rest = lying ? RestingOutside(make.piece) : FaceOn(make.piece, make.X_PS, -up);
  if (sketch.holding == HoldingKind::kViseBedFirst) {
    make.Add(ContactKind::kBed, rest, {x0, y_jaw, z0}, up);
    make.Add(ContactKind::kBed, rest, {x1, y_jaw, z0}, up);
    make.Add(ContactKind::kBed, rest, {xm, y_free, z0}, up, true);
    make.Add(ContactKind::kFixedJaw, jaw_face, {x0, y_jaw, 0.5 * (z0 + z1)}, off_jaw);
    make.Add(ContactKind::kFixedJaw, jaw_face, {x1, y_jaw, 0.5 * (z0 + z1)}, off_jaw);
    return;
  }
  make.Add(ContactKind::kFixedJaw, jaw_face, {x0, y_jaw, z0}, off_jaw);
  make.Add(ContactKind::kFixedJaw, jaw_face, {x1, y_jaw, z0}, off_jaw);
  make.Add(ContactKind::kFixedJaw, jaw_face, {xm, y_jaw, z1}, off_jaw);
  const bool tilted = std::abs(sketch.up_P.cwiseAbs().maxCoeff() - 1) > 1e-9;
  if (tilted) {
    make.AddTurn(std::nullopt, {xm, b.centre_mm().y(), z0}, up, ContactKind::kSetBySquare);
  } else if (lying) {
    make.Add(ContactKind::kBed, rest, {xm, b.centre_mm().y(), z0}, up);
  } else if (const auto upright = UprightBy(make); !rest && upright) {
    // Standing on a sawn end: set upright by a square against a finished side.
    make.Add(ContactKind::kBed, rest, {xm, b.centre_mm().y(), z0}, up);
    make.AddTurn(upright, {x1, b.centre_mm().y(), z0}, up, ContactKind::kSetBySquare);
  } else {
    make.Add(ContactKind::kBed, rest, {x0, b.centre_mm().y(), z0}, up);
    make.Add(ContactKind::kBed, rest, {x1, b.centre_mm().y(), z0}, up);
  }
}

// The side of a slanting block that comes nearest to facing down.
Vec3 LeaningSide(const Vec3& up_P) {
  int axis = 0;
  up_P.cwiseAbs().maxCoeff(&axis);
  return -Vec3::Unit(axis) * (up_P[axis] > 0 ? 1.0 : -1.0);
}

// The angle's setting, and what the builder does for it.
Status SetToAngle(Setup& setup, std::string& words, const SetupSketch& sketch, const PieceState& piece, const ViseLayout& layout, const Shop& shop) {
  constexpr double kLineShare = 0.8;  // of the piece's length, scribed
  const std::vector<AngleBy> ways = WaysToSet(shop);
  const AngleBy by = sketch.angle_by ? *sketch.angle_by : ways.empty() ? AngleBy::kProtractor : ways.front();
  const auto setting = SetAngle(by, Lean_rad(sketch.up_P), std::round(kLineShare * layout.box_S.size_mm().x()), shop);
  if (!setting) return Unexpected(setting.error());
  setup.angle = *setting;
  const Vec3 side_P = LeaningSide(sketch.up_P);
  const auto face = FinishedFace(piece, side_P);
  const bool low_on_left = (layout.X_PS.linear().transpose() * side_P).x() > 0;
  words = AngleWords(*setting, shop, face ? face->text() : "the underside", low_on_left ? "left" : "right");
  return Ok{};
}

// A slope that is cut first is what later tools touch.
void SayZeroOnSlope(Setup& setup, const SetupSketch& sketch, const PieceState& piece, const Pose& X_PS, int z_sense) {
  for (const FeatureId& id : sketch.cuts) {
    const auto* chamfer = std::get_if<EdgeChamfer>(&CutOf(piece, id).shape);
    const auto plane = chamfer == nullptr ? std::nullopt : FindChamferPlane(*piece.part, *chamfer);
    if (!plane || sketch.cuts.size() < 2) continue;
    const double level = (X_PS.inverse() * plane->foot_a_P_mm).z();
    setup.zero.routine += fmt::format(" When {} is cut, every later tool touches it and is set to {:.3f} mm there.", id.text(), z_sense * level);
    return;
  }
}

// What a turn about the jaw's normal is taken from, for pieces that the bed does not level.
void AddTurnContact(ContactMaker& make, const ViseLayout& layout, const SetupSketch& sketch) {
  const Vec3 p_S(layout.box_S.max_mm.x(), layout.box_S.centre_mm().y(), layout.box_S.min_mm.z());
  if (make.setup.angle) {
    const bool line = make.setup.angle->by == AngleBy::kScribedLine;
    const auto rest = FinishedFace(make.piece, LeaningSide(sketch.up_P));
    const auto any = make.piece.made.empty() ? std::nullopt : std::optional(make.piece.made.front());
    make.AddTurn(rest ? rest : any, p_S, Vec3::UnitZ(), line ? ContactKind::kLineSet : ContactKind::kAngleSet);
    return;
  }
  make.AddTurn(std::nullopt, p_S, Vec3::UnitZ(), ContactKind::kSetBySquare);
}

// Round work lies as what is cut across it already shows; false when nothing that shows it is reached.
bool AddClockContact(ContactMaker& make, const ViseLayout& layout, std::string& words) {
  const Vec3 p_S(layout.box_S.max_mm.x(), layout.box_S.centre_mm().y(), layout.box_S.min_mm.z());
  if (IsAlikeAllRound(make.piece)) {
    make.AddTurn(std::nullopt, p_S, Vec3::UnitZ(), ContactKind::kSetBySquare);
    return true;
  }
  const auto clock = FindClock(make.piece, make.X_PS, make.setup.fixtures, kOpenOverJaw_mm);
  if (!clock) return false;
  make.AddTurn(clock->feature, clock->point_S, clock->normal_S, ContactKind::kSetBySquare);
  words = ClockWords(make.piece, *clock, make.X_PS, "bed");
  return true;
}

void AddZeroContacts(ContactMaker& make, const ViseLayout& layout, const SetupSketch& sketch,
                     bool needs_position, double jaw_side) {
  const Box3& b = layout.box_S;
  const Vec3 mid = b.centre_mm();
  if (!needs_position || sketch.zero == ZeroFrom::kEdges) {
    const ContactKind kind = needs_position ? ContactKind::kEdgeFound : ContactKind::kStop;
    const auto left = FaceOn(make.piece, make.X_PS, -Vec3::UnitX());
    const auto right = FaceOn(make.piece, make.X_PS, Vec3::UnitX());
    if (!make.piece.bands.empty()) {
      make.Add(ContactKind::kOuterCentred, RestingOutside(make.piece), {mid.x(), mid.y(), mid.z()}, Vec3::UnitX());
    } else if (left || !right) {
      make.Find(kind, left, {b.min_mm.x(), mid.y(), b.max_mm.z()}, Vec3::UnitX());
    } else {
      make.Add(kind, right, {b.max_mm.x(), mid.y(), b.max_mm.z()}, -Vec3::UnitX());
    }
    if (!needs_position) return;
    const auto jaw_face = FaceOn(make.piece, make.X_PS, Vec3(0, jaw_side, 0));
    make.Find(ContactKind::kEdgeFound, jaw_face, {mid.x(), jaw_side > 0 ? b.max_mm.y() : b.min_mm.y(), b.max_mm.z()},
             Vec3(0, -jaw_side, 0));
    return;
  }
  const Vec3 p_S = make.X_PS.inverse() * AxisOf(*make.piece.part->Find(*sketch.zero_on), *make.piece.part).point_mm;
  make.Add(ContactKind::kBoreCentred, sketch.zero_on, {p_S.x(), p_S.y(), b.max_mm.z()}, Vec3::UnitX());
  make.Add(ContactKind::kBoreCentred, sketch.zero_on, {p_S.x(), p_S.y(), b.max_mm.z()}, Vec3::UnitY());
}

// The tool's end is the reference in z, so every tool finds it anew.
std::string ZeroInZ(const SetupSketch& sketch, double to_come_off_mm, int z_sense) {
  const std::string top = sketch.leave_mm.empty() ? "the finished top" : "the top as this setup leaves it";
  if (to_come_off_mm < kDrawnAlike_mm) {
    return fmt::format(" z: every tool touches the top, set 0 there.");
  }
  const std::string where = sketch.together.empty() ? "of the top as it is" : fmt::format("of {} itself, not of what is screwed to it,", sketch.part.text());
  return fmt::format(" z: touch the first tool on the highest place {} and set {:.3f} mm, or what its step reckons from the measured piece, so that 0 "
                     "is {}; every later tool touches there, set 0.",
                     where, z_sense * to_come_off_mm, top);
}

// Holes across round work, and what was driven into them, give a finder no place.
std::string BesideHoles(const PieceState& piece) {
  for (const FeatureId& id : piece.made) {
    const auto* hole = std::get_if<Hole>(&piece.part->Find(id)->shape);
    if (hole != nullptr && std::abs(hole->into_P.dot(piece.part->turning_axis_P.direction)) < 1e-6) return fmt::format(", beside {} and what is in it,", Words(id.text()));
  }
  return "";
}

// Origin of S in P: on the edges or the bore in x and y, on the finished top in z.
void PlaceZero(Setup& setup, ViseLayout& layout, const SetupSketch& sketch, const PieceState& piece,
               bool needs_position, double jaw_side, const MachineTool& machine, const Shop& shop) {
  Zero& zero = setup.zero;
  const PartId& part = piece.part->name;
  const double top = TopAfterCuts(sketch, piece);
  Vec3 origin_S = layout.box_S.centre_mm();
  origin_S.z() = top;
  const auto left = FaceOn(piece, layout.X_PS, -Vec3::UnitX());
  const auto right = FaceOn(piece, layout.X_PS, Vec3::UnitX());
  const bool lying = !piece.bands.empty();
  const double finder_mm = FinderDiameter_mm(shop);
  if (sketch.zero == ZeroFrom::kBore && sketch.zero_on) {
    const Vec3 p_S = layout.X_PS.inverse() * AxisOf(*piece.part->Find(*sketch.zero_on), *piece.part).point_mm;
    origin_S.head<2>() = p_S.head<2>();
    zero.x_from = zero.y_from = {part, *sketch.zero_on};
    zero.routine = fmt::format("Centre the spindle on {} with the indicator; set x and y to 0.", sketch.zero_on->text());
  } else if (needs_position) {
    const bool from_left = left || !right;
    if (!lying) origin_S.x() = from_left ? layout.box_S.min_mm.x() : layout.box_S.max_mm.x();
    origin_S.y() = jaw_side > 0 ? layout.box_S.max_mm.y() : layout.box_S.min_mm.y();
    zero.x_from = {part, (from_left ? left : right).value_or(FeatureId{})};
    zero.y_from = {part, FaceOn(piece, layout.X_PS, Vec3(0, jaw_side, 0)).value_or(FeatureId{})};
    const double x_mm = machine.x_sense * (from_left ? -1 : 1) * finder_mm / 2;
    const double y_mm = machine.y_sense * -jaw_side * finder_mm / 2;
    const bool raw = !left && !right;
    const double between = layout.box_S.size_mm().y() + (IsRoughBehind(sketch, piece) ? kRoundBar_mm : 0);
    const std::string by_jaw = JawZeroWords({finder_mm, between, y_mm, zero.y_from.feature.text()});
    zero.routine =
        lying ? fmt::format("Touch the outside on both sides{} with the {:.0f} mm edge finder; x is 0 half way. In y, {}.", BesideHoles(piece), finder_mm, by_jaw)
              : fmt::format("With the {:.0f} mm edge finder at the edge on your {} hand{} set x to {:.3f} mm, {}; both are 0 at that corner.",
                            finder_mm, from_left ? "left" : "right", raw ? " (raw: touch two places, 5 and 15 mm below the top, and take the middle)" : "", x_mm,
                            by_jaw);
  } else if (sketch.on_marks || sketch.way == Technique::kTransferPunch) {
    zero.routine = "No zero is needed in x and y: bring the spindle over each mark and write the readings down; drill and tap go back to "
                   "them. The table only counts from the middle of the piece, for finding the way. z: every tool touches the face it "
                   "goes into, set 0 there.";
  } else if (sketch.through) {
    zero.routine = "No zero is needed in x and y: bring the spindle over each hole by the mate's own hole and write the readings "
                   "down; drill and tap go back to them when the mate is off. The table only counts from the middle of the piece, "
                   "for finding the way. z: let the drill touch the part through the mate's hole and set 0; without the mate, touch "
                   "its face.";
  } else {
    zero.routine = "No close zero is needed in x and y: the cuts run right across; 0 is the middle of the piece, near enough "
                   "by eye.";
  }
  if (!sketch.through && !sketch.on_marks) zero.routine += ZeroInZ(sketch, layout.box_S.max_mm.z() - top, machine.z_sense);
  zero.z_from = {part, FinishedFace(piece, sketch.up_P).value_or(FeatureId{})};
  layout.X_PS.translation() = layout.X_PS.linear() * origin_S;
  layout.box_S.min_mm -= origin_S;
  layout.box_S.max_mm -= origin_S;
  layout.jaw_top_S -= origin_S.z();
  zero.point_P_mm = layout.X_PS.translation();
}

bool IsRawYet(const PieceState& piece, const Vec3& direction_P) {
  return std::abs(ExtentOf(piece, direction_P).second - ExtentOf(RawPiece(*piece.part), direction_P).second) < kDrawnAlike_mm;
}

// A side that is not finished, by the face that it becomes.
std::string RawWords(const PieceState& piece, const Vec3& direction_P) {
  const Feature* face = OutermostFace(*piece.part, direction_P);
  const bool slopes = direction_P.cwiseAbs().maxCoeff() < 1 - 1e-9;
  if (face == nullptr) return slopes ? std::string("the sloping side") : fmt::format("the raw {} side", SideWord(direction_P));
  return fmt::format("the {}side that becomes {}", IsRawYet(piece, direction_P) ? "raw " : "", face->name.text());
}

// "the bed", "one 20 mm parallel, clear of the cuts", "20 mm parallels, the thin pair, 3 mm".
std::string StripWords(const ViseLayout& layout, const HoldingDevice& vise, const SetupSketch& sketch, const PieceState& piece, const Setup& setup) {
  std::vector<Box3> strips;
  for (const FixtureSolid& f : setup.fixtures) {
    if (f.role == FixtureRole::kParallel) strips.push_back(std::get<FixtureBox>(f.shape).box_F);
  }
  if (strips.empty()) return "the bed";
  const double thick = strips.front().size_mm().y();
  std::string words = strips.size() == 1 ? fmt::format("one {:.0f} mm parallel, clear of the cuts", layout.parallels_mm)
                                         : fmt::format("{:.0f} mm parallels", layout.parallels_mm);
  if (thick < vise.parallel_thickness_mm - 1e-6) return words + fmt::format(", of the thin ones, {:g} mm", thick);
  // Where a tool comes through beside them, a thicker one is cut into.
  const bool through = std::any_of(sketch.cuts.begin(), sketch.cuts.end(), [&](const FeatureId& id) {
    const auto* hole = std::get_if<Hole>(&CutOf(piece, id).shape);
    const auto* slot = std::get_if<Slot>(&CutOf(piece, id).shape);
    return (hole != nullptr && hole->through && std::abs(hole->into_P.dot(sketch.up_P)) > 0.5) || (slot != nullptr && slot->through);
  });
  return through ? words + fmt::format(", no thicker than {:g} mm", thick) : words;
}

// Where the drill presses beside what carries the piece.
std::string BesideWords(const SetupSketch& sketch, const PieceState& piece, const Setup& setup) {
  Strips strips;
  for (const FixtureSolid& f : setup.fixtures) {
    if (f.role != FixtureRole::kParallel) continue;
    const Box3& strip = std::get<FixtureBox>(f.shape).box_F;
    strips.places.push_back(strip.min_mm.y());
    strips.thickness_mm = strip.size_mm().y();
  }
  const double beside = strips.places.empty() ? 0 : BesideStrips_mm(strips, Presses(sketch, piece, setup.parts.front().X_PS));
  if (beside <= 0) return "";
  return fmt::format(" The drill presses {:.1f} mm beside the parallels: the jaws alone hold it there. Tighten well, feed lightly.", beside);
}

// A square shows nothing where there is no room for its stock.
std::string SquareStandsOn(const ViseLayout& layout, const HoldingDevice& vise) {
  constexpr double kForTheStock_mm = 10;  // opinion
  const double past = 0.5 * (vise.jaw_width_mm - layout.box_S.size_mm().x());
  return past >= kForTheStock_mm ? "the tops of the jaws" : "the table beside the vise";
}

std::string HoldWords(const ViseLayout& layout, const HoldingDevice& vise, const SetupSketch& sketch, const PieceState& piece,
                      const Setup& setup) {
  const auto jaw_face = FinishedFace(piece, sketch.jaw_P);
  const auto rest = FinishedFace(piece, -sketch.up_P);
  std::string words = sketch.holding == HoldingKind::kViseBedFirst ? "Vise, bed first: " : "Vise, jaw first: ";
  const std::string side = jaw_face ? jaw_face->text() : RawWords(piece, sketch.jaw_P);
  const std::string below = rest ? rest->text() : piece.bands.empty() ? RawWords(piece, -sketch.up_P) : "the outside";
  const auto strips = std::count_if(setup.fixtures.begin(), setup.fixtures.end(), [](const FixtureSolid& f) { return f.role == FixtureRole::kParallel; });
  const std::string on = StripWords(layout, vise, sketch, piece, setup);
  if (setup.angle) {
    return words + fmt::format("{} against the fixed jaw, its lowest edge {}, {:.1f} mm in the jaws.", side,
                               layout.parallels_mm > 0 ? fmt::format("{:.0f} mm above the bed", layout.parallels_mm) : "on the bed", layout.grip_mm);
  }
  words += fmt::format("{} against the fixed jaw, {} down on {}, {:.1f} mm in the jaws.", side, below, on, layout.grip_mm);
  if (sketch.holding == HoldingKind::kViseBedFirst && rest) {
    words += layout.parallels_mm <= 0 ? " Tap down until no feeler goes under it."
             : strips == 1            ? " Tap down until the parallel is tight."
                                      : " Tap down until the parallels are tight.";
  }
  if (sketch.holding == HoldingKind::kViseJawFirst && rest && piece.bands.empty() && layout.parallels_mm > 0 && strips > 1) {
    words += " Tap it down until neither parallel slides.";
  }
  const auto by_square = std::find_if(setup.contacts.begin(), setup.contacts.end(), [](const Contact& c) {
    return c.kind == ContactKind::kSetBySquare && !c.surface.feature.empty();
  });
  if (by_square != setup.contacts.end() && !rest && piece.bands.empty()) {
    words += fmt::format(" Set it upright with a square on {} against {}, better with the indicator run up it, a shim under the {} where it wants one.",
                         SquareStandsOn(layout, vise), by_square->surface.feature.text(), IsRawYet(piece, -sketch.up_P) ? "raw side" : "side that it stands on");
  } else if (sketch.holding == HoldingKind::kViseJawFirst && !rest && piece.bands.empty() && by_square == setup.contacts.end() &&
             IsRawYet(piece, -sketch.up_P)) {
    words += fmt::format(" A raw side under it may lean, a sawn end does: set it upright with a square on {} against a side of the bar, a shim under that "
                         "end where it wants one.",
                         SquareStandsOn(layout, vise));
  }
  if (IsRoughBehind(sketch, piece)) {
    words += RoundBarWords(setup, piece, kRoundBar_mm);
  }
  return words;
}

// A raw edge is touched in two places.
double EdgeMinutes(const Setup& setup, const Shop& shop) {
  double touches = 0;
  for (const FeatureRef& from : {setup.zero.x_from, setup.zero.y_from}) touches += from.feature.empty() ? 2 : 1;
  return touches * shop.times.find_edge;
}

}  // namespace

double SidewaysDepth_mm(const SetupSketch& sketch, const PieceState& piece, double top) {
  double depth = 0;
  for (const FeatureId& id : sketch.cuts) {
    const auto& shape = CutOf(piece, id).shape;
    if (const auto* step = std::get_if<StepCut>(&shape)) {
      const double low = std::min(sketch.up_P.dot(step->removed_P.min_mm), sketch.up_P.dot(step->removed_P.max_mm));
      depth = std::max(depth, top - low);
    } else if (const auto* flats = std::get_if<Flats>(&shape)) {
      depth = std::max(depth, std::abs(flats->to_mm - flats->from_mm));
    } else if (std::holds_alternative<EdgeChamfer>(shape)) {
      const auto& chamfer = std::get<EdgeChamfer>(shape);
      depth = std::max(depth, std::hypot(chamfer.leg_a_mm, chamfer.leg_b_mm));
    }
  }
  return depth;
}

std::vector<std::pair<Vec2, double>> ThroughPlaces(const SetupSketch& sketch, const PieceState& piece,
                                                   const Pose& X_PS) {
  std::vector<std::pair<Vec2, double>> places;
  const Pose X_SP = X_PS.inverse();
  const double bottom = BoxInSetup(piece, X_PS).min_mm.z();
  for (const FeatureId& id : sketch.cuts) {
    const auto& shape = CutOf(piece, id).shape;
    if (const auto* hole = std::get_if<Hole>(&shape); hole != nullptr && hole->through) {
      const double entry = (X_SP * hole->entries_P_mm.front()).z();
      const double exit = (X_SP * Vec3(hole->entries_P_mm.front() + hole->into_P * hole->depth_mm)).z();
      if (std::min(entry, exit) > bottom + kDeepExit_mm) continue;
      for (const Vec3& p : hole->entries_P_mm) {
        places.push_back({(X_SP * p).head<2>(), hole->diameter.upper_mm / 2});
      }
    } else if (const auto* slot = std::get_if<Slot>(&shape); slot != nullptr && slot->through) {
      const Vec3 half = slot->along_P * (slot->length_mm / 2 - slot->width.middle_mm() / 2);
      for (const double s : {-1.0, -0.5, 0.0, 0.5, 1.0}) {
        places.push_back({(X_SP * Vec3(slot->centre_P_mm + half * s)).head<2>(), slot->width.middle_mm() / 2});
      }
    }
  }
  return places;
}

namespace {

// Held, and what its words are made of.
struct InVise {
  HeldPiece held = {};
  ViseLayout layout;
  std::string clock_words = {};
  std::string angle_words = {};
};

Result<InVise> SeatInVise(const SetupSketch& sketch, const PieceState& piece, const MachineTool& machine, const HoldingDevice& vise,
                          const Shop& shop) {
  const bool tilted = std::abs(sketch.up_P.cwiseAbs().maxCoeff() - 1) > 1e-9;
  Result<ViseLayout> found = LayOutShown(sketch, piece, vise, tilted);
  if (!found) return Unexpected(found.error());
  InVise in{.layout = *found};
  ViseLayout& layout = in.layout;
  const double jaw_side = vise.fixed_jaw_at_rear ? 1.0 : -1.0;
  const bool needs_position = NeedsPosition(sketch, piece);
  HeldPiece& held = in.held;
  Setup& setup = held.setup;
  PlaceZero(setup, layout, sketch, piece, needs_position, jaw_side, machine, shop);
  setup.parts.push_back({sketch.part, layout.X_PS, true});
  ContactMaker make{setup, piece, layout.X_PS};
  AddSupportContacts(make, layout, sketch, jaw_side);
  if (tilted) {
    if (const Status set = SetToAngle(setup, in.angle_words, sketch, piece, layout, shop); !set) return Unexpected(set.error());
    SayZeroOnSlope(setup, sketch, piece, layout.X_PS, machine.z_sense);
  }
  if (!AddViseSolids(setup, layout, sketch, piece, vise)) {
    return NoHold(fmt::format("what comes out below {} leaves no room for parallels that carry it on both sides of the drill", sketch.part.text()),
                  "narrower parallels, or clamp it to the table");
  }
  if (sketch.holding == HoldingKind::kViseJawFirst && tilted) {
    AddTurnContact(make, layout, sketch);
  } else if (!piece.bands.empty() && !AddClockContact(make, layout, in.clock_words)) {
    return NoHold(CoveredWords(piece), "cut across the round before, or hold it so that it shows");
  }
  AddZeroContacts(make, layout, sketch, needs_position, jaw_side);
  const auto farther = [](double a, double b) { return std::abs(a) > std::abs(b) ? a : b; };
  const Vec2 far_S(farther(layout.box_S.min_mm.x(), layout.box_S.max_mm.x()),
                   farther(layout.box_S.min_mm.y(), layout.box_S.max_mm.y()));
  if (needs_position) {
    const bool cut_there = FaceOn(piece, layout.X_PS, Vec3(far_S.x() > 0 ? 1 : -1, 0, 0)) &&
                           FaceOn(piece, layout.X_PS, Vec3(0, far_S.y() > 0 ? 1 : -1, 0));
    setup.zero.witness = fmt::format("over the far corner the readings are {}{:.3f} in x and {:.3f} in y.",
                                     cut_there || !piece.bands.empty() ? "" : "about ", machine.x_sense * far_S.x(),
                                     machine.y_sense * far_S.y());
  }
  const bool lies_across = !piece.bands.empty() &&
                           std::abs((layout.X_PS.linear().transpose() * piece.part->turning_axis_P.direction).y()) > 1 - 1e-9;
  if (needs_position && lies_across) setup.zero.witness = RoundWitness(layout.box_S, FinderDiameter_mm(shop));
  setup.opening_mm = layout.box_S.size_mm().y();
  setup.grip_depth_mm = layout.grip_mm;
  setup.parallels_mm = layout.parallels_mm;
  held.clearance_below_mm = layout.parallels_mm;
  held.seat_min = shop.times.seat_in_vise + (setup.angle ? AngleMinutes(setup.angle->by) : 0);
  if (needs_position) held.seat_min += sketch.zero == ZeroFrom::kBore ? shop.times.centre_bore : EdgeMinutes(setup, shop);
  return in;
}

}  // namespace

bool IsHeldInVise(const SetupSketch& sketch, const PieceState& piece, const MachineTool& machine, const HoldingDevice& vise, const Shop& shop) {
  return SeatInVise(sketch, piece, machine, vise, shop).has_value();
}

Result<HeldPiece> HoldInVise(const SetupSketch& sketch, const PieceState& piece, const MachineTool& machine, const HoldingDevice& vise,
                             const Shop& shop) {
  Result<InVise> in = SeatInVise(sketch, piece, machine, vise, shop);
  if (!in) return Unexpected(in.error());
  Setup& setup = in->held.setup;
  setup.hold_words = HoldWords(in->layout, vise, sketch, piece, setup) + BesideWords(sketch, piece, setup) +
                     ViseAdditions(setup, piece, sketch.cuts, sketch.jaw_P, IsRoughBehind(sketch, piece)) + in->clock_words;
  if (!in->angle_words.empty()) setup.hold_words += " " + in->angle_words;
  return std::move(in->held);
}

}  // namespace fitwright::planner
