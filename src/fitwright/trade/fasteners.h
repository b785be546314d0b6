// Screws, nuts, washers and dowel pins as bought: heads, keys and lengths. Metric by ISO, unified
// by ASME B18; BA, Whitworth and pipe threads have none here. Standards and how each table was come
// by stand above it in fasteners_*.cc. 0 in a column: not given.
#pragma once

#include <array>
#include <optional>
#include <span>
#include <string_view>

#include "fitwright/base/result.h"
#include "fitwright/base/words.h"
#include "fitwright/trade/threads.h"

namespace fitwright::trade {

enum class HeadKind {
  kSocketCap,    // ISO 4762; ASME B18.3
  kButton,       // ISO 7380-1; ASME B18.3
  kCountersunk,  // socket, ISO 10642, 90 degrees; ASME B18.3, 82 degrees
  kHexagon       // ISO 4014 and 4017; no inch ones here
};

// All mm. Sizes are of the thread's outside, so a fine thread has the coarse one's head.
struct ScrewHead {
  double major_mm;
  double diameter_mm;          // greatest, plain; of a countersunk head as if its edge were sharp;
                               // of a hexagon head the width across flats
  double height_mm;            // greatest
  double key_mm;               // across the flats of the socket, or of the hexagon head
  double socket_depth_mm = 0;  // least
  double knurled_mm = 0;       // greatest diameter of a knurled head: what a counterbore must clear
  double thread_mm = 0;        // length of thread on a long screw (ISO 4762's b)
  double rim_mm = 0;           // countersunk: least real diameter of the head (ISO 10642)
};

struct SetScrew {
  double major_mm;
  double key_mm;
  double flat_point_mm = 0;    // greatest diameter of a flat point
  double cup_point_mm = 0;     // of a cup point
  double socket_depth_mm = 0;  // least
};

struct HexNut {
  double major_mm;
  double across_flats_mm;
  double height_mm;              // greatest
  double jam_height_mm;          // greatest of the thin nut; 0 without
  double across_corners_mm = 0;  // least (ISO 4032's e)
};

struct Washer {
  double major_mm;  // of the screw
  double bore_mm;
  double outside_mm;
  double thickness_mm;
};

struct DowelPin {
  double diameter_mm;  // nominal
  double shortest_mm;
  double longest_mm;
};

// Null where the table has no such size.
const ScrewHead* FindScrewHead(HeadKind kind, const ThreadRow& row);
const SetScrew* FindSetScrew(const ThreadRow& row);
const HexNut* FindHexNut(const ThreadRow& row);
const Washer* FindWasher(const ThreadRow& row);
std::string_view StandardOfHead(HeadKind kind, ThreadSeries series);

// Lengths as sold, ascending: metric those of ISO 888 that are commonly kept, all other series
// those of inch screws (common practice).
std::span<const double> ScrewLengths_mm(ThreadSeries series);
// Longest length sold that is not over `longest_mm`; none below the shortest.
std::optional<double> ScrewLengthAtOrBelow_mm(ThreadSeries series, double longest_mm);

// ISO 8734, hardened, and ISO 2338, unhardened: diameters with the lengths they are made in.
enum class PinKind { kHardened, kUnhardened };
std::span<const DowelPin> DowelPins(PinKind kind);
// ISO's lengths of pins, ascending.
std::span<const double> PinLengths_mm();
// Its diameter is m6 (ISO 2338 also h8). Error: kOutOfRange, no such pin.
Result<const DowelPin*> FindDowelPin(PinKind kind, double diameter_mm);

// What a slotted spring pin is over its hole at most, before it is driven in: ISO 8752 (from memory).
inline constexpr double kSpringPinOver_mm = 0.3;

// Round room, across, that a ring spanner or socket over a hexagon needs (opinion: 1.4 times across
// flats and 3 mm). Error: kOutOfRange outside 3 to 60 mm across flats.
Result<double> SpannerRoom_mm(double across_flats_mm);

}  // namespace fitwright::trade

namespace fitwright {
template <>
struct WordsOf<trade::HeadKind> {
  static constexpr auto kAll =
      std::to_array<Word<trade::HeadKind>>({{trade::HeadKind::kSocketCap, "socket_cap"},
                                            {trade::HeadKind::kButton, "button"},
                                            {trade::HeadKind::kCountersunk, "countersunk"},
                                            {trade::HeadKind::kHexagon, "hexagon"}});
};
template <>
struct WordsOf<trade::PinKind> {
  static constexpr auto kAll = std::to_array<Word<trade::PinKind>>(
      {{trade::PinKind::kHardened, "hardened"}, {trade::PinKind::kUnhardened, "unhardened"}});
};
}  // namespace fitwright
