#include "fitwright/solid/step_looks.h"

#include <BRepBndLib.hxx>
#include <Bnd_Box.hxx>
#include <StepAP214_AppliedExternalIdentificationAssignment.hxx>
#include <StepBasic_ConversionBasedUnitAndLengthUnit.hxx>
#include <StepBasic_DocumentFile.hxx>
#include <StepBasic_HArray1OfNamedUnit.hxx>
#include <StepBasic_SiUnitAndLengthUnit.hxx>
#include <StepGeom_GeomRepContextAndGlobUnitAssCtxAndGlobUncertaintyAssCtx.hxx>
#include <StepGeom_GeometricRepresentationContextAndGlobalUnitAssignedContext.hxx>
#include <StepRepr_GlobalUnitAssignedContext.hxx>
#include <TCollection_HAsciiString.hxx>
#include <algorithm>
#include <cctype>
#include <filesystem>
#include <map>
#include <set>

#include "fitwright/solid/kernel.h"

namespace fitwright::solid {
namespace {

Handle(StepRepr_GlobalUnitAssignedContext)
    UnitsOfContext(const Handle(Standard_Transient) & entity) {
  using Plain = StepGeom_GeometricRepresentationContextAndGlobalUnitAssignedContext;
  using Uncertain = StepGeom_GeomRepContextAndGlobUnitAssCtxAndGlobUncertaintyAssCtx;
  const auto plain = Handle(Plain)::DownCast(entity);
  if (!plain.IsNull()) return plain->GlobalUnitAssignedContext();
  const auto uncertain = Handle(Uncertain)::DownCast(entity);
  if (!uncertain.IsNull()) return uncertain->GlobalUnitAssignedContext();
  return Handle(StepRepr_GlobalUnitAssignedContext)::DownCast(entity);
}

// Empty when the unit is none of length.
std::string LengthUnitName(const Handle(StepBasic_NamedUnit) & unit) {
  const auto si = Handle(StepBasic_SiUnitAndLengthUnit)::DownCast(unit);
  if (!si.IsNull()) {
    if (!si->HasPrefix()) return "metres";
    if (si->Prefix() == StepBasic_spMilli) return "millimetres";
    if (si->Prefix() == StepBasic_spCenti) return "centimetres";
    if (si->Prefix() == StepBasic_spMicro) return "micrometres";
    return "another unit";
  }
  const auto other = Handle(StepBasic_ConversionBasedUnitAndLengthUnit)::DownCast(unit);
  if (other.IsNull()) return "";
  std::string name = other->Name().IsNull() ? "" : other->Name()->ToCString();
  std::transform(name.begin(), name.end(), name.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  if (name.find("inch") != std::string::npos) return "inches";
  if (name.find("foot") != std::string::npos || name.find("feet") != std::string::npos) {
    return "feet";
  }
  if (name.find("milli") != std::string::npos) return "millimetres";
  return "another unit";
}

double MmOf(const std::string& unit) {
  static const std::map<std::string, double> known = {{"metres", 1000},
                                                      {"centimetres", 10},
                                                      {"micrometres", 0.001},
                                                      {"inches", 25.4},
                                                      {"feet", 304.8}};
  const auto found = known.find(unit);
  return found == known.end() ? 1 : found->second;
}

bool LooksLikeStep(const std::string& name) {
  std::string ending = std::filesystem::path(name).extension().string();
  std::transform(ending.begin(), ending.end(), ending.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return ending == ".stp" || ending == ".step" || ending == ".p21";
}

}  // namespace

FileUnits FindUnits(const Handle(Interface_InterfaceModel) & model) {
  std::map<std::string, int> met;
  for (int i = 1; i <= model->NbEntities(); ++i) {
    const Handle(StepRepr_GlobalUnitAssignedContext) context = UnitsOfContext(model->Value(i));
    if (context.IsNull() || context->Units().IsNull()) continue;
    for (int unit = 1; unit <= context->NbUnits(); ++unit) {
      const std::string name = LengthUnitName(context->UnitsValue(unit));
      if (!name.empty()) ++met[name];
    }
  }
  FileUnits units;
  if (met.empty()) {
    units.notes.push_back("it names no unit of length: taken as millimetres");
    return units;
  }
  const auto most = std::max_element(
      met.begin(), met.end(), [](const auto& a, const auto& b) { return a.second < b.second; });
  units.name = most->first;
  units.mm = MmOf(units.name);
  units.inch = units.name == "inches" || units.name == "feet";
  if (met.size() > 1) {
    std::string names;
    for (const auto& [name, count] : met) names += (names.empty() ? "" : ", ") + name;
    units.notes.push_back("it mixes units of length (" + names + "): look at the sizes");
  }
  return units;
}

void NoteMissingFiles(const Handle(Interface_InterfaceModel) & model, const std::string& path,
                      std::vector<std::string>& notes) {
  std::set<std::string> names;
  for (int i = 1; i <= model->NbEntities(); ++i) {
    const auto document = Handle(StepBasic_DocumentFile)::DownCast(model->Value(i));
    const auto assigned =
        Handle(StepAP214_AppliedExternalIdentificationAssignment)::DownCast(model->Value(i));
    Handle(TCollection_HAsciiString) name;
    if (!document.IsNull()) name = document->Id();
    if (!assigned.IsNull()) name = assigned->AssignedId();
    if (!name.IsNull() && LooksLikeStep(name->ToCString())) names.insert(name->ToCString());
  }
  const std::filesystem::path folder = std::filesystem::path(path).parent_path();
  for (const std::string& name : names) {
    std::error_code failure;
    if (std::filesystem::exists(folder / name, failure)) continue;
    notes.push_back("it refers to the file " + name +
                    ", which is not beside it: what stands there is left out");
  }
}

void NoteOddSizes(const std::vector<TopoDS_Shape>& bodies, const FileUnits& units,
                  std::vector<std::string>& notes) {
  // Opinion: parts for a small lathe and mill are seldom larger or smaller than these.
  constexpr double kLargest_mm = 1200;
  constexpr double kSmallest_mm = 2.5;
  double largest_mm = 0;
  for (const TopoDS_Shape& body : bodies) {
    Bnd_Box box;
    BRepBndLib::Add(body, box, false);
    if (box.IsVoid()) continue;
    const Vec3 size = solid::ToVec(box.CornerMax()) - solid::ToVec(box.CornerMin());
    largest_mm = std::max(largest_mm, size.maxCoeff());
  }
  const auto note = [&](const char* other, double factor) {
    notes.push_back(fmt::format(
        "it says {}, which makes its largest body {:.4g} mm long; were the numbers {}, it would be "
        "{:.4g} mm: sizes look {:g} times wrong",
        units.name, largest_mm, other, largest_mm * factor, std::max(factor, 1 / factor)));
  };
  if (largest_mm > kLargest_mm) {
    if (units.mm > 1) note("millimetres", 1 / units.mm);
    if (units.mm <= 1) note("micrometres", 0.001);
  } else if (largest_mm < kSmallest_mm) {
    if (units.mm > 1) {
      note("metres", 1000 / units.mm);
    } else if (largest_mm * 25.4 > 0.5 * kSmallest_mm) {
      note("inches", 25.4);
    } else {
      note("metres", 1000);
    }
  }
}

}  // namespace fitwright::solid
