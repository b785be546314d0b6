#include "fitwright/files/stock_writer.h"

#include <algorithm>
#include <cmath>

#include "fitwright/files/part_reader.h"
#include "fitwright/model/faces.h"
#include "fitwright/model/material.h"

namespace fitwright::files {
namespace {

bool SameBox(const Box3& a, const Box3& b) {
  return Alike(a.min_mm, b.min_mm) && Alike(a.max_mm, b.max_mm);
}

void WriteBox(const Part& part, SheetText& text) {
  const Box3& box = part.stock.box_P;
  const Vec3 size = box.size_mm();
  text.Lengths("size", {size[0], size[1], size[2]});
  if (Alike(box.centre_mm(), CalcEnvelope(part).centre_mm())) return;
  text.Lengths("at", {box.min_mm[0], box.min_mm[1], box.min_mm[2]});
}

// A bar's size as it is sold: the model holds the middle of its limits.
struct SoldSize {
  double size_mm = 0;
  double under_mm = 0;
  double over_mm = 0;
};
SoldSize SoldSizeOf(const Stock& stock) {
  const SoldSize middle{stock.diameter_mm, stock.under_mm, stock.over_mm};
  SoldSize best = middle;
  std::size_t shortest = ShortNumber(middle.size_mm).size();
  const double width_mm = stock.under_mm + stock.over_mm;
  for (const SoldSize& other : {SoldSize{stock.diameter_mm + stock.over_mm, width_mm, 0},
                                SoldSize{stock.diameter_mm - stock.under_mm, 0, width_mm}}) {
    const std::size_t length = ShortNumber(other.size_mm).size();
    if (length >= shortest) continue;
    best = other;
    shortest = length;
  }
  return best;
}

void WriteBarPlace(const Part& part, SheetText& text) {
  const Stock& stock = part.stock;
  const double length_mm = stock.to_mm - stock.from_mm;
  text.Length("length", length_mm);
  double usual_mm = 0;
  if (part.envelope == EnvelopeKind::kBlock) {
    const Vec3& axis = stock.axis_P.direction;
    text.Side("axis", axis);
    usual_mm = CalcEnvelope(part).centre_mm().dot(axis) - 0.5 * length_mm;
  } else {
    const Stretch work = CalcTurnedLength(part);
    usual_mm = 0.5 * (work.from_mm + work.to_mm - length_mm);
  }
  if (!Alike(usual_mm, stock.from_mm)) text.Length("start", stock.from_mm);
}

void WriteBar(const Part& part, const SoldSize& sold, SheetText& text) {
  const Stock& stock = part.stock;
  if (stock.form == StockForm::kHex) {
    text.Length("across", sold.size_mm);
    const Vec3 usual = std::abs(stock.axis_P.direction.x()) < 0.5 ? Vec3::UnitX() : Vec3::UnitY();
    if (!Alike(usual, stock.flat_normal_P)) text.Side("flat", stock.flat_normal_P);
  } else if (stock.form == StockForm::kTube) {
    text.Length("outer", sold.size_mm);
    text.Length("inner", stock.inner_diameter_mm);
  } else {
    text.Length("diameter", sold.size_mm);
  }
  WriteBarPlace(part, text);
}

// The envelope grown by the allowance wherever a face is cut.
Box3 GrownEnvelope(const Part& part) {
  Box3 box = CalcEnvelope(part);
  for (int k = 0; k < 3; ++k) {
    for (const double sense : {-1.0, 1.0}) {
      const Feature* face = OutermostFace(part, sense * Vec3::Unit(k));
      if (face != nullptr && face->finish == Finish::kAsSupplied) continue;
      (sense > 0 ? box.max_mm : box.min_mm)[k] += sense * part.stock.allowance_mm;
    }
  }
  return box;
}

void WriteCasting(const Part& part, SheetText& text) {
  const Stock& stock = part.stock;
  if (stock.allowance_mm > 0) text.Length("allowance", stock.allowance_mm);
  if (part.envelope == EnvelopeKind::kTurned) {
    if (stock.inner_diameter_mm > 0) text.Length("inner", stock.inner_diameter_mm);
  } else if (stock.allowance_mm <= 0 || !SameBox(stock.box_P, GrownEnvelope(part))) {
    WriteBox(part, text);
  }
}

}  // namespace

void WriteStock(const Part& part, SheetText& text) {
  if (part.stock.proposed) return;  // whoever reads the sheet proposes what is sold
  const Stock& stock = part.stock;
  text.Table("[stock]", "stock");
  text.Word("form", WordOf(stock.form));
  SoldSize sold{0, stock.under_mm, stock.over_mm};
  if (stock.form == StockForm::kCasting) {
    WriteCasting(part, text);
  } else if (stock.IsBar()) {
    sold = SoldSizeOf(stock);
    WriteBar(part, sold, text);
  } else {
    WriteBox(part, text);
  }
  if (stock.skin_mm > 0) text.Length("skin", stock.skin_mm);
  if (!Alike(stock.out_of_square_mm, 1)) text.Length("sawn_lean", stock.out_of_square_mm);
  if (sold.under_mm > 0 || sold.over_mm > 0)
    text.Lengths("bar_limits", {0.0 - sold.under_mm, sold.over_mm});
}

}  // namespace fitwright::files
