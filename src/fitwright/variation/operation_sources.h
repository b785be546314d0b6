// The one table operation -> sources. What a cut puts into a feature's place, lean and size is read
// from here and nowhere else, so that nothing is counted twice; docs/operation-sources.md prints
// it.
#pragma once

#include <span>
#include <string_view>

#include "fitwright/model/plan.h"
#include "fitwright/variation/spreads.h"

namespace fitwright::variation {

// What the source moves. S is the setup's frame: x, y across the spindle, z along it.
enum class Effect : std::uint8_t {
  kPlaceXY,     // x and y of this cut, each on its own
  kPlaceAlong,  // a wall: along its normal
  kScaleXY,     // x and y in proportion to the coordinate
  kSkewXY,      // x in proportion to y
  kHeadMove,    // x and y, per 100 mm of head movement, kHeadMove_mm assumed
  kOffAxis,     // x and y of everything on the spindle's axis
  kLeanPlunge,  // the axis leans, turning about the entry
  kRunOff,      // x and y in proportion to depth below the entry
  kThreadLean,  // the thread leans in its hole
  kTransfer,    // x and y, against the mate's hole
  kHeight,      // along z, or along the face's normal
  kWallLean,    // a wall leans about the line it was cut along
  kDishing,     // a turned face falls towards its centre, per mm of radius
  kSize,        // diameter or width
  kOversize,    // diameter over the drill's, by the drill's diameter
  kReamed,      // diameter over nominal, share of IT7
  kTaper,       // diameter in proportion to z
  kForm,        // the greatest diameter is more than the gauge found
  kSprung       // lobes of a bore in a ring that jaws pressed, per newton of one; two points do not find them
};

// Who shares one draw.
enum class Scope : std::uint8_t {
  kMachine,
  kAxis,
  kDevice,
  kTool,
  kInstrument,
  kSetup,
  kVisit,
  kAssembly
};

struct SourceUse {
  SpreadId spread;
  Effect effect;
  Scope scope;
};

// What is being cut.
enum class Work : std::uint8_t {
  kHoleInMill,     // by coordinates in mill or drill press
  kHoleOnStart,    // where a spot, a punch mark or an earlier hole leads
  kHoleOnAxis,     // on the lathe's axis
  kHoleThroughBoth,  // of a part under another, cut in one go with the hole above it
  kHoleOnMark,     // on a mark that a mate left
  kFaceFromAbove,  // planar, facing the tool
  kWall,           // planar, along the tool
  kFaceInLathe,
  kRoundOutside,
  kSunkShape,  // slot, pocket, step, flats, chamfer, groove
  kAny
};

struct OperationRow {
  Operation operation;
  Work work;
  std::span<const SourceUse> uses;
  std::string_view note;
};

// Every row. readout_position stands for dial_position on a machine without a readout.
std::span<const OperationRow> OperationTable();
// The row for an operation on a kind of work, falling back to Work::kAny; an empty row when the
// operation moves nothing.
const OperationRow& FindRow(Operation operation, Work work);

// The sources of a locating contact, by kind. Effects are the contact's own (see seating.cc).
struct ContactRow {
  ContactKind kind;
  std::span<const SourceUse> uses;
  std::string_view note;
};
std::span<const ContactRow> ContactTable();

std::string_view WordOfEffect(Effect effect);
std::string_view WordOfScope(Scope scope);
std::string_view WordOfWork(Work work);

// Head or knee movement between edge finder and boring head, assumed.
inline constexpr double kHeadMove_mm = 50;

}  // namespace fitwright::variation
