#include "fitwright/files/size_reader.h"

#include <algorithm>
#include <cmath>

#include "fitwright/trade/fits.h"
#include "fitwright/trade/general_tolerance.h"

namespace fitwright::files {
namespace {

std::optional<Size> ReadFit(TableReader& table, const SizeWish& wish, double nominal_mm) {
  const auto fit = table.String("fit");
  if (!fit) return std::nullopt;
  const bool wants_hole = wish.of != SizeOf::kShaft;
  const auto limits = trade::FindFit(nominal_mm, *fit);
  if (!limits) {
    table.Fault("fit", limits.error());
    return std::nullopt;
  }
  if (limits->hole != wants_hole) {
    table.Fault(ErrorCode::kUnknownFit, "fit",
                wants_hole ? "this is a fit for a shaft" : "this is a fit for a hole",
                wants_hole ? "holes and widths take capital letters: \"H7\""
                           : "shafts take small letters: \"g6\"");
    return std::nullopt;
  }
  return Size{nominal_mm, nominal_mm + limits->lower_mm, nominal_mm + limits->upper_mm,
              LimitsOrigin::kFit, *fit};
}

std::optional<Size> ReadLimits(TableReader& table, std::optional<double> nominal_mm) {
  const auto bounds = ReadBounds(table, "limits");
  if (!bounds) return std::nullopt;
  const double middle_mm = 0.5 * (bounds->lower + bounds->upper);
  // A nominal may stand outside its limits ("24 -0.045/-0.004"), but not far.
  constexpr double kFarShare = 0.1;
  constexpr double kFar_mm = 0.5;
  if (nominal_mm && std::abs(*nominal_mm - middle_mm) > kFarShare * std::abs(middle_mm) + kFar_mm) {
    table.Fault(ErrorCode::kOutOfRange, "limits",
                fmt::format("the limits are far from the size {}", *nominal_mm),
                "write the two sizes themselves, least and greatest; for deviations write "
                "deviations = [-0.1, 0]");
    return std::nullopt;
  }
  return Size{nominal_mm.value_or(middle_mm), bounds->lower, bounds->upper, LimitsOrigin::kLimits,
              ""};
}

std::optional<Size> ReadGeneral(TableReader& table, const SizeWish& wish, double nominal_mm) {
  if (wish.of == SizeOf::kFace) {
    // The two faces of a length share its tolerance.
    const double half_mm = 0.5 * GeneralOrNearest_mm(wish.general_for_mm, wish.general_tolerance);
    return Size{nominal_mm, nominal_mm - half_mm, nominal_mm + half_mm,
                LimitsOrigin::kGeneralTolerance, ""};
  }
  const auto size = trade::MakeGeneralSize(nominal_mm, wish.general_tolerance);
  if (size) return *size;
  table.Fault(
      size.error().code, wish.key,
      fmt::format("the general tolerance {} gives no limits for this size", wish.general_tolerance),
      "state its limits: plus_minus = 0.05");
  return std::nullopt;
}

}  // namespace

double GeneralOrNearest_mm(double nominal_mm, std::string_view klass) {
  const auto direct = trade::GeneralTolerance_mm(nominal_mm, klass);
  if (direct) return *direct;
  // Every class has rows from 3 to 2000 mm.
  const auto nearest = trade::GeneralTolerance_mm(std::clamp(nominal_mm, 3.0, 2000.0), klass);
  FW_CHECK(nearest.has_value(), klass);
  return *nearest;
}

std::optional<Bounds> ReadBounds(TableReader& table, std::string_view key) {
  const auto pair = table.Lengths_mm(key, 2, 2);
  if (!pair) return std::nullopt;
  if ((*pair)[0] < (*pair)[1]) return Bounds{(*pair)[0], (*pair)[1]};
  table.Fault(ErrorCode::kLimitsSwapped, key, "the first limit is not below the second",
              "write the least first: [least, greatest]");
  return std::nullopt;
}

std::optional<Size> ReadSize(TableReader& table, const SizeWish& wish) {
  const bool face = wish.of == SizeOf::kFace;
  table.Know({"plus_minus", "limits", "deviations"});
  if (!face) table.Know({"fit"});
  std::optional<double> nominal_mm =
      face ? table.Length_mm(wish.key) : table.PositiveLength_mm(wish.key);
  const bool stated = table.Has(wish.key);
  if (stated && !nominal_mm) return std::nullopt;
  if (!stated) nominal_mm = wish.nominal_mm;
  const bool fits = !face;
  std::vector<std::string> ways{"plus_minus", "limits", "deviations"};
  if (fits) ways.insert(ways.begin(), "fit");
  if (!table.AtMostOne(ways)) return std::nullopt;
  if (!nominal_mm && !table.Has("limits")) {
    table.Require(wish.key, fmt::format("write {} = ...", wish.key));
    return std::nullopt;
  }
  std::optional<Size> size;
  if (fits && table.Has("fit")) {
    size = ReadFit(table, wish, *nominal_mm);
  } else if (table.Has("plus_minus")) {
    if (const auto half_mm = table.PositiveLength_mm("plus_minus")) {
      size = Size{*nominal_mm, *nominal_mm - *half_mm, *nominal_mm + *half_mm,
                  LimitsOrigin::kPlusMinus, ""};
    }
  } else if (table.Has("limits")) {
    size = ReadLimits(table, nominal_mm);
  } else if (table.Has("deviations")) {
    if (const auto bounds = ReadBounds(table, "deviations")) {
      size = Size{*nominal_mm, *nominal_mm + bounds->lower, *nominal_mm + bounds->upper,
                  LimitsOrigin::kPlusMinus, ""};
    }
  } else {
    size = ReadGeneral(table, wish, *nominal_mm);
  }
  if (size && !face && size->lower_mm <= 0) {
    const std::string_view way = table.Has("limits")       ? "limits"
                                 : table.Has("deviations") ? "deviations"
                                 : table.Has("plus_minus") ? "plus_minus"
                                                           : wish.key;
    table.Fault(ErrorCode::kNotPositive, way, "the least size allowed is not above zero",
                "mend the size or its limits");
    return std::nullopt;
  }
  return size;
}

}  // namespace fitwright::files
