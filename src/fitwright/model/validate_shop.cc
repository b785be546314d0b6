#include <fmt/format.h>

#include <cmath>
#include <set>

#include "fitwright/model/known_words.h"
#include "fitwright/model/machine.h"
#include "fitwright/model/validate.h"
#include "fitwright/trade/fits.h"
#include "fitwright/trade/threads.h"

namespace fitwright {
namespace {

struct Check {
  std::vector<ModelFault>& faults;
  std::string base;  // field path of the thing looked at

  void Add(ErrorCode code, std::string_view key, std::string message, std::string remedy) {
    faults.push_back(ModelFault{code, fmt::format("{}.{}", base, key), std::move(message),
                                std::move(remedy), ""});
  }
  void Positive(std::string_view key, double value) {
    if (std::isfinite(value) && value > 0) return;
    Add(std::isfinite(value) ? ErrorCode::kNotPositive : ErrorCode::kNotFinite, key,
        fmt::format("{} is not above zero", key), "write a number above zero");
  }
  void NotNegative(std::string_view key, double value) {
    if (std::isfinite(value) && value >= 0) return;
    Add(std::isfinite(value) ? ErrorCode::kOutOfRange : ErrorCode::kNotFinite, key,
        fmt::format("{} is below zero", key), "write zero or more");
  }
};

void CheckMachineTool(const MachineTool& m, Check& check) {
  if (m.kind == MachineToolKind::kBench) return;
  check.Positive("nose_diameter_mm", m.nose_diameter_mm);
  if (m.kind == MachineToolKind::kLathe) {
    check.Positive("swing_mm", m.swing_mm);
    check.Positive("swing_cross_slide_mm", m.swing_cross_slide_mm);
    check.Positive("between_centres_mm", m.between_centres_mm);
  } else {
    check.Positive("daylight_mm", m.daylight_mm);
  }
  if (m.travel_mm.minCoeff() < 0 || m.travel_mm.maxCoeff() <= 0) {
    check.Add(ErrorCode::kNotPositive, "travel_mm", "the machine does not move",
              "write its travels along x, y, z; 0 where it has none");
  }
  check.Positive("power_W", m.power_W);
  check.Positive("feed_max_mm_min", m.feed_max_mm_min);
  if (m.speeds_rpm.empty()) {
    check.Add(ErrorCode::kWrongCount, "speeds_rpm", "no speed is stated",
              "write the spindle's speeds, lowest first");
  }
  double last = 0;
  for (const double speed : m.speeds_rpm) {
    if (!(speed > last)) {
      check.Add(last == 0 ? ErrorCode::kNotPositive : ErrorCode::kLimitsSwapped, "speeds_rpm",
                fmt::format("{} does not follow {}", speed, last),
                "write speeds above zero, lowest first");
      break;
    }
    last = speed;
  }
  for (const auto& [key, sense] : {std::pair{"x_sense", m.x_sense}, std::pair{"y_sense", m.y_sense},
                                   std::pair{"z_sense", m.z_sense}}) {
    if (sense == 1 || sense == -1) continue;
    check.Add(ErrorCode::kOutOfRange, key, "a sense is 1 or -1",
              "write 1 where the reading counts as the axis does, -1 where against it");
  }
}

void CheckHolding(const HoldingDevice& h, const Shop& shop, Check& check) {
  if (shop.Find(h.on) == nullptr) {
    std::vector<std::string> names;
    for (const MachineTool& m : shop.machines) names.push_back(m.name.text());
    check.Add(
        ErrorCode::kUnknownMachineTool, "on",
        fmt::format("the shop has no machine {}", h.on.text()),
        fmt::format("write \"{}\", or one of: {}", NearestOf(h.on.text(), names), ListOf(names)));
  }
  switch (h.kind) {
    case HoldingDeviceKind::kVise:
      check.Positive("opening_mm", h.opening_mm);
      check.Positive("jaw_width_mm", h.jaw_width_mm);
      check.Positive("jaw_height_mm", h.jaw_height_mm);
      break;
    case HoldingDeviceKind::kThreeJaw:
    case HoldingDeviceKind::kFourJaw:
    case HoldingDeviceKind::kCollet:
      check.Positive("grip_max_mm", h.grip_max_mm);
      if (h.grip_min_mm < h.grip_max_mm || h.grip_max_mm <= 0) break;
      check.Add(ErrorCode::kLimitsSwapped, "grip_min_mm",
                "the least gripped size is not below the greatest", "mend one of the two");
      break;
    default:
      break;
  }
  const MachineTool* on = shop.Find(h.on);
  if (h.soft_jaws && (h.kind != HoldingDeviceKind::kThreeJaw || (on != nullptr && on->kind != MachineToolKind::kLathe))) {
    check.Add(ErrorCode::kOutOfRange, "soft_jaws", "soft jaws are bored in place, in a three-jaw chuck on a lathe", "take the line away, or write kind = \"three_jaw\" and on = a lathe");
  }
  for (const double height : h.parallels_mm) {
    if (height > 0) continue;
    check.Add(ErrorCode::kNotPositive, "parallels_mm", "a height is not above zero",
              "write the heights of the pairs at hand");
    break;
  }
}

double TwiceArea(const std::vector<Vec2>& polygon) {
  double twice = 0;
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const Vec2& a = polygon[i];
    const Vec2& b = polygon[(i + 1) % polygon.size()];
    twice += a.x() * b.y() - b.x() * a.y();
  }
  return twice;
}

bool Crosses(const Vec2& a, const Vec2& b, const Vec2& c, const Vec2& d) {
  const auto side = [](const Vec2& p, const Vec2& q, const Vec2& r) {
    return (q.x() - p.x()) * (r.y() - p.y()) - (q.y() - p.y()) * (r.x() - p.x());
  };
  return side(a, b, c) * side(a, b, d) < 0 && side(c, d, a) * side(c, d, b) < 0;
}

void CheckSection(const Tool& tool, Check& check) {
  const auto& section = tool.section_T_mm;
  const auto bad = [&](std::string message) {
    check.Add(ErrorCode::kBadSection, "section_T_mm", std::move(message),
              "write the corners in (x, z) from the cutting corner [0, 0], counter-clockwise");
  };
  if (section.empty()) return;
  if (section.size() < 3) return bad("a section has at least three corners");
  if (TwiceArea(section) <= 0) return bad("the section runs clockwise or has no area");
  for (std::size_t i = 0; i < section.size(); ++i) {
    for (std::size_t k = i + 1; k < section.size(); ++k) {
      if (Crosses(section[i], section[(i + 1) % section.size()], section[k],
                  section[(k + 1) % section.size()])) {
        return bad("the section crosses itself");
      }
    }
  }
}

bool OnLathe(ToolKind kind) {
  switch (kind) {
    case ToolKind::kBoringBar:
    case ToolKind::kTurningTool:
    case ToolKind::kFacingTool:
    case ToolKind::kPartingTool:
    case ToolKind::kGroovingTool:
    case ToolKind::kInternalGroovingTool:
    case ToolKind::kChamferTool:
    case ToolKind::kThreadingTool:
    case ToolKind::kKnurlingTool:
    case ToolKind::kFormTool:
      return true;
    default:
      return false;
  }
}

void CheckTool(const Tool& tool, Check& check) {
  static const std::vector<std::string> kPlaces{"mill", "lathe", "any", "hand"};
  if (EnumOf<MachineToolKind>(tool.on) == std::nullopt && tool.on != "any" && tool.on != "hand") {
    check.Add(
        ErrorCode::kUnknownWord, "on", "the word is not known here",
        fmt::format("write \"{}\", or one of: {}", NearestOf(tool.on, kPlaces), ListOf(kPlaces)));
  }
  const bool by_hand = tool.kind == ToolKind::kHacksaw || tool.kind == ToolKind::kFile;
  if (tool.kind == ToolKind::kSlottingTool || tool.kind == ToolKind::kBroach) {
    check.Positive("width_mm", tool.width_mm);
    check.Positive("reach_mm", tool.reach_mm);
    check.Positive("flute_mm", tool.flute_mm);
    check.Positive("diameter_min_mm", tool.diameter_min_mm);
  } else if (OnLathe(tool.kind) && tool.section_T_mm.empty()) {
    check.Add(ErrorCode::kBadSection, "section_T_mm", "the tool's section is not stated",
              "write its corners in (x, z) from the cutting corner [0, 0], counter-clockwise");
  } else if (!OnLathe(tool.kind) && !by_hand) {
    check.Positive("diameter_mm", tool.diameter_mm);
    check.Positive("flute_mm", tool.flute_mm);
  }
  CheckSection(tool, check);
  if (tool.kind == ToolKind::kFormTool && (tool.nose_radius_mm > 0) == (tool.hollow_radius_mm > 0)) {
    check.Add(ErrorCode::kNotPositive, "nose_radius_mm", "a form tool has one curve",
              "write nose_radius_mm or hollow_radius_mm, above zero");
  }
  if (!(tool.point_deg > 0 && tool.point_deg <= 180)) {
    check.Add(ErrorCode::kBadAngle, "point_deg", "the point's angle is not above 0 and up to 180",
              "write the included angle in degrees; 180 is flat");
  }
  const bool one_thread = tool.kind == ToolKind::kTap || tool.kind == ToolKind::kDie;
  if (one_thread && trade::FindThread(tool.thread) == nullptr) {
    check.Add(ErrorCode::kUnknownThread, "thread", "the tool's thread is not in the table",
              fmt::format("write thread = \"M3\", or another of: {}", trade::KnownThreads()));
  }
  if (tool.kind == ToolKind::kReamer && tool.diameter_mm > 0 &&
      !trade::FindFit(tool.diameter_mm, tool.fit)) {
    check.Add(ErrorCode::kUnknownFit, "fit", "the reamer's fit is not in the tables",
              "write fit = \"H7\"");
  }
  for (const auto& [key, value] :
       {std::pair{"stick_out_mm", tool.stick_out_mm}, std::pair{"shank_mm", tool.shank_mm},
        std::pair{"holder_diameter_mm", tool.holder_diameter_mm},
        std::pair{"holder_length_mm", tool.holder_length_mm}, std::pair{"reach_mm", tool.reach_mm},
        std::pair{"width_mm", tool.width_mm}, std::pair{"rpm_max", tool.rpm_max},
        std::pair{"nose_radius_mm", tool.nose_radius_mm},
        std::pair{"hollow_radius_mm", tool.hollow_radius_mm}, std::pair{"pitch_mm", tool.pitch_mm}}) {
    check.NotNegative(key, value);
  }
  if (tool.flute_mm > tool.stick_out_mm && tool.stick_out_mm > 0) {
    check.Add(ErrorCode::kOutOfRange, "flute_mm", "it cuts over more than stands out of the holder",
              "mend flute_mm or stick_out_mm");
  }
}

// A figure so many times beyond what a worn shop has, or below what a careful one has, is another
// unit's (micrometres in the place of millimetres are a thousand times).
constexpr double kAnotherUnit = 100;

void CheckScale(const Spread& spread, std::string_view key, double SpreadFigure::* figure, Check& check) {
  const double value = std::abs(spread.usual.*figure);
  const double most = std::abs(spread.worn.*figure);
  const double least = std::abs(spread.careful.*figure);
  const bool big = most > 0 && value > kAnotherUnit * most;
  const bool small = value > 0 && value * kAnotherUnit < least;
  if (!big && !small) return;
  check.Add(ErrorCode::kOutOfRange, key,
            fmt::format("{:g} {} is {:.0f} times {} ({:g}): a slip of units", value, spread.unit,
                        big ? value / most : least / value,
                        big ? "what a worn shop has" : "less than a careful shop has",
                        big ? most : least),
            fmt::format("write it in {}, for example {:g}", spread.unit, spread.worn.*figure));
}

void CheckSpread(const Spread& spread, Check& check) {
  for (const SpreadFigure* figure : {&spread.careful, &spread.usual, &spread.worn}) {
    check.NotNegative("spread", figure->spread);
    if (spread.distribution == SpreadDistribution::kEvent && figure->spread > 100) {
      check.Add(ErrorCode::kOutOfRange, "spread", "a chance is over 100 per cent",
                "write per cent from 0 to 100");
    }
    if (!std::isfinite(figure->mean)) {
      check.Add(ErrorCode::kNotFinite, "mean", "this is not a finite number", "write a number");
    }
  }
  if (spread.distribution == SpreadDistribution::kLognormal && spread.usual.mean < 0) {
    check.Add(ErrorCode::kNotPositive, "mean", "a median is below zero", "write what it is as a rule");
  }
  if (spread.distribution != SpreadDistribution::kEvent) {
    CheckScale(spread, "spread", &SpreadFigure::spread, check);
  }
  CheckScale(spread, "mean", &SpreadFigure::mean, check);
}

void CheckRemedy(const Remedy& remedy, Check& check) {
  check.NotNegative("minutes", remedy.minutes);
  if (remedy.mends >= 0 && remedy.mends <= 1) return;
  check.Add(ErrorCode::kOutOfRange, "mends", "a share is not from 0 to 1",
            "write the share of failed builds that it mends, 0 to 1");
}

template <typename List, typename CheckOne>
void CheckAll(const List& list, std::string_view group, std::vector<ModelFault>& faults,
              CheckOne check_one) {
  std::set<std::string> seen;
  for (const auto& item : list) {
    const std::string& name = item.name.text();
    Check check{faults, fmt::format("shop.{}.{}", group, name)};
    if (!seen.insert(name).second) {
      check.Add(ErrorCode::kDuplicateName, "name", "the name is given twice",
                "names are given once: choose another");
    }
    check_one(item, check);
  }
}

}  // namespace

std::vector<ModelFault> ValidateShop(const Shop& shop) {
  std::vector<ModelFault> faults;
  CheckAll(shop.machines, "machine", faults, CheckMachineTool);
  CheckAll(shop.holding, "holding", faults,
           [&](const HoldingDevice& h, Check& check) { CheckHolding(h, shop, check); });
  CheckAll(shop.tools, "tool", faults, CheckTool);
  CheckAll(shop.instruments, "instrument", faults, [](const Instrument& i, Check& check) {
    if (i.to_mm > i.from_mm || (i.to_mm == 0 && i.from_mm == 0)) return;
    check.Add(ErrorCode::kLimitsSwapped, "to_mm", "to_mm does not lie beyond from_mm",
              "write the range it measures over");
  });
  for (const auto& [id, spread] : shop.spreads) {
    Check check{faults, fmt::format("shop.spread.{}", id)};
    CheckSpread(spread, check);
  }
  for (const Remedy& remedy : shop.remedies) {
    Check check{faults, fmt::format("shop.remedy.{}", remedy.for_what)};
    CheckRemedy(remedy, check);
  }
  return faults;
}

}  // namespace fitwright
