#include "fitwright/solid/step_reflections.h"

#include <StepGeom_CartesianTransformationOperator3d.hxx>
#include <StepGeom_Direction.hxx>
#include <StepRepr_MappedItem.hxx>
#include <TopExp.hxx>
#include <TopTools_IndexedMapOfShape.hxx>
#include <TransferBRep.hxx>
#include <Transfer_TransientProcess.hxx>
#include <XSControl_TransferReader.hxx>
#include <algorithm>
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

}  // namespace

std::vector<Reflection> FindReflections(const Handle(XSControl_WorkSession) & session,
                                        std::vector<std::string>& notes) {
  std::vector<Reflection> found;
  const Handle(Transfer_TransientProcess) process = session->TransferReader()->TransientProcess();
  for (int i = 1; !process.IsNull() && i <= process->NbMapped(); ++i) {
    const auto item = Handle(StepRepr_MappedItem)::DownCast(process->Mapped(i));
    if (item.IsNull()) continue;
    if (!IsLeftHanded(
            Handle(StepGeom_CartesianTransformationOperator3d)::DownCast(item->MappingTarget())))
      continue;
    const TopoDS_Shape made = TransferBRep::ShapeResult(process, item);
    if (made.IsNull()) {
      notes.emplace_back(
          "it places a body by a reflection that cannot be read: what stands there is turned, not "
          "mirrored, and is wrong "
          "unless it is symmetrical");
      continue;
    }
    for (const TopAbs_ShapeEnum kind : {TopAbs_SOLID, TopAbs_SHELL}) {
      TopTools_IndexedMapOfShape bodies;
      TopExp::MapShapes(made, kind, bodies);
      for (int body = 1; body <= bodies.Extent(); ++body)
        found.push_back({bodies(body), Lacking(made.Location().Transformation())});
    }
  }
  return found;
}

gp_Trsf TruePlace(const TopoDS_Shape& body, const std::vector<Reflection>& reflections) {
  const gp_Trsf place = body.Location().Transformation();
  const auto mirrored = std::find_if(reflections.begin(), reflections.end(),
                                     [&](const Reflection& r) { return r.body.IsSame(body); });
  return mirrored == reflections.end() ? place : mirrored->by * place;
}

}  // namespace fitwright::solid
