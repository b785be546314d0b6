// What a written sheet says beside a value that nobody stated.
#pragma once

#include <string>

namespace fitwright::files {

// where: the field path below the sheet, "features.hole_1.thread", "stock", "material"; in a
// machine "joints.NAME.screw", "uses.PART.at", "bought.NAME.size", "requirements.NAME". words: what
// was taken and why.
struct Remark {
  std::string where;
  std::string words;
};

}  // namespace fitwright::files
