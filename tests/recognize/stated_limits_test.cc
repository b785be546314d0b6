// Limits that a file states on its faces, written into a file of our own by the entities of ISO
// 10303-242: they come to the features that the faces became, deviations with their signs.
#include "fitwright/recognize/stated_limits.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <iterator>

#include "fitwright/solid/cut.h"
#include "fitwright/solid/primitives.h"
#include "fitwright/solid/step_io.h"
#include "tests/support/step_text.h"

namespace fitwright::recognize_test {
namespace {

namespace fs = std::filesystem;

// The file's entities, and new ones behind them.
class StatingFile {
 public:
  explicit StatingFile(const std::string& text) : step_(testing::SplitStep(text)) {}

  std::string Number(const std::string& entity) const { return entity.substr(0, entity.find('=')); }
  std::string FindKind(const std::string& kind) const {
    for (const std::string& entity : step_.entities) {
      if (entity.find(kind) != std::string::npos) return Number(entity);
    }
    ADD_FAILURE() << "no " << kind;
    return "#0";
  }
  const std::string& Entity(const std::string& number) const {
    for (const std::string& entity : step_.entities) {
      if (Number(entity) == number) return entity;
    }
    static const std::string kNone;
    return kNone;
  }
  std::vector<std::string> References(const std::string& entity) const {
    std::vector<std::string> all;
    testing::WithReferences(entity, [&](const std::string& number) {
      all.push_back("#" + number);
      return number;
    });
    return all;
  }
  // The face on a surface whose text, or whose axis' text, has the words.
  std::string FaceOn(const std::string& words) const {
    for (const std::string& entity : step_.entities) {
      if (entity.find("=ADVANCED_FACE") == std::string::npos) continue;
      const std::string& surface = Entity(References(entity).back());
      if (surface.find(words) != std::string::npos) return Number(entity);
    }
    ADD_FAILURE() << "no face on " << words;
    return "#0";
  }
  // A closed edge of a face.
  std::string RimOf(const std::string& face) const {
    for (const std::string& bound : References(Entity(face))) {
      for (const std::string& loop : References(Entity(bound))) {
        for (const std::string& oriented : References(Entity(loop))) {
          for (const std::string& edge : References(Entity(oriented))) {
            const auto ends = References(Entity(edge));
            if (Entity(edge).find("=EDGE_CURVE") != std::string::npos && ends[1] == ends[2])
              return edge;
          }
        }
      }
    }
    ADD_FAILURE() << "no rim of " << face;
    return "#0";
  }
  // The plane that stands there and looks that way, as texts of the file.
  std::string PlaneAt(const std::string& point_end, const std::string& direction) const {
    for (const std::string& entity : step_.entities) {
      if (entity.find("=ADVANCED_FACE") == std::string::npos) continue;
      const std::string& surface = Entity(References(entity).back());
      if (surface.find("=PLANE") == std::string::npos) continue;
      const auto frame = References(Entity(References(surface).back()));
      const bool there = Entity(frame[1]).find(point_end) != std::string::npos &&
                         Entity(frame[2]).find(direction) != std::string::npos;
      if (there) return Number(entity);
    }
    ADD_FAILURE() << "no plane at " << point_end;
    return "#0";
  }
  // The product's shape that the solid stands for.
  std::string PartsShape() const {
    const std::string solid = FindKind("=ADVANCED_BREP_SHAPE_REPRESENTATION");
    for (const std::string& entity : step_.entities) {
      if (entity.find("=SHAPE_DEFINITION_REPRESENTATION") == std::string::npos) continue;
      const auto of = References(entity);
      if (of[2] == solid) return of[1];
    }
    ADD_FAILURE() << "the solid is no product's shape";
    return "#0";
  }
  std::string Add(const std::string& entity) {
    const std::string number = "#" + std::to_string(next_++);
    step_.entities.push_back(number + "=" + entity + ";");
    return number;
  }
  // A feature of the drawing on a face.
  std::string Aspect(const std::string& kind, const std::string& face) {
    const std::string shape = PartsShape();
    const std::string aspect = Add(kind + shape + ",.T." + ")");
    Add("GEOMETRIC_ITEM_SPECIFIC_USAGE('',''," + aspect + "," +
        FindKind("=ADVANCED_BREP_SHAPE_REPRESENTATION") + "," + face + ")");
    return aspect;
  }
  std::string Measure(double mm) {
    return Add("MEASURE_WITH_UNIT(LENGTH_MEASURE(" + std::to_string(mm) + ")," + unit() + ")");
  }
  void Diameter(const std::string& face, double mm, double lower, double upper) {
    const std::string size =
        Add("DIMENSIONAL_SIZE(" + Aspect("SHAPE_ASPECT('','',", face) + ",'diameter')");
    const std::string item = Add(
        "(LENGTH_MEASURE_WITH_UNIT()MEASURE_REPRESENTATION_ITEM()MEASURE_WITH_UNIT(POSITIVE_LENGTH_"
        "MEASURE(" +
        std::to_string(mm) + ")," + unit() + ")REPRESENTATION_ITEM(''))");
    const std::string context =
        References(Entity(FindKind("=ADVANCED_BREP_SHAPE_REPRESENTATION"))).back();
    const std::string shown =
        Add("SHAPE_DIMENSION_REPRESENTATION('',(" + item + ")," + context + ")");
    Add("DIMENSIONAL_CHARACTERISTIC_REPRESENTATION(" + size + "," + shown + ")");
    Add("PLUS_MINUS_TOLERANCE(" +
        Add("TOLERANCE_VALUE(" + Measure(lower) + "," + Measure(upper) + ")") + "," + size + ")");
  }
  void Limit(const std::string& kind, double mm, const std::string& face,
             const std::string& more = "") {
    const std::string width =
        Add("LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(" + std::to_string(mm) + ")," + unit() + ")");
    Add(kind + "('limit','on the face'," + width + "," + Aspect("SHAPE_ASPECT('','',", face) +
        more + ")");
  }
  std::string Text() const {
    std::string text = step_.head;
    for (const std::string& entity : step_.entities) text += entity + "\n";
    return text + step_.tail;
  }
  std::string unit() const { return FindKind("LENGTH_UNIT()"); }

 private:
  testing::StepText step_;
  int next_ = 90000;
};

class LimitsStatedInAFile : public ::testing::Test {
 protected:
  void SetUp() override {
    file_ =
        fs::temp_directory_path() / ("fitwright_stated_" + std::to_string(::getpid()) + ".step");
    const auto block = solid::MakeBox(Box3{Vec3(0, 0, 0), Vec3(50, 30, 20)});
    const auto small = solid::MakeCylinder({Vec3(12, 15, 0), Vec3::UnitZ()}, -1, 22, 10);
    const auto large = solid::MakeCylinder({Vec3(35, 15, 0), Vec3::UnitZ()}, -1, 22, 20);
    ASSERT_TRUE(block && small && large);
    const auto part = solid::Cut(*block, {*small, *large});
    ASSERT_TRUE(part);
    ASSERT_TRUE(solid::WriteStep({{"plate", *part, Pose::Identity()}}, file_.string(),
                                 {"plate", LengthUnit::kMillimetre, "2000-01-01T00:00:00"}));
  }
  void TearDown() override { fs::remove(file_); }
  StatingFile Open() const {
    std::ifstream in(file_, std::ios::binary);
    return StatingFile(std::string(std::istreambuf_iterator<char>(in), {}));
  }
  // Reads the file with its text changed; what was not taken comes to `left`.
  std::optional<recognize::PartReading> Read(const std::string& text,
                                             std::vector<std::string>& left) const {
    std::ofstream(file_, std::ios::binary) << text;
    const auto contents = solid::ReadStep(file_.string());
    EXPECT_TRUE(contents) << (contents ? "" : Format(contents.error()));
    if (!contents) return std::nullopt;
    left = contents->notes;
    const auto graphs = solid::MakeFaceGraphs(contents->shapes.at(0));
    auto reading =
        recognize::ReadPart(graphs->at(0), contents->shapes.at(0), {PartId("plate"), "steel", {}});
    EXPECT_TRUE(reading);
    if (!reading) return std::nullopt;
    for (const std::string& words :
         recognize::TakeStatedLimits(graphs->at(0), contents->limits, *reading))
      left.push_back(words);
    return *std::move(reading);
  }
  static const Hole* HoleAt(const recognize::PartReading& reading, double diameter_mm) {
    for (const Feature& feature : reading.part.features) {
      const auto* hole = std::get_if<Hole>(&feature.shape);
      if (hole != nullptr && std::abs(hole->diameter.nominal_mm - diameter_mm) < 0.01) return hole;
    }
    return nullptr;
  }
  fs::path file_;
};

TEST_F(LimitsStatedInAFile, DiametersComeWithTheirDeviationsSigns) {
  StatingFile file = Open();
  file.Diameter(file.FaceOn(",5.)"), 10, -0.05, 0.15);
  file.Diameter(file.FaceOn(",10.)"), 20, 0.02, 0.05);
  std::vector<std::string> left;
  const auto reading = Read(file.Text(), left);
  ASSERT_TRUE(reading);
  EXPECT_THAT(left, ::testing::IsEmpty());
  const Hole* small = HoleAt(*reading, 10);
  const Hole* large = HoleAt(*reading, 20);
  ASSERT_TRUE(small != nullptr && large != nullptr);
  EXPECT_EQ(small->diameter.origin, LimitsOrigin::kPlusMinus);
  EXPECT_NEAR(small->diameter.lower_mm, 9.95, 1e-9);
  EXPECT_NEAR(small->diameter.upper_mm, 10.15, 1e-9);
  EXPECT_NEAR(large->diameter.lower_mm, 20.02, 1e-9);
  EXPECT_NEAR(large->diameter.upper_mm, 20.05, 1e-9);
}

TEST_F(LimitsStatedInAFile, FormAndPlaceComeWithTheirDatumAndTheRestIsListed) {
  StatingFile file = Open();
  const std::string top = file.PlaneAt(",20.)", ",1.)");
  const std::string side = file.PlaneAt("(50.,", "(1.,");
  file.Limit("FLATNESS_TOLERANCE", 0.02, top);
  const std::string feature = file.Aspect("DATUM_FEATURE('','',", top);
  const std::string shape = file.References(file.Entity(feature))[1];
  const std::string datum = file.Add("DATUM('',''," + shape + ",.F.,'A')");
  file.Add("SHAPE_ASPECT_RELATIONSHIP('',''," + feature + "," + datum + ")");
  const std::string first =
      file.Add("DATUM_REFERENCE_COMPARTMENT('',''," + shape + ",.F.," + datum + ",$)");
  const std::string system = file.Add("DATUM_SYSTEM('',''," + shape + ",.F.,(" + first + "))");
  file.Limit("PERPENDICULARITY_TOLERANCE", 0.05, side, ",(" + system + ")");
  file.Limit("SURFACE_PROFILE_TOLERANCE", 0.4, side);
  std::vector<std::string> left;
  const auto reading = Read(file.Text(), left);
  ASSERT_TRUE(reading);
  int flat = 0;
  int square = 0;
  for (const Feature& f : reading->part.features) {
    for (const GeometricLimit& limit : f.geometric) {
      if (limit.kind == GeometricKind::kFlat) flat += std::abs(limit.within_mm - 0.02) < 1e-12;
      if (limit.kind == GeometricKind::kSquare && limit.datum)
        square += std::abs(limit.within_mm - 0.05) < 1e-12;
    }
  }
  EXPECT_EQ(flat, 1);
  EXPECT_EQ(square, 1);
  EXPECT_THAT(left,
              ::testing::ElementsAre(::testing::HasSubstr("profile of a surface within 0.4")));
}

// As some exporters do.
TEST_F(LimitsStatedInAFile, ADiameterOnTheRimOfAHoleIsTheHoles) {
  StatingFile file = Open();
  file.Diameter(file.RimOf(file.FaceOn(",5.)")), 10, -0.05, 0.15);
  std::vector<std::string> left;
  const auto reading = Read(file.Text(), left);
  ASSERT_TRUE(reading);
  EXPECT_THAT(left, ::testing::IsEmpty());
  ASSERT_NE(HoleAt(*reading, 10), nullptr);
  EXPECT_NEAR(HoleAt(*reading, 10)->diameter.upper_mm, 10.15, 1e-9);
}

TEST_F(LimitsStatedInAFile, ADiameterThatIsDrawnOtherwiseIsLeftAndSaid) {
  StatingFile file = Open();
  file.Diameter(file.FaceOn(",5.)"), 12, -0.1, 0.1);
  std::vector<std::string> left;
  const auto reading = Read(file.Text(), left);
  ASSERT_TRUE(reading);
  EXPECT_THAT(left, ::testing::ElementsAre(::testing::HasSubstr("it is drawn at 10")));
  ASSERT_NE(HoleAt(*reading, 10), nullptr);
  EXPECT_EQ(HoleAt(*reading, 10)->diameter.origin, LimitsOrigin::kGeneralTolerance);
}

}  // namespace
}  // namespace fitwright::recognize_test
