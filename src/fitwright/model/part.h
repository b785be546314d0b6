// A part as its sheet says it: stock, envelope and features (names after ISO 10303-224, with the
// shop's word where it is shorter). All geometry in the part frame P, mm. Plain data.
#pragma once

#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "fitwright/base/words.h"
#include "fitwright/model/ids.h"
#include "fitwright/units/geometry.h"
#include "fitwright/units/size.h"

namespace fitwright {

enum class StockForm { kFlat, kSquare, kRound };
template <>
struct WordsOf<StockForm> {
  static constexpr auto kAll = std::to_array<Word<StockForm>>(
      {{StockForm::kFlat, "flat"}, {StockForm::kSquare, "square"}, {StockForm::kRound, "round"}});
};

// The bar as it lies around the finished part.
struct Stock {
  StockForm form = StockForm::kFlat;
  Box3 box_P;              // flat and square
  Axis3 axis_P;            // round: the bar's axis; from_mm and to_mm along it from axis_P.point_mm
  double diameter_mm = 0;  // round
  double from_mm = 0;
  double to_mm = 0;
  bool proposed = false;   // not stated in the sheet
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
struct EdgeChamfer {
  FeatureId face_a;
  FeatureId face_b;
  double leg_a_mm = 0;
  double leg_b_mm = 0;
};

// On the circular edge of a bore (opens it) or an outer diameter (breaks it).
struct RoundChamfer {
  FeatureId on;
  bool at_start = true;  // entry side of a hole; the from_mm end of an outer diameter
  double axial_mm = 0;
  double radial_mm = 0;
};

// Ring groove: outside (cuts down to diameter) or inside a bore (opens to diameter). An undercut is
// a groove against a shoulder.
struct Groove {
  bool internal = false;
  bool undercut = false;
  Axis3 axis_P;
  double from_mm = 0;
  double to_mm = 0;
  Size diameter;
};

// Two parallel flats on round work, symmetric about the axis; first_normal_P is square to the axis.
struct Flats {
  Axis3 axis_P;
  double from_mm = 0;
  double to_mm = 0;
  Size across;
  Vec3 first_normal_P = Vec3::UnitX();
};

using FeatureShape = std::variant<PlanarFace, Hole, OuterDiameter, Slot, Pocket, StepCut,
                                  EdgeChamfer, RoundChamfer, Groove, Flats>;

enum class Finish { kAsMachined, kHoned };
template <>
struct WordsOf<Finish> {
  static constexpr auto kAll = std::to_array<Word<Finish>>(
      {{Finish::kAsMachined, "as_machined"}, {Finish::kHoned, "honed"}});
};

struct Feature {
  FeatureId name;
  FeatureShape shape;
  Finish finish = Finish::kAsMachined;
  bool do_not_grip = false;  // a finished seal or bearing face
  std::string note;
};

enum class EnvelopeKind { kBlock, kTurned };

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
  std::optional<PartId> mirror_of;  // features are already mirrored
  const Feature* Find(const FeatureId& id) const {
    for (const Feature& f : features) {
      if (f.name == id) return &f;
    }
    return nullptr;
  }
};

}  // namespace fitwright
