// Every kind of feature and stock that a sheet can say: read as it is meant.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "fitwright/files/project.h"
#include "tests/files/sample_project.h"

namespace fitwright::files_test {
namespace {

using ::testing::HasSubstr;

// A few roundings of lengths of this size.
constexpr double kRounding_mm = 1e-9;

constexpr const char* kShaft = R"toml(format = "fitwright-part/1"
material = "mild steel"
unit = "mm"
general_tolerance = "m"

[dimensions]
shaft = 20
wall = "shaft / 4"
collar = "shaft + 2 * wall"

[envelope]
turned = { axis = "+x", through = [0, 0, 0] }

[stock]
form = "hex"
across = 32
length = 110
start = -5
flat = "+z"
bar_limits = [-0.16, 0]
skin = 0.2

[[feature]]
name = "collar"
kind = "outer_diameter"
from = 0
to = 20
diameter = "collar"
finish = "lapped"
ra = 0.8

[[feature]]
name = "journal"
kind = "outer_diameter"
from = 20
to = 80
diameter = "shaft"
fit = "g6"
geometric = [{ kind = "run_out", datum = "collar", within = 0.02 }, { kind = "round", within = 0.005 }]

[[feature]]
name = "tail"
kind = "outer_diameter"
from = 80
to = 100
diameter = 8

[[feature]]
name = "cone"
kind = "taper"
inside = false
from = 60
to = 80
start_diameter = { size = "shaft", plus_minus = 0.01 }
ratio = "1:10"
angle_within = 0.1

[[feature]]
name = "tail_thread"
kind = "thread"
on = "tail"
end = "end"
length = 15
designation = "M8"

[[feature]]
name = "key"
kind = "keyway"
inside = false
from = 40
to = 55
width = 6
fit = "P9"
depth = 3.5
side = "+z"

[[feature]]
name = "grip"
kind = "knurl"
on = "collar"
pitch = 1
pattern = "straight"

[[feature]]
name = "belt_groove"
kind = "groove"
inside = false
from = 24
to = 29
diameter = 15
profile = "vee"
vee_angle = 40

[[feature]]
name = "ring_groove"
kind = "groove"
inside = false
from = 32
to = 34
diameter = 18
profile = "round"

[[feature]]
name = "hexagon"
kind = "flats"
from = 0
to = 8
across = 27
normal = "+y"
count = 6

[[feature]]
name = "bore"
kind = "bore"
from = "-x"
diameter = 10
depth = 20

[[feature]]
name = "mouth"
kind = "taper"
inside = true
from = 0
to = 5
start_diameter = 12
end_diameter = 10

[[feature]]
name = "nose_round"
kind = "edge_round"
on = "collar"
end = "end"
radius = 2
)toml";

constexpr const char* kLever = R"toml(format = "fitwright-part/1"
material = "bronze"
unit = "inch"
general_tolerance = "m"

[dimensions]
centres = 1.5
rim = "1/8 in"

[envelope]
block = { x = [-0.5, 2.0], y = [-0.5, 0.5], z = [0, "8 mm"] }

[stock]
form = "plate"
size = [3, 1.5, "8 mm"]
sawn_lean = "0.5 mm"

[[feature]]
name = "shape"
kind = "outline"
from = "-z"
discs = [[0, 0, "2 * rim + 0.5"], ["centres", 0.1, 0.6]]
bars = [[0, 0, "centres", 0.1, 0.3]]
inside_radius = "3 mm"

[[feature]]
name = "screws"
kind = "hole"
from = "+z"
at = [0, 0]
grid = { rows = 2, columns = 3, pitch = ["5 mm", "4 mm"], along = "+y" }
diameter = "2 mm"
through = true

[[feature]]
name = "heads"
kind = "countersink"
on = "screws"
diameter = "3 mm"

[[feature]]
name = "label"
kind = "marking"
from = "-z"
at = ["centres / 2", 0.05]
text = "this side up"
height = "3 mm"
depth = "0.2 mm"
along = "+x"

[[feature]]
name = "soft_edge"
kind = "edge_round"
between = ["top", "front"]
radius = "1 mm"

[[feature]]
name = "underside"
kind = "planar_face"
side = "-z"
finish = "as_supplied"
)toml";

class Vocabulary : public ::testing::Test {
 protected:
  static files::Project Load() {
    Texts texts = SampleProject();
    texts["parts/shaft.toml"] = kShaft;
    texts["parts/lever.toml"] = kLever;
    texts["machine.toml"] += "\n[[part]]\nsheet = \"shaft\"\n\n[[part]]\nsheet = \"lever\"\n";
    const ProjectFolder folder(texts);
    Diagnostics faults;
    auto project = files::LoadProject(folder.path(), {}, faults);
    for (const Error& fault : faults.errors()) ADD_FAILURE() << Format(fault);
    return project ? *project : files::Project{};
  }
  template <typename Shape>
  const Shape& Get(const char* part, const char* feature) const {
    const auto* found = project_.machine.Find(FeatureRef{PartId(part), FeatureId(feature)});
    if (found == nullptr) throw std::runtime_error(feature);
    return std::get<Shape>(found->shape);
  }
  const files::Project project_ = Load();
};

TEST_F(Vocabulary, DimensionsStandForNumbers) {
  EXPECT_NEAR(Get<OuterDiameter>("shaft", "collar").diameter.nominal_mm, 30, kRounding_mm);
  EXPECT_NEAR(Get<OuterDiameter>("shaft", "journal").diameter.nominal_mm, 20, kRounding_mm);
  const auto& shape = Get<Outline>("lever", "shape");
  EXPECT_NEAR(shape.discs[0].diameter_mm, 0.75 * 25.4, kRounding_mm);
  EXPECT_NEAR(shape.discs[1].centre_mm.x(), 38.1, kRounding_mm);
}

TEST_F(Vocabulary, FinishAndGeometricLimits) {
  const Feature* collar = project_.machine.Find(FeatureRef{PartId("shaft"), FeatureId("collar")});
  EXPECT_EQ(collar->finish, Finish::kLapped);
  EXPECT_EQ(collar->ra_um, 0.8);
  const Feature* journal = project_.machine.Find(FeatureRef{PartId("shaft"), FeatureId("journal")});
  ASSERT_EQ(journal->geometric.size(), 2u);
  EXPECT_EQ(journal->geometric[0].kind, GeometricKind::kRunOut);
  EXPECT_EQ(journal->geometric[0].datum, FeatureId("collar"));
  EXPECT_EQ(journal->geometric[0].within_mm, 0.02);
  EXPECT_FALSE(journal->geometric[1].datum.has_value());
}

TEST_F(Vocabulary, Tapers) {
  const auto& cone = Get<Taper>("shaft", "cone");
  EXPECT_NEAR(cone.start_diameter.upper_mm, 20.01, kRounding_mm);
  EXPECT_NEAR(cone.end_diameter.nominal_mm, 18, kRounding_mm);  // 20 long at 1:10
  EXPECT_NEAR(cone.end_diameter.lower_mm, 17.99, kRounding_mm);
  EXPECT_EQ(cone.angle_limit_deg, 0.1);
  const auto& mouth = Get<Taper>("shaft", "mouth");
  EXPECT_TRUE(mouth.internal);
  EXPECT_NEAR(mouth.angle_limit_deg, 1, kRounding_mm);  // ISO 2768-1 m, up to 10 mm
}

TEST_F(Vocabulary, ThreadsKeywaysKnurls) {
  const auto& thread = Get<ExternalThread>("shaft", "tail_thread");
  EXPECT_FALSE(thread.at_start);
  EXPECT_EQ(thread.pitch_mm, 1.25);
  const auto& key = Get<Keyway>("shaft", "key");
  const double journal = Get<OuterDiameter>("shaft", "journal").diameter.middle_mm();
  EXPECT_NEAR(key.floor_mm, journal / 2 - 3.5, kRounding_mm);
  EXPECT_LT(key.width.upper_mm, 6);  // P9
  const auto& knurl = Get<Knurl>("shaft", "grip");
  EXPECT_EQ(knurl.from_mm, 0);
  EXPECT_EQ(knurl.to_mm, 20);
  EXPECT_EQ(knurl.pattern, KnurlPattern::kStraight);
}

TEST_F(Vocabulary, GroovesFlatsRounds) {
  EXPECT_EQ(Get<Groove>("shaft", "belt_groove").profile, GrooveProfile::kVee);
  EXPECT_EQ(Get<Groove>("shaft", "belt_groove").vee_deg, 40);
  EXPECT_EQ(Get<Groove>("shaft", "ring_groove").profile, GrooveProfile::kRound);
  EXPECT_EQ(Get<Flats>("shaft", "hexagon").count, 6);
  const auto& round = Get<RoundChamfer>("shaft", "nose_round");
  EXPECT_TRUE(round.rounded);
  EXPECT_EQ(round.radial_mm, 2);
  EXPECT_TRUE(Get<EdgeChamfer>("lever", "soft_edge").rounded);
  const auto& sink = Get<RoundChamfer>("lever", "heads");
  EXPECT_TRUE(sink.countersink);
  EXPECT_NEAR(sink.radial_mm, 0.5, 1e-3);  // the hole's middle of limits is 2
  EXPECT_NEAR(sink.axial_mm, sink.radial_mm, kRounding_mm);
}

// From -z the two coordinates x and y make a left hand with the way out: v is counted against y.
TEST_F(Vocabulary, OutlinesStandByARightHand) {
  const auto& shape = Get<Outline>("lever", "shape");
  EXPECT_TRUE(shape.u_P.cross(shape.v_P).isApprox(-shape.into_P));
  const auto& small = shape.discs[1];
  const Vec3 middle =
      shape.origin_P_mm + small.centre_mm.x() * shape.u_P + small.centre_mm.y() * shape.v_P;
  EXPECT_TRUE(middle.isApprox(Vec3(38.1, 2.54, 0), kRounding_mm)) << middle.transpose();
  EXPECT_NEAR(shape.inside_radius_mm, 3, kRounding_mm);
}

TEST_F(Vocabulary, GridsAndMarkings) {
  const auto& screws = Get<Hole>("lever", "screws");
  ASSERT_EQ(screws.entries_P_mm.size(), 6u);
  // Columns 5 apart along +y; rows 4 apart along out x along = -x.
  EXPECT_TRUE(screws.entries_P_mm[0].isApprox(Vec3(2, -5, 8), kRounding_mm));
  EXPECT_TRUE(screws.entries_P_mm[2].isApprox(Vec3(2, 5, 8), kRounding_mm));
  EXPECT_TRUE(screws.entries_P_mm[5].isApprox(Vec3(-2, 5, 8), kRounding_mm));
  const auto& label = Get<Marking>("lever", "label");
  EXPECT_TRUE(label.at_P_mm.isApprox(Vec3(19.05, 1.27, 0), kRounding_mm));
  EXPECT_EQ(label.text, "this side up");
}

TEST_F(Vocabulary, HexAndPlateStock) {
  const Stock& hex = project_.machine.FindPart(PartId("shaft"))->stock;
  EXPECT_EQ(hex.form, StockForm::kHex);
  EXPECT_EQ(hex.diameter_mm, 32);
  EXPECT_EQ(hex.flat_normal_P, Vec3::UnitZ());
  EXPECT_EQ(hex.from_mm, -5);
  EXPECT_EQ(hex.to_mm, 105);
  EXPECT_EQ(hex.under_mm, 0.16);
  EXPECT_EQ(hex.over_mm, 0);
  EXPECT_EQ(hex.skin_mm, 0.2);
  const Stock& plate = project_.machine.FindPart(PartId("lever"))->stock;
  EXPECT_EQ(plate.form, StockForm::kPlate);
  EXPECT_NEAR(plate.box_P.size_mm().z(), 8, kRounding_mm);
  EXPECT_NEAR(plate.out_of_square_mm, 0.5, kRounding_mm);
  EXPECT_THAT(project_.assumed,
              ::testing::Contains(HasSubstr("shaft: the stock's sawn ends may lean 1 mm")));
}

}  // namespace
}  // namespace fitwright::files_test
