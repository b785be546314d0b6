#include "fitwright/variation/seating.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "fitwright/base/hash.h"
#include "fitwright/variation/geometry.h"

namespace fitwright::variation {
namespace {

// A contact counts as lying along an axis of S when its normal is within about 25 degrees of it.
constexpr double kPerBed_mm = 100;    // bed_and_parallels is per 100 mm
constexpr double kPerWobble_mm = 50;  // rechuck_wobble is per 50 mm
constexpr double kUnmoved = 1e-9;

Unexpected NoSeat(const Setup& setup, std::string message, std::string remedy) {
  return Unexpected(Error{ErrorCode::kNoPlan,
                          fmt::format("setup {}: {}", setup.id.text(), message),
                          {},
                          std::move(remedy),
                          {}});
}

bool IsFinder(ContactKind kind) {
  return kind == ContactKind::kEdgeFound || kind == ContactKind::kTouchedOff ||
         kind == ContactKind::kBoreCentred || kind == ContactKind::kOuterCentred;
}
bool IsCentred(ContactKind kind) {
  return kind == ContactKind::kBoreCentred || kind == ContactKind::kOuterCentred ||
         kind == ContactKind::kChuckGrip || kind == ContactKind::kCollet ||
         kind == ContactKind::kMandrel || kind == ContactKind::kSteady;
}

bool IsAdjusted(HoldingKind kind) {
  return kind == HoldingKind::kFourJaw || kind == HoldingKind::kFaceplate ||
         kind == HoldingKind::kClampsOnTable || kind == HoldingKind::kAnglePlate;
}

int AxisAlong(const Vec3& n) {
  for (int axis = 0; axis < 3; ++axis) {
    if (std::abs(n[axis]) > kAlong) return axis;
  }
  return -1;
}

class SeatReader {
 public:
  explicit SeatReader(const SeatInput& input) : in_(input), setup_(*input.setup) {
    const MachineTool* tool = in_.shop->Find(setup_.machine);
    lathe_ = tool != nullptr && tool->kind == MachineToolKind::kLathe;
    const HoldingDevice* device = in_.shop->Find(setup_.device);
    vise_ = device != nullptr && device->kind == HoldingDeviceKind::kVise;
    angle_plate_ = device != nullptr && device->kind == HoldingDeviceKind::kAnglePlate;
    expands_ = device != nullptr && device->kind == HoldingDeviceKind::kMandrel && device->jaw_reach_mm > 0;
    soft_jaws_ = device != nullptr && device->soft_jaws;
    device_key_ = StableHash(setup_.device.text());
    X_SP_ = setup_.parts.front().X_PS.inverse();
  }

  Result<Seat> Run() {
    if (setup_.contacts.empty())
      return NoSeat(setup_, "no contact locates the piece", "list what it seats on");
    std::vector<Contact> contacts = Expanded();
    for (const Contact& c : contacts) {
      points_.push_back(PointInS(c));
      normals_.push_back(NormalInS(c));
    }
    for (std::size_t i = 0; i < contacts.size(); ++i) {
      const int axis = AxisAlong(normals_[i]);
      if (IsFinder(contacts[i].kind) && axis >= 0)
        has_finder_[static_cast<std::size_t>(axis)] = true;
    }
    AddHeightZero(contacts);
    Seat seat;
    for (const bool finders : {true, false}) {
      for (std::size_t i = 0; i < contacts.size(); ++i) {
        if (IsFinder(contacts[i].kind) == finders) rows_.push_back(RowOf(contacts, i));
      }
    }
    for (const Contact& c : contacts) seat.has_rough |= IsRough(c);
    const Result<Located> located = Locate(rows_);
    if (!located) return NoSeat(setup_, located.error().message, located.error().remedy);
    seat.t_S = located->t;
    seat.free = located->free;
    return seat;
  }

 private:
  // A centring given once, along the axis of what it centres, stands for the pair across it.
  std::vector<Contact> Expanded() const {
    std::vector<Contact> contacts;
    for (const Contact& c : setup_.contacts) {
      const bool along_z = std::abs(NormalInS(c).z()) > kAlong;
      if (!IsCentred(c.kind) || !along_z) {
        contacts.push_back(c);
        continue;
      }
      for (int axis = 0; axis < 2; ++axis) {
        Contact pair = c;
        pair.normal_P = PoseOf(c).linear().col(axis);
        contacts.push_back(pair);
      }
    }
    return contacts;
  }

  Pose PoseOf(const Contact& c) const {
    for (const PartPose& pose : setup_.parts) {
      if (pose.part == c.surface.part) return pose.X_PS;
    }
    return setup_.parts.front().X_PS;
  }
  Vec3 PointInS(const Contact& c) const { return PoseOf(c).inverse() * c.point_P_mm; }
  Vec3 NormalInS(const Contact& c) const { return PoseOf(c).linear().transpose() * c.normal_P; }
  static bool IsRough(const Contact& c) {
    return c.kind == ContactKind::kRough || c.surface.feature.empty();
  }

  SourceIndex Draw(SpreadId spread, Law law, std::uint64_t scope, double unit,
                   std::uint64_t salt = 0, std::uint64_t size_key = 0) {
    Source source;
    source.key = MixKeys(MixKeys(StableHash(IdOf(spread)), scope), salt);
    source.size_key = size_key;
    source.law = law;
    source.spread = spread;
    source.unit = unit;
    return in_.sources->Add(source);
  }

  // n . (turn about `axis` x (p - centre)).
  static double Lever(const Vec3& n, const Vec3& axis, const Vec3& p, const Vec3& centre) {
    return n.dot(axis.cross(p - centre));
  }

  Vec3 CentreOf(const std::vector<Contact>& contacts, ContactKind kind) const {
    Vec3 sum = Vec3::Zero();
    double n = 0;
    for (std::size_t i = 0; i < contacts.size(); ++i) {
      if (contacts[i].kind != kind) continue;
      sum += points_[i];
      n += 1;
    }
    return n > 0 ? Vec3(sum / n) : sum;
  }

  static double CountOf(const std::vector<Contact>& contacts, ContactKind kind) {
    return static_cast<double>(std::count_if(contacts.begin(), contacts.end(),
                                             [&](const Contact& c) { return c.kind == kind; }));
  }

  // Heights are worked to a measured thickness: the middle of the seat is the zero.
  void AddHeightZero(const std::vector<Contact>& contacts) {
    if (has_finder_[2]) return;
    LocatingRow zero;
    zero.finder = true;
    zero.may_repeat = true;
    FormSum sum;
    double n = 0;
    for (std::size_t i = 0; i < contacts.size(); ++i) {
      if (IsFinder(contacts[i].kind) || normals_[i].z() < kAlong) continue;
      zero.point += points_[i];
      n += 1;
    }
    if (n == 0) return;
    for (std::size_t i = 0; i < contacts.size(); ++i) {
      if (IsFinder(contacts[i].kind) || normals_[i].z() < kAlong || IsRough(contacts[i])) continue;
      in_.move(sum, contacts[i], -1 / n);
    }
    zero.point /= n;
    zero.normal = Vec3::UnitZ();
    zero.move = sum.Take();
    rows_.push_back(std::move(zero));
  }

  LocatingRow RowOf(const std::vector<Contact>& contacts, std::size_t i) {
    const Contact& c = contacts[i];
    LocatingRow row;
    row.point = points_[i];
    row.normal = normals_[i];
    row.finder = IsFinder(c.kind);
    row.may_repeat = IsRough(c) || IsAdjusted(setup_.holding);
    if (IsRough(c) && c.kind != ContactKind::kEdgeFound) return row;
    if (c.kind == ContactKind::kSetBySquare && TurnAboutAxis(i, c, row)) return row;
    if (GivesTurn(c.kind) && TurnAboutJaw(contacts, i, row)) return row;
    FormSum sum;
    if (!IsRough(c)) in_.move(sum, c, -1);
    AddSources(contacts, i, sum);
    row.move = sum.Take();
    return row;
  }

  // Round work is turned about its own axis until what shows it stands square: that turn, and nothing else.
  // What shows it stands where it was cut, and turns the piece by as much over its distance from the axis.
  bool TurnAboutAxis(std::size_t i, const Contact& c, LocatingRow& row) {
    constexpr double kLeastLever_mm = 0.5;
    const Part* part = in_.machine->FindPart(c.surface.part);
    if (part == nullptr || part->envelope != EnvelopeKind::kTurned) return false;
    const Pose X_SP = PoseOf(c).inverse();
    const Vec3 axis = X_SP.linear() * part->turning_axis_P.direction;
    const double lever = Lever(normals_[i], axis, points_[i], X_SP * part->turning_axis_P.point_mm);
    if (std::abs(lever) < kLeastLever_mm) return false;
    FormSum sum;
    in_.move(sum, c, -1 / lever);
    sum.Add(Draw(SpreadId::kSetUprightBySquare, Law::kNormal, in_.setup_key, 1), 1);
    row.turn = true;
    row.normal = axis;
    row.move = sum.Take();
    return true;
  }

  // A piece against the fixed jaw or the angle plate is turned about its normal: that turn, and nothing
  // else. A face that shows it turns the piece by its own lean, wherever it stands.
  bool TurnAboutJaw(const std::vector<Contact>& contacts, std::size_t i, LocatingRow& row) {
    constexpr double kSquareTo = 0.1;
    Vec3 axis = Vec3::Zero();
    for (std::size_t j = 0; j < contacts.size(); ++j) {
      if (contacts[j].kind == ContactKind::kFixedJaw) axis += normals_[j];
    }
    if (axis.norm() < kUnmoved) return false;
    axis.normalize();
    if (std::abs(axis.dot(normals_[i])) > kSquareTo) return false;
    const Contact& c = contacts[i];
    Contact a_mm_aside = c;
    a_mm_aside.point_P_mm -= PoseOf(c).linear() * normals_[i].cross(axis);
    FormSum sum;
    in_.move(sum, c, -1);
    in_.move(sum, a_mm_aside, 1);
    const bool line = c.kind == ContactKind::kLineSet;
    const double unit = line ? std::numbers::sqrt2 / LineLength_mm() : 1;
    sum.Add(Draw(TurnSpread(c.kind), Law::kNormal, in_.setup_key, unit), 1);
    row.turn = true;
    row.normal = axis;
    row.move = sum.Take();
    return true;
  }

  static bool GivesTurn(ContactKind kind) {
    return kind == ContactKind::kSetBySquare || kind == ContactKind::kAngleSet ||
           kind == ContactKind::kLineSet;
  }
  SpreadId TurnSpread(ContactKind kind) const {
    if (kind == ContactKind::kLineSet) return SpreadId::kScribedLine;
    return kind == ContactKind::kAngleSet ? AngleSpread() : SpreadId::kSetUprightBySquare;
  }

  void AddSources(const std::vector<Contact>& contacts, std::size_t i, FormSum& sum) {
    const Contact& c = contacts[i];
    switch (c.kind) {
      case ContactKind::kBed:
        return AddBed(contacts, i, sum);
      case ContactKind::kFixedJaw:
        return AddJaw(contacts, i, sum);
      case ContactKind::kStop:
        return AddFinderUnlessFound(i, sum);
      case ContactKind::kEdgeFound:
        if (lathe_) return AddScribed(i, sum);
        sum.Add(Draw(SpreadId::kEdgeFinder, Law::kNormal, in_.setup_key, 1, AxisSalt(i)), -1);
        if (IsRough(c)) sum.Add(Draw(SpreadId::kRawSide, Law::kNormal, in_.setup_key, 1, AxisSalt(i)), -1);
        return;
      case ContactKind::kTouchedOff:
        sum.Add(Draw(SpreadId::kPaperTouch, Law::kNormal, in_.setup_key, 1, AxisSalt(i)), -1);
        return;
      case ContactKind::kBoreCentred:
      case ContactKind::kOuterCentred:
        if (lathe_) return AddVector(SpreadId::kFourJawEccentricity, in_.setup_key, i, -1, sum);
        if (InVee()) return AddBothSides(i, sum);
        sum.Add(Draw(SpreadId::kBoreCentring, Law::kNormal, in_.setup_key, 1, AxisSalt(i)), -1);
        return;
      case ContactKind::kChuckFace:
        return AddSeatFace(contacts, i, sum);
      case ContactKind::kChuckGrip:
        return AddGrip(contacts, i, sum);
      case ContactKind::kCollet:
        return AddVector(SpreadId::kColletEccentricity, DeviceSize(), i, 1, sum);
      case ContactKind::kMandrel:
        if (expands_) return AddVector(SpreadId::kColletEccentricity, DeviceSize(), i, 1, sum);
        return AddVector(SpreadId::kTrueMandrelEccentricity, in_.setup_key, i, 1, sum);
      case ContactKind::kSteady:
        return AddVector(SpreadId::kSteadyRunning, in_.setup_key, i, 1, sum);
      case ContactKind::kSetBySquare:
        return AddTurnOnly(SpreadId::kSetUprightBySquare, i, sum);
      case ContactKind::kAngleSet:
        return AddTurnOnly(AngleSpread(), i, sum);
      case ContactKind::kLineSet:
        return AddTurnOnly(SpreadId::kScribedLine, i, sum, std::numbers::sqrt2 / LineLength_mm());
      case ContactKind::kRough:
        return;
    }
  }

  // A centre scribed from a side, punched, and brought to the spindle by a pointed rod.
  void AddScribed(std::size_t i, FormSum& sum) {
    sum.Add(Draw(SpreadId::kScribedLine, Law::kNormal, in_.setup_key, 1, AxisSalt(i)), -1);
    sum.Add(Draw(SpreadId::kPunchMarkCentring, Law::kNormal, in_.setup_key, 1, AxisSalt(i)), -1);
  }

  std::uint64_t AxisSalt(std::size_t i) const {
    return 100 + static_cast<std::uint64_t>(AxisAlong(normals_[i]) + 1);
  }
  std::uint64_t DeviceSize() const {
    return MixKeys(device_key_, static_cast<std::uint64_t>(std::llround(setup_.opening_mm * 10)));
  }

  // Tilt of bed, parallels and with them the whole vise, about the middle of the contacts.
  void AddDeviceTilt(std::size_t i, const Vec3& centre, FormSum& sum) {
    if (vise_) AddPackingTilt(i, centre, sum);
  }

  void AddPackingTilt(std::size_t i, const Vec3& centre, FormSum& sum) {
    for (int axis = 0; axis < 2; ++axis) {
      const double lever = Lever(normals_[i], Vec3::Unit(axis), points_[i], centre);
      if (std::abs(lever) < kUnmoved) continue;
      sum.Add(Draw(SpreadId::kBedAndParallels, Law::kNormal, device_key_, 1 / kPerBed_mm,
                   static_cast<std::uint64_t>(axis)),
              lever);
    }
  }

  void AddChip(const std::vector<Contact>& contacts, std::size_t i, FormSum& sum) {
    const double share = 1 / std::max(1.0, CountOf(contacts, contacts[i].kind));
    sum.Add(Draw(SpreadId::kChipUnderWork, Law::kChip, in_.setup_key, share, i), 1);
  }

  bool InVee() const { return setup_.holding == HoldingKind::kVBlock; }

  // The middle of a round, half way between its sides, each found by the edge finder.
  void AddBothSides(std::size_t i, FormSum& sum) {
    for (const std::uint64_t side : {0U, 10U})
      sum.Add(Draw(SpreadId::kEdgeFinder, Law::kNormal, in_.setup_key, 1, AxisSalt(i) + side), -0.5);
  }

  // The walls of V-blocks: trued along x as a jaw is, standing on what the vise's work stands on. What
  // the round's own size does follows from the walls' normals.
  void AddVeeWall(const std::vector<Contact>& contacts, std::size_t i, FormSum& sum) {
    const Vec3 centre = CentreOf(contacts, ContactKind::kBed);
    const double across = Lever(normals_[i], Vec3::UnitZ(), points_[i], centre);
    if (std::abs(across) > kUnmoved)
      sum.Add(Draw(SpreadId::kJawAlignment, Law::kNormal, in_.setup_key, 1), across);
    const double along = Lever(normals_[i], Vec3::UnitY(), points_[i], centre);
    if (std::abs(along) > kUnmoved)
      sum.Add(Draw(SpreadId::kBedAndParallels, Law::kNormal, device_key_, 1 / kPerBed_mm, 1), along);
    AddChip(contacts, i, sum);
  }

  void AddBed(const std::vector<Contact>& contacts, std::size_t i, FormSum& sum) {
    if (InVee()) return AddVeeWall(contacts, i, sum);
    AddDeviceTilt(i, CentreOf(contacts, ContactKind::kBed), sum);
    if (contacts[i].lifts) sum.Add(Draw(SpreadId::kJawLift, Law::kHalfNormal, in_.setup_key, 1), 1);
    AddChip(contacts, i, sum);
  }

  void AddJaw(const std::vector<Contact>& contacts, std::size_t i, FormSum& sum) {
    const Vec3 centre = CentreOf(contacts, ContactKind::kFixedJaw);
    const Vec3 along = Vec3::UnitZ().cross(normals_[i]);
    const SpreadId squareness =
        angle_plate_ ? SpreadId::kAnglePlateSquareness : SpreadId::kFixedJawSquareness;
    const double up = Lever(normals_[i], along, points_[i], centre);
    if (std::abs(up) > kUnmoved) sum.Add(Draw(squareness, Law::kNormal, device_key_, 1), up);
    AddDeviceTilt(i, centre, sum);
    const double across = Lever(normals_[i], Vec3::UnitZ(), points_[i], centre);
    if (std::abs(across) > kUnmoved)
      sum.Add(Draw(SpreadId::kJawAlignment, Law::kNormal, in_.setup_key, 1), across);
    AddFinderUnlessFound(i, sum);
  }

  // A jaw or stop gives the zero itself where no edge is found along that axis: its place was found
  // once.
  void AddFinderUnlessFound(std::size_t i, FormSum& sum) {
    const int axis = AxisAlong(normals_[i]);
    if (lathe_ || axis < 0 || axis == 2 || has_finder_[static_cast<std::size_t>(axis)]) return;
    sum.Add(Draw(SpreadId::kEdgeFinder, Law::kNormal, in_.setup_key, 1, AxisSalt(i)), 1);
  }

  void AddVector(SpreadId spread, std::uint64_t size_key, std::size_t i, double sign,
                 FormSum& sum) {
    for (int axis = 0; axis < 2; ++axis) {
      const double part = normals_[i][axis];
      if (std::abs(part) < kUnmoved) continue;
      const Law law = axis == 0 ? Law::kRayleighX : Law::kRayleighY;
      sum.Add(Draw(spread, law, in_.setup_key, 1, 0, MixKeys(StableHash(IdOf(spread)), size_key)),
              sign * part);
    }
  }

  // rechuck_wobble is of work gripped over half its diameter, and over 6 mm at least (practice: a grip that
  // long squares it). What leans it, a mark or a speck at one end of the jaws, leans it the more the shorter
  // they grip.
  double WobbleOfGrip() const {
    constexpr double kLeastGrip_mm = 6;
    if (setup_.grip_depth_mm <= 0) return 1;
    return std::max(1.0, std::max(kLeastGrip_mm, 0.5 * setup_.opening_mm) / setup_.grip_depth_mm);
  }

  void AddWobble(std::size_t i, const Vec3& centre, FormSum& sum, double times = 1) {
    for (int axis = 0; axis < 2; ++axis) {
      const double lever = times * Lever(normals_[i], Vec3::Unit(axis), points_[i], centre);
      if (std::abs(lever) < kUnmoved) continue;
      const Law law = axis == 0 ? Law::kFoldedX : Law::kFoldedY;
      sum.Add(Draw(SpreadId::kRechuckWobble, law, in_.setup_key, 1 / kPerWobble_mm, 0,
                   MixKeys(in_.setup_key, 7)),
              lever);
    }
  }

  void AddSeatFace(const std::vector<Contact>& contacts, std::size_t i, FormSum& sum) {
    // A stub's shoulder and the step of soft jaws are faced where they stand.
    const bool on_faceplate = setup_.holding == HoldingKind::kFaceplate;
    if (on_faceplate && setup_.parallels_mm > 0) AddPackingTilt(i, CentreOf(contacts, ContactKind::kChuckFace), sum);
    if (!on_faceplate && !soft_jaws_ && setup_.holding != HoldingKind::kStubMandrel) AddWobble(i, CentreOf(contacts, ContactKind::kChuckFace), sum);
    AddChip(contacts, i, sum);
  }

  void AddGrip(const std::vector<Contact>& contacts, std::size_t i, FormSum& sum) {
    // Between centres the outside that was turned on them stands for them.
    if (setup_.holding == HoldingKind::kBetweenCentres) return AddVector(SpreadId::kCentreEccentricity, in_.setup_key, i, 1, sum);
    if (soft_jaws_) return AddVector(SpreadId::kTrueMandrelEccentricity, in_.setup_key, i, 1, sum);
    AddVector(SpreadId::kThreeJawEccentricity, DeviceSize(), i, 1, sum);
    if (CountOf(contacts, ContactKind::kChuckFace) == 0)
      AddWobble(i, CentreOf(contacts, ContactKind::kChuckGrip), sum, WobbleOfGrip());
  }

  SpreadId AngleSpread() const {
    const bool coarse = setup_.angle && setup_.angle->by == AngleBy::kProtractor;
    return coarse ? SpreadId::kAngleProtractor : SpreadId::kAngleSineBar;
  }
  // A line's two ends are off by themselves; a setup that does not say takes a short one.
  double LineLength_mm() const {
    constexpr double kShort_mm = 20;
    return setup_.angle && setup_.angle->line_mm > 0 ? setup_.angle->line_mm : kShort_mm;
  }

  // A turn only: its lever is its distance, across the normal, from the middle of the other
  // contacts.
  void AddTurnOnly(SpreadId spread, std::size_t i, FormSum& sum, double unit = 1) {
    Vec3 middle = Vec3::Zero();
    double n = 0;
    for (std::size_t j = 0; j < points_.size(); ++j) {
      if (j == i) continue;
      middle += points_[j];
      n += 1;
    }
    const Vec3 r = points_[i] - (n > 0 ? Vec3(middle / n) : middle);
    const double lever = (r - normals_[i] * normals_[i].dot(r)).norm();
    sum.Add(Draw(spread, Law::kNormal, in_.setup_key, unit), lever);
  }

  const SeatInput& in_;
  const Setup& setup_;
  bool lathe_ = false;
  bool vise_ = false;
  bool angle_plate_ = false;
  bool expands_ = false;  // a mandrel that is not turned in place
  bool soft_jaws_ = false;
  std::uint64_t device_key_ = 0;
  Pose X_SP_ = Pose::Identity();
  std::vector<Vec3> points_;
  std::vector<Vec3> normals_;
  std::array<bool, 3> has_finder_{};
  std::vector<LocatingRow> rows_;
};

bool IsUnmoved(const Vec6& motion, const Datum& datum_S) {
  const Vec3 w = motion.head<3>() / kLever_mm;
  const Vec3 move = motion.tail<3>() + w.cross(datum_S.point_P_mm);
  const Vec3& a = datum_S.direction_P;
  constexpr double kFreeNoise = 1e-6;
  if (w.cross(a).norm() > kFreeNoise) return false;
  if (datum_S.kind == DatumKind::kPlane) return std::abs(a.dot(move)) < kFreeNoise;
  return (move - a * a.dot(move)).norm() < kFreeNoise && std::abs(a.dot(move)) < kFreeNoise;
}

// Without limits of their own, or alike all round.
bool MattersNot(const Feature& feature) {
  return std::holds_alternative<RoundChamfer>(feature.shape) ||
         std::holds_alternative<EdgeChamfer>(feature.shape) ||
         std::holds_alternative<Knurl>(feature.shape) ||
         std::holds_alternative<ExternalThread>(feature.shape);
}

std::vector<Datum> DatumsOf(const Feature& feature) {
  std::vector<Datum> datums = {DatumOf(feature)};
  const auto* hole = std::get_if<Hole>(&feature.shape);
  if (hole == nullptr) return datums;
  datums.clear();
  for (const Vec3& p : hole->entries_P_mm) {
    Datum datum = DatumOf(feature);
    datum.point_P_mm = p;
    datums.push_back(datum);
  }
  return datums;
}

bool CutsAtAPlace(const Step& step) {
  switch (step.operation) {
    case Operation::kAssemble:
    case Operation::kTakeApart:
    case Operation::kMeasure:
    case Operation::kDeburr:
    case Operation::kWash:
    case Operation::kByHand:
    case Operation::kMark:
    case Operation::kBond:
    case Operation::kCure:
    case Operation::kTrial:
    case Operation::kSpotThrough:
    case Operation::kPartOff:
    case Operation::kSaw:
      return false;
    default:
      return true;
  }
}

}  // namespace

Result<Seat> CalcSeat(const SeatInput& input) { return SeatReader(input).Run(); }

Status CheckFreedoms(const SeatInput& input, const Seat& seat) {
  if (seat.free.empty() || seat.has_rough) return Ok{};
  const Setup& setup = *input.setup;
  if (seat.free.size() > 1) {
    return NoSeat(setup,
                  fmt::format("its contacts fix {} of the six freedoms", 6 - seat.free.size()),
                  "add what else it seats on");
  }
  for (const Step& step : setup.steps) {
    if (!CutsAtAPlace(step)) continue;
    for (const FeatureRef& ref : step.features) {
      const Feature* feature = FindFeature(*input.machine, ref);
      if (feature == nullptr || MattersNot(*feature) ||
          std::holds_alternative<Flats>(feature->shape))
        continue;
      for (Datum datum : DatumsOf(*feature)) {
        const Pose X_SP = setup.parts.front().X_PS.inverse();
        datum.point_P_mm = X_SP * datum.point_P_mm;
        datum.direction_P = X_SP.linear() * datum.direction_P;
        if (datum.kind != DatumKind::kOther && IsUnmoved(seat.free.front(), datum)) continue;
        return NoSeat(setup,
                      fmt::format("its five contacts leave a turn free that moves {}", ref.text()),
                      "add what stops it turning, or cut it elsewhere");
      }
    }
  }
  return Ok{};
}

}  // namespace fitwright::variation
