// Private to this layer: points beside faces, and on which side of a solid they lie.
#pragma once

#include <BRepClass3d_SolidClassifier.hxx>
#include <Bnd_Box.hxx>
#include <TopoDS_Face.hxx>
#include <gp_Pnt.hxx>
#include <memory>
#include <vector>

#include "fitwright/solid/solid.h"

namespace fitwright::solid {

enum class Side { kIn, kOut, kOn };

// Answers for many points of one solid; within 1e-6 mm of its surface they are on it.
class Judge {
 public:
  explicit Judge(const Solid& solid);
  Side Of(const gp_Pnt& point);

 private:
  struct Piece {
    explicit Piece(const TopoDS_Shape& solid);
    Bnd_Box box;
    BRepClass3d_SolidClassifier classifier;
  };
  std::vector<std::unique_ptr<Piece>> pieces_;
};

// A point of a face, moved a hair (0.002 mm) into the material and out of it.
struct Probe {
  gp_Pnt inside;
  gp_Pnt outside;
};
// Up to four, none on a border.
std::vector<Probe> MakeProbes(const TopoDS_Face& face);

}  // namespace fitwright::solid
