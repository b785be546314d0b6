// Private to this layer: what a document of the kernel demands of faces (AP242's semantic sizes and
// limits of form and place).
#pragma once

#include <Interface_InterfaceModel.hxx>
#include <TDocStd_Document.hxx>
#include <TopoDS_TShape.hxx>
#include <map>
#include <string>
#include <vector>

#include "fitwright/solid/step_reading.h"

namespace fitwright::solid {

// Where each face of the file went: a shape of the message and its place there. A face of a body
// that is placed mirrored as well stands in two; an edge stands for the faces beside it that are
// not flat.
struct FacePlace {
  std::size_t shape = 0;
  std::size_t face = 0;
};
using FacePlaces = std::multimap<const TopoDS_TShape*, FacePlace>;

// In the document's order; `model` is the file that it was made from. What stands on no face, or is
// of a kind that no sheet has, is said in notes. The kernel's exceptions pass through.
std::vector<StatedLimit> FindStatedLimits(const Handle(TDocStd_Document) & document,
                                          const Handle(Interface_InterfaceModel) & model,
                                          const FacePlaces& places,
                                          std::vector<std::string>& notes);

}  // namespace fitwright::solid
