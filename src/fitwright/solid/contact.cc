#include <BRepAdaptor_Surface.hxx>
#include <BRepAlgoAPI_Common.hxx>
#include <BRepBndLib.hxx>
#include <BRepGProp.hxx>
#include <Bnd_Box.hxx>
#include <GProp_GProps.hxx>
#include <TopExp_Explorer.hxx>
#include <TopLoc_Location.hxx>
#include <TopTools_ListOfShape.hxx>
#include <TopoDS.hxx>
#include <algorithm>
#include <cmath>
#include <gp_Ax3.hxx>
#include <gp_Cylinder.hxx>
#include <gp_Pln.hxx>
#include <optional>

#include "fitwright/solid/kernel.h"
#include "fitwright/solid/measure.h"

namespace fitwright::solid {
namespace {

// Directions closer than this are the same: 1e-4 mm over 100 mm.
constexpr double kSameDirection_rad = 1e-6;

// A plane or a cylinder with the side its material lies on.
struct RoundOrFlat {
  TopoDS_Face face;
  bool flat = false;
  Vec3 point = Vec3::Zero();
  Vec3 direction = Vec3::UnitZ();  // flat: out of the material; round: the axis
  double radius_mm = 0;
  bool convex = false;  // round: material inside
  Bnd_Box box;
};

std::optional<RoundOrFlat> Read(const TopoDS_Face& face) {
  const BRepAdaptor_Surface surface(face, false);
  RoundOrFlat read;
  read.face = face;
  const bool reversed = face.Orientation() == TopAbs_REVERSED;
  gp_Ax3 frame;
  if (surface.GetType() == GeomAbs_Plane) {
    read.flat = true;
    frame = surface.Plane().Position();
  } else if (surface.GetType() == GeomAbs_Cylinder) {
    frame = surface.Cylinder().Position();
    read.radius_mm = surface.Cylinder().Radius();
    read.convex = frame.Direct() != reversed;
  } else {
    return std::nullopt;
  }
  read.point = ToVec(frame.Location());
  const gp_Dir z = read.flat ? frame.XDirection().Crossed(frame.YDirection()) : frame.Direction();
  read.direction = Vec3(z.X(), z.Y(), z.Z()) * (read.flat && reversed ? -1.0 : 1.0);
  BRepBndLib::Add(face, read.box, false);
  return read;
}

std::vector<RoundOrFlat> ReadFaces(const Solid& solid) {
  std::vector<RoundOrFlat> faces;
  for (TopExp_Explorer it(ShapeOf(solid), TopAbs_FACE); it.More(); it.Next()) {
    if (auto face = Read(TopoDS::Face(it.Current()))) faces.push_back(*face);
  }
  return faces;
}

// Movement that lays the jaw's face on the piece's; nothing when they do not face each other.
std::optional<Vec3> FindMating(const RoundOrFlat& piece, const RoundOrFlat& jaw,
                               const ContactOptions& options) {
  if (piece.flat != jaw.flat) return std::nullopt;
  if (piece.direction.cross(jaw.direction).norm() > kSameDirection_rad) return std::nullopt;
  const Vec3 apart = piece.point - jaw.point;
  if (piece.flat) {
    if (options.round_only) return std::nullopt;
    if (piece.direction.dot(jaw.direction) > 0) return std::nullopt;
    if (options.normal && options.normal->cross(jaw.direction).norm() > kSameDirection_rad) {
      return std::nullopt;
    }
    const double gap_mm = apart.dot(jaw.direction);
    if (std::abs(gap_mm) > options.gap_mm) return std::nullopt;
    return Vec3(gap_mm * jaw.direction);
  }
  if (options.normal || piece.convex == jaw.convex) return std::nullopt;
  const Vec3 across = apart - apart.dot(jaw.direction) * jaw.direction;
  if (across.norm() > options.gap_mm) return std::nullopt;
  if (std::abs(piece.radius_mm - jaw.radius_mm) > options.gap_mm) return std::nullopt;
  return across;
}

TopoDS_Shape CalcOverlap(const RoundOrFlat& piece, const RoundOrFlat& jaw, const Vec3& shift,
                         double gap_mm) {
  gp_Trsf trsf;
  trsf.SetTranslation(gp_Vec(shift.x(), shift.y(), shift.z()));
  const TopoDS_Shape moved = jaw.face.Moved(TopLoc_Location(trsf));
  TopTools_ListOfShape first;
  TopTools_ListOfShape second;
  first.Append(piece.face);
  second.Append(moved);
  BRepAlgoAPI_Common common;
  common.SetArguments(first);
  common.SetTools(second);
  common.SetNonDestructive(true);
  if (!piece.flat && std::abs(piece.radius_mm - jaw.radius_mm) > kGeometryNoise_mm) {
    common.SetFuzzyValue(2 * gap_mm);
  }
  common.Build();
  if (!common.IsDone() || common.HasErrors())
    throw Standard_Failure("faces do not overlap cleanly");
  return common.Shape();
}

void AddPatch(const TopoDS_Shape& overlap, const Vec3& along, ContactPatch& patch) {
  GProp_GProps props;
  BRepGProp::SurfaceProperties(overlap, props);
  if (!(props.Mass() > kGeometryNoise_mm)) return;
  // Box in a frame whose z is `along`.
  Pose X_AB = Pose::Identity();
  X_AB.linear() = ShortestTurn(along, Vec3::UnitZ());
  Bnd_Box in_along;
  BRepBndLib::AddOptimal(overlap.Moved(TopLoc_Location(ToTrsf(X_AB))), in_along, false, false);
  Bnd_Box plain;
  BRepBndLib::AddOptimal(overlap, plain, false, false);
  in_along.SetGap(0);
  plain.SetGap(0);
  const bool first = patch.area_mm2 == 0;
  const double from_mm = in_along.CornerMin().Z();
  const double to_mm = in_along.CornerMax().Z();
  const Vec3 low = ToVec(plain.CornerMin());
  const Vec3 high = ToVec(plain.CornerMax());
  patch.from_mm = first ? from_mm : std::min(patch.from_mm, from_mm);
  patch.to_mm = first ? to_mm : std::max(patch.to_mm, to_mm);
  patch.box.min_mm = first ? low : Vec3(patch.box.min_mm.cwiseMin(low));
  patch.box.max_mm = first ? high : Vec3(patch.box.max_mm.cwiseMax(high));
  patch.area_mm2 += props.Mass();
}

}  // namespace

Result<ContactPatch> CalcContact(const Solid& piece, const Solid& jaw, const Vec3& along,
                                 const ContactOptions& options) {
  return Guard("contact", [&]() -> Result<ContactPatch> {
    ContactPatch patch;
    if (piece.empty() || jaw.empty()) return patch;
    const std::vector<RoundOrFlat> jaw_faces = ReadFaces(jaw);
    for (const RoundOrFlat& on_piece : ReadFaces(piece)) {
      for (const RoundOrFlat& on_jaw : jaw_faces) {
        const std::optional<Vec3> shift = FindMating(on_piece, on_jaw, options);
        if (!shift || on_piece.box.Distance(on_jaw.box) > options.gap_mm) continue;
        AddPatch(CalcOverlap(on_piece, on_jaw, *shift, options.gap_mm), along, patch);
      }
    }
    return patch;
  });
}

Result<double> CalcContactArea_mm2(const Solid& piece, const Solid& jaw,
                                   const ContactOptions& options) {
  const Result<ContactPatch> patch = CalcContact(piece, jaw, Vec3::UnitZ(), options);
  if (!patch) return Unexpected(patch.error());
  return patch->area_mm2;
}

}  // namespace fitwright::solid
