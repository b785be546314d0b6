// Every way of holding work on the mill and at the bench against the same piece held by exact
// rotations, cut where the machine stands and read from the moved piece.
#include <gtest/gtest.h>

#include "tests/support/slow_seats.h"
#include "tests/variation/blocks.h"

namespace fitwright::variation {
namespace {

using namespace fitwright::testing;

constexpr double kOnMillSecondOrder_mm = 3e-4;
constexpr double kOnMillSecondOrder_rad = 4e-6;

SlowValue BothWays(double value, double most) { return Judged(value, -most, most); }

// 60 x 40 x 30 with a hole of 8 near a corner.
Part Block() {
  Part block = MakeBlock("block", {-30, -20, 0}, {30, 20, 30});
  block.features.push_back(
      MakeHoles("hole", -Vec3::UnitZ(), {{20, -10, 30}}, MakeSize(8, 8.2), 30, true));
  return block;
}
void FirstFaces(PlanBuilder& b, const std::vector<const char*>& faces) {
  FirstSeat(b, "block", "mill", HoldingKind::kViseBedFirst, "vise", Upright(30));
  for (const char* face : faces) b.Cut(Operation::kFace, face);
}
Requirement FromFace(const std::string& name, const std::string& face, double at, double within) {
  return Required(name, RequirementKind::kDistance, "block.hole", face, at - within, at + within);
}

// The bed leans, the moving jaw lifts, chips lie under it; a stop that was found once gives the
// length.
TEST(HeldOnMill, ViseBedFirst) {
  const Machine machine = AloneIn(Block(), {Required("parallel", RequirementKind::kParallel,
                                                     "block.top", "block.bottom", {}, 1e-3),
                                            FromFace("along", "block.rear", -50, 0.02)});
  PlanBuilder b;
  FirstFaces(b, {"bottom", "rear"});
  b.AddSetup("block", "mill", HoldingKind::kViseBedFirst, "vise", Upright(30));
  SeatBedFirst(b, machine.parts[0], Upright(30), "bottom", "", "rear");
  b.Cut(Operation::kFace, "top");
  b.Cut(Operation::kBore, "hole");
  const Shop shop = ShopWithOnly({{"jaw_lift", 0.02},
                                  {"bed_and_parallels", 0.012},
                                  {"chip_under_work", 40},
                                  {"edge_finder", 0.008},
                                  {"readout_position", 0.005},
                                  {"lock_shift", 0.01}});
  ExpectHeldAlike(
      machine, shop, b.plan, 1,
      [](SlowRandom& r) {
        const std::vector<Vec3> drawn = {{-30, 20, 0}, {30, 20, 0}, {0, -20, 0}};
        const Vec3 middle(0, 20.0 / 3, 0);
        const Pose bed = TurnedAbout(middle, Vec3::UnitX(), r.Normal(0.012 / 100)) *
                         TurnedAbout(middle, Vec3::UnitY(), r.Normal(0.012 / 100));
        std::vector<Vec3> now;
        for (const Vec3& p : drawn) now.push_back(bed * p);
        const double lift = r.HalfNormal(0.02);
        now = Lifted(now, {Chip(r, 40, 3), Chip(r, 40, 3), lift + Chip(r, 40, 3)});
        Pose held = OnThreePoints(drawn, now);
        // The block's end against the stop, half way up; in the vise's y nothing is asked.
        held.translation().x() += -30 + r.Normal(0.008) - (held * Vec3(-30, 0, 15)).x();
        const SlowLine bored =
            SeenFrom(held, {{20 + r.Normal(0.005) + r.Normal(0.01), -10, 30}, Vec3::UnitZ()});
        return SlowValues{Within(AngleBetween(held.linear() * Vec3::UnitZ(), Vec3::UnitZ()), 1e-3),
                          Judged(-30 - AtHeight(bored, 15).x(), -50.02, -49.98)};
      },
      {kOnMillSecondOrder_rad, kOnMillSecondOrder_mm});
}

Machine SquareTop() {
  return AloneIn(
      Block(), {Required("square", RequirementKind::kSquare, "block.top", "block.left", {}, 5e-4)});
}
void AgainstJaw(PlanBuilder& b, HoldingKind holding, const char* device) {
  FirstFaces(b, {"left"});
  b.AddSetup("block", "mill", holding, device, Upright(30));
  for (const Vec3& p : {Vec3(-30, 20, 0), Vec3(30, 20, 0), Vec3(0, 20, 30)})
    b.Touch(ContactKind::kFixedJaw, "left", p, -Vec3::UnitY());
  for (const double x : {-30.0, 30.0}) b.Touch(ContactKind::kBed, "", {x, 0, 0}, Vec3::UnitZ());
  b.Touch(ContactKind::kStop, "", {-30, 0, 15}, Vec3::UnitX());
  b.Cut(Operation::kFace, "top");
}
SlowValues SquareOf(const Pose& held) {
  const double angle = AngleBetween(held.linear() * Vec3::UnitY(), Vec3::UnitZ());
  return {BothWays(angle - 0.5 * kPi, 5e-4)};
}

// The jaw leans by its own squareness and with the bed; what turns it about the vertical counts
// not.
TEST(HeldOnMill, ViseJawFirst) {
  PlanBuilder b;
  AgainstJaw(b, HoldingKind::kViseJawFirst, "vise");
  const Shop shop = ShopWithOnly(
      {{"fixed_jaw_squareness", 0.4}, {"bed_and_parallels", 0.02}, {"jaw_alignment", 0.5}});
  ExpectHeldAlike(SquareTop(), shop, b.plan, 3,
                  [](SlowRandom& r) {
                    return SquareOf(TurnedAbout({0, 20, 0}, Vec3::UnitZ(), r.Normal(0.5e-3)) *
                                    TurnedAbout({0, 20, 0}, Vec3::UnitX(), r.Normal(0.02 / 100)) *
                                    TurnedAbout({0, 20, 0}, Vec3::UnitX(), r.Normal(0.4e-3)));
                  },
                  {kOnMillSecondOrder_rad});
}

// Its own squareness and no bed's: it stands on the table.
TEST(HeldOnMill, AnglePlate) {
  PlanBuilder b;
  AgainstJaw(b, HoldingKind::kAnglePlate, "plate");
  Shop shop = ShopWithOnly({{"angle_plate_squareness", 0.4},
                            {"fixed_jaw_squareness", 2},
                            {"bed_and_parallels", 1},
                            {"jaw_alignment", 0.5}});
  shop.holding.push_back(DeviceOf("plate", HoldingDeviceKind::kAnglePlate));
  ExpectHeldAlike(SquareTop(), shop, b.plan, 4,
                  [](SlowRandom& r) {
                    return SquareOf(TurnedAbout({0, 20, 0}, Vec3::UnitZ(), r.Normal(0.5e-3)) *
                                    TurnedAbout({0, 20, 0}, Vec3::UnitX(), r.Normal(0.4e-3)));
                  },
                  {kOnMillSecondOrder_rad});
}

// Two edges found; the piece stands askew along the table.
TEST(HeldOnMill, ClampsOnTable) {
  const Machine machine = AloneIn(Block(), {FromFace("across", "block.left", -30, 0.02),
                                            FromFace("along", "block.rear", -50, 0.02)});
  PlanBuilder b;
  FirstFaces(b, {"bottom", "left", "rear"});
  b.AddSetup("block", "mill", HoldingKind::kClampsOnTable, "clamps", Upright(30));
  for (const Vec3& p : {Vec3(-30, 20, 0), Vec3(30, 20, 0), Vec3(0, -20, 0)})
    b.Touch(ContactKind::kBed, "bottom", p, Vec3::UnitZ());
  for (const double x : {-30.0, 30.0})
    b.Touch(ContactKind::kFixedJaw, "left", {x, 20, 15}, -Vec3::UnitY());
  b.Touch(ContactKind::kEdgeFound, "left", {0, 20, 30}, -Vec3::UnitY());
  b.Touch(ContactKind::kEdgeFound, "rear", {-30, 0, 30}, Vec3::UnitX());
  b.Cut(Operation::kBore, "hole");
  Shop shop =
      ShopWithOnly({{"edge_finder", 0.01}, {"jaw_alignment", 0.4}, {"readout_position", 0.006}});
  shop.holding.push_back(DeviceOf("clamps", HoldingDeviceKind::kClamps));
  ExpectHeldAlike(
      machine, shop, b.plan, 5,
      [](SlowRandom& r) {
        Pose held = TurnedAbout({0, 20, 0}, Vec3::UnitZ(), r.Normal(0.4e-3));
        // Where the finder meets the two faces: over (., 0) and (0, .) of the machine.
        const auto found_at = [&](const Vec3& on_face, const Vec3& outward, const Vec3& way,
                                  const Vec3& from) {
          const Vec3 n = held.linear() * outward;
          return n.dot(held * on_face - from) / n.dot(way);
        };
        const double y = found_at({0, 20, 30}, Vec3::UnitY(), Vec3::UnitY(), {0, 0, 30});
        const double x = found_at({-30, 0, 30}, -Vec3::UnitX(), Vec3::UnitX(), {0, 0, 30});
        held.translation() += Vec3(-30 + r.Normal(0.01) - x, 20 + r.Normal(0.01) - y, 0);
        const Vec3 at(20 + r.Normal(0.006), -10 + r.Normal(0.006), 15);
        const Vec3 hole = held.inverse() * at;
        return SlowValues{Judged(hole.y() - 20, -30.02, -29.98),
                          Judged(-30 - hole.x(), -50.02, -49.98)};
      },
      {kOnMillSecondOrder_mm, kOnMillSecondOrder_mm});
}

// A bar of 16 in V-blocks, its middle half way between two sides that are found, its top touched,
// turned until a flat stands square: a cross hole and a flat milled from the touched top.
TEST(HeldOnMill, VeeBlocks) {
  const Axis3 along_x{Vec3::Zero(), Vec3::UnitX()};
  const Size bar = MakeSize(15.97, 16.03);
  Part shaft = RoundPart(
      "shaft",
      {AsSupplied(MakeOutside("outside", along_x, 0, 100, bar)),
       SuppliedFace("end", -Vec3::UnitX(), MakeSize(0, 0)),
       SuppliedFace("key", Vec3::UnitY(), MakeSize(6, 6)), MakeFace("flat", Vec3::UnitZ(), 6),
       MakeHoles("cross", -Vec3::UnitZ(), {{50, 0, 8}}, MakeSize(4, 4.2), 16, true)});
  shaft.turning_axis_P = along_x;
  Machine machine = AloneIn(
      shaft,
      {Required("meet", RequirementKind::kAxesMeet, "shaft.cross", "shaft.outside", {}, 0.02),
       Required("height", RequirementKind::kDistance, "shaft.flat", "shaft.outside", 5.97, 6.03),
       Required("square", RequirementKind::kSquare, "shaft.cross", "shaft.key", {}, 6e-4)});
  machine.requirements[1].at_W_mm = Vec3(50, 0, 6);
  PlanBuilder b;
  b.AddSetup("shaft", "mill", HoldingKind::kVBlock, "vee", Upright(8));
  const double half = std::sqrt(0.5);
  for (const double x : {10.0, 90.0}) {
    for (const double side : {-1.0, 1.0}) {
      const Vec3 n(0, -side * half, half);
      b.Touch(ContactKind::kBed, "outside", Vec3(x, 0, 0) - 8 * n, n);
    }
  }
  b.Touch(ContactKind::kSetBySquare, "key", {50, 6, 5}, Vec3::UnitY());
  b.Touch(ContactKind::kEdgeFound, "end", {0, 0, 0}, Vec3::UnitX());
  b.Touch(ContactKind::kOuterCentred, "outside", {10, 0, 0}, Vec3::UnitY());
  b.Touch(ContactKind::kTouchedOff, "outside", {10, 0, 8}, -Vec3::UnitZ());
  b.Cut(Operation::kBore, "cross");
  b.Cut(Operation::kFace, "flat");
  Shop shop = ShopWithOnly({{"edge_finder", 0.012},
                            {"jaw_alignment", 0.3},
                            {"bed_and_parallels", 0.02},
                            {"paper_touch", 0.012},
                            {"set_upright_by_square", 0.5}});
  shop.holding.push_back(DeviceOf("vee", HoldingDeviceKind::kVBlock));
  ExpectHeldAlike(
      machine, shop, b.plan, 7,
      [&](SlowRandom& r) {
        const double diameter = r.In(bar);
        const Vec3 middle(50, 0, 0);
        Pose held = TurnedAbout(middle, Vec3::UnitZ(), r.Normal(0.3e-3)) *
                    TurnedAbout(middle, Vec3::UnitY(), r.Normal(0.02 / 100)) *
                    TurnedAbout(Vec3::Zero(), Vec3::UnitX(), r.Normal(0.5e-3));
        const Vec3 at = held * Vec3(10, 0, 0);
        held.translation().y() += 0.5 * (r.Normal(0.012) + r.Normal(0.012)) - at.y();
        held.translation().z() += 8 + r.Normal(0.012) - 0.5 * diameter - at.z();
        const SlowLine bored = SeenFrom(held, {{50, 0, 8}, Vec3::UnitZ()});
        const Vec3 n = bored.along.cross(Vec3::UnitX()).normalized();
        const SlowLine milled = SeenFrom(held, {{50, 0, 6}, Vec3::UnitZ()});
        const double height = milled.along.dot(milled.point - Vec3(50, 0, 0)) / milled.along.z();
        return SlowValues{BothWays(n.dot(bored.point), 0.02), Judged(height, 5.97, 6.03),
                          BothWays(AngleBetween(-bored.along, Vec3::UnitY()) - 0.5 * kPi, 6e-4)};
      },
      {kOnMillSecondOrder_mm, kOnMillSecondOrder_mm, kOnMillSecondOrder_rad});
}

// Six flats at one reading and six angles: each stands off the table's axis by what the spindle
// does.
TEST(HeldOnMill, RotaryTable) {
  Flats hex;
  hex.to_mm = 10;
  hex.across = MakeSize(17, 17);
  hex.count = 6;
  const Part bolt =
      RoundPart("bolt", {AsSupplied(MakeOutside("outside", {}, 0, 30, MakeSize(20, 20))),
                         Feature{FeatureId("hex"), hex, Finish::kAsMachined, false, {}}});
  const Size spanner = MakeSize(17.02, 17.06);
  Machine machine = AloneIn(bolt, {Required("spanner", RequirementKind::kClearance, "bolt.hex",
                                            "ring.bore", 0.01, 0.07)});
  machine.parts.push_back(SuppliedRound("ring", MakeSize(40, 40), spanner, 10));
  machine.uses.push_back(StandsAt("ring", Vec3::Zero()));
  PlanBuilder b;
  b.AddSetup("bolt", "mill", HoldingKind::kRotaryTable, "table", Upright(30));
  for (const Vec3& p : SeatsAt(8, 0)) b.Touch(ContactKind::kChuckFace, "", p, Vec3::UnitZ());
  TouchRound(b, ContactKind::kOuterCentred, "outside", 30);
  b.Cut(Operation::kMill, "hex");
  Shop shop = ShopWithOnly({{"bore_centring", 0.012}});
  shop.holding.push_back(DeviceOf("table", HoldingDeviceKind::kRotaryTable));
  ExpectHeldAlike(
      machine, shop, b.plan, 10,
      [&](SlowRandom& r) {
        const double spindle_off = r.Normal(0.012);
        const Vec2 piece_off(r.Normal(0.012), r.Normal(0.012));
        std::array<double, 6> from_axis{};  // of the piece, along each flat's own normal
        for (std::size_t k = 0; k < 6; ++k) {
          const Eigen::Rotation2Dd turned(static_cast<double>(k) * kPi / 3);
          from_axis[k] = 8.5 + spindle_off - (turned * piece_off).x();
        }
        double widest = 0;
        for (std::size_t k = 0; k < 3; ++k)
          widest = std::max(widest, from_axis[k] + from_axis[k + 3]);
        const double clear = r.In(spanner) - widest;
        return SlowValues{Judged(clear, 0.01, 0.07)};
      },
      {kOnMillSecondOrder_mm});
}

// Marked out and punched by hand.
TEST(HeldOnMill, Bench) {
  Part block = Block();
  for (Feature& f : block.features) {
    if (f.name.text() == "left") f = SuppliedFace("left", Vec3::UnitY(), MakeSize(20, 20));
  }
  const Machine machine = AloneIn(block, {FromFace("across", "block.left", -30, 0.2)});
  PlanBuilder b;
  b.AddSetup("block", "bench", HoldingKind::kBench, "", Upright(30));
  b.Cut(Operation::kByHand, "hole");
  ExpectHeldAlike(
      machine, ShopWithOnly({{"drill_in_punch_mark", 0.15}}), b.plan, 11,
      [](SlowRandom& r) { return SlowValues{Judged(-30 + r.Normal(0.15), -30.2, -29.8)}; },
      {kOnMillSecondOrder_mm});
}

// Standing at an angle against the fixed jaw: its lean takes nothing from the angle, what it is set
// by gives it whole.
void ExpectAtAngle(ContactKind kind, const AngleSetting& angle, const Shop& shop, double within,
                   const std::function<double(SlowRandom&)>& off) {
  const double lean = 26.565 * kRadPerDeg;
  const Vec3 up(std::sin(lean), 0, std::cos(lean));
  const Vec3 along(std::cos(lean), 0, -std::sin(lean));
  Part block = Block();
  block.features.push_back(MakeFace("slope", up, 30));
  Machine machine = AloneIn(block, {Required("angle", RequirementKind::kAngle, "block.slope",
                                             "block.bottom", {}, within)});
  machine.requirements[0].nominal_rad = lean;
  PlanBuilder b;
  FirstFaces(b, {"bottom", "left"});
  b.AddSetup("block", "mill", HoldingKind::kViseJawFirst, "vise", SetupPose(along, up, {0, 0, 30}))
      .angle = angle;
  for (const Vec3& p : {Vec3(-30, 20, 0), Vec3(30, 20, 0), Vec3(0, 20, 30)})
    b.Touch(ContactKind::kFixedJaw, "left", p, -Vec3::UnitY());
  b.Touch(ContactKind::kSetBySquare, "", {0, 0, 0}, up);
  b.Touch(kind, "bottom", {30, 0, 0}, up);
  b.Touch(ContactKind::kStop, "", {-30, 0, 15}, along);
  b.Cut(Operation::kFace, "slope");
  ExpectHeldAlike(machine, shop, b.plan, 12,
                  [&](SlowRandom& r) {
                    const Pose held = TurnedAbout({0, 20, 0}, along, r.Normal(0.4e-3)) *
                                      TurnedAbout({0, 20, 0}, Vec3::UnitY(), off(r));
                    const Vec3 cut = held.linear().transpose() * up;
                    return SlowValues{BothWays(AngleBetween(cut, Vec3::UnitZ()) - lean, within)};
                  },
                  {kOnMillSecondOrder_rad});
}

TEST(HeldOnMill, AtAnAngleByTheSineBar) {
  AngleSetting angle;
  angle.by = AngleBy::kSineBar;
  angle.angle_deg = 26.565;
  const double minute_rad = kRadPerDeg / 60;
  ExpectAtAngle(ContactKind::kAngleSet, angle,
                ShopWithOnly({{"angle_sine_bar", 2}, {"fixed_jaw_squareness", 0.4}}), 1e-3,
                [&](SlowRandom& r) { return r.Normal(2 * minute_rad); });
}

TEST(HeldOnMill, AtAnAngleByTheProtractor) {
  AngleSetting angle;
  angle.by = AngleBy::kProtractor;
  angle.angle_deg = 26.565;
  ExpectAtAngle(ContactKind::kAngleSet, angle,
                ShopWithOnly({{"angle_protractor", 30}, {"fixed_jaw_squareness", 0.4}}), 0.012,
                [](SlowRandom& r) { return r.Normal(0.5 * kRadPerDeg); });
}

TEST(HeldOnMill, AtAnAngleByAScribedLine) {
  AngleSetting angle;
  angle.by = AngleBy::kScribedLine;
  angle.angle_deg = 26.565;
  angle.line_mm = 48;
  ExpectAtAngle(ContactKind::kLineSet, angle,
                ShopWithOnly({{"scribed_line", 0.08}, {"fixed_jaw_squareness", 0.4}}), 3e-3,
                [](SlowRandom& r) { return std::atan((r.Normal(0.08) - r.Normal(0.08)) / 48); });
}

}  // namespace
}  // namespace fitwright::variation
