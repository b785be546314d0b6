#include "fitwright/planner/tool_pins.h"

#include <fmt/format.h>

#include <algorithm>

#include "fitwright/planner/pins.h"
#include "fitwright/planner/holding_internal.h"
#include "fitwright/planner/technique_words.h"

namespace fitwright::planner {
namespace {

bool Forbids(const Pin& pin) { return std::string_view(pin.value).starts_with("not "); }
ToolId ToolIn(const Pin& pin) { return ToolId(std::string(WordIn(pin))); }

// A shop less some tools, and the cut's context in it.
struct Reduced {
  Shop shop;
  CutContext context;
  Reduced(const CutContext& whole, const std::vector<ToolId>& without) : shop(*whole.shop), context(whole) {
    std::erase_if(shop.tools, [&](const Tool& t) { return std::find(without.begin(), without.end(), t.name) != without.end(); });
    context.shop = &shop;
    context.machine = shop.Find(whole.machine->name);
    context.memo = nullptr;  // which knows cuts of the whole shop
  }
};

std::vector<ToolId> Forbidden(const std::vector<Pin>& pins) {
  std::vector<ToolId> tools;
  for (const Pin& pin : pins) {
    if (Forbids(pin)) tools.push_back(ToolIn(pin));
  }
  return tools;
}

bool Uses(const CutResult& cut, const ToolId& tool) {
  return std::any_of(cut.steps.begin(), cut.steps.end(), [&](const Step& s) { return s.tool == tool; });
}

// What does the named tool's work in the cut: the last of its kind, else what ends it.
ToolId InPlaceOf(const Shop& shop, const CutResult& cut, const Tool& named) {
  ToolId found;
  for (const bool same_kind : {true, false}) {
    for (const Step& step : cut.steps) {
      const Tool* tool = shop.Find(step.tool);
      if (tool != nullptr && (!same_kind || tool->kind == named.kind)) found = tool->name;
    }
    if (!found.empty()) return found;
  }
  return found;
}

Unexpected NotUsed(const CutRequest& request, const Tool& named, const std::string& why) {
  const std::string tool = named.words.empty() ? Words(named.name.text()) : named.words;
  return NoHold(fmt::format("{} is not cut with the {}: {}", request.features.front().text(), tool, why),
                "pin another tool, or take the pin back");
}

}  // namespace

std::vector<Pin> ToolPinsOf(const std::vector<Pin>& pins, const std::vector<FeatureRef>& features) {
  std::vector<Pin> own;
  std::copy_if(pins.begin(), pins.end(), std::back_inserter(own), [&](const Pin& pin) {
    return pin.kind == PinKind::kTool && std::any_of(features.begin(), features.end(), [&](const FeatureRef& ref) {
             return pin.subject == ref.text() || pin.subject == ref.part.text();
           });
  });
  return own;
}

std::string ToolPinsKey(const std::vector<Pin>& pins, const PartId& part) {
  std::string key;
  for (const Pin& pin : pins) {
    if (pin.kind == PinKind::kTool && RefOf(pin).part == part) key += fmt::format("{}:{};", pin.subject, pin.value);
  }
  return key;
}

Result<CutResult> MakeCutAsPinned(const CutContext& context, const CutRequest& request, const std::vector<Pin>& pins) {
  const std::vector<Pin> own = ToolPinsOf(pins, request.features);
  if (own.empty()) return MakeCut(context, request);
  std::vector<ToolId> without = Forbidden(own);
  Result<CutResult> cut = MakeCut(Reduced(context, without).context, request);
  for (const Pin& pin : own) {
    const Tool* named = Forbids(pin) ? nullptr : context.shop->Find(ToolIn(pin));
    std::string instead;
    while (named != nullptr && cut && !Uses(*cut, named->name)) {
      const ToolId other = InPlaceOf(*context.shop, *cut, *named);
      if (other.empty()) return NotUsed(request, *named, "no tool of the shop has part in it");
      instead = Words(other.text());
      without.push_back(other);
      cut = MakeCut(Reduced(context, without).context, request);
      if (!cut) return NotUsed(request, *named, fmt::format("without {}, {}", instead, cut.error().message));
    }
  }
  return cut;
}

Result<CutResult> MakePartOffAsPinned(const CutContext& context, const PartId& part, double z_S_mm, const std::vector<Pin>& pins) {
  std::vector<Pin> own;
  std::copy_if(pins.begin(), pins.end(), std::back_inserter(own), [&](const Pin& p) { return p.kind == PinKind::kTool && p.subject == part.text(); });
  return own.empty() ? MakePartOff(context, z_S_mm) : MakePartOff(Reduced(context, Forbidden(own)).context, z_S_mm);
}

}  // namespace fitwright::planner
