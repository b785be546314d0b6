#include "fitwright/solid/step_reading.h"

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <set>
#include <sstream>

#include "fitwright/solid/build.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/face_graph.h"
#include "fitwright/solid/measure.h"
#include "fitwright/solid/primitives.h"
#include "fitwright/solid/step_io.h"
#include "tests/solid/sample_parts.h"
#include "tests/support/sanitized.h"

namespace fitwright::solid {
namespace {

class ForeignFile : public ::testing::Test {
 protected:
  void SetUp() override {
    const auto* test = ::testing::UnitTest::GetInstance()->current_test_info();
    folder_ =
        std::filesystem::path(::testing::TempDir()) / (std::string("foreign_") + test->name());
    std::filesystem::remove_all(folder_);
    std::filesystem::create_directories(folder_);
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }
  std::string PathOf(const std::string& name) const { return (folder_ / name).string(); }

  std::string Save(const std::string& name, const std::string& text) const {
    std::ofstream(PathOf(name), std::ios::binary) << text;
    return PathOf(name);
  }
  // The text of a file with these solids, as this program writes it.
  std::string TextOf(const std::vector<NamedSolid>& solids,
                     LengthUnit unit = LengthUnit::kMillimetre) const {
    const std::string path = PathOf("written.step");
    const Status status = WriteStep(solids, path, {.assembly_name = "machine", .unit = unit});
    EXPECT_TRUE(status.has_value());
    std::ifstream in(path, std::ios::binary);
    std::ostringstream all;
    all << in.rdbuf();
    return all.str();
  }
  std::filesystem::path folder_;
};

Solid MakeBlock() {
  const Solid block = *MakeBox({Vec3(0, 0, 0), Vec3(30, 20, 10)});
  return *Cut(block, {*MakeCylinder({Vec3(8, 10, 0), Vec3::UnitZ()}, -1, 11, 6)});
}

std::string Replaced(std::string text, const std::string& what, const std::string& by) {
  std::size_t at = text.find(what);
  EXPECT_NE(at, std::string::npos) << what;
  while (at != std::string::npos) {
    text.replace(at, what.size(), by);
    at = text.find(what, at + by.size());
  }
  return text;
}

bool Mentions(const std::vector<std::string>& notes, const std::string& words) {
  for (const std::string& note : notes) {
    if (note.find(words) != std::string::npos) return true;
  }
  return false;
}

std::string All(const std::vector<std::string>& notes) {
  std::string all;
  for (const std::string& note : notes) all += note + "\n";
  return all;
}

StepContents Read(const std::string& path) {
  const Result<StepContents> contents = ReadStep(path);
  EXPECT_TRUE(contents.has_value()) << (contents ? "" : Format(contents.error()));
  return contents ? *contents : StepContents{};
}

void ExpectUnreadable(const std::string& path, const std::string& words,
                      const StepReadingLimits& limits = {}) {
  const Result<StepContents> contents = ReadStep(path, limits);
  ASSERT_FALSE(contents.has_value());
  EXPECT_EQ(contents.error().code, ErrorCode::kFileUnreadable);
  EXPECT_NE(contents.error().message.find(words), std::string::npos) << Format(contents.error());
  EXPECT_FALSE(contents.error().remedy.empty());
  EXPECT_EQ(contents.error().where.file, path);
}

TEST_F(ForeignFile, AnAssemblyComesBackInItsPlaces) {
  Pose turned = Pose::Identity();
  turned.linear() = Eigen::AngleAxisd(0.5 * kPi, Vec3::UnitY()).toRotationMatrix();
  turned.translation() = Vec3(25, 0, 28);
  Pose beside = Pose::Identity();
  beside.translation() = Vec3(0, 100, 0);
  const Solid foot = *MakeDesign(testing::MakeFoot(1));
  const std::vector<NamedSolid> written = {
      {"body", *MakeDesign(testing::MakeBody()), Pose::Identity()},
      {"front_housing", *MakeDesign(testing::MakeHousing()), turned},
      {"foot", foot, Pose::Identity()},
      {"foot", foot, beside}};
  for (const LengthUnit unit : {LengthUnit::kMillimetre, LengthUnit::kInch}) {
    const StepContents contents = Read(Save("a.step", TextOf(written, unit)));
    ASSERT_EQ(contents.placed.size(), 4u);
    EXPECT_EQ(contents.shapes.size(), 3u);
    EXPECT_EQ(contents.written_in, unit);
    EXPECT_EQ(contents.schema.rfind("AUTOMOTIVE_DESIGN", 0), 0u);
    EXPECT_TRUE(contents.notes.empty()) << All(contents.notes);
    EXPECT_EQ(contents.placed[2].shape, contents.placed[3].shape);
    for (std::size_t i = 0; i < written.size(); ++i) {
      const PlacedShape& placed = contents.placed[i];
      EXPECT_EQ(placed.name, written[i].name);
      EXPECT_EQ(placed.path, std::vector<std::string>{"machine"});
      EXPECT_FALSE(placed.mirrored);
      EXPECT_LT((placed.X_WF.matrix() - written[i].X_WP.matrix()).cwiseAbs().maxCoeff(), 1e-9);
      const double volume_mm3 = CalcVolume_mm3(written[i].solid);
      EXPECT_NEAR(CalcVolume_mm3(contents.shapes[placed.shape]), volume_mm3, 1e-8 * volume_mm3);
    }
  }
}

TEST_F(ForeignFile, FacesCarryTheirNames) {
  std::string text = TextOf({{"block", MakeBlock()}});
  int number = 0;
  for (std::size_t at = text.find("ADVANCED_FACE('"); at != std::string::npos;
       at = text.find("ADVANCED_FACE('", at + 1)) {
    text.insert(at + 15, "f" + std::to_string(number++));
  }
  ASSERT_EQ(number, 7);
  const StepContents contents = Read(Save("a.step", text));
  ASSERT_EQ(contents.face_labels.size(), 1u);
  const auto graphs = MakeFaceGraphs(contents.shapes[0], {}, contents.face_labels[0]);
  ASSERT_TRUE(graphs.has_value());
  std::set<std::string> labels;
  for (const GraphFace& face : graphs->front().faces) labels.insert(face.label);
  EXPECT_EQ(labels, (std::set<std::string>{"f0", "f1", "f2", "f3", "f4", "f5", "f6"}));
}

TEST_F(ForeignFile, UnitsAreTurnedIntoMillimetres) {
  const std::string text = TextOf({{"block", MakeBlock()}});
  const std::string metre = "SI_UNIT($,.METRE.)";
  const StepContents metres =
      Read(Save("m.step", Replaced(text, "SI_UNIT(.MILLI.,.METRE.)", metre)));
  ASSERT_EQ(metres.shapes.size(), 1u);
  EXPECT_NEAR(CalcBox(metres.shapes[0]).size_mm().x(), 30000, 1e-6);
  EXPECT_TRUE(Mentions(metres.notes, "1000 times wrong")) << All(metres.notes);
  const StepContents inches =
      Read(Save("i.step", TextOf({{"block", MakeBlock()}}, LengthUnit::kInch)));
  ASSERT_EQ(inches.shapes.size(), 1u);
  EXPECT_NEAR(CalcBox(inches.shapes[0]).size_mm().x(), 30, 1e-9);
  EXPECT_EQ(inches.written_in, LengthUnit::kInch);
}

TEST_F(ForeignFile, SizesThatLookWrongAreSaid) {
  const Solid pin = *MakeBox({Vec3(0, 0, 0), Vec3(2, 1, 0.5)});
  EXPECT_TRUE(Mentions(Read(Save("s.step", TextOf({{"pin", pin}}))).notes, "25.4 times wrong"));
  const Solid speck = *MakeBox({Vec3(0, 0, 0), Vec3(0.03, 0.02, 0.01)});
  EXPECT_TRUE(Mentions(Read(Save("t.step", TextOf({{"x", speck}}))).notes, "1000 times wrong"));
  const Solid bar = *MakeBox({Vec3(0, 0, 0), Vec3(1524, 20, 10)});
  const std::string inch = TextOf({{"bar", bar}}, LengthUnit::kInch);
  EXPECT_TRUE(Mentions(Read(Save("i.step", inch)).notes, "25.4 times wrong"));
}

TEST_F(ForeignFile, ForeignWaysOfWritingTextAreTaken) {
  const std::string text = TextOf({{"block", MakeBlock()}});
  EXPECT_EQ(Read(Save("bom.step", "\xEF\xBB\xBF" + text)).placed.size(), 1u);
  EXPECT_EQ(Read(Save("crlf.step", Replaced(text, "\n", "\r\n"))).placed.size(), 1u);
  EXPECT_EQ(Read(Save("blank.step", "\r\n  " + text)).placed.size(), 1u);
  EXPECT_EQ(Read(Save("comment.step", "/* from elsewhere */\n" + text)).placed.size(), 1u);
}

TEST_F(ForeignFile, NamesMayBeMissing) {
  const std::string text = TextOf({{"block", MakeBlock()}});
  const StepContents contents = Read(Save("a.step", Replaced(text, "'block'", "''")));
  ASSERT_EQ(contents.placed.size(), 1u);
  EXPECT_EQ(contents.placed[0].name, "");
}

TEST_F(ForeignFile, SeveralBodiesOfOneProductAreSeveralShapes) {
  const Solid block = MakeBlock();
  const Solid slab = *MakeBox({Vec3(15, -1, -1), Vec3(16, 21, 11)});
  const Solid both = *Cut(block, {slab});
  const StepContents contents = Read(Save("a.step", TextOf({{"pair", both}})));
  ASSERT_EQ(contents.placed.size(), 2u);
  EXPECT_EQ(contents.shapes.size(), 2u);
  for (const PlacedShape& placed : contents.placed) {
    EXPECT_EQ(placed.path, (std::vector<std::string>{"machine", "pair"}));
  }
  double volume_mm3 = 0;
  for (const Solid& shape : contents.shapes) volume_mm3 += CalcVolume_mm3(shape);
  EXPECT_NEAR(volume_mm3, CalcVolume_mm3(both), 1e-6);
}

// The text with its one body placed by an operator with the axes (x, 0, 0), (0, 1, 0), (0, 0, 1).
std::string PlacedByOperator(const std::string& text, double x) {
  const std::string head = "ADVANCED_BREP_SHAPE_REPRESENTATION('',(";
  const auto at = text.find(head);
  EXPECT_NE(at, std::string::npos);
  const auto items = at + head.size();
  const auto comma = text.find(',', items);
  const auto close = text.find(')', items);
  const std::string axes = text.substr(items, comma - items);
  const std::string body = text.substr(comma + 1, close - comma - 1);
  const std::string context = text.substr(close + 2, text.find(')', close + 2) - close - 2);
  std::string changed = text;
  changed.replace(comma + 1, body.size(), "#9100");
  const std::string added =
      "#9100=MAPPED_ITEM('',#9101,#9102);\n#9101=REPRESENTATION_MAP(" + axes +
      ",#9103);\n#9103=" + head + axes + "," + body + ")," + context +
      ");\n#9102=CARTESIAN_TRANSFORMATION_OPERATOR_3D('','','',#9105,#9106,#9107,1.,#9108);\n"
      "#9105=DIRECTION('',(" +
      std::to_string(x) +
      ",0.,0.));\n#9106=DIRECTION('',(0.,1.,0.));\n"
      "#9107=CARTESIAN_POINT('',(0.,0.,0.));\n#9108=DIRECTION('',(0.,0.,1.));\n";
  changed.insert(changed.rfind("ENDSEC;"), added);
  return changed;
}

// The kernel takes left-handed axes for a turn: what stands there must be mirrored all the same.
TEST_F(ForeignFile, APlaceByReflectionMirrors) {
  const Solid block = MakeBlock();
  const std::string text = TextOf({{"block", block}});
  for (const double side : {1.0, -1.0}) {
    SCOPED_TRACE(side);
    const StepContents contents = Read(Save("a.step", PlacedByOperator(text, side)));
    ASSERT_EQ(contents.placed.size(), 1u) << All(contents.notes);
    const PlacedShape& placed = contents.placed[0];
    EXPECT_NEAR(placed.X_WF.linear().determinant(), 1, 1e-12);
    EXPECT_EQ(placed.mirrored, side < 0);
    const Solid& shape = contents.shapes[placed.shape];
    EXPECT_NEAR(CalcVolume_mm3(shape), CalcVolume_mm3(block), 1e-6);
    Vec3 centroid = CalcCentroid_mm(block);
    centroid.x() *= side;
    EXPECT_LT((placed.X_WF * CalcCentroid_mm(shape) - centroid).norm(), 1e-6);
  }
}

TEST_F(ForeignFile, MissingFilesItRefersToAreSaid) {
  std::string text = TextOf({{"block", MakeBlock()}});
  text.insert(text.rfind("ENDSEC;"),
              "#9001=DOCUMENT_FILE('wheel.stp','','',#9002,'',$);\n#9002=DOCUMENT_TYPE('');\n");
  const StepContents contents = Read(Save("a.step", text));
  EXPECT_EQ(contents.placed.size(), 1u);
  EXPECT_TRUE(Mentions(contents.notes, "wheel.stp")) << All(contents.notes);
  Save("wheel.stp", text);
  EXPECT_FALSE(Mentions(Read(PathOf("a.step")).notes, "wheel.stp"));
}

TEST_F(ForeignFile, WhatIsNoStepFileIsSaid) {
  const std::string text = TextOf({{"block", MakeBlock()}});
  ExpectUnreadable(Save("a.step", ""), "empty");
  ExpectUnreadable(Save("b.step", "solid cube\nfacet normal 0 0 1\n"), "not a STEP file");
  ExpectUnreadable(Save("c.step", std::string("\x1f\x8b\x08", 3) + text), "packed");
  ExpectUnreadable(Save("d.step", "PK\x03\x04" + text), "packed");
  ExpectUnreadable(Save("e.step", "ISO-10303-21;\nHEADER;\nENDSEC;\n"), "no DATA");
  ExpectUnreadable(Save("f.step", text.substr(0, text.size() / 2)), "cut short");
  ExpectUnreadable(folder_.string(), "no file");
  const auto missing = ReadStep(PathOf("nowhere.step"));
  ASSERT_FALSE(missing.has_value());
  EXPECT_EQ(missing.error().code, ErrorCode::kFileMissing);
}

TEST_F(ForeignFile, NothingInsideIsAnError) {
  const std::string text = TextOf({{"block", MakeBlock()}});
  const std::string head = text.substr(0, text.find("DATA;"));
  ExpectUnreadable(Save("a.step", head + "DATA;\nENDSEC;\nEND-ISO-10303-21;\n"), "no");
}

TEST_F(ForeignFile, AnOpenSkinBoundsNoBody) {
  const std::string text = TextOf({{"block", MakeBlock()}});
  // One of the faces falls out of the list of the shell.
  const auto shell = text.find("CLOSED_SHELL('',(#");
  ASSERT_NE(shell, std::string::npos);
  std::string open = text;
  const auto first = open.find('#', shell);
  open.erase(first, open.find(',', first) + 1 - first);
  ExpectUnreadable(Save("a.step", open), "not closed");
  // Beside a sound body it is a note.
  const Solid other = *MakeBox({Vec3(0, 0, 20), Vec3(5, 5, 25)});
  std::string two = TextOf({{"block", MakeBlock()}, {"other", other}});
  const auto at = two.find("CLOSED_SHELL('',(#");
  const auto face = two.find('#', at);
  two.erase(face, two.find(',', face) + 1 - face);
  const StepContents contents = Read(Save("b.step", two));
  EXPECT_EQ(contents.placed.size(), 1u);
  EXPECT_TRUE(Mentions(contents.notes, "block")) << All(contents.notes);
}

TEST_F(ForeignFile, LimitsAreKept) {
  std::string text = TextOf({{"block", MakeBlock()}});
  ExpectUnreadable(Save("a.step", text), "longer than", {.seconds = 0.001});
  text.insert(text.find("DATA;"), std::string(32 << 20, ' '));
  EXPECT_EQ(Read(Save("b.step", text)).placed.size(), 1u);
#ifndef FITWRIGHT_SANITIZED  // which maps far more than any limit before main begins
  ExpectUnreadable(PathOf("b.step"), "memory", {.memory_mb = 8});
#endif
}

// Scope blocks and a null where the reader expects an entity are known to kill it.
TEST_F(ForeignFile, WhatKillsTheReaderIsAnError) {
  const std::string text = TextOf({{"block", MakeBlock()}});
  const auto data = text.find("DATA;") + 6;
  const std::string scope =
      "#9001=&SCOPE #9002=CARTESIAN_POINT('',(0.,0.,0.)); ENDSCOPE/#9002/ "
      "CARTESIAN_POINT('',(1.,0.,0.));\n";
  const auto contents = ReadStep(Save("a.step", text.substr(0, data) + scope + text.substr(data)));
  if (!contents) {
    EXPECT_EQ(contents.error().code, ErrorCode::kFileUnreadable) << Format(contents.error());
  } else {
    EXPECT_EQ(contents->placed.size(), 1u);
  }
}

// A number that is the same on every machine and run.
class Draw {
 public:
  std::size_t Below(std::size_t limit) {
    state_ = state_ * 6364136223846793005ULL + 1442695040888963407ULL;
    return static_cast<std::size_t>((state_ >> 33) % limit);
  }

 private:
  std::uint64_t state_ = 20240607;
};

std::string Mutated(std::string text, Draw& draw) {
  const auto data = text.find("DATA;");
  for (std::size_t change = 1 + draw.Below(4); change > 0; --change) {
    const std::size_t at = data + draw.Below(text.size() - data);
    switch (draw.Below(5)) {
      case 0:
        text[at] = static_cast<char>(32 + draw.Below(95));
        break;
      case 1:
        text.erase(at, 1 + draw.Below(40));
        break;
      case 2:
        text.insert(at, text.substr(data + draw.Below(text.size() - data), 30));
        break;
      case 3:
        text[at] = static_cast<char>(draw.Below(256));
        break;
      case 4: {
        const auto reference = text.find('#', at);
        if (reference != std::string::npos) text[reference + 1] = '9';
        break;
      }
    }
  }
  return text;
}

TEST_F(ForeignFile, AHundredSpoiltFilesEndInAnErrorOrABody) {
  const std::string text = TextOf({{"block", MakeBlock()}});
  Draw draw;
  int read = 0;
  for (int i = 0; i < 100; ++i) {
    SCOPED_TRACE(i);
    const auto contents = ReadStep(Save("spoilt.step", Mutated(text, draw)), {.seconds = 60});
    if (!contents) {
      EXPECT_FALSE(contents.error().message.empty());
      EXPECT_FALSE(contents.error().remedy.empty());
      EXPECT_NE(contents.error().code, ErrorCode::kInternal);
      continue;
    }
    ++read;
    ASSERT_FALSE(contents->placed.empty());
    for (const PlacedShape& placed : contents->placed) {
      ASSERT_LT(placed.shape, contents->shapes.size());
      EXPECT_GT(CalcVolume_mm3(contents->shapes[placed.shape]), 0);
      EXPECT_TRUE(MakeFaceGraphs(contents->shapes[placed.shape]).has_value());
    }
  }
  EXPECT_GT(read, 0);
  EXPECT_LT(read, 100);
}

}  // namespace
}  // namespace fitwright::solid
