// The shop: machines, holding devices, tools, instruments and what they hold. mm, rad, min, W, K.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "fitwright/base/words.h"
#include "fitwright/model/ids.h"
#include "fitwright/units/geometry.h"

namespace fitwright {

enum class MachineToolKind { kLathe, kMill, kDrillPress, kBench };
template <>
struct WordsOf<MachineToolKind> {
  static constexpr auto kAll = std::to_array<Word<MachineToolKind>>(
      {{MachineToolKind::kLathe, "lathe"},
       {MachineToolKind::kMill, "mill"},
       {MachineToolKind::kDrillPress, "drill_press"},
       {MachineToolKind::kBench, "bench"}});
};

// Setup frame S of every machine: z along the spindle, out of it towards... mill and drill press: up,
// away from the table (x along the table to the right, y away from the operator); lathe: from the
// headstock towards the tailstock (x towards the operator). Tools come from +z on both.
struct MachineTool {
  MachineToolId name;
  MachineToolKind kind = MachineToolKind::kMill;
  std::string words;               // "the mill"
  Vec3 travel_mm = Vec3::Zero();   // mill: x, y, z; lathe: cross slide in x, carriage in z
  double swing_mm = 0;             // lathe: over the bed
  double swing_cross_slide_mm = 0; // lathe: over the cross slide
  double between_centres_mm = 0;   // lathe
  double daylight_mm = 0;          // mill, drill press: spindle nose to table, greatest
  double quill_mm = 0;             // mill, drill press: quill stroke
  double nose_diameter_mm = 0;     // spindle nose, as a solid that must not touch
  double spindle_bore_mm = 0;      // lathe
  double power_W = 0;
  std::vector<double> speeds_rpm;  // ascending steps
  double feed_max_mm_min = 0;
  bool readout = true;             // digital readout; else hand dials
  // Readings in the sense of this shop: +1 counts as the S axis, -1 against it. Lathe x may count
  // on the diameter.
  int x_sense = 1;
  int y_sense = 1;
  int z_sense = 1;
  bool x_reads_diameter = false;
  std::vector<double> pitches_mm;  // lathe: threads that its change wheels cut; none = no lead screw
  double top_slide_mm = 60;        // lathe: how far the top slide travels, at whatever angle (opinion)
  double tailstock_over_mm = 8;    // lathe: how far the tailstock can be set over to either side (opinion)
};

enum class HoldingKind {
  kViseBedFirst, kViseJawFirst, kThreeJaw, kThreeJawShort, kFourJaw, kCollet, kFaceplate,
  kStubMandrel, kClampsOnTable, kAnglePlate, kVBlock, kRotaryTable, kBench, kBetweenCentres
};
template <>
struct WordsOf<HoldingKind> {
  static constexpr auto kAll = std::to_array<Word<HoldingKind>>(
      {{HoldingKind::kViseBedFirst, "vise_bed_first"},
       {HoldingKind::kViseJawFirst, "vise_jaw_first"},
       {HoldingKind::kThreeJaw, "three_jaw"},
       {HoldingKind::kThreeJawShort, "three_jaw_short"},
       {HoldingKind::kFourJaw, "four_jaw"},
       {HoldingKind::kCollet, "collet"},
       {HoldingKind::kFaceplate, "faceplate"},
       {HoldingKind::kStubMandrel, "stub_mandrel"},
       {HoldingKind::kClampsOnTable, "clamps_on_table"},
       {HoldingKind::kAnglePlate, "angle_plate"},
       {HoldingKind::kVBlock, "v_block"},
       {HoldingKind::kRotaryTable, "rotary_table"},
       {HoldingKind::kBench, "bench"},
       {HoldingKind::kBetweenCentres, "between_centres"}});
};

enum class HoldingDeviceKind { kVise, kThreeJaw, kFourJaw, kCollet, kFaceplate, kMandrel, kClamps,
                               kAnglePlate, kVBlock, kRotaryTable, kTailstockCentre, kSteady };
template <>
struct WordsOf<HoldingDeviceKind> {
  static constexpr auto kAll = std::to_array<Word<HoldingDeviceKind>>(
      {{HoldingDeviceKind::kVise, "vise"},
       {HoldingDeviceKind::kThreeJaw, "three_jaw"},
       {HoldingDeviceKind::kFourJaw, "four_jaw"},
       {HoldingDeviceKind::kCollet, "collet"},
       {HoldingDeviceKind::kFaceplate, "faceplate"},
       {HoldingDeviceKind::kMandrel, "mandrel"},
       {HoldingDeviceKind::kClamps, "clamps"},
       {HoldingDeviceKind::kAnglePlate, "angle_plate"},
       {HoldingDeviceKind::kVBlock, "v_block"},
       {HoldingDeviceKind::kRotaryTable, "rotary_table"},
       {HoldingDeviceKind::kTailstockCentre, "tailstock_centre"},
       {HoldingDeviceKind::kSteady, "steady"}});
};

// Sizes that a kind does not have stay 0.
struct HoldingDevice {
  HoldingDeviceId name;
  HoldingDeviceKind kind = HoldingDeviceKind::kVise;
  MachineToolId on;                 // the machine it goes on
  std::string words;
  double opening_mm = 0;            // vise: greatest opening
  double jaw_width_mm = 0;          // vise, along the jaw
  double jaw_height_mm = 0;         // vise: jaw top above the bed
  double jaw_thickness_mm = 0;      // vise
  double bed_height_mm = 0;         // vise: bed above the table
  bool fixed_jaw_at_rear = true;    // vise: fixed jaw on +y of S; else on -y
  std::vector<double> parallels_mm; // vise: heights of the pairs at hand
  double parallel_thickness_mm = 0;
  double body_diameter_mm = 0;      // chucks, faceplate
  double body_length_mm = 0;        // chucks: spindle face to chuck face
  double jaw_reach_mm = 0;          // chucks: jaw standing out of the chuck face
  double jaw_step_mm = 0;           // chucks: width of a jaw
  double grip_min_mm = 0;           // chucks, collets: smallest and greatest gripped diameter or width
  double grip_max_mm = 0;
  double bore_mm = 0;               // chucks: through hole; V-block: slot at the bottom of its V
  bool soft_jaws = false;           // three-jaw on a lathe: of soft metal, turned in place to the piece each time
  double thin_parallel_thickness_mm = 0;  // vise: of thinner pairs of the same heights; 0 = none at hand
};

enum class ToolKind {
  kEndMill, kSlotDrill, kFlyCutter, kSpotDrill, kDrill, kReamer, kTap, kBoringHead, kBoringBar,
  kTurningTool, kFacingTool, kPartingTool, kGroovingTool, kInternalGroovingTool, kCentreDrill,
  kCounterbore, kHone, kChamferMill, kChamferTool, kTransferPunch, kHacksaw, kFile, kDie,
  kThreadingTool, kKnurlingTool, kFormTool, kSlottingTool, kBroach
};
template <>
struct WordsOf<ToolKind> {
  static constexpr auto kAll = std::to_array<Word<ToolKind>>(
      {{ToolKind::kEndMill, "end_mill"},
       {ToolKind::kSlotDrill, "slot_drill"},
       {ToolKind::kFlyCutter, "fly_cutter"},
       {ToolKind::kSpotDrill, "spot_drill"},
       {ToolKind::kDrill, "drill"},
       {ToolKind::kReamer, "reamer"},
       {ToolKind::kTap, "tap"},
       {ToolKind::kBoringHead, "boring_head"},
       {ToolKind::kBoringBar, "boring_bar"},
       {ToolKind::kTurningTool, "turning_tool"},
       {ToolKind::kFacingTool, "facing_tool"},
       {ToolKind::kPartingTool, "parting_tool"},
       {ToolKind::kGroovingTool, "grooving_tool"},
       {ToolKind::kInternalGroovingTool, "internal_grooving_tool"},
       {ToolKind::kCentreDrill, "centre_drill"},
       {ToolKind::kCounterbore, "counterbore"},
       {ToolKind::kHone, "hone"},
       {ToolKind::kChamferMill, "chamfer_mill"},
       {ToolKind::kChamferTool, "chamfer_tool"},  // lathe form tool, 45 degree edges
       {ToolKind::kTransferPunch, "transfer_punch"},
       {ToolKind::kHacksaw, "hacksaw"},
       {ToolKind::kFile, "file"},
       {ToolKind::kDie, "die"},
       {ToolKind::kThreadingTool, "threading_tool"},  // lathe, 60 degrees; diameter_min_mm: inside
       {ToolKind::kKnurlingTool, "knurling_tool"},
       {ToolKind::kFormTool, "form_tool"},            // lathe, nose_radius_mm or hollow_radius_mm
       {ToolKind::kSlottingTool, "slotting_tool"},    // lathe, spindle locked
       {ToolKind::kBroach, "broach"}});               // pressed through by hand, in its guide bush
};

// A cutter. Spindle tools (all but the lathe's single points): a round body, tip at the reference
// point, cutting over flute_mm, shank above it to stick_out_mm, then the holder.
// Lathe single points: section_T is the plan section of tool and shank in (x, z) of S relative to the
// reference point (the corner that touches the work), a simple convex or concave polygon,
// counter-clockwise; the cut is the polygon moved along the path and turned about the spindle.
// Slotting tools (a bit across the end of a bar) and keyway broaches: width_mm of the edge, reach_mm the
// longest bore they go through, diameter_min_mm the smallest, flute_mm the deepest seat: how far the bit
// stands out of its bar, or the broach out of its bush.
struct Tool {
  ToolId name;                  // "end_mill_16"
  ToolKind kind = ToolKind::kDrill;
  std::string words;            // "16 mm end mill"
  std::string on;               // "mill", "lathe", "any", "hand"
  double diameter_mm = 0;       // boring head: greatest diameter it can be set to
  double diameter_min_mm = 0;   // boring head and bar: smallest bore it enters
  double point_deg = 180;       // included angle of the point; 180 = flat
  double tip_flat_mm = 0;       // taps, dies: full thread starts this far above the tip (lead)
  double flute_mm = 0;          // cutting length
  double stick_out_mm = 0;      // tip to holder
  double shank_mm = 0;          // shank diameter between flutes and holder; bar diameter of boring tools
  double holder_diameter_mm = 0;
  double holder_length_mm = 0;
  int teeth = 2;
  bool centre_cutting = false;  // may be plunged
  bool carbide = false;
  std::string thread;           // taps, dies: "M3"
  std::string fit;              // reamers: "H7"
  double rpm_max = 0;           // boring head, fly cutter; 0 = none
  double width_mm = 0;          // parting and grooving tools
  double reach_mm = 0;          // grooving tools: depth they can cut; boring bars: length out
  std::vector<Vec2> section_T_mm;
  // Form tools, whose curve a section of straight lines cannot say. nose: a full half round at the end,
  // the reference point its foremost point, fed straight in. hollow: a hollow quarter round that rounds
  // an edge, the reference point where the edge's corner was (a file's is put in by the path's
  // set_diameter_mm, twice the radius).
  double nose_radius_mm = 0;
  double hollow_radius_mm = 0;
  double pitch_mm = 0;          // knurling tools; of one wheel (teeth) straight, of two diamond
};

enum class InstrumentKind { kCaliper, kMicrometer, kBoreGauge, kTelescopicGauge, kDepthMicrometer,
                            kIndicator, kEdgeFinder, kHeightGauge, kSquare, kProtractor, kSineBar,
                            kGaugeBlocks };
template <>
struct WordsOf<InstrumentKind> {
  static constexpr auto kAll = std::to_array<Word<InstrumentKind>>(
      {{InstrumentKind::kCaliper, "caliper"},
       {InstrumentKind::kMicrometer, "micrometer"},
       {InstrumentKind::kBoreGauge, "bore_gauge"},
       {InstrumentKind::kTelescopicGauge, "telescopic_gauge"},
       {InstrumentKind::kDepthMicrometer, "depth_micrometer"},
       {InstrumentKind::kIndicator, "indicator"},
       {InstrumentKind::kEdgeFinder, "edge_finder"},
       {InstrumentKind::kHeightGauge, "height_gauge"},
       {InstrumentKind::kSquare, "square"},
       {InstrumentKind::kProtractor, "protractor"},
       {InstrumentKind::kSineBar, "sine_bar"},
       {InstrumentKind::kGaugeBlocks, "gauge_blocks"}});
};

struct Instrument {
  InstrumentId name;
  InstrumentKind kind = InstrumentKind::kCaliper;
  std::string words;
  double from_mm = 0;
  double to_mm = 0;
  double finder_diameter_mm = 0;  // edge finder
  double centres_mm = 0;          // sine bar: between the middles of its rolls
  std::vector<double> blocks_mm;  // gauge blocks: the set, each once
};

enum class SpreadDistribution {
  kNormal, kHalfNormal, kVectorPerAxis, kVectorRandomDirection, kLognormal, kUniform,
  kOneSidedUniform, kEvent, kFixed
};
template <>
struct WordsOf<SpreadDistribution> {
  static constexpr auto kAll = std::to_array<Word<SpreadDistribution>>(
      {{SpreadDistribution::kNormal, "normal"},
       {SpreadDistribution::kHalfNormal, "half_normal"},
       {SpreadDistribution::kVectorPerAxis, "vector_per_axis"},
       {SpreadDistribution::kVectorRandomDirection, "vector_random_direction"},
       {SpreadDistribution::kLognormal, "lognormal"},
       {SpreadDistribution::kUniform, "uniform"},
       {SpreadDistribution::kOneSidedUniform, "one_sided_uniform_from_0"},
       {SpreadDistribution::kEvent, "event"},
       {SpreadDistribution::kFixed, "fixed"}});
};

enum class SpreadOrigin { kDefault, kStated, kMeasured };
template <>
struct WordsOf<SpreadOrigin> {
  static constexpr auto kAll = std::to_array<Word<SpreadOrigin>>(
      {{SpreadOrigin::kDefault, "default"},
       {SpreadOrigin::kStated, "stated"},
       {SpreadOrigin::kMeasured, "measured"}});
};

struct SpreadFigure {
  double mean = 0;
  double spread = 0;
};

// A row of the spreads table, in the row's own unit (mm, mm/m, mrad, percent, ...); the meaning of
// the figures by distribution is in docs/FORMATS.md.
struct Spread {
  std::string id;        // "edge_finder"
  std::string words;
  std::string unit;
  SpreadDistribution distribution = SpreadDistribution::kNormal;
  std::string scope;
  std::string basis;
  SpreadFigure careful;
  SpreadFigure usual;    // the table's "default" column, or the builder's own figure
  SpreadFigure worn;
  SpreadOrigin origin = SpreadOrigin::kDefault;
};

enum class ShopLevel { kCareful, kDefault, kWorn };
template <>
struct WordsOf<ShopLevel> {
  static constexpr auto kAll = std::to_array<Word<ShopLevel>>({{ShopLevel::kCareful, "careful"},
                                                               {ShopLevel::kDefault, "default"},
                                                               {ShopLevel::kWorn, "worn"}});
};

// What it costs to mend a requirement that is not met, by its kind or by its own name.
struct Remedy {
  std::string for_what;   // a requirement's name, else a requirement kind's word, else "size"
  std::string words;      // "open the clearance holes out by hand"
  double minutes = 0;
  double mends = 1;       // share of failed builds that it mends; the rest remake the part
};

// Handling times, minutes.
struct HandlingTimes {
  double device_change = 25;
  double seat_in_vise = 4;
  double seat_in_chuck = 5;
  double seat_in_four_jaw = 15;
  double tool_change = 1.5;
  double find_edge = 1.5;
  double centre_bore = 6;
  double measure = 1.5;
  double assemble_screw = 0.5;
  double assemble_place = 2;
  double deburr_feature = 0.5;
  double move_to_hole = 0.4;
};

struct Shop {
  std::string name = "default shop";
  bool is_default = true;        // no shop.toml in the project
  ShopLevel level = ShopLevel::kDefault;
  std::vector<MachineTool> machines;
  std::vector<HoldingDevice> holding;
  std::vector<Tool> tools;
  std::vector<Instrument> instruments;
  std::map<std::string, Spread> spreads;
  std::vector<Remedy> remedies;
  HandlingTimes times;
  double spread_scale = 1;       // multiplies every spread (studies and tests)
  const MachineTool* Find(const MachineToolId& id) const {
    for (const auto& m : machines) {
      if (m.name == id) return &m;
    }
    return nullptr;
  }
  const HoldingDevice* Find(const HoldingDeviceId& id) const {
    for (const auto& h : holding) {
      if (h.name == id) return &h;
    }
    return nullptr;
  }
  const Instrument* Find(const InstrumentId& id) const {
    for (const Instrument& i : instruments) {
      if (i.name == id) return &i;
    }
    return nullptr;
  }
  const Tool* Find(const ToolId& id) const {
    for (const auto& t : tools) {
      if (t.name == id) return &t;
    }
    return nullptr;
  }
};

// The figures in force for a spread at the shop's level and scale.
SpreadFigure FigureOf(const Shop& shop, const Spread& spread);

}  // namespace fitwright
