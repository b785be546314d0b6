#include "fitwright/files/shop_reader.h"

#include <algorithm>
#include <cmath>

#include "fitwright/files/part_reader.h"
#include "fitwright/trade/threads.h"

namespace fitwright::files {
namespace {

// Sets a field when its key is there; what is absent keeps the value it had.
struct ShopRow {
  TableReader& table;

  void Text(std::string_view key, std::string& field) {
    if (auto value = table.String(key)) field = *std::move(value);
  }
  void Length(std::string_view key, double& field) {
    if (const auto value = table.Length_mm(key)) field = *value;
  }
  void Number(std::string_view key, double& field) {
    if (const auto value = table.Number(key)) field = *value;
  }
  void Flag(std::string_view key, bool& field) {
    if (const auto value = table.Bool(key)) field = *value;
  }
  void Whole(std::string_view key, int& field, int least, int most) {
    if (const auto value = table.Integer(key, least, most)) field = static_cast<int>(*value);
  }
  void Lengths(std::string_view key, std::vector<double>& field) {
    if (auto value = table.Lengths_mm(key, 0, 1000)) field = *std::move(value);
  }
  void Numbers(std::string_view key, std::vector<double>& field) {
    if (auto value = table.Numbers(key, 0, 1000)) field = *std::move(value);
  }
};

void ReadFields(ShopRow f, MachineTool& m) {
  f.Text("words", m.words);
  if (const auto travel = f.table.Point_mm("travel_mm")) m.travel_mm = *travel;
  f.Length("swing_mm", m.swing_mm);
  f.Length("swing_cross_slide_mm", m.swing_cross_slide_mm);
  f.Length("between_centres_mm", m.between_centres_mm);
  f.Length("daylight_mm", m.daylight_mm);
  f.Length("quill_mm", m.quill_mm);
  f.Length("nose_diameter_mm", m.nose_diameter_mm);
  f.Length("spindle_bore_mm", m.spindle_bore_mm);
  f.Number("power_W", m.power_W);
  f.Numbers("speeds_rpm", m.speeds_rpm);
  f.Length("feed_max_mm_min", m.feed_max_mm_min);
  f.Flag("readout", m.readout);
  f.Whole("x_sense", m.x_sense, -1, 1);
  f.Whole("y_sense", m.y_sense, -1, 1);
  f.Whole("z_sense", m.z_sense, -1, 1);
  f.Flag("x_reads_diameter", m.x_reads_diameter);
  f.Lengths("pitches_mm", m.pitches_mm);
  f.Length("top_slide_mm", m.top_slide_mm);
  f.Length("tailstock_over_mm", m.tailstock_over_mm);
}

void ReadFields(ShopRow f, HoldingDevice& h) {
  if (auto on = f.table.String("on")) h.on = MachineToolId(*std::move(on));
  f.Text("words", h.words);
  f.Length("opening_mm", h.opening_mm);
  f.Length("jaw_width_mm", h.jaw_width_mm);
  f.Length("jaw_height_mm", h.jaw_height_mm);
  f.Length("jaw_thickness_mm", h.jaw_thickness_mm);
  f.Length("bed_height_mm", h.bed_height_mm);
  f.Flag("fixed_jaw_at_rear", h.fixed_jaw_at_rear);
  f.Lengths("parallels_mm", h.parallels_mm);
  f.Length("parallel_thickness_mm", h.parallel_thickness_mm);
  f.Length("thin_parallel_thickness_mm", h.thin_parallel_thickness_mm);
  f.Length("body_diameter_mm", h.body_diameter_mm);
  f.Length("body_length_mm", h.body_length_mm);
  f.Length("jaw_reach_mm", h.jaw_reach_mm);
  f.Length("jaw_step_mm", h.jaw_step_mm);
  f.Length("grip_min_mm", h.grip_min_mm);
  f.Length("grip_max_mm", h.grip_max_mm);
  f.Length("bore_mm", h.bore_mm);
  f.Flag("soft_jaws", h.soft_jaws);
}

void ReadFields(ShopRow f, Tool& t) {
  f.Text("words", t.words);
  f.Text("on", t.on);
  f.Length("diameter_mm", t.diameter_mm);
  f.Length("diameter_min_mm", t.diameter_min_mm);
  f.Number("point_deg", t.point_deg);
  f.Length("tip_flat_mm", t.tip_flat_mm);
  f.Length("flute_mm", t.flute_mm);
  f.Length("stick_out_mm", t.stick_out_mm);
  f.Length("shank_mm", t.shank_mm);
  f.Length("holder_diameter_mm", t.holder_diameter_mm);
  f.Length("holder_length_mm", t.holder_length_mm);
  f.Whole("teeth", t.teeth, 1, 1000);
  f.Flag("centre_cutting", t.centre_cutting);
  f.Flag("carbide", t.carbide);
  f.Text("thread", t.thread);
  // Parts name their threads as the table does; a tool is matched by that name.
  if (const auto* row = trade::FindThread(t.thread)) t.thread = row->designation;
  f.Text("fit", t.fit);
  f.Number("rpm_max", t.rpm_max);
  f.Length("width_mm", t.width_mm);
  f.Length("reach_mm", t.reach_mm);
  f.Length("nose_radius_mm", t.nose_radius_mm);
  f.Length("hollow_radius_mm", t.hollow_radius_mm);
  f.Length("pitch_mm", t.pitch_mm);
  if (const auto section = f.table.PointList_mm("section_T_mm", 2, 2)) {
    t.section_T_mm.clear();
    for (const auto& corner : *section) t.section_T_mm.emplace_back(corner[0], corner[1]);
  }
}

void ReadFields(ShopRow f, Instrument& i) {
  f.Text("words", i.words);
  f.Length("from_mm", i.from_mm);
  f.Length("to_mm", i.to_mm);
  f.Length("finder_diameter_mm", i.finder_diameter_mm);
  f.Length("centres_mm", i.centres_mm);
  f.Lengths("blocks_mm", i.blocks_mm);
}

// [[group]]: a known name is changed, a new one is added and must say its kind.
template <typename Item>
void ReadGroup(TableReader& shop_table, std::string_view group, std::vector<Item>& items) {
  std::vector<std::string> seen;
  for (TableReader table : shop_table.Tables(group)) {
    const auto name = table.Name("name");
    table.Require("name", "give it a name");
    const auto kind = table.Word<decltype(Item::kind)>("kind");
    Item fresh;
    if (name) fresh.name = decltype(Item::name)(*name);
    fresh.words = name.value_or("");
    const auto known = std::find_if(items.begin(), items.end(),
                                    [&](const Item& i) { return name && i.name == fresh.name; });
    Item& item = known == items.end() ? fresh : *known;
    if (known == items.end()) {
      table.Require("kind",
                    fmt::format("write one of: {}", ListOf(WordList<decltype(Item::kind)>())));
    }
    if (kind) item.kind = *kind;
    ReadFields(ShopRow{table}, item);
    table.Finish();
    if (!name) continue;
    if (std::find(seen.begin(), seen.end(), *name) != seen.end()) {
      table.Fault(ErrorCode::kDuplicateName, "name", "the name is given twice",
                  "names are given once: choose another");
    }
    seen.push_back(*name);
    table.Locate(fmt::format("shop.{}.{}", group, *name));
    if (known == items.end()) items.push_back(std::move(fresh));
  }
}

template <typename Item>
bool Remove(std::vector<Item>& items, const std::string& name) {
  const auto old = items.size();
  std::erase_if(items, [&](const Item& item) { return item.name.text() == name; });
  return items.size() != old;
}

template <typename Item>
void AddNames(const std::vector<Item>& items, std::vector<std::string>& names) {
  for (const Item& item : items) names.push_back(item.name.text());
}

void TakeAway(TableReader& table, Shop& shop) {
  const auto without = table.Strings("without");
  if (!without) return;
  for (const std::string& name : *without) {
    if (Remove(shop.machines, name)) {
      // What goes on a machine goes with it.
      std::erase_if(shop.holding, [&](const HoldingDevice& h) { return h.on.text() == name; });
      continue;
    }
    if (Remove(shop.holding, name) || Remove(shop.tools, name) || Remove(shop.instruments, name)) {
      continue;
    }
    std::vector<std::string> names;
    AddNames(shop.machines, names);
    AddNames(shop.holding, names);
    AddNames(shop.tools, names);
    AddNames(shop.instruments, names);
    table.Fault(
        ErrorCode::kUnknownInShop, "without", fmt::format("the shop has no {} to take away", name),
        names.empty() ? "take it out"
                      : fmt::format("write \"{}\", or take it out", NearestOf(name, names)));
  }
}

// Errors made by one machine, device, setup or tool are common by their scope: no figure ties them.
void RefuseCorrelation(TableReader& table) {
  for (const std::string_view key : {"correlation", "correlated_with"}) {
    const std::vector<std::string> keys = table.Keys();
    if (std::find(keys.begin(), keys.end(), key) == keys.end() || !table.Has(key)) continue;
    table.Fault(ErrorCode::kUnknownKey, key, "no figure ties one error of a shop to another",
                "take it out: what one machine, device, setup, tool or instrument does to several cuts "
                "is one error already, by the row's scope in data/spreads.csv");
  }
}

// A figure stated far from what any shop is taken to hold: read, but said.
constexpr double kFarOff = 5;

void NoteFarMean(const Spread& spread, ReadLog& log) {
  const double worn = std::max(std::abs(spread.worn.mean), spread.worn.spread);
  if (!(std::abs(spread.usual.mean) > kFarOff * worn)) return;
  log.warnings.push_back(fmt::format(
      "shop: the mean of {} is {:g} {}, over five times what a worn shop is off ({:g}): taken as written.",
      spread.id, spread.usual.mean, spread.unit, worn));
}

void NoteFarOff(const Spread& spread, ReadLog& log) {
  if (spread.distribution != SpreadDistribution::kLognormal) NoteFarMean(spread, log);
  const double value = spread.usual.spread;
  const bool big = spread.worn.spread > 0 && value > kFarOff * spread.worn.spread;
  const bool small = value > 0 && value * kFarOff < spread.careful.spread;
  if (!big && !small) return;
  log.warnings.push_back(fmt::format(
      "shop: the spread {} is {:g} {}, {} ({:g}): taken as written.", spread.id, value, spread.unit,
      big ? "over five times what a worn shop has" : "under a fifth of what a careful shop has",
      big ? spread.worn.spread : spread.careful.spread));
}

void ReadSpreads(TableReader& table, Shop& shop) {
  auto spreads = table.Table("spread");
  if (!spreads) return;
  std::vector<std::string> known;
  for (const auto& [id, spread] : shop.spreads) known.push_back(id);
  for (const std::string& id : spreads->Keys()) {
    auto one = spreads->Table(id);
    const auto found = shop.spreads.find(id);
    if (found == shop.spreads.end()) {
      spreads->Fault(
          ErrorCode::kUnknownSpread, id, "no spread has this name",
          fmt::format("write \"{}\", or one of: {}", NearestOf(id, known), ListOf(known, 200)));
      continue;
    }
    if (!one) continue;
    Spread& spread = found->second;
    ShopRow fields{*one};
    fields.Number("spread", spread.usual.spread);
    fields.Number("mean", spread.usual.mean);
    bool measured = false;
    fields.Flag("measured", measured);
    spread.origin = measured ? SpreadOrigin::kMeasured : SpreadOrigin::kStated;
    if (!one->Has("spread") && !one->Has("mean")) one->Require("spread", "write spread = ...");
    RefuseCorrelation(*one);
    one->Finish();
    NoteFarOff(spread, table.log());
    one->Locate(fmt::format("shop.spread.{}", id));
  }
}

void ReadRemedies(TableReader& shop_table, Shop& shop) {
  for (TableReader table : shop_table.Tables("remedy")) {
    const auto what = table.String("for_what");
    table.Require("for_what", "name a requirement, a kind of requirement, or \"size\"");
    Remedy fresh;
    fresh.for_what = what.value_or("");
    const auto known = std::find_if(shop.remedies.begin(), shop.remedies.end(),
                                    [&](const Remedy& r) { return r.for_what == fresh.for_what; });
    Remedy& remedy = known == shop.remedies.end() ? fresh : *known;
    ShopRow fields{table};
    fields.Text("words", remedy.words);
    fields.Number("minutes", remedy.minutes);
    fields.Number("mends", remedy.mends);
    table.Finish();
    table.Locate(fmt::format("shop.remedy.{}", fresh.for_what));
    if (what && known == shop.remedies.end()) shop.remedies.push_back(fresh);
  }
}

void ReadTimes(TableReader& shop_table, HandlingTimes& times) {
  auto table = shop_table.Table("times");
  if (!table) return;
  const auto minutes = [&](std::string_view key, double& field) {
    const auto value = table->Number(key);
    if (!value) return;
    field = *value;
    if (*value >= 0) return;
    table->Fault(ErrorCode::kOutOfRange, key, "a time is below zero", "write minutes");
  };
  minutes("device_change", times.device_change);
  minutes("seat_in_vise", times.seat_in_vise);
  minutes("seat_in_chuck", times.seat_in_chuck);
  minutes("seat_in_four_jaw", times.seat_in_four_jaw);
  minutes("tool_change", times.tool_change);
  minutes("find_edge", times.find_edge);
  minutes("centre_bore", times.centre_bore);
  minutes("measure", times.measure);
  minutes("assemble_screw", times.assemble_screw);
  minutes("assemble_place", times.assemble_place);
  minutes("deburr_feature", times.deburr_feature);
  minutes("move_to_hole", times.move_to_hole);
  table->Finish();
}

}  // namespace

void ReadShop(const SourceFile& file, Shop& shop, ReadLog& log) {
  TableReader table(file, file.table, "", LengthUnit::kMillimetre, log);
  ReadFormat(table, kShopFormat);
  ShopRow fields{table};
  fields.Text("name", shop.name);
  if (ReadUnit(table, "units") == LengthUnit::kInch) {
    table.Fault(ErrorCode::kUnknownWord, "units", "the keys of a shop carry their own unit, mm",
                "write units = \"mm\", and lengths in inches as \"1/2 in\"");
  }
  if (const auto level = table.Word<ShopLevel>("level")) shop.level = *level;
  TakeAway(table, shop);
  ReadGroup(table, "machine", shop.machines);
  ReadGroup(table, "holding", shop.holding);
  ReadGroup(table, "tool", shop.tools);
  ReadGroup(table, "instrument", shop.instruments);
  ReadSpreads(table, shop);
  ReadRemedies(table, shop);
  ReadTimes(table, shop.times);
  RefuseCorrelation(table);
  table.Finish();
}

}  // namespace fitwright::files
