#include "fitwright/reckon/entry_words.h"

#include <fmt/format.h>

namespace fitwright::reckon {

Result<const trade::Material*> MaterialIn(const Given& given, std::string_view input) {
  const std::string& name = given.Word(input);
  if (const trade::Material* material = trade::FindMaterial(name)) return material;
  std::string nearest;
  for (const std::string_view one : trade::NearestMaterials(name)) {
    nearest += (nearest.empty() ? "" : ", ") + std::string(one);
  }
  return Unexpected(Refused(ErrorCode::kUnknownMaterial, input, name, "no such material here",
                            "nearest: " + nearest));
}

}  // namespace fitwright::reckon
