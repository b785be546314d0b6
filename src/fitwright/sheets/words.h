// The trade's words for the members of closed lists, and for names.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "fitwright/model/plan.h"

namespace fitwright::sheets {

// "front_holes" -> "front holes"; "ring#2" -> "ring no. 2". A line to write on, "____", stays.
std::string NameText(std::string_view name);
// "block front holes".
std::string NameText(const FeatureRef& ref);
// First letter as a capital; sentences only.
std::string Capital(std::string text);
// "a", "a and b", "a, b and c".
std::string ListText(const std::vector<std::string>& names);

// Column head: "spot", "drill", "tap".
std::string_view VerbOf(Operation operation);
// "spotted through the mate, 1 first".
std::string TechniqueText(Technique technique, int first);
// "vise, seated on the bed".
std::string_view HoldingText(HoldingKind holding);
// "screws enter", "square", ...
std::string_view RequirementText(RequirementKind kind);
// "six" up to twelve, then figures.
std::string CountText(int count);

}  // namespace fitwright::sheets
