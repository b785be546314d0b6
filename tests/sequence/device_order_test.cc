// Which setups share a mounting of their device.
#include "fitwright/planner/device_order.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <numeric>
#include <optional>
#include <sstream>

#include "fitwright/stats/random.h"

namespace fitwright::planner {
namespace {

Standing On(const std::string& machine, const std::string& device, std::vector<std::size_t> waits_for = {}) {
  return {MachineToolId(machine), HoldingDeviceId(device), std::move(waits_for)};
}

// Mountings of an order; nothing where one is done too early.
std::optional<std::size_t> MountingsOf(const std::vector<Standing>& setups, const std::vector<std::size_t>& order) {
  std::vector<bool> done(setups.size(), false);
  std::map<MachineToolId, HoldingDeviceId> mounted;
  std::size_t mountings = 0;
  for (const std::size_t i : order) {
    const auto& waits = setups[i].waits_for;
    if (!std::all_of(waits.begin(), waits.end(), [&](std::size_t w) { return done[w]; })) return std::nullopt;
    done[i] = true;
    if (setups[i].device.empty() || mounted[setups[i].machine] == setups[i].device) continue;
    mounted[setups[i].machine] = setups[i].device;
    ++mountings;
  }
  return mountings;
}

std::size_t FewestByTryingAll(const std::vector<Standing>& setups) {
  std::vector<std::size_t> order(setups.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::optional<std::size_t> fewest;
  do {
    const auto mountings = MountingsOf(setups, order);
    if (mountings) fewest = std::min(fewest.value_or(*mountings), *mountings);
  } while (std::next_permutation(order.begin(), order.end()));
  return fewest.value();
}

// An order that keeps the turns: the first of the list that may be done, turn by turn on each machine.
std::vector<std::size_t> InTurns(const std::vector<Standing>& setups, const DeviceOrder& found) {
  std::vector<std::size_t> order;
  std::vector<bool> done(setups.size(), false);
  const auto may = [&](std::size_t i) {
    const auto& waits = setups[i].waits_for;
    if (done[i] || !std::all_of(waits.begin(), waits.end(), [&](std::size_t w) { return done[w]; })) return false;
    for (std::size_t j = 0; j < setups.size(); ++j) {
      if (!done[j] && setups[j].machine == setups[i].machine && found.turn[j] < found.turn[i]) return false;
    }
    return true;
  };
  for (bool more = true; more;) {
    more = false;
    for (std::size_t i = 0; i < setups.size() && !more; ++i) {
      if (!may(i)) continue;
      done[i] = more = true;
      order.push_back(i);
    }
  }
  return order;
}

std::vector<Standing> RandomSetups(std::uint64_t seed, std::size_t count) {
  std::uint64_t drawn = 0;
  const auto draw = [&](int below) { return static_cast<int>(below * stats::Uniform(stats::StreamKey(seed, 1), drawn++)); };
  std::vector<Standing> setups;
  for (std::size_t i = 0; i < count; ++i) {
    const int device = draw(4);
    setups.push_back(On(draw(2) == 0 ? "mill" : "lathe", device == 3 ? "" : "device " + std::to_string(device)));
    for (std::size_t b = 0; b < i; ++b) {
      if (draw(4) == 0) setups.back().waits_for.push_back(b);
    }
  }
  return setups;
}

TEST(DeviceOrder, MountsNoMoreOftenThanTheBestOfAllOrders) {
  for (std::uint64_t seed = 0; seed < 120; ++seed) {
    const std::vector<Standing> setups = RandomSetups(seed, 7);
    const DeviceOrder found = FindDeviceOrder(setups);
    EXPECT_EQ(found.mountings, FewestByTryingAll(setups)) << seed;
    EXPECT_EQ(found.fewest, found.mountings) << seed;
    const std::vector<std::size_t> order = InTurns(setups, found);
    ASSERT_EQ(order.size(), setups.size()) << seed;
    EXPECT_EQ(MountingsOf(setups, order), found.mountings) << seed;
  }
}

// Taken as they come ready, the chuck comes off for the vise at once and has to come on again.
TEST(DeviceOrder, LooksFurtherThanTheNextChange) {
  const std::vector<Standing> setups = {On("mill", "vise"), On("mill", "chuck"), On("mill", "vise", {1}), On("mill", "chuck", {1})};
  const DeviceOrder found = FindDeviceOrder(setups);
  EXPECT_EQ(found.mountings, 2U);
  EXPECT_LT(found.turn[1], found.turn[0]);
  EXPECT_EQ(found.turn[1], found.turn[3]);
  EXPECT_EQ(found.turn[0], found.turn[2]);
}

TEST(DeviceOrder, ACircleHasNoTurns) {
  EXPECT_TRUE(FindDeviceOrder({On("mill", "vise", {1}), On("mill", "vise", {0})}).turn.empty());
}

TEST(DeviceOrder, TheMemoAnswersAsTheSearchDoes) {
  DeviceOrderMemo memo;
  const std::vector<Standing> setups = RandomSetups(3, 12);
  const auto first = memo.Find(setups);
  EXPECT_EQ(first->turn, FindDeviceOrder(setups).turn);
  EXPECT_EQ(memo.Find(setups), first);
  EXPECT_NE(memo.Find(RandomSetups(4, 12)), first);
}

std::string Text(const std::filesystem::path& file) {
  std::ifstream in(file);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

// Open lists and permutations are what a search over orders cannot do without.
TEST(SequenceSearch, IsTheOnlySearchOverOrders) {
  std::vector<std::string> searching;
  std::vector<std::string> using_it;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(FITWRIGHT_SOURCE_DIR "/src/fitwright/planner")) {
    if (!entry.is_regular_file()) continue;
    const std::string text = Text(entry.path());
    const auto has = [&](const char* word) { return text.find(word) != std::string::npos; };
    if (has("priority_queue") || has("next_permutation") || has("push_heap")) searching.push_back(entry.path().filename().string());
    if (has("SequenceSearch(policy")) using_it.push_back(entry.path().filename().string());
  }
  EXPECT_EQ(searching, std::vector<std::string>{"sequence_exploration.h"});
  EXPECT_EQ(using_it, std::vector<std::string>{"device_order.cc"});
  const std::string order = Text(FITWRIGHT_SOURCE_DIR "/src/fitwright/planner/order.cc");
  EXPECT_NE(order.find("FindDeviceOrder("), std::string::npos);
}

}  // namespace
}  // namespace fitwright::planner
