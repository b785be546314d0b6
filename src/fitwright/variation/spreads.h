// The shop's spreads as the error model reads them: a closed list of ids, in mm, rad and shares.
#pragma once

#include <array>
#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "fitwright/model/shop.h"

namespace fitwright::variation {

enum class SpreadId : std::uint8_t {
#define FW_SPREAD(name, text) name,
#include "fitwright/variation/spreads.inc"
#undef FW_SPREAD
};
inline constexpr SpreadId kSpreadIds[] = {
#define FW_SPREAD(name, text) SpreadId::name,
#include "fitwright/variation/spreads.inc"
#undef FW_SPREAD
};
inline constexpr std::size_t kSpreadCount = std::size(kSpreadIds);

// The id in the shop's table, "edge_finder".
std::string_view IdOf(SpreadId id);
// Not a row of the shop's table: a standard's, a maker's or a joint's own limits. Its figure is 1
// where anything is random at all.
bool IsOwnLimits(SpreadId id);
// What causes are gathered under: the id, but one word for the rows of drill oversize.
std::string_view GroupOf(SpreadId id);
// Words for the reader, from the shop's table.
std::string WordsOfSpread(const Shop& shop, SpreadId id);

// Figures in force, by SpreadId: mm, rad, chances 0..1, shares, K.
using Figures = std::array<SpreadFigure, kSpreadCount>;

// Factor from the row's own unit to mm, rad, share, K ("mm/m" 1e-3, "mrad" 1e-3, "percent" 0.01,
// ...).
double UnitFactor(std::string_view unit);
// At the shop's level and scale. Spreads that the shop does not have are 0.
Figures FiguresOf(const Shop& shop);
// The figures of a virtual shop: each group drawn on its own between careful and worn, log-linear
// in u in (0, 1) through the usual figure at 1/2; stated figures stay; measured ones move by at
// most a tenth. A shop that calls itself careful or worn is drawn between that and the usual
// figure.
Figures DrawnFigures(const Shop& shop, std::uint64_t stream, std::uint64_t index);
// Names of spreads that the shop leaves at the default figure, for the report's list of
// assumptions.
std::vector<SpreadId> DefaultedSpreads(const Shop& shop);

inline std::size_t Place(SpreadId id) { return static_cast<std::size_t>(id); }

}  // namespace fitwright::variation
