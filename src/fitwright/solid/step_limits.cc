#include "fitwright/solid/step_limits.h"

#include <StepBasic_MeasureWithUnit.hxx>
#include <StepShape_ToleranceValue.hxx>
#include <TCollection_HAsciiString.hxx>
#include <TDF_LabelSequence.hxx>
#include <TDataStd_Name.hxx>
#include <TopExp.hxx>
#include <TopTools_IndexedMapOfShape.hxx>
#include <XCAFDimTolObjects_DatumObject.hxx>
#include <XCAFDimTolObjects_DimensionObject.hxx>
#include <XCAFDimTolObjects_GeomToleranceObject.hxx>
#include <XCAFDoc_Datum.hxx>
#include <XCAFDoc_DimTolTool.hxx>
#include <XCAFDoc_Dimension.hxx>
#include <XCAFDoc_DocumentTool.hxx>
#include <XCAFDoc_GeomTolerance.hxx>
#include <XCAFDoc_ShapeTool.hxx>
#include <algorithm>
#include <cmath>
#include <optional>

#include "fitwright/base/words.h"

namespace fitwright::solid {
namespace {

using DimensionType = XCAFDimTolObjects_DimensionType;
using ToleranceType = XCAFDimTolObjects_GeomToleranceType;

// Faces of the labels' shapes, by the shape of the message that they belong to. A label of a whole
// body or product names no face in particular.
std::map<std::size_t, std::vector<std::size_t>> FacesOf(const TDF_LabelSequence& labels,
                                                        const FacePlaces& places) {
  std::map<std::size_t, std::vector<std::size_t>> faces;
  for (int i = 1; i <= labels.Length(); ++i) {
    const TopoDS_Shape shape = XCAFDoc_ShapeTool::GetShape(labels.Value(i));
    if (shape.IsNull()) continue;
    TopTools_IndexedMapOfShape bodies;
    TopExp::MapShapes(shape, TopAbs_SOLID, bodies);
    TopTools_IndexedMapOfShape found;
    TopExp::MapShapes(shape, TopAbs_FACE, found);
    if (!bodies.IsEmpty()) continue;
    if (found.IsEmpty()) TopExp::MapShapes(shape, TopAbs_EDGE, found);
    for (int k = 1; k <= found.Extent(); ++k) {
      const auto [from, to] = places.equal_range(found(k).TShape().get());
      for (auto at = from; at != to; ++at) faces[at->second.shape].push_back(at->second.face);
    }
  }
  for (auto& [shape, list] : faces) {
    std::sort(list.begin(), list.end());
    list.erase(std::unique(list.begin(), list.end()), list.end());
  }
  return faces;
}

std::string Trimmed(double mm) { return fmt::format("{:.6g}", mm); }

std::string FitName(const XCAFDimTolObjects_DimensionObject& object) {
  Standard_Boolean hole = false;
  XCAFDimTolObjects_DimensionFormVariance letter{};
  XCAFDimTolObjects_DimensionGrade grade{};
  if (!object.GetClassOfTolerance(hole, letter, grade)) return "";
  static constexpr const char* kLetters[] = {"",  "a", "b",  "c", "cd", "d", "e",  "ef", "f", "fg",
                                             "g", "h", "js", "j", "k",  "m", "n",  "p",  "r", "s",
                                             "t", "u", "v",  "x", "y",  "z", "za", "zb", "zc"};
  const auto at = static_cast<std::size_t>(letter);
  if (at == 0 || at >= std::size(kLetters)) return "";
  std::string name = kLetters[at];
  if (hole)
    std::transform(name.begin(), name.end(), name.begin(),
                   [](char c) { return static_cast<char>(c - 'a' + 'A'); });
  // Grades follow as 01, 0, 1, 2 ...
  const int number = static_cast<int>(grade) - 1;
  return number < 1 ? "" : fmt::format("{}{}", name, number);
}

// The two deviations of a tolerance as the file writes them: the kernel drops their signs.
struct Deviations {
  double lower = 0;
  double upper = 0;
};

std::optional<double> ValueOf(const Handle(Standard_Transient) & bound) {
  const auto measure = Handle(StepBasic_MeasureWithUnit)::DownCast(bound);
  if (measure.IsNull()) return std::nullopt;
  return measure->ValueComponent();
}

std::vector<Deviations> FindDeviations(const Handle(Interface_InterfaceModel) & model) {
  std::vector<Deviations> all;
  for (int i = 1; i <= model->NbEntities(); ++i) {
    const auto value = Handle(StepShape_ToleranceValue)::DownCast(model->Value(i));
    if (value.IsNull()) continue;
    const auto lower = ValueOf(value->LowerBound());
    const auto upper = ValueOf(value->UpperBound());
    if (lower && upper) all.push_back({*lower, *upper});
  }
  return all;
}

// Those of the file that have these sizes, in whatever unit of it. None where the signs of several
// differ.
std::optional<Deviations> SignedAs(const std::vector<Deviations>& file, double lower,
                                   double upper) {
  constexpr double kOff = 1e-6;
  std::optional<Deviations> found;
  for (const Deviations& d : file) {
    bool same = false;
    for (const double unit : {1.0, 10.0, 25.4, 304.8, 1000.0}) {
      same |= std::abs(unit * std::abs(d.lower) - std::abs(lower)) < kOff &&
              std::abs(unit * std::abs(d.upper) - std::abs(upper)) < kOff;
    }
    if (!same) continue;
    const Deviations here{std::copysign(std::abs(lower), d.lower),
                          std::copysign(std::abs(upper), d.upper)};
    if (found && (here.lower != found->lower || here.upper != found->upper)) return std::nullopt;
    found = here;
  }
  return found;
}

// The diameter with its limits; none where the file gives no limits that hold together.
std::optional<Size> DiameterOf(const XCAFDimTolObjects_DimensionObject& object, double times,
                               const std::vector<Deviations>& file) {
  Size size;
  size.nominal_mm = times * object.GetValue();
  size.origin = LimitsOrigin::kLimits;
  if (object.IsDimWithRange()) {
    size.lower_mm = times * object.GetLowerBound();
    size.upper_mm = times * object.GetUpperBound();
    size.nominal_mm = size.middle_mm();
  } else if (object.IsDimWithPlusMinusTolerance()) {
    const auto by = SignedAs(file, object.GetLowerTolValue(), object.GetUpperTolValue());
    if (!by) return std::nullopt;
    size.lower_mm = size.nominal_mm + times * by->lower;
    size.upper_mm = size.nominal_mm + times * by->upper;
    size.origin = LimitsOrigin::kPlusMinus;
  } else if (object.IsDimWithClassOfTolerance()) {
    size.fit = FitName(object);
    size.origin = LimitsOrigin::kFit;
    size.lower_mm = size.upper_mm = size.nominal_mm;
    if (size.fit.empty()) return std::nullopt;
  } else {
    return std::nullopt;
  }
  const bool sound = std::isfinite(size.nominal_mm) && std::isfinite(size.lower_mm) &&
                     std::isfinite(size.upper_mm) && size.lower_mm > 0 &&
                     size.lower_mm <= size.upper_mm;
  return sound ? std::optional(size) : std::nullopt;
}

std::string SizeWords(const Size& size) {
  if (size.origin == LimitsOrigin::kFit)
    return fmt::format("diameter {} {}", Trimmed(size.nominal_mm), size.fit);
  return fmt::format("diameter {}, from {} to {}", Trimmed(size.nominal_mm), Trimmed(size.lower_mm),
                     Trimmed(size.upper_mm));
}

std::optional<GeometricKind> KindOf(ToleranceType type) {
  switch (type) {
    case XCAFDimTolObjects_GeomToleranceType_Flatness:
      return GeometricKind::kFlat;
    case XCAFDimTolObjects_GeomToleranceType_CircularityOrRoundness:
      return GeometricKind::kRound;
    case XCAFDimTolObjects_GeomToleranceType_Cylindricity:
      return GeometricKind::kCylindrical;
    case XCAFDimTolObjects_GeomToleranceType_Perpendicularity:
      return GeometricKind::kSquare;
    case XCAFDimTolObjects_GeomToleranceType_Parallelism:
      return GeometricKind::kParallel;
    case XCAFDimTolObjects_GeomToleranceType_Position:
      return GeometricKind::kPosition;
    case XCAFDimTolObjects_GeomToleranceType_Coaxiality:
    case XCAFDimTolObjects_GeomToleranceType_Concentricity:
      return GeometricKind::kCoaxial;
    case XCAFDimTolObjects_GeomToleranceType_CircularRunout:
      return GeometricKind::kRunOut;
    default:
      return std::nullopt;
  }
}

const char* NameOf(ToleranceType type) {
  switch (type) {
    case XCAFDimTolObjects_GeomToleranceType_Angularity:
      return "angularity";
    case XCAFDimTolObjects_GeomToleranceType_ProfileOfLine:
      return "profile of a line";
    case XCAFDimTolObjects_GeomToleranceType_ProfileOfSurface:
      return "profile of a surface";
    case XCAFDimTolObjects_GeomToleranceType_Straightness:
      return "straightness";
    case XCAFDimTolObjects_GeomToleranceType_Symmetry:
      return "symmetry";
    case XCAFDimTolObjects_GeomToleranceType_TotalRunout:
      return "total run-out";
    default:
      return "a limit of no kind known here";
  }
}

class Finder {
 public:
  Finder(const Handle(XCAFDoc_DimTolTool) & tool, const FacePlaces& places,
         std::vector<Deviations> file)
      : tool_(tool), places_(places), file_(std::move(file)) {}

  void AddDimension(const TDF_Label& label) {
    Handle(XCAFDoc_Dimension) attribute;
    if (!label.FindAttribute(XCAFDoc_Dimension::GetID(), attribute)) return;
    const Handle(XCAFDimTolObjects_DimensionObject) object = attribute->GetObject();
    if (object.IsNull()) return;
    const DimensionType type = object->GetType();
    // How a size is shown, not what it is.
    if (type == XCAFDimTolObjects_DimensionType_CommonLabel ||
        type == XCAFDimTolObjects_DimensionType_DimensionPresentation)
      return;
    const bool radius = type == XCAFDimTolObjects_DimensionType_Size_Radius;
    const bool diameter = type == XCAFDimTolObjects_DimensionType_Size_Diameter;
    const std::string value = Trimmed(object->GetValue());
    if (!radius && !diameter) return Leave(fmt::format("a size of {} that is no diameter", value));
    const auto size = DiameterOf(*object, radius ? 2 : 1, file_);
    if (!size) return Leave(fmt::format("diameter {} without limits that are told apart", value));
    StatedLimit limit;
    limit.diameter = size;
    limit.words = SizeWords(*size);
    AddTo(label, limit);
  }

  void AddTolerance(const TDF_Label& label) {
    Handle(XCAFDoc_GeomTolerance) attribute;
    if (!label.FindAttribute(XCAFDoc_GeomTolerance::GetID(), attribute)) return;
    const Handle(XCAFDimTolObjects_GeomToleranceObject) object = attribute->GetObject();
    if (object.IsNull()) return;
    const auto kind = KindOf(object->GetType());
    const std::string value = Trimmed(object->GetValue());
    if (!kind) return Leave(fmt::format("{} within {}", NameOf(object->GetType()), value));
    if (!std::isfinite(object->GetValue()) || object->GetValue() <= 0)
      return Leave("a limit of no width");
    StatedLimit limit;
    limit.kind = *kind;
    limit.within_mm = object->GetValue();
    limit.words = fmt::format("{} within {}", WordOf(*kind), value);
    datums_.Clear();
    tool_->GetDatumWithObjectOfTolerLabels(label, datums_);
    limit.datums = datums_.Length();
    AddTo(label, limit);
  }

  std::vector<StatedLimit>& limits() { return limits_; }
  const std::vector<std::string>& left() const { return left_; }

 private:
  void Leave(const std::string& what) { left_.push_back(what); }

  // The faces of the first datum, of that shape.
  std::vector<std::size_t> DatumFaces(std::size_t shape) const {
    for (int i = 1; i <= datums_.Length(); ++i) {
      Handle(XCAFDoc_Datum) attribute;
      if (!datums_.Value(i).FindAttribute(XCAFDoc_Datum::GetID(), attribute)) continue;
      const auto object = attribute->GetObject();
      if (object.IsNull() || (datums_.Length() > 1 && object->GetPosition() > 1)) continue;
      TDF_LabelSequence first;
      TDF_LabelSequence second;
      tool_->GetRefShapeLabel(datums_.Value(i), first, second);
      const auto faces = FacesOf(first, places_);
      const auto found = faces.find(shape);
      if (found != faces.end()) return found->second;
    }
    return {};
  }

  void AddTo(const TDF_Label& label, const StatedLimit& stated) {
    TDF_LabelSequence first;
    TDF_LabelSequence second;
    tool_->GetRefShapeLabel(label, first, second);
    first.Append(second);
    const auto faces = FacesOf(first, places_);
    if (faces.empty()) return Leave(stated.words + ", on no face of a body");
    for (const auto& [shape, list] : faces) {
      StatedLimit limit = stated;
      limit.shape = shape;
      limit.faces = list;
      if (limit.datums > 0) limit.datum_faces = DatumFaces(shape);
      limits_.push_back(std::move(limit));
    }
  }

  const Handle(XCAFDoc_DimTolTool) & tool_;
  const FacePlaces& places_;
  std::vector<Deviations> file_;
  TDF_LabelSequence datums_;  // of the tolerance at hand
  std::vector<StatedLimit> limits_;
  std::vector<std::string> left_;
};

}  // namespace

std::vector<StatedLimit> FindStatedLimits(const Handle(TDocStd_Document) & document,
                                          const Handle(Interface_InterfaceModel) & model,
                                          const FacePlaces& places,
                                          std::vector<std::string>& notes) {
  const Handle(XCAFDoc_DimTolTool) tool = XCAFDoc_DocumentTool::DimTolTool(document->Main());
  if (tool.IsNull()) return {};
  Finder finder(tool, places, FindDeviations(model));
  TDF_LabelSequence labels;
  tool->GetDimensionLabels(labels);
  for (int i = 1; i <= labels.Length(); ++i) finder.AddDimension(labels.Value(i));
  labels.Clear();
  tool->GetGeomToleranceLabels(labels);
  for (int i = 1; i <= labels.Length(); ++i) finder.AddTolerance(labels.Value(i));
  for (const std::string& what : finder.left())
    notes.push_back(fmt::format("The file states {}: no feature takes it.", what));
  return std::move(finder.limits());
}

}  // namespace fitwright::solid
