// What features need and leave: tool sides, faces that come with another cut, order inside a setup,
// and the material that stands after each cut.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "fitwright/model/part.h"

namespace fitwright::planner {

// Turned work: a cylinder of material from_mm..to_mm along the turning axis.
struct Band {
  double from_mm = 0;
  double to_mm = 0;
  double diameter_mm = 0;
  std::optional<FeatureId> feature;  // the OuterDiameter that it is; empty: raw bar
  double inner_diameter_mm = 0;      // tube, cored casting; 0 = solid
  friend bool operator==(const Band&, const Band&) = default;
};

// Material as it stands between setups.
struct PieceState {
  const Part* part = nullptr;
  Box3 box_P;                        // block: what is left of the stock
  std::vector<Band> bands;           // turned: ascending, no gaps
  std::vector<FeatureId> made;       // in the order made
  bool IsMade(const FeatureId& id) const;
  bool IsCut() const;                // something has been cut, so that raw surfaces are no seat any more
};

// The stock's own surface, never cut.
bool IsAsSupplied(const Feature& feature);
// The stock with what is as supplied on it made. A bar whose outside stays as supplied is that outside over
// its whole length; hex bar stands for the circle about its corners.
PieceState RawPiece(const Part& part);
// The feature is cut with the tool coming along -up_P; a planar face is left leave_mm proud.
void ApplyCut(PieceState& piece, const Feature& feature, const Vec3& up_P, double leave_mm);
// Everything beyond the face's plane plus leave_mm is parted or sawn off; with nothing left on, the face is
// made.
void ApplyPartOff(PieceState& piece, const Feature& face, double leave_mm);
// Box in P around the material present.
Box3 BoxOf(const PieceState& piece);
// Extent of the material along a unit direction of P: least and greatest.
std::pair<double, double> ExtentOf(const PieceState& piece, const Vec3& direction_P);
// What is left of the outermost side `normal_P`, as an extent along `along_P`: a step taken from the
// side's edge shortens it.
std::pair<double, double> SideSpan(const PieceState& piece, const Vec3& normal_P, const Vec3& along_P);
// The made planar face that bounds the material on the side of normal_P; nothing while it is raw.
std::optional<FeatureId> FinishedFace(const PieceState& piece, const Vec3& normal_P);

// Unit directions in P that the tool may come from (out of the material). For turned features about the
// turning axis both ends are listed where the shape allows; reach past larger diameters is checked.
std::vector<Vec3> ToolSides(const Part& part, const Feature& feature);
// Planar faces that the cutting of `feature` makes as well: shoulders, floors.
std::vector<FeatureId> CarriedFaces(const Part& part, const Feature& feature);
// A face that some other feature makes when it is cut.
bool IsCarried(const Part& part, const Feature& face);
// Rank inside a setup: faces, outsides (large first), steps and pockets, bores (large first), holes,
// grooves, chamfers last.
int CutRank(const Feature& feature);
bool IsTurned(const Part& part, const Feature& feature);  // about the turning axis
// Its outline is cut: no flat sides are left to hold it by.
bool HasItsOutline(const PieceState& piece);
// Cut from sheet too thin for a machine.
bool IsSheet(const Part& part);
// Made on the bench: letters, outlines, slots thinner than any cutter, whatever is cut from sheet.
bool IsHandWork(const Part& part, const Feature& feature);
// A key's seat along a bore.
bool IsHubKeyway(const Feature& feature);
Axis3 AxisOf(const Feature& feature, const Part& part);   // of a round feature or pattern

}  // namespace fitwright::planner
