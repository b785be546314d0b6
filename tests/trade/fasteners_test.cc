#include "fitwright/trade/fasteners.h"

#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "fitwright/trade/drills.h"
#include "fitwright/trade/screw_holes.h"
#include "tests/reference/fasteners.h"
#include "tests/trade/thread_row.h"

namespace fitwright::trade {
namespace {

double Hole(const ThreadRow& row, ClearanceFit fit) { return ClearanceHole_mm(row, fit).value(); }

TEST(Reference, Iso273) {
  for (const auto& r : reference::kIso273) {
    const ThreadRow& row = Row(r.size);
    EXPECT_EQ(Hole(row, ClearanceFit::kClose), r.a) << r.size;
    EXPECT_EQ(Hole(row, ClearanceFit::kNormal), r.b) << r.size;
    EXPECT_EQ(Hole(row, ClearanceFit::kLoose), r.c) << r.size;
  }
}

// The standard states the drill and its size to 0.001 in.
TEST(Reference, B1828HolesAreTheirDrills) {
  for (const auto& r : reference::kB1828Drills) {
    const ThreadRow& row = Row(r.size);
    const std::pair<ClearanceFit, std::string_view> columns[] = {{ClearanceFit::kClose, r.close},
                                                                 {ClearanceFit::kNormal, r.normal},
                                                                 {ClearanceFit::kLoose, r.loose}};
    for (const auto& [fit, name] : columns) {
      EXPECT_NEAR(Hole(row, fit) / kMmPerIn, FindDrill(name)->diameter_mm / kMmPerIn, 0.00051)
          << r.size << name;
    }
  }
}

TEST(ClearanceHole, NestsAndClearsTheScrew) {
  int known = 0;
  for (const ThreadRow* row : AllThreads()) {
    const auto close = ClearanceHole_mm(*row, ClearanceFit::kClose);
    if (!close) {
      EXPECT_EQ(close.error().code, ErrorCode::kOutOfRange);
      continue;
    }
    ++known;
    EXPECT_GT(*close, row->major_mm) << row->designation;
    EXPECT_GT(Hole(*row, ClearanceFit::kNormal), *close) << row->designation;
    EXPECT_GT(Hole(*row, ClearanceFit::kLoose), Hole(*row, ClearanceFit::kNormal));
    EXPECT_LT(Hole(*row, ClearanceFit::kLoose), 1.6 * row->major_mm) << row->designation;
  }
  EXPECT_GT(known, 100);
  EXPECT_FALSE(ClearanceHole_mm(Row("2 BA"), ClearanceFit::kClose).has_value());
  EXPECT_FALSE(ClearanceHole_mm(Row("#12-24"), ClearanceFit::kClose).has_value());
  EXPECT_EQ(Hole(Row("M8x1"), ClearanceFit::kNormal), 9);
}

TEST(Reference, SocketScrews) {
  for (const auto& r : reference::kIso4762) {
    const ScrewHead* head = FindScrewHead(HeadKind::kSocketCap, Row(r.size));
    ASSERT_NE(head, nullptr) << r.size;
    EXPECT_EQ(head->diameter_mm, r.a) << r.size;
    EXPECT_EQ(head->height_mm, r.b) << r.size;
    EXPECT_EQ(head->key_mm, r.c) << r.size;
    EXPECT_EQ(head->thread_mm, r.d) << r.size;
    EXPECT_EQ(head->socket_depth_mm, r.e) << r.size;
  }
  for (const auto& r : reference::kIso4762Knurled) {
    EXPECT_EQ(FindScrewHead(HeadKind::kSocketCap, Row(r.size))->knurled_mm, r.a) << r.size;
  }
}

TEST(Reference, CountersunkHeadsAreNotThoseOfDin7991) {
  for (const auto& r : reference::kDin7991) {
    const ScrewHead* head = FindScrewHead(HeadKind::kCountersunk, Row(r.size));
    ASSERT_NE(head, nullptr) << r.size;
    EXPECT_EQ(head->key_mm, r.c) << r.size;
    EXPECT_GT(head->diameter_mm, r.a) << r.size;
    EXPECT_GT(head->height_mm, r.b) << r.size;
    EXPECT_NEAR(head->diameter_mm, 2.24 * head->major_mm, 1e-9)
        << r.size;  // ISO 10642, theoretical
    EXPECT_LT(head->rim_mm, head->diameter_mm) << r.size;
    // A 90 degree cone: the sharp head stands over the shank by its height on each side.
    EXPECT_NEAR(head->height_mm, 0.5 * (head->diameter_mm - head->major_mm), 1e-9) << r.size;
  }
  EXPECT_EQ(FindScrewHead(HeadKind::kCountersunk, Row("M6"))->diameter_mm, 13.44);
}

TEST(Reference, SetScrewsAndWashers) {
  for (const auto& r : reference::kIso4026) {
    const SetScrew* screw = FindSetScrew(Row(r.size));
    ASSERT_NE(screw, nullptr) << r.size;
    EXPECT_EQ(screw->flat_point_mm, r.a) << r.size;
    EXPECT_EQ(screw->socket_depth_mm, r.b) << r.size;
    EXPECT_EQ(screw->key_mm, r.c) << r.size;
  }
  for (const auto& r : reference::kIso7089) {
    const Washer* washer = FindWasher(Row(r.size));
    ASSERT_NE(washer, nullptr) << r.size;
    EXPECT_EQ(washer->bore_mm, r.a) << r.size;
    EXPECT_EQ(washer->outside_mm, r.b) << r.size;
    EXPECT_EQ(washer->thickness_mm, r.c) << r.size;
  }
}

// ASME B18.3 and B18.2.2, from memory.
TEST(Inch, HeadsKeysAndNuts) {
  const auto in = [](double mm) { return mm / kMmPerIn; };
  const ScrewHead* quarter = FindScrewHead(HeadKind::kSocketCap, Row("1/4-20"));
  ASSERT_NE(quarter, nullptr);
  EXPECT_NEAR(in(quarter->diameter_mm), 0.375, 1e-9);
  EXPECT_NEAR(in(quarter->key_mm), 3.0 / 16, 1e-9);
  EXPECT_EQ(FindScrewHead(HeadKind::kSocketCap, Row("1/4-28")), quarter);
  EXPECT_NEAR(in(FindScrewHead(HeadKind::kSocketCap, Row("#4-40"))->key_mm), 3.0 / 32, 1e-9);
  EXPECT_NEAR(in(FindScrewHead(HeadKind::kButton, Row("#10-32"))->key_mm), 0.125, 1e-9);
  EXPECT_NEAR(in(FindSetScrew(Row("#8-32"))->key_mm), 5.0 / 64, 1e-9);
  EXPECT_NEAR(in(FindHexNut(Row("1/2-13"))->across_flats_mm), 0.75, 1e-9);
  EXPECT_NEAR(in(FindHexNut(Row("#6-32"))->across_flats_mm), 5.0 / 16, 1e-9);
  EXPECT_EQ(FindScrewHead(HeadKind::kSocketCap, Row("#12-24")), nullptr);
  EXPECT_EQ(FindScrewHead(HeadKind::kHexagon, Row("1/4-20")), nullptr);
}

TEST(Fasteners, NoneForWhatTheSeriesLacks) {
  for (const char* name : {"2 BA", "1/4 BSW", "1/4x40 ME", "G1/8"}) {
    EXPECT_EQ(FindScrewHead(HeadKind::kSocketCap, Row(name)), nullptr) << name;
    EXPECT_EQ(FindSetScrew(Row(name)), nullptr) << name;
    EXPECT_EQ(FindHexNut(Row(name)), nullptr) << name;
    EXPECT_EQ(FindWasher(Row(name)), nullptr) << name;
  }
}

// Heads grow with the screw and hold the key; nuts and washers likewise.
TEST(Fasteners, RowsAreConsistent) {
  for (const ThreadRow* row : AllThreads()) {
    const bool regular =
        row->series == ThreadSeries::kIsoCoarse || row->series == ThreadSeries::kUnc;
    if (!regular) continue;
    const std::string_view name = row->designation;
    for (const auto& entry : WordsOf<HeadKind>::kAll) {
      const ScrewHead* head = FindScrewHead(entry.value, *row);
      if (head == nullptr) continue;
      EXPECT_GT(head->diameter_mm, row->major_mm) << name << entry.word;
      EXPECT_LT(head->height_mm, head->diameter_mm) << name << entry.word;
      EXPECT_LE(head->key_mm, head->diameter_mm) << name << entry.word;
      EXPECT_LT(head->socket_depth_mm, head->height_mm) << name << entry.word;
    }
    if (const ScrewHead* cap = FindScrewHead(HeadKind::kSocketCap, *row)) {
      EXPECT_NEAR(cap->height_mm, row->major_mm, 0.0006 * kMmPerIn) << name;
      EXPECT_GT(cap->diameter_mm, Hole(*row, ClearanceFit::kLoose)) << name;
      if (cap->knurled_mm > 0) {
        EXPECT_GT(cap->knurled_mm, cap->diameter_mm) << name;
      }
    }
    if (const HexNut* nut = FindHexNut(*row)) {
      EXPECT_LT(nut->jam_height_mm, nut->height_mm) << name;
      EXPECT_LT(nut->height_mm, nut->across_flats_mm) << name;
      // e of ISO 4032 is the corner of the least flats.
      const double corner = nut->across_flats_mm / std::cos(3.14159265358979 / 6);
      if (nut->across_corners_mm > 0) {
        EXPECT_LT(nut->across_corners_mm, corner) << name;
        EXPECT_GT(nut->across_corners_mm, 0.91 * corner) << name;
      }
    }
    if (const Washer* washer = FindWasher(*row)) {
      EXPECT_GT(washer->bore_mm, row->major_mm) << name;
      EXPECT_GT(washer->outside_mm, 1.5 * washer->bore_mm) << name;
      EXPECT_LT(washer->thickness_mm, 0.5 * row->major_mm) << name;
    }
    if (const SetScrew* set = FindSetScrew(*row)) {
      EXPECT_LT(set->key_mm, 0.6 * row->major_mm) << name;
      EXPECT_LT(set->flat_point_mm, row->major_mm) << name;
      EXPECT_LE(set->cup_point_mm, set->flat_point_mm) << name;
    }
  }
}

TEST(ScrewLengths, AtOrBelow) {
  const auto metric = ThreadSeries::kIsoCoarse;
  EXPECT_EQ(ScrewLengthAtOrBelow_mm(metric, 17.9), 16);
  EXPECT_EQ(ScrewLengthAtOrBelow_mm(metric, 16), 16);
  EXPECT_EQ(ScrewLengthAtOrBelow_mm(metric, 1.9), std::nullopt);
  EXPECT_EQ(ScrewLengthAtOrBelow_mm(metric, 500), 100);
  EXPECT_NEAR(*ScrewLengthAtOrBelow_mm(ThreadSeries::kUnc, 17.9), 15.875, 1e-9);
  EXPECT_NEAR(*ScrewLengthAtOrBelow_mm(ThreadSeries::kUnf, 12.7), 12.7, 1e-9);
  for (const auto series : {metric, ThreadSeries::kUnc}) {
    const auto lengths = ScrewLengths_mm(series);
    for (std::size_t i = 1; i < lengths.size(); ++i) EXPECT_LT(lengths[i - 1], lengths[i]);
  }
}

TEST(DowelPins, AscendWithinTheLengthsMade) {
  for (const PinKind kind : {PinKind::kHardened, PinKind::kUnhardened}) {
    double last = 0;
    for (const DowelPin& pin : DowelPins(kind)) {
      EXPECT_GT(pin.diameter_mm, last);
      last = pin.diameter_mm;
      EXPECT_LT(pin.shortest_mm, pin.longest_mm);
    }
  }
  EXPECT_EQ(FindDowelPin(PinKind::kHardened, 4).value()->longest_mm, 40);
  EXPECT_EQ(FindDowelPin(PinKind::kHardened, 0.8).error().code, ErrorCode::kOutOfRange);
  EXPECT_EQ(FindDowelPin(PinKind::kUnhardened, 0.8).value()->longest_mm, 8);
  EXPECT_EQ(PinLengths_mm().front(), 2);
}

TEST(SpannerRoom, ClearsTheCorners) {
  for (const double s : {5.5, 10.0, 19.0}) {
    EXPECT_GT(SpannerRoom_mm(s).value(), s / std::cos(3.14159265358979 / 6) + 2) << s;
  }
  EXPECT_EQ(SpannerRoom_mm(2).error().code, ErrorCode::kOutOfRange);
  EXPECT_EQ(SpannerRoom_mm(std::nan("")).error().code, ErrorCode::kOutOfRange);
}

}  // namespace
}  // namespace fitwright::trade
