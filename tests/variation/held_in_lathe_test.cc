// Every way of holding work in the lathe against the same piece held by exact rotations: seats and
// axes brought to where they were drawn to, cut about the spindle, and read from the moved piece.
#include <gtest/gtest.h>

#include "tests/support/slow_seats.h"
#include "tests/variation/blocks.h"

namespace fitwright::variation {
namespace {

using namespace fitwright::testing;

// Leans here are under 2 mrad over 60 mm: the forms leave out less than |w|^2 L = 0.3 um.
constexpr double kInLatheSecondOrder_mm = 3e-4;
constexpr double kInLatheSecondOrder_rad = 4e-6;
const SlowLine kSpindle;

// A pin: `held` is 20 across from 15 to 35, `low` and `high` are turned on its ends.
Part Pin(bool held_supplied) {
  Part pin = RoundPart("pin", {MakeOutside("low", {}, 0, 15, MakeSize(14.9, 15.1)),
                               MakeOutside("held", {}, 15, 35, MakeSize(20, 20)),
                               MakeOutside("high", {}, 35, 60, MakeSize(14.9, 15.1))});
  if (held_supplied) pin.features[1] = AsSupplied(pin.features[1]);
  return pin;
}
Requirement RunsTrue(const std::string& a, const std::string& b, double upper) {
  return Required("runs_true", RequirementKind::kRunOut, a, b, {}, upper);
}

// Gripped a quarter of its diameter deep: what leans it leans it twice as much as over a half.
TEST(HeldInLathe, ThreeJaw) {
  const Machine machine =
      AloneIn(Pin(false),
              {RunsTrue("pin.high", "pin.held", 0.14),
               Required("parallel", RequirementKind::kParallel, "pin.high", "pin.held", {}, 1e-3)});
  PlanBuilder b;
  FirstSeat(b, "pin", "lathe", HoldingKind::kThreeJaw, "chuck", Upright());
  b.Cut(Operation::kTurn, "held");
  fitwright::Setup& second =
      b.AddSetup("pin", "lathe", HoldingKind::kThreeJaw, "chuck", Upright(60));
  second.opening_mm = 20;
  second.grip_depth_mm = 5;
  for (const double z : {17.0, 21.0}) TouchRound(b, ContactKind::kChuckGrip, "held", z);
  b.Touch(ContactKind::kStop, "", {0, 0, 0}, Vec3::UnitZ());
  b.Cut(Operation::kTurn, "high");
  const Shop shop = ShopWithOnly({{"three_jaw_eccentricity", 0.04}, {"rechuck_wobble", 0.03}});
  ExpectHeldAlike(machine, shop, b.plan, 1,
                  [](SlowRandom& r) {
                    const Vec2 off = Eccentric(r, 0.04);
                    const Vec3 grip(0, 0, 19);
                    const Pose held = Centred(Wobbled(r, grip, 2 * 0.03 / 50), grip, off);
                    const SlowLine turned = SeenFrom(held, kSpindle);
                    return SlowValues{Within(2 * OffAxis(turned, 35, 60), 0.14),
                                      Within(AngleBetween(turned.along, Vec3::UnitZ()), 1e-3)};
                  },
                  {kInLatheSecondOrder_mm, kInLatheSecondOrder_rad});
}

// A disc: its back is faced and its rim turned first.
Part Disc(const Size& eye) {
  Part disc =
      RoundPart("disc", {MakeOutside("rim", {}, 0, 20, MakeSize(59.9, 60.1)),
                         MakeFace("back", -Vec3::UnitZ(), 0), MakeFace("front", Vec3::UnitZ(), 20),
                         MakeHoles("eye", -Vec3::UnitZ(), {{0, 0, 20}}, eye, 20, true)});
  std::get<Hole>(disc.features.back().shape).use = HoleUse::kBore;
  return disc;
}
const Size kEye = MakeSize(24.9, 25.1);
std::vector<Requirement> OfDisc(const std::string& a, const std::string& b, double out,
                                double lean) {
  return {RunsTrue(a, b, out),
          Required("parallel", RequirementKind::kParallel, "disc.front", "disc.back", {}, lean)};
}
SlowValues ReadDisc(const Pose& held, double out, double lean) {
  const SlowLine turned = SeenFrom(held, kSpindle);
  return {Within(2 * OffAxis(turned, 0, 20), out),
          Within(AngleBetween(turned.along, Vec3::UnitZ()), lean)};
}
void SeatOnBack(PlanBuilder& b, double radius) {
  for (const Vec3& p : SeatsAt(radius, 0))
    b.Touch(ContactKind::kChuckFace, "back", p, Vec3::UnitZ());
}

TEST(HeldInLathe, ThreeJawOnTheSteps) {
  const Machine machine = AloneIn(Disc(kEye), OfDisc("disc.eye", "disc.rim", 0.1, 1e-3));
  PlanBuilder b;
  FirstSeat(b, "disc", "lathe", HoldingKind::kThreeJaw, "chuck", Upright());
  b.Cut(Operation::kTurn, "rim");
  b.Cut(Operation::kFace, "back");
  b.AddSetup("disc", "lathe", HoldingKind::kThreeJawShort, "chuck", Upright(20)).opening_mm = 60;
  SeatOnBack(b, 25);
  TouchRound(b, ContactKind::kChuckGrip, "rim", 5);
  b.Cut(Operation::kFace, "front");
  b.Cut(Operation::kBore, "eye");
  const Shop shop = ShopWithOnly(
      {{"three_jaw_eccentricity", 0.04}, {"rechuck_wobble", 0.03}, {"chip_under_work", 40}});
  ExpectHeldAlike(machine, shop, b.plan, 2,
                  [](SlowRandom& r) {
                    const Vec2 off = Eccentric(r, 0.04);
                    const Pose leans = Wobbled(r, Vec3::Zero(), 0.03 / 50);
                    const std::vector<Vec3> drawn = SeatsAt(25, 0);
                    std::vector<Vec3> now;
                    for (const Vec3& p : drawn)
                      now.push_back(leans * p + Chip(r, 40, 3) * Vec3::UnitZ());
                    return ReadDisc(Centred(OnThreePoints(drawn, now), {0, 0, 5}, off), 0.1, 1e-3);
                  },
                  {kInLatheSecondOrder_mm, kInLatheSecondOrder_rad});
}

// Soft jaws, bored and faced in place: off by what was bored, and by nothing of the chuck's.
TEST(HeldInLathe, SoftJawsBoredInPlace) {
  const Machine machine = AloneIn(Disc(kEye), OfDisc("disc.eye", "disc.rim", 0.02, 1e-3));
  PlanBuilder b;
  FirstSeat(b, "disc", "lathe", HoldingKind::kThreeJaw, "chuck", Upright());
  b.Cut(Operation::kTurn, "rim");
  b.Cut(Operation::kFace, "back");
  b.AddSetup("disc", "lathe", HoldingKind::kThreeJawShort, "soft_jaws", Upright(20)).opening_mm = 60;
  SeatOnBack(b, 25);
  TouchRound(b, ContactKind::kChuckGrip, "rim", 5);
  b.Cut(Operation::kFace, "front");
  b.Cut(Operation::kBore, "eye");
  Shop shop = ShopWithOnly({{"three_jaw_eccentricity", 0.04}, {"rechuck_wobble", 0.03}, {"true_mandrel_eccentricity", 0.006}, {"chip_under_work", 40}});
  shop.holding.push_back(DeviceOf("soft_jaws", HoldingDeviceKind::kThreeJaw));
  shop.holding.back().soft_jaws = true;
  ExpectHeldAlike(machine, shop, b.plan, 4,
                  [](SlowRandom& r) {
                    const Vec2 off = Eccentric(r, 0.006);
                    const std::vector<Vec3> drawn = SeatsAt(25, 0);
                    std::vector<Vec3> now;
                    for (const Vec3& p : drawn) now.push_back(p + Chip(r, 40, 3) * Vec3::UnitZ());
                    return ReadDisc(Centred(OnThreePoints(drawn, now), {0, 0, 5}, off), 0.02, 1e-3);
                  },
                  {kInLatheSecondOrder_mm, kInLatheSecondOrder_rad});
}

// Twice in one collet: each time as far off, any way.
TEST(HeldInLathe, ColletTwice) {
  const Machine machine = AloneIn(Pin(true), {RunsTrue("pin.high", "pin.low", 0.04)});
  PlanBuilder b;
  for (const bool up : {true, false}) {
    const Pose X_PS = up ? Upright(60) : SetupPose(Vec3::UnitX(), -Vec3::UnitZ(), {0, 0, 0});
    b.AddSetup("pin", "lathe", HoldingKind::kCollet, "collet", X_PS).opening_mm = 20;
    for (const double z : {17.0, 33.0}) TouchRound(b, ContactKind::kCollet, "held", z);
    b.Touch(ContactKind::kStop, "", {0, 0, up ? 0.0 : 60.0},
            up ? Vec3::UnitZ() : Vec3(-Vec3::UnitZ()));
    b.Cut(Operation::kTurn, up ? "high" : "low");
  }
  Shop shop = ShopWithOnly({{"collet_eccentricity", 0.012}});
  shop.holding.push_back(DeviceOf("collet", HoldingDeviceKind::kCollet));
  ExpectHeldAlike(machine, shop, b.plan, 3,
                  [](SlowRandom& r) {
                    const double far = LengthOf(r, 0.012);
                    const Vec2 first = AnyWay(r, far);
                    return SlowValues{Within(2 * (AnyWay(r, far) - first).norm(), 0.04)};
                  },
                  {kInLatheSecondOrder_mm});
}

// A stub turned in place, its shoulder faced: only a chip leans what sits on it.
TEST(HeldInLathe, StubTurnedInPlace) {
  const Machine machine = AloneIn(Disc(kEye), OfDisc("disc.rim", "disc.eye", 0.02, 1e-3));
  PlanBuilder b;
  FirstSeat(b, "disc", "lathe", HoldingKind::kThreeJaw, "chuck", Upright());
  b.Cut(Operation::kFace, "back");
  b.Cut(Operation::kBore, "eye");
  b.AddSetup("disc", "lathe", HoldingKind::kStubMandrel, "chuck", Upright(20));
  SeatOnBack(b, 20);
  TouchRound(b, ContactKind::kMandrel, "eye", 9);
  b.Cut(Operation::kFace, "front");
  b.Cut(Operation::kTurn, "rim");
  const Shop shop = ShopWithOnly(
      {{"true_mandrel_eccentricity", 0.005}, {"rechuck_wobble", 0.1}, {"chip_under_work", 40}});
  ExpectHeldAlike(
      machine, shop, b.plan, 4,
      [](SlowRandom& r) {
        const Vec2 off = Eccentric(r, 0.005);
        const std::vector<Vec3> drawn = SeatsAt(20, 0);
        const auto now = Lifted(drawn, {Chip(r, 40, 3), Chip(r, 40, 3), Chip(r, 40, 3)});
        return ReadDisc(Centred(OnThreePoints(drawn, now), {0, 0, 9}, off), 0.02, 1e-3);
      },
      {kInLatheSecondOrder_mm, kInLatheSecondOrder_rad});
}

// The hole was drilled from the tailstock and leans; the sleeve holds it where it is touched, at
// both ends, a collet's error off.
TEST(HeldInLathe, ExpandingMandrel) {
  Part bush = RoundPart(
      "bush",
      {MakeOutside("low", {}, 0, 20, MakeSize(29.9, 30.1)),
       MakeOutside("high", {}, 20, 30, MakeSize(25.9, 26.1)), MakeFace("back", -Vec3::UnitZ(), 0),
       MakeHoles("eye", -Vec3::UnitZ(), {{0, 0, 30}}, MakeSize(8, 8.1), 30, true)});
  const Machine machine = AloneIn(
      bush, {RunsTrue("bush.high", "bush.low", 0.14),
             Required("parallel", RequirementKind::kParallel, "bush.high", "bush.low", {}, 4e-3)});
  PlanBuilder b;
  FirstSeat(b, "bush", "lathe", HoldingKind::kThreeJaw, "chuck", Upright(30));
  b.Cut(Operation::kTurn, "low");
  b.Cut(Operation::kDrill, "eye", "drill_80");
  b.AddSetup("bush", "lathe", HoldingKind::kStubMandrel, "mandrel", Upright(30)).opening_mm = 8;
  for (const double z : {1.0, 29.0}) TouchRound(b, ContactKind::kMandrel, "eye", z);
  b.Touch(ContactKind::kStop, "back", {0, 9, 0}, Vec3::UnitZ());
  b.Cut(Operation::kTurn, "high");
  Shop shop = ShopWithOnly({{"collet_eccentricity", 0.01},
                            {"true_mandrel_eccentricity", 0.2},
                            {"tailstock_offset", 0.015},
                            {"drill_runoff", 0.003}});
  HoldingDevice sleeve = DeviceOf("mandrel", HoldingDeviceKind::kMandrel);
  sleeve.jaw_reach_mm = 30;
  shop.holding.push_back(sleeve);
  ExpectHeldAlike(
      machine, shop, b.plan, 5,
      [](SlowRandom& r) {
        const Vec2 entry(r.Normal(0.015), r.Normal(0.015));
        const Vec2 runs_off(r.Normal(0.003), r.Normal(0.003));
        const auto eye = [&](double z) {
          const Vec2 p = entry + (30 - z) * runs_off;
          return Vec3(p.x(), p.y(), z);
        };
        const Vec2 off = Eccentric(r, 0.01);
        const Pose held = AlongAxis(eye(1), eye(29), {off.x(), off.y(), 1}, {off.x(), off.y(), 29});
        const SlowLine turned = SeenFrom(held, kSpindle);
        return SlowValues{Within(2 * OffAxis(turned, 20, 30), 0.14),
                          Within(AngleBetween(turned.along, Vec3::UnitZ()), 4e-3)};
      },
      {kInLatheSecondOrder_mm, 2e-5});  // a lean of 4 mrad by as much again
}

// A block whose eye is brought to the spindle; a seat is bored at its mouth.
Part Eyed(bool with_eye) {
  Part block = MakeBlock("block", {-20, -20, 0}, {20, 20, 20});
  if (with_eye) {
    block.features.push_back(
        MakeHoles("eye", -Vec3::UnitZ(), {{0, 0, 20}}, MakeSize(15.9, 16.1), 20, true));
  }
  block.features.push_back(
      MakeHoles("seat", -Vec3::UnitZ(), {{0, 0, 20}}, MakeSize(25.9, 26.1), 8, false));
  for (Feature& f : block.features) {
    if (auto* hole = std::get_if<Hole>(&f.shape)) hole->use = HoleUse::kBore;
  }
  return block;
}
const std::vector<Vec3> kUnderBlock = {{-15, -15, 0}, {15, -15, 0}, {0, 15, 0}};
void SeatBlock(PlanBuilder& b) {
  for (const Vec3& p : kUnderBlock) b.Touch(ContactKind::kChuckFace, "bottom", p, Vec3::UnitZ());
}
Requirement SquareToBottom(double upper) {
  return Required("square", RequirementKind::kSquare, "block.seat", "block.bottom", {}, upper);
}

TEST(HeldInLathe, FourJawByTheBore) {
  const Machine machine =
      AloneIn(Eyed(true),
              {Required("in_line", RequirementKind::kInLine, "block.seat", "block.eye", {}, 0.012),
               SquareToBottom(1e-3)});
  PlanBuilder b;
  FirstSeat(b, "block", "mill", HoldingKind::kViseBedFirst, "vise", Upright(20));
  b.Cut(Operation::kFace, "bottom");
  b.Cut(Operation::kBore, "eye");
  b.AddSetup("block", "lathe", HoldingKind::kFourJaw, "four_jaw", Upright(20));
  SeatBlock(b);
  TouchRound(b, ContactKind::kBoreCentred, "eye", 20);
  b.Cut(Operation::kBore, "seat");
  Shop shop = ShopWithOnly({{"four_jaw_eccentricity", 0.008}, {"rechuck_wobble", 0.03}});
  shop.holding.push_back(DeviceOf("four_jaw", HoldingDeviceKind::kFourJaw));
  ExpectHeldAlike(machine, shop, b.plan, 6,
                  [](SlowRandom& r) {
                    const Vec2 off = Eccentric(r, 0.008);
                    const Vec3 mouth(0, 0, 20);
                    const Pose held = Centred(Wobbled(r, {0, -5, 0}, 0.03 / 50), mouth, off);
                    const SlowLine bored = SeenFrom(held, kSpindle);
                    return SlowValues{Within(OffAxis(bored, 12, 20), 0.012),
                                      Within(AngleBetween(bored.along, Vec3::UnitZ()), 1e-3)};
                  },
                  {kInLatheSecondOrder_mm, kInLatheSecondOrder_rad});
}

// On packing, which leans it; its centre scribed from two sides, punched, and brought to the
// spindle.
TEST(HeldInLathe, FaceplateOnPacking) {
  const Machine machine =
      AloneIn(Eyed(false), {Required("from_side", RequirementKind::kDistance, "block.seat",
                                     "block.rear", -20.12, -19.88),
                            SquareToBottom(2e-4)});
  PlanBuilder b;
  FirstSeat(b, "block", "mill", HoldingKind::kViseBedFirst, "vise", Upright(20));
  for (const char* face : {"bottom", "rear", "right"}) b.Cut(Operation::kFace, face);
  b.AddSetup("block", "lathe", HoldingKind::kFaceplate, "plate", Upright(20)).parallels_mm = 10;
  SeatBlock(b);
  b.Touch(ContactKind::kEdgeFound, "rear", {-20, 0, 20}, Vec3::UnitX());
  b.Touch(ContactKind::kEdgeFound, "right", {0, -20, 20}, Vec3::UnitY());
  b.Cut(Operation::kBore, "seat");
  Shop shop = ShopWithOnly({{"scribed_line", 0.08},
                            {"punch_mark_centring", 0.05},
                            {"bed_and_parallels", 0.012},
                            {"rechuck_wobble", 0.1}});
  shop.holding.push_back(DeviceOf("plate", HoldingDeviceKind::kFaceplate));
  ExpectHeldAlike(machine, shop, b.plan, 7,
                  [](SlowRandom& r) {
                    Pose held = TurnedAbout({0, -5, 0}, Vec3::UnitX(), r.Normal(0.012 / 100)) *
                                TurnedAbout({0, -5, 0}, Vec3::UnitY(), r.Normal(0.012 / 100));
                    const Vec3 side(-20, 0, 20);
                    held.translation().x() +=
                        -20 + r.Normal(0.08) + r.Normal(0.05) - (held * side).x();
                    const SlowLine bored = SeenFrom(held, kSpindle);
                    // Half way down the seat, from the face that lies at -20 of the piece, outwards
                    // of it.
                    return SlowValues{Judged(-20 - AtHeight(bored, 16).x(), -20.12, -19.88),
                                      Within(AngleBetween(bored.along, Vec3::UnitZ()), 2e-4)};
                  },
                  {kInLatheSecondOrder_mm, kInLatheSecondOrder_rad});
}

// A ring to go over what was turned, as long as it.
Part Ring(const Size& bore, double length_mm) {
  return SuppliedRound("ring", MakeSize(50, 50), bore, length_mm);
}
Machine WithRing(const Part& part, const Part& ring, double at_z,
                 std::vector<Requirement> requirements) {
  Machine machine = AloneIn(part, std::move(requirements));
  machine.parts.push_back(ring);
  machine.uses.push_back(StandsAt("ring", {0, 0, at_z}));
  machine.joints = {
      JoinedBy("fit", JointKind::kRunningFit, part.name.text() + ".high", "ring.bore")};
  return machine;
}
Requirement GoesOn(const std::string& shaft, double lower, double upper) {
  return Required("goes_on", RequirementKind::kClearance, shaft, "ring.bore", lower, upper);
}
// Clearance at both ends of what grows by `rise` of its diameter for each mm from its middle.
SlowValue Clears(double at_middle, double rise, double half_mm, double lower, double upper) {
  const double more = std::abs(rise * half_mm);
  return {at_middle - more, at_middle - more >= lower && at_middle + more <= upper};
}

// The spindle's axis and the turned one differ: the tool runs along the spindle's at the work's
// side.
double RiseAbout(const SlowLine& axis) {
  const Vec3 a = axis.along.normalized();
  // Radius, across the turning axis, of a line parallel to the spindle's that stands 8 mm to its
  // side.
  const auto radius = [&](double z) { return FromLine({8, 0, z}, axis.point, a); };
  return 2 * (radius(1) - radius(0)) * a.z();
}

// A centre that stands off the axis carries one end: the bar turns about the line from the jaws to
// it.
TEST(HeldInLathe, ChuckAndCentre) {
  const Size bore = MakeSize(15.02, 15.06);
  const Machine machine = WithRing(Pin(true), Ring(bore, 25), 35, {GoesOn("pin.high", 0.01, 0.06)});
  PlanBuilder b;
  b.AddSetup("pin", "lathe", HoldingKind::kThreeJaw, "chuck", Upright(60));
  for (const double z : {17.0, 21.0}) TouchRound(b, ContactKind::kChuckGrip, "held", z);
  b.Touch(ContactKind::kStop, "", {0, 0, 0}, Vec3::UnitZ());
  AddRing(b, FixtureRole::kChuckJaw, -45, -38, true, false);
  AddRing(b, FixtureRole::kTailstock, -2, 16, false, true);
  b.Cut(Operation::kTurn, "high");
  const Shop shop = ShopWithOnly({{"tailstock_offset", 0.03}, {"turned_diameter", 0.004}});
  ExpectHeldAlike(machine, shop, b.plan, 8,
                  [&](SlowRandom& r) {
                    const SlowLine axis{{0, 0, 22}, Vec3(r.Normal(0.03), r.Normal(0.03), 36)};
                    return SlowValues{Clears(r.In(bore) - 15 - r.Normal(0.004), RiseAbout(axis),
                                             12.5, 0.01, 0.06)};
                  },
                  {kInLatheSecondOrder_mm});
}

void PutBetweenCentres(PlanBuilder& b, double length_mm) {
  AddRing(b, FixtureRole::kChuckJaw, -length_mm + 2, -length_mm + 12, true, false);
  AddRing(b, FixtureRole::kSpindleNose, -length_mm - 16, -length_mm + 3, false, true);
  AddRing(b, FixtureRole::kTailstock, -3, 16, false, true);
}

// Both ends turned on the same two centres: the second end follows the first but for what the
// centres do, and each is a cone by what the tailstock stands off.
TEST(HeldInLathe, BetweenCentres) {
  const Size bore = MakeSize(15.02, 15.06);
  const Machine machine =
      WithRing(Pin(true), Ring(bore, 25), 35,
               {RunsTrue("pin.high", "pin.low", 0.01), GoesOn("pin.high", 0.01, 0.06)});
  PlanBuilder b;
  FirstSeat(b, "pin", "lathe", HoldingKind::kBetweenCentres, "plate",
            SetupPose(Vec3::UnitX(), -Vec3::UnitZ(), {0, 0, 0}));
  PutBetweenCentres(b, 60);
  b.Cut(Operation::kTurn, "low");
  b.AddSetup("pin", "lathe", HoldingKind::kBetweenCentres, "plate", Upright(60));
  for (const double z : {14.0, 1.0}) TouchRound(b, ContactKind::kChuckGrip, "low", z);
  b.Touch(ContactKind::kStop, "", {0, 0, 0}, Vec3::UnitZ());
  PutBetweenCentres(b, 60);
  b.Cut(Operation::kTurn, "high");
  Shop shop = ShopWithOnly(
      {{"centre_eccentricity", 0.003}, {"tailstock_offset", 0.04}, {"turned_diameter", 0.004}});
  shop.holding.push_back(DeviceOf("plate", HoldingDeviceKind::kFaceplate));
  shop.holding.push_back(DeviceOf("centre", HoldingDeviceKind::kTailstockCentre));
  ExpectHeldAlike(machine, shop, b.plan, 10,
                  [&](SlowRandom& r) {
                    // The points stand 3 mm into the ends.
                    const SlowLine axis{{0, 0, 3}, Vec3(r.Normal(0.04), r.Normal(0.04), 54)};
                    return SlowValues{Within(2 * Eccentric(r, 0.003).norm(), 0.01),
                                      Clears(r.In(bore) - 15 - r.Normal(0.004), RiseAbout(axis),
                                             12.5, 0.01, 0.06)};
                  },
                  {kInLatheSecondOrder_mm, kInLatheSecondOrder_mm});
}

// A plug of 1 in 20 on its diameter, cut with the tailstock set over for the length between the
// points; it stands off by its own error before that, and by the indicator's in setting it.
TEST(HeldInLathe, TailstockSetOver) {
  constexpr double kHalfAngle_rad = 0.025;
  Taper cone;
  cone.from_mm = 20;
  cone.to_mm = 60;
  const double rise = 2 * std::tan(kHalfAngle_rad);
  cone.start_diameter = MakeSize(16, 16);
  cone.end_diameter = MakeSize(16 + 40 * rise, 16 + 40 * rise);
  const Part plug =
      RoundPart("plug", {MakeOutside("shank", {}, 0, 20, MakeSize(15, 15)),
                         Feature{FeatureId("high"), cone, Finish::kAsMachined, false, {}}});
  cone.internal = true;
  cone.from_mm = 0;
  cone.to_mm = 40;
  const Size mouth = MakeSize(16.02, 16.06);
  cone.start_diameter = mouth;
  Part socket = RoundPart(
      "ring", {AsSupplied(Feature{FeatureId("bore"), cone, Finish::kAsMachined, false, {}}),
               AsSupplied(MakeOutside("outside", {}, 0, 40, MakeSize(50, 50)))});
  Machine machine = AloneIn(plug, {GoesOn("plug.high", 0.01, 0.06)});
  machine.parts.push_back(socket);
  machine.uses.push_back(StandsAt("ring", {0, 0, 20}));
  PlanBuilder b;
  FirstSeat(b, "plug", "lathe", HoldingKind::kBetweenCentres, "plate", Upright(60));
  PutBetweenCentres(b, 60);
  constexpr double kBetween_mm = 54;
  b.plan.setups.back().tailstock_over_mm = -kBetween_mm * std::sin(kHalfAngle_rad);
  b.Cut(Operation::kTurn, "high");
  const Shop shop = ShopWithOnly(
      {{"adjust_by_indicator", 0.012}, {"tailstock_offset", 0.01}, {"turned_diameter", 0.004}});
  ExpectHeldAlike(
      machine, shop, b.plan, 12,
      [&](SlowRandom& r) {
        const double over =
            kBetween_mm * std::sin(kHalfAngle_rad) + r.Normal(0.01) + r.Normal(0.012);
        const double cut = 2 * std::tan(std::asin(over / kBetween_mm));
        return SlowValues{Clears(r.In(mouth) - 16 - r.Normal(0.004), cut - rise, 20, 0.01, 0.06)};
      },
      {kInLatheSecondOrder_mm});
}

// The bar turns about the line from the jaws to the steady, its band runs untrue in the fingers,
// and what is beyond them is turned about that line by a tool that runs along the ways.
TEST(HeldInLathe, FixedSteady) {
  const Size bore = MakeSize(15.02, 15.06);
  const Machine machine =
      WithRing(Pin(true), Ring(bore, 25), 35,
               {RunsTrue("pin.high", "pin.held", 0.05), GoesOn("pin.high", 0.01, 0.06)});
  PlanBuilder b;
  b.AddSetup("pin", "lathe", HoldingKind::kThreeJaw, "chuck", Upright(60)).opening_mm = 20;
  TouchRound(b, ContactKind::kChuckGrip, "held", 17);
  TouchRound(b, ContactKind::kSteady, "held", 33);
  b.Touch(ContactKind::kStop, "", {0, 0, 0}, Vec3::UnitZ());
  AddRing(b, FixtureRole::kChuckJaw, -50, -43, true, false);
  AddRing(b, FixtureRole::kSteady, -29, -25, false, true);
  b.Cut(Operation::kTurn, "high");
  Shop shop = ShopWithOnly({{"three_jaw_eccentricity", 0.008},
                            {"steady_running", 0.005},
                            {"steady_off_axis", 0.012},
                            {"turned_diameter", 0.004}});
  shop.holding.push_back(DeviceOf("steady", HoldingDeviceKind::kSteady));
  ExpectHeldAlike(machine, shop, b.plan, 13,
                  [&](SlowRandom& r) {
                    const SlowLine axis{{0, 0, 17}, Vec3(r.Normal(0.012), r.Normal(0.012), 16)};
                    const Vec2 at_jaws = Eccentric(r, 0.008);
                    const Vec2 in_steady = Eccentric(r, 0.005);
                    const auto on_axis = [&](double z, const Vec2& off) {
                      return Vec3(AtHeight(axis, z) + Vec3(off.x(), off.y(), 0));
                    };
                    const Pose held = AlongAxis({0, 0, 17}, {0, 0, 33}, on_axis(17, at_jaws),
                                                on_axis(33, in_steady));
                    return SlowValues{Within(2 * OffAxis(SeenFrom(held, axis), 35, 60), 0.05),
                                      Clears(r.In(bore) - 15 - r.Normal(0.004), RiseAbout(axis),
                                             12.5, 0.01, 0.06)};
                  },
                  {kInLatheSecondOrder_mm, kInLatheSecondOrder_mm});
}

}  // namespace
}  // namespace fitwright::variation
