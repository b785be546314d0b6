#include "fitwright/planner/process_common.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "fitwright/base/check.h"
#include "fitwright/planner/holding_internal.h"
#include "fitwright/planner/instruments.h"
#include "fitwright/planner/paths.h"
#include "fitwright/planner/paths_design.h"

namespace fitwright::planner {
namespace {

// Remaking a part costs about this many times one more light cut; from it follows how far to the
// safe side of the middle a size is aimed (opinion).
constexpr double kScrapToRecut = 20;
// A worked size is held by a last light cut with half the one-shot spread.
constexpr double kLastCutShare = 0.5;

}  // namespace

bool Job::IsMade(const FeatureId& id) const {
  return context.made != nullptr &&
         std::find(context.made->begin(), context.made->end(), id) != context.made->end();
}

double Job::highest_S_mm() const {
  double highest = top_S_mm();
  for (const PieceInSetup& p : context.pieces) highest = std::max(highest, p.piece_S.max_mm.z());
  return highest;
}

Unexpected NoPlan(const Job& job, const std::string& why, const std::string& remedy) {
  Error error;
  error.code = ErrorCode::kNoPlan;
  error.message = job.ref.text() + ": " + why;
  error.value = job.ref.text();
  error.remedy = remedy;
  return Unexpected(error);
}

std::string Num(double value) {
  std::string text = fmt::format("{:.3f}", value);
  while (text.back() == '0') text.pop_back();
  if (text.back() == '.') text.pop_back();
  return text == "-0" ? "0" : text;
}

std::string CountWords(std::size_t count) {
  static constexpr std::array<std::string_view, 13> kWords = {
      "",      "",      "two",  "three", "four",   "five",  "six",
      "seven", "eight", "nine", "ten",   "eleven", "twelve"};
  if (count < 2) return {};
  return count < kWords.size() ? std::string(kWords[count]) : std::to_string(count);
}

std::string NameWords(const FeatureId& id) {
  std::string words = id.text();
  std::replace(words.begin(), words.end(), '_', ' ');
  return words;
}

std::string MeasureFirstWords(const FeatureRef& mate) {
  return fmt::format("Measure the {} of the {} first.", NameWords(mate.feature), NameWords(FeatureId(mate.part.text())));
}

Step& AddStep(Job& job, Operation operation, const Tool& tool, const CutSettings& settings) {
  Step step;
  step.features = job.request.features;
  step.holes = job.request.holes;
  step.operation = operation;
  step.tool = tool.name;
  step.rpm = settings.rpm;
  step.feed_mm_min = std::round(settings.feed_mm_min * 10) / 10;
  if (settings.faster_than_wished) {
    job.result.warnings.push_back(
        fmt::format("{}: the slowest speed of {} is above what the {} wants; feed gently and use "
                    "plenty of oil.",
                    job.ref.text(), job.machine().words, tool.words));
  }
  job.result.steps.push_back(std::move(step));
  return job.result.steps.back();
}

Result<CutSettings> Settings(const Job& job, const Tool& tool, const CutWish& wish) {
  CutWish limited = wish;
  if (job.lathe() && job.piece.bar_diameter_mm <= 0 && (wish.rpm_most <= 0 || wish.rpm_most > kMostUnbalanced_rpm))
    limited.rpm_most = kMostUnbalanced_rpm;
  auto settings = ChooseSettings(job.machine(), job.material, tool, limited);
  if (!settings) {
    return NoPlan(job,
                  fmt::format("no speed of {} is slow enough for the {} at {} mm",
                              job.machine().words, tool.words, Num(wish.diameter_mm)),
                  "use a smaller cutter or another machine");
  }
  if (job.lathe() && job.context.most_depth_mm > 0) settings->depth_mm = std::min(settings->depth_mm, job.context.most_depth_mm);
  return *settings;
}

namespace {

// Where a point that stands on the rotary table is brought.
Vec3 TurnedBy(double table_deg, const Vec3& p_S) {
  return Eigen::AngleAxisd(table_deg * std::numbers::pi / 180, Vec3::UnitZ()) * p_S;
}

}  // namespace

double TurnToFaceX_deg(const Vec2& n) {
  const double turn_deg = -std::atan2(n.y(), n.x()) * 180 / std::numbers::pi;
  const double round_deg = std::round(turn_deg * 1e6) / 1e6;
  return round_deg < 0 ? round_deg + 360 : round_deg + 0.0;
}

void TurnPlunges(const Job& job, PathPiece& piece) {
  const bool placed = piece.kind == PathKind::kPlunge && piece.table_deg.empty();
  if (!placed || job.context.holding != HoldingKind::kRotaryTable) return;
  for (const Vec3& p : piece.points_S_mm) piece.table_deg.push_back(p.head<2>().norm() < kZone_mm ? 0 : TurnToFaceX_deg(p.head<2>()));
}

Coordinate PlaceReading(const Job& job, const PathPiece& piece, std::size_t i, std::string name) {
  const bool turned = !piece.table_deg.empty();
  const Vec3 under = turned ? TurnedBy(piece.table_deg[i], piece.points_S_mm[i]) : piece.points_S_mm[i];
  Coordinate reading = DialReading(job.machine(), under, std::move(name));
  if (turned) reading.table_deg = piece.table_deg[i];
  return reading;
}

// A step that goes on past "start" and "end" counts its points from the first.
void CountPoints(Step& step) {
  for (std::size_t i = 0; i < step.coordinates.size(); ++i) {
    std::string& name = step.coordinates[i].hole;
    if (name == "start" || name == "end") name = std::to_string(i + 1);
  }
}

Status AddPath(Job& job, Step& step, const Tool& tool, PathPiece piece,
               const std::vector<std::string>& names) {
  TurnPlunges(job, piece);
  const bool mate_off = FromMate(job.request.technique) && step.operation != Operation::kSpotThrough;
  for (const PieceInSetup& other : job.context.pieces) {
    if (mate_off && other.part != job.piece.part) continue;
    const auto gouge = FindGouge(*other.part, other.X_PS, tool, piece, job.highest_S_mm());
    if (!gouge) continue;
    const Vec3 p = other.X_PS * *gouge;
    return NoPlan(
        job,
        fmt::format("the {} would run into {} at {}, {}, {}", tool.words, other.part->name.text(),
                    Num(p.x()), Num(p.y()), Num(p.z())),
        "cut it from another side, with a smaller tool, or before what stands in the way");
  }
  const std::size_t count = piece.points_S_mm.size();
  if (names.empty() && !step.path.empty()) CountPoints(step);
  for (std::size_t i = 0; i < count && piece.kind != PathKind::kSaw; ++i) {
    std::string name = i < names.size() ? names[i] : std::to_string(step.coordinates.size() + 1);
    if (names.empty() && count == 2 && step.path.empty()) name = i == 0 ? "start" : "end";
    step.coordinates.push_back(PlaceReading(job, piece, i, std::move(name)));
  }
  step.path.push_back(std::move(piece));
  return Ok{};
}

void SetMinutes(const Job& job, Step& step, double cutting_min, double handling_min) {
  for (const PathPiece& piece : step.path) {
    if (piece.kind == PathKind::kPlunge) handling_min += kTurnTable_min * static_cast<double>(piece.table_deg.size());
  }
  step.time_min =
      std::round((cutting_min + handling_min + job.shop().times.tool_change) * 100) / 100;
}

double SpreadOf(const Shop& shop, const std::string& id, double fallback_mm) {
  const auto row = shop.spreads.find(id);
  return row == shop.spreads.end() ? fallback_mm : FigureOf(shop, row->second).spread;
}

std::optional<Aim> MakeAim(const Job& job, const Size& size, SafeSide side,
                           const std::string& spread_id) {
  if (job.request.leave_mm > 0) return std::nullopt;
  if (job.request.given_aim) return job.request.given_aim;
  Aim aim;
  aim.kind = job.request.aim;
  aim.lower_mm = size.lower_mm;
  aim.upper_mm = size.upper_mm;
  aim.target_mm = job.request.aimed_mm.value_or(size.middle_mm());
  if (job.request.aimed_mm) return aim;
  const double width = size.width_mm();
  if (aim.kind != AimKind::kBringToSize || width <= 0) return aim;
  // Both tails of a normal last cut are weighed by their cost where the sum is least:
  // exp(-(U-t)^2/2s^2) * scrap = exp(-(t-L)^2/2s^2) * recut, so t = middle -+ s^2 ln(scrap/recut) /
  // (U-L).
  const double sigma = kLastCutShare * SpreadOf(job.shop(), spread_id, 0.010);
  const double shift = std::min(sigma * sigma * std::log(kScrapToRecut) / width, 0.35 * width);
  aim.target_mm += side == SafeSide::kSmall ? -shift : shift;
  return aim;
}

void SetMeasure(Job& job, Step& step, const MeasureWish& wish) {
  if (job.request.leave_mm > 0 && !wish.left_on) return;
  const double width = wish.upper_mm - wish.lower_mm;
  std::vector<InstrumentKind> kinds = wish.kinds;
  if (wish.down_mm > kCaliperJaws_mm) std::erase(kinds, InstrumentKind::kCaliper);
  const InstrumentChoice choice =
      ChooseInstrument(job.shop(), kinds, wish.size_mm, width, job.request.measure_finely);
  const Instrument* best = choice.instrument;
  if (best == nullptr) {
    job.result.warnings.push_back(fmt::format(
        "{}: no instrument of the shop measures {} mm; make a gauge to its limits first.",
        job.ref.text(), Num(wish.size_mm)));
    return;
  }
  MeasureLine line;
  line.feature = job.ref;
  line.instrument = best->name;
  line.lower_mm = wish.lower_mm;
  line.upper_mm = wish.upper_mm;
  line.words = fmt::format("Measure {} with the {}{}: {} to {}.", NameWords(job.ref.feature),
                           best->words, wish.where.empty() ? "" : " " + wish.where,
                           Num(wish.lower_mm), Num(wish.upper_mm));
  if (!choice.GoodTo(width)) {
    job.result.warnings.push_back(
        fmt::format("{}: read with the {}, good to {} mm: more than a quarter of the {} mm between the "
                    "limits; make a plug or ring gauge, or borrow a better instrument.",
                    job.ref.text(), best->words, Num(choice.spread_mm), Num(width)));
    if (std::holds_alternative<Hole>(job.feature.shape)) {
      step.words += fmt::format(" Good to {1} mm only, the {0} cannot tell: a plug of {2:.3f} mm goes in by a thumb, one of {3:.3f} mm does not; "
                                "ground bar, miked, will do, best the piece that goes in.",
                                best->words, Num(choice.spread_mm), wish.lower_mm, wish.upper_mm);
    }
  }
  step.measure = line;
}

void Finish(Job& job) {
  if (!job.result.steps.empty() && job.request.leave_mm <= 0)
    job.result.steps.back().finishes = true;
}

std::vector<double> PeckLevels(double depth_mm, double diameter_mm) {
  if (depth_mm <= 3 * diameter_mm) return {depth_mm};
  std::vector<double> levels = {2 * diameter_mm};
  while (levels.back() + 1.25 * diameter_mm < depth_mm)
    levels.push_back(levels.back() + diameter_mm);
  levels.push_back(depth_mm);
  return levels;
}

double OutsideRadius(const PieceInSetup& piece) {
  if (piece.bar_diameter_mm > 0) return piece.bar_diameter_mm / 2;
  const Box3& b = piece.piece_S;
  return std::hypot(std::max(std::abs(b.min_mm.x()), std::abs(b.max_mm.x())),
                    std::max(std::abs(b.min_mm.y()), std::abs(b.max_mm.y())));
}

double OutsideRadiusAbove(const PieceInSetup& piece, double z_S_mm) {
  double diameter = 0;
  for (const RoundSpan& r : piece.rounds_S) {
    if (r.high_mm > z_S_mm + kZone_mm) diameter = std::max(diameter, r.diameter_mm);
  }
  return diameter > 0 ? diameter / 2 : OutsideRadius(piece);
}

double OpenRadiusAt(const Job& job, double z_S_mm) {
  double radius = 0;
  for (const Feature& f : job.part().features) {
    const auto* hole = std::get_if<Hole>(&f.shape);
    if (hole == nullptr || !job.IsMade(f.name) || hole->entries_P_mm.size() != 1) continue;
    const Vec3 entry = job.ToS(hole->entries_P_mm.front());
    const Vec3 exit = entry + job.DirToS(hole->into_P) * hole->depth_mm;
    if (entry.head<2>().norm() > kZone_mm || exit.head<2>().norm() > kZone_mm) continue;
    if (z_S_mm < std::min(entry.z(), exit.z()) - kZone_mm ||
        z_S_mm > std::max(entry.z(), exit.z()) + kZone_mm)
      continue;
    radius = std::max(radius, hole->diameter.middle_mm() / 2);
  }
  return radius;
}

}  // namespace fitwright::planner
