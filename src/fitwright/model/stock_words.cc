#include "fitwright/model/stock_words.h"

#include <fmt/format.h>

#include <cmath>

namespace fitwright {
namespace {

constexpr double kSheetBelow_mm = 3;  // what is thinner is sold as sheet (common practice)

std::string FormWords(const Stock& stock) {
  switch (stock.form) {
    case StockForm::kTube:
    case StockForm::kCasting:
      return std::string(WordOf(stock.form));
    case StockForm::kPlate:
      return stock.box_P.size_mm().minCoeff() < kSheetBelow_mm ? "sheet" : "plate";
    default:
      return fmt::format("{} bar", WordOf(stock.form));
  }
}

}  // namespace

std::string StockWords(const Stock& stock, const std::function<std::string(double)>& length) {
  const std::string form = FormWords(stock);
  if (!stock.IsBar()) {
    const Vec3 size = stock.box_P.size_mm();
    return fmt::format("{} {} x {} x {}", form, length(size.x()), length(size.y()),
                       length(size.z()));
  }
  const std::string across = stock.form == StockForm::kHex ? " across flats" : "";
  const std::string bored =
      stock.inner_diameter_mm > 0 ? ", bored " + length(stock.inner_diameter_mm) : "";
  return fmt::format("{} {}{}{}, {} long", form, length(stock.diameter_mm), across, bored,
                     length(std::abs(stock.to_mm - stock.from_mm)));
}

}  // namespace fitwright
