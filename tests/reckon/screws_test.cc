// Screws and drills by name.
#include <gtest/gtest.h>

#include "fitwright/trade/drills.h"
#include "fitwright/trade/fasteners.h"
#include "fitwright/units/geometry.h"
#include "tests/reckon/reckon_run.h"
#include "tests/reference/fasteners.h"

namespace fitwright::reckon {
namespace {

const std::vector<std::variant<double, std::string>>* RowOf(const Table& table,
                                                            const std::string& first) {
  for (const auto& row : table.rows) {
    if (std::get<std::string>(row[0]) == first) return &row;
  }
  return nullptr;
}

// ISO 4762 (read): diameter, height, key, least depth of the socket; ISO 273, ISO 7089.
TEST(Screw, AsTheStandardsGiveIt) {
  for (const auto& size : reference::kIso4762) {
    const Reckoned r = Done("screw", {"thread=" + std::string(size.size)});
    const auto* cap = RowOf(r.tables[0], "socket_cap");
    ASSERT_NE(cap, nullptr) << size.size;
    EXPECT_EQ(std::get<double>((*cap)[1]), size.a) << size.size;
    EXPECT_EQ(std::get<double>((*cap)[3]), size.b) << size.size;
    EXPECT_EQ(std::get<double>((*cap)[4]), size.c) << size.size;
    EXPECT_EQ(std::get<double>((*cap)[5]), size.e) << size.size;
  }
  for (const auto& size : reference::kIso273) {
    const Reckoned r = Done("screw", {"thread=" + std::string(size.size)});
    EXPECT_EQ(LineOf(r, "clearance hole, close"), size.a) << size.size;
    EXPECT_EQ(LineOf(r, "clearance hole, normal"), size.b) << size.size;
    EXPECT_EQ(LineOf(r, "clearance hole, loose"), size.c) << size.size;
  }
  for (const auto& size : reference::kIso7089) {
    const Reckoned r = Done("screw", {"thread=" + std::string(size.size)});
    EXPECT_EQ(LineOf(r, "washer's bore"), size.a) << size.size;
    EXPECT_EQ(LineOf(r, "washer's outside"), size.b) << size.size;
    EXPECT_EQ(LineOf(r, "washer's thickness"), size.c) << size.size;
  }
}

TEST(Screw, LengthsAndWhatTheTablesLack) {
  const Reckoned r = Done("screw", {"thread=M6", "length=23"});
  EXPECT_EQ(LineOf(r, "longest kept that goes in"), 20);
  EXPECT_EQ(LineOf(r, "nut across flats: spanner"), 10);
  EXPECT_EQ(WordOfLine(r, "lengths as kept").rfind("2, 3, 4, 5, 6, 8, 10, 12, 16, 20", 0), 0U);
  const Reckoned inch = Done("screw", {"thread=1/4-20", "length=0.7"}, LengthUnit::kInch);
  EXPECT_NEAR(LineOf(inch, "longest kept that goes in"), 0.625 * kMmPerInch, 1e-9);
  EXPECT_EQ(RowOf(inch.tables[0], "hexagon"), nullptr);  // none in the inch tables
  const auto* cap = RowOf(inch.tables[0], "socket_cap");
  ASSERT_NE(cap, nullptr);
  EXPECT_EQ(std::get<std::string>((*cap)[6]), "ASME B18.3");
  const auto shortest = Calc("screw", {"thread=M6", "length=1.5"});
  ASSERT_FALSE(shortest.has_value());
  EXPECT_EQ(shortest.error().code, ErrorCode::kOutOfRange);
  EXPECT_NE(shortest.error().message.find("2.000 mm"), std::string::npos);
  EXPECT_EQ(Calc("screw", {"thread=2BA"}).error().code, ErrorCode::kOutOfRange);
  EXPECT_EQ(Calc("screw", {"thread=M6.5"}).error().code, ErrorCode::kUnknownThread);
}

// #7 is 0.2010 in (read); 5.1 mm and 13/64 are its neighbours in the other drawers.
TEST(Drill, ByNameAndBySize) {
  const Reckoned r = Done("drill", {"drill=#7"});
  EXPECT_NEAR(LineOf(r, "diameter, mm"), 5.1054, 1e-9);
  EXPECT_NEAR(LineOf(r, "diameter, inch"), 0.2010, 1e-12);
  EXPECT_EQ(WordOfLine(r, "of the drills"), "number");
  EXPECT_EQ(std::get<std::string>((*RowOf(r.tables[0], "metric"))[1]), "5.1");
  EXPECT_EQ(std::get<std::string>((*RowOf(r.tables[0], "fraction"))[1]), "13/64");
  EXPECT_NEAR(std::get<double>((*RowOf(r.tables[0], "fraction"))[4]),
              (13.0 / 64 - 0.201) * kMmPerInch, 1e-9);
  EXPECT_EQ(RowOf(r.tables[0], "letter"), nullptr);  // A is 0.234 in
  const Reckoned f = Done("drill", {"drill=F"}, LengthUnit::kInch);
  EXPECT_NEAR(LineOf(f, "diameter, inch"), 0.257, 1e-12);
  const Reckoned sized = Done("drill", {"diameter=6.35"});
  EXPECT_EQ(std::get<std::string>((*RowOf(sized.tables[0], "fraction"))[1]), "1/4");
  EXPECT_EQ(std::get<std::string>((*RowOf(sized.tables[0], "letter"))[1]), "E");
  EXPECT_EQ(Calc("drill", {"drill=#81"}).error().code, ErrorCode::kUnknownWord);
  EXPECT_EQ(Calc("drill", {"diameter=50"}).error().code, ErrorCode::kOutOfRange);
  EXPECT_EQ(Calc("drill", {"drill=F", "diameter=6"}).error().code, ErrorCode::kWrongCount);
}

// No drill of a set lies nearer than the one that the table names.
TEST(Drill, NearestByLookingThroughTheDrawer) {
  const auto drawer = trade::Drills(trade::kAllDrills);
  for (double d = 0.6; d < 25; d += 0.3371) {
    const Reckoned r = Done("drill", {"diameter=" + std::to_string(d)});
    for (const auto& row : r.tables[0].rows) {
      for (const trade::Drill& drill : drawer) {
        if (WordOf(drill.set) != std::get<std::string>(row[0])) continue;
        EXPECT_LE(std::abs(std::get<double>(row[4])), std::abs(drill.diameter_mm - d) + 1e-6)
            << d << drill.name;
      }
    }
  }
}

}  // namespace
}  // namespace fitwright::reckon
