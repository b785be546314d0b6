#include "fitwright/model/shop.h"

namespace fitwright {

SpreadFigure FigureOf(const Shop& shop, const Spread& spread) {
  SpreadFigure figure = spread.usual;
  if (spread.origin == SpreadOrigin::kDefault) {
    if (shop.level == ShopLevel::kCareful) figure = spread.careful;
    if (shop.level == ShopLevel::kWorn) figure = spread.worn;
  }
  // A lognormal's median is an effect like any spread; its log-sigma has no unit to scale.
  if (spread.distribution == SpreadDistribution::kLognormal) {
    figure.mean *= shop.spread_scale;
    if (shop.spread_scale == 0) figure.spread = 0;
    return figure;
  }
  figure.mean *= shop.spread_scale;
  figure.spread *= shop.spread_scale;
  return figure;
}

}  // namespace fitwright
