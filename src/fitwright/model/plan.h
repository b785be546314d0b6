// The build plan: one ordered list of setups across all parts. Only planner/ writes it. Plain data;
// mm, degrees in keys that say so, minutes. Frames: P of each part, S of each setup (see shop.h).
#pragma once

#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "fitwright/base/words.h"
#include "fitwright/model/machine.h"
#include "fitwright/model/shop.h"

namespace fitwright {

enum class Technique {
  kByCoordinates, kTransferPunch, kTransferScrews, kSpotThrough, kDrillTogether, kReamDowels,
  kMachineTogether, kBoreInLine, kFitToMeasured, kBringToSize
};
template <>
struct WordsOf<Technique> {
  static constexpr auto kAll = std::to_array<Word<Technique>>(
      {{Technique::kByCoordinates, "by_coordinates"},
       {Technique::kTransferPunch, "transfer_punch"},
       {Technique::kTransferScrews, "transfer_screws"},
       {Technique::kSpotThrough, "spot_through"},
       {Technique::kDrillTogether, "drill_together"},
       {Technique::kReamDowels, "ream_dowels"},
       {Technique::kMachineTogether, "machine_together"},
       {Technique::kBoreInLine, "bore_in_line"},
       {Technique::kFitToMeasured, "fit_to_measured"},
       {Technique::kBringToSize, "bring_to_size"}});
};

enum class Operation {
  kFace, kMill, kTurn, kBore, kGroove, kChamfer, kSpot, kSpotThrough, kDrill, kReam, kCounterbore,
  kTap, kHone, kPartOff, kSaw, kAssemble, kTakeApart, kMeasure, kDeburr, kWash, kByHand,
  kThread, kKnurl, kCentreDrill, kMark, kBond, kCure, kTrial, kShape, kBroach
};
template <>
struct WordsOf<Operation> {
  static constexpr auto kAll = std::to_array<Word<Operation>>({{Operation::kFace, "face"},
                                                               {Operation::kMill, "mill"},
                                                               {Operation::kTurn, "turn"},
                                                               {Operation::kBore, "bore"},
                                                               {Operation::kGroove, "groove"},
                                                               {Operation::kChamfer, "chamfer"},
                                                               {Operation::kSpot, "spot"},
                                                               {Operation::kSpotThrough, "spot_through"},
                                                               {Operation::kDrill, "drill"},
                                                               {Operation::kReam, "ream"},
                                                               {Operation::kCounterbore, "counterbore"},
                                                               {Operation::kTap, "tap"},
                                                               {Operation::kHone, "hone"},
                                                               {Operation::kPartOff, "part_off"},
                                                               {Operation::kSaw, "saw"},
                                                               {Operation::kAssemble, "assemble"},
                                                               {Operation::kTakeApart, "take_apart"},
                                                               {Operation::kMeasure, "measure"},
                                                               {Operation::kDeburr, "deburr"},
                                                               {Operation::kWash, "wash"},
                                                               {Operation::kByHand, "by_hand"},
                                                               {Operation::kThread, "thread"},
                                                               {Operation::kKnurl, "knurl"},
                                                               {Operation::kCentreDrill, "centre_drill"},
                                                               {Operation::kMark, "mark"},
                                                               {Operation::kBond, "bond"},
                                                               {Operation::kCure, "cure"},
                                                               {Operation::kTrial, "trial"},
                                                               {Operation::kShape, "shape"},
                                                               {Operation::kBroach, "broach"}});
};

// How a locator touches the piece. normal_P points out of the locator, towards the part.
enum class ContactKind {
  kBed,            // vise bed, parallels or machine table under a face (normal +z of S)
  kFixedJaw,       // fixed jaw against a face
  kStop,           // end stop
  kEdgeFound,      // a face found with the edge finder (zero in x or y)
  kTouchedOff,     // a face touched off for zero in z
  kBoreCentred,    // spindle centred on a bore by indicator
  kOuterCentred,   // spindle or chuck centred on an outside diameter or square by indicator
  kChuckFace,      // a face seated on jaw steps or a chuck face
  kChuckGrip,      // diameter in a self-centring chuck
  kCollet,
  kMandrel,        // bore on a stub mandrel turned in place
  kSetBySquare,    // turned about an axis until a face or pin stands square (or level) by eye and square
  kAngleSet,       // turned to a stated angle by protractor, angle blocks or sine bar
  kRough,          // first seat on raw stock: gauge, no sources drawn
  kLineSet,        // turned until a scribed line stands level, by eye or scriber
  kSteady          // an outside running in the fingers of a fixed steady
};
template <>
struct WordsOf<ContactKind> {
  static constexpr auto kAll = std::to_array<Word<ContactKind>>(
      {{ContactKind::kBed, "bed"},
       {ContactKind::kFixedJaw, "fixed_jaw"},
       {ContactKind::kStop, "stop"},
       {ContactKind::kEdgeFound, "edge_found"},
       {ContactKind::kTouchedOff, "touched_off"},
       {ContactKind::kBoreCentred, "bore_centred"},
       {ContactKind::kOuterCentred, "outer_centred"},
       {ContactKind::kChuckFace, "chuck_face"},
       {ContactKind::kChuckGrip, "chuck_grip"},
       {ContactKind::kCollet, "collet"},
       {ContactKind::kMandrel, "mandrel"},
       {ContactKind::kSetBySquare, "set_by_square"},
       {ContactKind::kAngleSet, "angle_set"},
       {ContactKind::kRough, "rough"},
       {ContactKind::kLineSet, "line_set"},
       {ContactKind::kSteady, "steady"}});
};

// Contacts are listed as the hands work: supports, jaws, stop, then what zero is taken from. Where an
// edge_found, bore_centred, outer_centred or touched_off contact stands along an axis of S, the
// support, jaw or stop contacts along that axis give only the turn (and a single one gives nothing).
// A bore_centred or outer_centred pair is two contacts with normals x and y of S. set_by_square, angle_set
// and line_set give one turn: the couple about the axis through surface's other contacts.
// surface.feature is empty for raw stock.
struct Contact {
  ContactKind kind = ContactKind::kBed;
  FeatureRef surface;
  Vec3 point_P_mm = Vec3::Zero();   // in the frame of surface.part
  Vec3 normal_P = Vec3::UnitZ();
  bool lifts = false;               // a bed contact on the moving jaw's side
};

enum class FixtureRole {
  kFixedJaw, kMovingJaw, kParallel, kBed, kTable, kStop, kChuckBody, kChuckJaw, kFaceplate, kMandrel,
  kClamp, kSpindleNose, kTailstock, kSteady, kRotaryTable
};
template <>
struct WordsOf<FixtureRole> {
  static constexpr auto kAll = std::to_array<Word<FixtureRole>>(
      {{FixtureRole::kFixedJaw, "fixed_jaw"},
       {FixtureRole::kMovingJaw, "moving_jaw"},
       {FixtureRole::kParallel, "parallel"},
       {FixtureRole::kBed, "bed"},
       {FixtureRole::kTable, "table"},
       {FixtureRole::kStop, "stop"},
       {FixtureRole::kChuckBody, "chuck_body"},
       {FixtureRole::kChuckJaw, "chuck_jaw"},
       {FixtureRole::kFaceplate, "faceplate"},
       {FixtureRole::kMandrel, "mandrel"},
       {FixtureRole::kClamp, "clamp"},
       {FixtureRole::kSpindleNose, "spindle_nose"},
       {FixtureRole::kTailstock, "tailstock"},
       {FixtureRole::kSteady, "steady"},
       {FixtureRole::kRotaryTable, "rotary_table"}});
};

// box_F stands in its own frame F, which X_SF takes to S (jaws of a chuck stand at 120 degrees).
struct FixtureBox {
  Box3 box_F;
  Pose X_SF = Pose::Identity();
};
// A ring or cylinder about axis_S, from_mm..to_mm along it; inner 0 = solid.
struct FixtureCylinder {
  Axis3 axis_S;
  double from_mm = 0;
  double to_mm = 0;
  double outer_mm = 0;  // diameters
  double inner_mm = 0;
};
// A solid of the holding device where it stands in the setup. grip_normal_S: out of the jaw, towards
// the part, for solids that press on the part (jaws; mandrels and round grips leave it empty and set
// grips).
struct FixtureSolid {
  FixtureRole role = FixtureRole::kBed;
  std::variant<FixtureBox, FixtureCylinder> shape;
  bool grips = false;                // presses on the part: grip area is measured on it
  bool supports = false;             // the part rests on it
  std::optional<Vec3> grip_normal_S;
};

enum class PathKind {
  kPlunge,   // spindle tool down at points[i] (tip at depth); enters from from_z_mm
  kMill,     // spindle tool, tip along a polyline of straight cuts
  kTurn,     // lathe single point: reference point along a polyline, x = radius, y = 0
  kSaw,      // straight cut: everything beyond the plane through points[0], normal points[1], goes
  kCutAround,  // by hand: all outside a closed outline goes, from_z_mm down to the points' z
  kCutOut,     // by hand: all inside a closed outline goes, likewise
  kStroke      // an edge that looks along +x pushed straight from points[0] to points[1], x from the axis: all
               // from the axis out to it goes, as wide as the tool
};
template <>
struct WordsOf<PathKind> {
  static constexpr auto kAll = std::to_array<Word<PathKind>>({{PathKind::kPlunge, "plunge"},
                                                              {PathKind::kMill, "mill"},
                                                              {PathKind::kTurn, "turn"},
                                                              {PathKind::kSaw, "saw"},
                                                              {PathKind::kCutAround, "cut_around"},
                                                              {PathKind::kCutOut, "cut_out"},
                                                              {PathKind::kStroke, "stroke"}});
};
// Final level only: levels above it at the same places are in `levels` of the step, for the reader.
struct PathPiece {
  PathKind kind = PathKind::kPlunge;
  std::vector<Vec3> points_S_mm;
  double from_z_mm = 0;          // plunge: where the tip enters, above the material
  double set_diameter_mm = 0;    // boring head, hone: diameter it is set to; 0 = the tool's own
  // cut_around, cut_out: how far the way from points[i] to the next turns, rad, left positive;
  // 0 = straight. As many as points, or empty for all straight.
  std::vector<double> turns_rad = {};
  // On a rotary table: how far it stands turned, right hand about +z, at each of points; empty = not
  // turned. points_S_mm stay in S, which turns with the table: the spindle stands over the point that
  // the turn has brought under it.
  std::vector<double> table_deg = {};
};

// Spindle-centre reading for one hole or one end of a cut, from the setup's zero, in the sense of
// this shop's dials (senses and lathe diameter reading already applied). z is the tool's end; for a
// conical edge set in a boring head, which has no point, it is where the edge meets the rim before
// the cut, so that the last reading is the chamfer's depth below the rim.
struct Coordinate {
  std::string hole;  // "1" or "start"
  double x_mm = 0;
  double y_mm = 0;
  double z_mm = 0;
  std::optional<double> table_deg = std::nullopt;  // rotary table: its reading, x and y with it there
};

enum class AimKind { kOneShot, kBringToSize, kFitToMeasured };
template <>
struct WordsOf<AimKind> {
  static constexpr auto kAll = std::to_array<Word<AimKind>>(
      {{AimKind::kOneShot, "one_shot"},
       {AimKind::kBringToSize, "bring_to_size"},
       {AimKind::kFitToMeasured, "fit_to_measured"}});
};
// The size a step works to. fit_to_measured: target = measured mate - clearance (bore to shaft:
// + clearance); target_mm then holds the expected figure. Where `closes` names a requirement there is
// no one mate: its value is measured in a trial assembly that leaves this part out, and the length that
// the face ends is what brings the value to clearance_mm (of clearance_lower_mm to clearance_upper_mm).
struct Aim {
  AimKind kind = AimKind::kOneShot;
  double target_mm = 0;
  double lower_mm = 0;
  double upper_mm = 0;
  std::optional<FeatureRef> mate;
  double clearance_mm = 0;
  double clearance_lower_mm = 0;
  double clearance_upper_mm = 0;
  RequirementId closes = {};
};

struct MeasureLine {
  FeatureRef feature;
  InstrumentId instrument;
  std::string words;   // "mike the liner's outside at two depths"
  double lower_mm = 0;
  double upper_mm = 0;
  std::vector<FeatureRef> between = {};  // a length or a place: the two faces or axes that it lies between
};

// How two features stand to each other is looked at with an indicator while it can still be changed, and set right until it
// reads no more than `within_rad` over `span_mm`.
struct Settling {
  RequirementId requirement;
  double within_rad = 0;
  double span_mm = 0;
};

// One feature (or pattern, or some holes of one), one operation.
struct Step {
  StepId id;
  std::vector<FeatureRef> features;   // what it works on; also parts placed by assemble/take_apart
  std::vector<int> holes;             // indices into the pattern; empty = all
  Operation operation = Operation::kDrill;
  bool finishes = false;              // the feature has its final form after this step
  ToolId tool;                        // may be empty (assemble, measure)
  double rpm = 0;
  double feed_mm_min = 0;
  std::vector<Coordinate> coordinates;
  double depth_mm = 0;
  std::vector<double> levels_mm;      // depths of the passes below the surface, last = depth
  double time_min = 0;
  std::optional<Aim> aim;
  std::optional<MeasureLine> measure;
  std::string caution;
  std::string words;                  // the sentence on the sheet
  std::optional<FeatureRef> through;  // spot_through: the mate's holes
  std::vector<JointId> joints;        // assemble, take_apart
  std::vector<PartId> parts;          // assemble, take_apart: the parts that come or go; a cut: those
                                      // that it goes through in one go
  std::vector<PathPiece> path;
  double wait_min = 0;                // goes by without hands: an adhesive curing
  std::optional<Settling> settles;    // a bore before its last cuts; parts while their adhesive is wet
};

struct Zero {
  FeatureRef x_from;                  // which surfaces give the zero
  FeatureRef y_from;
  FeatureRef z_from;
  Vec3 point_P_mm = Vec3::Zero();     // in the frame of the setup's first part
  std::string routine;                // words, with finder diameter
  std::string witness;                // "spindle over the far left corner reads X 30.000 Y -28.000"
};

// How a piece that stands at an angle is brought to it. angle_deg: what the sine bar, protractor or
// line makes with the table. By sine bar: the blocks under its roll, of the shop's own set, each once;
// none for an angle of 0.
enum class AngleBy { kScribedLine, kProtractor, kSineBar };
template <>
struct WordsOf<AngleBy> {
  static constexpr auto kAll = std::to_array<Word<AngleBy>>({{AngleBy::kScribedLine, "scribed_line"},
                                                             {AngleBy::kProtractor, "protractor"},
                                                             {AngleBy::kSineBar, "sine_bar"}});
};
struct AngleSetting {
  AngleBy by = AngleBy::kSineBar;
  double angle_deg = 0;
  double stack_mm = 0;
  std::vector<double> blocks_mm;
  double line_mm = 0;                 // by scribed line: its length
};

struct PartPose {
  PartId part;
  Pose X_PS = Pose::Identity();       // setup frame (origin at zero) in the part frame
  bool held = true;                   // false: comes in by an assemble step
};

struct Setup {
  SetupId id;
  int number = 0;                     // from 1, in the order of work
  MachineToolId machine;
  HoldingKind holding = HoldingKind::kViseBedFirst;
  HoldingDeviceId device;
  std::vector<PartPose> parts;        // the first is the one located; others are joined to it
  std::string up;                     // "+z of body"; lathe: what faces the tailstock
  std::vector<Contact> contacts;      // empty for bench work
  bool keeps_chucking = false;        // the piece stays as it was in the setup before, same device
  Zero zero;
  std::vector<FixtureSolid> fixtures;
  double opening_mm = 0;              // vise opening or gripped diameter
  double grip_depth_mm = 0;
  double parallels_mm = 0;
  double time_min = 0;                // seating and zero, then steps
  std::vector<SetupId> waits_for;
  std::string hold_words;             // "Vise, bed first, on 20 mm parallels, front against the fixed jaw"
  std::vector<std::string> leave_it_in;  // notes
  std::vector<std::string> cautions;
  std::vector<std::string> reasons;   // why this setup, this datum
  std::vector<Step> steps;
  std::optional<AngleSetting> angle = std::nullopt;  // the piece stands at an angle
  double tailstock_over_mm = 0;       // lathe: the tailstock's centre stands so far off the axis, + towards the operator
};

// What was chosen for a joint, or for a requirement that a technique serves (flush: machine_together).
struct TechniqueOption {
  Technique technique = Technique::kByCoordinates;
  int first = 0;                      // spot_through: holes put in first (one located by the spigot,
                                      // or by coordinates where nothing else locates)
  double odds = 0;
  double time_min = 0;
};
struct JointPlan {
  std::string name;                   // joint or requirement
  std::string kind;                   // its kind's word
  std::vector<PartId> parts;
  Technique technique = Technique::kByCoordinates;
  int first = 0;
  std::vector<TechniqueOption> alternatives;
  std::string reason;
};

struct PlannedPart {
  PartId name;
  int quantity = 1;
  std::string material;
  std::string stock;                  // "flat bar 60 x 55 x 92, sawn"
  double mass_g = 0;
};

struct CauseShare {
  std::string source;                 // a sentence about something in the shop
  std::string group;                  // spread id
  double share = 0;
};

// Chances 0..1. low..high: sampling doubt (95 %); shop_low..shop_high: doubt about the spreads.
struct Chance {
  double odds = 0;
  double low = 0;
  double high = 0;
  double shop_low = 0;
  double shop_high = 0;
};
struct RequirementOdds {
  RequirementId name;
  RequirementKind kind = RequirementKind::kClearance;
  std::string limits;                 // words
  Chance chance;
  double mean = 0;                    // of the measured quantity, in its unit (mm or rad)
  double sigma = 0;
  std::vector<CauseShare> causes;     // shares sum to 1, the last is "rest"
};
struct Odds {
  Chance all;
  std::int64_t builds = 0;
  std::uint64_t seed = 0;
  std::vector<RequirementOdds> requirements;
  double blunders_expected = 0;       // never inside the odds
  std::vector<std::string> assumed;   // which figures were defaults, what is not modelled
};

enum class PinKind { kTechnique, kAim, kZero, kOrder, kFirstFace, kMachine, kHolding, kTool, kSetup, kMade };
template <>
struct WordsOf<PinKind> {
  static constexpr auto kAll = std::to_array<Word<PinKind>>({{PinKind::kTechnique, "technique"},
                                                             {PinKind::kAim, "aim"},
                                                             {PinKind::kZero, "zero"},
                                                             {PinKind::kOrder, "order"},
                                                             {PinKind::kFirstFace, "datum"},
                                                             {PinKind::kMachine, "machine"},
                                                             {PinKind::kHolding, "holding"},
                                                             {PinKind::kTool, "tool"},
                                                             {PinKind::kSetup, "setup"},
                                                             {PinKind::kMade, "made"}});
};
// A choice of the builder's, as choices.toml writes it.
struct Pin {
  PinKind kind = PinKind::kTechnique;
  std::string subject;   // technique: joint or requirement; aim, setup: part.feature; zero, datum: part.setup
                         // direction ("body.+z"); order: a part; machine, holding: any of the three; tool, made:
                         // a part or part.feature
  std::string value;     // technique word; aim word or a size; zero: "edges" or "bore"; datum: feature;
                         // order: the part that comes before; machine, tool: its name; holding: a device's
                         // name or a way of holding; setup: the side that is up ("+z") or a feature that is
                         // cut in the same setup; made: "already". All but aim, order and made: also "not ..."
  int first = 0;         // technique spot_through
  friend auto operator<=>(const Pin&, const Pin&) = default;
};
struct Choices {
  std::vector<Pin> pins;
};

struct Advice {
  std::string say;
  std::vector<Pin> pins;
  double odds_before = 0;
  double odds_after = 0;
  double minutes_delta = 0;
  std::vector<Pin> other = {};        // that would make it the other way, with odds_before
  double gain_low = 0;                // 95 % interval of odds_after - odds_before
  double gain_high = 0;
};

struct BuyLine {
  std::string what;
  int quantity = 1;
  std::string why;
};

struct PlanChoice {
  std::string name;
  double odds = 0;
  double hours_expected = 0;
  std::vector<Pin> pins;
};

struct Plan {
  std::string project;
  std::string version;
  std::string inputs_hash;
  std::uint64_t seed = 0;
  double hours_cutting = 0;
  double hours_expected = 0;
  Odds odds;
  std::vector<PlannedPart> parts;
  std::vector<Setup> setups;
  std::vector<JointPlan> joints;
  std::vector<Advice> advice;
  std::vector<PlanChoice> choices;
  std::vector<BuyLine> buy;
  std::vector<std::string> assumed;
  std::vector<std::string> warnings;
};

// Step or feature that a reader can look up.
struct ReplayViolation {
  StepId step;
  std::string rule;  // snake_case word from replay's closed list
  std::string say;
};
struct ReplayPart {
  PartId name;
  int steps = 0;
  std::vector<ReplayViolation> violations;
  double design_volume_mm3 = 0;
  double made_volume_mm3 = 0;
  double difference_mm3 = 0;  // volume of the symmetric difference
};
struct ReplayReport {
  bool ok = false;
  std::vector<ReplayPart> parts;
};

}  // namespace fitwright
