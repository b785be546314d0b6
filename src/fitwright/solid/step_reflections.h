// Private to this layer: bodies that a file places by left-handed axes.
#pragma once

#include <TopoDS_Shape.hxx>
#include <XSControl_WorkSession.hxx>
#include <gp_Trsf.hxx>
#include <string>
#include <vector>

namespace fitwright::solid {

// The kernel's reader takes left-handed axes for a turn: what that place lacks, to be done after
// it.
struct Reflection {
  TopoDS_Shape body;  // a solid or skin
  gp_Trsf place;      // in the product, as the reader has it
  gp_Trsf by;
};
std::vector<Reflection> FindReflections(const Handle(XSControl_WorkSession) & session,
                                        std::vector<std::string>& notes);

// The place of a shape in what it belongs to, mirrored where the file mirrors it. `place`: the reader's.
gp_Trsf TruePlace(const TopoDS_Shape& shape, const gp_Trsf& place, const std::vector<Reflection>& reflections);

}  // namespace fitwright::solid
