#include "fitwright/planner/difference.h"

#include <fmt/format.h>

#include <algorithm>

#include "fitwright/planner/technique_words.h"

namespace fitwright::planner {
namespace {

std::string AxisWords(const Vec3& direction_P) {
  for (int axis = 0; axis < 3; ++axis) {
    if (std::abs(direction_P[axis]) > 1 - 1e-9) return fmt::format("{}{}", direction_P[axis] > 0 ? "+" : "-", "xyz"[axis]);
  }
  return "slanting";
}

std::string ZeroWords(const SetupSketch& sketch) {
  if (sketch.zero == ZeroFrom::kEdges) return "edges";
  if (sketch.zero == ZeroFrom::kOutside) return "outside";
  return sketch.zero_on ? Words(sketch.zero_on->text()) : "bore";
}

bool HeldAlike(const SetupSketch& a, const SetupSketch& b) {
  return a.device == b.device && a.holding == b.holding && (a.jaw_P - b.jaw_P).norm() < 1e-9 && a.zero == b.zero && a.zero_on == b.zero_on &&
         a.angle_by == b.angle_by && a.support == b.support && a.between_centres == b.between_centres && a.set_over == b.set_over;
}

std::string SidesOf(const Route& route) {
  std::string sides;
  for (const SetupSketch& sketch : route.setups) sides += (sides.empty() ? "" : ", ") + AxisWords(sketch.up_P);
  return sides;
}

void SayRoute(const std::string& part, const Shop& shop, const Route& from, const Route& to, std::vector<std::string>& said) {
  const std::size_t before = said.size();
  if (from.setups.size() != to.setups.size()) {
    said.push_back(fmt::format("The {} in {} setup{} instead of {}: {} up.", part, to.setups.size(), to.setups.size() > 1 ? "s" : "",
                               from.setups.size(), SidesOf(to)));
    return;
  }
  if (SidesOf(from) != SidesOf(to)) {
    said.push_back(fmt::format("The {}'s sides up in the order {} instead of {}.", part, SidesOf(to), SidesOf(from)));
    return;
  }
  for (std::size_t i = 0; i < to.setups.size(); ++i) {
    const SetupSketch& a = from.setups[i];
    const SetupSketch& b = to.setups[i];
    if (!HeldAlike(a, b)) {
      said.push_back(fmt::format("The {} with {}: {}, instead of {}.", part, SideWords(b), HoldingWords(b, shop), HoldingWords(a, shop)));
    } else if (a.bored_true != b.bored_true) {
      said.push_back(fmt::format("The {} with {}: {} the reamer.", part, SideWords(b),
                                 b.bored_true.empty() ? "no boring bar before" : "the bore trued with a bar before"));
    } else if (a.cuts != b.cuts || a.leave_mm != b.leave_mm) {
      said.push_back(fmt::format("The {} with {}: other cuts in that setup, or in another order.", part, SideWords(b)));
    }
  }
  if (before == said.size() && !(from == to)) said.push_back(fmt::format("The {} is held or cut a little otherwise.", part));
}

}  // namespace

std::string SideWords(const SetupSketch& sketch) { return AxisWords(sketch.up_P) + " up"; }

std::string HoldingWords(const SetupSketch& sketch, const Shop& shop) {
  const HoldingDevice* device = shop.Find(sketch.device);
  std::string words = device == nullptr || device->words.empty() ? Words(sketch.device.text()) : device->words;
  if (sketch.holding == HoldingKind::kViseJawFirst || sketch.holding == HoldingKind::kViseBedFirst) {
    words += fmt::format(", its {} side against the fixed jaw, seated on the {} first", AxisWords(sketch.jaw_P),
                         sketch.holding == HoldingKind::kViseJawFirst ? "jaw" : "bed");
  } else {
    words += fmt::format(" ({})", Words(std::string(WordOf(sketch.holding))));
  }
  if (sketch.between_centres) words += ", between centres";
  if (sketch.support && !sketch.between_centres) words += fmt::format(", with {}", Words(sketch.support->text()));
  if (sketch.angle_by) words += fmt::format(", set by {}", Words(std::string(WordOf(*sketch.angle_by))));
  return words + fmt::format(", zero from {}", ZeroWords(sketch));
}

std::vector<std::string> WhatDiffers(const Subjects& subjects, const Shop& shop, const Strategy& from, const Strategy& to) {
  std::vector<std::string> said;
  for (const PatternJoint& p : subjects.patterns) {
    if (from.patterns.at(p.joint) != to.patterns.at(p.joint)) said.push_back(SaySpotting(p, to.patterns.at(p.joint)));
  }
  for (const SharedHoles& p : subjects.shared) {
    if (from.shared.at(p.subject) != to.shared.at(p.subject)) said.push_back(SayShared(p, to.shared.at(p.subject)));
  }
  for (const FlushPair& p : subjects.flush) {
    if (from.flush.at(p.requirement) != to.flush.at(p.requirement)) said.push_back(SayFlush(p, to.flush.at(p.requirement)));
  }
  for (const SuitPair& p : subjects.suits) {
    const Technique way = to.suits.at(p.requirement);
    if (from.suits.at(p.requirement) != way) said.push_back(SaySuit(p, way));
    if (way != Technique::kFitToMeasured) continue;
    const auto share = [&](const Strategy& s) { return s.aim_share.contains(p.requirement) ? s.aim_share.at(p.requirement) : 0.5; };
    if (share(from) == share(to)) continue;
    said.push_back(fmt::format("Of what {} may be, aim {:.0f} per cent of the way up instead of {:.0f}.", Words(p.requirement.text()), 100 * share(to),
                               100 * share(from)));
  }
  for (const auto& [part, route] : to.routes) SayRoute(Words(part.text()), shop, from.routes.at(part), route, said);
  return said;
}

}  // namespace fitwright::planner
