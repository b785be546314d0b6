// Every kind of feature and stock that a sheet can say: read as it is meant.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "fitwright/files/project.h"
#include "fitwright/model/mirror.h"
#include "tests/files/describe.h"
#include "tests/files/sample_project.h"
#include "tests/files/sample_vocabulary.h"

namespace fitwright::files_test {
namespace {

using ::testing::HasSubstr;

// A few roundings of lengths of this size.
constexpr double kRounding_mm = 1e-9;

class Vocabulary : public ::testing::Test {
 protected:
  static files::Project Load() {
    const ProjectFolder folder(VocabularyProject());
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
  EXPECT_EQ(label.text, "this way");
}

TEST_F(Vocabulary, HexAndPlateStock) {
  const Stock& hex = project_.machine.FindPart(PartId("shaft"))->stock;
  EXPECT_EQ(hex.form, StockForm::kHex);
  EXPECT_NEAR(hex.diameter_mm, 31.92, kRounding_mm);  // the middle of 32 -0.16/0
  EXPECT_EQ(hex.flat_normal_P, Vec3::UnitZ());
  EXPECT_EQ(hex.from_mm, -4);
  EXPECT_EQ(hex.to_mm, 106);
  EXPECT_NEAR(hex.under_mm, 0.08, kRounding_mm);
  EXPECT_NEAR(hex.over_mm, 0.08, kRounding_mm);
  EXPECT_EQ(hex.skin_mm, 0.2);
  const Stock& plate = project_.machine.FindPart(PartId("lever"))->stock;
  EXPECT_EQ(plate.form, StockForm::kPlate);
  EXPECT_NEAR(plate.box_P.size_mm().z(), 8, kRounding_mm);
  EXPECT_NEAR(plate.out_of_square_mm, 0.5, kRounding_mm);
  EXPECT_THAT(project_.assumed,
              ::testing::Contains(HasSubstr("shaft: the stock's sawn ends may lean 1 mm")));
}

// A casting is larger than the part by the allowance, but not where it stays as it is cast.
TEST(Castings, AreLargerWhereTheyAreCut) {
  Texts texts = SampleProject();
  texts["parts/foot.toml"] = Edited(
      texts["parts/foot.toml"], "[[feature]]\nname = \"mount\"",
      "[stock]\nform = \"casting\"\nallowance = 3\n\n[[feature]]\nname = \"end\"\nkind = "
      "\"planar_face\"\nside = \"+x\"\nfinish = \"as_supplied\"\n\n[[feature]]\nname = \"mount\"");
  texts["parts/bush.toml"] =
      Edited(Edited(texts["parts/bush.toml"], "[[feature]]\nname = \"spigot\"",
                    "[stock]\nform = \"casting\"\nallowance = 2\ninner = 8\n\n[[feature]]\nname = "
                    "\"spigot\""),
             "diameter = 38", "diameter = 38\nfinish = \"as_supplied\"");
  const ProjectFolder folder(texts);
  Diagnostics faults;
  const auto project = files::LoadProject(folder.path(), {}, faults);
  ASSERT_TRUE(project.has_value()) << Format(project.error());
  const Stock& foot = project->machine.FindPart(PartId("foot"))->stock;
  EXPECT_TRUE(foot.box_P.min_mm.isApprox(Vec3(-23, 22, -3)));
  EXPECT_TRUE(foot.box_P.max_mm.isApprox(Vec3(20, 48, 27)));
  EXPECT_EQ(foot.allowance_mm, 3);
  EXPECT_FALSE(foot.IsBar());
  const Stock& bush = project->machine.FindPart(PartId("bush"))->stock;
  EXPECT_EQ(bush.diameter_mm, 38);
  EXPECT_EQ(bush.inner_diameter_mm, 8);
  EXPECT_EQ(bush.from_mm, -17);
  EXPECT_EQ(bush.to_mm, 8);
}

TEST(GeometricLimits, BecomeRequirementsWhereTheyAreReckoned) {
  Texts texts = VocabularyProject();
  const auto add = [&](const char* file, const std::string& after, const std::string& limits) {
    texts[file] = Edited(texts[file], after, after + "\ngeometric = [" + limits + "]");
  };
  add("parts/shaft.toml", "name = \"tail\"",
      "{ kind = \"coaxial\", datum = \"journal\", within = 0.03 }");
  add("parts/lever.toml", "name = \"underside\"",
      "{ kind = \"parallel\", datum = \"top\", within = \"0.05 mm\" }");
  add("parts/bush.toml", "name = \"under\"",
      "{ kind = \"square\", datum = \"spigot\", within = 0.02 }, { kind = \"run_out\", datum = "
      "\"spigot\", within = 0.02 }");
  add("parts/block.toml", "name = \"bore\"",
      "{ kind = \"position\", datum = \"deck\", within = 0.2 }");
  add("parts/block.toml", "name = \"well\"",
      "{ kind = \"position\", datum = \"deck\", within = 0.2 }");
  add("parts/block.toml", "name = \"deck\"",
      "{ kind = \"position\", datum = \"bottom\", within = 0.04 }, { kind = \"flat\", within = "
      "0.01 }");
  const ProjectFolder folder(texts);
  Diagnostics faults;
  const auto project = files::LoadProject(folder.path(), {}, faults);
  ASSERT_TRUE(project.has_value()) << Format(project.error());
  const auto find = [&](const std::string& name) {
    for (const Requirement& r : project->machine.requirements) {
      if (r.name.text() == name) return r;
    }
    ADD_FAILURE() << name;
    return Requirement{};
  };
  const Requirement run_out = find("shaft_journal_run_out");
  EXPECT_EQ(run_out.kind, RequirementKind::kRunOut);
  EXPECT_TRUE(run_out.derived);
  EXPECT_EQ(run_out.upper, 0.02);
  EXPECT_EQ(run_out.b.text(), "shaft.collar");
  EXPECT_EQ(find("shaft_tail_coaxial").kind, RequirementKind::kInLine);
  EXPECT_EQ(find("shaft_tail_coaxial").upper, 0.015);
  // 63.5 is the longer side of the lever, 38 the bush's greatest diameter.
  EXPECT_NEAR(*find("lever_underside_parallel").upper, std::atan(0.05 / 63.5), 1e-9);
  EXPECT_NEAR(*find("bush_under_square").upper, std::atan(0.02 / 38), 1e-9);
  const Requirement place = find("block_bore_position");
  ASSERT_TRUE(place.formula.has_value());
  EXPECT_EQ(place.formula->names[0].a.text(), "block.bore");
  EXPECT_NEAR(*place.lower, -20.1, kRounding_mm);
  EXPECT_NEAR(*place.upper, -19.9, kRounding_mm);
  const Requirement height = find("block_deck_position");
  EXPECT_EQ(height.kind, RequirementKind::kDistance);
  // Beyond the bottom along the bottom's own outward normal, which looks the other way.
  EXPECT_NEAR(*height.lower, -40.02, kRounding_mm);
  EXPECT_NEAR(*height.upper, -39.98, kRounding_mm);
  const auto& assumed = project->assumed;
  const auto line = std::find_if(assumed.begin(), assumed.end(), [](const std::string& s) {
    return s.find("not in the odds") != std::string::npos;
  });
  ASSERT_NE(line, assumed.end());
  for (const char* words : {"shaft.journal round within 0.005", "bush.under run_out within 0.02",
                            "block.well position within 0.2", "block.deck flat within 0.01"})
    EXPECT_THAT(*line, HasSubstr(words));
}

// All that a part says, seen in a mirror and back again, with roundings of zero left out.
std::string SaidOf(const Part& part) {
  Writer writer;
  writer.Of(part);
  std::string text;
  for (std::size_t i = 0; i < writer.text.size(); ++i) {
    const bool minus_zero =
        writer.text.compare(i, 3, " -0") == 0 &&
        (i + 3 == writer.text.size() || writer.text[i + 3] == ' ' || writer.text[i + 3] == '\n');
    text += writer.text[i];
    if (minus_zero) ++i;  // the sign
  }
  return text;
}

TEST_F(Vocabulary, MirroredTwiceIsThePartAgain) {
  for (const Part& part : project_.machine.parts) {
    for (int axis = 0; axis < 3; ++axis) {
      SCOPED_TRACE(part.name.text() + " " + std::to_string(axis));
      Part back =
          MirrorPart(MirrorPart(part, PartId("image"), axis), part.name, axis);
      EXPECT_EQ(back.mirror_of, PartId("image"));
      back.mirror_of = part.mirror_of;
      EXPECT_EQ(SaidOf(back), SaidOf(part));
      EXPECT_NE(SaidOf(MirrorPart(part, part.name, axis)), SaidOf(part));
    }
  }
}

TEST_F(Vocabulary, MirroredOutlinesStandByARightHand) {
  const auto& own = Get<Outline>("lever", "shape");
  const auto& shape = Get<Outline>("lever_right", "shape");
  EXPECT_TRUE(shape.u_P.cross(shape.v_P).isApprox(-shape.into_P));
  for (std::size_t i = 0; i < own.discs.size(); ++i) {
    const auto place = [](const Outline& o, const Vec2& q) {
      return Vec3(o.origin_P_mm + q.x() * o.u_P + q.y() * o.v_P);
    };
    Vec3 expected = place(own, own.discs[i].centre_mm);
    expected.y() = -expected.y();
    EXPECT_TRUE(place(shape, shape.discs[i].centre_mm).isApprox(expected, kRounding_mm));
  }
}

}  // namespace
}  // namespace fitwright::files_test
