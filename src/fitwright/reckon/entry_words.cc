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

double PoissonOf(const trade::Material& material) {
  using K = trade::MaterialKind;
  switch (material.kind) {
    case K::kAluminium:
      return 0.33;
    case K::kBrass:
    case K::kBronze:
      return 0.34;
    case K::kCastIron:
      return 0.26;
    default:
      return 0.30;
  }
}

}  // namespace fitwright::reckon
