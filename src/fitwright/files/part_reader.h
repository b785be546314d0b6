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

// The next size sold around the envelope.
Stock ProposeStock(const Part& part);
// [stock], or the proposal, which is noted as assumed.
void ReadStock(TableReader& sheet, Part& part);

// [[unread]]; the regions are told as a warning.
void ReadUnread(TableReader& sheet, Part& part);

// [gone]; checked against the part's names, and else only kept in the sheet.
void ReadGone(TableReader& sheet, const Part& part);

}  // namespace fitwright::files
