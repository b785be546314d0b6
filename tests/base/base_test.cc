#include <gtest/gtest.h>

#include <atomic>
#include <numeric>
#include <set>
#include <string>
#include <thread>
#include <vector>

#include "fitwright/base/diagnostics.h"
#include "fitwright/base/hash.h"
#include "fitwright/base/id.h"
#include "fitwright/base/parallel.h"
#include "fitwright/base/result.h"
#include "fitwright/base/words.h"

namespace fitwright {
namespace {

enum class Colour { kRed, kBlue };

}  // namespace

template <>
struct WordsOf<Colour> {
  static constexpr auto kAll = std::to_array<Word<Colour>>({{Colour::kRed, "red"}, {Colour::kBlue, "blue"}});
};

namespace {

Error SomeError() {
  Error error;
  error.code = ErrorCode::kUnknownKey;
  error.message = "no such key";
  error.value = "diametr";
  error.remedy = "did you mean diameter";
  error.where = {"parts/body.toml", 12, 3, "feature[2].diametr"};
  return error;
}

TEST(Result, HoldsAValueOrAnError) {
  const Result<int> good = 7;
  ASSERT_TRUE(good);
  EXPECT_EQ(*good, 7);
  const Result<int> bad = Unexpected(SomeError());
  ASSERT_FALSE(bad);
  EXPECT_EQ(bad.error().code, ErrorCode::kUnknownKey);
}

TEST(Result, AskingAnErrorForItsValueStopsTheProgram) {
  const Result<int> bad = Unexpected(SomeError());
  EXPECT_DEATH((void)bad.value(), "no such key");
}

TEST(Error, NamesFileLineKeyValueAndRemedy) {
  const std::string text = Format(SomeError());
  for (const char* piece : {"parts/body.toml:12", "feature[2].diametr", "no such key", "did you mean diameter", "unknown_key"}) {
    EXPECT_NE(text.find(piece), std::string::npos) << piece << " in " << text;
  }
}

TEST(Error, EveryCodeHasItsOwnNameAndASensibleStatus) {
  std::set<std::string_view> names;
  int codes = 0;
#define FW_ERROR(name, text, exit_status, http_status)                                   \
  names.insert(NameOf(ErrorCode::name));                                                 \
  ++codes;                                                                               \
  EXPECT_GT(ExitStatusOf(ErrorCode::name), 0);                                           \
  EXPECT_GE(HttpStatusOf(ErrorCode::name), 400);
#include "fitwright/base/error_codes.inc"
#undef FW_ERROR
  EXPECT_EQ(names.size(), static_cast<std::size_t>(codes));
}

TEST(Diagnostics, KeepsTheFirstFiftyAndCountsTheRest) {
  Diagnostics faults;
  for (int i = 0; i < 63; ++i) faults.Add(SomeError());
  EXPECT_EQ(faults.errors().size(), 50U);
  EXPECT_EQ(faults.count(), 63U);
  EXPECT_EQ(faults.count_not_shown(), 13U);
}

TEST(StableHash, IsTheSameOnEveryMachine) {
  // Recorded once from this implementation: a change would break saved plans and random streams.
  EXPECT_EQ(StableHash("edge_finder"), 0x3d3448793f3c9968ULL);
  EXPECT_NE(StableHash("edge_finder"), StableHash("edge_findes"));
  EXPECT_NE(StableHash("a", 1), StableHash("a", 2));
}

// Calls within bodies, from several threads at once: each has its own count, and none waits for another's.
TEST(ParallelFor, CallsWithinBodiesAreDoneToo) {
  for (const int threads : {0, 1, 3}) {
    std::atomic<int> done{0};
    const auto outer = [&] {
      ParallelFor(20, threads, [&](std::size_t) { ParallelFor(30, threads, [&](std::size_t) { ++done; }); });
    };
    std::thread other(outer);
    outer();
    other.join();
    EXPECT_EQ(done, 2 * 20 * 30) << threads;
  }
}

TEST(ParallelFor, RunsEachIndexOnceForAnyThreadCount) {
  for (const int threads : {1, 2, 8}) {
    std::vector<int> hits(1000, 0);
    ParallelFor(hits.size(), threads, [&](std::size_t i) { hits[i] += 1; });
    EXPECT_EQ(std::accumulate(hits.begin(), hits.end(), 0), 1000);
    EXPECT_EQ(*std::max_element(hits.begin(), hits.end()), 1);
  }
}

TEST(Words, GoBothWays) {
  EXPECT_EQ(WordOf(Colour::kBlue), "blue");
  EXPECT_EQ(EnumOf<Colour>("red"), Colour::kRed);
  EXPECT_FALSE(EnumOf<Colour>("green"));
}

TEST(Id, OrdersByText) {
  using Name = Id<struct NameTag>;
  const std::vector<std::string> texts = {"", "a", "a\x01", "b", "disc", "disc#2", "housing_bore", "housing_bored", "housing_bores", "\xc3\xa9"};
  for (std::size_t i = 0; i < texts.size(); ++i) {
    for (std::size_t k = 0; k < texts.size(); ++k) {
      EXPECT_EQ(Name(texts[i]) <=> Name(texts[k]), texts[i] <=> texts[k]) << texts[i] << " " << texts[k];
      EXPECT_EQ(Name(texts[i]) == Name(texts[k]), i == k);
    }
    EXPECT_EQ(Name(texts[i]).text(), texts[i]);
  }
  EXPECT_TRUE(Name().empty());
  EXPECT_EQ(Name(), Name(""));
}

TEST(Id, OneTextIsOneIdWhoeverAsks) {
  using Name = Id<struct NameTag>;
  constexpr std::size_t kTexts = 2000;
  std::vector<std::vector<Name>> made(4);
  std::vector<std::thread> threads;
  for (std::vector<Name>& names : made) {
    threads.emplace_back([&names] {
      for (std::size_t i = 0; i < kTexts; ++i) names.emplace_back("asked for by many " + std::to_string(i));
    });
  }
  for (std::thread& thread : threads) thread.join();
  for (const std::vector<Name>& names : made) EXPECT_EQ(names, made.front());
  EXPECT_EQ(std::set<Name>(made.front().begin(), made.front().end()).size(), kTexts);
}

}  // namespace
}  // namespace fitwright
