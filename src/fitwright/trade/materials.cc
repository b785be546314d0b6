#include "fitwright/trade/materials.h"

#include <array>
#include <string>

#include "fitwright/trade/nearest.h"

namespace fitwright::trade {
namespace {

// density, expansion, modulus: handbook values for the usual grade, from memory (expansion of
// aluminium 23 and steel 11.5 per million per kelvin is common practice). kc11, mc: aluminium
// alloy, mild steel (S235), grey iron (GJL-250) and brass agree with a recalled textbook table that
// was checked by a fit to tabled forces; free-cutting, silver and stainless steel and bronze from
// memory alone. drill_constant: Kd of the drilling formulas in metric units, from memory (steel of
// 200 HB 24000, free-cutting 12000, iron of 150 HB 14000, aluminium 7000, brasses 14000, leaded
// brass 7000); mild steel of about 140 HB set between its neighbours (opinion). Gasket sheet is cut with
// knife and punch; its figures are orders of size, from memory. poisson: handbook values, from memory.
// machinability: common practice, orders of size that vary by half with the grade.
// clang-format off
constexpr auto kRows = std::to_array<Material>({
    {MaterialKind::kAluminium, "aluminium", "aluminium alloy bar", 2.70, 23.0e-6, 70000, 640, 0.25, 7000, false, 0.33, 3.0},
    {MaterialKind::kSteel, "steel", "mild steel", 7.85, 11.5e-6, 210000, 1780, 0.17, 18000, false, 0.30, 0.7},
    {MaterialKind::kFreeCuttingSteel, "free-cutting steel", "free-cutting mild steel", 7.85, 11.5e-6, 210000, 1200, 0.18, 12000, false, 0.30, 1.0},
    {MaterialKind::kSilverSteel, "silver steel", "silver steel (ground, not hardened)", 7.85, 11.5e-6, 210000, 2300, 0.22, 24000, false, 0.30, 0.4},
    {MaterialKind::kStainless, "stainless", "austenitic stainless steel", 7.9, 16.5e-6, 195000, 2350, 0.21, 24000, false, 0.30, 0.45},
    {MaterialKind::kCastIron, "cast iron", "grey cast iron", 7.2, 10.5e-6, 110000, 1160, 0.26, 14000, true, 0.26, 0.75},
    {MaterialKind::kBronze, "bronze", "bearing bronze", 8.8, 18.0e-6, 110000, 1780, 0.17, 14000, true, 0.34, 0.8},
    {MaterialKind::kBrass, "brass", "free-cutting brass", 8.45, 20.5e-6, 97000, 780, 0.18, 7000, true, 0.34, 2.0},
    {MaterialKind::kGasketSheet, "gasket sheet", "compressed-fibre gasket sheet", 1.8, 30.0e-6, 1500, 200, 0.25, 3000, true, 0.40, 1.0},
});
// clang-format on

struct Alias {
  std::string_view word;  // lower case, words parted by one space
  MaterialKind kind;
};
constexpr Alias kAliases[] = {
    {"aluminum", MaterialKind::kAluminium},
    {"aluminium alloy", MaterialKind::kAluminium},
    {"alloy", MaterialKind::kAluminium},
    {"dural", MaterialKind::kAluminium},
    {"mild steel", MaterialKind::kSteel},
    {"bright steel", MaterialKind::kSteel},
    {"bright mild steel", MaterialKind::kSteel},
    {"free cutting mild steel", MaterialKind::kFreeCuttingSteel},
    {"leaded steel", MaterialKind::kFreeCuttingSteel},
    {"drill rod", MaterialKind::kSilverSteel},
    {"tool steel", MaterialKind::kSilverSteel},
    {"stainless steel", MaterialKind::kStainless},
    {"stainless strip", MaterialKind::kStainless},
    {"gasket paper", MaterialKind::kGasketSheet},
    {"iron", MaterialKind::kCastIron},
    {"grey cast iron", MaterialKind::kCastIron},
    {"gray cast iron", MaterialKind::kCastIron},
    {"grey iron", MaterialKind::kCastIron},
    {"tin bronze", MaterialKind::kBronze},
    {"phosphor bronze", MaterialKind::kBronze},
    {"gunmetal", MaterialKind::kBronze},
    {"free cutting brass", MaterialKind::kBrass},
};

std::string Plain(std::string_view text) {
  std::string plain;
  for (const char c : text) {
    const bool gap = c == ' ' || c == '_' || c == '-';
    if (gap && (plain.empty() || plain.back() == ' ')) continue;
    plain += gap ? ' ' : c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  }
  if (!plain.empty() && plain.back() == ' ') plain.pop_back();
  return plain;
}

}  // namespace

std::span<const Material> Materials() { return kRows; }

std::string_view CuttingOil(MaterialKind kind) {
  switch (kind) {
    case MaterialKind::kAluminium:
      return "Paraffin or a light oil on every cut, so that no edge builds up: from a bottle, or by brush while the spindle stands.";
    case MaterialKind::kSteel:
    case MaterialKind::kFreeCuttingSteel:
    case MaterialKind::kSilverSteel:
      return "Cutting oil from a bottle, or by brush while the spindle stands; plenty for drills, taps and reamers.";
    case MaterialKind::kStainless:
      return "Plenty of cutting oil; never let the tool rub.";
    case MaterialKind::kCastIron:
      return "Dry; keep its dust off the ways and out of the lungs.";
    case MaterialKind::kBronze:
    case MaterialKind::kBrass:
      return "Dry; a little oil for reamers and taps.";
    case MaterialKind::kGasketSheet:
      return "Dry.";
  }
  return "";
}

const Material* FindMaterial(std::string_view name) {
  const std::string plain = Plain(name);
  for (const Material& row : kRows) {
    if (Plain(row.name) == plain) return &row;
  }
  for (const Alias& alias : kAliases) {
    if (alias.word != plain) continue;
    for (const Material& row : kRows) {
      if (row.kind == alias.kind) return &row;
    }
  }
  return nullptr;
}

std::vector<std::string_view> NearestMaterials(std::string_view name) {
  std::vector<std::string_view> known;
  for (const Material& row : kRows) known.push_back(row.name);
  for (const Alias& alias : kAliases) known.push_back(alias.word);
  return NearestWords(Plain(name), known, 3);
}

double Mass_g(const Material& material, double volume_mm3) {
  return material.density_g_cm3 * volume_mm3 / 1000;
}

}  // namespace fitwright::trade
