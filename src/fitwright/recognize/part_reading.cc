#include "fitwright/recognize/part_reading.h"

#include <algorithm>
#include <cmath>

#include "fitwright/recognize/block_sides.h"
#include "fitwright/recognize/bosses.h"
#include "fitwright/recognize/cavities.h"
#include "fitwright/recognize/draft.h"
#include "fitwright/recognize/frame.h"
#include "fitwright/recognize/line_reading.h"
#include "fitwright/recognize/outer_profile.h"
#include "fitwright/recognize/outline_reading.h"
#include "fitwright/recognize/rebuild_check.h"
#include "fitwright/recognize/round_stacks.h"
#include "fitwright/recognize/sharp_shapes.h"
#include "fitwright/recognize/sheet_limits.h"
#include "fitwright/recognize/threads.h"
#include "fitwright/recognize/witness.h"
#include "fitwright/solid/build.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/measure.h"

namespace fitwright::recognize {
namespace {

// Faces and diameters first, what breaks edges last; as read otherwise.
int RankOf(const Feature& feature) {
  if (std::holds_alternative<PlanarFace>(feature.shape)) return 0;
  if (std::holds_alternative<OuterDiameter>(feature.shape)) return 1;
  if (const auto* outline = std::get_if<Outline>(&feature.shape)) return outline->within ? 3 : 2;
  if (std::holds_alternative<EdgeChamfer>(feature.shape)) return 4;
  if (std::holds_alternative<RoundChamfer>(feature.shape)) return 5;
  return 3;
}

void ReadTurned(Draft& draft, const TakesOnlyAir& takes_only_air, const IsAirBetween& is_air) {
  ReadRoundStacks(draft, is_air);
  ReadOuterProfile(draft);
  ReadHubKeyways(draft);
  ReadFlats(draft);
  ReadSlantingHollows(draft, takes_only_air);
  ReadCavities(draft, takes_only_air);
}

void ReadBlock(Draft& draft, const std::vector<Boss>& bosses, const TakesOnlyAir& takes_only_air,
               const IsAirBetween& is_air) {
  ReadBlockSides(draft);
  AddBosses(draft, bosses);
  ReadRoundStacks(draft, is_air);
  ReadHubKeyways(draft);
  ReadOutline(draft, takes_only_air);
  ReadSlantingHollows(draft, takes_only_air);
  ReadCavities(draft, takes_only_air);
  ReadEdgeBreaks(draft, takes_only_air);
}

TakesOnlyAir AskedOf(Witness& witness) {
  return [&witness](const Part& part, const Feature& feature) {
    return witness.TakesOnlyAir(part, feature);
  };
}

void ReadFeatures(Draft& draft, const std::vector<Boss>& bosses, Witness& witness) {
  const TakesOnlyAir takes_only_air = AskedOf(witness);
  const IsAirBetween is_air = [&](const Vec3& from, const Vec3& to) {
    return witness.IsAirBetween(from, to);
  };
  if (draft.part.envelope == EnvelopeKind::kTurned) {
    ReadTurned(draft, takes_only_air, is_air);
  } else {
    ReadBlock(draft, bosses, takes_only_air, is_air);
  }
}

void SortAsSheetsAre(Part& part) {
  std::stable_sort(part.features.begin(), part.features.end(),
                   [](const Feature& a, const Feature& b) { return RankOf(a) < RankOf(b); });
}

// What no sheet says goes; lines take the faces that are left by then.
void ReadWhatIsLeft(Draft& draft, Witness& witness) {
  SortAsSheetsAre(draft.part);
  DropWhatNoSheetSays(draft);
  ReadLines(draft, AskedOf(witness));
  SortAsSheetsAre(draft.part);
  DropWhatNoSheetSays(draft);
}

// What unread plane faces would be; and of pockets that were read, that no round cutter makes their
// corners.
void NameSharpShapes(Draft& draft) {
  for (const SharpShape& shape : FindSharpShapes(draft.graph)) {
    for (const std::size_t f : shape.faces) {
      if (draft.IsFree(f)) draft.why.try_emplace(f, WordsOf(shape));
    }
  }
  for (const Feature& feature : draft.part.features) {
    const auto* pocket = std::get_if<Pocket>(&feature.shape);
    if (pocket == nullptr || pocket->corner_radius_mm > 0) continue;
    draft.Say(feature.name, "corner_radius",
              "Drawn with sharp inside corners: a round cutter leaves its own radius in them.");
  }
}

bool IsByLine(const Feature& feature) {
  const auto* outline = std::get_if<Outline>(&feature.shape);
  return outline != nullptr && !outline->line.empty();
}

// By how much the rebuilt solid's volume is not the file's beyond what is listed unread. Metal that is
// left in the air between cuts touches no face of the file's, so that no face tells of it.
double Unaccounted_mm3(const PartReading& reading, double file_mm3) {
  const auto rebuilt = solid::MakeDesign(reading.part);
  if (!rebuilt) return file_mm3;
  double listed_mm3 = 0;
  for (const UnreadRegion& region : reading.unread) listed_mm3 += region.volume_mm3;
  return std::abs(solid::CalcVolume_mm3(*rebuilt) - file_mm3) - listed_mm3;
}

// Proved; without what closed lines say where that accounts for more of the metal.
Status ProveWithLines(Draft& draft, Witness& witness, PartReading& reading) {
  if (const Status proved = ProveReading(draft, witness, reading); !proved) return proved;
  std::vector<FeatureId> lines;
  for (const Feature& feature : reading.part.features) {
    if (IsByLine(feature)) lines.push_back(feature.name);
  }
  if (lines.empty() || witness.by_lines()) return Ok{};
  constexpr double kShare = 1e-4;
  const double file_mm3 = solid::CalcVolume_mm3(witness.solid_P());
  const double with_lines_mm3 = Unaccounted_mm3(reading, file_mm3);
  if (with_lines_mm3 <= kShare * file_mm3) return Ok{};
  for (const FeatureId& name : lines)
    draft.Drop(name, "cuts along these walls leave metal that the file has not");
  PartReading again;
  again.X_PF = reading.X_PF;
  if (const Status proved = ProveReading(draft, witness, again); !proved) return proved;
  if (Unaccounted_mm3(again, file_mm3) < with_lines_mm3) reading = std::move(again);
  return Ok{};
}

std::size_t CountUnnamed(const PlacedGraph& graph) {
  const auto unnamed = [](const PlacedFace& face) { return !solid::IsElementary(face.kind); };
  return static_cast<std::size_t>(std::count_if(graph.faces.begin(), graph.faces.end(), unnamed));
}

void SayHowProved(const Witness& witness, PartReading& reading) {
  if (witness.by_lines()) {
    reading.inferred.push_back(
        {"part",
         "Compared with the file along straight lines, to some hundredths of a millimetre: "
         "too many of its faces are none that whole solids can be crossed at."});
  }
  if (witness.spent()) {
    reading.inferred.push_back(
        {"part",
         "The work that reading one part may cost was spent: what was not tried is left unread."});
  }
}

// The envelope itself; the next size sold around it is for whoever writes the sheet.
Stock StockOf(const Part& part, const Box3& box_P) {
  Stock stock;
  stock.proposed = true;
  stock.box_P = box_P;
  if (part.envelope == EnvelopeKind::kBlock) return stock;
  stock.form = StockForm::kRound;
  stock.axis_P = part.turning_axis_P;
  stock.from_mm = box_P.min_mm.z();
  stock.to_mm = box_P.max_mm.z();
  for (const Feature& feature : part.features) {
    const auto* outer = std::get_if<OuterDiameter>(&feature.shape);
    if (outer != nullptr)
      stock.diameter_mm = std::max(stock.diameter_mm, outer->diameter.nominal_mm);
  }
  return stock;
}

}  // namespace

Result<PartReading> ReadPart(const solid::FaceGraph& graph, const solid::Solid& solid,
                             const PartReadingSettings& settings) {
  const PartFrame frame = ChooseFrame(graph, solid);
  const bool turned = frame.envelope == EnvelopeKind::kTurned;
  const solid::Solid solid_P = solid::Moved(solid, frame.X_PF);
  PlacedGraph placed = Place(graph, frame.X_PF, frame.box_P);
  const std::vector<ModelledThread> threads = TakeThreads(solid_P, placed);
  const std::vector<Boss> bosses = turned ? std::vector<Boss>{} : TakeBosses(placed);
  auto witness = Witness::Make(solid_P, placed, CountUnnamed(placed), threads, settings.work);
  if (!witness) return Unexpected(witness.error());
  Draft draft(placed);
  draft.part.name = settings.name;
  draft.part.material = settings.material;
  draft.part.envelope = frame.envelope;
  draft.part.block_P = placed.box_P;
  ReadFeatures(draft, bosses, *witness);
  NameThreads(threads, draft);
  draft.part.stock = StockOf(draft.part, frame.box_P);
  ReadWhatIsLeft(draft, *witness);
  NameSharpShapes(draft);
  if (settings.work.cancelled())
    return Unexpected(Error{ErrorCode::kStopped, "stopped before the part was read", {}, {}, {}});
  PartReading reading;
  reading.X_PF = frame.X_PF;
  const Status proved = ProveWithLines(draft, *witness, reading);
  if (!proved) return Unexpected(proved.error());
  SayHowProved(*witness, reading);
  if (settings.material.empty()) {
    reading.part.material = "steel";
    reading.inferred.push_back({"material", "The file names no material: steel is taken."});
  }
  return reading;
}

}  // namespace fitwright::recognize
