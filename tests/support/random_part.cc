#include "tests/support/random_part.h"

#include "tests/support/random_kinds.h"

namespace fitwright::testing {
namespace {

std::string BlockEnvelope(const BlockSize& size) {
  return fmt::format("block = {{ x = [{:g}, {:g}], y = [{:g}, {:g}], z = [0, {:g}] }}", -size.x / 2, size.x / 2, -size.y / 2, size.y / 2, size.z);
}

}  // namespace

RandomPart MakeRandomPart(std::uint64_t seed) {
  Dice dice(seed);
  const bool odd = dice.Chance(0.25);
  const std::string material = dice.Of({"aluminium", "aluminium", "steel", "brass", "cast iron"});
  RandomPart made;
  made.name = fmt::format("part_{}", seed);
  const auto finish = [&](const SheetWriter& sheet) {
    made.sheet = sheet.text();
    made.words = sheet.words();
    if (odd) made.words.insert("odd");
  };
  const double family = dice.Share();
  if (family < 0.55) {
    SheetWriter sheet(material, "turned = { axis = \"+z\", through = [0, 0, 0] }");
    AddTurned(dice, sheet, odd);
    sheet.Note("turned");
    finish(sheet);
  } else if (family < 0.9) {
    BlockSize size{dice.In(16, 60, 1), dice.In(12, 50, 1), dice.In(6, 36, 1)};
    if (odd && dice.Chance(0.15)) size = {170, 150, 160};
    SheetWriter sheet(material, BlockEnvelope(size));
    AddBlock(dice, sheet, size, odd);
    sheet.Note("block");
    finish(sheet);
  } else {
    const BlockSize size{dice.In(30, 60, 1), dice.In(12, 28, 1), dice.Of({0.5, 1.0, 2.0, 3.0, 5.0, 8.0})};
    SheetWriter sheet(material, BlockEnvelope(size));
    AddPlate(dice, sheet, size, odd);
    sheet.Note("plate");
    finish(sheet);
  }
  return made;
}

std::string MachineOfOne(const RandomPart& part) {
  return fmt::format("format = \"fitwright-machine/1\"\nname = \"{}\"\nunits = \"mm\"\n\n[[part]]\nsheet = \"{}\"\n", part.name, part.name);
}

}  // namespace fitwright::testing
