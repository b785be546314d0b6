#include <fmt/format.h>

#include <cmath>

#include "fitwright/reckon/bench_sums.h"
#include "fitwright/reckon/cut_list.h"
#include "fitwright/reckon/entries.h"
#include "fitwright/reckon/entry_words.h"
#include "fitwright/units/geometry.h"
#include "fitwright/units/length.h"

namespace fitwright::reckon {
namespace {

constexpr double kReference_C = 20;  // ISO 1

// "3 x 120, 2 x 85" in the reader's unit.
std::string PiecesText(const std::vector<double>& pieces_mm, LengthUnit unit) {
  std::string text;
  for (std::size_t i = 0; i < pieces_mm.size();) {
    std::size_t next = i;
    while (next < pieces_mm.size() && pieces_mm[next] == pieces_mm[i]) ++next;
    const double shown = Show(Kind::kLength, pieces_mm[i], unit).value;
    text +=
        (text.empty() ? "" : ", ") +
        fmt::format("{} x {}", next - i, FormatTrimmed(shown, unit == LengthUnit::kInch ? 4 : 3));
    i = next;
  }
  return text;
}

Result<Reckoned> CutListOf(const Given& given) {
  const CutListGiven cuts{given.List("pieces"), given.Number("bar"), given.Number("kerf"),
                          given.Number("grip")};
  const auto list = PlanCuts(cuts);
  if (!list) {
    Error error = list.error();
    error.where.key = "pieces";
    return Unexpected(std::move(error));
  }
  double pieces = 0;
  double rests = 0;
  for (const double piece : cuts.pieces_mm) pieces += piece;
  for (const double rest : list->rests_mm) rests += rest;
  const auto bars = static_cast<double>(list->bars_mm.size());
  Reckoned r;
  r.Add("bars", Kind::kCount, bars);
  r.Add("in the pieces", Kind::kPercent, 100 * pieces / (bars * cuts.bar_mm));
  r.Add("left over, all together", Kind::kLength, rests);
  Table table{
      "Bars", {{"bar", Kind::kCount}, {"left over", Kind::kLength}, {"pieces", Kind::kWord}}, {}};
  for (std::size_t i = 0; i < list->bars_mm.size(); ++i) {
    table.rows.push_back({static_cast<double>(i + 1), list->rests_mm[i],
                          PiecesText(list->bars_mm[i], given.unit())});
  }
  r.tables.push_back(std::move(table));
  if (list->proved()) {
    r.notes.push_back("No way of cutting takes fewer bars.");
  } else {
    r.cautions.push_back(fmt::format(
        "The search was stopped: no way takes fewer than {} bars, and {} is not proved the least.",
        list->fewest, list->bars_mm.size()));
  }
  r.source =
      "one-dimensional cutting stock by branch and bound; each piece takes its length and a kerf";
  return r;
}

Result<Reckoned> Weight(const Given& given) {
  const auto material = MaterialIn(given, "material");
  if (!material) return Unexpected(material.error());
  const Section section = EnumOf<Section>(given.Word("section")).value();
  const double size = given.Number("size");
  const bool two = section == Section::kFlat || section == Section::kTube;
  if (two != given.Has("thickness")) {
    return Unexpected(Refused(ErrorCode::kWrongCount, "thickness", "",
                              "a flat has a thickness and a tube a wall, and no other section has",
                              two ? "give thickness" : "leave thickness out"));
  }
  const double thickness = two ? given.Number("thickness") : 0;
  if (section == Section::kTube && 2 * thickness > size) {
    return Unexpected(Refused(ErrorCode::kOutOfRange, "thickness",
                              ShowWithUnit(Kind::kLength, thickness, given.unit()),
                              "the wall is more than half the tube", "give a thinner wall"));
  }
  const double area = SectionArea_mm2(section, size, thickness);
  const double volume = area * given.Number("length") * given.Number("count");
  Reckoned r;
  r.Add("volume", Kind::kVolume, volume);
  r.Add("weight", Kind::kMass, trade::Mass_g(**material, volume) / 1000);
  r.Add("weight of a metre", Kind::kMass, trade::Mass_g(**material, area * 1000) / 1000);
  r.Add("density, g/cm3", Kind::kNumber, (*material)->density_g_cm3);
  r.source = "section x length x density; densities are handbook values, from memory";
  return r;
}

Result<Reckoned> Thermal(const Given& given) {
  const auto material = MaterialIn(given, "material");
  if (!material) return Unexpected(material.error());
  const double length = given.Number("length");
  const double at = given.Number("at");
  const double growth = Growth_mm(length, (*material)->expansion_per_K, kReference_C, at);
  Reckoned r;
  r.Add("longer than at 20 degC by", Kind::kFine, growth);
  if (given.Has("instrument")) {
    const auto instrument = MaterialIn(given, "instrument");
    if (!instrument) return Unexpected(instrument.error());
    const double instrument_at = given.NumberIfAny("instrument-at").value_or(at);
    const double other =
        Growth_mm(length, (*instrument)->expansion_per_K, kReference_C, instrument_at);
    r.Add("the instrument's own growth", Kind::kFine, other);
    r.Add("add to what it reads", Kind::kFine, other - growth);
    r.Add("aim to read, for the size at 20 degC", Kind::kFine, length + growth - other);
  } else {
    r.Add("size now, for that at 20 degC", Kind::kFine, length + growth);
  }
  r.source =
      "length x expansion x difference from 20 degC (ISO 1); expansions from memory, good to some "
      "5 in 100";
  return r;
}

Result<Reckoned> SweptVolume(const Given& given) {
  const double one = Swept_mm3(given.Number("bore"), given.Number("stroke"));
  if (given.Has("clearance") && given.Has("ratio")) {
    return Unexpected(Refused(ErrorCode::kWrongCount, "ratio", "",
                              "clearance and ratio follow from each other", "give one of the two"));
  }
  Reckoned r;
  r.Add("swept, one cylinder", Kind::kVolume, one);
  r.Add("swept, all", Kind::kVolume, one * given.Number("cylinders"));
  if (const auto clearance = given.NumberIfAny("clearance")) {
    r.Add("compression ratio", Kind::kNumber, (one + *clearance) / *clearance);
  }
  if (const auto ratio = given.NumberIfAny("ratio")) {
    const double room = one / (*ratio - 1);
    r.Add("clearance volume, one cylinder", Kind::kVolume, room);
    r.Add("its height over the bore", Kind::kLength, room / Swept_mm3(given.Number("bore"), 1));
  }
  r.source = "pi / 4 x bore^2 x stroke; ratio = (swept + clearance) / clearance";
  return r;
}

Result<Reckoned> Indicator(const Given& given) {
  const double reading = given.Number("reading");
  const double angle = given.Number("angle");
  const double travel = TrueTravel_mm(reading, angle);
  Reckoned r;
  r.Add("true travel", Kind::kFine, travel);
  r.Add("reads too much by", Kind::kFine, reading - travel);
  r.Add("in 100", Kind::kNumber, 100 * (reading - travel) / travel);
  r.source =
      "geometry: travel = reading x cos(angle); a lever's stylus with a ball tip at its usual "
      "length";
  return r;
}

}  // namespace

std::vector<Reckoning> BenchEntries() {
  const Input material = Material("material", "its material");
  return {
      {"cut-list",
       "Pieces cut from bars of one length with the fewest bars.",
       "pieces=4x330,3x245,6x118,2x510 bar=1000 kerf=2 grip=15",
       {Needs("pieces", Kind::kLengths, "lengths of the pieces", 0.1),
        Needs("bar", Kind::kLength, "length of a bar", 1),
        Usual("kerf", Kind::kLength, "2 mm", "what a cut takes", 0, 50),
        Usual("grip", Kind::kLength, "0 mm", "end of each bar that cannot be used", 0, 10000)},
       CutListOf},
      {"weight",
       "Weight of a piece of bar, flat or tube.",
       "material=brass section=hexagon size=17 length=300",
       {material, Choice("section", "round", "the section", "round square hexagon flat tube"),
        Needs("size", Kind::kLength, "diameter, side, across flats, or width of a flat"),
        Takes("thickness", Kind::kLength, "thickness of a flat or wall of a tube"),
        Needs("length", Kind::kLength, "its length"),
        Usual("count", Kind::kCount, "1", "how many", 1, 100000)},
       Weight},
      {"thermal",
       "What warmth adds to a length, and to what an instrument reads of it.",
       "length=100 material=aluminium at=28 instrument=steel instrument-at=22",
       {Needs("length", Kind::kLength, "the length at 20 degC"), material,
        Needs("at", Kind::kTemperature, "its temperature", -50, 400),
        Takes("instrument", Kind::kWord, "material of the instrument", 0, 0),
        Takes("instrument-at", Kind::kTemperature, "its temperature, when it differs", -50, 400)},
       Thermal},
      {"swept-volume",
       "Volume swept by pistons, and compression ratio or clearance.",
       "bore=24 stroke=20 cylinders=2 ratio=8",
       {Needs("bore", Kind::kLength, "bore of the cylinder"),
        Needs("stroke", Kind::kLength, "stroke of the piston"),
        Usual("cylinders", Kind::kCount, "1", "how many", 1, 100),
        Takes("clearance", Kind::kVolume, "volume above the piston at the top", 0.001, 1e9),
        Takes("ratio", Kind::kNumber, "or the compression ratio", 1.01, 1000)},
       SweptVolume},
      {"indicator",
       "What an indicator held at an angle reads too much.",
       "reading=0.25 angle=30",
       {Needs("reading", Kind::kLength, "what it reads", 0.0001, 1000),
        Needs("angle", Kind::kAngle, "angle of stylus or plunger to the way of the work", 0,
              85 * kRadPerDeg)},
       Indicator},
  };
}

}  // namespace fitwright::reckon
