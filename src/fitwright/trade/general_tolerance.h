// ISO 2768-1:1989: tolerances of linear and angular sizes without their own; ISO 2768-2:1989: of
// form and place (withdrawn in 2021, still on drawings).
#pragma once

#include <string_view>

#include "fitwright/base/result.h"
#include "fitwright/base/words.h"
#include "fitwright/units/size.h"

namespace fitwright::trade {

// Plus and minus on a linear size, mm. klass: "f" "m" "c" "v".
// Sizes under 0.5 mm get no general tolerance by the standard: kOutOfRange. The same over 4000 mm
// and for v under 3 mm and f over 2000 mm. kUnknownWord for another class, kNotFinite.
Result<double> GeneralTolerance_mm(double nominal_mm, std::string_view klass);
// Broken edges: external radii and chamfer heights (table 2).
Result<double> GeneralEdgeTolerance_mm(double nominal_mm, std::string_view klass);
// Angles by the length of the shorter side (table 3), rad, plus and minus.
Result<double> GeneralAngleTolerance_rad(double shorter_side_mm, std::string_view klass);
// Size with both limits. Errors as GeneralTolerance_mm.
Result<Size> MakeGeneralSize(double nominal_mm, std::string_view klass);

enum class GeneralForm { kStraightness, kFlatness, kPerpendicularity, kSymmetry, kRunOut };

// ISO 2768-2, tables 1 to 4, mm: width of the zone. klass: "H" "K" "L". length_mm: the length of
// the line, the longer side of the face, or the shorter leg of the corner; kRunOut has one value
// for all. Errors: kUnknownWord, kNotFinite, kNotPositive, kOutOfRange (over 3000 mm).
Result<double> GeneralForm_mm(GeneralForm form, double length_mm, std::string_view klass);

}  // namespace fitwright::trade

namespace fitwright {
template <>
struct WordsOf<trade::GeneralForm> {
  using F = trade::GeneralForm;
  static constexpr auto kAll = std::to_array<Word<F>>({{F::kStraightness, "straightness"},
                                                       {F::kFlatness, "flatness"},
                                                       {F::kPerpendicularity, "perpendicularity"},
                                                       {F::kSymmetry, "symmetry"},
                                                       {F::kRunOut, "run_out"}});
};
}  // namespace fitwright
