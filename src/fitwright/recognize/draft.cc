#include "fitwright/recognize/draft.h"

namespace fitwright::recognize {

FeatureId Draft::Add(const std::string& word, FeatureShape shape,
                     const std::vector<std::size_t>& explained) {
  return AddNamed(fmt::format("{}_{}", word, ++numbers[word]), std::move(shape), explained);
}

FeatureId Draft::AddNamed(const std::string& name, FeatureShape shape,
                          const std::vector<std::size_t>& explained) {
  Feature feature;
  feature.name = FeatureId(name);
  feature.shape = std::move(shape);
  part.features.push_back(std::move(feature));
  Explain(FeatureId(name), explained);
  return FeatureId(name);
}

void Draft::Explain(const FeatureId& feature, const std::vector<std::size_t>& explained) {
  std::vector<std::size_t>& list = faces[feature];
  for (const std::size_t face : explained) {
    if (taken[face]) continue;
    taken[face] = true;
    list.push_back(face);
  }
}

void Draft::Drop(const FeatureId& feature, const std::string& because) {
  if (part.Find(feature) == nullptr) return;
  std::vector<FeatureId> gone = {feature};
  for (const Feature& other : part.features) {
    const auto* chamfer = std::get_if<RoundChamfer>(&other.shape);
    const auto* thread = std::get_if<ExternalThread>(&other.shape);
    const bool stands = (chamfer != nullptr && chamfer->on == feature) ||
                        (thread != nullptr && thread->on == feature);
    if (stands) gone.push_back(other.name);
  }
  for (const FeatureId& name : gone) {
    for (const std::size_t f : faces[name]) {
      taken[f] = false;
      if (!because.empty()) why[f] = because;
    }
    faces.erase(name);
    std::erase_if(part.features, [&](const Feature& f) { return f.name == name; });
    std::erase_if(inferred, [&](const Inference& i) {
      return i.where.starts_with("features." + name.text() + ".");
    });
  }
}

void Draft::Say(const FeatureId& feature, const std::string& field, std::string words) {
  inferred.push_back({fmt::format("features.{}.{}", feature.text(), field), std::move(words)});
}

Size DrawnSize(double mm) {
  Size size;
  size.nominal_mm = size.lower_mm = size.upper_mm = Tidy(mm);
  return size;
}

}  // namespace fitwright::recognize
