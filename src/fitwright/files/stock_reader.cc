#include <algorithm>
#include <cmath>

#include "fitwright/files/feature_reader.h"
#include "fitwright/files/part_reader.h"
#include "fitwright/files/size_reader.h"
#include "fitwright/model/faces.h"
#include "fitwright/model/material.h"
#include "fitwright/model/stock_words.h"
#include "fitwright/trade/stock.h"
#include "fitwright/units/length.h"

namespace fitwright::files {
namespace {

// Bar left for the chuck behind the parting cut: half the diameter, as the jaws want, and not
// under 15.
constexpr double kGripShare = 0.5;
constexpr double kLeastGrip_mm = 15;
constexpr double kParting_mm = 3;

std::string Trim(double mm) { return FormatTrimmed(mm, 3); }

double LargestDiameter(const Part& part) {
  double largest_mm = 0;
  for (const Feature& feature : part.features) {
    if (const auto* outer = std::get_if<OuterDiameter>(&feature.shape)) {
      largest_mm = std::max(largest_mm, outer->diameter.middle_mm());
    }
  }
  return largest_mm;
}

void NoteSawnEnds(ReadLog& log, const Part& part, const Stock& stock) {
  log.assumed.push_back(fmt::format("{}: the stock's sawn ends may lean {} mm over its width.",
                                    part.name.text(), Trim(stock.out_of_square_mm)));
}

bool ReadBox(TableReader& table, const Part& part, Stock& stock) {
  const auto size = table.Point_mm("size");
  table.Require("size", "write its three sizes along x, y, z: size = [54, 60, 92]");
  const auto at = table.Point_mm("at");
  if (!size || (table.Has("at") && !at)) return false;
  if (size->minCoeff() <= 0) {
    table.Fault(ErrorCode::kNotPositive, "size", "a size is not above zero",
                "write three lengths above zero");
    return false;
  }
  const Vec3 least = at ? *at : Vec3(CalcEnvelope(part).centre_mm() - 0.5 * *size);
  stock.box_P = Box3{least, least + *size};
  if (stock.form != StockForm::kSquare) return true;
  std::array<double, 3> sorted{(*size)[0], (*size)[1], (*size)[2]};
  std::sort(sorted.begin(), sorted.end());
  if (sorted[1] - sorted[0] < kDrawnAlike_mm || sorted[2] - sorted[1] < kDrawnAlike_mm) return true;
  table.Fault(ErrorCode::kOutOfRange, "size", "no two sides of this square bar are alike",
              "write form = \"flat\", or mend the size");
  return false;
}

// Where a bar lies: length, start, and on a block axis. False when one is faulty (reported).
bool ReadBarPlace(TableReader& table, const Part& part, Stock& stock) {
  const auto length_mm = table.PositiveLength_mm("length");
  table.Require("length", "write the bar's length");
  const auto start_mm = table.Length_mm("start");
  std::optional<Vec3> axis;
  if (part.envelope == EnvelopeKind::kBlock) {
    axis = table.Side("axis");
    table.Require("axis", "on a block, name the bar's direction: axis = \"+z\"");
    if (!axis) return false;
  }
  if (!length_mm || (table.Has("start") && !start_mm)) return false;
  if (axis) {
    const Box3 box = CalcEnvelope(part);
    stock.axis_P = Axis3{box.centre_mm(), *axis};
    stock.axis_P.point_mm -= stock.axis_P.point_mm.dot(*axis) * *axis;
    stock.from_mm = start_mm.value_or(box.centre_mm().dot(*axis) - 0.5 * *length_mm);
  } else {
    stock.axis_P = part.turning_axis_P;
    const Stretch work = CalcTurnedLength(part);
    stock.from_mm = start_mm.value_or(0.5 * (work.from_mm + work.to_mm - *length_mm));
  }
  stock.to_mm = stock.from_mm + *length_mm;
  return true;
}

bool ReadRound(TableReader& table, const Part& part, Stock& stock) {
  const auto diameter_mm = table.PositiveLength_mm("diameter");
  table.Require("diameter", "write the bar's diameter");
  const bool placed = ReadBarPlace(table, part, stock);
  stock.diameter_mm = diameter_mm.value_or(0);
  return diameter_mm && placed;
}

bool ReadTube(TableReader& table, const Part& part, Stock& stock) {
  const auto outer_mm = table.PositiveLength_mm("outer");
  table.Require("outer", "write the tube's outside diameter");
  const auto inner_mm = table.PositiveLength_mm("inner");
  table.Require("inner", "write the tube's inside diameter");
  const bool placed = ReadBarPlace(table, part, stock);
  if (!outer_mm || !inner_mm || !placed) return false;
  stock.diameter_mm = *outer_mm;
  stock.inner_diameter_mm = *inner_mm;
  if (*inner_mm < *outer_mm - kDrawnAlike_mm) return true;
  table.Fault(ErrorCode::kBadStock, "inner", "the tube has no wall",
              fmt::format("write less than {} mm", Trim(*outer_mm)));
  return false;
}

bool ReadHex(TableReader& table, const Part& part, Stock& stock) {
  const auto across_mm = table.PositiveLength_mm("across");
  table.Require("across", "write its size across flats");
  const auto flat = table.Side("flat");
  const bool placed = ReadBarPlace(table, part, stock);
  if (!across_mm || !placed || (table.Has("flat") && !flat)) return false;
  stock.diameter_mm = *across_mm;
  const Vec3& axis = stock.axis_P.direction;
  stock.flat_normal_P = flat.value_or(std::abs(axis.x()) < 0.5 ? Vec3::UnitX() : Vec3::UnitY());
  return Square(table, "flat", stock.flat_normal_P, axis, "the bar's axis");
}

// The outermost face on that side is left as it is cast.
bool StaysAsCast(const Part& part, const Vec3& side) {
  const Feature* face = OutermostFace(part, side);
  return face != nullptr && face->finish == Finish::kAsSupplied;
}

bool OutsideStaysAsCast(const Part& part) {
  const double largest_mm = LargestDiameter(part);
  return std::any_of(part.features.begin(), part.features.end(), [&](const Feature& feature) {
    const auto* outer = std::get_if<OuterDiameter>(&feature.shape);
    return outer != nullptr && feature.finish == Finish::kAsSupplied &&
           outer->diameter.middle_mm() > largest_mm - kDrawnAlike_mm;
  });
}

// A box or a cylinder, as the part is, a little larger wherever it is cut.
bool ReadCasting(TableReader& table, const Part& part, Stock& stock) {
  const auto allowance_mm = table.PositiveLength_mm("allowance");
  const auto inner_mm = table.PositiveLength_mm("inner");
  const bool block = part.envelope == EnvelopeKind::kBlock;
  if (block) table.Know({"size", "at"});
  if (block && table.Has("inner")) {
    table.Fault(ErrorCode::kConflictingKeys, "inner", "only a casting of turned work has a core",
                "take inner out");
    return false;
  }
  if (block && table.Has("size")) {
    stock.allowance_mm = allowance_mm.value_or(0);
    return ReadBox(table, part, stock);
  }
  table.Require("allowance", "write the metal left on every face that is cut: allowance = 3");
  if (!allowance_mm || (table.Has("inner") && !inner_mm)) return false;
  stock.allowance_mm = *allowance_mm;
  const auto left_on = [&](const Vec3& side) { return StaysAsCast(part, side) ? 0 : *allowance_mm; };
  if (block) {
    stock.box_P = CalcEnvelope(part);
    for (int k = 0; k < 3; ++k) {
      stock.box_P.min_mm[k] -= left_on(-Vec3::Unit(k));
      stock.box_P.max_mm[k] += left_on(Vec3::Unit(k));
    }
    return true;
  }
  const Stretch work = CalcTurnedLength(part);
  stock.axis_P = part.turning_axis_P;
  stock.from_mm = work.from_mm - left_on(-stock.axis_P.direction);
  stock.to_mm = work.to_mm + left_on(stock.axis_P.direction);
  stock.diameter_mm = LargestDiameter(part) + (OutsideStaysAsCast(part) ? 0 : 2 * *allowance_mm);
  stock.inner_diameter_mm = inner_mm.value_or(0);
  if (stock.inner_diameter_mm < stock.diameter_mm) return true;
  table.Fault(ErrorCode::kBadStock, "inner", "the cored casting has no wall",
              fmt::format("write less than {} mm", Trim(stock.diameter_mm)));
  return false;
}

bool ReadForm(TableReader& table, const Part& part, Stock& stock) {
  switch (stock.form) {
    case StockForm::kRound:
      return ReadRound(table, part, stock);
    case StockForm::kTube:
      return ReadTube(table, part, stock);
    case StockForm::kHex:
      return ReadHex(table, part, stock);
    case StockForm::kCasting:
      return ReadCasting(table, part, stock);
    case StockForm::kFlat:
    case StockForm::kSquare:
    case StockForm::kPlate:
      return ReadBox(table, part, stock);
  }
  return false;
}

// skin, sawn_lean and bar_limits: any form's.
bool ReadSupplied(TableReader& table, const Part& part, Stock& stock) {
  const auto skin_mm = table.PositiveLength_mm("skin");
  const auto lean_mm = table.Length_mm("sawn_lean");
  const auto limits_mm = table.Lengths_mm("bar_limits", 2, 2);
  if ((table.Has("skin") && !skin_mm) || (table.Has("sawn_lean") && !lean_mm) ||
      (table.Has("bar_limits") && !limits_mm)) {
    return false;
  }
  stock.skin_mm = skin_mm.value_or(0);
  if (lean_mm && *lean_mm < 0) {
    table.Fault(ErrorCode::kBadStock, "sawn_lean", "an end does not lean by less than nothing",
                "write how far an end leans over the bar's width, 0 for a faced one");
    return false;
  }
  stock.out_of_square_mm = lean_mm.value_or(stock.out_of_square_mm);
  if (!lean_mm && stock.form != StockForm::kCasting) NoteSawnEnds(table.log(), part, stock);
  if (!limits_mm) return true;
  if ((*limits_mm)[0] > (*limits_mm)[1]) {
    table.Fault(ErrorCode::kLimitsSwapped, "bar_limits", "the first limit is above the second",
                "write the least deviation first: bar_limits = [-0.1, 0]");
    return false;
  }
  // Solids stand at the middle of limits, the stock's too.
  const double middle_mm = stock.IsBar() ? 0.5 * ((*limits_mm)[0] + (*limits_mm)[1]) : 0;
  stock.diameter_mm += middle_mm;
  stock.under_mm = std::max(0.0, middle_mm - (*limits_mm)[0]);
  stock.over_mm = std::max(0.0, (*limits_mm)[1] - middle_mm);
  return true;
}

// The bar whose section lies across `along`, least in volume over the three ways round.
Stock ProposeBar(const Box3& box) {
  Stock best;
  double best_volume = 0;
  bool sold = false;
  for (int along = 0; along < 3; ++along) {
    const int a = (along + 1) % 3;
    const int b = (along + 2) % 3;
    Vec3 want = box.size_mm() + Vec3::Constant(2 * trade::kSideAllowance_mm);
    want[along] = box.size_mm()[along] + 2 * trade::kSawnEndAllowance_mm;
    const auto section = trade::NextFlat(std::max(want[a], want[b]), std::min(want[a], want[b]));
    if (sold && !section) continue;
    Vec3 size = want;
    if (section) {
      size[want[a] >= want[b] ? a : b] = section->width_mm;
      size[want[a] >= want[b] ? b : a] = section->thickness_mm;
    }
    const double volume = size.prod();
    const bool better = best_volume == 0 || (section && !sold) || volume < best_volume - 1e-6;
    if (!better) continue;
    best_volume = volume;
    sold = section.has_value();
    best.form = section && std::abs(section->width_mm - section->thickness_mm) < kDrawnAlike_mm
                    ? StockForm::kSquare
                    : StockForm::kFlat;
    best.box_P = Box3{box.centre_mm() - 0.5 * size, box.centre_mm() + 0.5 * size};
  }
  return best;
}

// True when the work is done from the end where the axis points away from the chuck: where the
// bores enter, else where the smaller end is.
bool WorkedAtFarEnd(const Part& part) {
  int far = 0;
  for (const Feature& feature : part.features) {
    const auto* hole = std::get_if<Hole>(&feature.shape);
    if (hole == nullptr || hole->use == HoleUse::kHole) continue;
    const double along = hole->into_P.dot(part.turning_axis_P.direction);
    if (along < -0.5) ++far;
    if (along > 0.5) --far;
  }
  if (far != 0) return far > 0;
  const Stretch work = CalcTurnedLength(part);
  double near_mm = 0;
  double far_mm = 0;
  for (const Feature& feature : part.features) {
    const auto* outer = std::get_if<OuterDiameter>(&feature.shape);
    if (outer == nullptr) continue;
    if (outer->from_mm <= work.from_mm) near_mm = outer->diameter.middle_mm();
    if (outer->to_mm >= work.to_mm) far_mm = outer->diameter.middle_mm();
  }
  return far_mm <= near_mm;
}

Stock ProposeRound(const Part& part) {
  Stock stock;
  stock.form = StockForm::kRound;
  stock.axis_P = part.turning_axis_P;
  const double want_mm = LargestDiameter(part) + trade::kRoundAllowance_mm;
  stock.diameter_mm = trade::NextRound_mm(want_mm).value_or(want_mm);
  const Stretch work = CalcTurnedLength(part);
  const double held_mm = std::ceil(std::max(kLeastGrip_mm, kGripShare * stock.diameter_mm) +
                                   kParting_mm + trade::kSawnEndAllowance_mm);
  const bool far = WorkedAtFarEnd(part);
  stock.from_mm = work.from_mm - (far ? held_mm : trade::kSawnEndAllowance_mm);
  stock.to_mm = work.to_mm + (far ? trade::kSawnEndAllowance_mm : held_mm);
  return stock;
}

}  // namespace

Stock ProposeStock(const Part& part) {
  Stock stock =
      part.envelope == EnvelopeKind::kBlock ? ProposeBar(CalcEnvelope(part)) : ProposeRound(part);
  stock.proposed = true;
  return stock;
}

void ReadStock(TableReader& sheet, Part& part) {
  auto table = sheet.Table("stock");
  if (!table) {
    if (sheet.Has("stock")) return;
    part.stock = ProposeStock(part);
    sheet.log().assumed.push_back(fmt::format("{}: stock not stated; proposed: {}.",
                                              part.name.text(), StockWords(part.stock, [](double mm) { return fmt::format("{} mm", Trim(mm)); })));
    return;
  }
  Stock stock;
  const auto form = table->Word<StockForm>("form");
  table->Require("form", fmt::format("write one of: {}", ListOf(WordList<StockForm>())));
  if (form) {
    stock.form = *form;
    const bool formed = ReadForm(*table, part, stock);
    const bool supplied = ReadSupplied(*table, part, stock);
    if (formed && supplied) part.stock = stock;
    table->Finish();
  }
  table->Locate(fmt::format("parts.{}.stock", part.name.text()));
}

}  // namespace fitwright::files
