#include "fitwright/variation/supplied.h"

#include <algorithm>
#include <cmath>

#include "fitwright/base/hash.h"
#include "fitwright/variation/geometry.h"

namespace fitwright::variation {
namespace {


struct Limited {
  double middle_mm = 0;
  double half_mm = 0;
};

Limited Within(const Size& size) { return {size.middle_mm(), 0.5 * size.width_mm()}; }

bool HasSectionLimits(const Stock& stock) { return stock.under_mm > 0 || stock.over_mm > 0; }

// The direction of stock.box_P in which a pair of faces is the supplied section: of plate the
// thinnest, of bar all but its length.
bool IsAcrossSection(const Stock& stock, const Vec3& normal_P) {
  const bool plate = stock.form == StockForm::kPlate;
  if (!plate && stock.form != StockForm::kFlat && stock.form != StockForm::kSquare) return false;
  const Vec3 size = stock.box_P.size_mm();
  int thinnest = 0;
  int longest = 0;
  size.minCoeff(&thinnest);
  size.maxCoeff(&longest);
  int axis = 0;
  const bool square = normal_P.cwiseAbs().maxCoeff(&axis) > kAlong;
  return square && (plate ? axis == thinnest : axis != longest);
}

class Supplier {
 public:
  Supplier(const AssemblyInput& input, const PartId& id, const Part& part)
      : input_(input), id_(id), part_(part), bought_(input.machine->FindBought(SheetIdOf(id))) {}

  void Add(const Feature& feature, FeatureForms& forms) const {
    forms = FeatureForms{};
    forms.made = true;
    if (const auto* face = std::get_if<PlanarFace>(&feature.shape))
      return AddFace(feature, *face, forms);
    const Size* size = SizeOf(feature);
    if (size == nullptr) return;
    Limited limits = Within(*size);
    const bool outside = std::holds_alternative<OuterDiameter>(feature.shape);
    if (outside && bought_ == nullptr && part_.stock.IsRound() && HasSectionLimits(part_.stock)) {
      limits = {part_.stock.diameter_mm + 0.5 * (part_.stock.over_mm - part_.stock.under_mm),
                0.5 * (part_.stock.over_mm + part_.stock.under_mm)};
    }
    forms.size = Drawn(feature.name.text(), limits.half_mm);
    forms.size.constant = limits.middle_mm;
    if (const auto* hole = std::get_if<Hole>(&feature.shape)) AddHoles(*hole, forms);
  }

 private:
  Form Drawn(const std::string& what, double half_mm) const {
    if (half_mm <= 0) return {};
    Source source;
    source.key = StableHash(what, StableHash(id_.text(), 0x737570706c79));
    source.law = Law::kUniform;
    source.spread = bought_ != nullptr ? SpreadId::kBoughtLimits : SpreadId::kSuppliedSection;
    source.unit = half_mm * input_.spread_scale;
    return FormOf(input_.sources->Add(source));
  }

  // Both faces of a section share its draw, each by half; other faces have their own limits.
  void AddFace(const Feature& feature, const PlanarFace& face, FeatureForms& forms) const {
    const Stock& stock = part_.stock;
    Form out;
    if (bought_ == nullptr && HasSectionLimits(stock) && IsAcrossSection(stock, face.normal_P)) {
      int axis = 0;
      face.normal_P.cwiseAbs().maxCoeff(&axis);
      out = Scaled(Drawn("section " + std::to_string(axis), 0.5 * (stock.under_mm + stock.over_mm)),
                   0.5);
      out.constant =
          0.25 * (stock.over_mm - stock.under_mm) + face.at.nominal_mm - face.at.middle_mm();
    } else {
      out = Drawn(feature.name.text(), Within(face.at).half_mm);
    }
    AddShift(forms.pose.own, face.normal_P, out);
  }

  void AddHoles(const Hole& hole, FeatureForms& forms) const {
    forms.holes.resize(hole.entries_P_mm.size());
    for (HoleForms& one : forms.holes) {
      one.across = SquareTo(hole.into_P);
      one.size = forms.size;
      one.started = one.drilled = true;
      one.threaded = hole.thread.has_value();
    }
  }

  const AssemblyInput& input_;
  const PartId& id_;
  const Part& part_;
  const BoughtPart* bought_;
};

}  // namespace

void AddSupplied(const AssemblyInput& input, const PartId& part, FeatureMap& features) {
  const Part* sheet = FindSheet(*input.machine, part);
  if (sheet == nullptr) return;
  const Supplier supplier(input, part, *sheet);
  for (const Feature& feature : sheet->features) {
    if (feature.finish == Finish::kAsSupplied)
      supplier.Add(feature, features[{part, feature.name}]);
  }
}

}  // namespace fitwright::variation
