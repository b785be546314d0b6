#include "fitwright/units/expression.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <cstdint>
#include <map>
#include <random>
#include <string>
#include <vector>

#include "tests/units/unit_names.h"

namespace fitwright {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;

// A few roundings of numbers of this size.
constexpr double kRounding = 1e-12;

const std::map<std::string, double, std::less<>> kValues{{"bore", 24}, {"wall", 3}, {"n_1", 2}};

std::optional<double> Find(std::string_view name) {
  const auto found = kValues.find(name);
  return found == kValues.end() ? std::nullopt : std::optional(found->second);
}

struct Case {
  const char* text;
  LengthUnit bare;
  double value;
};
class Evaluates : public testing::TestWithParam<Case> {};
TEST_P(Evaluates, InTheBareUnit) {
  const auto read = Expression::Parse(GetParam().text, GetParam().bare);
  ASSERT_TRUE(read.has_value()) << Format(read.error());
  const auto value = Evaluate(*read, Find);
  ASSERT_TRUE(value.has_value()) << Format(value.error());
  EXPECT_NEAR(*value, GetParam().value, kRounding);
}
INSTANTIATE_TEST_SUITE_P(
    Texts, Evaluates,
    testing::Values(
        Case{"bore + 6", kMm, 30}, Case{"bore+6", kIn, 30}, Case{"bore - 2 * wall", kMm, 18},
        Case{"(bore - 2) * wall", kMm, 66}, Case{"bore / wall / n_1", kMm, 4},
        Case{"bore - wall - n_1", kMm, 19}, Case{"-wall", kMm, -3}, Case{"- -wall", kMm, 3},
        Case{"-wall ^ n_1", kMm, -9}, Case{"2 ^ 3 ^ 2", kMm, 512}, Case{"2^-1", kMm, 0.5},
        Case{"wall*-2", kMm, -6}, Case{"sqrt(wall * 12)", kMm, 6}, Case{"sin(30)", kMm, 0.5},
        Case{"cos(60) + tan(45)", kMm, 1.5}, Case{"atan(1)", kMm, 45},
        Case{"abs(wall-bore)", kMm, 21}, Case{"min(bore, wall, 5)", kMm, 3},
        Case{"max(bore, wall)", kMm, 24}, Case{"max(1)", kMm, 1},
        Case{"pi * 2", kMm, 6.283185307179586}, Case{"1e3 + .5", kMm, 1000.5},
        // Units: turned into the bare one; without one a number is bare.
        Case{"12.5 mm + 1", kMm, 13.5}, Case{"1 in + 1", kMm, 26.4}, Case{"25.4 mm + 1", kIn, 2},
        Case{"1/2 in", kMm, 12.7}, Case{"1/2 in + wall", kMm, 15.7},
        Case{"1-1/8 in + 1", kMm, 29.575}, Case{"1 1/8 in", kIn, 1.125},
        Case{"2 * 3/8\"", kMm, 19.05}, Case{"bore-1/8 in", kMm, 20.825}, Case{"1/2", kIn, 0.5},
        Case{"1/2 * bore", kIn, 12}, Case{"1.5 in / 2", kMm, 19.05}, Case{"bore / (2 mm)", kMm, 12},
        Case{"bore / 2 mm", kMm, 12}, Case{"3 cm + 0.1 m + 2 inch", kMm, 180.8}));

struct Fault {
  const char* text;
  ErrorCode code;
  int column;
  const char* message;
};
class Refuses : public testing::TestWithParam<Fault> {};
TEST_P(Refuses, AndSaysWhere) {
  const auto read = Expression::Parse(GetParam().text);
  const auto value = read ? Evaluate(*read, Find) : Result<double>(Unexpected(read.error()));
  ASSERT_FALSE(value.has_value()) << *value;
  EXPECT_EQ(NameOf(value.error().code), NameOf(GetParam().code));
  EXPECT_EQ(value.error().where.column, GetParam().column) << Format(value.error());
  EXPECT_THAT(value.error().message, HasSubstr(GetParam().message));
}
INSTANTIATE_TEST_SUITE_P(
    Texts, Refuses,
    testing::Values(Fault{"", ErrorCode::kBadExpression, 1, "ends where a value"},
                    Fault{"bore +", ErrorCode::kBadExpression, 7, "ends where a value"},
                    Fault{"bore wall", ErrorCode::kBadExpression, 6, "'w' is not expected"},
                    Fault{"(bore", ErrorCode::kBadExpression, 6, "not closed"},
                    Fault{"bore)", ErrorCode::kBadExpression, 5, "')' is not expected"},
                    Fault{"12 furlong", ErrorCode::kBadExpression, 4, "'f' is not expected"},
                    Fault{"12x", ErrorCode::kBadExpression, 3, "runs into"},
                    Fault{"1..2", ErrorCode::kBadExpression, 3, "runs into"},
                    Fault{"1.5/2 in", ErrorCode::kBadExpression, 4, "over a length"},
                    Fault{"bore + 2 * 3 / 4 mm", ErrorCode::kBadExpression, 14, "over a length"},
                    Fault{"cot(3)", ErrorCode::kBadExpression, 1, "cot is not a function"},
                    Fault{"sin 3", ErrorCode::kBadExpression, 5, "without its parenthesis"},
                    Fault{"sqrt(1, 2)", ErrorCode::kBadExpression, 1, "takes one value"},
                    Fault{"2 + boar", ErrorCode::kUnknownName, 5, "boar is not known"},
                    Fault{"1 / (wall - 3)", ErrorCode::kDivisionByZero, 3, "divides by nothing"},
                    Fault{"sqrt(-1)", ErrorCode::kOutOfRange, 1, "root"},
                    Fault{"(-2) ^ 0.5", ErrorCode::kOutOfRange, 6, "power"},
                    Fault{"1e300 * 1e300", ErrorCode::kNotFinite, 7, "finite"}));

// Many sets of values at once: the same values and the same refusals as one by one.
TEST(ExpressionMany, AgreesWithOneByOne) {
  const std::vector<double> grid = {-2, -1, -0.5, 0, 0.5, 1, 2, 1e200};
  std::vector<double> a;
  std::vector<double> b;
  for (const double x : grid) {
    for (const double y : grid) {
      a.push_back(x);
      b.push_back(y);
    }
  }
  for (const char* text :
       {"a + b * 3 - 1", "a / b", "a ^ 2 + b", "a ^ b", "-sqrt(a) * b", "sqrt(a * b) / (a - b)",
        "min(a, b, 0.7) + max(a, 1, b)", "abs(a) * sin(b) + cos(a) * tan(b)",
        "atan(a / 2) + pi * b", "a * b * b", "2 ^ b + a ^ 3", "min(a) + max(b)"}) {
    const auto read = Expression::Parse(text);
    ASSERT_TRUE(read.has_value()) << text;
    std::vector<const double*> names;
    for (const std::string& name : read->names())
      names.push_back(name == "a" ? a.data() : b.data());
    std::vector<double> out(a.size());
    std::vector<std::uint8_t> known(a.size());
    read->EvaluateMany(names, out, known);
    for (std::size_t k = 0; k < a.size(); ++k) {
      const auto one =
          Evaluate(*read, [&](std::string_view name) { return name == "a" ? a[k] : b[k]; });
      EXPECT_EQ(known[k] != 0, one.has_value()) << text << " at " << a[k] << ", " << b[k];
      if (one && known[k] != 0) {
        EXPECT_DOUBLE_EQ(out[k], *one) << text << " at " << a[k] << ", " << b[k];
      }
    }
  }
}

TEST(ExpressionNames, StandOnceInOrderOfUse) {
  const auto read = Expression::Parse("wall + bore * wall - min(rim, bore)");
  ASSERT_TRUE(read.has_value());
  EXPECT_THAT(read->names(), ElementsAre("wall", "bore", "rim"));
  EXPECT_EQ(read->ColumnOf(1), 8);
  EXPECT_TRUE(CanBeNamedInExpression("wall_2"));
  for (const char* no : {"", "2wall", "outer-wall", "pi", "sqrt", "a b"})
    EXPECT_FALSE(CanBeNamedInExpression(no)) << no;
}

TEST(ExpressionParser, HoldsItsGroundAgainstNoise) {
  std::mt19937 engine(7);
  const std::string letters = "ab1.+-*/^(), \"minsqrtp";
  for (int round = 0; round < 20000; ++round) {
    std::string text;
    for (std::size_t i = engine() % 14; i > 0; --i) text += letters[engine() % letters.size()];
    const auto read = Expression::Parse(text);
    if (!read) {
      EXPECT_GE(read.error().where.column, 1);
      continue;
    }
    const auto value = Evaluate(*read, [](std::string_view) { return 1.5; });
    EXPECT_TRUE(!value || std::isfinite(*value)) << text;
  }
  EXPECT_FALSE(Expression::Parse(std::string(900, '(')).has_value());
  EXPECT_FALSE(Expression::Parse(std::string(2000, '1')).has_value());
}

}  // namespace
}  // namespace fitwright
