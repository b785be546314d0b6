// A block in the independent four-jaw chuck, the axis of its bore brought to the spindle's.
#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "fitwright/planner/directions.h"
#include "fitwright/planner/holding_internal.h"

namespace fitwright::planner {
namespace {

constexpr double kToolRoom_mm = 2;     // between the jaws and the lowest cut outside
constexpr double kLeastGrip_mm = 8;    // of the jaws along the block, opinion
constexpr double kJawLength_mm = 30;   // of a jaw along its slot, opinion
constexpr double kSameAxis_mm = 1e-6;


double OffAxis_mm(const SetupSketch& sketch, const Vec3& a, const Vec3& b) {
  const Vec3 d = a - b;
  return (d - sketch.up_P * sketch.up_P.dot(d)).norm();
}

Unexpected NotHere(const SetupSketch& sketch, const std::string& where, const std::string& why) {
  return NoHold(fmt::format("{} does not go {}: {}", sketch.part.text(), where, why), "cut it on the mill");
}
Unexpected NotHere(const SetupSketch& sketch, const std::string& why) { return NotHere(sketch, "in the four-jaw", why); }

std::array<Vec3, 4> JawSides() { return {Vec3(Vec3::UnitX()), Vec3(-Vec3::UnitX()), Vec3(Vec3::UnitY()), Vec3(-Vec3::UnitY())}; }

double ReachOf(const Box3& box, const Vec3& side) {
  return std::max(side.dot(box.min_mm.cwiseProduct(side.cwiseAbs())), side.dot(box.max_mm.cwiseProduct(side.cwiseAbs())));
}

double JawEnd(const SetupSketch& sketch, const PieceState& piece, const Box3& box, const HoldingDevice& chuck) {
  double lowest = box.max_mm.z();
  for (const FeatureId& id : sketch.cuts) {
    if (std::holds_alternative<PlanarFace>(CutOf(piece, id).shape)) lowest = std::min(lowest, 0.0);
  }
  return std::min(box.min_mm.z() + chuck.jaw_reach_mm, lowest - kToolRoom_mm);
}

void AddJaws(Setup& setup, const Box3& box, double end, const HoldingDevice& chuck) {
  const double root = box.min_mm.z();
  for (const Vec3& side : JawSides()) {
    const double from = ReachOf(box, side);
    FixtureSolid jaw;
    jaw.role = FixtureRole::kChuckJaw;
    FixtureBox shape;
    shape.box_F = {{from, -chuck.jaw_step_mm / 2, root}, {from + kJawLength_mm, chuck.jaw_step_mm / 2, end}};
    shape.X_SF = Pose(Eigen::AngleAxisd(std::atan2(side.y(), side.x()), Vec3::UnitZ()));
    jaw.shape = shape;
    jaw.grips = true;
    jaw.grip_normal_S = -side;
    setup.fixtures.push_back(jaw);
  }
  FixtureCylinder body;
  body.from_mm = root - chuck.body_length_mm;
  body.to_mm = root;
  body.outer_mm = chuck.body_diameter_mm;
  body.inner_mm = chuck.bore_mm;
  FixtureSolid face;
  face.role = FixtureRole::kChuckBody;
  face.shape = body;
  face.supports = true;
  setup.fixtures.push_back(face);
}

void Touch(Setup& setup, const PieceState& piece, ContactKind kind, const std::optional<FeatureId>& on, const Pose& X_PS, const Vec3& p_S,
           const Vec3& n_S) {
  Contact contact;
  contact.kind = on ? kind : ContactKind::kRough;
  contact.surface = {piece.part->name, on.value_or(FeatureId{})};
  contact.point_P_mm = X_PS * p_S;
  contact.normal_P = X_PS.linear() * n_S;
  setup.contacts.push_back(contact);
}

// The back on the chuck's face.
void AddJawBackContacts(Setup& setup, const SetupSketch& sketch, const PieceState& piece, const Box3& box) {
  const Pose& X_PS = setup.parts.front().X_PS;
  const auto back = FinishedFace(piece, -sketch.up_P);
  const double root = box.min_mm.z();
  const Vec3 low(box.min_mm.x() + 1, box.min_mm.y() + 1, root);
  const Vec3 high(box.max_mm.x() - 1, box.max_mm.y() - 1, root);
  for (const Vec3& p : {low, Vec3(high.x(), low.y(), root), Vec3(0.5 * (low.x() + high.x()), high.y(), root)}) {
    Touch(setup, piece, ContactKind::kChuckFace, back, X_PS, p, Vec3::UnitZ());
  }
}

}  // namespace

Result<BlockAxis> FindBlockAxis(const SetupSketch& sketch, const PieceState& piece, const std::string& where) {
  BlockAxis aim;
  aim.on_axis_P = piece.box_P.centre_mm();
  bool any = false;
  for (const FeatureId& id : sketch.cuts) {
    const Feature& feature = CutOf(piece, id);
    if (const auto* face = std::get_if<PlanarFace>(&feature.shape)) {
      if (!SameWay(face->normal_P, sketch.up_P)) return NotHere(sketch, where, fmt::format("{} does not face the tailstock", id.text()));
      continue;
    }
    const Feature* under = &feature;
    if (const auto* chamfer = std::get_if<RoundChamfer>(&feature.shape)) under = &CutOf(piece, chamfer->on);
    const auto* hole = std::get_if<Hole>(&under->shape);
    if (hole == nullptr || hole->entries_P_mm.size() != 1 || std::abs(hole->into_P.dot(sketch.up_P)) < 1 - 1e-9) {
      return NotHere(sketch, where, fmt::format("{} does not turn about one axis", id.text()));
    }
    if (any && OffAxis_mm(sketch, hole->entries_P_mm.front(), aim.on_axis_P) > kSameAxis_mm) {
      return NotHere(sketch, where, "its bores stand on several axes");
    }
    aim.on_axis_P = hole->entries_P_mm.front();
    if (hole->through) aim.through_mm = std::max(aim.through_mm, hole->diameter.upper_mm);
    any = true;
  }
  for (const FeatureId& id : piece.made) {
    const auto* hole = std::get_if<Hole>(&CutOf(piece, id).shape);
    const bool clocked = hole != nullptr && any && hole->use == HoleUse::kBore && hole->entries_P_mm.size() == 1 &&
                         std::abs(hole->into_P.dot(sketch.up_P)) > 1 - 1e-9 &&
                         OffAxis_mm(sketch, hole->entries_P_mm.front(), aim.on_axis_P) < kSameAxis_mm;
    if (clocked) aim.bore = id;
  }
  return aim;
}

Pose BlockFrame(const SetupSketch& sketch, const PieceState& piece, const Vec3& on_axis_P) {
  const Vec3 z = sketch.up_P;
  const Vec3 x = std::abs(z.x()) < 0.5 ? Vec3(Vec3::UnitX()) : Vec3(Vec3::UnitY());
  Pose X_PS = Pose::Identity();
  X_PS.linear().col(0) = x;
  X_PS.linear().col(1) = z.cross(x);
  X_PS.linear().col(2) = z;
  X_PS.translation() = on_axis_P + z * (TopAfterCuts(sketch, piece) - z.dot(on_axis_P));
  return X_PS;
}

bool HasSidesToScribeFrom(const SetupSketch& sketch, const PieceState& piece) {
  const Vec3 x = std::abs(sketch.up_P.x()) < 0.5 ? Vec3(Vec3::UnitX()) : Vec3(Vec3::UnitY());
  const auto finished = [&](const Vec3& side) { return FinishedFace(piece, side) || FinishedFace(piece, -side); };
  return FinishedFace(piece, -sketch.up_P) && finished(x) && finished(sketch.up_P.cross(x));
}

void AddBlockAxisContacts(Setup& setup, const PieceState& piece, const BlockAxis& axis) {
  const Pose& X_PS = setup.parts.front().X_PS;
  if (axis.bore) {
    for (const Vec3& n : {Vec3(Vec3::UnitX()), Vec3(Vec3::UnitY())}) {
      Touch(setup, piece, ContactKind::kBoreCentred, axis.bore, X_PS, Vec3::Zero(), n);
    }
    return;
  }
  const Box3 box = BoxInSetup(piece, X_PS);
  for (const int i : {0, 1}) {
    const Vec3 out = -Vec3::Unit(i);
    const bool minus = FinishedFace(piece, X_PS.linear() * out).has_value();
    const bool plus = FinishedFace(piece, X_PS.linear() * -out).has_value();
    const Vec3 side = minus || !plus ? out : Vec3(-out);
    Touch(setup, piece, ContactKind::kEdgeFound, FinishedFace(piece, X_PS.linear() * side), X_PS, side * ReachOf(box, side), -side);
  }
}

void SayBlockAxis(Setup& setup, const BlockAxis& axis, const Box3& box) {
  const PartId& part = setup.parts.front().part;
  setup.zero.x_from = setup.zero.y_from = {part, axis.bore.value_or(FeatureId{})};
  setup.zero.point_P_mm = setup.parts.front().X_PS.translation();
  const std::string to = axis.bore ? fmt::format("the wall of {}", axis.bore->text())
                                   : fmt::format("a pointed rod in the punch mark, its other end on the tailstock's centre: the mark scribed {:.2f} mm and "
                                                 "{:.2f} mm from two finished sides", ReachOf(box, -Vec3::UnitX()), ReachOf(box, -Vec3::UnitY()));
  const std::string move = setup.holding == HoldingKind::kFaceplate ? "tap the piece over, its clamps nipped" : "move opposite jaws against each other";
  setup.zero.routine = fmt::format("Indicator on {}; {} until the needle stands still. z is 0 at the finished end face.", to, move);
  setup.zero.witness = "a full turn by hand: the needle stays within two hundredths, and the piece clears bed and slide.";
}

Result<HeldPiece> HoldInFourJaw(const SetupSketch& sketch, const PieceState& piece, const MachineTool& machine, const HoldingDevice& chuck,
                                const Shop& shop) {
  const Result<BlockAxis> found = FindBlockAxis(sketch, piece, "in the four-jaw");
  if (!found) return Unexpected(found.error());
  if (!found->bore && !HasSidesToScribeFrom(sketch, piece)) return NotHere(sketch, "no finished back and sides to scribe its centre from");
  HeldPiece held;
  Setup& setup = held.setup;
  setup.parts.push_back({sketch.part, BlockFrame(sketch, piece, found->on_axis_P), true});
  const Box3 box = BoxInSetup(piece, setup.parts.front().X_PS);
  const Vec3 far = box.min_mm.cwiseAbs().cwiseMax(box.max_mm.cwiseAbs());
  const double swing = 2 * far.head<2>().norm();
  if (machine.swing_mm > 0 && swing > machine.swing_mm) {
    return NotHere(sketch, fmt::format("its corner swings {:.0f} mm, {} takes {:.0f}", swing, machine.words, machine.swing_mm));
  }
  const bool faces = std::any_of(sketch.cuts.begin(), sketch.cuts.end(), [&](const FeatureId& id) {
    return std::holds_alternative<PlanarFace>(CutOf(piece, id).shape);
  });
  if (faces && machine.swing_cross_slide_mm > 0 && swing > machine.swing_cross_slide_mm) {
    return NotHere(sketch, fmt::format("to be faced its corner swings {:.0f} mm, over the cross slide {} takes {:.0f}", swing, machine.words,
                                       machine.swing_cross_slide_mm));
  }
  const double wide = std::max(box.size_mm().x(), box.size_mm().y());
  const double narrow = std::min(box.size_mm().x(), box.size_mm().y());
  if (wide > chuck.grip_max_mm || narrow < chuck.grip_min_mm) return NotHere(sketch, fmt::format("its jaws take {:.0f} to {:.0f} mm", chuck.grip_min_mm, chuck.grip_max_mm));
  if (found->through_mm > 0 && found->through_mm + kBoreRoom_mm > chuck.bore_mm) {
    return NotHere(sketch, fmt::format("a {:.1f} bore would run into its face", found->through_mm));
  }
  const double end = JawEnd(sketch, piece, box, chuck);
  if (end - box.min_mm.z() < kLeastGrip_mm) return NotHere(sketch, "it is too thin for the jaws");
  AddJaws(setup, box, end, chuck);
  AddJawBackContacts(setup, sketch, piece, box);
  AddBlockAxisContacts(setup, piece, *found);
  setup.opening_mm = box.size_mm().x();
  setup.grip_depth_mm = end - box.min_mm.z();
  const FeatureRef back{sketch.part, FinishedFace(piece, -sketch.up_P).value_or(FeatureId{})};
  setup.zero.z_from = back;
  SayBlockAxis(setup, *found, box);
  setup.hold_words = fmt::format("{}: back on the chuck's face, {:.1f} mm in the jaws, {:.1f} mm across one pair and {:.1f} mm across the other; packing "
                                 "of soft metal on finished sides.", chuck.words, setup.grip_depth_mm, box.size_mm().x(), box.size_mm().y());
  const double off = Vec2(0.5 * (box.min_mm.x() + box.max_mm.x()), 0.5 * (box.min_mm.y() + box.max_mm.y())).norm();
  if (off > 1) {
    setup.cautions.push_back(fmt::format("Out of balance: the block's middle stands {:.0f} mm off the spindle. Bolt a counterweight on the light side, "
                                         "at most {:.0f} rpm, stand clear of its plane.", off, kMostUnbalanced_rpm));
  }
  held.seat_min = shop.times.seat_in_four_jaw + (found->bore ? 0 : kMarkOut_min);
  held.clearance_below_mm = chuck.body_length_mm;
  return held;
}

}  // namespace fitwright::planner
