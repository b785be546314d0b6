#include "fitwright/solid/apart.h"

#include <BRep_Tool.hxx>
#include <TopExp_Explorer.hxx>
#include <TopoDS.hxx>
#include <algorithm>
#include <cmath>
#include <optional>
#include <vector>

#include "fitwright/solid/face_reach.h"
#include "fitwright/solid/kernel.h"
#include "fitwright/solid/measure.h"
#include "fitwright/solid/probe_internal.h"

namespace fitwright::solid {
namespace {

// 1e-8 mm over 100 mm.
constexpr double kSameDirection = 1e-10;

bool AreParallel(const Vec3& a, const Vec3& b) { return a.cross(b).norm() < kSameDirection; }

std::vector<FaceReach> FacesOf(const TopoDS_Shape& shape) {
  std::vector<FaceReach> faces;
  for (TopExp_Explorer it(shape, TopAbs_FACE); it.More(); it.Next())
    faces.emplace_back(TopoDS::Face(it.Current()));
  return faces;
}

// A plane (how far along its normal) or a cylinder (how far from its axis) that may part two
// solids.
struct Parting {
  bool plane = true;
  Axis3 axis;
  Reach tool;  // the whole tool

  Reach Of(const FaceReach& face) const {
    return plane ? face.Along(axis.direction) : face.About(axis);
  }
  bool IsBeside(const EdgeReach& edge, double depth_mm) const {
    const Reach its = plane ? edge.Along(axis.direction) : edge.About(axis);
    return tool.to_mm <= its.from_mm + depth_mm || its.to_mm <= tool.from_mm + depth_mm;
  }
};

std::optional<Parting> PartingOf(const FaceReach& face, const std::vector<FaceReach>& tool) {
  if (!face.IsPlane() && !face.IsCylinder()) return std::nullopt;
  Parting made;
  made.plane = face.IsPlane();
  made.axis = face.axis();
  made.tool = made.Of(tool.front());
  for (const FaceReach& one : tool) made.tool.Include(made.Of(one));
  return made;
}

bool Parts(const Parting& parting, const FaceReach& face, double depth_mm) {
  const Reach its = parting.Of(face);
  return parting.tool.to_mm <= its.from_mm + depth_mm ||
         its.to_mm <= parting.tool.from_mm + depth_mm;
}

class Tool {
 public:
  explicit Tool(const TopoDS_Shape& piece) : faces_(FacesOf(piece)) {
    for (const FaceReach& face : faces_) {
      box_.Add(face.box());
      if (auto parting = PartingOf(face, faces_)) own_.push_back(*parting);
    }
  }
  // Nothing of the face lies deeper in the piece.
  bool IsClearOf(const FaceReach& face, double depth_mm) const {
    if (face.box().IsOut(box_)) return true;
    const auto lies_on = [&](const FaceReach& one) { return face.LiesOn(one, depth_mm); };
    const auto parts = [&](const Parting& one) { return Parts(one, face, depth_mm); };
    if (std::any_of(own_.begin(), own_.end(), parts)) return true;
    if (std::any_of(faces_.begin(), faces_.end(), lies_on)) return true;
    const auto its = PartingOf(face, faces_);
    if (its && Parts(*its, face, depth_mm)) return true;
    return face.IsPlane() && IsHoleIn(face, depth_mm);
  }

 private:
  // Of a prism that stands square on the cap's plane.
  static bool IsSideOf(const FaceReach& cap, const FaceReach& side) {
    if (side.IsCylinder()) return AreParallel(cap.axis().direction, side.axis().direction);
    return side.IsPlane() &&
           std::abs(cap.axis().direction.dot(side.axis().direction)) < kSameDirection;
  }
  // The piece goes straight through the plane, with one section all the way, and the face has a
  // hole there: no border of it runs within the section and a point of the section is no point of
  // it.
  bool IsHoleIn(const FaceReach& face, double depth_mm) const {
    const FaceReach* cap = nullptr;
    int caps = 0;
    for (const FaceReach& one : faces_) {
      if (IsSideOf(face, one)) continue;
      const bool parallel =
          one.IsPlane() && AreParallel(face.axis().direction, one.axis().direction);
      if (!parallel || ++caps > 2) return false;
      cap = &one;
    }
    if (caps != 2) return false;
    const auto beside = [&](const EdgeReach& edge) {
      return std::any_of(own_.begin(), own_.end(),
                         [&](const Parting& one) { return one.IsBeside(edge, depth_mm); }) ||
             std::any_of(faces_.begin(), faces_.end(),
                         [&](const FaceReach& one) { return one.HoldsArc(edge, depth_mm); });
    };
    if (!std::all_of(face.edges().begin(), face.edges().end(), beside)) return false;
    const std::vector<Probe> probes = MakeProbes(cap->face());
    if (probes.empty()) return false;
    const Vec3 inside = ToVec(probes.front().inside);
    const Vec3& normal = face.axis().direction;
    return !face.Holds(inside - normal.dot(inside - face.axis().point_mm) * normal);
  }

  std::vector<FaceReach> faces_;
  std::vector<Parting> own_;
  Bnd_Box box_;
};

}  // namespace

struct ApartProbe::Body {
  explicit Body(const Solid& solid) : judge(solid) {
    if (!solid.empty()) faces = FacesOf(ShapeOf(solid));
  }
  // By points a hair inside the piece; all of them unless one that is air will do.
  Meeting ByPoints(const TopoDS_Shape& piece, bool one_will_do) {
    for (TopExp_Explorer it(piece, TopAbs_FACE); it.More(); it.Next()) {
      for (const Probe& probe : MakeProbes(TopoDS::Face(it.Current()))) {
        const Side side = judge.Of(probe.inside);
        if (side == Side::kIn) return Meeting::kOverlap;
        if (side == Side::kOut && one_will_do) return Meeting::kApart;
      }
    }
    return Meeting::kUnknown;
  }
  Meeting Meet(const TopoDS_Shape& piece, double depth_mm) {
    const Tool tool(piece);
    const bool clear = std::all_of(faces.begin(), faces.end(), [&](const FaceReach& face) {
      return tool.IsClearOf(face, depth_mm);
    });
    return ByPoints(piece, clear);
  }

  std::vector<FaceReach> faces;
  Judge judge;
};

ApartProbe::ApartProbe(const Solid& body) : body_(std::make_unique<Body>(body)) {}
ApartProbe::~ApartProbe() = default;
ApartProbe::ApartProbe(ApartProbe&&) noexcept = default;
ApartProbe& ApartProbe::operator=(ApartProbe&&) noexcept = default;

std::vector<double> MakeFingerprint(const Solid& solid) {
  std::vector<double> found = {CalcVolume_mm3(solid), static_cast<double>(CountFaces(solid))};
  if (solid.empty()) return found;
  for (TopExp_Explorer it(ShapeOf(solid), TopAbs_VERTEX); it.More(); it.Next()) {
    const gp_Pnt corner = BRep_Tool::Pnt(TopoDS::Vertex(it.Current()));
    found.insert(found.end(), {corner.X(), corner.Y(), corner.Z()});
  }
  return found;
}

Meeting ApartProbe::Meet(const Solid& tool, double depth_mm) const {
  if (tool.empty()) return Meeting::kApart;
  const auto met = Guard("points of a tool", [&]() -> Result<Meeting> {
    Meeting all = Meeting::kApart;
    for (TopExp_Explorer it(ShapeOf(tool), TopAbs_SOLID); it.More(); it.Next()) {
      const Meeting one = body_->Meet(it.Current(), depth_mm);
      if (one == Meeting::kOverlap) return one;
      if (one == Meeting::kUnknown) all = one;
    }
    return all;
  });
  return met ? *met : Meeting::kUnknown;
}

}  // namespace fitwright::solid
