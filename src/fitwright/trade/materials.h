// Materials of a small machine: what they weigh, how they grow, how stiff and how hard to cut they
// are.
#pragma once

#include <span>
#include <string_view>
#include <vector>

#include "fitwright/base/words.h"

namespace fitwright::trade {

enum class MaterialKind {
  kAluminium,
  kSteel,
  kFreeCuttingSteel,
  kSilverSteel,
  kStainless,
  kCastIron,
  kBronze,
  kBrass,
  kGasketSheet
};
}  // namespace fitwright::trade

namespace fitwright {
template <>
struct WordsOf<trade::MaterialKind> {
  using K = trade::MaterialKind;
  static constexpr auto kAll = std::to_array<Word<K>>({{K::kAluminium, "aluminium"},
                                                       {K::kSteel, "steel"},
                                                       {K::kFreeCuttingSteel, "free_cutting_steel"},
                                                       {K::kSilverSteel, "silver_steel"},
                                                       {K::kStainless, "stainless"},
                                                       {K::kCastIron, "cast_iron"},
                                                       {K::kBronze, "bronze"},
                                                       {K::kBrass, "brass"},
                                                       {K::kGasketSheet, "gasket_sheet"}});
};
}  // namespace fitwright

namespace fitwright::trade {

struct Material {
  MaterialKind kind;
  std::string_view name;   // what sheets say, e.g. "silver steel"
  std::string_view words;  // for the reader, e.g. "silver steel (ground, hardenable)"
  double density_g_cm3;
  double expansion_per_K;  // linear
  double modulus_MPa;      // Young's
  double kc11_MPa;         // specific cutting force at 1 x 1 mm chip section
  double mc;               // its exponent: Fc = kc11 * b * h^(1 - mc)
  double drill_constant;   // Kd of the drilling formulas in cutting.h
  bool short_chips;        // breaks up: cast iron, brass
  double poisson;
  double machinability;  // speed for the same life of the tool, free-cutting steel being 1
};

std::span<const Material> Materials();
// By name or alias, without regard to case, and '_', '-' and ' ' alike ("mild steel",
// "silver_steel"). Null when there is none.
const Material* FindMaterial(std::string_view name);
// What to cut it with, in a sentence for the sheet (common practice).
std::string_view CuttingOil(MaterialKind kind);
// Names to offer when FindMaterial found nothing: at most three, nearest first.
std::vector<std::string_view> NearestMaterials(std::string_view name);

// volume in mm3 -> g.
double Mass_g(const Material& material, double volume_mm3);

}  // namespace fitwright::trade
