#include "fitwright/recognize/part_reading.h"

#include <algorithm>
#include <cmath>

#include "fitwright/recognize/block_sides.h"
#include "fitwright/recognize/bosses.h"
#include "fitwright/recognize/cavities.h"
#include "fitwright/recognize/draft.h"
#include "fitwright/recognize/frame.h"
#include "fitwright/recognize/outer_profile.h"
#include "fitwright/recognize/outline_reading.h"
#include "fitwright/recognize/rebuild_check.h"
#include "fitwright/recognize/round_stacks.h"
#include "fitwright/solid/build.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/measure.h"

namespace fitwright::recognize {
namespace {

// Volume that crossing two solids with faces in common may leave.
constexpr double kCrossingNoise_mm3 = 1e-4;

TakesOnlyAir MakeTakesOnlyAir(const solid::Solid& solid_P) {
  return [solid_P](const Part& part, const Feature& feature) {
    const Result<solid::Solid> removed = solid::MakeFeatureVolume(part, feature);
    if (!removed || removed->empty()) return false;
    const Result<double> metal = solid::CalcCommonVolume_mm3(solid_P, *removed);
    return metal && *metal <= kCrossingNoise_mm3 + 1e-7 * solid::CalcVolume_mm3(*removed);
  };
}

IsAirBetween MakeIsAirBetween(const solid::Solid& solid_P) {
  return [solid_P](const Vec3& from, const Vec3& to) {
    const double length = (to - from).norm();
    if (length <= kSamePlace_mm) return true;
    if (solid::IsInside(solid_P, 0.5 * (from + to))) return false;
    const auto crossings = solid::FindCrossings_mm(solid_P, from, (to - from) / length);
    if (!crossings) return false;
    return std::none_of(crossings->begin(), crossings->end(), [&](double at) {
      return at > kSamePlace_mm && at < length - kSamePlace_mm;
    });
  };
}

// Faces and diameters first, what breaks edges last; as read otherwise.
int RankOf(const Feature& feature) {
  if (std::holds_alternative<PlanarFace>(feature.shape)) return 0;
  if (std::holds_alternative<OuterDiameter>(feature.shape)) return 1;
  if (std::holds_alternative<Outline>(feature.shape)) return 2;
  if (std::holds_alternative<EdgeChamfer>(feature.shape)) return 4;
  if (std::holds_alternative<RoundChamfer>(feature.shape)) return 5;
  return 3;
}

void ReadTurned(Draft& draft, const TakesOnlyAir& takes_only_air, const IsAirBetween& is_air) {
  ReadRoundStacks(draft, is_air);
  ReadOuterProfile(draft);
  ReadHubKeyways(draft);
  ReadFlats(draft);
  ReadCavities(draft, takes_only_air);
}

void ReadBlock(Draft& draft, const std::vector<Boss>& bosses, const TakesOnlyAir& takes_only_air,
               const IsAirBetween& is_air) {
  ReadBlockSides(draft);
  AddBosses(draft, bosses);
  ReadRoundStacks(draft, is_air);
  ReadHubKeyways(draft);
  ReadOutline(draft, takes_only_air);
  ReadCavities(draft, takes_only_air);
  ReadEdgeBreaks(draft, takes_only_air);
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
    if (outer != nullptr) stock.diameter_mm = std::max(stock.diameter_mm, outer->diameter.nominal_mm);
  }
  return stock;
}

}  // namespace

Result<PartReading> ReadPart(const solid::FaceGraph& graph, const solid::Solid& solid,
                             const PartReadingSettings& settings) {
  const PartFrame frame = ChooseFrame(graph, solid);
  const bool turned = frame.envelope == EnvelopeKind::kTurned;
  PlacedGraph placed = Place(graph, frame.X_PF, frame.box_P);
  const std::vector<Boss> bosses = turned ? std::vector<Boss>{} : TakeBosses(placed);
  const solid::Solid solid_P = solid::Moved(solid, frame.X_PF);
  Draft draft(placed);
  draft.part.name = settings.name;
  draft.part.material = settings.material;
  draft.part.envelope = frame.envelope;
  draft.part.block_P = placed.box_P;
  const TakesOnlyAir takes_only_air = MakeTakesOnlyAir(solid_P);
  const IsAirBetween is_air = MakeIsAirBetween(solid_P);
  if (turned) {
    ReadTurned(draft, takes_only_air, is_air);
  } else {
    ReadBlock(draft, bosses, takes_only_air, is_air);
  }
  draft.part.stock = StockOf(draft.part, frame.box_P);
  std::stable_sort(draft.part.features.begin(), draft.part.features.end(),
                   [](const Feature& a, const Feature& b) { return RankOf(a) < RankOf(b); });
  PartReading reading;
  reading.X_PF = frame.X_PF;
  const Status proved = ProveReading(draft, solid_P, takes_only_air, reading);
  if (!proved) return Unexpected(proved.error());
  if (settings.material.empty()) {
    reading.part.material = "steel";
    reading.inferred.push_back({"material", "The file names no material: steel is taken."});
  }
  return reading;
}

}  // namespace fitwright::recognize
