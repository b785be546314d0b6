#include "fitwright/trade/threads.h"

#include <gtest/gtest.h>

#include <cmath>
#include <set>
#include <string>

#include "tests/reference/threads.h"
#include "tests/trade/thread_row.h"

namespace fitwright::trade {
namespace {

// Standards print metric diameters to a micrometre and inch ones to a ten-thousandth.
constexpr double kPrinted_mm = 0.00051;
constexpr double kPrinted_in = 0.000051;
// The handbook's roots are for reference and depart from the formula by one place, either way.
constexpr double kReference_in = 0.0001;

TEST(FindThread, KnowsTheUsualWaysOfWriting) {
  const struct {
    const char* written;
    const char* row;
  } cases[] = {
      {"M3", "M3"},
      {"m3", "M3"},
      {"M3x0.5", "M3"},
      {"M3 x 0.5", "M3"},
      {"M3X0.50", "M3"},
      {" M3", "M3"},
      {"M6x0.75", "M6x0.75"},
      {"m 10 X 1", "M10x1"},
      {"M10x1.0", "M10x1"},
      {"1/4-20", "1/4-20 UNC"},
      {"1/4-20 UNC", "1/4-20 UNC"},
      {"1/4\"-20", "1/4-20 UNC"},
      {"0.25-20", "1/4-20 UNC"},
      {".250-20 unc", "1/4-20 UNC"},
      {"1/4 UNC", "1/4-20 UNC"},
      {"1/4-28", "1/4-28 UNF"},
      {"1/4-32", "1/4-32 UNEF"},
      {"1\" UNEF", "1-20 UNEF"},
      {"13/16-20", "13/16-20 UNEF"},
      {"#4-40", "#4-40 UNC"},
      {"4-40", "#4-40 UNC"},
      {"No. 4-40 UNC", "#4-40 UNC"},
      {"no 4-48", "#4-48 UNF"},
      {"#4 UNF", "#4-48 UNF"},
      {"10-32", "#10-32 UNF"},
      {"0.190-24", "#10-24 UNC"},
      {"1-64", "#1-64 UNC"},
      {"1-8", "1-8 UNC"},
      {"1\"-12 UNF", "1-12 UNF"},
      {"2 BA", "2 BA"},
      {"2BA", "2 BA"},
      {"ba 2", "2 BA"},
      {"0BA", "0 BA"},
      {"1/4 BSW", "1/4-20 BSW"},
      {"1/4-20 BSW", "1/4-20 BSW"},
      {"1/4 BSF", "1/4-26 BSF"},
      {"1/4x40 ME", "1/4x40 ME"},
      {"1/4-40 ME", "1/4x40 ME"},
      {"1/4 x 32 me", "1/4x32 ME"},
      {"G1/8", "G1/8"},
      {"g 1/8", "G1/8"},
      {"1/8 BSPP", "G1/8"},
  };
  for (const auto& c : cases) {
    const ThreadRow* row = FindThread(c.written);
    ASSERT_NE(row, nullptr) << c.written;
    EXPECT_EQ(row->designation, c.row) << c.written;
  }
}

TEST(FindThread, GuessesNothing) {
  for (const char* text :
       {"",        "M",          "M13",    "3",      "M3x",    "M3x0.3", "M3x0.5x", "M3x0..5",
        "M3 fine", "M6x0",       "1/4",    "1/4-21", "1/0-20", "#4",     "#4-41",   "#1/4-20",
        "1 UNC",   "1/4x40",     "1/4 ME", "17 BA",  "BA",     "G1",     "G",       "1/8 BSP",
        "-20",     "1/4-20 UNF", "1\"-64", "M-3",    "M1e1",   "nan-20", "1/4--20", "ME"}) {
    EXPECT_EQ(FindThread(text), nullptr) << text;
  }
}

TEST(FindThread, EveryRowIsFoundByItsOwnName) {
  std::set<std::string_view> names;
  for (const ThreadRow* row : AllThreads()) {
    EXPECT_EQ(FindThread(row->designation), row) << row->designation;
    EXPECT_TRUE(names.insert(row->designation).second) << row->designation;
    EXPECT_FALSE(StandardOf(row->series).empty());
  }
  EXPECT_GT(names.size(), 170u);
}

TEST(NearestThreads, OffersThree) {
  EXPECT_EQ(NearestThreads("M33.").size(), 3u);
  EXPECT_EQ(NearestThreads("N4").front(), "M4");
  EXPECT_EQ(NearestThreads("1/4-20 UNX").front(), "1/4-20 UNC");
  EXPECT_EQ(NearestThreads("G1/3").front().substr(0, 3), "G1/");
}

TEST(Reference, IsoCoarse) {
  for (const auto& r : reference::kIsoCoarse) {
    const ThreadRow& row = Row(r.size);
    EXPECT_EQ(row.series, ThreadSeries::kIsoCoarse);
    EXPECT_EQ(row.major_mm, r.major_mm) << r.size;
    EXPECT_EQ(row.pitch_mm, r.pitch_mm) << r.size;
    EXPECT_NEAR(PitchDiameter_mm(row), r.pitch_diameter_mm, kPrinted_mm) << r.size;
    EXPECT_NEAR(MinorDiameter_mm(row), r.minor_mm, kPrinted_mm) << r.size;
    EXPECT_NEAR(RootDiameter_mm(row), r.root_mm, kPrinted_mm) << r.size;
  }
  EXPECT_EQ(Row("M7").pitch_mm, 1);
  EXPECT_EQ(Row("M3.5").pitch_mm, 0.6);
}

template <typename List>
void ExpectUnified(const List& list, std::string_view series) {
  for (const auto& r : list) {
    const bool number = r.major_in < 0.25;
    const std::string name =
        std::string(number ? "#" : "") + std::string(r.size) + " " + std::string(series);
    const ThreadRow* row =
        FindThread(r.size == "1" && !number ? "1\" " + std::string(series) : name);
    ASSERT_NE(row, nullptr) << name;
    EXPECT_NEAR(row->major_mm, r.major_in * kMmPerIn, 1e-9) << name;
    EXPECT_EQ(row->per_inch, r.per_inch) << name;
    EXPECT_NEAR(row->pitch_mm * row->per_inch, kMmPerIn, 1e-9) << name;
    EXPECT_NEAR(PitchDiameter_mm(*row) / kMmPerIn, r.pitch_diameter_in, kPrinted_in) << name;
    EXPECT_NEAR(MinorDiameter_mm(*row) / kMmPerIn, r.minor_in, kPrinted_in) << name;
    if (r.root_in > 0) {
      EXPECT_NEAR(RootDiameter_mm(*row) / kMmPerIn, r.root_in, kReference_in) << name;
    }
  }
}

TEST(Reference, Unc) { ExpectUnified(reference::kUnc, "UNC"); }
TEST(Reference, Unf) { ExpectUnified(reference::kUnf, "UNF"); }

TEST(Reference, Ba) {
  ASSERT_EQ(BaThreads().size(), reference::kBa.size());
  for (const auto& r : reference::kBa) {
    const ThreadRow& row = Row(std::to_string(r.number) + " BA");
    EXPECT_EQ(row.pitch_mm, r.pitch_mm) << r.number;
    EXPECT_EQ(row.major_mm, r.major_mm) << r.number;
    EXPECT_NEAR(BasicDepth_mm(row), r.depth_mm, 1e-9) << r.number;
    EXPECT_NEAR(PitchDiameter_mm(row), r.effective_mm, 1e-9) << r.number;
    EXPECT_NEAR(MinorDiameter_mm(row), r.minor_mm, 1e-9) << r.number;
    EXPECT_EQ(IncludedAngle_deg(row), 47.5);
    // BS 93: p = 0.9^n, D = 6 p^1.2 to two figures, p before it is rounded to 0.01.
    EXPECT_NEAR(row.pitch_mm, std::pow(0.9, r.number), 0.00501) << r.number;
    const double major = 6 * std::pow(std::pow(0.9, r.number), 1.2);
    EXPECT_NEAR(row.major_mm, major, major < 1 ? 0.00501 : 0.0501) << r.number;
  }
}

TEST(Reference, Pipe) {
  ASSERT_EQ(PipeThreads().size(), reference::kPipe.size());
  for (const auto& r : reference::kPipe) {
    const ThreadRow& row = Row(r.size);
    EXPECT_EQ(row.per_inch, r.per_inch);
    EXPECT_EQ(row.major_mm, r.major_mm);
    EXPECT_NEAR(PitchDiameter_mm(row), r.pitch_diameter_mm, kPrinted_mm) << r.size;
    EXPECT_NEAR(MinorDiameter_mm(row), r.minor_mm, 2 * kPrinted_mm) << r.size;
  }
}

TEST(Reference, Whitworth) {
  // The table halves and doubles rounded depths: one more in the last place.
  for (const auto& r : reference::kWhitworth) {
    const ThreadRow* row = FindThread(r.size == "1 BSW" ? "1\" BSW" : r.size);
    ASSERT_NE(row, nullptr) << r.size;
    EXPECT_EQ(row->per_inch, r.per_inch) << r.size;
    EXPECT_NEAR(PitchDiameter_mm(*row) / kMmPerIn, r.pitch_diameter_in, kPrinted_in) << r.size;
    EXPECT_NEAR(MinorDiameter_mm(*row) / kMmPerIn, r.minor_in, 0.00011) << r.size;
    EXPECT_EQ(IncludedAngle_deg(*row), 55);
  }
}

TEST(Threads, BothEndsOfTheModelMakersSeries) {
  EXPECT_NEAR(Row("1/8x40 ME").pitch_mm, 0.635, 1e-12);
  EXPECT_NEAR(Row("1/2x32 ME").pitch_mm, 0.79375, 1e-12);
  EXPECT_EQ(FindThread("1/8x32 ME"), nullptr);
  EXPECT_EQ(StandardOf(Row("1/4x40 ME").series), "55 degrees as BS 84, sizes by common practice");
}

TEST(Threads, ProfilesNest) {
  for (const ThreadRow* row : AllThreads()) {
    EXPECT_GT(row->major_mm, PitchDiameter_mm(*row)) << row->designation;
    EXPECT_GT(PitchDiameter_mm(*row), MinorDiameter_mm(*row)) << row->designation;
    EXPECT_LE(RootDiameter_mm(*row), MinorDiameter_mm(*row)) << row->designation;
    EXPECT_GT(RootDiameter_mm(*row), 0.5 * row->major_mm) << row->designation;
  }
}

TEST(Threads, AreInOrder) {
  for (const auto rows : {MetricThreads(), UnifiedThreads(), WhitworthThreads()}) {
    for (std::size_t i = 1; i < rows.size(); ++i) {
      if (rows[i - 1].series != rows[i].series) continue;
      const bool next_list =
          rows[i].series == ThreadSeries::kModel && rows[i].per_inch != rows[i - 1].per_inch;
      if (next_list) continue;
      const bool larger = rows[i].major_mm > rows[i - 1].major_mm;
      const bool finer =
          rows[i].major_mm == rows[i - 1].major_mm && rows[i].pitch_mm < rows[i - 1].pitch_mm;
      EXPECT_TRUE(larger || finer) << rows[i].designation;
    }
  }
}

}  // namespace
}  // namespace fitwright::trade
