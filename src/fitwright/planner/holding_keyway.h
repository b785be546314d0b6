// A key's seat along a bore: what its setup asks of the piece, of the shop and of whatever holds it. Frame P
// of the part, mm.
#pragma once

#include <optional>
#include <string>

#include "fitwright/planner/holding.h"

namespace fitwright::planner {

// The sketch cuts a key's seat along a bore (then nothing else).
bool CutsHubKeyway(const SetupSketch& sketch, const PieceState& piece);
// From the bore's axis towards the seat; nothing when none is cut.
std::optional<Vec3> KeywaySide(const SetupSketch& sketch, const PieceState& piece);
// Diameter that what stands behind the piece leaves free for the bit to run out; 0 when none is cut.
double KeywayRoom_mm(const SetupSketch& sketch, const PieceState& piece);
// The point of the bore's axis that lies square to the part's origin along up_P.
Vec3 HubAxisFoot(const SetupSketch& sketch, const PieceState& piece);

// Diameter of the bore that the seat is cut from: the narrowest hole about its axis over its length; 0 = none.
double HubBore_mm(const Part& part, const Keyway& keyway);
// Of this kind, of the seat's width, that goes through its bore and cuts as deep: the shortest; null when none.
const Tool* FindKeywayTool(const Shop& shop, const Part& part, const Feature& feature, ToolKind kind);
// The bore is there, and nothing of the bar is left before or behind it.
bool HubBoreStands(const SetupSketch& sketch, const PieceState& piece, std::string* why);
// One sentence: what hinders, and what would let it be made.
std::string WhyNoKeyway(const SetupSketch& sketch, const PieceState& piece, const Shop& shop);

// The piece in the chuck turned to the seat, the spindle locked; other setups come back as they are. Errors:
// kNoPlan where nothing that shows how the piece is turned is reached, or the bit does not run out.
Result<HeldPiece> SetForKeyway(HeldPiece held, const SetupSketch& sketch, const PieceState& piece, const Shop& shop);
// How a broach is pressed through.
std::string PressWords(const SetupSketch& sketch, const PieceState& piece);

}  // namespace fitwright::planner
