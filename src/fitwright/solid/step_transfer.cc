#include "fitwright/solid/step_transfer.h"

#include <BRepAdaptor_Surface.hxx>
#include <BRepBuilderAPI_Transform.hxx>
#include <BRepGProp.hxx>
#include <BRepLib.hxx>
#include <GProp_GProps.hxx>
#include <IFSelect_ReturnStatus.hxx>
#include <Message.hxx>
#include <Message_Messenger.hxx>
#include <Message_PrinterOStream.hxx>
#include <STEPCAFControl_Controller.hxx>
#include <STEPCAFControl_ExternFile.hxx>
#include <STEPCAFControl_Reader.hxx>
#include <Standard_OutOfMemory.hxx>
#include <StepShape_FaceSurface.hxx>
#include <StepShape_SolidModel.hxx>
#include <TCollection_HAsciiString.hxx>
#include <TDF_LabelSequence.hxx>
#include <TDataStd_Name.hxx>
#include <TDocStd_Document.hxx>
#include <TopExp.hxx>
#include <TopLoc_Location.hxx>
#include <TopTools_IndexedMapOfShape.hxx>
#include <TopoDS.hxx>
#include <TransferBRep.hxx>
#include <Transfer_TransientProcess.hxx>
#include <XCAFApp_Application.hxx>
#include <XCAFDoc_DocumentTool.hxx>
#include <XCAFDoc_ShapeTool.hxx>
#include <XSControl_TransferReader.hxx>
#include <XSControl_WorkSession.hxx>
#include <algorithm>
#include <cmath>
#include <map>
#include <new>
#include <sstream>
#include <tuple>

#include "fitwright/solid/kernel.h"
#include "fitwright/solid/solid_bytes.h"
#include "fitwright/solid/step_limits.h"
#include "fitwright/solid/step_looks.h"
#include "fitwright/solid/step_reflections.h"

namespace fitwright::solid {
namespace {

constexpr int kDeepest = 64;          // assemblies within assemblies
constexpr std::size_t kMost = 20000;  // placed bodies

Error Unreadable(std::string message, std::string remedy) {
  return {ErrorCode::kFileUnreadable, std::move(message), "", std::move(remedy), {}};
}

std::string NameOf(const TDF_Label& label) {
  Handle(TDataStd_Name) name;
  if (!label.FindAttribute(TDataStd_Name::GetID(), name)) return "";
  std::string text(static_cast<std::size_t>(name->Get().LengthOfCString()), '\0');
  char* buffer = text.data();
  name->Get().ToUTF8CString(buffer);
  return text;
}

// Names that the file gives to faces and solids themselves, by what the kernel made of these.
using ItemNames = std::map<const TopoDS_TShape*, std::string>;

void CollectNames(const Handle(XSControl_WorkSession) & session, ItemNames& names) {
  const Handle(Transfer_TransientProcess) process = session->TransferReader()->TransientProcess();
  for (int i = 1; !process.IsNull() && i <= process->NbMapped(); ++i) {
    const Handle(Standard_Transient) entity = process->Mapped(i);
    const bool face = entity->IsKind(STANDARD_TYPE(StepShape_FaceSurface));
    if (!face && !entity->IsKind(STANDARD_TYPE(StepShape_SolidModel))) continue;
    const auto item = Handle(StepRepr_RepresentationItem)::DownCast(entity);
    const TopoDS_Shape made = TransferBRep::ShapeResult(process, entity);
    if (made.IsNull() || item->Name().IsNull()) continue;
    TopTools_IndexedMapOfShape all;
    TopExp::MapShapes(made, face ? TopAbs_FACE : TopAbs_SOLID, all);
    for (int part = 1; part <= all.Extent(); ++part) {
      names[all(part).TShape().get()] = item->Name()->ToCString();
    }
  }
}

std::string NameIn(const ItemNames& names, const TopoDS_Shape& shape) {
  const auto found = names.find(shape.TShape().get());
  return found == names.end() ? "" : found->second;
}

TopoDS_Shape Changed(const TopoDS_Shape& body, const gp_Trsf& by) {
  TopoDS_Shape changed = BRepBuilderAPI_Transform(body, by, true).Shape();
  GProp_GProps props;
  BRepGProp::VolumeProperties(changed, props);
  if (props.Mass() < 0) changed.Reverse();
  return changed;
}

// A movement out of the kernel's, freed of rounding.
Pose ToRigid(const gp_Trsf& trsf, double scale) {
  Pose pose = Pose::Identity();
  for (int row = 0; row < 3; ++row) {
    for (int column = 0; column < 3; ++column) {
      pose.matrix()(row, column) = trsf.Value(row + 1, column + 1) / scale;
    }
    pose.matrix()(row, 3) = trsf.Value(row + 1, 4);
  }
  const Eigen::Quaterniond turn(Eigen::Matrix3d(pose.linear()));
  pose.linear() = turn.normalized().toRotationMatrix();
  return pose;
}

// The products of a document put where they stand.
class Walk {
 public:
  Walk(const Handle(XCAFDoc_ShapeTool) & tool, ItemNames names, const Handle(XSControl_WorkSession) & session)
      : tool_(tool), names_(std::move(names)) {
    reflections_ = FindReflections(session, message_.notes);
  }

  void Visit(const TDF_Label& label, const TopLoc_Location& at, std::vector<std::string> path) {
    if (path.size() > kDeepest || message_.placed.size() > kMost) {
      too_much_ = true;
      return;
    }
    const std::string name = NameOf(label);
    if (!XCAFDoc_ShapeTool::IsAssembly(label)) {
      PlaceProduct(label, name, at.Transformation(), std::move(path));
      return;
    }
    path.push_back(name);
    TDF_LabelSequence components;
    XCAFDoc_ShapeTool::GetComponents(label, components);
    for (int i = 1; i <= components.Length(); ++i) {
      TDF_Label product;
      if (!XCAFDoc_ShapeTool::GetReferredShape(components.Value(i), product)) continue;
      const gp_Trsf own = XCAFDoc_ShapeTool::GetLocation(components.Value(i)).Transformation();
      Visit(product, at * TopLoc_Location(TruePlace(tool_->GetShape(product), own, reflections_)), path);
    }
  }

  void TakeLimits(const Handle(TDocStd_Document) & document,
                  const Handle(Interface_InterfaceModel) & model) {
    message_.limits = FindStatedLimits(document, model, face_places_, message_.notes);
  }

  bool too_much() const { return too_much_; }
  StepMessage& message() { return message_; }
  const std::vector<TopoDS_Shape>& bodies() const { return bodies_; }

 private:
  void PlaceProduct(const TDF_Label& label, const std::string& name, const gp_Trsf& at,
                    std::vector<std::string> path) {
    const TopoDS_Shape shape = tool_->GetShape(label);
    if (shape.IsNull()) return;
    auto found = products_.find(shape.TShape().get());
    if (found == products_.end()) {
      found =
          products_.emplace(shape.TShape().get(), FindBodies(shape, name, message_.notes)).first;
    }
    const bool several = found->second.size() > 1;
    if (several) path.push_back(name);
    for (const TopoDS_Shape& body : found->second) {
      PlacedShape placed;
      placed.name = several ? NameIn(names_, body) : name;
      placed.path = path;
      const gp_Trsf own = body.Location().Transformation();
      Place(body, at * TruePlace(body.Located(TopLoc_Location()), own, reflections_), std::move(placed));
    }
  }

  // Shapes are kept as they are drawn; only what no movement can do is done to them.
  void Place(const TopoDS_Shape& body, const gp_Trsf& at, PlacedShape placed) {
    // The kernel's own word for a reflection misses those that are written by axes.
    const double stretch = at.VectorialPart().Determinant();
    const double scale = std::cbrt(std::abs(stretch));
    gp_Trsf place = at;
    placed.mirrored = stretch < 0;
    gp_Trsf mirror;
    mirror.SetMirror(gp_Ax2(gp_Pnt(0, 0, 0), gp_Dir(1, 0, 0)));
    if (placed.mirrored) place.Multiply(mirror);
    placed.X_WF = ToRigid(place, scale);
    const Key key{body.TShape().get(), body.Orientation(), placed.mirrored,
                  std::llround(scale * 1e9)};
    const auto [found, fresh] = shapes_.emplace(key, bodies_.size());
    placed.shape = found->second;
    if (fresh) {
      TopoDS_Shape own = body.Located(TopLoc_Location());
      Label(own);
      gp_Trsf scaling;
      scaling.SetScaleFactor(scale);
      if (std::abs(scale - 1) > 1e-9) {
        own = Changed(own, scaling);
        message_.notes.push_back(fmt::format("{}: placed {:g} times its size", placed.name, scale));
      }
      bodies_.push_back(placed.mirrored ? Changed(own, mirror) : own);
    }
    message_.placed.push_back(std::move(placed));
  }

  // Limits may be written on a face or on the rim of a round one.
  void TakePlaces(const TopoDS_Face& face, const FacePlace& place) {
    face_places_.emplace(face.TShape().get(), place);
    if (BRepAdaptor_Surface(face, false).GetType() == GeomAbs_Plane) return;
    TopTools_IndexedMapOfShape edges;
    TopExp::MapShapes(face, TopAbs_EDGE, edges);
    for (int i = 1; i <= edges.Extent(); ++i) face_places_.emplace(edges(i).TShape().get(), place);
  }

  void Label(const TopoDS_Shape& body) {
    std::vector<std::string> labels;
    TopTools_IndexedMapOfShape faces;
    TopExp::MapShapes(body, TopAbs_FACE, faces);
    for (int i = 1; i <= faces.Extent(); ++i) {
      labels.push_back(NameIn(names_, faces(i)));
      TakePlaces(TopoDS::Face(faces(i)),
                 {message_.face_labels.size(), static_cast<std::size_t>(i - 1)});
    }
    message_.face_labels.push_back(std::move(labels));
  }

  using Key = std::tuple<const TopoDS_TShape*, TopAbs_Orientation, bool, long long>;
  Handle(XCAFDoc_ShapeTool) tool_;
  ItemNames names_;
  std::vector<Reflection> reflections_;
  StepMessage message_;
  std::vector<TopoDS_Shape> bodies_;  // of each of the message's shapes
  std::map<const TopoDS_TShape*, std::vector<TopoDS_Shape>> products_;
  std::map<Key, std::size_t> shapes_;
  FacePlaces face_places_;
  bool too_much_ = false;
};

ItemNames NamesOf(const STEPCAFControl_Reader& reader) {
  ItemNames names;
  CollectNames(reader.Reader().WS(), names);
  for (NCollection_DataMap<TCollection_AsciiString, Handle(STEPCAFControl_ExternFile)>::Iterator it(
           reader.ExternFiles());
       it.More(); it.Next()) {
    if (!it.Value().IsNull() && !it.Value()->GetWS().IsNull())
      CollectNames(it.Value()->GetWS(), names);
  }
  return names;
}

Result<StepMessage> Finish(Walk& walk, const STEPCAFControl_Reader& reader,
                           const std::string& path) {
  StepMessage message = std::move(walk.message());
  if (walk.too_much()) {
    return Unexpected(
        Unreadable(fmt::format("it places more than {} bodies or nests assemblies deeper than {}",
                               kMost, kDeepest),
                   "export the parts wanted, not the whole"));
  }
  const Handle(Interface_InterfaceModel) model = reader.Reader().WS()->Model();
  NoteMissingFiles(model, path, message.notes);
  if (message.placed.empty()) {
    std::string why;
    for (const std::string& note : message.notes) why += "; " + note;
    return Unexpected(Unreadable("it reads without fault but holds no closed body" + why,
                                 "export solids, not surfaces, meshes or a drawing"));
  }
  for (const TopoDS_Shape& body : walk.bodies()) {
    const Result<std::string> bytes = ToBytes(Wrap(body));
    if (!bytes) return Unexpected(bytes.error());
    message.shapes.push_back(*bytes);
  }
  const FileUnits units = FindUnits(model);
  message.written_in = units.inch ? LengthUnit::kInch : LengthUnit::kMillimetre;
  message.notes.insert(message.notes.end(), units.notes.begin(), units.notes.end());
  NoteOddSizes(walk.bodies(), units, message.notes);
  return message;
}

Result<StepMessage> Transfer(const std::string& path, const std::string& text, bool limits) {
  Message::DefaultMessenger()->RemovePrinters(STANDARD_TYPE(Message_PrinterOStream));
  STEPCAFControl_Controller::Init();
  XCAFDoc_ShapeTool::SetAutoNaming(false);
  STEPCAFControl_Reader reader;
  reader.SetNameMode(true);
  reader.SetColorMode(false);
  reader.SetLayerMode(false);
  reader.SetPropsMode(false);
  reader.SetGDTMode(limits);
  std::istringstream in(text);
  if (reader.ChangeReader().ReadStream(path.c_str(), in) != IFSelect_RetDone) {
    return Unexpected(Unreadable("it breaks the rules of ISO 10303-21: its text cannot be parsed",
                                 "export it again"));
  }
  Handle(TDocStd_Document) document;
  XCAFApp_Application::GetApplication()->NewDocument("MDTV-XCAF", document);
  if (!reader.Transfer(document)) {
    return Unexpected(Unreadable("it reads without fault but holds no shape",
                                 "export solids, not a drawing or a list of parts"));
  }
  const Handle(XCAFDoc_ShapeTool) tool = XCAFDoc_DocumentTool::ShapeTool(document->Main());
  Walk walk(tool, NamesOf(reader), reader.Reader().WS());
  TDF_LabelSequence roots;
  tool->GetFreeShapes(roots);
  for (int i = 1; i <= roots.Length(); ++i) walk.Visit(roots.Value(i), TopLoc_Location(), {});
  if (limits) walk.TakeLimits(document, reader.Reader().WS()->Model());
  return Finish(walk, reader, path);
}

}  // namespace

Result<StepMessage> TransferStep(const std::string& path, const std::string& text, bool limits) {
  try {
    return Transfer(path, text, limits);
  } catch (const Standard_OutOfMemory&) {
    throw std::bad_alloc();
  } catch (const Standard_Failure& failure) {
    const char* detail = failure.GetMessageString();
    return Unexpected(Unreadable(
        fmt::format("the reader failed on it ({})", detail != nullptr ? detail : "no detail"),
        "export it again, by other settings or from another program"));
  }
}

}  // namespace fitwright::solid
