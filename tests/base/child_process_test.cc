#include "fitwright/base/child_process.h"
#include "tests/support/sanitized.h"

#include <gtest/gtest.h>
#include <unistd.h>

#include <chrono>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <stdexcept>
#include <string>
#include <vector>

namespace fitwright {
namespace {

ChildOutcome EndOf(const std::function<std::string()>& work, double seconds = 30) {
  const auto outcome = RunInChild({.seconds = seconds, .memory_mb = 256}, work);
  EXPECT_TRUE(outcome.has_value());
  return *outcome;
}

TEST(Child, GivesWhatItsWorkGaveAndChangesNothingHere) {
  int here = 1;
  const ChildOutcome outcome = EndOf([&] {
    here = 2;
    std::puts("never seen");
    return std::string("a\0b", 3) + std::string(3'000'000, 'x');
  });
  EXPECT_EQ(outcome.end, ChildEnd::kDone);
  EXPECT_EQ(outcome.output.size(), 3'000'003u);
  EXPECT_EQ(outcome.output.substr(0, 4), std::string("a\0bx", 4));
  EXPECT_EQ(here, 1);
  EXPECT_EQ(EndOf([] { return std::string(); }).end, ChildEnd::kDone);
}

TEST(Child, IsStoppedWhenItsTimeIsOver) {
  const auto before = std::chrono::steady_clock::now();
  const ChildOutcome outcome = EndOf(
      []() -> std::string {
        volatile bool forever = true;
        while (forever) {
        }
        return "";
      },
      0.2);
  EXPECT_EQ(outcome.end, ChildEnd::kOutOfTime);
  EXPECT_TRUE(outcome.output.empty());
  EXPECT_LT(std::chrono::steady_clock::now() - before, std::chrono::seconds(20));
}

TEST(Child, CannotTakeMoreMemoryThanGranted) {
#ifdef FITWRIGHT_SANITIZED
  GTEST_SKIP() << "the sanitizer maps far more than any limit before main begins";
#endif
  const ChildOutcome outcome = EndOf([] {
    std::vector<std::string> all;
    for (int i = 0; i < 1000; ++i) all.emplace_back(1 << 20, 'x');
    return std::to_string(all.size());
  });
  EXPECT_EQ(outcome.end, ChildEnd::kOutOfMemory);
}

TEST(Child, DiesAlone) {
  const ChildOutcome killed = EndOf([]() -> std::string {
    std::raise(SIGSEGV);
    return "not reached";
  });
  EXPECT_EQ(killed.end, ChildEnd::kDied);
  EXPECT_EQ(killed.signal, SIGSEGV);
  const ChildOutcome left = EndOf([]() -> std::string { _exit(0); });
  EXPECT_EQ(left.end, ChildEnd::kDied);
  EXPECT_EQ(left.signal, 0);
  const ChildOutcome threw = EndOf([]() -> std::string { throw std::runtime_error("no"); });
  EXPECT_EQ(threw.end, ChildEnd::kDied);
}

}  // namespace
}  // namespace fitwright
