#include "fitwright/solid/kernel.h"

#include <BRepGProp.hxx>
#include <BRep_Builder.hxx>
#include <GProp_GProps.hxx>
#include <TopAbs_ShapeEnum.hxx>
#include <TopExp_Explorer.hxx>
#include <TopoDS_Compound.hxx>
#include <cmath>

namespace fitwright::solid {

Solid Wrap(const TopoDS_Shape& shape) {
  if (shape.IsNull()) return {};
  BRep_Builder builder;
  TopoDS_Compound compound;
  builder.MakeCompound(compound);
  bool any = false;
  for (TopExp_Explorer it(shape, TopAbs_SOLID); it.More(); it.Next()) {
    builder.Add(compound, it.Current());
    any = true;
  }
  if (!any) return {};
  return Solid(std::make_shared<const KernelShape>(compound));
}

double CalcQuickVolume_mm3(const Solid& solid) {
  if (solid.empty()) return 0;
  const KernelShape& shape = *solid.shape();
  double volume_mm3 = shape.quick_volume_mm3.load();
  if (std::isnan(volume_mm3)) {
    GProp_GProps props;
    BRepGProp::VolumeProperties(shape.shape, props);
    volume_mm3 = props.Mass();
    shape.quick_volume_mm3.store(volume_mm3);
  }
  return volume_mm3;
}

const TopoDS_Shape& ShapeOf(const Solid& solid) {
  FW_CHECK(!solid.empty(), "the empty solid has no shape");
  return solid.shape()->shape;
}

Error KernelError(std::string_view what, std::string_view detail) {
  return Error{ErrorCode::kKernel,
               fmt::format("the solid kernel failed: {} ({})", what, detail),
               "",
               "report the sheet that leads here",
               {}};
}

Error RangeError(std::string message, std::string value, std::string remedy) {
  return Error{ErrorCode::kOutOfRange, std::move(message), std::move(value), std::move(remedy), {}};
}

gp_Trsf ToTrsf(const Pose& X_AB) {
  const auto& m = X_AB.matrix();
  gp_Trsf trsf;
  trsf.SetValues(m(0, 0), m(0, 1), m(0, 2), m(0, 3), m(1, 0), m(1, 1), m(1, 2), m(1, 3), m(2, 0),
                 m(2, 1), m(2, 2), m(2, 3));
  return trsf;
}

gp_Ax2 ToAx2(const Axis3& axis) {
  // A seam at an odd angle: neither on a frame axis nor on a diagonal.
  constexpr double kSeam_rad = 0.4142;
  const Vec3 d = axis.direction.normalized();
  Vec3 across = d.cross(Vec3::UnitX());
  if (across.norm() < 0.5) across = d.cross(Vec3::UnitY());
  across.normalize();
  const Vec3 x = Eigen::AngleAxisd(kSeam_rad, d) * across;
  return {ToPnt(axis.point_mm), ToDir(d), ToDir(x)};
}

}  // namespace fitwright::solid
