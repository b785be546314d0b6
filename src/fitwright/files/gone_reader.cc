// [gone]: names of features that the file of an earlier reading had and the last one has not. They
// are never given again, for the log may speak of them.
#include <algorithm>

#include "fitwright/files/part_reader.h"

namespace fitwright::files {

void ReadGone(TableReader& sheet, const Part& part) {
  auto gone = sheet.Table("gone");
  if (!gone) return;
  const auto names = gone->Strings("features");
  gone->Require("features", "name them, features = [\"hole_3\"], or take [gone] out");
  if (names) {
    for (const std::string& name : *names) {
      if (part.Find(FeatureId(name)) == nullptr) continue;
      gone->Fault(ErrorCode::kDuplicateName, "features", name + " is gone and stands in the sheet",
                  "give the new feature another name, or take this one out of the list");
    }
  }
  gone->Finish();
}

}  // namespace fitwright::files
