#include "fitwright/recognize/stated_limits.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>

#include "fitwright/model/validate.h"
#include "fitwright/trade/fits.h"

namespace fitwright::recognize {
namespace {

// A stated size is the drawn one, or what is drawn lies within its limits and this much.
constexpr double kStatedAsDrawn_mm = 0.002;

Size* DiameterOf(Feature& feature) {
  if (auto* hole = std::get_if<Hole>(&feature.shape)) return &hole->diameter;
  if (auto* outer = std::get_if<OuterDiameter>(&feature.shape)) return &outer->diameter;
  if (auto* groove = std::get_if<Groove>(&feature.shape)) return &groove->diameter;
  return nullptr;
}

class Taking {
 public:
  Taking(const solid::FaceGraph& graph, PartReading& reading) : reading_(reading) {
    for (const auto& [name, faces] : reading.faces) {
      for (const std::size_t f : faces) {
        for (const std::size_t source : graph.faces[f].sources) bearers_.emplace(source, name);
      }
    }
  }

  void Take(const solid::StatedLimit& limit) {
    const std::vector<Feature*> bearers = BearersOf(limit.faces);
    if (bearers.empty()) return Leave(limit, "its faces were not understood");
    bool taken = false;
    why_ = "what was read there has no such size";
    for (Feature* feature : bearers)
      taken |= limit.diameter ? TakeDiameter(limit, *feature) : TakeGeometric(limit, *feature);
    if (!taken) Leave(limit, why_);
  }

  std::vector<std::string>& words() { return words_; }

 private:
  void Leave(const solid::StatedLimit& limit, const std::string& why) {
    words_.push_back(fmt::format("The file states {}: not taken over, {}.", limit.words, why));
  }

  std::vector<Feature*> BearersOf(const std::vector<std::size_t>& faces) {
    std::vector<Feature*> bearers;
    for (Feature& feature : reading_.part.features) {
      const bool bears = std::any_of(faces.begin(), faces.end(), [&](std::size_t f) {
        const auto bearer = bearers_.find(f);
        return bearer != bearers_.end() && bearer->second == feature.name;
      });
      if (bears) bearers.push_back(&feature);
    }
    return bearers;
  }

  bool TakeDiameter(const solid::StatedLimit& limit, Feature& feature) {
    Size* drawn = DiameterOf(feature);
    if (drawn == nullptr) return false;
    Size stated = *limit.diameter;
    if (stated.origin == LimitsOrigin::kFit) {
      const auto fit = trade::MakeFitSize(stated.nominal_mm, stated.fit);
      if (!fit) {
        why_ = fit.error().message;
        return false;
      }
      stated = *fit;
    }
    const double mm = drawn->nominal_mm;
    const bool within =
        mm > stated.lower_mm - kStatedAsDrawn_mm && mm < stated.upper_mm + kStatedAsDrawn_mm;
    if (!within && std::abs(mm - stated.nominal_mm) > kStatedAsDrawn_mm) {
      why_ = fmt::format("it is drawn at {:.6g}", mm);
      return false;
    }
    *drawn = stated;
    SayHowMany(limit, feature);
    return true;
  }

  void SayHowMany(const solid::StatedLimit& limit, const Feature& feature) {
    const auto* hole = std::get_if<Hole>(&feature.shape);
    const auto own = reading_.faces.find(feature.name);
    if (hole == nullptr || hole->entries_P_mm.size() < 2 || own == reading_.faces.end()) return;
    if (limit.faces.size() >= hole->entries_P_mm.size()) return;
    words_.push_back(fmt::format(
        "The file states {} of {} of the {} places of {}: taken for all of them.", limit.words,
        limit.faces.size(), hole->entries_P_mm.size(), feature.name.text()));
  }

  bool TakeGeometric(const solid::StatedLimit& stated, Feature& feature) {
    GeometricLimit limit;
    limit.kind = stated.kind;
    limit.within_mm = stated.within_mm;
    const bool form = stated.kind == GeometricKind::kFlat || stated.kind == GeometricKind::kRound ||
                      stated.kind == GeometricKind::kCylindrical;
    if (!form) {
      const std::vector<Feature*> datums = BearersOf(stated.datum_faces);
      if (datums.empty() || datums.front() == &feature) {
        why_ = stated.datums == 0 ? "it names no datum" : "its datum was not understood";
        return false;
      }
      limit.datum = datums.front()->name;
    }
    if (!Bears(feature, limit)) return false;
    if (stated.datums > 1 && !form)
      words_.push_back(fmt::format("The file states {} from {} datums: counted from {} alone.",
                                   stated.words, stated.datums, limit.datum->text()));
    return true;
  }

  // Adds the limit where the part stays sound with it.
  bool Bears(Feature& feature, const GeometricLimit& limit) {
    std::vector<ModelFault> before;
    ValidatePart(reading_.part, before);
    feature.geometric.push_back(limit);
    std::vector<ModelFault> after;
    ValidatePart(reading_.part, after);
    if (after.size() <= before.size()) return true;
    feature.geometric.pop_back();
    why_ = after.back().message;
    return false;
  }

  PartReading& reading_;
  std::map<std::size_t, FeatureId> bearers_;  // of the faces of the file's solid
  std::string why_;
  std::vector<std::string> words_;
};

}  // namespace

std::vector<std::string> TakeStatedLimits(const solid::FaceGraph& graph,
                                          const std::vector<solid::StatedLimit>& limits,
                                          PartReading& reading) {
  Taking taking(graph, reading);
  for (const solid::StatedLimit& limit : limits) taking.Take(limit);
  return std::move(taking.words());
}

}  // namespace fitwright::recognize
