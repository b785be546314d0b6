// The closed form of what a line meets, against the solids.
#include "fitwright/review/metal.h"

#include <gtest/gtest.h>

#include <random>

#include "../review/spoiled_example.h"
#include "fitwright/solid/build.h"
#include "fitwright/solid/measure.h"

namespace fitwright::review {
namespace {

constexpr int kPointsAPart = 300;

// Not taken away in the closed form: the slope of the feet, the rounded floor of belt grooves, the
// rounded inside corners of outlines.
double ShareThatMayDiffer(const Part& part) {
  for (const Feature& f : part.features) {
    const auto* groove = std::get_if<Groove>(&f.shape);
    if (std::holds_alternative<EdgeChamfer>(f.shape) || std::holds_alternative<Outline>(f.shape) ||
        (groove != nullptr && groove->profile != GrooveProfile::kSquare)) {
      return 0.04;  // the slope is 1.7 % of a foot's box; three sigma of 300 draws above it
    }
  }
  return 0;
}

TEST(Metal, PointsAgreeWithTheSolids) {
  const Machine machine = LoadSpoiled(kWhole, {});
  std::mt19937 draw(7);
  const auto share = [&] { return static_cast<double>(draw()) / 4294967296.0; };
  ASSERT_EQ(machine.parts.size(), 25U);
  for (const Part& part : machine.parts) {
    const auto body = solid::MakeDesign(part);
    ASSERT_TRUE(body) << part.name.text();
    const Box3 box = CalcEnvelope(part);
    int differ = 0;
    for (int i = 0; i < kPointsAPart; ++i) {
      const Vec3 p = box.min_mm + Vec3(share(), share(), share()).cwiseProduct(box.size_mm());
      differ += MetalAt(part, p) != solid::IsInside(*body, p);
    }
    EXPECT_LE(differ, kPointsAPart * ShareThatMayDiffer(part)) << part.name.text();
  }
}

}  // namespace
}  // namespace fitwright::review
