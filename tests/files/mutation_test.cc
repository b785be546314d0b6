// Random edits of a sound project: none crashes the reader, and none is accepted in silence. An
// edit is refused, or changes what the project says, or is one of the rewritings that mean the
// same.
#include <gtest/gtest.h>

#define TOML_HEADER_ONLY 0  // NOLINT: the library is compiled
#include <toml++/toml.h>

#include <cctype>
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <limits>

#include "fitwright/files/project.h"
#include "fitwright/trade/materials.h"
#include "fitwright/trade/threads.h"
#include "fitwright/units/expression.h"
#include "fitwright/units/length.h"
#include "tests/files/describe.h"
#include "tests/files/full_machine.h"
#include "tests/files/sample_project.h"
#include "tests/files/sample_vocabulary.h"

namespace fitwright::files_test {
namespace {

// FITWRIGHT_DEEP=1 in the environment: ten thousand.
int Mutations() { return std::getenv("FITWRIGHT_DEEP") == nullptr ? 1'000 : 10'000; }
constexpr std::uint64_t kSeed = 20240607;
// Two ways of writing one length differ by a few roundings.
constexpr double kSameLength_mm = 1e-9;

// Sebastiano Vigna's SplitMix64 step (public domain).
class Random {
 public:
  explicit Random(std::uint64_t seed) : state_(seed) {}
  std::uint64_t Next() {
    state_ += 0x9e3779b97f4a7c15ULL;
    std::uint64_t z = state_;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ULL;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebULL;
    return z ^ (z >> 31);
  }
  std::size_t Below(std::size_t count) { return static_cast<std::size_t>(Next() % count); }

 private:
  std::uint64_t state_;
};

std::vector<std::string> Lines(const std::string& text) {
  std::vector<std::string> lines(1);
  for (const char c : text) {
    if (c == '\n') {
      lines.emplace_back();
    } else {
      lines.back() += c;
    }
  }
  return lines;
}

std::string Joined(const std::vector<std::string>& lines) {
  std::string text;
  for (std::size_t i = 0; i < lines.size(); ++i) text += (i > 0 ? "\n" : "") + lines[i];
  return text;
}

// Runs of characters that satisfy `in`, as (begin, length).
template <typename In>
std::vector<std::pair<std::size_t, std::size_t>> Runs(const std::string& text, In in) {
  std::vector<std::pair<std::size_t, std::size_t>> runs;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (!in(text[i])) continue;
    if (runs.empty() || runs.back().first + runs.back().second != i) runs.emplace_back(i, 0);
    ++runs.back().second;
  }
  return runs;
}

bool IsWord(char c) { return std::isalpha(static_cast<unsigned char>(c)) != 0 || c == '_'; }
bool IsNumber(char c) { return std::isdigit(static_cast<unsigned char>(c)) != 0 || c == '.'; }

std::string MutateBytes(std::string text, Random& random) {
  const std::size_t at = random.Below(text.size());
  switch (random.Below(5)) {
    case 0:
      text[at] = static_cast<char>(random.Below(256));
      break;
    case 1:
      text.erase(at, 1 + random.Below(8));
      break;
    case 2:
      text.insert(at, 1, static_cast<char>(random.Below(256)));
      break;
    case 3:
      text.insert(at, 1, static_cast<char>(' ' + random.Below(95)));
      break;
    default:
      text.resize(at);
      break;
  }
  return text;
}

std::string MutateLines(const std::string& text, Random& random) {
  std::vector<std::string> lines = Lines(text);
  const std::size_t a = random.Below(lines.size());
  const std::size_t b = random.Below(lines.size());
  const auto place = lines.begin() + static_cast<std::ptrdiff_t>(a);
  switch (random.Below(4)) {
    case 0:
      lines.erase(place);
      break;
    case 1:
      lines.insert(place, std::string(lines[a]));
      break;
    case 2:
      std::swap(lines[a], lines[b]);
      break;
    default: {  // the value of another line
      const std::size_t mine = lines[a].find('=');
      const std::size_t other = lines[b].find('=');
      if (mine != std::string::npos && other != std::string::npos) {
        lines[a] = lines[a].substr(0, mine) + lines[b].substr(other);
      }
      break;
    }
  }
  return Joined(lines);
}

std::string MutateWord(const std::string& text, Random& random) {
  const auto words = Runs(text, IsWord);
  const auto [at, length] = words[random.Below(words.size())];
  const auto [other, other_length] = words[random.Below(words.size())];
  return text.substr(0, at) + text.substr(other, other_length) + text.substr(at + length);
}

std::string MutateNumber(const std::string& text, Random& random) {
  const auto numbers = Runs(text, IsNumber);
  const auto [at, length] = numbers[random.Below(numbers.size())];
  static const std::vector<std::string> kOthers{
      "0",    "-1",       "1e9",        "1e400", "nan", "inf", "25.4", "1/2",
      "true", "\"3 mm\"", "\"1/8 in\"", "[]",    "{}",  "1.0", "12",   "7.5"};
  return text.substr(0, at) + kOthers[random.Below(kOthers.size())] + text.substr(at + length);
}

std::string Mutate(const std::string& text, Random& random) {
  switch (random.Below(4)) {
    case 0:
      return MutateBytes(text, random);
    case 1:
      return MutateLines(text, random);
    case 2:
      return MutateWord(text, random);
    default:
      return MutateNumber(text, random);
  }
}

// --- the rewritings that mean the same
// ------------------------------------------------------------

std::optional<double> LengthIn(const toml::node& node) {
  if (const auto number = node.value<double>()) return number;
  const auto text = node.value<std::string>();
  if (!text) return std::nullopt;
  const auto length_mm = ParseLength_mm(*text, LengthUnit::kMillimetre);
  return length_mm ? std::optional(*length_mm) : std::nullopt;
}

// Two calculations of one value, whatever their names stand for; two ratios that are alike.
bool SameCalculation(const std::string& a, const std::string& b) {
  const auto value = [](const std::string& text) {
    const auto read = Expression::Parse(text, LengthUnit::kInch);
    if (!read) return std::numeric_limits<double>::quiet_NaN();
    const auto result = Evaluate(*read, [](std::string_view name) {
      double number = 1.375;
      for (const char c : name) number = std::fmod(number * 1.618 + c, 97.0);
      return number;
    });
    return result ? *result : std::numeric_limits<double>::quiet_NaN();
  };
  if (std::abs(value(a) - value(b)) < kSameLength_mm) return true;
  const std::size_t colon_a = a.find(':');
  const std::size_t colon_b = b.find(':');
  return colon_a != std::string::npos && colon_b != std::string::npos &&
         SameCalculation(a.substr(0, colon_a) + "/" + a.substr(colon_a + 1),
                         b.substr(0, colon_b) + "/" + b.substr(colon_b + 1));
}

bool SameMeaning(const toml::node& a, const toml::node& b, std::string_view key);

// One copy is what a part without a quantity means, and limits without a diameter mean their middle
// (docs/FORMATS.md).
bool IsPlainDefault(std::string_view key, const toml::node& node, const toml::table& beside) {
  if (key == "quantity") return node.value<std::int64_t>() == 1;
  const toml::array* limits = beside["limits"].as_array();
  if (key != "diameter" || limits == nullptr || limits->size() != 2) return false;
  const auto nominal = LengthIn(node);
  const auto lower = LengthIn((*limits)[0]);
  const auto upper = LengthIn((*limits)[1]);
  return nominal && lower && upper && std::abs(*nominal - 0.5 * (*lower + *upper)) < kSameLength_mm;
}

bool SameTable(const toml::table& a, const toml::table& b) {
  for (const auto& [key, node] : a) {
    const toml::node* other = b.get(key.str());
    if (other == nullptr ? !IsPlainDefault(key.str(), node, a)
                         : !SameMeaning(node, *other, key.str())) {
      return false;
    }
  }
  for (const auto& [key, node] : b) {
    if (a.get(key.str()) == nullptr && !IsPlainDefault(key.str(), node, b)) return false;
  }
  return true;
}

bool SameMeaning(const toml::node& a, const toml::node& b, std::string_view key) {
  if (a.is_table() && b.is_table()) return SameTable(*a.as_table(), *b.as_table());
  if (a.is_array() && b.is_array()) {
    const auto& list_a = *a.as_array();
    const auto& list_b = *b.as_array();
    if (list_a.size() != list_b.size()) return false;
    for (std::size_t i = 0; i < list_a.size(); ++i) {
      if (!SameMeaning(list_a[i], list_b[i], key)) return false;
    }
    return true;
  }
  if (a.is_boolean() || b.is_boolean()) {
    return a.is_boolean() && b.is_boolean() && a.value<bool>() == b.value<bool>();
  }
  const auto length_a = LengthIn(a);
  const auto length_b = LengthIn(b);
  if (length_a && length_b) {
    const double turn = key == "first" || key == "turn" ? 360.0 : 0.0;
    const double apart = std::abs(*length_a - *length_b);
    return apart < kSameLength_mm || (turn > 0 && std::abs(apart - turn) < kSameLength_mm);
  }
  const auto text_a = a.value<std::string>();
  const auto text_b = b.value<std::string>();
  if (!text_a || !text_b) return false;
  if (key == "material") return trade::FindMaterial(*text_a) == trade::FindMaterial(*text_b);
  if (SameCalculation(*text_a, *text_b)) return true;
  if (key == "thread") return trade::FindThread(*text_a) == trade::FindThread(*text_b);
  return *text_a == *text_b;
}

bool SameFile(const std::string& a, const std::string& b) {
  try {
    return SameTable(toml::parse(std::string_view(a)), toml::parse(std::string_view(b)));
  } catch (const toml::parse_error&) {
    return false;
  }
}

class Mutation : public ::testing::Test {
 protected:
  // What the folder reads as; empty when it is refused.
  std::string Read() {
    Diagnostics faults;
    const auto project = files::LoadProject(folder_.path(), {}, faults);
    EXPECT_EQ(project.has_value(), faults.empty());
    for (const Error& fault : faults.errors()) {
      EXPECT_FALSE(fault.message.empty()) << Format(fault);
      EXPECT_FALSE(fault.remedy.empty()) << Format(fault);
      EXPECT_FALSE(fault.where.file.empty()) << Format(fault);
    }
    return project ? Describe(*project) : std::string();
  }

  explicit Mutation(Texts texts = SampleProject()) : texts_(std::move(texts)) {}
  // Edits these files of the project one at a time.
  void Run(const std::vector<std::string>& files);

  const Texts texts_;
  const ProjectFolder folder_{texts_};
};

void Mutation::Run(const std::vector<std::string>& files) {
  const std::string original = Read();
  ASSERT_FALSE(original.empty());
  Random random(kSeed);
  const int count = Mutations();
  int refused = 0;
  int changed = 0;
  int same = 0;
  for (int i = 0; i < count; ++i) {
    const std::string& file = files[random.Below(files.size())];
    const std::string& text = texts_.at(file);
    const std::string mutated = Mutate(text, random);
    folder_.Write(file, mutated);
    const std::string now = Read();
    ASSERT_EQ(ReadAll(folder_.path() / file), mutated) << "the file was written";
    if (now.empty()) {
      ++refused;
    } else if (now != original) {
      ++changed;
    } else {
      ++same;
      EXPECT_TRUE(SameFile(text, mutated))
          << "mutation " << i << " of " << file << " is accepted in silence:\n"
          << mutated;
    }
    folder_.Write(file, text);
  }
  EXPECT_EQ(folder_.Snapshot().size(), texts_.size() + 1) << "files were left behind";  // + parts
  std::printf("of %d mutations %d refused, %d read as another project, %d mean the same\n",
              count, refused, changed, same);
  EXPECT_GT(refused, count / 4);
  EXPECT_GT(changed, count / 50);
}

TEST_F(Mutation, NoneCrashesAndNoneIsAcceptedInSilence) {
  std::vector<std::string> files;
  for (const auto& [file, text] : texts_) files.push_back(file);
  Run(files);
}

class VocabularyMutation : public Mutation {
 protected:
  VocabularyMutation() : Mutation(VocabularyProject()) {}
};
TEST_F(VocabularyMutation, NoneCrashesAndNoneIsAcceptedInSilence) {
  Run({"parts/shaft.toml", "parts/lever.toml"});
}

class FullMutation : public Mutation {
 protected:
  FullMutation() : Mutation(FullProject()) {}
};
TEST_F(FullMutation, NoneCrashesAndNoneIsAcceptedInSilence) { Run({"machine.toml"}); }

}  // namespace
}  // namespace fitwright::files_test
