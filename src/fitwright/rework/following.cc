#include "fitwright/rework/following.h"

#include <algorithm>
#include <cmath>

#include "fitwright/variation/geometry.h"

namespace fitwright::rework {
namespace {

using variation::FeatureForms;
using variation::Form;

constexpr double kMovedBy = 0.5;  // of its spread
constexpr double kShrunkTo = 0.7;
constexpr double kLeast_mm = 0.002;  // nobody reads finer

// A size or place of a feature as a form, less what is drawn.
struct Quantity {
  Following of;
  Form form;
};

void AddSize(const FeatureRef& ref, const Feature& feature, const FeatureForms& forms,
             std::vector<Quantity>& out) {
  const double drawn = variation::NominalSize_mm(feature);
  if (drawn <= 0 || forms.size.terms.empty()) return;
  Quantity q;
  q.of.feature = ref;
  q.of.is_size = true;
  q.form = forms.size;
  q.form.constant -= drawn;
  out.push_back(std::move(q));
}

void AddPlaces(const Machine& machine, const FeatureRef& ref, const Feature& feature,
               const FeatureForms& forms, std::vector<Quantity>& out) {
  const auto add = [&](const Vec3& along, Form form) {
    Quantity q;
    q.of.feature = ref;
    q.of.along_P = along;
    q.form = std::move(form);
    out.push_back(std::move(q));
  };
  if (const auto* face = std::get_if<PlanarFace>(&feature.shape)) {
    const Part* part = variation::FindSheet(machine, ref.part);
    variation::FormSum sum;
    variation::AddFeatureMove(sum, forms, variation::RegionOf(*part, feature).centre,
                              face->normal_P);
    return add(face->normal_P, sum.Take());
  }
  const auto* hole = std::get_if<Hole>(&feature.shape);
  if (hole == nullptr || forms.holes.empty()) return;
  for (const Vec3& along : forms.holes.front().across) {
    variation::FormSum sum;
    variation::AddHoleMove(sum, forms.holes.front(), hole->entries_P_mm.front(), 0, along);
    add(along, sum.Take());
  }
}

double ShiftOf(const Following& f) {
  const double spread = std::max(f.before_sigma_mm, kLeast_mm);
  return std::abs(f.after_mm - f.before_mm) / spread;
}

bool IsWorthSaying(const Following& f) {
  if (f.before_sigma_mm < kLeast_mm) return false;
  const bool moved = ShiftOf(f) >= kMovedBy && std::abs(f.after_mm - f.before_mm) >= kLeast_mm;
  const bool shrunk = f.after_sigma_mm <= kShrunkTo * f.before_sigma_mm;
  return moved || shrunk;
}

}  // namespace

std::vector<Following> FindFollowing(const Standing& standing, const variation::Analysis& analysis,
                                     const Conditioning& before, const Conditioning& after,
                                     std::size_t most) {
  std::vector<Quantity> all;
  for (const auto& [its, forms] : analysis.features) {
    const FeatureRef& ref = its;  // clang keeps names of a binding out of lambdas
    const bool read = std::any_of(standing.readings.begin(), standing.readings.end(),
                                  [&](const ReadingTaken& r) { return r.feature == ref; });
    const Feature* feature = variation::FindFeature(*standing.machine, ref);
    if (read || feature == nullptr || !forms.made) continue;
    AddSize(ref, *feature, forms, all);
    AddPlaces(*standing.machine, ref, *feature, forms, all);
  }
  std::vector<Following> found;
  for (Quantity& q : all) {
    if (!after.Changes(q.form)) continue;
    const variation::Moments was = before.MomentsOf(q.form);
    const variation::Moments is = after.MomentsOf(q.form);
    q.of.before_mm = was.mean;
    q.of.before_sigma_mm = std::sqrt(std::max(0.0, was.variance));
    q.of.after_mm = is.mean;
    q.of.after_sigma_mm = std::sqrt(std::max(0.0, is.variance));
    if (IsWorthSaying(q.of)) found.push_back(q.of);
  }
  std::stable_sort(found.begin(), found.end(),
                   [](const Following& a, const Following& b) { return ShiftOf(a) > ShiftOf(b); });
  if (found.size() > most) found.resize(most);
  return found;
}

}  // namespace fitwright::rework
