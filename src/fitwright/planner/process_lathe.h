// Outside work and chamfers in the lathe share this. Private to process*.cc.
#pragma once

#include <string>

#include "fitwright/planner/process_common.h"

namespace fitwright::planner {

// Extent along z of S.
struct Span {
  double low = 0;
  double high = 0;
};
Span SpanInS(const Job& job, const Axis3& axis_P, double from_mm, double to_mm);
bool OnSpindle(const Job& job, const Axis3& axis_P);
// A block in the four-jaw or on the faceplate, not round work.
bool IsBlock(const Job& job);
std::string LatheCaution(const Job& job);
// The outside that a place of the axis lies on; 0 = none.
double OutsideAt(const Job& job, double z_S);
// Round and vee floors, by a round-nose tool or along the walls.
Status CutShapedGroove(Job& job, const Groove& groove, const Span& span, double surface_mm);
// A step of which nothing is swept: its path as it is, with the dials' readings.
void AddUnsweptPath(Job& job, Step& step, PathPiece piece);
// Whether a tool that reaches down to z_S beside the work clears the jaws.
bool ClearsJaws(const Job& job, double z_S);
// A single point for outside work: of the first kind, else of the second; null when there is none.
const Tool* FindOutside(const Job& job, ToolKind first, ToolKind second);

}  // namespace fitwright::planner
