// Clamps on the mill table: a flat piece on packing, clamped down at its rim above the packing, along a
// straight edge that is trued with the indicator.
#include <algorithm>
#include <cmath>
#include <optional>

#include "fitwright/planner/holding_internal.h"

namespace fitwright::planner {
namespace {

constexpr double kBelowCut_mm = 1;   // a straight edge below a cut that runs out over it
constexpr double kLeastStop_mm = 2;   // of its height that the piece bears on
constexpr double kClampBehind_mm = 25;   // a clamp's bar goes on beyond the piece
constexpr double kMoreClamps_mm = 150;   // longer edges get two clamps
constexpr double kStraightEdge_mm = 12;  // width of the straight edge on the table
constexpr double kStep_mm = 1;

struct Keep {
  Vec2 centre = Vec2::Zero();
  double radius_mm = 0;
};

// What the cuts sweep seen from above, as discs; nothing when a cut leaves no rim to clamp.
std::optional<std::vector<Keep>> CutsFromAbove(const SetupSketch& sketch, const PieceState& piece, const Pose& X_PS) {
  std::vector<Keep> keeps;
  const Pose X_SP = X_PS.inverse();
  const auto row = [&](const Vec3& centre, const Vec3& along, double length, double width) {
    const double half = std::max(0.0, (length - width) / 2);
    const int steps = std::max(1, static_cast<int>(std::ceil(4 * half / width)));
    for (int i = 0; i <= steps; ++i) {
      const double at = half * (2.0 * i / steps - 1);
      keeps.push_back({(X_SP * Vec3(centre + at * along)).head<2>(), width / 2 * 1.2});
    }
  };
  for (const FeatureId& id : sketch.cuts) {
    const auto& shape = CutOf(piece, id).shape;
    if (const auto* hole = std::get_if<Hole>(&shape)) {
      for (const Vec3& p : hole->entries_P_mm) keeps.push_back({(X_SP * p).head<2>(), hole->diameter.upper_mm / 2});
    } else if (const auto* slot = std::get_if<Slot>(&shape)) {
      row(slot->centre_P_mm, slot->along_P, slot->length_mm, slot->width.middle_mm());
    } else if (const auto* pocket = std::get_if<Pocket>(&shape)) {
      row(pocket->centre_P_mm, pocket->along_P, pocket->length_mm + pocket->width_mm * 0.5, pocket->width_mm * 1.2);
    } else if (const auto* step = std::get_if<StepCut>(&shape)) {
      const Box3& b = step->removed_P;
      const Vec3 size = b.size_mm();
      Vec3 along = Vec3::Zero();
      int longest = 0;
      (size - sketch.up_P.cwiseAbs().cwiseProduct(size)).maxCoeff(&longest);
      along[longest] = 1;
      const double width = (size - sketch.up_P.cwiseAbs().cwiseProduct(size) - along.cwiseProduct(size)).maxCoeff();
      row(b.centre_mm(), along, size[longest], width);
    } else if (!std::holds_alternative<RoundChamfer>(shape)) {
      return std::nullopt;
    }
  }
  return keeps;
}

constexpr double kBetweenClamps_mm = 1;  // opposite each other (opinion)

bool IsClear(const ClampPlace& clamp, const std::vector<Keep>& keeps) {
  return std::none_of(keeps.begin(), keeps.end(), [&](const Keep& k) {
    const Vec2 nearest = k.centre.cwiseMax(clamp.low).cwiseMin(clamp.high);
    return (k.centre - nearest).norm() < k.radius_mm + kKeepOff_mm;
  });
}

// The clamp on one edge nearest to `wanted` along it.
std::optional<ClampPlace> ClampOn(const Box3& box, int axis, double sign, double wanted, double wide_mm, const std::vector<Keep>& keeps) {
  const int other = 1 - axis;
  const double edge = sign > 0 ? box.max_mm[axis] : box.min_mm[axis];
  // A clamp wider than the piece stands over its middle.
  const double half = std::min(wide_mm, box.size_mm()[other]) / 2;
  const double lo = box.min_mm[other] + half;
  const double hi = box.max_mm[other] - half;
  for (const double bite : {10.0, 6.0}) {
    if (2 * bite > box.size_mm()[axis] - kBetweenClamps_mm) continue;  // the one opposite bites as far
    for (double off = 0; off <= hi - lo + kGeometryNoise_mm; off += kStep_mm) {
      for (const double at : {wanted + off, wanted - off}) {
        if (at < lo - kGeometryNoise_mm || at > hi + kGeometryNoise_mm) continue;
        ClampPlace clamp;
        clamp.outward = Vec2::Zero();
        clamp.outward[axis] = sign;
        clamp.low[other] = at - wide_mm / 2;
        clamp.high[other] = at + wide_mm / 2;
        clamp.low[axis] = sign > 0 ? edge - bite : edge;
        clamp.high[axis] = sign > 0 ? edge : edge + bite;
        if (IsClear(clamp, keeps)) return clamp;
      }
    }
  }
  return std::nullopt;
}

// Clamps on two opposite edges, the longer pair first.
std::vector<ClampPlace> FindClamps(const Box3& box, double wide_mm, const std::vector<Keep>& keeps) {
  const int shorter = box.size_mm().x() < box.size_mm().y() ? 0 : 1;
  for (const int axis : {shorter, 1 - shorter}) {
    const int other = 1 - axis;
    const double length = box.size_mm()[other];
    const std::vector<double> shares = length > kMoreClamps_mm ? std::vector<double>{0.25, 0.75} : std::vector<double>{0.5};
    std::vector<ClampPlace> clamps;
    for (const double sign : {-1.0, 1.0}) {
      for (const double share : shares) {
        if (const auto clamp = ClampOn(box, axis, sign, box.min_mm[other] + share * length, wide_mm, keeps)) clamps.push_back(*clamp);
      }
    }
    if (clamps.size() == 2 * shares.size()) return clamps;
  }
  return {};
}

// Lowest floor of a step that the setup cuts: the mill runs out at that height over what stands beside.
double LowestStep(const SetupSketch& sketch, const PieceState& piece, const Pose& X_PS) {
  double lowest = 1e9;
  for (const FeatureId& id : sketch.cuts) {
    const auto* step = std::get_if<StepCut>(&CutOf(piece, id).shape);
    if (step == nullptr) continue;
    const Pose X_SP = X_PS.inverse();
    lowest = std::min({lowest, (X_SP * step->removed_P.min_mm).z(), (X_SP * step->removed_P.max_mm).z()});
  }
  return lowest;
}

void AddSolidsOnTable(Setup& setup, const Box3& box, const std::vector<ClampPlace>& clamps, double pack_mm, double stop_top) {
  const double bottom = box.min_mm.z();
  for (const ClampPlace& c : clamps) AddClamp(setup, box, c, pack_mm);
  setup.fixtures.push_back(Block(FixtureRole::kStop, {box.min_mm.x(), box.max_mm.y(), bottom - pack_mm},
                                 {box.max_mm.x(), box.max_mm.y() + kStraightEdge_mm, stop_top}));
  setup.fixtures.push_back(Block(FixtureRole::kTable, {box.centre_mm().x() - 250, box.min_mm.y() - 120, bottom - pack_mm - 30},
                                 {box.centre_mm().x() + 250, box.max_mm.y() + 120, bottom - pack_mm}));
}

class TableContacts {
 public:
  TableContacts(Setup& setup, const PieceState& piece, const Pose& X_PS) : setup_(setup), piece_(piece), X_PS_(X_PS) {}

  std::optional<FeatureId> Face(const Vec3& n_S) const { return FinishedFace(piece_, X_PS_.linear() * n_S); }

  void Add(ContactKind kind, const std::optional<FeatureId>& face, const Vec3& p_S, const Vec3& n_S) {
    Contact contact;
    contact.kind = face || kind == ContactKind::kEdgeFound ? kind : ContactKind::kRough;
    contact.surface = {piece_.part->name, face.value_or(FeatureId{})};
    contact.point_P_mm = X_PS_ * p_S;
    contact.normal_P = X_PS_.linear() * n_S;
    setup_.contacts.push_back(contact);
  }

 private:
  Setup& setup_;
  const PieceState& piece_;
  Pose X_PS_;
};

// Two ends of the first packing and the middle of the last carry it; the straight edge gives the turn.
void AddContactsOnTable(TableContacts& make, const Box3& box, const std::vector<ClampPlace>& clamps, bool needs_position, double rear_z) {
  const double z = box.min_mm.z();
  const double middle_z = 0.5 * (box.min_mm.z() + box.max_mm.z());
  const auto rest = make.Face(-Vec3::UnitZ());
  const ClampPlace& a = clamps.front();
  const ClampPlace& b = clamps.back();
  const Vec2 along(-a.outward.y(), a.outward.x());
  const Vec2 half = 0.5 * (a.high - a.low).cwiseAbs();
  const Vec2 mid = 0.5 * (a.low + a.high);
  const Vec2 reach = along.cwiseProduct(half);
  const Vec2 far = 0.5 * (b.low + b.high);
  const auto on_piece = [&](const Vec2& p) { return Vec2(p.cwiseMax(box.min_mm.head<2>()).cwiseMin(box.max_mm.head<2>())); };
  for (const Vec2& p : {on_piece(mid - reach), on_piece(mid + reach), on_piece(far)}) make.Add(ContactKind::kBed, rest, {p.x(), p.y(), z}, Vec3::UnitZ());
  const auto rear = make.Face(Vec3::UnitY());
  for (const double x : {box.min_mm.x(), box.max_mm.x()})
    make.Add(ContactKind::kFixedJaw, rear, {x, box.max_mm.y(), rear_z}, -Vec3::UnitY());
  const auto left = make.Face(-Vec3::UnitX());
  make.Add(needs_position ? ContactKind::kEdgeFound : ContactKind::kStop, left, {box.min_mm.x(), box.centre_mm().y(), middle_z}, Vec3::UnitX());
  if (needs_position) make.Add(ContactKind::kEdgeFound, rear, {box.centre_mm().x(), box.max_mm.y(), rear_z}, -Vec3::UnitY());
}

void SayZero(Setup& setup, const Box3& box, const MachineTool& machine, double finder_mm) {
  setup.zero.routine = fmt::format(
      "With the {:.0f} mm edge finder at the edge on your left hand set x to {:.3f} mm, at the edge along the straight edge set y to "
      "{:.3f} mm; both are 0 at that corner. z: every tool touches the top, set 0 there.",
      finder_mm, machine.x_sense * -finder_mm / 2, machine.y_sense * finder_mm / 2);
  setup.zero.witness = fmt::format("over the far corner the readings are {:.3f} in x and {:.3f} in y.", machine.x_sense * box.size_mm().x(),
                                   machine.y_sense * -box.size_mm().y());
}

}  // namespace

std::vector<ClampPlace> FindClampPlaces(const SetupSketch& sketch, const PieceState& piece, const Pose& X_PS, double wide_mm) {
  const auto keeps = CutsFromAbove(sketch, piece, X_PS);
  return keeps ? FindClamps(BoxInSetup(piece, X_PS), wide_mm, *keeps) : std::vector<ClampPlace>{};
}

void AddClamp(Setup& setup, const Box3& box, const ClampPlace& place, double pack_mm) {
  Vec2 low = place.low;
  Vec2 high = place.high;
  const Vec2 beyond = kClampBehind_mm * place.outward;
  low += beyond.cwiseMin(Vec2::Zero());
  high += beyond.cwiseMax(Vec2::Zero());
  FixtureSolid clamp = Block(FixtureRole::kClamp, {low.x(), low.y(), box.max_mm.z()}, {high.x(), high.y(), box.max_mm.z() + kClampThick_mm});
  clamp.grips = true;
  clamp.grip_normal_S = -Vec3::UnitZ();
  setup.fixtures.push_back(clamp);
  if (pack_mm <= 0) return;
  // Under the piece alone: beside it stands the straight edge.
  FixtureSolid pack =
      Block(FixtureRole::kParallel, {std::max(place.low.x(), box.min_mm.x()), std::max(place.low.y(), box.min_mm.y()), box.min_mm.z() - pack_mm},
            {std::min(place.high.x(), box.max_mm.x()), std::min(place.high.y(), box.max_mm.y()), box.min_mm.z()});
  pack.supports = true;
  setup.fixtures.push_back(pack);
}

Result<HeldPiece> HoldOnTable(const SetupSketch& sketch, const PieceState& piece, const MachineTool& machine,
                              const HoldingDevice& clamps, const Shop& shop) {
  if (!piece.bands.empty()) return NoHold("round work is not clamped flat on the table", "use the chuck or the V-block");
  Pose X_PS = Pose::Identity();
  X_PS.linear().col(0) = sketch.jaw_P.cross(sketch.up_P);
  X_PS.linear().col(1) = sketch.jaw_P;
  X_PS.linear().col(2) = sketch.up_P;
  const Box3 raw = BoxInSetup(piece, X_PS);
  X_PS.translation() = X_PS.linear() * Vec3(raw.min_mm.x(), raw.max_mm.y(), raw.max_mm.z());
  const Box3 box = BoxInSetup(piece, X_PS);
  if (box.size_mm().x() > machine.travel_mm.x() || box.size_mm().y() > machine.travel_mm.y())
    return NoHold(fmt::format("{} is larger than the table travels", sketch.part.text()), "turn it, or use a larger mill");
  const auto keeps = CutsFromAbove(sketch, piece, X_PS);
  if (!keeps) return NoHold("clamps would stand in the way of the cut", "hold it in the vise");
  const std::vector<ClampPlace> where = FindClamps(box, clamps.jaw_width_mm, *keeps);
  if (where.empty()) return NoHold(fmt::format("no rim of {} is left clear for clamps", sketch.part.text()), "hold it in the vise, or screw it to a plate");
  const double room = RoomBelow_mm(sketch, piece, sketch.up_P.dot(X_PS.translation()) + box.min_mm.z());
  std::optional<double> pack;
  for (const double height : clamps.parallels_mm) {
    if (height >= room && (!pack || height < *pack)) pack = height;
  }
  if (!pack) return NoHold(fmt::format("no packing of {:.0f} mm to clear what comes out below", room), "add packing to the shop's clamps");
  HeldPiece held;
  held.setup.parts.push_back({sketch.part, X_PS, true});
  held.setup.zero.point_P_mm = X_PS.translation();
  const double middle = 0.5 * (box.min_mm.z() + box.max_mm.z());
  const double stop_top = std::min(middle, LowestStep(sketch, piece, X_PS) - kBelowCut_mm);
  if (stop_top < box.min_mm.z() + kLeastStop_mm)
    return NoHold("the mill would run out over the straight edge", "hold it in the vise");
  AddSolidsOnTable(held.setup, box, where, *pack, stop_top);
  TableContacts make(held.setup, piece, X_PS);
  const bool needs_position = NeedsPosition(sketch, piece);
  AddContactsOnTable(make, box, where, needs_position, stop_top < middle ? 0.5 * (box.min_mm.z() + stop_top) : middle);
  held.setup.zero.x_from = {piece.part->name, make.Face(-Vec3::UnitX()).value_or(FeatureId{})};
  held.setup.zero.y_from = {piece.part->name, make.Face(Vec3::UnitY()).value_or(FeatureId{})};
  held.setup.zero.z_from = {piece.part->name, make.Face(Vec3::UnitZ()).value_or(FeatureId{})};
  SayZero(held.setup, box, machine, FinderDiameter_mm(shop));
  held.setup.opening_mm = box.size_mm().z() + *pack;
  held.setup.parallels_mm = *pack;
  held.setup.hold_words = fmt::format(
      "On the table: packing {:.0f} mm high under each of {} clamps {}, nowhere else, so that nothing is drilled into. A straight "
      "edge on the table behind it, no higher than {:.0f} mm, trued with the indicator; push the piece against it. Each clamp level, its bolt near the work.",
      *pack, where.size(), piece.bands.empty() ? "where nothing is cut" : "at the rim", std::floor(stop_top - box.min_mm.z() + *pack));
  held.clearance_below_mm = *pack;
  held.seat_min = 2 * shop.times.seat_in_vise + (needs_position ? 2 * shop.times.find_edge : 0);
  return held;
}

}  // namespace fitwright::planner
