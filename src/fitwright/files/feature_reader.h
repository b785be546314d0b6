// Features of a part sheet. Internal to files/.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "fitwright/files/size_reader.h"
#include "fitwright/files/table_reader.h"
#include "fitwright/model/block_faces.h"
#include "fitwright/model/part.h"
#include "fitwright/trade/threads.h"

namespace fitwright::files {

enum class FeatureWord {
  kPlanarFace,
  kHole,
  kBore,
  kCounterbore,
  kOuterDiameter,
  kSpigot,
  kBoss,
  kSlot,
  kPocket,
  kStep,
  kChamfer,
  kCountersink,
  kEdgeRound,
  kGroove,
  kUndercut,
  kFlats,
  kTaper,
  kThread,
  kKeyway,
  kKnurl,
  kMarking,
  kOutline,
  kCutout
};

// A part while it is read, and the defaults that were taken on the way, by feature.
struct PartDraft {
  Part part;
  bool envelope_sound = true;  // else nothing is said of what stands inside or outside the part
  std::array<bool, 6> side_named{};  // block faces that the sheet names, as kBlockFaces
  std::vector<std::string> by_general_tolerance;
  std::vector<std::string> point_assumed;         // blind holes without a stated bottom
  std::vector<std::string> tap_drill_assumed;     // "top_holes 3.3 for M4"
  std::vector<std::string> thread_depth_assumed;  // "top_holes 9.5"
};

// Where holes, slots and pockets are entered. Coordinates along `out` hold only when entry_mm does.
struct Placement {
  Vec3 out_P = Vec3::UnitZ();
  std::vector<Vec3> points_P_mm;
  std::optional<double> entry_mm;  // the coordinate x, y or z on the axis of out_P
};

// A hole whose depth depends on the rest of the part.
struct HoleTask {
  bool through = false;
  std::string until;
};

// Reads [[feature]] into draft.part.features, block faces first, then the sheet's order. Faulty
// ones are kept with default shapes, so that what refers to them by name is still understood.
void ReadFeatures(TableReader& sheet, PartDraft& draft);

// One kind each; false when the table is faulty (reported).
bool ReadPlanarFace(TableReader& table, PartDraft& draft, Feature& feature);
bool ReadOuterDiameter(TableReader& table, PartDraft& draft, FeatureWord word, Feature& feature);
bool ReadGroove(TableReader& table, PartDraft& draft, FeatureWord word, Feature& feature);
bool ReadFlats(TableReader& table, PartDraft& draft, Feature& feature);
bool ReadStep(TableReader& table, Feature& feature);
bool ReadChamfer(TableReader& table, Feature& feature);
bool ReadEdgeRound(TableReader& table, Feature& feature);
// On a hole that is read.
bool ReadCountersink(TableReader& table, const PartDraft& draft, Feature& feature);
bool ReadSlot(TableReader& table, PartDraft& draft, Feature& feature);
bool ReadPocket(TableReader& table, PartDraft& draft, Feature& feature);
bool ReadTaper(TableReader& table, PartDraft& draft, Feature& feature);
bool ReadExternalThread(TableReader& table, Feature& feature);
// Into an outer diameter, or a hole about the same axis, that is read.
bool ReadKeyway(TableReader& table, PartDraft& draft, Feature& feature);
bool ReadKnurl(TableReader& table, const PartDraft& draft, Feature& feature);
bool ReadMarking(TableReader& table, PartDraft& draft, Feature& feature);
// within: a cutout.
bool ReadOutline(TableReader& table, const PartDraft& draft, bool within, Feature& feature);
// finish, ra, geometric, do_not_grip and note: any feature's.
void ReadSurface(TableReader& table, Feature& feature);
// Everything but the depth of a through or until hole, which is left at 0.
bool ReadHole(TableReader& table, PartDraft& draft, FeatureWord word, Feature& feature,
              HoleTask& task);
// The depth of a through or until hole, and the thread depth that follows from it. False when the
// hole never meets its end (reported).
bool FinishHole(TableReader& table, PartDraft& draft, const HoleTask& task, Feature& feature);

// What several kinds share; nothing when faulty (reported).
// The turning axis, or axis and at on a block.
std::optional<Axis3> ReadAxis(TableReader& table, const Part& part);
struct Reach {
  double from_mm = 0;
  double to_mm = 0;
};
std::optional<Reach> ReadReach(TableReader& table);
// The part's general tolerance where the size has no limits of its own, which is noted.
bool TakeSize(TableReader& table, PartDraft& draft, const Feature& feature, SizeWish wish,
              Size& size);
// Notes that a limit of the feature is the general tolerance's.
void NoteGeneral(PartDraft& draft, const Feature& feature);
// end = "start" (true) or "end".
std::optional<bool> ReadEnd(TableReader& table, std::optional<bool> otherwise = std::nullopt);
// along, square to the side the tool comes from.
std::optional<Vec3> ReadAlong(TableReader& table, const Vec3& out_P);
// Whether two sides stand square to each other; reports when not.
bool Square(TableReader& table, std::string_view key, const Vec3& a, const Vec3& b,
            std::string_view to_what);
// The row of trade's table; reports a thread it does not have.
const trade::ThreadRow* FindThreadRow(TableReader& table, std::string_view key);

// from, at or points, entry.
std::optional<Placement> ReadPlacement(TableReader& table, const Part& part, bool many);
// Puts the points of the placement on the entry surface: stated, else the first material met.
// radius: of the tool's footprint. False when there is no material (reported when the envelope is
// sound).
bool SettleEntry(TableReader& table, const PartDraft& draft, double radius_mm,
                 Placement& placement);
// The coordinate of the entry plane that SettleEntry takes where none is stated; nothing where there is
// no material.
std::optional<double> FirstMaterial_mm(const Part& part, const Placement& placement,
                                       double radius_mm);
// How deep a hole of that radius runs along into_P until all of its edge has met `target`; nothing when
// it does not. A hole as wide as a square one across it, or wider, runs to that one's axis.
std::optional<double> DepthUntil(const Vec3& point_P_mm, const Vec3& into_P, const Hole& target,
                                 double radius_mm);
// The general tolerance of a cone's angle: of the shorter side, as ISO 2768-1 counts, its length along
// the slope.
double GeneralAngle_deg(const Part& part, const Taper& taper);
// Depth from the entry plane to where the last material along any of the points ends; 0 when none.
double DepthThrough(const Part& part, const Placement& placement, double radius_mm);

}  // namespace fitwright::files

namespace fitwright {
template <>
struct WordsOf<files::FeatureWord> {
  using F = files::FeatureWord;
  static constexpr auto kAll = std::to_array<Word<F>>({{F::kPlanarFace, "planar_face"},
                                                       {F::kHole, "hole"},
                                                       {F::kBore, "bore"},
                                                       {F::kCounterbore, "counterbore"},
                                                       {F::kOuterDiameter, "outer_diameter"},
                                                       {F::kSpigot, "spigot"},
                                                       {F::kBoss, "boss"},
                                                       {F::kSlot, "slot"},
                                                       {F::kPocket, "pocket"},
                                                       {F::kStep, "step"},
                                                       {F::kChamfer, "chamfer"},
                                                       {F::kCountersink, "countersink"},
                                                       {F::kEdgeRound, "edge_round"},
                                                       {F::kGroove, "groove"},
                                                       {F::kUndercut, "undercut"},
                                                       {F::kFlats, "flats"},
                                                       {F::kTaper, "taper"},
                                                       {F::kThread, "thread"},
                                                       {F::kKeyway, "keyway"},
                                                       {F::kKnurl, "knurl"},
                                                       {F::kMarking, "marking"},
                                                       {F::kOutline, "outline"},
                                                       {F::kCutout, "cutout"}});
};
}  // namespace fitwright
