// The named independent errors that everything is a form over.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>
#include <unordered_map>
#include <utility>
#include <vector>

#include "fitwright/variation/form.h"
#include "fitwright/variation/spreads.h"

namespace fitwright::variation {

// How a source's value comes from its random numbers and its figure. `unit` scales the figure.
enum class Law : std::uint8_t {
  kNormal,      // mean + spread * N
  kHalfNormal,  // |spread * N|: one sign
  kRayleighX,  // components of a vector of Rayleigh length (median = figure) and uniform direction;
  kRayleighY,  //   length keyed by size_key, direction by key
  kFoldedX,    // the same with the length |spread * N|
  kFoldedY,
  kUniform,    // -spread .. spread
  kFromZero,   // 0 .. spread
  kLognormal,  // median * exp(spread * N), tool share (size_key) 60 % of the log-variance, visit 40
               // %
  kChip,       // 0, or with chance `spread` uniform 0.02 .. 0.10 mm
  kWorked,     // a size worked to: WorkedSize
  kPlay        // where a joint's float came to rest: filled by the float's own draw
};

// A size that is cut, measured and cut again. Values are differences from the aim, of the size as
// the instrument shows it on average (true size plus the instrument's setting error).
struct WorkedSize {
  SpreadId cut = SpreadId::kTurnedDiameter;
  SpreadId reading = SpreadId::kMicrometer;
  double low = 0;  // limits on the reading, from the aim
  double high = 0;
  double safe_sign = 1;  // +1: too large may be cut again (shafts, faces); -1: too small (bores)
  double recut_min = 0;  // minutes of one more measure and cut
  int part = -1;         // in the plan's list of part minutes: what is remade when spoiled
};

struct Source {
  std::uint64_t key = 0;       // stable hash of event and scope: names the random stream
  std::uint64_t size_key = 0;  // second stream, where the law has one
  Law law = Law::kNormal;
  SpreadId spread = SpreadId::kEdgeFinder;
  SpreadId spread_b = SpreadId::kEdgeFinder;  // kLognormal: interpolated figure
  float blend = 0;                            // share of spread_b
  double unit = 1;                            // value per unit of the figure
  double extra = 0;  // added to unit * figure where the figure is not 0, scaled as figures are
  int worked = -1;   // kWorked: place in SourceTable::worked()
  int setup = -1;    // place in the plan of the first setup that brings it in; -1: putting together
};

// Mean and variance of one source. kWorked and kPlay: by a small fixed sample, or 0 for kPlay,
// whose forms are not read without their float.
struct Moments {
  double mean = 0;
  double variance = 0;
};

class SourceTable {
 public:
  // The same key and law give the same index; everything else of `source` must then agree.
  SourceIndex Add(const Source& source);
  SourceIndex AddWorked(Source source, const WorkedSize& worked);
  std::optional<SourceIndex> Find(const Source& source) const;
  // From now on every source that is asked for is noted there; null: no longer.
  void Note(std::vector<SourceIndex>* noted) { noted_ = noted; }
  // Sources added from now on come from this setup.
  void ComeFrom(int setup) { setup_ = setup; }
  // Later setups that bring in a source too, such as one lathe's tailstock; some perhaps twice.
  const std::vector<std::pair<SourceIndex, int>>& shared() const { return shared_; }
  const Source& operator[](SourceIndex i) const { return sources_[i]; }
  const std::vector<Source>& all() const { return sources_; }
  const std::vector<WorkedSize>& worked() const { return worked_; }
  std::size_t size() const { return sources_.size(); }

 private:
  std::vector<Source> sources_;
  std::vector<WorkedSize> worked_;
  std::unordered_map<std::uint64_t, SourceIndex> by_key_;
  std::vector<std::pair<SourceIndex, int>> shared_;
  int setup_ = -1;
  std::vector<SourceIndex>* noted_ = nullptr;
};

// Mixes stable hashes into one; order counts.
std::uint64_t MixKeys(std::uint64_t a, std::uint64_t b);
// Group of the source for causes.
inline std::string_view GroupOf(const Source& source) { return GroupOf(source.spread); }

}  // namespace fitwright::variation
