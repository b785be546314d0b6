// [[unread]]: faces of a solid that was read from a file and that no feature explains.
#include <cmath>

#include "fitwright/files/part_reader.h"

namespace fitwright::files {
namespace {

constexpr double kMostFaces = 1e6;

// Counted from 1 in the sheet, from 0 in the model.
bool ReadFaces(TableReader& table, UnreadRegion& region) {
  const auto numbers = table.Numbers("faces", 1, 100000);
  table.Require("faces", "name the faces of the file's solid that it holds: faces = [12, 13]");
  if (!numbers) return false;
  for (const double number : *numbers) {
    if (number >= 1 && number <= kMostFaces && number == std::floor(number)) {
      region.faces.push_back(static_cast<std::size_t>(number) - 1);
      continue;
    }
    table.Fault(ErrorCode::kOutOfRange, "faces", fmt::format("{} is no place of a face", number),
                "write whole numbers, counted from 1");
    return false;
  }
  return true;
}

}  // namespace

void ReadUnread(TableReader& sheet, Part& part) {
  for (TableReader& table : sheet.Tables("unread")) {
    UnreadRegion region;
    const bool faces = ReadFaces(table, region);
    const auto area_mm2 = table.Number("area_mm2");
    table.Require("area_mm2", "write the area of its faces in mm2");
    const auto volume_mm3 = table.Number("volume_mm3");
    table.Require("volume_mm3",
                  "write the volume in mm3 by which the features miss the file's solid here");
    const auto why = table.String("why");
    table.Require("why", "say why it was not read: why = \"...\"");
    table.Finish();
    if (!faces || !area_mm2 || !volume_mm3 || !why) continue;
    region.area_mm2 = *area_mm2;
    region.volume_mm3 = *volume_mm3;
    region.why = *why;
    part.unread.push_back(std::move(region));
    table.Locate(fmt::format("parts.{}.unread.{}", part.name.text(), part.unread.size()));
  }
  if (part.unread.empty()) return;
  double area_mm2 = 0;
  for (const UnreadRegion& region : part.unread) area_mm2 += region.area_mm2;
  sheet.log().warnings.push_back(fmt::format(
      "{}: {} of its file's solid {} not understood, {:.3g} mm2 of faces: shape by hand.",
      part.name.text(),
      part.unread.size() == 1 ? "one region" : fmt::format("{} regions", part.unread.size()),
      part.unread.size() == 1 ? "is" : "are", area_mm2));
}

}  // namespace fitwright::files
