#include "fitwright/sheets/words.h"

#include <fmt/format.h>

#include <array>
#include <cctype>

namespace fitwright::sheets {

std::string NameText(std::string_view name) {
  std::string text;
  for (std::size_t i = 0; i < name.size(); ++i) {
    const char c = name[i];
    const bool in_line = (i > 0 && name[i - 1] == '_') || (i + 1 < name.size() && name[i + 1] == '_');
    if (c == '#') {
      text += " no. ";
    } else {
      text += c == '_' && !in_line ? ' ' : c;
    }
  }
  return text;
}

std::string NameText(const FeatureRef& ref) {
  if (ref.feature.empty()) return NameText(ref.part.text());
  return NameText(ref.part.text()) + " " + NameText(ref.feature.text());
}

std::string Capital(std::string text) {
  if (!text.empty()) text[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(text[0])));
  return text;
}

std::string ListText(const std::vector<std::string>& names) {
  std::string text;
  for (std::size_t i = 0; i < names.size(); ++i) {
    if (i > 0) text += i + 1 == names.size() ? " and " : ", ";
    text += names[i];
  }
  return text;
}

std::string_view VerbOf(Operation operation) {
  switch (operation) {
    case Operation::kFace: return "face";
    case Operation::kMill: return "mill";
    case Operation::kTurn: return "turn";
    case Operation::kBore: return "bore";
    case Operation::kGroove: return "groove";
    case Operation::kChamfer: return "chamfer";
    case Operation::kSpot:
    case Operation::kSpotThrough: return "spot";
    case Operation::kDrill: return "drill";
    case Operation::kReam: return "ream";
    case Operation::kCounterbore: return "counterbore";
    case Operation::kTap: return "tap";
    case Operation::kHone: return "hone";
    case Operation::kPartOff: return "part off";
    case Operation::kSaw: return "saw";
    case Operation::kAssemble: return "put together";
    case Operation::kTakeApart: return "take apart";
    case Operation::kMeasure: return "measure";
    case Operation::kDeburr: return "deburr";
    case Operation::kWash: return "wash";
    case Operation::kByHand: return "by hand";
    case Operation::kThread: return "cut thread";
    case Operation::kKnurl: return "knurl";
    case Operation::kCentreDrill: return "centre";
    case Operation::kMark: return "mark";
    case Operation::kBond: return "bond";
    case Operation::kCure: return "let cure";
    case Operation::kTrial: return "try together";
    case Operation::kShape: return "slot";
    case Operation::kBroach: return "broach";
  }
  return "";
}

std::string TechniqueText(Technique technique, int first) {
  switch (technique) {
    case Technique::kByCoordinates: return "each part by its own coordinates";
    case Technique::kTransferPunch: return "transfer punch through the mate";
    case Technique::kTransferScrews: return "transfer screws from the tapped holes";
    case Technique::kSpotThrough:
      return first > 0 ? fmt::format("spotted through the mate, {} put in first", CountText(first))
                       : "spotted through the mate";
    case Technique::kDrillTogether: return "put together and drilled through both";
    case Technique::kReamDowels: return "screwed up, then drilled and reamed for dowels through both";
    case Technique::kMachineTogether: return "put together, then cut in one go";
    case Technique::kBoreInLine: return "bored in line";
    case Technique::kFitToMeasured: return "cut to suit the measured mate";
    case Technique::kBringToSize: return "brought to size";
  }
  return "";
}

std::string_view HoldingText(HoldingKind holding) {
  switch (holding) {
    case HoldingKind::kViseBedFirst: return "vise, tapped down on bed or parallels";
    case HoldingKind::kViseJawFirst: return "vise, pulled against the fixed jaw";
    case HoldingKind::kThreeJaw: return "three-jaw chuck, long grip";
    case HoldingKind::kThreeJawShort: return "three-jaw chuck, seated on the face";
    case HoldingKind::kFourJaw: return "four-jaw chuck";
    case HoldingKind::kCollet: return "collet";
    case HoldingKind::kFaceplate: return "faceplate";
    case HoldingKind::kStubMandrel: return "mandrel in the bore";
    case HoldingKind::kClampsOnTable: return "clamps on the table";
    case HoldingKind::kAnglePlate: return "angle plate";
    case HoldingKind::kVBlock: return "V-block";
    case HoldingKind::kRotaryTable: return "rotary table";
    case HoldingKind::kBetweenCentres: return "between centres";
    case HoldingKind::kBench: return "bench";
  }
  return "";
}

std::string_view RequirementText(RequirementKind kind) {
  switch (kind) {
    case RequirementKind::kScrewsEnter: return "every screw enters";
    case RequirementKind::kClearance: return "clearance";
    case RequirementKind::kInterference: return "interference";
    case RequirementKind::kFlush: return "flush";
    case RequirementKind::kSquare: return "square";
    case RequirementKind::kDistance: return "distance";
    case RequirementKind::kAxesMeet: return "axes meet";
    case RequirementKind::kParallel: return "parallel";
    case RequirementKind::kAngle: return "angle";
    case RequirementKind::kInLine: return "in line";
    case RequirementKind::kRunOut: return "runs true";
    case RequirementKind::kProud: return "proud";
    case RequirementKind::kEndFloat: return "end float";
    case RequirementKind::kWallLeft: return "wall left";
    case RequirementKind::kEngagement: return "thread in mesh";
    case RequirementKind::kFormula: return "reckoned value";
  }
  return "";
}

std::string CountText(int count) {
  static constexpr std::array<std::string_view, 13> kWords = {
      "no", "one", "two", "three", "four", "five", "six",
      "seven", "eight", "nine", "ten", "eleven", "twelve"};
  if (count >= 0 && count < static_cast<int>(kWords.size())) {
    return std::string(kWords[static_cast<std::size_t>(count)]);
  }
  return std::to_string(count);
}

}  // namespace fitwright::sheets
