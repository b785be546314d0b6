// Prints, for the compressor, what each good practice is worth, where it flips as the shop's spreads are
// scaled, and where the front pattern's technique changes with the clearance.
// Usage: practice_study EXAMPLES_FOLDER
#include <fmt/format.h>

#include <algorithm>
#include <cstdio>
#include <filesystem>

#include "fitwright/files/project.h"
#include "tests/support/practice.h"

namespace {

using namespace fitwright;
using namespace fitwright::testing;

void Row(const std::string& label, const std::optional<Weighed>& w) {
  if (!w) {
    fmt::print("  {:<34} cannot be compared\n", label);
    return;
  }
  fmt::print("  {:<34} {:6.1f} {:6.1f}   {:7.1f} {:7.1f}   {}\n", label, 100 * w->good.odds, 100 * w->other.odds,
             w->good.expected_min / 60, w->other.expected_min / 60, w->good.expected_min <= w->other.expected_min ? "follow" : "do not");
}

void Head(const std::string& title) {
  fmt::print("\n{}\n  {:<34} {:>6} {:>6}   {:>7} {:>7}\n", title, "", "odds", "odds", "exp. h", "exp. h");
  fmt::print("  {:<34} {:>6} {:>6}   {:>7} {:>7}\n", "", "with", "without", "with", "without");
}

using Weigh = std::optional<Weighed> (*)(Weigher&);

void Study(const std::string& title, const Machine& machine, const Shop& shop, Weigh weigh,
           const std::string& cure, const Machine& machine_without, const Shop& shop_without) {
  Head(title);
  for (const double scale : {0.25, 0.5, 1.0, 2.0, 4.0}) {
    Weigher weigher(machine, Scaled(shop, scale));
    if (weigher.Plan()) Row(fmt::format("spreads x {:g}", scale), weigh(weigher));
  }
  Weigher without(machine_without, shop_without);
  if (without.Plan()) Row(cure, weigh(without));
}

void Sweep(const std::string& title, const Machine& machine, const Shop& shop) {
  const auto named = [](const Requirement& r) { return r.name == RequirementId("R12_front"); };
  const auto r12 = static_cast<std::size_t>(std::find_if(machine.requirements.begin(), machine.requirements.end(), named) - machine.requirements.begin());
  Head(title + "; R12_front: odds that these screws enter");
  for (int tenths = 31; tenths <= 40; ++tenths) {
    Machine swept = machine;
    const double d = tenths / 10.0;
    HoleOf(swept, {PartId("front_housing"), FeatureId("screw_holes")}).diameter = {d, d - 0.1, d + 0.1, LimitsOrigin::kGeneralTolerance, {}};
    Weigher weigher(swept, shop);
    if (!weigher.Plan()) continue;
    const auto choice = weigher.chosen().patterns.at(JointId("front_screws"));
    const auto weighed = weigher.Pattern(JointId("front_screws"));
    Row(fmt::format("{:.1f}: chosen {}", d, WordOf(choice.technique)), weighed);
    if (weighed) fmt::print("      {:<30} {:6.1f} {:6.1f}\n", "R12_front", 100 * weighed->good.per_requirement[r12], 100 * weighed->other.per_requirement[r12]);
  }
}

}  // namespace

int main(int argc, char** argv) {
  std::setvbuf(stdout, nullptr, _IOLBF, 0);
  const std::filesystem::path examples = argc > 1 ? argv[1] : "examples";
  Diagnostics faults;
  const auto project = files::LoadProject(examples / "compressor-core", {}, faults);
  if (!project) {
    fmt::print(stderr, "{}\n", Format(project.error()));
    return 2;
  }
  const Machine& machine = project->machine;
  const Shop& shop = project->shop;
  const Shop no_jaw = Without(shop, {"fixed_jaw_squareness", "jaw_lift", "jaw_alignment", "bed_and_parallels", "side_wall_lean", "chip_under_work", "column_tram",
                                      "set_upright_by_square", "raw_side"});

  Study("A bore and the face square to it in one chucking (body, crank bore)", machine, shop,
        [](Weigher& w) { return w.OneChucking({PartId("body"), FeatureId("crank_bore")}); }, "seats, jaws and column exact", machine, no_jaw);
  Study("The later bore located on the face cut with the earlier one (body)", machine, shop,
        [](Weigher& w) {
          return w.SeatedOnFirstBoresFace({PartId("body"), FeatureId("crank_bore")}, {PartId("body"), FeatureId("cylinder_bore")});
        },
        "seats, jaws and column exact", machine, no_jaw);
  Machine wide = machine;
  Hole& holes = HoleOf(wide, {PartId("front_housing"), FeatureId("screw_holes")});
  holes.diameter = {4.0, 3.9, 4.1, LimitsOrigin::kGeneralTolerance, {}};
  Study("Front holes spotted through the housing", machine, shop,
        [](Weigher& w) { return w.Pattern(JointId("front_screws")); }, "clearance holes 4.0", wide, shop);
  Study("Left holes spotted through the left foot, for the raw edge that coordinates would count from", machine, shop,
        [](Weigher& w) { return w.Pattern(JointId("foot_left_screws")); }, "raw sides true and edges found exactly", machine,
        Without(shop, {"raw_side", "edge_finder"}));
  Machine loose = machine;
  RequirementOf(loose, RequirementId("R8_left")).upper = 1.0;
  RequirementOf(loose, RequirementId("R8_right")).upper = 1.0;
  Study("Feet screwed on and cut with the body", machine, shop,
        [](Weigher& w) { return w.Flush({RequirementId("R8_left"), RequirementId("R8_right")}); }, "flush within 1.0 is enough", loose, shop);
  Machine easy = machine;
  RequirementOf(easy, RequirementId("liner_fit_clearance")).lower = -0.05;
  RequirementOf(easy, RequirementId("liner_fit_clearance")).upper = 0.3;
  Study("Liner turned to the measured bore", machine, shop,
        [](Weigher& w) { return w.Suit(RequirementId("liner_fit_clearance"), Technique::kBringToSize); }, "clearance -0.05-0.3 is enough", easy, shop);
  Machine slack = machine;
  RequirementOf(slack, RequirementId("piston_clearance")).lower = 0.0;
  RequirementOf(slack, RequirementId("piston_clearance")).upper = 0.3;
  Study("Piston turned to the measured bore", machine, shop,
        [](Weigher& w) { return w.Suit(RequirementId("piston_clearance"), Technique::kBringToSize); }, "clearance 0-0.3 is enough", slack, shop);

  const std::string sweep = "Front clearance holes: spotted through (with) or by coordinates (without)";
  Sweep(sweep + ", default shop", machine, shop);
  Sweep(sweep + ", spreads x 2", machine, Scaled(shop, 2));
  Shop dear = shop;
  for (Remedy& remedy : dear.remedies) {
    if (remedy.for_what == WordOf(RequirementKind::kScrewsEnter)) remedy.mends = 0;
  }
  Sweep(sweep + ", opened holes not allowed: the housing is made again", machine, dear);
  return 0;
}
