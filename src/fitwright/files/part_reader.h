// One part sheet. Internal to files/.
#pragma once

#include <optional>
#include <string>

#include "fitwright/files/table_reader.h"
#include "fitwright/model/part.h"

namespace fitwright::files {

inline constexpr std::string_view kPartFormat = "fitwright-part/1";

struct MirrorWish {
  std::string of;  // a sheet's name
  int axis = 1;    // 0 x, 1 y, 2 z: the plane where that coordinate is 0
};

struct SheetRead {
  Part part;  // of a mirror sheet: only the name
  std::optional<MirrorWish> mirror;
};

// Faults go to log; a part is returned all the same, for references to it.
SheetRead ReadPart(const SourceFile& file, const std::string& name, ReadLog& log);

// format = "..." and nothing else counts as the wanted version.
void ReadFormat(TableReader& table, std::string_view wanted);
// "mm" or "inch", mm when absent.
LengthUnit ReadUnit(TableReader& table, std::string_view key);

// [stock], or the next size sold around the envelope, which is noted as assumed.
void ReadStock(TableReader& sheet, Part& part);

// The part as seen in a mirror on the plane x, y or z = 0. Named features keep their names; faces
// of a block that carry their side's name take the name of the side they come to.
Part MirrorPart(const Part& original, const PartId& name, int axis);

}  // namespace fitwright::files
