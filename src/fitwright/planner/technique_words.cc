#include "fitwright/planner/technique_words.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

namespace fitwright::planner {
namespace {

std::string NumberWord(int n) {
  static constexpr std::array<const char*, 13> kWords = {"no", "one", "two", "three", "four", "five", "six",
                                                         "seven", "eight", "nine", "ten", "eleven", "twelve"};
  return n < 13 ? kWords[static_cast<std::size_t>(n)] : std::to_string(n);
}

}  // namespace

std::string Words(std::string name) {
  std::replace(name.begin(), name.end(), '_', ' ');
  return name;
}

std::string SaySpotting(const PatternJoint& pattern, const PatternChoice& choice) {
  const std::string holes = fmt::format("the {}'s {} holes ({})", Words(pattern.tapped.part.text()), NumberWord(pattern.count),
                                        Words(pattern.tapped.feature.text()));
  if (choice.technique == Technique::kByCoordinates) return fmt::format("Drill {} by coordinates on both parts.", holes);
  if (choice.technique == Technique::kTransferPunch)
    return fmt::format("Mark {} through the {} with a transfer punch and drill on the marks.", holes, Words(pattern.clearance.part.text()));
  if (choice.technique == Technique::kTransferScrews)
    return fmt::format("Make {} first, mark the {} from them with transfer screws and drill it on the marks.", holes, Words(pattern.clearance.part.text()));
  const std::string how = choice.first == 0 ? "clamped in place" : fmt::format("{} screwed down first", NumberWord(choice.first));
  return fmt::format("Spot {} through the {}, {}.", holes, Words(pattern.clearance.part.text()), how);
}

std::string SayShared(const SharedHoles& pair, Technique technique) {
  if (pair.together == Technique::kBoreInLine) {
    const std::string bores = fmt::format("the {}'s {} and the {}'s {}", Words(pair.fixed.part.text()), Words(pair.fixed.feature.text()),
                                          Words(pair.moving.part.text()), Words(pair.moving.feature.text()));
    return technique == Technique::kBoreInLine ? fmt::format("Screw the two up first, then bore {} in one setting.", bores)
                                               : fmt::format("Bore {} each in its own part.", bores);
  }
  const std::string holes = fmt::format("the pin hole{} of the {} and the {}", pair.count > 1 ? "s" : "", Words(pair.fixed.part.text()),
                                        Words(pair.moving.part.text()));
  if (technique == Technique::kByCoordinates) return fmt::format("Make {} in each part by itself.", holes);
  if (technique == Technique::kReamDowels) return fmt::format("Screw the two up first, then drill and ream {} through both.", holes);
  return fmt::format("Put the two together first, then drill {} through both.", holes);
}

std::string SayFlush(const FlushPair& pair, Technique technique) {
  const std::string face = Words(pair.face.part.text()) + " " + Words(pair.face.feature.text());
  if (technique == Technique::kMachineTogether) {
    return fmt::format("Screw the {} on before its {} is finished, and cut it with the {}'s {} in one go.", Words(pair.face.part.text()),
                       Words(pair.face.feature.text()), Words(pair.main_face.part.text()), Words(pair.main_face.feature.text()));
  }
  return fmt::format("Finish the {} by itself.", face);
}

std::string SaySuit(const SuitPair& pair, Technique technique) {
  const std::string shaft = fmt::format("the {}'s {}", Words(pair.shaft.part.text()), Words(pair.shaft.feature.text()));
  const std::string bore = fmt::format("the {}'s {}", Words(pair.bore.part.text()), Words(pair.bore.feature.text()));
  if (pair.closes && technique == Technique::kFitToMeasured) {
    return fmt::format("Put everything but the {} together first, measure the float, and face {} to what it leaves.", Words(pair.shaft.part.text()), shaft);
  }
  switch (technique) {
    case Technique::kFitToMeasured:
      if (pair.faces) return fmt::format("Measure {} first, then face {} to suit.", bore, shaft);
      return fmt::format("Make {} first, measure it, and turn {} to suit.", bore, shaft);
    case Technique::kBringToSize:
      return fmt::format("Bring {} to its own limits by measuring.", shaft);
    default:
      if (pair.closes) return fmt::format("Face {} to its drawn length.", shaft);
      if (pair.faces) return fmt::format("Face {} to its drawn height.", shaft);
      return fmt::format("Turn {} in one cut to the middle of its limits.", shaft);
  }
}

}  // namespace fitwright::planner
