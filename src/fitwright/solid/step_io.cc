#include "fitwright/solid/step_io.h"

#include <APIHeaderSection_MakeHeader.hxx>
#include <BRepBuilderAPI_Copy.hxx>
#include <IFSelect_ReturnStatus.hxx>
#include <Interface_Static.hxx>
#include <Message.hxx>
#include <Message_Messenger.hxx>
#include <Message_PrinterOStream.hxx>
#include <STEPCAFControl_Controller.hxx>
#include <STEPCAFControl_Reader.hxx>
#include <STEPCAFControl_Writer.hxx>
#include <StepData_StepModel.hxx>
#include <StepRepr_NextAssemblyUsageOccurrence.hxx>
#include <TCollection_ExtendedString.hxx>
#include <TCollection_HAsciiString.hxx>
#include <TDF_LabelSequence.hxx>
#include <TDataStd_Name.hxx>
#include <TDocStd_Document.hxx>
#include <TopLoc_Location.hxx>
#include <XCAFApp_Application.hxx>
#include <XCAFDoc_DocumentTool.hxx>
#include <XCAFDoc_ShapeTool.hxx>
#include <XSControl_WorkSession.hxx>
#include <cstdio>
#include <filesystem>
#include <map>
#include <mutex>

#include "fitwright/solid/kernel.h"

namespace fitwright::solid {
namespace {

// The kernel's STEP code keeps process-wide state.
std::mutex& StepLock() {
  static std::mutex lock;
  return lock;
}

void Quieten() {
  Message::DefaultMessenger()->RemovePrinters(STANDARD_TYPE(Message_PrinterOStream));
}

Error FileError(ErrorCode code, const std::string& path, const char* what) {
  Error error;
  error.code = code;
  error.message = what;
  error.where.file = path;
  error.remedy = "check the path and its rights";
  return error;
}

// Closes the document however the scope is left.
class Document {
 public:
  Document() { XCAFApp_Application::GetApplication()->NewDocument("MDTV-XCAF", document_); }
  ~Document() { XCAFApp_Application::GetApplication()->Close(document_); }
  Document(const Document&) = delete;
  Document& operator=(const Document&) = delete;
  const Handle(TDocStd_Document) & get() const { return document_; }
  Handle(XCAFDoc_ShapeTool) shapes() const {
    return XCAFDoc_DocumentTool::ShapeTool(document_->Main());
  }

 private:
  Handle(TDocStd_Document) document_;
};

void FillAssembly(const std::vector<NamedSolid>& solids, const StepWriting& writing,
                  const Document& document) {
  const Handle(XCAFDoc_ShapeTool) tool = document.shapes();
  const TDF_Label assembly = tool->NewShape();
  TDataStd_Name::Set(assembly, TCollection_ExtendedString(writing.assembly_name.c_str()));
  std::map<std::string, TDF_Label> products;
  std::map<std::string, int> copies;
  for (const NamedSolid& named : solids) {
    auto found = products.find(named.name);
    if (found == products.end()) {
      const TDF_Label label =
          tool->AddShape(BRepBuilderAPI_Copy(ShapeOf(named.solid)).Shape(), false);
      TDataStd_Name::Set(label, TCollection_ExtendedString(named.name.c_str()));
      found = products.emplace(named.name, label).first;
    }
    const TDF_Label placed =
        tool->AddComponent(assembly, found->second, TopLoc_Location(ToTrsf(named.X_WP)));
    const int copy = ++copies[named.name];
    const std::string instance = copy == 1 ? named.name : fmt::format("{}#{}", named.name, copy);
    TDataStd_Name::Set(placed, TCollection_ExtendedString(instance.c_str()));
  }
  tool->UpdateAssemblies();
}

Handle(TCollection_HAsciiString) Text(const std::string& text) {
  return new TCollection_HAsciiString(text.c_str());
}

void FillHeader(STEPCAFControl_Writer& writer, const StepWriting& writing) {
  const Handle(StepData_StepModel) model =
      Handle(StepData_StepModel)::DownCast(writer.ChangeWriter().WS()->Model());
  APIHeaderSection_MakeHeader header(model);
  header.SetName(Text(writing.assembly_name));
  header.SetTimeStamp(Text(writing.timestamp));
  header.SetAuthorValue(1, Text(""));
  header.SetOrganizationValue(1, Text(""));
  header.SetOriginatingSystem(Text("fitwright"));
  header.SetPreprocessorVersion(Text("fitwright"));
  header.SetDescriptionValue(1, Text(writing.assembly_name));
}

// The kernel numbers placements on from the last file this process wrote: start anew.
void RenumberPlacements(const STEPCAFControl_Writer& writer) {
  const Handle(Interface_InterfaceModel) model = writer.Writer().WS()->Model();
  int number = 0;
  for (int i = 1; i <= model->NbEntities(); ++i) {
    const auto placement = Handle(StepRepr_NextAssemblyUsageOccurrence)::DownCast(model->Value(i));
    if (!placement.IsNull()) placement->SetId(Text(std::to_string(++number)));
  }
}

Status WriteLocked(const std::vector<NamedSolid>& solids, const std::string& path,
                   const StepWriting& writing) {
  Quieten();
  STEPCAFControl_Controller::Init();
  const bool inch = writing.unit == LengthUnit::kInch;
  Interface_Static::SetCVal("write.step.unit", inch ? "INCH" : "MM");
  Interface_Static::SetCVal("write.step.schema", "AP214IS");
  Interface_Static::SetCVal("write.step.product.name", writing.assembly_name.c_str());
  Document document;
  FillAssembly(solids, writing, document);
  STEPCAFControl_Writer writer;
  writer.SetNameMode(true);
  if (!writer.Transfer(document.get(), STEPControl_AsIs)) {
    return Unexpected(KernelError("STEP", "the solids could not be put into the file's terms"));
  }
  FillHeader(writer, writing);
  RenumberPlacements(writer);
  const std::string partial = path + ".partial";
  const bool written = writer.Write(partial.c_str()) == IFSelect_RetDone;
  std::error_code failure;
  if (written) std::filesystem::rename(partial, path, failure);
  if (!written || failure) {
    std::filesystem::remove(partial, failure);
    return Unexpected(FileError(ErrorCode::kFileUnwritable, path, "the file cannot be written"));
  }
  return Ok{};
}

std::string NameOfLabel(const TDF_Label& label) {
  Handle(TDataStd_Name) name;
  if (!label.FindAttribute(TDataStd_Name::GetID(), name)) return "";
  std::string text(static_cast<std::size_t>(name->Get().LengthOfCString()), '\0');
  char* buffer = text.data();
  name->Get().ToUTF8CString(buffer);
  return text;
}

Pose ToPose(const TopLoc_Location& place) {
  const gp_Trsf trsf = place.Transformation();
  Pose pose = Pose::Identity();
  for (int row = 0; row < 3; ++row) {
    for (int column = 0; column < 4; ++column) {
      pose.matrix()(row, column) = trsf.Value(row + 1, column + 1);
    }
  }
  return pose;
}

std::vector<NamedSolid> ReadComponents(const Handle(XCAFDoc_ShapeTool) & tool,
                                       const TDF_Label& root) {
  std::vector<NamedSolid> found;
  TDF_LabelSequence components;
  XCAFDoc_ShapeTool::GetComponents(root, components);
  for (int i = 1; i <= components.Length(); ++i) {
    TDF_Label product;
    if (!XCAFDoc_ShapeTool::GetReferredShape(components.Value(i), product)) continue;
    found.push_back({NameOfLabel(product), Wrap(tool->GetShape(product)),
                     ToPose(XCAFDoc_ShapeTool::GetLocation(components.Value(i)))});
  }
  return found;
}

}  // namespace

Status WriteStep(const std::vector<NamedSolid>& solids, const std::string& path,
                 const StepWriting& writing) {
  for (const NamedSolid& named : solids) {
    if (!named.solid.empty()) continue;
    return Unexpected(
        RangeError("nothing is left of " + named.name + " to write", named.name, "leave it out"));
  }
  if (solids.empty()) return Unexpected(RangeError("no solid to write", "", "name a part"));
  const std::scoped_lock lock(StepLock());
  return Guard("STEP", [&] { return WriteLocked(solids, path, writing); });
}

Result<std::vector<NamedSolid>> ReadStepForTest(const std::string& path) {
  const std::scoped_lock lock(StepLock());
  return Guard("STEP", [&]() -> Result<std::vector<NamedSolid>> {
    Quieten();
    STEPCAFControl_Controller::Init();
    STEPCAFControl_Reader reader;
    reader.SetNameMode(true);
    const IFSelect_ReturnStatus status = reader.ReadFile(path.c_str());
    if (status == IFSelect_RetError) {
      return Unexpected(FileError(ErrorCode::kFileMissing, path, "the file is missing"));
    }
    if (status != IFSelect_RetDone) {
      return Unexpected(FileError(ErrorCode::kFileUnreadable, path, "the file cannot be read"));
    }
    Document document;
    Handle(TDocStd_Document) target = document.get();
    if (!reader.Transfer(target)) return Unexpected(KernelError("STEP", "no solids came over"));
    std::vector<NamedSolid> found;
    TDF_LabelSequence roots;
    document.shapes()->GetFreeShapes(roots);
    for (int i = 1; i <= roots.Length(); ++i) {
      for (NamedSolid& one : ReadComponents(document.shapes(), roots.Value(i))) {
        found.push_back(std::move(one));
      }
    }
    return found;
  });
}

}  // namespace fitwright::solid
