// Stock in the words that a merchant's list has it by.
#include "fitwright/model/stock_words.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

namespace fitwright {
namespace {

std::string Said(const Stock& stock) {
  return StockWords(stock, [](double mm) { return fmt::format("{:g}", mm); });
}

Stock Bar(StockForm form, double across_mm, double bored_mm = 0) {
  Stock stock;
  stock.form = form;
  stock.diameter_mm = across_mm;
  stock.inner_diameter_mm = bored_mm;
  stock.from_mm = -5;
  stock.to_mm = 40;
  return stock;
}

Stock Block(StockForm form, const Vec3& size_mm) {
  Stock stock;
  stock.form = form;
  stock.box_P = {Vec3::Zero(), size_mm};
  return stock;
}

TEST(StockWords, EveryFormHasItsMeasures) {
  EXPECT_EQ(Said(Bar(StockForm::kRound, 20)), "round bar 20, 45 long");
  EXPECT_EQ(Said(Bar(StockForm::kTube, 30, 20)), "tube 30, bored 20, 45 long");
  EXPECT_EQ(Said(Bar(StockForm::kHex, 17)), "hex bar 17 across flats, 45 long");
  EXPECT_EQ(Said(Bar(StockForm::kCasting, 60, 30)), "casting 60, bored 30, 45 long");
  EXPECT_EQ(Said(Block(StockForm::kFlat, {55, 60, 92})), "flat bar 55 x 60 x 92");
  EXPECT_EQ(Said(Block(StockForm::kCasting, {55, 60, 92})), "casting 55 x 60 x 92");
}

TEST(StockWords, ThinPlateIsSheet) {
  EXPECT_EQ(Said(Block(StockForm::kPlate, {120, 250, 6})), "plate 120 x 250 x 6");
  EXPECT_EQ(Said(Block(StockForm::kPlate, {60, 60, 0.3})), "sheet 60 x 60 x 0.3");
}

}  // namespace
}  // namespace fitwright
