#include "fitwright/recognize/sheet_limits.h"

#include <string_view>

#include "fitwright/model/material.h"
#include "fitwright/model/validate.h"

namespace fitwright::recognize {
namespace {

struct Entry {
  Vec3 at_P_mm = Vec3::Zero();
  Vec3 into_P = -Vec3::UnitZ();
};

struct EntriesOf {
  std::vector<Entry> operator()(const Hole& hole) const {
    std::vector<Entry> all;
    for (const Vec3& at : hole.entries_P_mm) all.push_back({at, hole.into_P});
    return all;
  }
  std::vector<Entry> operator()(const Slot& slot) const {
    return {{slot.centre_P_mm, slot.into_P}};
  }
  std::vector<Entry> operator()(const Pocket& pocket) const {
    return {{pocket.centre_P_mm, pocket.into_P}};
  }
  template <typename Other>
  std::vector<Entry> operator()(const Other&) const {
    return {};
  }
};

// The tool's way in meets nothing of the part along the middle.
bool StandsBeside(const Part& part, const Feature& feature) {
  for (const Entry& entry : std::visit(EntriesOf{}, feature.shape)) {
    Vec3 base = entry.at_P_mm;
    base -= base.dot(entry.into_P) * entry.into_P;
    if (CalcMaterialAlong(part, base, entry.into_P).empty()) return true;
  }
  return false;
}

}  // namespace

void DropWhatNoSheetSays(Draft& draft) {
  // As a sheet is read: each in what those before it leave.
  Part before = draft.part;
  before.features.clear();
  std::vector<FeatureId> beside;
  for (const Feature& feature : draft.part.features) {
    if (StandsBeside(before, feature)) {
      beside.push_back(feature.name);
    } else {
      before.features.push_back(feature);
    }
  }
  for (const FeatureId& name : beside)
    draft.Drop(name, "a cut about an axis that stands beside the part");
  std::vector<ModelFault> faults;
  ValidatePart(draft.part, faults);
  constexpr std::string_view kFeatures = ".features.";
  for (const ModelFault& fault : faults) {
    const std::size_t at = fault.path.find(kFeatures);
    if (at == std::string::npos) continue;
    const std::string rest = fault.path.substr(at + kFeatures.size());
    draft.Drop(FeatureId(rest.substr(0, rest.find('.'))),
               "no sheet can say what was read here: " + fault.message);
  }
}

}  // namespace fitwright::recognize
