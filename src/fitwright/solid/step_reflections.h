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
  TopoDS_Shape body;  // a solid or skin with its place in the product
  gp_Trsf by;
};
std::vector<Reflection> FindReflections(const Handle(XSControl_WorkSession) & session,
                                        std::vector<std::string>& notes);

// The place of a body in its product, mirrored where the file mirrors it.
gp_Trsf TruePlace(const TopoDS_Shape& body, const std::vector<Reflection>& reflections);

}  // namespace fitwright::solid
