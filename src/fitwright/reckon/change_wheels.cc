#include "fitwright/reckon/change_wheels.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

namespace fitwright::reckon {
namespace {

// Ratios nearer than this to each other are one.
constexpr double kAlike = 1e-12;

struct Pair {
  int driver = 0;
  int driven = 0;
};

bool Clears(const Pair& first, const Pair& second) {
  return first.driver + first.driven >= second.driver + kClearTeeth &&
         second.driver + second.driven >= first.driven + kClearTeeth;
}

bool InTheSet(const WheelTrain& train, const std::map<int, int>& at_hand) {
  std::map<int, int> used;
  for (const int wheel :
       {train.first_driver, train.first_driven, train.second_driver, train.second_driven}) {
    if (wheel != 0) ++used[wheel];
  }
  return std::all_of(used.begin(), used.end(),
                     [&](const auto& use) { return at_hand.at(use.first) >= use.second; });
}

struct Judged {
  WheelTrain train;
  double off = 0;
};

bool Before(const Judged& a, const Judged& b) {
  if (std::abs(a.off - b.off) > kAlike) return a.off < b.off;
  const auto key = [](const WheelTrain& t) {
    return std::tuple(t.compound(),
                      t.first_driver + t.first_driven + t.second_driver + t.second_driven,
                      t.first_driver, t.first_driven, t.second_driver);
  };
  return key(a.train) < key(b.train);
}

// Keeps the best few, best first.
void Keep(std::vector<Judged>& best, const Judged& one, std::size_t count) {
  const auto at = std::upper_bound(best.begin(), best.end(), one, Before);
  if (at == best.end() && best.size() >= count) return;
  best.insert(at, one);
  if (best.size() > count) best.pop_back();
}

}  // namespace

double WheelTrain::Ratio() const {
  const double first = static_cast<double>(first_driver) / first_driven;
  return compound() ? first * second_driver / second_driven : first;
}

std::vector<WheelTrain> FindTrains(double ratio, const std::vector<int>& wheels,
                                   std::size_t count) {
  std::map<int, int> at_hand;
  for (const int wheel : wheels) ++at_hand[wheel];
  std::vector<Pair> pairs;
  for (const auto& [driver, many] : at_hand) {
    for (const auto& [driven, more] : at_hand) {
      if (driver != driven || many > 1) pairs.push_back({driver, driven});
    }
  }
  std::vector<Judged> best;
  const auto judge = [&](const WheelTrain& train) {
    const double off = std::abs(train.Ratio() / ratio - 1);
    if (best.size() >= count && off > best.back().off + kAlike) return;
    if (InTheSet(train, at_hand)) Keep(best, {train, off}, count);
  };
  for (const Pair& p : pairs) judge({p.driver, p.driven, 0, 0});
  for (const Pair& p : pairs) {
    for (const Pair& q : pairs) {
      // A train with its drivers changed about, or its driven, is the same ratio: take it once, in
      // the order that clears if there is one.
      if (p.driver > q.driver) continue;
      const bool apart = p.driver != p.driven && q.driver != q.driven && p.driver != q.driven &&
                         p.driven != q.driver;
      if (!apart) continue;
      if (Clears(p, q)) {
        judge({p.driver, p.driven, q.driver, q.driven});
      } else if (Clears(q, p)) {
        judge({q.driver, q.driven, p.driver, p.driven});
      }
    }
  }
  std::vector<WheelTrain> trains;
  for (const Judged& one : best) trains.push_back(one.train);
  return trains;
}

}  // namespace fitwright::reckon
