#include "fitwright/planner/angle_setting.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "fitwright/trade/gauge_blocks.h"

namespace fitwright::planner {
namespace {

constexpr double kDeg = 180 / std::numbers::pi;
// A set of blocks steps by 0.005 mm or finer (from memory): half of it is as
// near as a stack must come.
constexpr double kNearEnough_mm = 0.003;

const Instrument *FindKind(const Shop &shop, InstrumentKind kind) {
  const auto at = std::find_if(shop.instruments.begin(), shop.instruments.end(),
                               [&](const Instrument &i) { return i.kind == kind; });
  return at == shop.instruments.end() ? nullptr : &*at;
}

Unexpected CannotSet(const std::string &why, const std::string &remedy) {
  return Unexpected(Error{ErrorCode::kNoPlan, why, {}, remedy, {}});
}

}  // namespace

std::vector<AngleBy> WaysToSet(const Shop& shop) {
  std::vector<AngleBy> ways;
  const Instrument* bar = FindKind(shop, InstrumentKind::kSineBar);
  const Instrument* set = FindKind(shop, InstrumentKind::kGaugeBlocks);
  if (bar != nullptr && bar->centres_mm > 0 && set != nullptr && !set->blocks_mm.empty())
    ways.push_back(AngleBy::kSineBar);
  if (FindKind(shop, InstrumentKind::kProtractor) == nullptr) return ways;
  ways.push_back(AngleBy::kProtractor);
  if (FindKind(shop, InstrumentKind::kHeightGauge) != nullptr)
    ways.push_back(AngleBy::kScribedLine);
  return ways;
}

double Lean_rad(const Vec3 &up_P) {
  int axis = 0;
  const double most = up_P.cwiseAbs().maxCoeff(&axis);
  const double aside = std::sqrt(std::max(0.0, up_P.squaredNorm() - most * most));
  return std::atan2(aside, most);
}

Result<AngleSetting> SetAngle(AngleBy by, double lean_rad, double line_mm, const Shop &shop) {
  AngleSetting setting;
  setting.by = by;
  setting.angle_deg = lean_rad * kDeg;
  if (by == AngleBy::kScribedLine) setting.line_mm = line_mm;
  const std::vector<AngleBy> ways = WaysToSet(shop);
  if (std::find(ways.begin(), ways.end(), by) == ways.end())
    return CannotSet(
        fmt::format("the shop has nothing to set {} with", DegreesWords(setting.angle_deg)),
        "buy a protractor, or a sine bar and gauge blocks");
  if (by != AngleBy::kSineBar) return setting;
  const Instrument &bar = *FindKind(shop, InstrumentKind::kSineBar);
  const Instrument &set = *FindKind(shop, InstrumentKind::kGaugeBlocks);
  setting.stack_mm = trade::SineStack_mm(bar.centres_mm, lean_rad);
  setting.blocks_mm = trade::ChooseBlocks(setting.stack_mm, set.blocks_mm);
  if (std::abs(trade::SumOf(setting.blocks_mm) - setting.stack_mm) > kNearEnough_mm) {
    return CannotSet(fmt::format("the gauge blocks at hand do not make {:.3f} mm for {}",
                                 setting.stack_mm, DegreesWords(setting.angle_deg)),
                     "set it by protractor, or buy the block that is wanting");
  }
  return setting;
}

double AngleMinutes(AngleBy by) {
  switch (by) {
    case AngleBy::kSineBar:
      return 8;
    case AngleBy::kProtractor:
      return 3;
    case AngleBy::kScribedLine:
      return 6;
  }
  return 0;
}

std::string DegreesWords(double angle_deg) {
  const auto minutes = static_cast<long>(std::llround(angle_deg * 60));
  return fmt::format("{} deg {:02d} min", minutes / 60, minutes % 60);
}

std::string AngleWords(const AngleSetting &setting, const Shop &shop, const std::string &side,
                       const std::string &low_end) {
  const std::string angle = DegreesWords(setting.angle_deg);
  switch (setting.by) {
    case AngleBy::kSineBar: {
      std::string blocks;
      for (const double b : setting.blocks_mm)
        blocks += fmt::format("{}{:.3f}", blocks.empty() ? "" : " + ", b);
      const Instrument *bar = FindKind(shop, InstrumentKind::kSineBar);
      return fmt::format(
          "Set {} to {} with the sine bar ({:.0f} mm between its rolls) under "
          "it, low on the {}: under the other roll {} = {:.3f} mm of gauge "
          "blocks wrung together (by the sine {:.3f} mm). Draw the jaw up, tap "
          "the piece down on the bar, tighten, then take bar and blocks out.",
          side, angle, bar->centres_mm, low_end, blocks, trade::SumOf(setting.blocks_mm),
          setting.stack_mm);
    }
    case AngleBy::kProtractor:
      return fmt::format(
          "Set {} to {} from the bed with the protractor, low on the {}; look "
          "for light under its blade before and after tightening.",
          side, angle, low_end);
    case AngleBy::kScribedLine:
      return fmt::format(
          "Before it is held scribe with height gauge and "
          "protractor a line {:.0f} mm long on the side that "
          "looks at you, at {} to {}, low on the {}; "
          "in the vise turn the piece until a scriber on the bed "
          "follows the line from end to end.",
          setting.line_mm, angle, side, low_end);
  }
  return {};
}

}  // namespace fitwright::planner
