#include "fitwright/recognize/drawn_sizes.h"

#include <algorithm>

namespace fitwright::recognize {
namespace {

using Visit = std::function<void(Size&)>;

struct Visitor {
  const Visit& visit;
  void operator()(PlanarFace& f) const { visit(f.at); }
  void operator()(Hole& h) const { visit(h.diameter); }
  void operator()(OuterDiameter& o) const { visit(o.diameter); }
  void operator()(Slot& s) const { visit(s.width); }
  void operator()(Groove& g) const { visit(g.diameter); }
  void operator()(Flats& f) const { visit(f.across); }
  void operator()(Taper& t) const {
    visit(t.start_diameter);
    visit(t.end_diameter);
  }
  void operator()(Keyway& k) const { visit(k.width); }
  template <typename Other>
  void operator()(Other&) const {}
};

struct Spoken {
  const Size* operator()(const PlanarFace& f) const { return &f.at; }
  const Size* operator()(const Hole& h) const { return &h.diameter; }
  const Size* operator()(const OuterDiameter& o) const { return &o.diameter; }
  const Size* operator()(const Slot& s) const { return &s.width; }
  const Size* operator()(const Groove& g) const { return &g.diameter; }
  const Size* operator()(const Flats& f) const { return &f.across; }
  const Size* operator()(const Keyway& k) const { return &k.width; }
  template <typename Other>
  const Size* operator()(const Other&) const {
    return nullptr;
  }
};

}  // namespace

void ForEachSize(FeatureShape& shape, const Visit& visit) { std::visit(Visitor{visit}, shape); }

const Size* SpokenSize(const Feature& feature) { return std::visit(Spoken(), feature.shape); }

Part AtNominals(const Part& part) {
  Part drawn = part;
  for (Feature& feature : drawn.features) {
    ForEachSize(feature.shape, [](Size& size) { size.lower_mm = size.upper_mm = size.nominal_mm; });
  }
  return drawn;
}

}  // namespace fitwright::recognize
