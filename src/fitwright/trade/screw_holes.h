// Clearance holes for screws.
#pragma once

#include <array>

#include "fitwright/base/result.h"
#include "fitwright/base/words.h"
#include "fitwright/trade/threads.h"

namespace fitwright::trade {

// ISO 273 calls them fine, medium and coarse; ASME B18.2.8 close, normal and loose.
enum class ClearanceFit { kClose, kNormal, kLoose };

// Metric (ISO 273) M1 to M36 but M1.1, M1.8, M2.2, M9, M11 and the fine sizes between; unified
// (ASME B18.2.8) #0 to 1 in but #12 and 9/16. Error: kOutOfRange where no standard gives one, among
// them BA, BSW, BSF, model maker's and pipe threads.
Result<double> ClearanceHole_mm(const ThreadRow& row, ClearanceFit fit);

}  // namespace fitwright::trade

namespace fitwright {
template <>
struct WordsOf<trade::ClearanceFit> {
  static constexpr auto kAll =
      std::to_array<Word<trade::ClearanceFit>>({{trade::ClearanceFit::kClose, "close"},
                                                {trade::ClearanceFit::kNormal, "normal"},
                                                {trade::ClearanceFit::kLoose, "loose"}});
};
}  // namespace fitwright
