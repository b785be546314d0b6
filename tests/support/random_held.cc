// Parts that want a holding of their own: an end in the fixed steady, a plate on the faceplate, a long cone
// between centres with the tailstock set over, a bush on a mandrel that expands.
#include <algorithm>
#include <array>
#include <cmath>

#include "tests/support/random_kinds.h"
#include "tests/support/random_part.h"

namespace fitwright::testing {
namespace {

constexpr std::uint64_t kOwnStream = 0x68656c64;  // so that the other made-up parts stay as they are
constexpr const char* kAboutZ = "turned = { axis = \"+z\", through = [0, 0, 0] }";

void AddOutside(SheetWriter& sheet, const std::string& name, double from, double to, double diameter, const std::string& more = {}) {
  sheet.AddNamed(name, "outer_diameter", fmt::format("from = {:g}\nto = {:g}\ndiameter = {:g}{}", from, to, diameter, more));
}

void AddEdge(SheetWriter& sheet, const std::string& on, const char* end, double leg) {
  sheet.Add("chamfer", fmt::format("on = \"{}\"\nend = \"{}\"\naxial = {:g}\nradial = {:g}", on, end, leg, leg));
}

// A hole in the end that runs in the steady.
void AddEndHole(Dice& dice, SheetWriter& sheet, double at_most) {
  switch (dice.Below(3)) {
    case 0: {
      const double d = dice.Of({10.0, 12.0, 16.0});
      if (d > at_most) break;
      sheet.Add("bore", fmt::format("from = \"+z\"\ndiameter = {:g}\ndepth = {:g}\nfit = \"H7\"", d, dice.In(0.8 * d, 1.6 * d, 1)));
      return;
    }
    case 1:
      sheet.Add("hole", fmt::format("from = \"+z\"\ndiameter = 5\nthread = \"M6\"\ndepth = 18\nthread_depth = {:g}", dice.In(8, 12, 1)));
      return;
    default:
      break;
  }
  const double d = dice.In(4, std::min(at_most, 9.0), 0.5);
  sheet.Add("hole", fmt::format("from = \"+z\"\ndiameter = {:g}\ndepth = {:g}", d, dice.In(2 * d, 3 * d, 1)));
}

// Bar too thick for the spindle, long, with a hole in one end.
void AddRoller(Dice& dice, SheetWriter& sheet) {
  const double d = dice.Of({30.0, 32.0, 35.0, 40.0, 45.0, 50.0});
  const double length = dice.In(4 * d, std::min(6.5 * d, 280.0), 5);
  sheet.Stock("round", fmt::format("diameter = {:g}\nlength = {:g}\nstart = -1.5", d, length + 3));
  AddOutside(sheet, "outside_1", 0, length, d, "\nfinish = \"as_supplied\"");
  AddEndHole(dice, sheet, 0.5 * d);
  if (dice.Chance(0.6)) AddEdge(sheet, "outside_1", "start", 0.5);
  if (dice.Chance(0.6)) AddEdge(sheet, "outside_1", "end", 0.5);
}

// A slim shank on a head that no chuck lets through, a hole in its end.
void AddHeaded(Dice& dice, SheetWriter& sheet) {
  const double head = dice.Of({38.0, 42.0, 48.0});
  const double shank = dice.In(16, 26, 1);
  const double thick = dice.In(12, 20, 1);
  const double length = dice.In(3.5 * shank, 5.5 * shank, 5);
  sheet.Stock("round", fmt::format("diameter = {:g}\nlength = {:g}\nstart = -40", head + 2, thick + length + 47));
  AddOutside(sheet, "outside_1", 0, thick, head);
  AddOutside(sheet, "outside_2", thick, thick + length, shank, dice.Chance(0.5) ? "\nfit = \"h7\"" : "");
  AddEndHole(dice, sheet, 0.5 * shank);
  if (dice.Chance(0.6)) AddEdge(sheet, "outside_2", "end", 0.5);
}

// A cone longer than the top slide travels, between two journals.
void AddLongCone(Dice& dice, SheetWriter& sheet, bool odd) {
  const double journal = dice.In(22, 32, 1);
  const double blank = journal + dice.Of({2.0, 4.0, 6.0});
  const double low = dice.In(32, 44, 1);
  const double high = dice.In(32, 44, 1);
  const double cone = dice.In(66, odd ? 110 : std::max(66.0, 7.5 * journal - low - high - 20), 1);  // slender ones spring
  const double slim = odd ? journal : blank - dice.In(0.8, blank - journal, 0.4);
  const bool up = dice.Chance(0.5);  // which end of the cone is slim
  const double from = low + (up ? 5 : 0);
  const double to = low + cone - (up ? 0 : 5);
  sheet.Stock("round", fmt::format("diameter = {:g}\nlength = {:g}\nstart = -10", blank + 2, low + cone + high + 20));
  AddOutside(sheet, "outside_1", 0, low, journal, dice.Chance(0.5) ? "\nfit = \"h7\"" : "\nplus_minus = 0.05");
  AddOutside(sheet, "outside_2", low, low + cone, blank);
  AddOutside(sheet, "outside_3", low + cone, low + cone + high, journal, dice.Chance(0.5) ? "\nfit = \"h7\"" : "");
  sheet.Add("taper", fmt::format("inside = false\nfrom = {:g}\nto = {:g}\nstart_diameter = {:g}\nend_diameter = {:g}", from, to, up ? blank : slim,
                                 up ? slim : blank));
}

// A bore that the shop has no boring head for, in a plate too wide or too thin for the four-jaw.
void AddWidePlate(Dice& dice, SheetWriter& sheet, const BlockSize& size) {
  const double bore = dice.In(32, 52, 1);
  const double room = 0.5 * std::min(size.x, size.y) - 0.5 * bore - 14;
  sheet.Add("bore", fmt::format("from = \"+z\"\nat = [{:g}, 0]\nentry = {:g}\ndiameter = {:g}\nthrough = true\n{}", room > 1 ? dice.In(0, room, 1) : 0.0, size.z,
                                bore, dice.Chance(0.6) ? "fit = \"H7\"" : "plus_minus = 0.05"));
  if (!dice.Chance(0.5)) return;
  const double d = dice.Of({4.5, 5.5});
  sheet.Add("hole", fmt::format("from = \"+z\"\nentry = {:g}\npoints = [[{:g}, {:g}], [{:g}, {:g}]]\ndiameter = {:g}\nthrough = true", size.z, size.x / 2 - 8,
                                size.y / 2 - 8, -size.x / 2 + 8, -size.y / 2 + 8, d));
}

// A bush with a flange, its bore at least as long as it is wide; the outside runs true to it.
void AddBush(Dice& dice, SheetWriter& sheet) {
  const double bore = dice.Of({8.0, 10.0, 12.0});
  const double body = bore + dice.In(8, 14, 1);
  const double flange = body + dice.In(6, 12, 1);
  const double thick = dice.In(2, 4, 0.5);
  const double length = dice.In(std::max(1.2 * bore, 14.0), 26, 1);
  sheet.Stock("round", fmt::format("diameter = {:g}\nlength = {:g}\nstart = -30", flange + 2, length + 31));
  AddOutside(sheet, "outside_1", 0, thick, flange);
  AddOutside(sheet, "outside_2", thick, length, body,
             "\nfit = \"h7\"\ngeometric = [{ kind = \"run_out\", datum = \"hole_1\", within = 0.03 }]");
  sheet.Add("hole", fmt::format("from = \"{}\"\ndiameter = {:g}\nthrough = true\nfit = \"H7\"", dice.Of({"+z", "-z"}), bore));
  if (dice.Chance(0.5)) AddEdge(sheet, "outside_2", "end", 0.5);
}

std::string ShopWithout(std::initializer_list<const char*> names, const std::string& more = {}) {
  std::string list;
  for (const char* name : names) list += fmt::format("{}\"{}\"", list.empty() ? "" : ", ", name);
  return fmt::format("format = \"fitwright-shop/1\"\nname = \"short of something\"\nwithout = [{}]\n{}", list, more);
}

constexpr const char* kExpanding =
    "\n[[holding]]\nname = \"expanding_mandrel\"\nkind = \"mandrel\"\non = \"lathe\"\nwords = \"expanding mandrel\"\nbody_diameter_mm = 50\n"
    "body_length_mm = 40\njaw_reach_mm = 26\ngrip_min_mm = 8\ngrip_max_mm = 13\n";

}  // namespace

RandomPart MakeHeldPart(std::uint64_t seed) {
  Dice dice(seed ^ (kOwnStream << 32));
  const bool odd = dice.Chance(0.15);
  const std::string material = dice.Of({"aluminium", "steel", "brass", "cast iron"});
  RandomPart made;
  made.name = fmt::format("held_{}", seed);
  const auto keep = [&](SheetWriter& sheet, const char* word) {
    sheet.Note(word);
    made.sheet = sheet.text();
    made.words = sheet.words();
  };
  SheetWriter round(material, kAboutZ);
  switch (seed % 5) {
    case 0:
      AddRoller(dice, round);
      keep(round, "steady");
      break;
    case 1:
      AddHeaded(dice, round);
      keep(round, "steady");
      break;
    case 2:
      AddLongCone(dice, round, odd);
      keep(round, "set over");
      break;
    case 3: {
      const BlockSize size{dice.In(70, 110, 2), dice.In(66, 100, 2), dice.In(6, 16, 1)};
      SheetWriter plate(material, fmt::format("block = {{ x = [{:g}, {:g}], y = [{:g}, {:g}], z = [0, {:g}] }}", -size.x / 2, size.x / 2, -size.y / 2,
                                              size.y / 2, size.z));
      AddWidePlate(dice, plate, size);
      keep(plate, "faceplate");
      made.shop = ShopWithout({"boring_head_8", "boring_head_12", "boring_head_16", "boring_head_20"});
      break;
    }
    default:
      AddBush(dice, round);
      keep(round, "expanding mandrel");
      made.shop = ShopWithout({"stub_mandrel", "collets"}, kExpanding);
  }
  return made;
}

}  // namespace fitwright::testing
