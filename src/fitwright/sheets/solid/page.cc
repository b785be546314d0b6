#include "fitwright/sheets/solid/page.h"

#include <fmt/format.h>

#include <algorithm>

#include "fitwright/sheets/book_pages.h"
#include "fitwright/sheets/words.h"
#include "fitwright/units/length.h"

namespace fitwright::sheets {

namespace {

// Cautions that hold for every page, as common practice has them.
std::string SafetyLine(const BookContext& context, const Setup& setup) {
  const MachineTool* machine = context.shop.Find(setup.machine);
  const bool lathe = machine != nullptr && machine->kind == MachineToolKind::kLathe;
  if (machine == nullptr || machine->kind == MachineToolKind::kBench || setup.contacts.empty())
    return "Eye protection. File with a handle, blade away from the hand, work held and not in the fingers.";
  const char* turns = lathe ? "chuck key out before it starts" : "drawbar spanner off before it starts";
  return fmt::format("Eye protection. No gloves, rings, loose sleeves or hair; {}. Stop it to measure and to clear chips: brush, not fingers.",
                     turns);
}

void DrawFoot(const SetupPicture& picture, const BookContext& context, Svg& svg) {
  const double right = kPageWidth_mm - kPageRim_mm;
  const double width = right - kPageRim_mm;
  const std::string safety = SafetyLine(context, picture.setup);
  svg.Text({kPageRim_mm, kPageFoot_mm + 4.4}, FittingSize_mm(safety, 2.5, width, true), safety, Anchor::kStart, true);
  std::string left = Capital(NameText(picture.machine.name));
  if (!picture.plan.inputs_hash.empty()) left += ", revision: plan " + picture.plan.inputs_hash.substr(0, 8);
  left += "; date ____________";
  constexpr std::string_view kDrawn = "Drawn at the middle of limits, threads as their drills; do not measure from the paper";
  const double size = std::min(2.5, FittingSize_mm(left + "     " + std::string(kDrawn), 2.5, width));
  svg.Text({kPageRim_mm, kPageFoot_mm + 9}, size, left);
  svg.Text({right, kPageFoot_mm + 9}, size, kDrawn, Anchor::kEnd);
}

}  // namespace

Svg BeginPage(const SetupPicture& picture, const std::string& what) {
  const BookContext context(picture.machine, picture.shop, picture.plan, {picture.unit, false});
  const std::string head =
      fmt::format("Setup {} of {}: {}{}", picture.setup.number, picture.plan.setups.size(),
                  context.PiecesText(picture.setup), what.empty() ? "" : ", " + what);
  Svg svg(kPageWidth_mm, kPageHeight_mm, head);
  const double right = kPageWidth_mm - kPageRim_mm;
  const double unit_mm = TextWidth_mm(UnitWord(picture.unit), 8, true) + 6;
  svg.Text({kPageRim_mm, 16}, FittingSize_mm(head, 5, right - kPageRim_mm - unit_mm, true), head, Anchor::kStart, true);
  svg.Text({kPageRim_mm, 22.5}, 2.5, Capital(context.MachineText(picture.setup.machine)));
  svg.Text({right, 18}, 8, UnitWord(picture.unit), Anchor::kEnd, true);
  svg.Line({kPageRim_mm, kPageHead_mm}, {right, kPageHead_mm}, Stroke::kRule);
  svg.Line({kPageRim_mm, kPageFoot_mm}, {right, kPageFoot_mm}, Stroke::kThin);
  DrawFoot(picture, context, svg);
  return svg;
}

}  // namespace fitwright::sheets
