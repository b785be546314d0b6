#include "fitwright/units/expression.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include "fitwright/units/geometry.h"
#include "fitwright/units/length.h"
#include "fitwright/units/letters.h"

namespace fitwright {
namespace {

constexpr std::size_t kLongestText = 1000;
constexpr int kDeepest = 64;
constexpr std::string_view kRemedy =
    "write numbers, names, + - * / ^ ( ), pi, and sqrt sin cos tan atan abs min max";

bool IsLetter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_'; }

}  // namespace

// Reads by recursive descent, each level one method; the first fault stands.
class ExpressionParser {
 public:
  ExpressionParser(std::string_view text, LengthUnit bare) : text_(text), bare_(bare) {
    made_.text_ = std::string(text);
  }

  Result<Expression> Run() {
    if (text_.size() > kLongestText) {
      Fail("the expression is too long", 1);
    } else {
      ReadSum();
      SkipSpace();
      if (!fault_ && at_ < text_.size()) Fail(fmt::format("'{}' is not expected here", text_[at_]));
    }
    if (fault_) return Unexpected(*fault_);
    return made_;
  }

 private:
  using Do = Expression::Do;
  // What was read last: a number without or with a unit, or anything else.
  enum class Literal { kNone, kBare, kMeasured };

  struct Function {
    std::string_view name;
    Do what;
  };
  static constexpr auto kFunctions = std::to_array<Function>({{"sqrt", Do::kSqrt},
                                                              {"sin", Do::kSin},
                                                              {"cos", Do::kCos},
                                                              {"tan", Do::kTan},
                                                              {"atan", Do::kAtan},
                                                              {"abs", Do::kAbs},
                                                              {"min", Do::kMin},
                                                              {"max", Do::kMax}});

  void Fail(std::string message, std::optional<int> column = std::nullopt) {
    if (fault_) return;
    fault_ = made_.Wrong(ErrorCode::kBadExpression, column.value_or(Column()), std::move(message),
                         std::string(kRemedy));
  }
  int Column() const { return static_cast<int>(at_) + 1; }
  void SkipSpace() {
    while (at_ < text_.size() && IsSpace(text_[at_])) ++at_;
  }
  bool Take(char c) {
    SkipSpace();
    if (at_ >= text_.size() || text_[at_] != c) return false;
    ++at_;
    return true;
  }
  void Push(Do what, int column, double number = 0, std::size_t count = 0) {
    made_.steps_.push_back({what, number, count, column});
  }

  void ReadSum() {
    ReadTerm();
    while (!fault_) {
      SkipSpace();
      const int column = Column();
      const bool plus = Take('+');
      if (!plus && !Take('-')) return;
      ReadTerm();
      Push(plus ? Do::kAdd : Do::kSubtract, column);
    }
  }
  void ReadTerm() {
    ReadSigned();
    while (!fault_) {
      SkipSpace();
      const int column = Column();
      const Literal before = last_;
      const bool times = Take('*');
      if (!times && !Take('/')) return;
      ReadSigned();
      Push(times ? Do::kMultiply : Do::kDivide, column);
      // "1.5/2 in" would be 1.5 over a length of 2 in, and is not meant so.
      if (!times && before == Literal::kBare && last_ == Literal::kMeasured)
        Fail("a number over a length is no length: put the unit behind the first number", column);
      const bool still_bare = before == Literal::kBare && last_ == Literal::kBare;
      last_ = still_bare ? Literal::kBare : Literal::kNone;
    }
  }
  void ReadSigned() {
    if (++depth_ > kDeepest) return Fail("the expression is nested too deep");
    SkipSpace();
    const int column = Column();
    if (Take('-')) {
      ReadSigned();
      Push(Do::kNegate, column);
    } else if (Take('+')) {
      ReadSigned();
    } else {
      ReadPower();
    }
    --depth_;
  }
  void ReadPower() {
    ReadAtom();
    SkipSpace();
    const int column = Column();
    if (fault_ || !Take('^')) return;
    ReadSigned();
    last_ = Literal::kNone;
    Push(Do::kPower, column);
  }
  void ReadAtom() {
    last_ = Literal::kNone;
    SkipSpace();
    if (at_ >= text_.size()) return Fail("the expression ends where a value should stand");
    const char c = text_[at_];
    if (c == '(') {
      ++at_;
      ReadSum();
      if (!fault_ && !Take(')')) Fail("a parenthesis is not closed");
      last_ = Literal::kNone;
    } else if (IsDigit(c) || c == '.') {
      ReadNumber();
    } else if (IsLetter(c)) {
      ReadWord();
    } else {
      Fail(fmt::format("'{}' is not expected here", c));
    }
  }

  // The place after digits from `from`; `from` itself when there are none.
  std::size_t Digits(std::size_t from) const {
    while (from < text_.size() && IsDigit(text_[from])) ++from;
    return from;
  }
  // The place after "1/2" from `from`, or `from`.
  std::size_t FractionEnd(std::size_t from) const {
    const std::size_t bar = Digits(from);
    if (bar == from || bar >= text_.size() || text_[bar] != '/') return from;
    const std::size_t end = Digits(bar + 1);
    return end == bar + 1 ? from : end;
  }
  // The place after a unit of length from `from` (spaces before it allowed), or `from`.
  std::size_t UnitEnd(std::size_t from) const {
    std::size_t begin = from;
    while (begin < text_.size() && IsSpace(text_[begin])) ++begin;
    if (begin < text_.size() && text_[begin] == '"') return begin + 1;
    std::size_t end = begin;
    while (end < text_.size() && (IsLetter(text_[end]) || IsDigit(text_[end]))) ++end;
    const std::string_view word = text_.substr(begin, end - begin);
    const bool unit = word == "mm" || word == "um" || word == "cm" || word == "m" || word == "in" ||
                      word == "inch";
    return unit ? end : from;
  }
  // "1/2 in", "1-1/8 in", "1 1/8 in": the place after it, or at_. Without a unit they are
  // arithmetic.
  std::size_t MeasuredFractionEnd() const {
    std::size_t end = FractionEnd(at_);
    if (end == at_) {
      std::size_t next = Digits(at_);
      if (next < text_.size() && text_[next] == '-') {
        ++next;
      } else {
        while (next < text_.size() && IsSpace(text_[next])) ++next;
      }
      end = FractionEnd(next);
      if (end == next) return at_;
    }
    const std::size_t unit_end = UnitEnd(end);
    return unit_end == end ? at_ : unit_end;
  }
  void PushLength(std::size_t end, int column) {
    const auto length_mm = ParseLength_mm(text_.substr(at_, end - at_), bare_);
    if (!length_mm) return Fail(length_mm.error().message, column);
    const double per_bare = bare_ == LengthUnit::kInch ? kMmPerInch : 1.0;
    at_ = end;
    last_ = Literal::kMeasured;
    Push(Do::kNumber, column, *length_mm / per_bare);
  }
  void ReadNumber() {
    const int column = Column();
    const std::size_t fraction = MeasuredFractionEnd();
    if (fraction != at_) return PushLength(fraction, column);
    double value = 0;
    const auto read = std::from_chars(text_.data() + at_, text_.data() + text_.size(), value);
    if (read.ec != std::errc{}) return Fail("this is not a number", column);
    const auto number_end = static_cast<std::size_t>(read.ptr - text_.data());
    const std::size_t unit_end = UnitEnd(number_end);
    if (unit_end != number_end) return PushLength(unit_end, column);
    at_ = number_end;
    last_ = Literal::kBare;
    Push(Do::kNumber, column, value);
    if (at_ < text_.size() && (IsLetter(text_[at_]) || text_[at_] == '.')) {
      Fail("a number runs into what follows it");
    }
  }

  void ReadWord() {
    const int column = Column();
    const std::size_t begin = at_;
    while (at_ < text_.size() && (IsLetter(text_[at_]) || IsDigit(text_[at_]))) ++at_;
    const std::string_view word = text_.substr(begin, at_ - begin);
    for (const Function& function : kFunctions) {
      if (function.name == word) return ReadCall(function, column);
    }
    if (word == "pi") return Push(Do::kNumber, column, kPi);
    if (Take('(')) return Fail(fmt::format("{} is not a function", word), column);
    const auto known = std::find(made_.names_.begin(), made_.names_.end(), word);
    const auto index = static_cast<std::size_t>(known - made_.names_.begin());
    if (known == made_.names_.end()) {
      made_.names_.emplace_back(word);
      made_.name_columns_.push_back(column);
    }
    Push(Do::kName, column, 0, index);
  }
  void ReadCall(const Function& function, int column) {
    if (!Take('(')) return Fail(fmt::format("{} stands without its parenthesis", function.name));
    std::size_t count = 0;
    do {
      ReadSum();
      ++count;
    } while (!fault_ && Take(','));
    if (!fault_ && !Take(')')) return Fail("a parenthesis is not closed");
    const bool many = function.what == Do::kMin || function.what == Do::kMax;
    if (!many && count != 1) return Fail(fmt::format("{} takes one value", function.name), column);
    Push(function.what, column, 0, count);
    last_ = Literal::kNone;
  }

  std::string_view text_;
  LengthUnit bare_;
  std::size_t at_ = 0;
  int depth_ = 0;
  Literal last_ = Literal::kNone;
  Expression made_;
  std::optional<Error> fault_;
};

Result<Expression> Expression::Parse(std::string_view text, LengthUnit bare) {
  return ExpressionParser(text, bare).Run();
}

Error Expression::Wrong(ErrorCode code, int column, std::string message, std::string remedy) const {
  Error error{
      code, fmt::format("{} (character {})", message, column), text_, std::move(remedy), {}};
  error.where.column = column;
  return error;
}

Result<double> Expression::Evaluate(std::span<const double> values) const {
  FW_CHECK(values.size() == names_.size(), values.size(), names_.size());
  std::vector<double> stack;
  for (const Step& step : steps_) {
    if (step.what == Do::kName) {
      stack.push_back(values[step.count]);
      continue;
    }
    const auto value = Apply(step, stack);
    if (!value) return value;
    if (!std::isfinite(*value)) {
      return Unexpected(Wrong(ErrorCode::kNotFinite, step.column,
                              "the value is not a finite number",
                              "look for a slip in the numbers"));
    }
    stack.push_back(*value);
  }
  FW_CHECK(stack.size() == 1, stack.size());
  return stack.front() == 0 ? 0.0 : stack.front();
}

// The first operand is the row below the last; the answer takes its place.
void Expression::ApplyMany(const Step& step, Rows& stack, std::span<std::uint8_t> known) {
  std::vector<double> b = std::move(stack.back());
  stack.pop_back();
  const std::size_t n = b.size();
  const auto each = [&](const auto& reckon) {
    for (double& x : b) x = reckon(x);
    stack.push_back(std::move(b));
  };
  const auto both = [&](const auto& reckon) {
    std::vector<double>& a = stack.back();
    for (std::size_t k = 0; k < n; ++k) a[k] = reckon(a[k], b[k]);
  };
  const auto require = [&](const auto& holds) {
    for (std::size_t k = 0; k < n; ++k) known[k] = known[k] != 0 && holds(b[k]) ? 1 : 0;
  };
  switch (step.what) {
    case Do::kAdd:
      return both([](double x, double y) { return x + y; });
    case Do::kSubtract:
      return both([](double x, double y) { return x - y; });
    case Do::kMultiply:
      return both([](double x, double y) { return x * y; });
    case Do::kDivide:
      require([](double y) { return y != 0; });
      return both([](double x, double y) { return x / y; });
    case Do::kPower:
      return both([](double x, double y) { return y == 2 ? x * x : std::pow(x, y); });
    case Do::kNegate:
      return each([](double x) { return -x; });
    case Do::kSqrt:
      return each([](double x) { return std::sqrt(x); });
    case Do::kSin:
      return each([](double x) { return std::sin(x * kRadPerDeg); });
    case Do::kCos:
      return each([](double x) { return std::cos(x * kRadPerDeg); });
    case Do::kTan:
      return each([](double x) { return std::tan(x * kRadPerDeg); });
    case Do::kAtan:
      return each([](double x) { return std::atan(x) / kRadPerDeg; });
    case Do::kAbs:
      return each([](double x) { return std::abs(x); });
    case Do::kMin:
    case Do::kMax:
      stack.push_back(std::move(b));
      for (std::size_t i = 1; i < step.count; ++i) {
        b = std::move(stack.back());
        stack.pop_back();
        both([&](double x, double y) {
          return step.what == Do::kMin ? std::min(y, x) : std::max(y, x);
        });
      }
      return;
    case Do::kNumber:
    case Do::kName:
      break;
  }
  FW_CHECK(false, "a step without a meaning");
}

void Expression::EvaluateMany(std::span<const double* const> names, std::span<double> out,
                              std::span<std::uint8_t> known) const {
  FW_CHECK(names.size() == names_.size() && known.size() == out.size(), names.size(),
           names_.size());
  std::fill(known.begin(), known.end(), std::uint8_t{1});
  Rows stack;
  for (const Step& step : steps_) {
    if (step.what == Do::kName) {
      stack.emplace_back(names[step.count], names[step.count] + out.size());
      continue;
    }
    if (step.what == Do::kNumber) {
      stack.emplace_back(out.size(), step.number);
    } else {
      ApplyMany(step, stack, known);
    }
    for (std::size_t k = 0; k < out.size(); ++k)
      known[k] = known[k] != 0 && std::isfinite(stack.back()[k]) ? 1 : 0;
  }
  FW_CHECK(stack.size() == 1, stack.size());
  std::copy(stack.front().begin(), stack.front().end(), out.begin());
}

// Takes the step's operands off the stack.
Result<double> Expression::Apply(const Step& step, std::vector<double>& stack) const {
  const auto take = [&stack] {
    const double value = stack.back();
    stack.pop_back();
    return value;
  };
  if (step.what == Do::kNumber) return step.number;
  const double b = take();
  switch (step.what) {
    case Do::kAdd:
      return take() + b;
    case Do::kSubtract:
      return take() - b;
    case Do::kMultiply:
      return take() * b;
    case Do::kDivide:
      if (b != 0) return take() / b;
      return Unexpected(Wrong(ErrorCode::kDivisionByZero, step.column, "this divides by nothing",
                              "mend what stands behind the stroke"));
    case Do::kPower: {
      const double power = std::pow(take(), b);
      if (!std::isnan(power)) return power;
      return Unexpected(Wrong(ErrorCode::kOutOfRange, step.column, "this power is no real number",
                              "a number below zero takes whole powers only"));
    }
    case Do::kNegate:
      return -b;
    case Do::kSqrt:
      if (b >= 0) return std::sqrt(b);
      return Unexpected(Wrong(ErrorCode::kOutOfRange, step.column,
                              "this is the root of a number below zero",
                              "mend what stands in the parentheses"));
    case Do::kSin:
      return std::sin(b * kRadPerDeg);
    case Do::kCos:
      return std::cos(b * kRadPerDeg);
    case Do::kTan:
      return std::tan(b * kRadPerDeg);
    case Do::kAtan:
      return std::atan(b) / kRadPerDeg;
    case Do::kAbs:
      return std::abs(b);
    case Do::kMin:
    case Do::kMax: {
      double chosen = b;
      for (std::size_t i = 1; i < step.count; ++i) {
        const double other = take();
        chosen = step.what == Do::kMin ? std::min(chosen, other) : std::max(chosen, other);
      }
      return chosen;
    }
    case Do::kNumber:
    case Do::kName:
      break;
  }
  FW_CHECK(false, "a step without a meaning");
  return 0.0;
}

bool CanBeNamedInExpression(std::string_view text) {
  const auto read = Expression::Parse(text);
  return read && read->names().size() == 1 && read->names().front() == text;
}

Result<double> Evaluate(const Expression& expression,
                        const std::function<std::optional<double>(std::string_view)>& find) {
  std::vector<double> values;
  for (std::size_t i = 0; i < expression.names().size(); ++i) {
    const std::string& name = expression.names()[i];
    const auto value = find(name);
    if (!value) {
      Error error{ErrorCode::kUnknownName,
                  fmt::format("{} is not known here (character {})", name, expression.ColumnOf(i)),
                  name,
                  "",
                  {}};
      error.where.column = expression.ColumnOf(i);
      return Unexpected(std::move(error));
    }
    values.push_back(*value);
  }
  return expression.Evaluate(values);
}

}  // namespace fitwright
