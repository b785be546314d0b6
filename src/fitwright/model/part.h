// A part as its sheet says it: stock, envelope and features (names after ISO 10303-224, with the
// shop's word where it is shorter). All geometry in the part frame P, mm. Plain data.
#pragma once

#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "fitwright/base/words.h"
#include "fitwright/model/closed_line.h"
#include "fitwright/model/ids.h"
#include "fitwright/units/geometry.h"
#include "fitwright/units/size.h"

namespace fitwright {

enum class StockForm { kFlat, kSquare, kRound, kHex, kTube, kPlate, kCasting };
template <>
struct WordsOf<StockForm> {
  static constexpr auto kAll = std::to_array<Word<StockForm>>(
      {{StockForm::kFlat, "flat"},
       {StockForm::kSquare, "square"},
       {StockForm::kRound, "round"},
       {StockForm::kHex, "hex"},
       {StockForm::kTube, "tube"},
       {StockForm::kPlate, "plate"},
       {StockForm::kCasting, "casting"}});
};

// The stock as it lies around the finished part.
struct Stock {
  StockForm form = StockForm::kFlat;
  Box3 box_P;              // flat, square, plate, and the casting of a block
  Axis3 axis_P;            // round, hex, tube, turned casting: from_mm and to_mm along it from its point
  double diameter_mm = 0;  // round, tube, casting: outside; hex: across flats
  double inner_diameter_mm = 0;   // tube, cored casting; 0 = solid
  double from_mm = 0;
  double to_mm = 0;
  Vec3 flat_normal_P = Vec3::UnitX();  // hex: the way one flat looks
  double allowance_mm = 0;        // casting: metal left on every face that is to be cut
  double skin_mm = 0;             // casting, black bar: hard or scaled outside that the first cut goes under
  double out_of_square_mm = 1;    // sawn ends: how far an end leans over the stock's width
  double under_mm = 0;            // limits of the supplied section: how much smaller ...
  double over_mm = 0;             // ... or larger than its name a bar may come
  bool proposed = false;   // not stated in the sheet
  bool IsRound() const {
    return form == StockForm::kRound || form == StockForm::kTube ||
           (form == StockForm::kCasting && diameter_mm > 0);
  }
  // Runs along axis_P.
  bool IsBar() const { return IsRound() || form == StockForm::kHex; }
};

// The plane normal_P . p = at.nominal_mm; normal_P points out of the material.
struct PlanarFace {
  Vec3 normal_P = Vec3::UnitZ();
  Size at;
};

enum class HoleUse { kHole, kBore, kCounterbore };
enum class HoleBottom { kFlat, kPoint118, kPoint135 };
template <>
struct WordsOf<HoleBottom> {
  static constexpr auto kAll = std::to_array<Word<HoleBottom>>(
      {{HoleBottom::kFlat, "flat"}, {HoleBottom::kPoint118, "118"}, {HoleBottom::kPoint135, "135"}});
};

// depth_mm: full thread, from the entry surface.
struct InternalThread {
  std::string designation;  // "M3", a row of trade's thread table
  double major_mm = 0;
  double pitch_mm = 0;
  double depth_mm = 0;
};

// Hole i of count stands at first_deg + i * 360 / count, counted from zero_P towards
// axis x zero (right hand about axis_P.direction, which points out of the entry surface).
struct CirclePattern {
  Axis3 axis_P;
  Vec3 zero_P = Vec3::UnitX();
  double diameter_mm = 0;
  double first_deg = 0;
  int count = 0;
};

// One or more equal round holes, made from the entry side. A tapped hole's diameter is its tap drill's.
struct Hole {
  HoleUse use = HoleUse::kHole;
  Vec3 into_P = -Vec3::UnitZ();     // unit, into the material
  std::vector<Vec3> entries_P_mm;   // centres on the entry surface
  std::optional<CirclePattern> circle;  // how entries_P_mm were given, when on a circle
  Size diameter;
  double depth_mm = 0;              // full diameter, without the point; through: to the exit surface
  bool through = false;             // runs out into air (an outer surface or another hole)
  HoleBottom bottom = HoleBottom::kPoint118;
  std::optional<InternalThread> thread;
};

// A cylinder of the envelope of a turned part, or a boss on a block, from_mm..to_mm along the axis.
struct OuterDiameter {
  bool spigot = false;
  Axis3 axis_P;
  double from_mm = 0;
  double to_mm = 0;
  Size diameter;
};

// Obround with round ends; along_P is the long direction; length over all.
struct Slot {
  Vec3 into_P = -Vec3::UnitZ();
  Vec3 centre_P_mm = Vec3::Zero();  // on the entry surface
  Vec3 along_P = Vec3::UnitX();
  double length_mm = 0;
  Size width;
  double depth_mm = 0;
  bool through = false;
};

// Rectangle with rounded corners and a flat bottom.
struct Pocket {
  Vec3 into_P = -Vec3::UnitZ();
  Vec3 centre_P_mm = Vec3::Zero();
  Vec3 along_P = Vec3::UnitX();
  double length_mm = 0;
  double width_mm = 0;
  double corner_radius_mm = 0;
  double depth_mm = 0;
};

// A box taken from a corner: open to the outside on into_P's side and at least one more.
struct StepCut {
  Vec3 into_P = -Vec3::UnitZ();
  Box3 removed_P;
};

// On the straight edge between two planar faces: legs measured along each face from the edge.
// rounded: a convex round of radius leg_a_mm = leg_b_mm that is tangent to both faces instead.
struct EdgeChamfer {
  FeatureId face_a;
  FeatureId face_b;
  double leg_a_mm = 0;
  double leg_b_mm = 0;
  bool rounded = false;
};

// On the circular edge of a bore (opens it) or an outer diameter (breaks it). rounded: a convex
// quarter round of radius axial_mm = radial_mm. countersink: seats a screw's head.
struct RoundChamfer {
  FeatureId on;
  bool at_start = true;  // entry side of a hole; the from_mm end of an outer diameter
  double axial_mm = 0;
  double radial_mm = 0;
  bool rounded = false;
  bool countersink = false;
};

// Section of a groove: square floor and walls; a half-round floor (diameter = the width) with straight
// walls above it; or two walls that lean by half of vee_deg each from the middle, down to a floor as
// wide as they leave at `diameter`.
enum class GrooveProfile { kSquare, kRound, kVee };
template <>
struct WordsOf<GrooveProfile> {
  static constexpr auto kAll = std::to_array<Word<GrooveProfile>>(
      {{GrooveProfile::kSquare, "square"}, {GrooveProfile::kRound, "round"}, {GrooveProfile::kVee, "vee"}});
};

// Ring groove: outside (cuts down to diameter) or inside a bore (opens to diameter). An undercut is
// a groove against a shoulder. from_mm..to_mm: its width at the surface.
struct Groove {
  bool internal = false;
  bool undercut = false;
  Axis3 axis_P;
  double from_mm = 0;
  double to_mm = 0;
  Size diameter;         // of the floor; round: of its deepest line
  GrooveProfile profile = GrooveProfile::kSquare;
  double vee_deg = 0;    // kVee: between the walls
};

// Flats on round work, all as far from the axis; first_normal_P is square to the axis and the others
// follow it evenly about the axis. across: between opposite flats; of one or three flats, from the flat
// to the far side of the outer diameter.
struct Flats {
  Axis3 axis_P;
  double from_mm = 0;
  double to_mm = 0;
  Size across;
  Vec3 first_normal_P = Vec3::UnitX();
  int count = 2;         // 1 2 3 4 6
};

// A cone, from_mm..to_mm along the axis: outside it takes an outer diameter down, inside it opens a
// bore. Limits hold for the larger end; angle_limit_deg is how far the whole cone angle may be off.
struct Taper {
  bool internal = false;
  Axis3 axis_P;
  double from_mm = 0;
  double to_mm = 0;
  Size start_diameter;   // at from_mm
  Size end_diameter;     // at to_mm
  double angle_limit_deg = 0;
};

// On an outer diameter, from one of its ends. Solids stand at the blank's diameter: cutting a thread
// takes nothing away.
struct ExternalThread {
  FeatureId on;
  bool at_start = true;      // begins at the from_mm end of the diameter
  double length_mm = 0;      // of full thread
  std::string designation;
  double major_mm = 0;
  double pitch_mm = 0;
};

// A parallel key's seat along a shaft (internal = false) or through a hub's bore. floor_mm: from the
// axis to the floor. A shaft's has round ends inside from_mm..to_mm and is open where one of them is
// the shaft's end; a hub's runs right through.
struct Keyway {
  bool internal = false;
  Axis3 axis_P;
  double from_mm = 0;
  double to_mm = 0;
  Size width;
  double floor_mm = 0;
  Vec3 side_P = Vec3::UnitX();  // from the axis towards the key, square to the axis
};

enum class KnurlPattern { kStraight, kDiamond };
template <>
struct WordsOf<KnurlPattern> {
  static constexpr auto kAll = std::to_array<Word<KnurlPattern>>(
      {{KnurlPattern::kStraight, "straight"}, {KnurlPattern::kDiamond, "diamond"}});
};
// On an outer diameter; takes nothing away.
struct Knurl {
  FeatureId on;
  double from_mm = 0;
  double to_mm = 0;
  double pitch_mm = 0;
  KnurlPattern pattern = KnurlPattern::kDiamond;
};

// Letters cut or stamped into a face; takes nothing away.
struct Marking {
  Vec3 into_P = -Vec3::UnitZ();
  Vec3 at_P_mm = Vec3::Zero();       // middle of the text, on the face
  Vec3 along_P = Vec3::UnitX();      // reading direction
  std::string text;
  double height_mm = 0;
  double depth_mm = 0;
};

// The outside of the part seen along into_P: the union of discs and straight bars, its inside corners
// rounded by inside_radius_mm; all of the envelope outside it goes, over its whole depth. Points are
// u along u_P and v along v_P from origin_P_mm, with u_P x v_P = -into_P.
// Or one closed line, of straight stretches and arcs, instead of discs and bars: what lies outside it
// goes, or (within: a cutout) what lies inside it. depth_mm: from the plane of origin_P_mm down; 0 = over
// the whole depth of the part.
struct Outline {
  struct Disc {
    Vec2 centre_mm = Vec2::Zero();
    double diameter_mm = 0;
  };
  struct Bar {  // square-ended, from a to b, width across
    Vec2 a_mm = Vec2::Zero();
    Vec2 b_mm = Vec2::Zero();
    double width_mm = 0;
  };
  Vec3 into_P = -Vec3::UnitZ();
  Vec3 origin_P_mm = Vec3::Zero();
  Vec3 u_P = Vec3::UnitX();
  Vec3 v_P = Vec3::UnitY();
  std::vector<Disc> discs;
  std::vector<Bar> bars;
  double inside_radius_mm = 0;
  ClosedLine line;
  bool within = false;
  double depth_mm = 0;
};

using FeatureShape =
    std::variant<PlanarFace, Hole, OuterDiameter, Slot, Pocket, StepCut, EdgeChamfer, RoundChamfer,
                 Groove, Flats, Taper, ExternalThread, Keyway, Knurl, Marking, Outline>;

// kAsSupplied: the stock's own surface, which is not cut.
enum class Finish { kAsMachined, kHoned, kLapped, kAsSupplied };
template <>
struct WordsOf<Finish> {
  static constexpr auto kAll = std::to_array<Word<Finish>>({{Finish::kAsMachined, "as_machined"},
                                                            {Finish::kHoned, "honed"},
                                                            {Finish::kLapped, "lapped"},
                                                            {Finish::kAsSupplied, "as_supplied"}});
};

// A limit of form or place on one feature, ISO 1101's characteristics in plain words.
enum class GeometricKind { kFlat, kRound, kCylindrical, kSquare, kParallel, kPosition, kCoaxial, kRunOut };
template <>
struct WordsOf<GeometricKind> {
  static constexpr auto kAll = std::to_array<Word<GeometricKind>>({{GeometricKind::kFlat, "flat"},
                                                                   {GeometricKind::kRound, "round"},
                                                                   {GeometricKind::kCylindrical, "cylindrical"},
                                                                   {GeometricKind::kSquare, "square"},
                                                                   {GeometricKind::kParallel, "parallel"},
                                                                   {GeometricKind::kPosition, "position"},
                                                                   {GeometricKind::kCoaxial, "coaxial"},
                                                                   {GeometricKind::kRunOut, "run_out"}});
};
struct GeometricLimit {
  GeometricKind kind = GeometricKind::kFlat;
  double within_mm = 0;              // width of the zone; position, coaxial: its diameter; run_out: full reading
  std::optional<FeatureId> datum;    // none for flat, round, cylindrical
};

struct Feature {
  FeatureId name;
  FeatureShape shape;
  Finish finish = Finish::kAsMachined;
  bool do_not_grip = false;  // a finished seal or bearing face
  std::string note;
  std::optional<double> ra_um = std::nullopt;  // ISO 21920 Ra, at most
  std::vector<GeometricLimit> geometric = {};
};

enum class EnvelopeKind { kBlock, kTurned };

// Faces of a solid read from a file that no feature explains: there the part is the file's, not what
// its features build, and is shaped by hand.
struct UnreadRegion {
  std::vector<std::size_t> faces;  // their places among those of the file's solid
  double area_mm2 = 0;
  double volume_mm3 = 0;           // of the difference between the file's solid and the rebuilt one here
  std::string why;
};

struct Part {
  PartId name;
  std::string material;        // a row of trade's material table
  LengthUnit sheet_unit = LengthUnit::kMillimetre;
  std::string general_tolerance = "m";  // ISO 2768-1 class
  EnvelopeKind envelope = EnvelopeKind::kBlock;
  Box3 block_P;                // kBlock: the six faces are PlanarFace features too
  Axis3 turning_axis_P;        // kTurned: the envelope is the union of the OuterDiameters
  Stock stock;
  std::vector<Feature> features;  // in the sheet's order; faces of a block first
  std::vector<UnreadRegion> unread = {};
  std::optional<PartId> mirror_of;  // features are already mirrored
  const Feature* Find(const FeatureId& id) const {
    for (const Feature& f : features) {
      if (f.name == id) return &f;
    }
    return nullptr;
  }
};

}  // namespace fitwright
