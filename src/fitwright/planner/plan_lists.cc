#include "fitwright/planner/plan_lists.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "fitwright/model/stock_words.h"
#include "fitwright/planner/bench_work.h"

namespace fitwright::planner {

void AddBuy(Plan& plan, const BuyLine& line) {
  for (BuyLine& have : plan.buy) {
    if (have.what == line.what && have.why == line.why) return;
  }
  plan.buy.push_back(line);
}

void ListJoints(const Subjects& subjects, const Strategy& strategy, Plan& plan) {
  for (const PatternJoint& pattern : subjects.patterns) {
    const PatternChoice choice = strategy.patterns.at(pattern.joint);
    plan.joints.push_back({pattern.joint.text(), "screwed_pattern", {pattern.clearance.part, pattern.tapped.part},
                            choice.technique, choice.first, {}, {}});
  }
  for (const SharedHoles& pair : subjects.shared) {
    const char* kind = pair.together == Technique::kBoreInLine ? "in_line" : "pinned";
    plan.joints.push_back({pair.subject, kind, {pair.fixed.part, pair.moving.part}, strategy.shared.at(pair.subject), 0, {}, {}});
  }
  for (const SuitPair& pair : subjects.suits) {
    std::vector<PartId> parts = {pair.shaft.part};
    if (!pair.closes) parts.push_back(pair.bore.part);
    plan.joints.push_back({pair.requirement.text(), pair.closes ? "end_float" : pair.faces ? "distance" : "clearance", parts,
                            strategy.suits.at(pair.requirement), 0, {}, {}});
  }
  for (const FlushPair& pair : subjects.flush) {
    plan.joints.push_back({pair.requirement.text(), "flush", {pair.face.part, pair.main_face.part},
                            strategy.flush.at(pair.requirement), 0, {}, {}});
  }
}

namespace {

std::string WordsToBuy(const Stock& stock) {
  const auto length = [](double mm) {
    constexpr double kGauge_mm = 0.005;  // sheet is sold by the hundredth
    const bool tenths = std::abs(mm - std::round(10 * mm) / 10) < kGauge_mm;
    return tenths ? fmt::format("{:.1f}", mm) : fmt::format("{:.2f}", mm);
  };
  return StockWords(stock, length);
}

// Unless the sheets list them by themselves, under the joint's name.
void BuyPins(const Machine& machine, const SharedHoles& pair, Plan& plan) {
  if (machine.FindBought(PartId(pair.subject)) != nullptr) return;
  for (const Joint& joint : machine.joints) {
    if (joint.name.text() != pair.subject || !joint.pin) continue;
    AddBuy(plan, {fmt::format("pin {:g}{}", joint.pin->nominal_mm, joint.pin->fit.empty() ? "" : " " + joint.pin->fit), pair.count, "for " + pair.subject});
  }
}

void BuyCompounds(const Machine& machine, Plan& plan) {
  std::map<std::string, std::string> joints;
  for (const Joint& joint : machine.joints) {
    if (joint.kind != JointKind::kBonded || joint.compound.empty()) continue;
    std::string& names = joints[joint.compound];
    names += (names.empty() ? "for " : ", ") + joint.name.text();
  }
  for (const auto& [compound, names] : joints) AddBuy(plan, {compound, 1, names});
}

// A line of the list has no shape; a part that the builder has made already has one, and is not to be had in a shop.
bool IsMadeAlready(const BoughtPart& bought) { return bought.kind == BoughtKind::kItem && !bought.part.features.empty(); }

// Alike ones for the same purpose in one line.
void BuyReadyParts(const Machine& machine, Plan& plan) {
  std::vector<BuyLine> lines;
  for (const BoughtPart& bought : machine.bought) {
    if (IsMadeAlready(bought)) continue;
    BuyLine line{bought.what.empty() ? bought.part.name.text() : bought.what, bought.quantity, bought.why.empty() ? "for " + bought.part.name.text() : bought.why};
    const auto alike = std::find_if(lines.begin(), lines.end(), [&](const BuyLine& l) { return l.what == line.what && l.why == line.why; });
    if (alike != lines.end()) alike->quantity += line.quantity;
    if (alike == lines.end()) lines.push_back(std::move(line));
  }
  plan.buy.insert(plan.buy.end(), lines.begin(), lines.end());
}

}  // namespace

void ListPartsAndBuying(const Machine& machine, const Subjects& subjects, Plan& plan) {
  for (const PartUse& use : machine.uses) {
    const Part& part = *machine.FindPart(use.part);
    plan.parts.push_back({use.part, use.quantity, part.material, WordsToBuy(part.stock), 0});
    AddBuy(plan, {fmt::format("{}, {}", part.material, WordsToBuy(part.stock)), use.quantity, "for " + use.part.text()});
  }
  for (const SharedHoles& pair : subjects.shared) BuyPins(machine, pair, plan);
  BuyCompounds(machine, plan);
  for (const Joint& joint : machine.joints) {
    if (!joint.screw) continue;
    const Feature* holes = machine.Find(joint.fixed);
    const auto* hole = holes == nullptr ? nullptr : std::get_if<Hole>(&holes->shape);
    if (hole == nullptr) continue;
    const std::string washer = joint.washer_mm > 0 ? fmt::format(" with washer {:g}", joint.washer_mm) : "";
    AddBuy(plan, {fmt::format("screw {} x {:g}{}", joint.screw->thread, joint.screw->length_mm, washer),
            static_cast<int>(hole->entries_P_mm.size()), "for " + joint.name.text()});
  }
  BuyReadyParts(machine, plan);
}

void AddAssumed(const Machine& machine, Plan& plan) {
  for (const PartUse& use : machine.uses) {
    if (use.quantity > 1) {
      plan.assumed.push_back(fmt::format("{} is wanted {} times: the setups are shown once, repeat them for each.", use.part.text(), use.quantity));
    }
  }
  for (const Joint& joint : machine.joints) {
    if (joint.kind != JointKind::kBonded) continue;
    const char* from = joint.cure_min > 0 ? "as its file says" : "a default";
    plan.assumed.push_back(fmt::format("{} cures for {:.0f} min, {}: the maker's sheet governs. Waiting is not in the hours.", joint.name.text(),
                                       CureMinutes(joint), from));
  }
  std::string noted;
  for (const PartUse& use : machine.uses) {
    for (const Feature& feature : machine.FindPart(use.part)->features) {
      if (!feature.note.empty()) noted += (noted.empty() ? "" : ", ") + FeatureRef{use.part, feature.name}.text();
    }
  }
  if (!noted.empty()) {
    plan.assumed.push_back(fmt::format("What is noted in the sheets stands beside its step; the order and the sizes come from the plan, not from the "
                                       "notes. Where the two differ, decide before that step: {}.", noted));
  }
  plan.assumed.push_back("Handling and cutting times are opinions of the shop file, not measured here.");
}

}  // namespace fitwright::planner
