#include "fitwright/sheets/solid/page.h"

#include <fmt/format.h>

#include "fitwright/sheets/book_pages.h"
#include "fitwright/sheets/words.h"
#include "fitwright/units/length.h"

namespace fitwright::sheets {

Svg BeginPage(const SetupPicture& picture, const std::string& what) {
  const BookContext context(picture.machine, picture.shop, picture.plan, {picture.unit, false});
  const std::string head =
      fmt::format("Setup {} of {}: {}{}", picture.setup.number, picture.plan.setups.size(),
                  context.PiecesText(picture.setup), what.empty() ? "" : ", " + what);
  Svg svg(kPageWidth_mm, kPageHeight_mm, head);
  const double right = kPageWidth_mm - kPageRim_mm;
  svg.Text({kPageRim_mm, 16}, 5, head, Anchor::kStart, true);
  svg.Text({kPageRim_mm, 22.5}, 2.5, Capital(context.MachineText(picture.setup.machine)));
  svg.Text({right, 18}, 8, UnitWord(picture.unit), Anchor::kEnd, true);
  svg.Line({kPageRim_mm, 25}, {right, 25}, Stroke::kRule);
  const double foot = kPageHeight_mm - kPageRim_mm;
  svg.Line({kPageRim_mm, foot - 5}, {right, foot - 5}, Stroke::kThin);
  svg.Text({kPageRim_mm, foot - 1}, 2.5,
           fmt::format("{}{}", Capital(NameText(picture.machine.name)),
                       picture.plan.inputs_hash.empty()
                           ? ""
                           : ", plan " + picture.plan.inputs_hash.substr(0, 8)));
  svg.Text({right, foot - 1}, 2.5,
           "Drawn at the middle of limits, threads as their drills; do not measure from the paper",
           Anchor::kEnd);
  return svg;
}

}  // namespace fitwright::sheets
