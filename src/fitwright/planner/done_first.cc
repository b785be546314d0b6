// Setups in the order of work, those that are done before all others.
#include <fmt/format.h>

#include <algorithm>

#include "fitwright/planner/build_plan.h"

namespace fitwright::planner {
namespace {

bool ShareAPart(const SetupSketch& a, const SetupSketch& b) {
  const auto has = [](const SetupSketch& sketch, const PartId& part) {
    return sketch.part == part || std::find(sketch.mates.begin(), sketch.mates.end(), part) != sketch.mates.end();
  };
  return has(b, a.part) || std::any_of(a.mates.begin(), a.mates.end(), [&](const PartId& mate) { return has(b, mate); });
}

Unexpected Refuse(const SetupSketch& sketch, const char* why) {
  return Unexpected(Error{ErrorCode::kNoPlan, fmt::format("a setup of {} is done, and {}", sketch.part.text(), why), {}, "keep what it was done for", {}});
}

// Where each of `done` stands among the ordered.
Result<std::vector<std::size_t>> PlacesOf(const std::vector<SetupSketch>& done, const std::vector<OrderedSketch>& ordered) {
  std::vector<std::size_t> places;
  for (const SetupSketch& sketch : done) {
    std::size_t at = 0;
    while (at < ordered.size() && (!(ordered[at].sketch == sketch) || std::find(places.begin(), places.end(), at) != places.end())) ++at;
    if (at == ordered.size()) return Refuse(sketch, "it would be another");
    places.push_back(at);
  }
  return places;
}

}  // namespace

Result<std::vector<OrderedSketch>> InOrder(const Machine& machine, const Shop& shop, const Subjects& subjects, const Strategy& strategy,
                                           const Choices& choices, SetupMemo* memo) {
  auto ordered = OrderSetups(machine, shop, subjects, strategy, choices, memo);
  if (!ordered || strategy.done.empty()) return ordered;
  const auto found = PlacesOf(strategy.done, *ordered);
  if (!found) return Unexpected(found.error());
  std::vector<std::size_t> order = *found;
  const auto is_done = [&](std::size_t at) { return std::find(found->begin(), found->end(), at) != found->end(); };
  for (const std::size_t at : *found) {
    const OrderedSketch& item = (*ordered)[at];
    const bool waits = !std::all_of(item.waits_for.begin(), item.waits_for.end(), is_done);
    bool first_on_its_parts = true;
    for (std::size_t k = 0; k < at; ++k) first_on_its_parts &= is_done(k) || !ShareAPart((*ordered)[k].sketch, item.sketch);
    if (waits || !first_on_its_parts) return Refuse(item.sketch, "another would come before it");
  }
  for (std::size_t at = 0; at < ordered->size(); ++at) {
    if (!is_done(at)) order.push_back(at);
  }
  std::vector<std::size_t> place(order.size());
  for (std::size_t i = 0; i < order.size(); ++i) place[order[i]] = i;
  std::vector<OrderedSketch> arranged;
  for (const std::size_t at : order) {
    arranged.push_back(std::move((*ordered)[at]));
    for (std::size_t& waits : arranged.back().waits_for) waits = place[waits];
    std::sort(arranged.back().waits_for.begin(), arranged.back().waits_for.end());
    if (!arranged.back().waits_for.empty() && arranged.back().waits_for.back() + 1 >= arranged.size())
      return Refuse(arranged.back().sketch, "what it waits for came after it");
  }
  return arranged;
}

}  // namespace fitwright::planner
