// The catalogue as a whole: names, inputs, what is refused, and what is printed.
#include "fitwright/reckon/catalogue.h"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <fstream>
#include <set>
#include <sstream>

#include "fitwright/sheets/reckoned_sheet.h"

namespace fitwright::reckon {
namespace {

std::vector<std::string> Words(const std::string& text) {
  std::istringstream in(text);
  std::vector<std::string> words;
  for (std::string word; in >> word;) words.push_back(word);
  return words;
}

Result<std::string> Printed(const std::string& what, const std::vector<std::string>& values,
                            LengthUnit unit) {
  const auto reckoning = FindReckoning(what);
  if (!reckoning) return Unexpected(reckoning.error());
  const auto given = ReadGiven(**reckoning, values, unit);
  if (!given) return Unexpected(given.error());
  const auto reckoned = (*reckoning)->calc(*given);
  if (!reckoned) return Unexpected(reckoned.error());
  return sheets::ReckonedText(**reckoning, *given, *reckoned, {100, false});
}

Error RefusalOf(const std::string& what, const std::string& values,
                LengthUnit unit = LengthUnit::kMillimetre) {
  const auto answer = Printed(what, Words(values), unit);
  return answer ? Error{} : answer.error();
}

TEST(Catalogue, NamesAreOncePurposesAreSentencesExamplesWork) {
  std::set<std::string_view> names;
  for (const Reckoning& one : Reckonings()) {
    EXPECT_TRUE(names.insert(one.name).second) << one.name;
    EXPECT_EQ(one.purpose.back(), '.') << one.name;
    const auto given = ReadGiven(one, Words(std::string(one.example)), LengthUnit::kMillimetre);
    ASSERT_TRUE(given.has_value()) << one.name << ": " << Format(given.error());
    const auto reckoned = one.calc(*given);
    ASSERT_TRUE(reckoned.has_value()) << one.name << ": " << Format(reckoned.error());
    EXPECT_FALSE(reckoned->lines.empty() && reckoned->tables.empty()) << one.name;
    EXPECT_FALSE(reckoned->source.empty()) << one.name;
    for (const Line& line : reckoned->lines) {
      if (const double* number = std::get_if<double>(&line.value)) {
        EXPECT_TRUE(std::isfinite(*number)) << one.name << ": " << line.label;
      }
    }
    for (const Table& table : reckoned->tables) {
      for (const auto& row : table.rows) EXPECT_EQ(row.size(), table.columns.size()) << one.name;
    }
  }
}

void ExpectSameRows(const Table& a, const Table& b, std::string_view name) {
  ASSERT_EQ(a.rows.size(), b.rows.size()) << name << ": " << a.title;
  for (std::size_t row = 0; row < a.rows.size(); ++row) {
    for (std::size_t i = 0; i < a.columns.size(); ++i) {
      const double* x = std::get_if<double>(&a.rows[row][i]);
      const double* y = std::get_if<double>(&b.rows[row][i]);
      ASSERT_EQ(x == nullptr, y == nullptr) << name << ": " << a.title;
      if (x == nullptr) continue;
      EXPECT_NEAR(*x, *y, 1e-6 * (1 + std::abs(*x))) << name << ": " << a.columns[i].head;
      // And as it is printed: the inch figure times 25.4 is the metric one to their last places.
      const Kind kind = a.columns[i].kind;
      if (kind != Kind::kLength && kind != Kind::kFine) continue;
      const double mm = std::stod(Show(kind, *x, LengthUnit::kMillimetre).text);
      const double inch = std::stod(Show(kind, *y, LengthUnit::kInch).text);
      const double places = kind == Kind::kFine ? 0.1 : 1;
      EXPECT_NEAR(mm, 25.4 * inch, places * (0.000501 + 25.4 * 0.0000501)) << name;
    }
  }
}

TEST(Catalogue, TheSameInInchesToRounding) {
  for (const Reckoning& one : Reckonings()) {
    const auto mm = ReadGiven(one, Words(std::string(one.example)), LengthUnit::kMillimetre);
    ASSERT_TRUE(mm.has_value());
    std::vector<std::string> in_inches;
    for (const GivenValue& value : mm->values()) {
      const Kind kind = value.input->kind;
      std::string text = value.word;
      if (kind == Kind::kLengths) {
        text.clear();
        for (const double v : value.list)
          text += (text.empty() ? "" : ",") + std::to_string(v) + "mm";
      } else if (kind != Kind::kWord && kind != Kind::kCounts && kind != Kind::kNumbers) {
        const Shown shown = Show(kind, value.number, LengthUnit::kInch);
        std::ostringstream out;
        out.precision(17);
        out << shown.value;
        text = out.str();
      }
      in_inches.push_back(std::string(value.input->name) + "=" + text);
    }
    const auto inch = ReadGiven(one, in_inches, LengthUnit::kInch);
    ASSERT_TRUE(inch.has_value()) << one.name << ": " << Format(inch.error());
    const auto a = one.calc(*mm);
    const auto b = one.calc(*inch);
    ASSERT_TRUE(a.has_value() && b.has_value()) << one.name;
    ASSERT_EQ(a->lines.size(), b->lines.size()) << one.name;
    for (std::size_t i = 0; i < a->lines.size(); ++i) {
      const double* x = std::get_if<double>(&a->lines[i].value);
      const double* y = std::get_if<double>(&b->lines[i].value);
      ASSERT_EQ(x == nullptr, y == nullptr) << one.name;
      if (x != nullptr) {
        EXPECT_NEAR(*x, *y, 1e-6 * (1 + std::abs(*x))) << one.name << ": " << a->lines[i].label;
      }
    }
    ASSERT_EQ(a->tables.size(), b->tables.size()) << one.name;
    for (std::size_t t = 0; t < a->tables.size(); ++t) {
      ExpectSameRows(a->tables[t], b->tables[t], one.name);
    }
  }
}

TEST(Catalogue, RefusalsSayWhatAndWhatWouldDo) {
  const Error name = RefusalOf("bolt-cirle", "diameter=60");
  EXPECT_EQ(name.code, ErrorCode::kUnknownWord);
  EXPECT_NE(name.remedy.find("bolt-circle"), std::string::npos);
  const Error input = RefusalOf("bolt-circle", "diametre=60 holes=6");
  EXPECT_EQ(input.code, ErrorCode::kUnknownName);
  EXPECT_NE(input.remedy.find("diameter"), std::string::npos);
  EXPECT_EQ(RefusalOf("bolt-circle", "diameter=60").code, ErrorCode::kMissingKey);
  EXPECT_EQ(RefusalOf("bolt-circle", "diameter").code, ErrorCode::kUsage);
  EXPECT_EQ(RefusalOf("bolt-circle", "diameter=60 holes=6 holes=7").code,
            ErrorCode::kDuplicateName);
  EXPECT_EQ(RefusalOf("bolt-circle", "diameter=wide holes=6").code, ErrorCode::kBadLength);
  EXPECT_EQ(RefusalOf("bolt-circle", "diameter=60 holes=6.5").code, ErrorCode::kWrongType);
  EXPECT_EQ(RefusalOf("bolt-circle", "diameter=60 holes=6 way=up").code, ErrorCode::kUnknownWord);
  const Error range = RefusalOf("bolt-circle", "diameter=60 holes=1");
  EXPECT_EQ(range.code, ErrorCode::kOutOfRange);
  EXPECT_EQ(range.value, "1");
  EXPECT_EQ(range.where.key, "holes");
  EXPECT_NE(range.message.find("2 to 360"), std::string::npos) << range.message;
  const Error inch = RefusalOf("fit", "size=30 fit=H7", LengthUnit::kInch);
  EXPECT_EQ(inch.code, ErrorCode::kOutOfRange);
  EXPECT_NE(inch.message.find("19.68504 in"), std::string::npos) << inch.message;
}

TEST(Quantity, IsReadWithItsUnitAndShownInEither) {
  EXPECT_NEAR(ReadQuantity(Kind::kLength, "1/2in", LengthUnit::kMillimetre).value(), 12.7, 1e-12);
  EXPECT_NEAR(ReadQuantity(Kind::kLength, "0.5", LengthUnit::kInch).value(), 12.7, 1e-12);
  EXPECT_NEAR(ReadQuantity(Kind::kSurfaceSpeed, "100ft/min", LengthUnit::kMillimetre).value(),
              30.48, 1e-12);
  EXPECT_NEAR(ReadQuantity(Kind::kPower, "1 hp", LengthUnit::kMillimetre).value(), 745.699872,
              1e-6);
  EXPECT_NEAR(ReadQuantity(Kind::kTemperature, "68 degF", LengthUnit::kMillimetre).value(), 20,
              1e-12);
  EXPECT_NEAR(ReadQuantity(Kind::kForce, "1lbf", LengthUnit::kMillimetre).value(), 4.4482216, 1e-7);
  EXPECT_NEAR(ReadQuantity(Kind::kPressure, "1000psi", LengthUnit::kMillimetre).value(), 6.894757,
              1e-6);
  EXPECT_FALSE(ReadQuantity(Kind::kPower, "3 m", LengthUnit::kMillimetre).has_value());
  EXPECT_FALSE(ReadQuantity(Kind::kNumber, "nan", LengthUnit::kMillimetre).has_value());
  EXPECT_EQ(ReadQuantities(Kind::kLengths, "3x120,85.5,1in", LengthUnit::kMillimetre).value(),
            (std::vector<double>{120, 120, 120, 85.5, 25.4}));
  EXPECT_FALSE(ReadQuantities(Kind::kLengths, "501x1", LengthUnit::kMillimetre).has_value());
  EXPECT_FALSE(ReadQuantities(Kind::kLengths, "1,,2", LengthUnit::kMillimetre).has_value());
  EXPECT_EQ(ShowWithUnit(Kind::kLength, 25.4, LengthUnit::kInch), "1.0000 in");
  EXPECT_EQ(ShowWithUnit(Kind::kTemperature, 20, LengthUnit::kInch), "68.0 degF");
}

std::string ReadFile(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  std::stringstream text;
  text << in.rdbuf();
  return text.str();
}

// Every block of docs/RECKON.md that begins with "$ fitwright reckon" holds what the command
// prints.
TEST(Document, ExamplesPrintWhatItSays) {
  const std::string path = std::string(FITWRIGHT_SOURCE_DIR) + "/docs/RECKON.md";
  const std::string text = ReadFile(path);
  const std::string open = "```text\n$ fitwright reckon ";
  std::set<std::string> shown;
  std::string rewritten;
  std::size_t at = 0;
  for (std::size_t next = text.find(open); next != std::string::npos; next = text.find(open, at)) {
    const std::size_t line = next + open.size();
    const std::size_t line_end = text.find('\n', line);
    const std::size_t close = text.find("```", line_end);
    ASSERT_NE(close, std::string::npos);
    auto words = Words(text.substr(line, line_end - line));
    const std::string what = words.front();
    words.erase(words.begin());
    LengthUnit unit = LengthUnit::kMillimetre;
    if (words.size() > 1 && words[words.size() - 2] == "--unit") {
      unit = words.back() == "in" ? LengthUnit::kInch : LengthUnit::kMillimetre;
      words.resize(words.size() - 2);
    }
    const auto answer = Printed(what, words, unit);
    ASSERT_TRUE(answer.has_value()) << what << ": " << Format(answer.error());
    EXPECT_EQ(text.substr(line_end + 1, close - line_end - 1), *answer) << what;
    shown.insert(what);
    rewritten += text.substr(at, line_end + 1 - at) + *answer;
    at = close;
  }
  for (const Reckoning& one : Reckonings()) {
    EXPECT_TRUE(shown.count(std::string(one.name))) << "no worked example of " << one.name;
  }
  if (std::getenv("FITWRIGHT_WRITE_GOLDEN") != nullptr) {
    std::ofstream(path, std::ios::binary) << rewritten + text.substr(at);
  }
}

}  // namespace
}  // namespace fitwright::reckon
