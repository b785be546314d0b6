// Tapers, dovetails, vees, balls: each against the geometry drawn out, by another route.
#include "fitwright/reckon/slopes.h"

#include <gtest/gtest.h>

#include "fitwright/trade/gauge_blocks.h"
#include "fitwright/units/geometry.h"
#include "tests/reckon/reckon_run.h"

namespace fitwright::reckon {
namespace {

constexpr double kNoise_mm = 1e-9;

// Distance of a point from the line through `on` along `way`.
double FromLine(const Vec2& point, const Vec2& on, const Vec2& way) {
  const Vec2 d = point - on;
  return std::abs(d.x() * way.y() - d.y() * way.x()) / way.norm();
}

TEST(Slopes, PinInTheCornerTouchesBothSides) {
  for (double angle = 0.3; angle < 2; angle += 0.17) {
    const double pin = 6;
    const Vec2 middle(PinReach_mm(pin, angle) - 0.5 * pin, 0.5 * pin);
    EXPECT_NEAR(FromLine(middle, Vec2(0, 0), Vec2(std::cos(angle), std::sin(angle))), 0.5 * pin,
                kNoise_mm);
  }
}

// 60 degree dovetail, handbooks' constant for two pins: 1 + cot 30 deg = 2.7321 (closed form).
TEST(Dovetail, SixtyDegrees) {
  const Reckoned out = Done("dovetail", {"angle=60", "width=30", "pin=6", "height=8"});
  EXPECT_NEAR(LineOf(out, "over the pins"), 30 + 6 * 2.7320508, 1e-6);
  EXPECT_NEAR(LineOf(out, "width across the top"), 30 + 2 * 8 / std::sqrt(3.0), 1e-9);
  const Reckoned in = Done("dovetail", {"side=inside", "angle=60", "width=50", "pin=6"});
  EXPECT_NEAR(LineOf(in, "between the pins"), 50 - 6 * 2.7320508, 1e-6);
  EXPECT_FALSE(Calc("dovetail", {"side=inside", "angle=60", "width=16", "pin=6"}).has_value());
}

TEST(Vee, PinTouchesTheFlanks) {
  for (double angle = 0.5; angle < 2.9; angle += 0.3) {
    const double middle = PinTop_mm(10, angle) - 5;
    EXPECT_NEAR(
        FromLine(Vec2(0, middle), Vec2(0, 0), Vec2(std::sin(0.5 * angle), std::cos(0.5 * angle))),
        5, kNoise_mm);
  }
  const Reckoned r = Done("vee", {"angle=90", "width=20", "pin=16"});
  EXPECT_NEAR(LineOf(r, "pin's top above the face"), 8 * (1 + std::sqrt(2.0)) - 10, kNoise_mm);
  EXPECT_FALSE(Calc("vee", {"angle=90", "width=20", "pin=40"}).has_value());
}

// Balls of 20 in a bore of 32: middles 12 apart across and 16 up (3-4-5), top at 36.
TEST(BoreBalls, ThreeFourFive) {
  EXPECT_NEAR(BoreByBalls_mm(20, 20, 36).value(), 32, kNoise_mm);
  EXPECT_FALSE(BoreByBalls_mm(20, 20, 40).has_value());
  EXPECT_FALSE(BoreByBalls_mm(20, 20, 20).has_value());
}

TEST(BoreBalls, SlopeIsThatOfTheBore) {
  const Reckoned r = Done("bore-balls", {"lower=18", "upper=20", "height=30"});
  const double step = 1e-5;
  const double change =
      (BoreByBalls_mm(18, 20, 30 + step).value() - BoreByBalls_mm(18, 20, 30 - step).value()) /
      (2 * step);
  EXPECT_NEAR(LineOf(r, "bore changes for each unit of height"), change, 1e-6);
}

// A taper drawn out: where balls of 20 and 16 lie in it follows from the wall's line.
TEST(TaperBalls, FindsTheTaperItWasMadeFrom) {
  const double half = 4 * kRadPerDeg;
  const double mouth = 22.5;
  const auto depth_of = [&](double ball) {
    const double middle = (0.5 * mouth - 0.5 * ball / std::cos(half)) / std::tan(half);
    return middle - 0.5 * ball;
  };
  const auto found = TaperByBalls(20, depth_of(20), 16, depth_of(16));
  ASSERT_TRUE(found.has_value());
  EXPECT_NEAR(found->half_angle_rad, half, 1e-12);
  EXPECT_NEAR(found->mouth_mm, mouth, kNoise_mm);
  EXPECT_FALSE(TaperByBalls(16, 3, 20, 40).has_value());
}

// A plug drawn out: pins that touch table (or blocks) and flank.
TEST(TaperPins, FindsThePlugItWasMadeFrom) {
  const double half = 3 * kRadPerDeg;
  const double small = 18;
  const double pin = 10;
  const auto over = [&](double blocks) {
    // The pin's middle stands at height blocks + 5; the flank at x = 9 + h tan(half) there leans
    // out by half, so the middle is 5 / cos(half) beyond it, measured level.
    const double height = blocks + 0.5 * pin;
    return 2 * (0.5 * small + height * std::tan(half) + 0.5 * pin / std::cos(half) + 0.5 * pin);
  };
  const TaperPlug plug = TaperByPins(pin, over(0), over(50), 50);
  EXPECT_NEAR(plug.half_angle_rad, half, 1e-12);
  EXPECT_NEAR(plug.small_mm, small, kNoise_mm);
}

// 1 in 20 on the diameter: half angle 1 deg 25.9 min; 150 mm between centres: 3.749 mm over.
TEST(Taper, OneInTwenty) {
  const Reckoned r = Done("taper", {"large=20", "small=16", "length=80", "between=150"});
  EXPECT_NEAR(LineOf(r, "compound slide from the axis"), std::atan(2.0 / 80), 1e-12);
  EXPECT_NEAR(LineOf(r, "taper on the diameter, 1 in"), 20, 1e-9);
  EXPECT_NEAR(LineOf(r, "tailstock over by"), 150 * 2 / std::hypot(80.0, 2.0), 1e-9);
  EXPECT_NEAR(LineOf(r, "on the diameter for each foot"), 0.6 * kMmPerInch, 1e-9);
  EXPECT_FALSE(Calc("taper", {"large=16", "small=20", "length=80"}).has_value());
  EXPECT_FALSE(Calc("taper", {"angle=5", "large=20", "small=16", "length=80"}).has_value());
}

// Sine bars (closed form): centres, angle, height.
TEST(SineBar, Heights) {
  const std::pair<std::vector<std::string>, double> rows[] = {
      {{"centres=100", "angle=30"}, 50.0},
      {{"centres=100", "angle=5.25"}, 9.150161866},
      {{"centres=127", "angle=31.5"}, 2.612492824 * 25.4},
      {{"centres=127", "angle=14 deg 22 min 26 s"}, 1.24124227 * 25.4}};
  for (const auto& [values, height] : rows) {
    EXPECT_NEAR(LineOf(Done("sine-bar", values), "height of the stack"), height, 3e-7);
  }
  EXPECT_FALSE(Calc("sine-bar", {"centres=100", "angle=90"}).has_value());
}

TEST(SineBar, BlocksAtHandMakeTheAngle) {
  const Reckoned r = Done("sine-bar", {"centres=100", "angle=30", "blocks=20,30,1.5,10"});
  EXPECT_NEAR(LineOf(r, "they make"), 50, kNoise_mm);
  EXPECT_NEAR(LineOf(r, "angle that they set"), 30 * kRadPerDeg, 1e-12);
  EXPECT_EQ(WordOfLine(r, "blocks to wring"), "30 + 20");
}

// Blocks by the set's name; the usual set of the unit system when none is named, and that is said.
TEST(SineBar, BlocksOfANamedSet) {
  const Reckoned named = Done("sine-bar", {"centres=100", "angle=5.25", "set=metric_88"});
  EXPECT_LE(std::abs(LineOf(named, "over the height wanted")), trade::kStackExact_mm);
  EXPECT_TRUE(named.notes.empty());
  const Reckoned coarse = Done("sine-bar", {"centres=100", "angle=5.25", "set=metric_47"});
  EXPECT_LE(std::abs(LineOf(coarse, "over the height wanted")), 0.0025);
  const Reckoned usual = Done("sine-bar", {"centres=100", "angle=5.25"});
  ASSERT_FALSE(usual.notes.empty());
  EXPECT_NE(usual.notes[0].find("metric_87"), std::string::npos);
  const Reckoned inch = Done("sine-bar", {"centres=5", "angle=30"}, LengthUnit::kInch);
  ASSERT_FALSE(inch.notes.empty());
  EXPECT_NE(inch.notes[0].find("inch_81"), std::string::npos);
  EXPECT_NEAR(LineOf(inch, "they make"), 2.5 * kMmPerInch, kNoise_mm);
  // What is taken when none is named is what the list of inputs says.
  for (const Input& input : FindReckoning("sine-bar").value()->inputs) {
    if (input.name != "set") continue;
    EXPECT_NE(input.about.find("usual: metric_87, in inches inch_81"), std::string_view::npos);
  }
  EXPECT_EQ(Calc("sine-bar", {"angle=5", "set=metric_47", "blocks=1,2"}).error().code,
            ErrorCode::kWrongCount);
  for (const auto& set : WordsOf<trade::BlockSet>::kAll) {
    EXPECT_TRUE(
        Calc("angled-face", {"angle=10", "run=40", "set=" + std::string(set.word)}).has_value())
        << set.word;
  }
}

TEST(AngledFace, ScribedHeights) {
  const Reckoned r = Done("angled-face", {"angle=30", "along=40", "from=10"});
  EXPECT_NEAR(LineOf(r, "rise"), 20, kNoise_mm);
  EXPECT_NEAR(LineOf(r, "scribe the far edge at"), 30, kNoise_mm);
  EXPECT_NEAR(LineOf(r, "sine bar's stack"), 50, kNoise_mm);
  EXPECT_FALSE(Calc("angled-face", {"angle=30"}).has_value());
}

}  // namespace
}  // namespace fitwright::reckon
