// Arithmetic written out as text: numbers, names, + - * / ^ ( ), pi, and the functions sqrt sin cos
// tan atan abs min max (angles in degrees; min and max of one or more). A number may carry a unit
// of length ("12.5 mm", "1/2 in", "1-1/8 in" as ParseLength_mm reads them). Everything is reckoned
// in one unit of length, the bare one: a bare number is either a length in it or a plain number, a
// number with a unit is turned into it. So "bore + 6" and "bore / 2" both mean what they say in mm
// and in inches. A number over a length written with
// its unit ("1.5/2 in") is refused: it is never meant.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/units/size.h"

namespace fitwright {

class Expression {
 public:
  // Errors (value = the text, where.column = the character, from 1, that is wrong): bad_expression.
  // Takes up to 1000 characters and 64 nested parentheses.
  static Result<Expression> Parse(std::string_view text, LengthUnit bare = LengthUnit::kMillimetre);

  // Every name used, once each, in the order of their first use. Names begin with a letter or "_"
  // and hold letters, digits and "_"; pi and the functions' names are no names.
  const std::vector<std::string>& names() const { return names_; }
  // The character, from 1, where names()[i] first stands.
  int ColumnOf(std::size_t name) const { return name_columns_[name]; }

  // values: of names(), in their order, in the bare unit. The result is in the bare unit. Errors
  // (where.column as above): division_by_zero, out_of_range (a root of a number below zero, or a
  // power that is no real number), not_finite.
  Result<double> Evaluate(std::span<const double> values) const;
  // The same for many sets of values at once: names[i][k] of names(), in their order. out[k], and
  // whether there is such a value in known[k]; a square is a product, else the same bits.
  void EvaluateMany(std::span<const double* const> names, std::span<double> out,
                    std::span<std::uint8_t> known) const;

 private:
  friend class ExpressionParser;
  enum class Do {
    kNumber,
    kName,
    kAdd,
    kSubtract,
    kMultiply,
    kDivide,
    kPower,
    kNegate,
    kSqrt,
    kSin,
    kCos,
    kTan,
    kAtan,
    kAbs,
    kMin,
    kMax
  };
  struct Step {
    Do what = Do::kNumber;
    double number = 0;      // kNumber
    std::size_t count = 0;  // kName: index of names_; kMin, kMax: how many they choose from
    int column = 0;
  };
  Result<double> Apply(const Step& step, std::vector<double>& stack) const;
  using Rows = std::vector<std::vector<double>>;
  static void ApplyMany(const Step& step, Rows& stack, std::span<std::uint8_t> known);
  Error Wrong(ErrorCode code, int column, std::string message, std::string remedy) const;

  std::string text_;
  std::vector<Step> steps_;  // operands before their operator
  std::vector<std::string> names_;
  std::vector<int> name_columns_;
};

// Whether the text could be the name of a value in an Expression.
bool CanBeNamedInExpression(std::string_view text);

// As Expression::Evaluate, each name looked up. A name that is not found: unknown_name (value = the
// name; the remedy is left to the caller, who knows the names).
Result<double> Evaluate(const Expression& expression,
                        const std::function<std::optional<double>(std::string_view)>& find);

}  // namespace fitwright
