#include <cmath>
#include <set>

#include "fitwright/model/validate_internal.h"

namespace fitwright {

void CheckUnread(const Part& part, std::vector<ModelFault>& faults) {
  std::set<std::size_t> taken;
  for (std::size_t i = 0; i < part.unread.size(); ++i) {
    const UnreadRegion& region = part.unread[i];
    const auto add = [&](ErrorCode code, std::string_view key, std::string message,
                         std::string remedy) {
      faults.push_back({code, fmt::format("parts.{}.unread.{}.{}", part.name.text(), i + 1, key),
                        std::move(message), std::move(remedy), ""});
    };
    if (region.faces.empty()) {
      add(ErrorCode::kWrongCount, "faces", "the region has no faces",
          "name the faces of the file's solid that it holds: faces = [12, 13]");
    }
    for (const std::size_t face : region.faces) {
      if (taken.insert(face).second) continue;
      add(ErrorCode::kDuplicateName, "faces",
          fmt::format("face {} is in an unread region already", face + 1), "name each face once");
    }
    if (!std::isfinite(region.area_mm2) || region.area_mm2 <= 0) {
      add(ErrorCode::kNotPositive, "area_mm2", "the region's faces have no area",
          "write their area in mm2, above zero");
    }
    if (!std::isfinite(region.volume_mm3) || region.volume_mm3 < 0) {
      add(ErrorCode::kOutOfRange, "volume_mm3", "a volume is not below zero",
          "write the volume in mm3 by which the features miss the file's solid here");
    }
    if (region.why.find_first_not_of(" \t\n") == std::string::npos) {
      add(ErrorCode::kMissingKey, "why", "it does not say why it was not read",
          "write why = \"...\"");
    }
  }
}

}  // namespace fitwright
