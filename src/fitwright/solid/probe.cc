#include "fitwright/solid/probe.h"

#include <BRepAdaptor_Surface.hxx>
#include <BRepBndLib.hxx>
#include <BRepTools.hxx>
#include <BRepTopAdaptor_FClass2d.hxx>
#include <TopExp_Explorer.hxx>
#include <TopoDS.hxx>
#include <array>
#include <gp_Pnt2d.hxx>
#include <gp_Vec.hxx>

#include "fitwright/solid/kernel.h"
#include "fitwright/solid/probe_internal.h"

namespace fitwright::solid {
namespace {

// How far off a face a point is taken: well clear of the kernel's noise, well within any cut.
constexpr double kOff_mm = 2e-3;
// Places on a face by its two parameters, spread over both; uneven, to keep off seams and middle
// lines.
constexpr std::array<std::array<double, 2>, 4> kPlaces = {
    {{0.137, 0.491}, {0.491, 0.863}, {0.863, 0.137}, {0.613, 0.378}}};

}  // namespace

Judge::Judge(const Solid& solid) {
  if (solid.empty()) return;
  for (TopExp_Explorer it(ShapeOf(solid), TopAbs_SOLID); it.More(); it.Next()) {
    pieces_.push_back(std::make_unique<Piece>(it.Current()));
  }
}

Judge::Piece::Piece(const TopoDS_Shape& solid) : classifier(solid) {
  BRepBndLib::Add(solid, box, false);
}

Side Judge::Of(const gp_Pnt& point) {
  for (const auto& piece : pieces_) {
    if (piece->box.IsOut(point)) continue;
    piece->classifier.Perform(point, kOnSurface_mm);
    if (piece->classifier.State() == TopAbs_IN) return Side::kIn;
    if (piece->classifier.State() != TopAbs_OUT) return Side::kOn;
  }
  return Side::kOut;
}

std::vector<Probe> MakeProbes(const TopoDS_Face& face) {
  std::vector<Probe> probes;
  double u0 = 0;
  double u1 = 0;
  double v0 = 0;
  double v1 = 0;
  BRepTools::UVBounds(face, u0, u1, v0, v1);
  const BRepAdaptor_Surface surface(face, false);
  BRepTopAdaptor_FClass2d within(face, kOnSurface_mm);
  for (const auto& place : kPlaces) {
    const gp_Pnt2d at(u0 + place[0] * (u1 - u0), v0 + place[1] * (v1 - v0));
    if (within.Perform(at) != TopAbs_IN) continue;
    gp_Pnt point;
    gp_Vec along_u;
    gp_Vec along_v;
    surface.D1(at.X(), at.Y(), point, along_u, along_v);
    gp_Vec out = along_u.Crossed(along_v);
    if (out.Magnitude() < 1e-12) continue;
    out.Normalize();
    if (face.Orientation() == TopAbs_REVERSED) out.Reverse();
    probes.push_back({point.Translated(-kOff_mm * out), point.Translated(kOff_mm * out)});
  }
  return probes;
}

namespace {

class CutJudge {
 public:
  CutJudge(const Solid& body, const std::vector<Solid>& tools, const Solid& left)
      : body_(body), left_(left), tools_(tools), judges_(tools.size()) {}
  bool Holds(const Probe& probe) {
    if (left_.Of(probe.inside) == Side::kIn) return false;
    if (body_.Of(probe.outside) != Side::kIn || left_.Of(probe.outside) != Side::kOut) return true;
    for (std::size_t i = 0; i < tools_.size(); ++i) {
      if (judges_[i] == nullptr) judges_[i] = std::make_unique<Judge>(tools_[i]);
      if (judges_[i]->Of(probe.outside) != Side::kOut) return true;
    }
    return false;
  }

 private:
  Judge body_;
  Judge left_;
  const std::vector<Solid>& tools_;
  std::vector<std::unique_ptr<Judge>> judges_;  // made when first asked
};

}  // namespace

bool IsCutSound(const Solid& body, const std::vector<Solid>& tools, const Solid& left) {
  CutJudge judge(body, tools, left);
  for (const Solid& tool : tools) {
    for (TopExp_Explorer it(ShapeOf(tool), TopAbs_FACE); it.More(); it.Next()) {
      for (const Probe& probe : MakeProbes(TopoDS::Face(it.Current()))) {
        if (!judge.Holds(probe)) return false;
      }
    }
  }
  return true;
}

bool SeenToOverlap(const Solid& a, const Solid& b) {
  Judge judge(a);
  for (TopExp_Explorer it(ShapeOf(b), TopAbs_FACE); it.More(); it.Next()) {
    for (const Probe& probe : MakeProbes(TopoDS::Face(it.Current()))) {
      if (judge.Of(probe.inside) == Side::kIn) return true;
    }
  }
  return false;
}

}  // namespace fitwright::solid
