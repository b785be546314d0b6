#include "fitwright/solid/step_reflections.h"

#include <StepGeom_CartesianTransformationOperator3d.hxx>
#include <StepGeom_Direction.hxx>
#include <StepRepr_MappedItem.hxx>
#include <StepRepr_Representation.hxx>
#include <StepRepr_RepresentationMap.hxx>
#include <StepToGeom.hxx>
#include <TopExp.hxx>
#include <TopTools_IndexedMapOfShape.hxx>
#include <TransferBRep.hxx>
#include <Transfer_TransientProcess.hxx>
#include <XSControl_TransferReader.hxx>
#include <algorithm>
#include <cmath>
#include <gp_Ax2.hxx>

#include "fitwright/units/geometry.h"

namespace fitwright::solid {
namespace {

Vec3 DirectionOf(const Handle(StepGeom_Direction) & direction) {
  Vec3 found = Vec3::Zero();
  for (int i = 1; i <= std::min(3, direction->NbDirectionRatios()); ++i) {
    found[i - 1] = direction->DirectionRatiosValue(i);
  }
  return found;
}

bool IsLeftHanded(const Handle(StepGeom_CartesianTransformationOperator3d) & place) {
  if (place.IsNull() || !place->HasAxis1() || !place->HasAxis2() || !place->HasAxis3())
    return false;
  Eigen::Matrix3d axes;
  axes.col(0) = DirectionOf(place->Axis1());
  axes.col(1) = DirectionOf(place->Axis2());
  axes.col(2) = DirectionOf(place->Axis3());
  return axes.determinant() < 0;
}

// The reader keeps the first and the third axis and turns the second round.
gp_Trsf Lacking(const gp_Trsf& place) {
  gp_Trsf mirror;
  mirror.SetMirror(gp_Ax2(gp_Pnt(0, 0, 0), gp_Dir(0, 1, 0)));
  return place * mirror * place.Inverted();
}

bool IsSamePlace(const gp_Trsf& a, const gp_Trsf& b) {
  for (int row = 1; row <= 3; ++row) {
    for (int column = 1; column <= 4; ++column) {
      if (std::abs(a.Value(row, column) - b.Value(row, column)) > 1e-6) return false;
    }
  }
  return true;
}

// The reader keeps what an item places, not the item itself: its bodies are found by shape and place.
void AddBodies(const TopoDS_Shape& placed, const gp_Trsf& place, std::vector<Reflection>& found) {
  for (const TopAbs_ShapeEnum kind : {TopAbs_SOLID, TopAbs_SHELL}) {
    TopTools_IndexedMapOfShape bodies;
    TopExp::MapShapes(placed, kind, bodies);
    for (int body = 1; body <= bodies.Extent(); ++body) {
      found.push_back({bodies(body), place * bodies(body).Location().Transformation(), Lacking(place)});
    }
  }
}

}  // namespace

std::vector<Reflection> FindReflections(const Handle(XSControl_WorkSession) & session, std::vector<std::string>& notes) {
  std::vector<Reflection> found;
  const Handle(Transfer_TransientProcess) process = session->TransferReader()->TransientProcess();
  const Handle(Interface_InterfaceModel) model = session->Model();
  for (int i = 1; !process.IsNull() && i <= model->NbEntities(); ++i) {
    const auto item = Handle(StepRepr_MappedItem)::DownCast(model->Value(i));
    if (item.IsNull() || item->MappingSource().IsNull()) continue;
    const auto axes = Handle(StepGeom_CartesianTransformationOperator3d)::DownCast(item->MappingTarget());
    if (!IsLeftHanded(axes)) continue;
    gp_Trsf place;
    const TopoDS_Shape placed = TransferBRep::ShapeResult(process, item->MappingSource()->MappedRepresentation());
    if (placed.IsNull() || !StepToGeom::MakeTransformation3d(axes, place)) {
      notes.emplace_back("it places a body by a reflection that cannot be read: what stands there is turned, not mirrored, and is wrong "
                         "unless it is symmetrical");
      continue;
    }
    AddBodies(placed, place, found);
  }
  return found;
}

gp_Trsf TruePlace(const TopoDS_Shape& shape, const gp_Trsf& place, const std::vector<Reflection>& reflections) {
  if (reflections.empty()) return place;
  for (const TopAbs_ShapeEnum kind : {TopAbs_SOLID, TopAbs_SHELL}) {
    TopTools_IndexedMapOfShape bodies;
    TopExp::MapShapes(shape, kind, bodies);
    for (int body = 1; body <= bodies.Extent(); ++body) {
      const gp_Trsf whole = place * bodies(body).Location().Transformation();
      const auto mirrored = std::find_if(reflections.begin(), reflections.end(), [&](const Reflection& r) {
        return r.body.IsPartner(bodies(body)) && IsSamePlace(r.place, whole);
      });
      if (mirrored != reflections.end()) return mirrored->by * place;
    }
  }
  return place;
}

}  // namespace fitwright::solid
