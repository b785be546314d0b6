#include <fmt/format.h>

#include <optional>

#include "fitwright/reckon/entries.h"
#include "fitwright/reckon/entry_words.h"
#include "fitwright/trade/drills.h"
#include "fitwright/trade/fasteners.h"
#include "fitwright/trade/screw_holes.h"
#include "fitwright/units/length.h"

namespace fitwright::reckon {
namespace {

using Cell = std::variant<double, std::string>;

// A column whose figure the table does not give has a stroke.
Cell OrStroke(double mm) { return mm > 0 ? Cell(mm) : Cell(std::string("-")); }

Result<const trade::ThreadRow*> ScrewIn(const Given& given) {
  const std::string& name = given.Word("thread");
  if (const trade::ThreadRow* row = trade::FindThread(name)) return row;
  std::string nearest;
  for (const std::string_view one : trade::NearestThreads(name)) {
    nearest += (nearest.empty() ? "" : ", ") + std::string(one);
  }
  return Unexpected(Refused(ErrorCode::kUnknownThread, "thread", name,
                            "the tables have no such thread", "nearest: " + nearest));
}

void AddHeads(Reckoned& r, const trade::ThreadRow& row) {
  Table table{"Heads",
              {{"head", Kind::kWord},
               {"across", Kind::kLength},
               {"knurled", Kind::kLength},
               {"height", Kind::kLength},
               {"key", Kind::kLength},
               {"key goes in", Kind::kLength},
               {"standard", Kind::kWord}},
              {}};
  for (const auto& kind : WordsOf<trade::HeadKind>::kAll) {
    const trade::ScrewHead* head = trade::FindScrewHead(kind.value, row);
    if (head == nullptr) continue;
    table.rows.push_back({std::string(kind.word), head->diameter_mm, OrStroke(head->knurled_mm),
                          head->height_mm, head->key_mm, OrStroke(head->socket_depth_mm),
                          std::string(trade::StandardOfHead(kind.value, row.series))});
  }
  if (const trade::SetScrew* screw = trade::FindSetScrew(row)) {
    r.Add("set screw's key", Kind::kLength, screw->key_mm);
    if (screw->flat_point_mm > 0) {
      r.Add("its flat point, at most", Kind::kLength, screw->flat_point_mm);
    }
  }
  if (!table.rows.empty()) {
    r.notes.push_back(
        "Across is the greatest diameter, of a countersunk head as if its edge were sharp, of a "
        "hexagon the flats; heights are greatest, depths of sockets least.");
    r.tables.push_back(std::move(table));
  }
}

void AddNutAndWasher(Reckoned& r, const trade::ThreadRow& row) {
  if (const trade::HexNut* nut = trade::FindHexNut(row)) {
    r.Add("nut across flats: spanner", Kind::kLength, nut->across_flats_mm);
    if (nut->across_corners_mm > 0) {
      r.Add("nut across corners, at least", Kind::kLength, nut->across_corners_mm);
    }
    r.Add("nut's height, at most", Kind::kLength, nut->height_mm);
    if (nut->jam_height_mm > 0) {
      r.Add("thin nut's height, at most", Kind::kLength, nut->jam_height_mm);
    }
    if (const auto room = trade::SpannerRoom_mm(nut->across_flats_mm)) {
      r.Add("room across for a spanner (opinion)", Kind::kLength, *room);
    }
  }
  if (const trade::Washer* washer = trade::FindWasher(row)) {
    r.Add("washer's bore", Kind::kLength, washer->bore_mm);
    r.Add("washer's outside", Kind::kLength, washer->outside_mm);
    r.Add("washer's thickness", Kind::kLength, washer->thickness_mm);
  }
}

Status AddLengths(Reckoned& r, const Given& given, const trade::ThreadRow& row) {
  const auto lengths = trade::ScrewLengths_mm(row.series);
  std::string words;
  for (const double length : lengths) {
    const double shown = Show(Kind::kLength, length, given.unit()).value;
    words += (words.empty() ? "" : ", ") + FormatTrimmed(shown, 4);
  }
  r.AddWord("lengths as kept", words);
  const auto longest = given.NumberIfAny("length");
  if (!longest) return Ok{};
  const auto length = trade::ScrewLengthAtOrBelow_mm(row.series, *longest);
  if (!length) {
    return Unexpected(Refused(
        ErrorCode::kOutOfRange, "length", ShowWithUnit(Kind::kLength, *longest, given.unit()),
        fmt::format("the shortest that is kept is {}",
                    ShowWithUnit(Kind::kLength, lengths.front(), given.unit())),
        "give more length, or cut one down"));
  }
  r.Add("longest kept that goes in", Kind::kLength, *length);
  return Ok{};
}

Result<Reckoned> Screw(const Given& given) {
  const auto row = ScrewIn(given);
  if (!row) return Unexpected(row.error());
  if (!trade::IsMetric((*row)->series) && !trade::IsUnified((*row)->series)) {
    return Unexpected(
        Refused(ErrorCode::kOutOfRange, "thread", std::string((*row)->designation),
                "heads, nuts and washers are tabled here for ISO metric and unified "
                "threads",
                "measure the screws at hand; its diameters: fitwright reckon thread"));
  }
  Reckoned r;
  r.Add("outside diameter", Kind::kLength, (*row)->major_mm);
  for (const auto& fit : WordsOf<trade::ClearanceFit>::kAll) {
    const auto hole = trade::ClearanceHole_mm(**row, fit.value);
    if (hole) r.Add(fmt::format("clearance hole, {}", fit.word), Kind::kLength, *hole);
  }
  AddHeads(r, **row);
  AddNutAndWasher(r, **row);
  if (const Status lengths = AddLengths(r, given, **row); !lengths) {
    return Unexpected(lengths.error());
  }
  r.source =
      trade::IsMetric((*row)->series)
          ? "holes ISO 273, set screws ISO 4026, nuts ISO 4032 and ISO 4035, washers ISO "
            "7089, lengths of ISO 888 as merchants keep them"
          : "holes ASME B18.2.8, heads and set screws ASME B18.3, nuts ASME B18.6.3 and ASME "
            "B18.2.2, washers ASME B18.21.1, lengths by common practice";
  return r;
}

struct DrillAsked {
  double diameter_mm = 0;
  std::optional<trade::Drill> drill;  // when it was named
};

Result<DrillAsked> DrillIn(const Given& given) {
  if (given.Has("drill") == given.Has("diameter")) {
    return Unexpected(Refused(ErrorCode::kWrongCount, "drill", "",
                              "a drill is its name or its diameter", "give one of the two"));
  }
  if (given.Has("diameter")) return DrillAsked{given.Number("diameter"), std::nullopt};
  const std::string& name = given.Word("drill");
  auto drill = trade::FindDrill(name);
  if (!drill) {
    return Unexpected(Refused(ErrorCode::kUnknownWord, "drill", name, "no set has such a drill",
                              "write 6.8, 27/64, #7 (or no.7) or F; or give diameter"));
  }
  return DrillAsked{drill->diameter_mm, std::move(drill)};
}

Result<Reckoned> Drill(const Given& given) {
  const auto asked = DrillIn(given);
  if (!asked) return Unexpected(asked.error());
  Reckoned r;
  r.Add("diameter, mm", Kind::kNumber, asked->diameter_mm);
  r.Add("diameter, inch", Kind::kNumber, asked->diameter_mm / kMmPerInch);
  if (asked->drill) r.AddWord("of the drills", std::string(WordOf(asked->drill->set)));
  Table table{"Nearest of each set",
              {{"set", Kind::kWord},
               {"drill", Kind::kWord},
               {"mm", Kind::kNumber},
               {"inch", Kind::kNumber},
               {"larger by", Kind::kFine}},
              {}};
  for (const auto& set : WordsOf<trade::DrillSet>::kAll) {
    const trade::DrillSets only{
        set.value == trade::DrillSet::kMetric, set.value == trade::DrillSet::kFraction,
        set.value == trade::DrillSet::kNumber, set.value == trade::DrillSet::kLetter};
    const auto near = trade::NearestDrill(asked->diameter_mm, only);
    if (!near) continue;  // outside this set
    table.rows.push_back({std::string(set.word), near->name, near->diameter_mm,
                          near->diameter_mm / kMmPerInch, near->diameter_mm - asked->diameter_mm});
  }
  if (table.rows.empty()) {
    return Unexpected(trade::NearestDrill(asked->diameter_mm, trade::kAllDrills).error());
  }
  r.tables.push_back(std::move(table));
  r.source =
      "number and letter drills ASME B94.11M, fractions by 64ths of an inch, metric drills after "
      "ISO 235 as sets have them";
  return r;
}

}  // namespace

std::vector<Reckoning> ScrewEntries() {
  return {
      {"screw",
       "A screw's heads, keys, nut, washer, clearance holes and the lengths it is sold in.",
       "thread=M6 length=23",
       {Needs("thread", Kind::kWord, "the thread's name", 0, 0),
        Takes("length", Kind::kLength, "room for its length under the head", 0.1, 1000)},
       Screw},
      {"drill",
       "A drill's diameter in mm and inch by its name, and the nearest of each set.",
       "drill=#7",
       {Takes("drill", Kind::kWord, "the drill's name: 6.8, 27/64, #7, F", 0, 0),
        Takes("diameter", Kind::kLength, "or a diameter", 0.01, 1000)},
       Drill},
  };
}

}  // namespace fitwright::reckon
