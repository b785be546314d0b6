#include <algorithm>
#include <cmath>

#include "fitwright/files/machine_sections.h"
#include "fitwright/files/size_reader.h"
#include "fitwright/trade/bearings.h"
#include "fitwright/trade/general_tolerance.h"

namespace fitwright::files {
namespace {

bool HasShape(BoughtKind kind) {
  return kind == BoughtKind::kBearing || kind == BoughtKind::kCirclip || kind == BoughtKind::kPin ||
         kind == BoughtKind::kWasher || kind == BoughtKind::kSleeve;
}

struct ReadySizes {
  std::optional<Size> outside;
  std::optional<Size> bore;
  std::optional<Size> width;
};

Size WithDeviations(double nominal_mm, double lower_mm) {
  return {nominal_mm, nominal_mm + lower_mm, nominal_mm, LimitsOrigin::kPlusMinus, ""};
}

// A number, or a table of a size with its limits.
std::optional<Size> ReadReadySize(TableReader& table, std::string_view key, SizeOf of) {
  if (table.HasTable(key)) {
    auto sub = table.Table(key);
    SizeWish wish;
    wish.key = "size";
    wish.of = of;
    const auto size = ReadSize(*sub, wish);
    sub->Finish();
    return size;
  }
  const auto nominal_mm = table.PositiveLength_mm(key);
  if (!nominal_mm) return std::nullopt;
  const auto size = trade::MakeGeneralSize(*nominal_mm, "m");
  if (size) return *size;
  table.Fault(size.error().code, key, "the general tolerance m gives no limits for this size",
              fmt::format("state the maker's: {} = {{ size = {:g}, plus_minus = 0.05 }}", key,
                          *nominal_mm));
  return std::nullopt;
}

std::string NearestBearing(const std::vector<double>& size_mm) {
  const trade::Bearing* nearest = nullptr;
  double least = 0;
  for (const trade::Bearing& row : trade::Bearings()) {
    const double off = std::abs(row.bore_mm - size_mm[0]) + std::abs(row.outside_mm - size_mm[1]) +
                       std::abs(row.width_mm - size_mm[2]);
    if (nearest != nullptr && off >= least) continue;
    nearest = &row;
    least = off;
  }
  FW_CHECK(nearest != nullptr);
  return fmt::format("[{:g}, {:g}, {:g}]", nearest->bore_mm, nearest->outside_mm,
                     nearest->width_mm);
}

// size = [bore, outside, width] of a row of the table.
const trade::Bearing* ReadBearingSize(TableReader& table, ReadySizes& sizes) {
  const auto size_mm = table.Lengths_mm("size", 3, 3);
  if (!size_mm) return nullptr;
  const trade::Bearing* row = trade::FindBearing((*size_mm)[0], (*size_mm)[1], (*size_mm)[2]);
  if (row == nullptr) {
    table.Fault(ErrorCode::kUnknownBearing, "size", "no bearing of these sizes is in the table",
                fmt::format("write size = {} (bore, outside, width), or state outside, bore and "
                            "width with the maker's limits",
                            NearestBearing(*size_mm)));
    return nullptr;
  }
  sizes.bore = WithDeviations(row->bore_mm, row->bore_low_mm);
  sizes.outside = WithDeviations(row->outside_mm, row->outside_low_mm);
  sizes.width = WithDeviations(row->width_mm, row->width_low_mm);
  return row;
}

double ReadPlay(TableReader& table, std::string_view key, std::optional<double> usual_mm,
                const std::string& name) {
  const auto play_mm = table.Length_mm(key);
  if (play_mm && *play_mm < 0) {
    table.Fault(ErrorCode::kOutOfRange, key, "a play is not below zero",
                "write how far it moves, 0 for none");
  }
  if (play_mm || table.Has(key)) return play_mm.value_or(0);
  table.log().assumed.push_back(
      usual_mm ? fmt::format("{}: {} is not stated; at most {:g} mm, as is usual for the size.",
                             name, key, *usual_mm)
               : fmt::format("{}: {} is not stated; none is counted.", name, key));
  return usual_mm.value_or(0);
}

void ReadPlays(TableReader& table, const trade::Bearing* row, const std::string& name,
               BoughtPart& bought) {
  // Of a deep groove bearing about ten times the radial play (common practice).
  constexpr double kAxialOverRadial = 10;
  std::optional<double> radial_mm;
  std::optional<double> axial_mm;
  if (row != nullptr) {
    radial_mm = row->radial_play_mm;
    axial_mm = kAxialOverRadial * row->radial_play_mm;
  }
  bought.radial_play_mm = ReadPlay(table, "radial_play", radial_mm, name);
  bought.axial_play_mm = ReadPlay(table, "axial_play", axial_mm, name);
}

Feature Supplied(const char* name, FeatureShape shape) {
  Feature feature;
  feature.name = FeatureId(name);
  feature.shape = std::move(shape);
  feature.finish = Finish::kAsSupplied;
  return feature;
}

// About its own z axis, from z = 0 up.
void MakeShape(const ReadySizes& sizes, Part& part) {
  const Size& width = *sizes.width;
  part.envelope = EnvelopeKind::kTurned;
  part.features.push_back(
      Supplied("outside", OuterDiameter{false, {}, 0, width.middle_mm(), *sizes.outside}));
  if (sizes.bore) {
    Hole bore;
    bore.use = HoleUse::kBore;
    bore.entries_P_mm = {Vec3(0, 0, width.middle_mm())};
    bore.diameter = *sizes.bore;
    bore.depth_mm = width.middle_mm();
    bore.through = true;
    bore.bottom = HoleBottom::kFlat;
    part.features.push_back(Supplied("bore", bore));
  }
  const Size zero{0, 0, 0, width.origin, ""};
  part.features.push_back(Supplied("low_end", PlanarFace{-Vec3::UnitZ(), zero}));
  part.features.push_back(Supplied("high_end", PlanarFace{Vec3::UnitZ(), width}));
  part.stock.form = sizes.bore ? StockForm::kTube : StockForm::kRound;
  part.stock.diameter_mm = sizes.outside->middle_mm();
  part.stock.inner_diameter_mm = sizes.bore ? sizes.bore->middle_mm() : 0;
  part.stock.to_mm = width.middle_mm();
}

// False when a size is missing or faulty (reported).
bool ReadBoughtShape(TableReader& table, const std::string& name, BoughtPart& bought) {
  ReadySizes sizes;
  const trade::Bearing* row = nullptr;
  const bool bearing = bought.kind == BoughtKind::kBearing;
  table.Know({"outside", "bore", "width"});
  if (bearing && table.Has("size")) {
    const bool one_way = table.AtMostOne({"size", "outside"}) &&
                         table.AtMostOne({"size", "bore"}) && table.AtMostOne({"size", "width"});
    if (one_way) row = ReadBearingSize(table, sizes);
  } else {
    sizes.outside = ReadReadySize(table, "outside", SizeOf::kShaft);
    sizes.bore = ReadReadySize(table, "bore", SizeOf::kHole);
    sizes.width = ReadReadySize(table, "width", SizeOf::kShaft);
    const char* often = bearing ? "write size = [10, 26, 8] (bore, outside, width), or outside, "
                                  "bore and width"
                                : "write the size, or { size = 5, deviations = [-0.008, 0] }";
    table.Require("outside", often);
    if (bought.kind != BoughtKind::kPin) table.Require("bore", often);
    table.Require("width", often);
  }
  if (bearing) ReadPlays(table, row, name, bought);
  const bool solid = bought.kind == BoughtKind::kPin && !table.Has("bore");
  if (!sizes.outside || !sizes.width || (!sizes.bore && !solid)) return false;
  if (sizes.bore && sizes.bore->upper_mm >= sizes.outside->lower_mm) {
    table.Fault(ErrorCode::kBoreTooLarge, table.Has("bore") ? "bore" : "size",
                "the bore is as large as the outside",
                "write the outside as the larger of the two");
    return false;
  }
  MakeShape(sizes, bought.part);
  return true;
}

void NoteGeneral(const std::string& name, const Part& part, ReadLog& log) {
  const auto general = [](const Feature& f) {
    if (const auto* outer = std::get_if<OuterDiameter>(&f.shape))
      return outer->diameter.origin == LimitsOrigin::kGeneralTolerance;
    if (const auto* hole = std::get_if<Hole>(&f.shape))
      return hole->diameter.origin == LimitsOrigin::kGeneralTolerance;
    const auto* face = std::get_if<PlanarFace>(&f.shape);
    return face != nullptr && face->at.width_mm() > 0 &&
           face->at.origin == LimitsOrigin::kGeneralTolerance;
  };
  std::vector<std::string> sizes;
  for (const Feature& f : part.features) {
    if (general(f)) sizes.push_back(f.name.text() == "high_end" ? "width" : f.name.text());
  }
  if (sizes.empty()) return;
  log.assumed.push_back(
      fmt::format("{}: bought, without the maker's limits; by the general tolerance m: {}.", name,
                  ListOf(sizes)));
}

}  // namespace

void ReadBought(TableReader table, Machine& machine) {
  std::vector<std::string> taken;
  for (const PartUse& use : machine.uses) taken.push_back(use.part.text());
  for (const BoughtPart& b : machine.bought) taken.push_back(b.part.name.text());
  BoughtPart bought;
  const auto name = ReadNewName(table, taken);
  const auto kind = table.Word<BoughtKind>("kind");
  table.Require("kind", fmt::format("write one of: {}", ListOf(WordList<BoughtKind>())));
  bought.what = table.String("what").value_or("");
  table.Require("what", "say what to buy: what = \"ball bearing 10 x 26 x 8\"");
  bought.why = table.String("why").value_or("");
  if (!kind) return;
  bought.kind = *kind;
  bool sound = name.has_value();
  Places places;
  if (HasShape(*kind)) {
    places = ReadPlaces(table);
    sound &= ReadBoughtShape(table, name.value_or("bought"), bought);
  } else {
    places.quantity = static_cast<int>(table.Integer("quantity", 1, 1000).value_or(1));
  }
  if (*kind == BoughtKind::kBelt) {
    bought.section_mm = table.PositiveLength_mm("section").value_or(0);
    table.Require("section", "write the diameter of the round belt: section = 5");
    bought.pitch_length_mm = table.PositiveLength_mm("pitch_length").value_or(0);
    table.Require("pitch_length", "write its length along the middle of the section, as fitted");
    bought.stretch = table.String("stretch").value_or("");
  }
  table.Finish();
  if (!sound) return;
  bought.part.name = PartId(*name);
  bought.quantity = places.quantity;
  bought.placed = places.stated;
  NoteGeneral(*name, bought.part, table.log());
  if (places.stated) {
    machine.bought_uses.push_back({PartId(*name), places.quantity, places.first, places.copies});
  }
  machine.bought.push_back(std::move(bought));
  table.Locate(fmt::format("bought.{}", *name));
}

}  // namespace fitwright::files
