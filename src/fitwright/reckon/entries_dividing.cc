#include <fmt/format.h>

#include <charconv>
#include <cmath>
#include <cstdlib>

#include "fitwright/reckon/change_wheels.h"
#include "fitwright/reckon/dividing.h"
#include "fitwright/reckon/entries.h"
#include "fitwright/reckon/entry_words.h"
#include "fitwright/trade/dividing_plates.h"
#include "fitwright/units/geometry.h"

namespace fitwright::reckon {
namespace {

constexpr int kLeastCircle = 2;
constexpr int kMostCircle = 400;
constexpr std::size_t kTrainsShown = 5;

// "15,16,17/21,23": circles parted by commas, plates by strokes.
Result<Plates> PlatesIn(const std::string& text) {
  Plates plates = {{}};
  const char* at = text.data();
  const char* const end = at + text.size();
  while (true) {
    int circle = 0;
    const auto read = std::from_chars(at, end, circle);
    if (read.ec != std::errc{} || circle < kLeastCircle || circle > kMostCircle) break;
    plates.back().push_back(circle);
    if (read.ptr == end) return plates;
    if (*read.ptr != ',' && *read.ptr != '/') break;
    if (*read.ptr == '/') plates.emplace_back();
    at = read.ptr + 1;
  }
  return Unexpected(Refused(
      ErrorCode::kWrongType, "plates", text,
      fmt::format("hole circles are whole numbers from {} to {}", kLeastCircle, kMostCircle),
      "write them parted by commas, plates by strokes: 15,16,17/21,23"));
}

std::string PlatesText(const Plates& plates) {
  std::string text;
  for (const auto& plate : plates) {
    text += text.empty() ? "" : " / ";
    for (std::size_t i = 0; i < plate.size(); ++i) {
      text += fmt::format("{}{}", i == 0 ? "" : " ", plate[i]);
    }
  }
  return text;
}

// The head and its plates, plate by plate: by name, and of one's own what is given.
struct Head {
  int ratio = 0;
  Plates plates;
  std::string note;  // what was taken unsaid
};

constexpr std::string_view kUsualHead = "head_40";
constexpr std::string_view kHeads = "head_40 head_40_two_sides head_60 table_72 table_90";

Result<Head> HeadIn(const Given& given) {
  const bool named = given.Has("head");
  const std::string name = named ? given.Word("head") : std::string(kUsualHead);
  const trade::DividingSet& set = *trade::FindDividingSet(name);
  Head head{set.worm_ratio, {}, ""};
  for (const trade::HoleCircles plate : set.plates) {
    head.plates.emplace_back(plate.begin(), plate.end());
  }
  if (given.Has("ratio")) head.ratio = given.Count("ratio");
  if (given.Has("plates")) {
    auto plates = PlatesIn(given.Word("plates"));
    if (!plates) return Unexpected(plates.error());
    head.plates = *std::move(plates);
  }
  const char* taken = given.Has("ratio") ? "plates" : "ratio";
  if (!named && !given.Has("ratio") && !given.Has("plates")) taken = "ratio and plates";
  if (!named && !(given.Has("ratio") && given.Has("plates"))) {
    head.note = fmt::format("No head was named: {} of {} ({}).", taken, set.name, set.words);
  }
  return head;
}

std::string Words(const PlainMove& move) {
  std::string text;
  if (move.turns > 0 || move.holes == 0) {
    text = fmt::format("{} turn{}", move.turns, move.turns == 1 ? "" : "s");
  }
  if (move.holes == 0) return text + fmt::format(" (any circle, such as {})", move.circle);
  return text + fmt::format("{}{} hole{} in the {} of plate {}", text.empty() ? "" : " and ",
                            move.holes, move.holes == 1 ? "" : "s", move.circle, move.plate);
}

std::string Words(const CompoundMove& move) {
  return Words(move.first) +
         fmt::format(", then crank and plate {} {} hole{} in the {}",
                     move.second_holes > 0 ? "on" : "back", std::abs(move.second_holes),
                     std::abs(move.second_holes) == 1 ? "" : "s", move.second_circle);
}

double TurnsOf(const PlainMove& move) { return CompoundMove{move, 0, 0}.Turns(); }

void AddNearest(Reckoned& r, const std::string& label, const std::string& words, double off_rad,
                double divisions) {
  r.AddWord(label, words);
  r.Add(label + ": off at each", Kind::kAngle, off_rad);
  if (divisions > 0) r.Add(label + ": left over after all", Kind::kAngle, off_rad * divisions);
}

void AddNearestMoves(Reckoned& r, double turns, int ratio, double divisions, const Plates& plates) {
  const double angle_of_turn = kTurn_rad / ratio;
  if (const auto plain = NearestPlain(turns, plates)) {
    AddNearest(r, "nearest plain", Words(*plain), (TurnsOf(*plain) - turns) * angle_of_turn,
               divisions);
  }
  if (const auto compound = NearestCompound(turns, plates)) {
    AddNearest(r, "nearest compound", Words(*compound), (compound->Turns() - turns) * angle_of_turn,
               divisions);
  }
}

Result<Reckoned> ByAngle(double angle_rad, int ratio, const Plates& plates) {
  const double turns = angle_rad / kTurn_rad * ratio;
  Reckoned r;
  r.Add("turns of the crank", Kind::kNumber, turns);
  const auto plain = NearestPlain(turns, plates);
  if (plain && std::abs(TurnsOf(*plain) - turns) < 1e-9) {
    r.AddWord("exact", Words(*plain));
  } else {
    AddNearestMoves(r, turns, ratio, 0, plates);
  }
  r.source = "turns = ratio x angle / 360 deg";
  return r;
}

Result<Reckoned> ByDivisions(int divisions, int ratio, const Plates& plates) {
  const double turns = static_cast<double>(ratio) / divisions;
  Reckoned r;
  r.Add("turns of the crank", Kind::kNumber, turns);
  const auto exact = PlainDividing(ratio, divisions, plates);
  if (!exact.empty()) {
    Table table{"Exact",
                {{"turns", Kind::kCount},
                 {"holes", Kind::kCount},
                 {"circle", Kind::kCount},
                 {"plate", Kind::kCount}},
                {}};
    for (const PlainMove& move : exact) {
      table.rows.push_back({static_cast<double>(move.turns), static_cast<double>(move.holes),
                            static_cast<double>(move.circle), static_cast<double>(move.plate)});
    }
    r.tables.push_back(std::move(table));
  } else if (const auto compound = CompoundDividing(ratio, divisions, plates)) {
    r.AddWord("exact, compound", Words(*compound));
    r.notes.push_back(
        "For the second part let the plate's own pin out, and turn crank and plate "
        "together.");
  } else {
    AddNearestMoves(r, turns, ratio, divisions, plates);
    r.cautions.push_back(
        "Not exact with these plates: what is left over lies in the last space, "
        "unless it is shared out.");
  }
  r.notes.push_back(
      "Set the sector arms to the holes counted, not counting the one the pin is in.");
  r.source = "turns = ratio / divisions";
  return r;
}

Result<Reckoned> Dividing(const Given& given) {
  const auto head = HeadIn(given);
  if (!head) return Unexpected(head.error());
  if (given.Has("divisions") == given.Has("angle")) {
    return Unexpected(Refused(ErrorCode::kWrongCount, "divisions", "",
                              "dividing goes by divisions or by an angle", "give one of the two"));
  }
  auto r = given.Has("angle") ? ByAngle(given.Number("angle"), head->ratio, head->plates)
                              : ByDivisions(given.Count("divisions"), head->ratio, head->plates);
  if (!r) return r;
  r.value().Add("turns of the crank for one of the spindle", Kind::kCount, head->ratio);
  r.value().AddWord("plates", PlatesText(head->plates));
  if (!head->note.empty()) r.value().notes.push_back(head->note);
  return r;
}

Result<double> PitchOf(const Given& given, std::string_view pitch, std::string_view tpi) {
  if (given.Has(pitch) == given.Has(tpi)) {
    return Unexpected(Refused(ErrorCode::kWrongCount, pitch, "",
                              fmt::format("a pitch is given once: {} or {}", pitch, tpi),
                              "give one of the two"));
  }
  return given.Has(pitch) ? given.Number(pitch) : kMmPerInch / given.Number(tpi);
}

Result<Reckoned> ChangeWheels(const Given& given) {
  const auto pitch = PitchOf(given, "pitch", "tpi");
  if (!pitch) return Unexpected(pitch.error());
  const auto lead = PitchOf(given, "leadscrew", "leadscrew-tpi");
  if (!lead) return Unexpected(lead.error());
  std::vector<int> wheels;
  for (const double wheel : given.List("wheels")) wheels.push_back(static_cast<int>(wheel));
  const double wanted = *pitch / *lead;
  const auto trains = FindTrains(wanted, wheels, kTrainsShown);
  if (trains.empty()) {
    return Unexpected(Refused(ErrorCode::kWrongCount, "wheels", "",
                              "a train needs two wheels that differ, or two of one",
                              "name more wheels"));
  }
  Reckoned r;
  r.Add("leadscrew's turns for one of the spindle", Kind::kNumber, wanted);
  const WheelTrain& best = trains.front();
  r.Add("nearest: pitch cut", Kind::kFine, *lead * best.Ratio());
  r.Add("nearest: off, per cent", Kind::kNumber, 100 * (best.Ratio() / wanted - 1));
  r.Add("nearest: off over the length", Kind::kFine,
        given.Number("length") * (best.Ratio() / wanted - 1));
  Table table{"Trains, nearest first",
              {{"drivers", Kind::kWord},
               {"driven", Kind::kWord},
               {"pitch cut", Kind::kFine},
               {"off over length", Kind::kFine}},
              {}};
  for (const WheelTrain& t : trains) {
    const auto two = [](int a, int b) {
      return b == 0 ? fmt::format("{}", a) : fmt::format("{}, {}", a, b);
    };
    table.rows.push_back({two(t.first_driver, t.second_driver),
                          two(t.first_driven, t.second_driven), *lead * t.Ratio(),
                          given.Number("length") * (t.Ratio() / wanted - 1)});
  }
  r.tables.push_back(std::move(table));
  r.notes.push_back(
      "First driver on the spindle or stud, last driven on the leadscrew; an idler "
      "changes the hand, not the pitch. Wheels that clear by 15 teeth only (common "
      "practice).");
  const double times = 1 / wanted;
  if (std::abs(times - std::round(times)) > 1e-9) {
    r.notes.push_back(
        "The leadscrew's pitch is no whole multiple of this one: keep the half nut shut "
        "to the end and run back under power, or use the dial.");
  }
  r.source = "drivers / driven = pitch / pitch of the leadscrew";
  return r;
}

}  // namespace

std::vector<Reckoning> DividingEntries() {
  return {
      {"dividing",
       "Crank turns and holes for divisions or an angle, exact or the nearest.",
       "divisions=77 head=head_40",
       {Takes("divisions", Kind::kCount, "how many divisions", 2, 10000),
        Takes("angle", Kind::kAngle, "or an angle", 1e-6, kTurn_rad),
        Among("head", "the head or table with its plates (usual: head_40)", kHeads),
        Takes("ratio", Kind::kCount, "turns of the crank for one of the spindle, of your own", 1,
              400),
        Takes("plates", Kind::kWord, "hole circles of your own, plates parted by strokes", 0, 0)},
       Dividing},
      {"change-wheels",
       "Change wheels at hand for a pitch, with its error.",
       "pitch=1 leadscrew-tpi=8 wheels=20,20,25,30,35,40,45,50,55,60,65,70,75,80,127",
       {Takes("pitch", Kind::kLength, "pitch to cut", 0.05, 100),
        Takes("tpi", Kind::kNumber, "or threads to the inch", 0.25, 500),
        Takes("leadscrew", Kind::kLength, "pitch of the leadscrew", 0.2, 50),
        Takes("leadscrew-tpi", Kind::kNumber, "or its threads to the inch", 0.5, 100),
        Needs("wheels", Kind::kCounts, "teeth of the wheels at hand", 10, 240),
        Usual("length", Kind::kLength, "25 mm", "length of thread for the error", 0.1, 10000)},
       ChangeWheels},
  };
}

}  // namespace fitwright::reckon
