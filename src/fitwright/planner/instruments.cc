#include "fitwright/planner/instruments.h"

#include <string>

namespace fitwright::planner {
namespace {

double SpreadOfRow(const Shop& shop, const std::string& id, double fallback_mm) {
  const auto row = shop.spreads.find(id);
  return row == shop.spreads.end() ? fallback_mm : FigureOf(shop, row->second).spread;
}

double InstrumentSpread_mm(const Shop& shop, InstrumentKind kind) {
  switch (kind) {
    case InstrumentKind::kMicrometer:
    case InstrumentKind::kDepthMicrometer:
      return SpreadOfRow(shop, "micrometer", 0.004);
    case InstrumentKind::kBoreGauge:
      return SpreadOfRow(shop, "bore_gauge", 0.004);
    case InstrumentKind::kTelescopicGauge:
      return SpreadOfRow(shop, "telescopic_gauge", 0.012);
    default:
      return SpreadOfRow(shop, "caliper", 0.020);
  }
}

}  // namespace

InstrumentChoice ChooseInstrument(const Shop& shop, const std::vector<InstrumentKind>& kinds,
                                  double size_mm, double width_mm, bool finely) {
  InstrumentChoice best;
  for (const InstrumentKind kind : kinds) {
    for (const Instrument& instrument : shop.instruments) {
      if (instrument.kind != kind || size_mm < instrument.from_mm || size_mm > instrument.to_mm)
        continue;
      const double spread = InstrumentSpread_mm(shop, kind);
      const bool good = best.instrument != nullptr && best.spread_mm <= kInstrumentShare * width_mm;
      if (good && !finely) continue;  // the first good one stays
      if (best.instrument != nullptr && spread >= best.spread_mm) continue;
      best = {&instrument, spread};
    }
  }
  return best;
}

}  // namespace fitwright::planner
