// Shapes bounded by planes alone, named by how their walls stand to each other: what a part's
// unread plane faces would be, and whether a round cutter can make them.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "fitwright/recognize/placed_graph.h"

namespace fitwright::recognize {

enum class SharpKind {
  kSlope,         // one plane that breaks an edge
  kPassage,       // walls all round, open at both ends
  kPocket,        // walls all round, a floor
  kVee,           // two slanting walls that meet, open along both ends
  kChannel,       // floor and two walls
  kShortChannel,  // the same with a wall across one end
  kStep,          // floor and wall
  kSlantingStep,  // its wall slants across the part, from side to side
  kBentStep,      // floor and two walls that meet bluntly
  kCornerStep,    // floor and two walls square to each other
  kCutCorner      // floor and one wall that slants across a corner
};

struct SharpShape {
  SharpKind kind = SharpKind::kSlope;
  int walls = 0;  // planes, the floor among them
  std::vector<std::size_t> faces;
  // Inside corners that a cutter whose axis looks into it leaves round.
  bool HasSharpCorners() const { return kind == SharpKind::kPassage || kind == SharpKind::kPocket; }
};

// A plane of the box round the part.
bool IsOutside(const PlacedGraph& graph, const PlacedFace& face);

// Groups of planes off the part's outside that hang together by inward bends, and nothing else with
// them. Where the group is none of the kinds it is left out. Turning, moving or scaling the part
// changes nothing.
std::vector<SharpShape> FindSharpShapes(const PlacedGraph& graph);

// "a pocket of six walls with sharp inside corners: ..."
std::string WordsOf(const SharpShape& shape);

}  // namespace fitwright::recognize
