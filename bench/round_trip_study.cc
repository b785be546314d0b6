// Made-up sheets built, written as STEP, read back and compared: how many solids and sheets come
// back the same, each that does not with both readings and, with `least`, the least part of its
// features that shows it. `meeting` counts the designs of which three features in ten or more meet
// another one. With `spoilt` the files are damaged before they are read, and only how that ends is
// said. Usage: round_trip_study apart|crowded|spoilt FIRST COUNT [MOST [least|meeting]]
#include <fmt/format.h>

#include <cstdio>
#include <ctime>
#include <map>
#include <string>

#include "tests/support/design_trip.h"
#include "tests/support/random_design.h"
#include "tests/support/step_text.h"

namespace {

using namespace fitwright;

struct Sum {
  int refused = 0;
  int no_solid = 0;
  int parts = 0;
  int same_solid = 0;
  int same_sheet = 0;
  int meeting = 0;  // designs of which three features in ten or more meet another one
  int features = 0;
  std::map<std::string, int> only;  // kinds of the items that differ
};

std::optional<testing::Trip> Try(const testing::TripFolder& folder, const Part& part) {
  const auto built = testing::BuildDesign(part);
  if (!built) return std::nullopt;
  std::string why;
  auto reading = testing::ReadBytes(folder, testing::StepBytes(folder, *built), why);
  if (!reading) {
    fmt::print("  not read: {}\n", why);
    return std::nullopt;
  }
  return testing::Compare(folder, part, *built, *std::move(reading));
}

bool Whole(const testing::Trip& trip) { return trip.SameSolid() && trip.SameSheet(); }

bool Uses(const Feature& feature, const FeatureId& name) {
  const auto* mouth = std::get_if<RoundChamfer>(&feature.shape);
  const auto* thread = std::get_if<ExternalThread>(&feature.shape);
  return (mouth != nullptr && mouth->on == name) || (thread != nullptr && thread->on == name);
}

// Features left out as long as what is left is still read differently.
Part Least(const testing::TripFolder& folder, Part part) {
  for (bool smaller = true; smaller;) {
    smaller = false;
    for (std::size_t i = part.features.size(); i-- > 0;) {
      const FeatureId name = part.features[i].name;
      if (std::holds_alternative<PlanarFace>(part.features[i].shape)) continue;
      Part less = part;
      std::erase_if(less.features,
                    [&](const Feature& f) { return f.name == name || Uses(f, name); });
      const auto trip = Try(folder, less);
      if (!trip || Whole(*trip)) continue;
      part = less;
      smaller = true;
      break;
    }
  }
  return part;
}

// The share of features whose metal taken (or added) another one touches.
double ShareMeeting(const Part& part) {
  std::vector<solid::Solid> volumes;
  std::vector<bool> meets;
  for (const Feature& feature : part.features) {
    if (std::holds_alternative<PlanarFace>(feature.shape) ||
        std::holds_alternative<OuterDiameter>(feature.shape))
      continue;
    const auto volume = solid::MakeFeatureVolume(part, feature);
    if (!volume || volume->empty()) continue;
    meets.push_back(false);
    for (std::size_t i = 0; i < volumes.size(); ++i) {
      if (meets[i] && meets.back()) continue;
      const auto common = solid::CalcCommonVolume_mm3(volumes[i], *volume);
      if (common && *common > 1e-3) meets[i] = meets.back() = true;
    }
    volumes.push_back(*volume);
  }
  return meets.empty() ? 0
                       : static_cast<double>(std::count(meets.begin(), meets.end(), true)) /
                             static_cast<double>(meets.size());
}

void PrintOne(const testing::TripFolder& folder, const testing::RandomDesign& made,
              const Part& part, const testing::Trip& trip, bool least) {
  fmt::print("{} ({} features)\n{}", made.name, made.features, testing::Words(trip));
  if (!least) return;
  const auto read = files::WritePart(trip.reading.part.part);
  fmt::print("  written:\n{}\n  read:\n{}\n", made.sheet, read ? *read : Format(read.error()));
  Part small = Least(folder, part);
  const auto again = Try(folder, small);
  const auto text = files::WritePart(small);
  if (again)
    fmt::print("  least:\n{}\n{}\n", testing::Words(*again),
               text ? *text : std::string("(not to be written)"));
}

void RunOne(const testing::TripFolder& folder, std::uint64_t seed,
            const testing::RandomDesignWish& wish, const std::string& how, Sum& sum) {
  const testing::RandomDesign made = testing::MakeRandomDesign(seed, wish);
  std::string why;
  const auto part = testing::LoadDesign(folder, made.sheet, why);
  if (!part) {
    ++sum.refused;
    fmt::print("{} refused: {}", made.name, why);
    return;
  }
  if (!testing::BuildDesign(*part)) {
    ++sum.no_solid;
    return;
  }
  ++sum.parts;
  sum.features += made.features;
  if (how == "meeting" && ShareMeeting(*part) >= 0.3) ++sum.meeting;
  const auto trip = Try(folder, *part);
  if (!trip) {
    fmt::print("{} was not read\n", made.name);
    return;
  }
  if (trip->SameSolid()) ++sum.same_solid;
  if (trip->SameSheet()) ++sum.same_sheet;
  for (const auto& item : trip->sheets.only_a) ++sum.only["written " + item.kind];
  for (const auto& item : trip->sheets.only_b) ++sum.only["read " + item.kind];
  if (!Whole(*trip)) PrintOne(folder, made, *part, *trip, how == "least");
  std::fflush(stdout);
}

void RunSpoilt(const testing::TripFolder& folder, std::uint64_t seed, int most,
               std::map<std::string, int>& ends) {
  const testing::RandomDesign made = testing::MakeRandomDesign(seed, {false, most});
  std::string why;
  const auto part = testing::LoadDesign(folder, made.sheet, why);
  const auto built = part ? testing::BuildDesign(*part) : std::nullopt;
  if (!built) return;
  const std::string bytes = testing::StepBytes(folder, *built);
  testing::Dice dice(seed);
  for (int i = 0; i < 10; ++i) {
    const std::string spoilt = testing::Spoilt(bytes, dice);
    fmt::print("seed {} file {}\n", seed, i);
    std::fflush(stdout);
    why.clear();
    const std::clock_t start = std::clock();
    const auto reading = testing::ReadBytes(folder, spoilt, why, 5);
    const double seconds = static_cast<double>(std::clock() - start) / CLOCKS_PER_SEC;
    if (seconds > 2) fmt::print("  {:.1f} s\n", seconds);
    ++ends[reading ? reading->explained == reading->faces ? "all read" : "read with regions left"
                   : why.substr(why.find(": ") == std::string::npos ? 0 : why.find(": "))];
  }
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 4) return 2;
  testing::RandomDesignWish wish;
  wish.crowded = std::string(argv[1]) == "crowded";
  if (argc > 4) wish.most = std::stoi(argv[4]);
  const std::string how = argc > 5 ? argv[5] : "";
  const std::uint64_t first = std::stoull(argv[2]);
  const testing::TripFolder folder;
  if (std::string(argv[1]) == "spoilt") {
    std::map<std::string, int> ends;
    for (std::uint64_t seed = first; seed < first + std::stoull(argv[3]); ++seed)
      RunSpoilt(folder, seed, wish.most, ends);
    for (const auto& [end, count] : ends) fmt::print("{:5d} {}\n", count, end);
    return 0;
  }
  Sum sum;
  const std::clock_t start = std::clock();
  for (std::uint64_t seed = first; seed < first + std::stoull(argv[3]); ++seed)
    RunOne(folder, seed, wish, how, sum);
  const double seconds = static_cast<double>(std::clock() - start) / CLOCKS_PER_SEC;
  for (const auto& [what, count] : sum.only) fmt::print("{:5d} {}\n", count, what);
  fmt::print(
      "{} parts ({} sheets refused, {} without a sound solid in one piece), {} features, {} "
      "meeting; {} solids and {} sheets the same; {:.0f} s\n",
      sum.parts, sum.refused, sum.no_solid, sum.features, sum.meeting, sum.same_solid,
      sum.same_sheet, seconds);
  return 0;
}
