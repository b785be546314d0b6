// What is said of a holding beside the device and what bears on it: from the setup's own solids and contacts.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"
#include "fitwright/planner/pieces.h"
#include "fitwright/planner/process.h"

namespace fitwright::planner {

// Where the parallels lie, and what keeps the jaws from marking finished faces; with a blank before each
// sentence, empty when there is nothing to say. bar: one lies along the moving jaw, which so stands off the piece.
// cuts: of this setup.
std::string ViseAdditions(const Setup& setup, const PieceState& piece, const std::vector<FeatureId>& cuts, const Vec3& jaw_P, bool bar);

// The first bore of the features that the vise's jaws press oval, with no more between its limits than close_mm; null: none.
const Feature* PressedOval(const Setup& setup, const PieceState& piece, const std::vector<FeatureId>& features, double close_mm);

// " Before the last cut of ... ease the vise ...": for a bore that the jaws press oval.
std::string EasingWords(const FeatureId& bore);

// How far a raw bar goes back into the chuck and stands out of it; likewise. raw: it is gripped on its own skin.
std::string BarAdditions(const Setup& setup, const PieceState& piece, bool raw);

// nullopt: it is not held in a vise.
std::optional<ViseRoom> RoomInVise(const Setup& setup);

// Where the round bar lies behind a raw side: at mid grip, else at the height nearest to it where no cut
// has opened that side, else a flat strip that bridges the openings. bar_mm: its thickness.
std::string RoundBarWords(const Setup& setup, const PieceState& piece, double bar_mm);

// How y is found by the fixed jaw. y_mm: the dial with the finder against the jaw's own face, between the jaws;
// where they stand closer than the finder is thick, the piece is touched above the jaw from behind.
struct JawZero {
  double finder_mm = 0;
  double between_mm = 0;  // the jaws stand so far apart
  double y_mm = 0;
  std::string face;       // of the piece at the fixed jaw; may be empty
};
std::string JawZeroWords(const JawZero& zero);

// Lathe: what x and z are set by, from what is cut in the setup, and the check of it.
void SayLatheZero(const PieceState& piece, const std::vector<FeatureId>& cuts, Zero& zero);

// What the indicator may read from side to side of a seated piece: the spread of a second chucking, at its size.
double MostWobble_mm(const Setup& setup, const Shop& shop);

// Work seated against jaw steps: brought down while the jaws close, and looked at: no worse than the shop's chuck
// leaves a face that is put in again two times in three.
std::string TapDownWords(const Setup& setup, const PieceState& piece, const Shop& shop);

// Upright chuck whose drills come out below: which way one jaw points; empty where no hole comes out.
std::string JawTurnWords(const Setup& setup, bool drills_come_out);

// Check of a round piece that lies in the vise across x: what the finder reads on both sides of it.
// box_S: of the piece, zero in its middle; finder_mm: diameter.
std::string RoundWitness(const Box3& box_S, double finder_mm);

}  // namespace fitwright::planner
