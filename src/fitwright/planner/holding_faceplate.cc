// A plate or block clamped to the faceplate, a bore's axis brought to the spindle's: for bores that the
// four-jaw cannot take, its face on the plate or on packing that lets the bar run out.
#include <algorithm>
#include <cmath>
#include <optional>

#include "fitwright/planner/holding_internal.h"

namespace fitwright::planner {
namespace {

constexpr double kClampWide_mm = 20;     // of a strap, where the shop does not say (opinion)
constexpr double kRunOut_mm = 4;         // of a bar's end past the back of the piece
constexpr double kBalanced_mm = 1;
constexpr double kBalance_min = 10;      // bolting a weight on and trying it (opinion)

Unexpected NotThere(const SetupSketch& sketch, const std::string& why) {
  return NoHold(fmt::format("{} does not go on the faceplate: {}", sketch.part.text(), why), "cut it on the mill, or in the four-jaw");
}

double FarRadius(const Box3& box) { return box.min_mm.cwiseAbs().cwiseMax(box.max_mm.cwiseAbs()).head<2>().norm(); }

// How high it stands off the plate; 0 where nothing comes out that the plate's own bore does not swallow.
Result<double> PackingFor(const SetupSketch& sketch, const BlockAxis& axis, const HoldingDevice& plate) {
  if (axis.through_mm <= 0 || axis.through_mm + kBoreRoom_mm <= plate.bore_mm) return 0.0;
  std::optional<double> pack;
  for (const double height : plate.parallels_mm) {
    if (height >= kRunOut_mm && (!pack || height < *pack)) pack = height;
  }
  if (pack) return *pack;
  return NotThere(sketch, fmt::format("a {:.1f} bore would run into the plate, and there is no packing of {:.0f} mm or more for it", axis.through_mm, kRunOut_mm));
}

// The outermost corner that turns with the plate: piece or clamps.
double Swing_mm(const Setup& setup, const Box3& box) {
  double r = FarRadius(box);
  for (const FixtureSolid& f : setup.fixtures) {
    const auto* clamp = std::get_if<FixtureBox>(&f.shape);
    if (clamp != nullptr) r = std::max(r, FarRadius(clamp->box_F));
  }
  return 2 * r;
}

void AddPlate(Setup& setup, double top, bool bears, const HoldingDevice& plate) {
  FixtureCylinder body;
  body.from_mm = top - plate.body_length_mm;
  body.to_mm = top;
  body.outer_mm = plate.body_diameter_mm;
  body.inner_mm = plate.bore_mm;
  FixtureSolid solid;
  solid.role = FixtureRole::kFaceplate;
  solid.shape = body;
  solid.supports = bears;
  setup.fixtures.push_back(solid);
}

// Under the clamps, where the back is pressed on.
void AddBackContacts(Setup& setup, const PieceState& piece, const std::vector<ClampPlace>& clamps, const Box3& box) {
  const ContactAdder add{setup, piece, setup.parts.front().X_PS};
  const auto back = FinishedFace(piece, -setup.parts.front().X_PS.linear().col(2));
  const ClampPlace& a = clamps.front();
  const ClampPlace& b = clamps.back();
  const Vec2 along(-a.outward.y(), a.outward.x());
  const Vec2 reach = along.cwiseProduct(0.5 * (a.high - a.low).cwiseAbs());
  const Vec2 mid = 0.5 * (a.low + a.high);
  for (const Vec2& p : {Vec2(mid - reach), Vec2(mid + reach), Vec2(0.5 * (b.low + b.high))}) {
    const Vec2 on = p.cwiseMax(box.min_mm.head<2>()).cwiseMin(box.max_mm.head<2>());
    add.Add(ContactKind::kChuckFace, back, {on.x(), on.y(), box.min_mm.z()}, Vec3::UnitZ());
  }
}

void SayBalance(Setup& setup, const Box3& box) {
  const double off = box.centre_mm().head<2>().norm();
  if (off > kBalanced_mm) {
    setup.cautions.push_back(fmt::format("Out of balance: its middle stands {:.0f} mm off the spindle. Bolt a counterweight on the light side until the "
                                         "plate stands still wherever it is turned, belt off; at most {:.0f} rpm, stand clear of its plane.",
                                         off, kMostUnbalanced_rpm));
  }
  setup.cautions.push_back(fmt::format("Bolts and straps swing {:.0f} mm: a full turn by hand past bed and slide before the switch, sleeves clear.",
                                       std::ceil(Swing_mm(setup, box))));
}

}  // namespace

Result<HeldPiece> HoldOnFaceplate(const SetupSketch& sketch, const PieceState& piece, const MachineTool& machine,
                                  const HoldingDevice& plate, const Shop& shop) {
  const Result<BlockAxis> axis = FindBlockAxis(sketch, piece, "on the faceplate");
  if (!axis) return Unexpected(axis.error());
  if (!FinishedFace(piece, -sketch.up_P)) return NotThere(sketch, "no finished face to lie on it");
  if (!axis->bore && !HasSidesToScribeFrom(sketch, piece)) return NotThere(sketch, "no finished sides to scribe its centre from");
  const Result<double> pack = PackingFor(sketch, *axis, plate);
  if (!pack) return Unexpected(pack.error());
  HeldPiece held;
  Setup& setup = held.setup;
  setup.holding = HoldingKind::kFaceplate;
  setup.parts.push_back({sketch.part, BlockFrame(sketch, piece, axis->on_axis_P), true});
  const Box3 box = BoxInSetup(piece, setup.parts.front().X_PS);
  const double wide = plate.jaw_width_mm > 0 ? plate.jaw_width_mm : kClampWide_mm;
  const std::vector<ClampPlace> clamps = FindClampPlaces(sketch, piece, setup.parts.front().X_PS, wide);
  const bool faces = std::any_of(sketch.cuts.begin(), sketch.cuts.end(), [&](const FeatureId& id) {
    return std::holds_alternative<PlanarFace>(CutOf(piece, id).shape);
  });
  if (faces || clamps.empty()) return NotThere(sketch, "the cuts leave no rim of it for the clamps");
  for (const ClampPlace& clamp : clamps) AddClamp(setup, box, clamp, *pack);
  for (const FixtureSolid& f : setup.fixtures) {
    const auto* strap = std::get_if<FixtureBox>(&f.shape);
    if (FarRadius(strap->box_F) > plate.body_diameter_mm / 2) return NotThere(sketch, "the clamps' bolts would stand beyond the plate");
  }
  if (machine.swing_mm > 0 && Swing_mm(setup, box) > machine.swing_mm) {
    return NotThere(sketch, fmt::format("it swings {:.0f} mm, {} takes {:.0f}", Swing_mm(setup, box), machine.words, machine.swing_mm));
  }
  AddPlate(setup, box.min_mm.z() - *pack, *pack == 0, plate);
  AddBackContacts(setup, piece, clamps, box);
  AddBlockAxisContacts(setup, piece, *axis);
  setup.zero.z_from = {sketch.part, FinishedFace(piece, sketch.up_P).value_or(FeatureId{})};
  SayBlockAxis(setup, *axis, box);
  setup.opening_mm = box.size_mm().z() + *pack;
  setup.parallels_mm = *pack;
  setup.hold_words = fmt::format("{}: the chuck off, the plate wiped and its face tried with the indicator. The back {}, {} straps at its rim, their bolts in "
                                 "the slots close to the work, each strap level; nip, dial in, tighten, look again.",
                                 plate.words,
                                 *pack > 0 ? fmt::format("on packing of one height, {:.0f} mm, under each strap and nowhere else, so that the bar runs out into air", *pack)
                                           : std::string("flat on the plate"),
                                 clamps.size());
  SayBalance(setup, box);
  held.seat_min = shop.times.seat_in_four_jaw + (axis->bore ? 0 : kMarkOut_min) +
                  (box.centre_mm().head<2>().norm() > kBalanced_mm ? kBalance_min : 0);
  held.clearance_below_mm = *pack > 0 ? *pack : plate.body_length_mm;
  return held;
}

}  // namespace fitwright::planner
