#include "fitwright/planner/tried.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/planner/search.h"

namespace fitwright::planner {
namespace {

std::multiset<HoldingDeviceId> DevicesOf(const Route& route) {
  std::multiset<HoldingDeviceId> devices;
  for (const SetupSketch& sketch : route.setups) devices.insert(sketch.device);
  return devices;
}

class Comparer {
 public:
  Comparer(const Subjects& subjects, const Strategy& from, const Strategy& to) : subjects_(subjects), from_(from), to_(to) {}

  Change Run() {
    for (const PatternJoint& p : subjects_.patterns) {
      const PatternChoice& now = to_.patterns.at(p.joint);
      if (from_.patterns.at(p.joint) != now)
        AddTechnique(fmt::format("{}={}{}", p.joint.text(), WordOf(now.technique), now.first), {p.clearance.part, p.tapped.part});
    }
    for (const FlushPair& p : subjects_.flush) {
      if (from_.flush.at(p.requirement) != to_.flush.at(p.requirement))
        AddTechnique(fmt::format("{}={}", p.requirement.text(), WordOf(to_.flush.at(p.requirement))), {p.face.part, p.main_face.part});
    }
    for (const SharedHoles& p : subjects_.shared) {
      if (from_.shared.at(p.subject) != to_.shared.at(p.subject))
        AddTechnique(fmt::format("{}={}", p.subject, WordOf(to_.shared.at(p.subject))), {p.fixed.part, p.moving.part});
    }
    for (const SuitPair& p : subjects_.suits) CompareSuit(p);
    if (from_.own_aims != to_.own_aims) {
      for (const auto& [feature, aim] : to_.own_aims) AddTechnique(KeyOf(feature, aim), {feature.part});
    }
    for (const auto& [part, route] : to_.routes) CompareRoute(part, route);
    return std::move(change_);
  }

 private:
  void AddTechnique(const std::string& words, const std::vector<PartId>& parts) {
    change_.routes_only = false;
    Add(words, parts);
  }

  void Add(const std::string& words, const std::vector<PartId>& parts) {
    change_.key += words + ";";
    change_.parts.insert(parts.begin(), parts.end());
  }

  void CompareSuit(const SuitPair& pair) {
    const auto share = [&](const Strategy& s) {
      const auto found = s.aim_share.find(pair.requirement);
      return found == s.aim_share.end() ? 0.5 : found->second;
    };
    const bool same = from_.suits.at(pair.requirement) == to_.suits.at(pair.requirement) && share(from_) == share(to_);
    if (same) return;
    std::vector<PartId> parts = pair.trial;
    parts.push_back(pair.shaft.part);
    if (!pair.closes) parts.push_back(pair.bore.part);
    AddTechnique(fmt::format("{}={}@{:.2f}", pair.requirement.text(), WordOf(to_.suits.at(pair.requirement)), share(to_)), parts);
  }

  // Where the same sides are cut in the same order only the setups that are held otherwise are named.
  void CompareRoute(const PartId& part, const Route& route) {
    const Route& before = from_.routes.at(part);
    if (before == route) return;
    const bool same_cuts = std::equal(before.setups.begin(), before.setups.end(), route.setups.begin(), route.setups.end(),
                                      [](const SetupSketch& a, const SetupSketch& b) { return a.up_P == b.up_P && a.cuts == b.cuts; });
    std::string words = part.text();
    for (std::size_t i = 0; i < route.setups.size(); ++i) {
      const SetupSketch& sketch = route.setups[i];
      if (!same_cuts || before.setups[i] != sketch) words += "\n " + KeyOf(sketch);
    }
    Add(words, {part});
    change_.same_devices = change_.same_devices && DevicesOf(before) == DevicesOf(route);
  }

  const Subjects& subjects_;
  const Strategy& from_;
  const Strategy& to_;
  Change change_;
};

}  // namespace

Change ChangeOf(const Subjects& subjects, const Strategy& from, const Strategy& to) { return Comparer(subjects, from, to).Run(); }

void Tried::Took(const Change& change) {
  if (!change.same_devices) ++devices_turn_;
}

void Tried::Lost(const Change& change, double by_min, const std::vector<double>& remedies_min) {
  constexpr double kNothing_min = 1e-9;
  lost_[change.key] = {by_min, std::abs(by_min) < kNothing_min, devices_turn_, remedies_min};
}

bool Tried::LosesAgain(const Change& change, const Concerns& concerns, const std::vector<double>& remedies_min) const {
  const auto found = lost_.find(change.key);
  if (found == lost_.end()) return false;
  const Loss& loss = found->second;
  std::set<std::size_t> requirements;
  for (const PartId& part : change.parts) {
    if (const auto concern = concerns.find(part); concern != concerns.end()) requirements.insert(concern->second.begin(), concern->second.end());
  }
  double may_win_min = 0;
  for (const std::size_t r : requirements) may_win_min += std::abs(remedies_min[r] - loss.remedies_min[r]);
  // Two changes at the most are saved by what stands there already: one before, one after.
  if (!change.same_devices && devices_turn_ > loss.devices_turn) may_win_min += 2 * device_change_min_;
  return loss.makes_no_odds || loss.by_min >= may_win_min;
}

}  // namespace fitwright::planner
