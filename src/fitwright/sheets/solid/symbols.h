// Marks on a view: datum letters, zero with its axes, numbered holes; private to this layer.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "fitwright/sheets/solid/view_paper.h"

namespace fitwright::sheets {

// A surface that the setup locates on.
struct DatumMark {
  char letter = 'A';
  FeatureRef surface;
  std::string by;                 // "bed", "fixed jaw"
  Vec3 point_S_mm = Vec3::Zero(); // middle of its contacts
  Vec3 out_S = Vec3::UnitZ();     // out of the part
  // Of a bore: its middle, way and radius; the mark stands at its wall wherever there is room.
  std::optional<Axis3> bore_S = {};
  double radius_mm = 0;
};

// Letters in the order in which the setup's contacts are listed.
std::vector<DatumMark> FindDatums(const SetupPicture& picture);

// For each a filled triangle on the surface and its letter in a frame (ISO 5459); only where the surface
// stands edge on. They keep clear of the zero's arrows and of each other.
void DrawDatums(const SetupPicture& picture, const ViewFrame& frame, Svg& svg);

// Zero (a quartered circle) and arrows for the axes in the sense in which the dials count up.
void DrawZero(const Setup& setup, const MachineTool* machine, const ViewFrame& frame, Svg& svg);

// A hole to be placed, in S.
struct HoleMark {
  std::string label;
  Vec3 at_S_mm = Vec3::Zero();
  double radius_mm = 0;
};
std::vector<HoleMark> FindHoles(const SetupPicture& picture);
// Centre cross in chain line and a number beside it, led to where there is room.
void DrawHoles(const std::vector<HoleMark>& holes, const ViewFrame& frame, double size_mm, std::vector<Vec2> taken, Svg& svg);
// Paper places of the letters that zero and datums carry, for numbers to keep away from.
std::vector<Vec2> MarkPlaces(const SetupPicture& picture, const ViewFrame& frame);

}  // namespace fitwright::sheets
