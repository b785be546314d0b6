// Sheets that put one solid differently, told from sheets of different solids.
#include <gtest/gtest.h>

#include "fitwright/solid/primitives.h"
#include "tests/support/design_trip.h"

namespace fitwright {
namespace {

struct Sheet {
  Part part;
  solid::Solid solid;
};

class WhatShows : public ::testing::Test {
 protected:
  // `features` on a block of 60 x 40 x 20 from the origin.
  Sheet Load(const std::string& features) const {
    std::string why;
    const auto part = testing::LoadDesign(
        folder_,
        "format = \"fitwright-part/1\"\nmaterial = \"steel\"\nunit = \"mm\"\n\n[envelope]\nblock = "
        "{ x = [0, 60], y = [0, 40], z = [0, 20] }\n" +
            features,
        why);
    EXPECT_TRUE(part) << why;
    if (!part) return {};
    const auto solid = testing::BuildDesign(*part);
    EXPECT_TRUE(solid);
    return solid ? Sheet{*part, *solid} : Sheet{};
  }
  bool Equal(const Sheet& a, const Sheet& b) const {
    return recognize::CompareNormalForms(
               recognize::WhatShows(recognize::MakeNormalForm(a.part), a.solid),
               recognize::WhatShows(recognize::MakeNormalForm(b.part), a.solid))
        .Equal();
  }
  testing::TripFolder folder_;
};

const std::string kSlot =
    "\n[[feature]]\nname = \"s\"\nkind = \"slot\"\nfrom = \"+z\"\nat = [30, 20]\nentry = 20\nalong "
    "= \"+x\"\nlength = 50\nwidth = 10\ndepth = 12\n";

std::string Pocket(double depth) {
  return fmt::format(
      "\n[[feature]]\nname = \"p\"\nkind = \"pocket\"\nfrom = \"-y\"\nat = [30, 13]\nentry = "
      "0\nalong = \"+x\"\nlength = 20\nwidth = 8\ncorner_radius = 2\ndepth = {:g}\n",
      depth);
}

TEST_F(WhatShows, AFloorInAirMayBeAnywhere) {
  const Sheet one = Load(kSlot + Pocket(17));
  const Sheet other = Load(kSlot + Pocket(22));
  EXPECT_FALSE(recognize::CompareNormalForms(recognize::MakeNormalForm(one.part),
                                             recognize::MakeNormalForm(other.part))
                   .Equal());
  EXPECT_TRUE(Equal(one, other));
}

TEST_F(WhatShows, AFloorInMetalMayNot) {
  const Sheet one = Load(kSlot + Pocket(11));
  EXPECT_FALSE(Equal(one, Load(kSlot + Pocket(12))));
}

TEST_F(WhatShows, ACornerThatIsGoneIsNotSaid) {
  const std::string step =
      "\n[[feature]]\nname = \"t\"\nkind = \"step\"\nfrom = \"+z\"\nremoved = { x = [20, 30], y = "
      "[0, 40], z = [15, 20] }\n";
  const std::string slot =
      "\n[[feature]]\nname = \"t\"\nkind = \"slot\"\nfrom = \"+z\"\nat = [25, 20]\nentry = "
      "20\nalong = \"+y\"\nlength = 70\nwidth = 10\ndepth = 5\n";
  EXPECT_TRUE(Equal(Load(step), Load(slot)));
}

std::string Hole(double entry, double depth) {
  return fmt::format(
      "\n[[feature]]\nname = \"h\"\nkind = \"hole\"\nfrom = \"+z\"\nat = [30, 20]\nentry = "
      "{:g}\ndiameter = 5\ndepth = {:g}\nbottom = \"118\"\n",
      entry, depth);
}

TEST_F(WhatShows, AHoleBeginsWhereItsWallDoes) {
  EXPECT_TRUE(Equal(Load(kSlot + Hole(20, 16)), Load(kSlot + Hole(8, 4))));
  EXPECT_FALSE(Equal(Load(kSlot + Hole(20, 16)), Load(kSlot + Hole(20, 15))));
}

TEST_F(WhatShows, AHoleInAirIsNone) { EXPECT_TRUE(Equal(Load(kSlot), Load(kSlot + Hole(20, 9)))); }

TEST(SameBoundary, IsSeenThroughOtherWaysOfCutting) {
  const solid::Solid block = *solid::MakeBox({Vec3(0, 0, 0), Vec3(30, 20, 10)});
  const solid::Solid along = *solid::MakeCylinder({Vec3(-1, 10, 5), Vec3::UnitX()}, 0, 40, 6);
  const solid::Solid down = *solid::MakeCylinder({Vec3(15, 10, -1), Vec3::UnitZ()}, 0, 12, 6);
  const solid::Solid one = *solid::Cut(block, {along, down});
  EXPECT_TRUE(solid::HaveSameBoundary(one, *solid::Cut(*solid::Cut(block, {down}), {along})));
  const solid::Solid beside = *solid::MakeCylinder({Vec3(15.01, 10, -1), Vec3::UnitZ()}, 0, 12, 6);
  EXPECT_FALSE(solid::HaveSameBoundary(one, *solid::Cut(block, {along, beside})));
  const solid::Solid deeper = *solid::MakeBox({Vec3(0, 0, 0), Vec3(1, 1, 1.001)});
  EXPECT_FALSE(solid::HaveSameBoundary(*solid::MakeBox({Vec3(0, 0, 0), Vec3(1, 1, 1)}), deeper));
}

}  // namespace
}  // namespace fitwright
