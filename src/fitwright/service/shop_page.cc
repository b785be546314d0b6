// The shop for the page.
#include <fmt/format.h>

#include <algorithm>

#include "fitwright/service/book_json.h"
#include "fitwright/service/json_text.h"
#include "fitwright/service/part_pages.h"
#include "fitwright/sheets/numbers.h"
#include "fitwright/sheets/words.h"

namespace fitwright::service {
namespace {

using sheets::Align;
using sheets::NameText;
using sheets::Piece;
using sheets::Table;
using sheets::Tone;

class ShopPage {
 public:
  explicit ShopPage(const Opened& opened) : shop_(opened.project.shop), unit_(opened.unit) {}

  std::vector<Piece> Make() {
    Add(sheets::Heading{1, "Shop", shop_.name});
    AddFront();
    AddMachines();
    AddHolding();
    AddTools();
    AddInstruments();
    AddSpreads();
    AddTimes();
    return std::move(pieces_);
  }

 private:
  void Add(Piece piece) { pieces_.push_back(std::move(piece)); }
  void AddEntry(std::string label, std::string text, Tone tone = Tone::kPlain) {
    Add(sheets::Entry{std::move(label), std::move(text), tone});
  }
  std::string Length(double mm) const { return mm == 0 ? "" : sheets::NamedLength(mm, unit_); }
  std::string Bare(double mm) const { return mm == 0 ? "" : sheets::PlainLength(mm, unit_); }
  std::string UnitHead() const { return std::string(UnitWord(unit_)); }

  void AddFront() {
    if (shop_.is_default) {
      AddEntry("Look here",
               "No shop.toml stands in the folder: these are the default shop's machines, tools "
               "and figures. Your own go into a shop.toml.",
               Tone::kLook);
    }
    AddEntry("Level", std::string(WordOf(shop_.level)) + ": which column of the spreads is taken");
    const auto count = [&](SpreadOrigin origin) {
      return std::count_if(shop_.spreads.begin(), shop_.spreads.end(),
                           [&](const auto& one) { return one.second.origin == origin; });
    };
    AddEntry("Spreads",
             fmt::format("{} measured in this shop, {} said by you, {} of the default shop",
                         count(SpreadOrigin::kMeasured), count(SpreadOrigin::kStated),
                         count(SpreadOrigin::kDefault)));
  }

  void AddMachines() {
    for (const MachineTool& tool : shop_.machines) {
      Add(sheets::Heading{
          2, sheets::Capital(tool.words.empty() ? NameText(tool.name.text()) : tool.words),
          std::string(NameText(WordOf(tool.kind)))});
      const std::string speeds =
          tool.speeds_rpm.empty()
              ? ""
              : fmt::format("{:.0f} to {:.0f} rpm in {} steps", tool.speeds_rpm.front(),
                            tool.speeds_rpm.back(), tool.speeds_rpm.size());
      const std::vector<std::pair<const char*, std::string>> facts = {
          {"Travel", Travel(tool)},
          {"Swing", Length(tool.swing_mm)},
          {"Over cross slide", Length(tool.swing_cross_slide_mm)},
          {"Between centres", Length(tool.between_centres_mm)},
          {"Daylight", Length(tool.daylight_mm)},
          {"Quill", Length(tool.quill_mm)},
          {"Spindle bore", Length(tool.spindle_bore_mm)},
          {"Speeds", speeds},
          {"Power", tool.power_W > 0 ? fmt::format("{:.0f} W", tool.power_W) : ""},
          {"Read on", tool.kind == MachineToolKind::kBench
                          ? ""
                          : std::string(tool.readout ? "a readout" : "hand dials")}};
      for (const auto& [label, text] : facts) {
        if (!text.empty()) AddEntry(label, text);
      }
      if (tool.kind != MachineToolKind::kBench) AddEntry("Counts", Senses(tool));
    }
  }

  std::string Travel(const MachineTool& tool) const {
    if (tool.travel_mm.isZero()) return "";
    if (tool.kind == MachineToolKind::kLathe) {
      return fmt::format("{} across, {} along", Length(tool.travel_mm.x()),
                         Length(tool.travel_mm.z()));
    }
    return fmt::format("X {}, Y {}, Z {}", Length(tool.travel_mm.x()), Length(tool.travel_mm.y()),
                       Length(tool.travel_mm.z()));
  }
  static std::string Senses(const MachineTool& tool) {
    if (tool.kind == MachineToolKind::kLathe) {
      return fmt::format(
          "X {}{}; Z {}", tool.x_sense > 0 ? "up towards you" : "down towards you",
          tool.x_reads_diameter ? ", on the diameter" : ", on the radius",
          tool.z_sense > 0 ? "up towards the tailstock" : "down towards the tailstock");
    }
    return fmt::format("X {}, Y {}, Z {}",
                       tool.x_sense > 0 ? "up to the right" : "down to the right",
                       tool.y_sense > 0 ? "up away from you" : "down away from you",
                       tool.z_sense > 0 ? "up upwards" : "down upwards");
  }

  void AddHolding() {
    Add(sheets::Heading{2, "Held with", ""});
    Table table;
    table.columns = {{"device", "", Align::kLeft, true},
                     {"kind", "", Align::kLeft, false},
                     {"on", "", Align::kLeft, false},
                     {"takes", UnitHead(), Align::kLeft, false}};
    for (const HoldingDevice& device : shop_.holding) {
      std::string takes = device.opening_mm > 0 ? "to " + Bare(device.opening_mm) : "";
      if (device.grip_max_mm > 0) {
        takes = fmt::format("{} to {}", sheets::PlainLength(device.grip_min_mm, unit_),
                            Bare(device.grip_max_mm));
      }
      table.rows.push_back({device.words.empty() ? NameText(device.name.text()) : device.words,
                            NameText(WordOf(device.kind)), NameText(device.on.text()), takes});
    }
    Add(std::move(table));
  }

  void AddTools() {
    Add(sheets::Heading{2, "Tools", fmt::format("{}", shop_.tools.size())});
    Table table;
    table.columns = {{"tool", "", Align::kLeft, true},
                     {"on", "", Align::kLeft, false},
                     {"diameter", UnitHead(), Align::kPoint, false},
                     {"cuts", UnitHead(), Align::kPoint, false},
                     {"out", UnitHead(), Align::kPoint, false},
                     {"of", "", Align::kLeft, false}};
    for (const Tool& tool : shop_.tools) {
      table.rows.push_back({tool.words.empty() ? NameText(tool.name.text()) : tool.words,
                            NameText(tool.on), Bare(tool.diameter_mm), Bare(tool.flute_mm),
                            Bare(tool.stick_out_mm), tool.carbide ? "carbide" : ""});
    }
    Add(std::move(table));
  }

  void AddInstruments() {
    Add(sheets::Heading{2, "Instruments", ""});
    Table table;
    table.columns = {{"instrument", "", Align::kLeft, true},
                     {"kind", "", Align::kLeft, false},
                     {"from", UnitHead(), Align::kPoint, false},
                     {"to", UnitHead(), Align::kPoint, false}};
    for (const Instrument& instrument : shop_.instruments) {
      table.rows.push_back(
          {instrument.words.empty() ? NameText(instrument.name.text()) : instrument.words,
           NameText(WordOf(instrument.kind)), sheets::PlainLength(instrument.from_mm, unit_),
           Bare(instrument.to_mm)});
    }
    Add(std::move(table));
  }

  static std::string Figure(const SpreadFigure& figure) {
    const std::string mean = figure.mean == 0 ? "" : fmt::format("{:g} + ", figure.mean);
    return fmt::format("{}{:g}", mean, figure.spread);
  }
  static std::string OriginText(const Spread& spread) {
    switch (spread.origin) {
      case SpreadOrigin::kMeasured:
        return "measured here";
      case SpreadOrigin::kStated:
        return "said by you";
      case SpreadOrigin::kDefault:
        break;
    }
    return spread.basis;
  }

  void AddSpreads() {
    Add(sheets::Heading{2, "Spreads", "as the table has them, each in its own unit"});
    Add(sheets::Paragraph{
        "How far things come out from what was meant: careful, usual and worn. The usual one is "
        "taken unless the shop says otherwise. Measure one and it becomes yours.",
        Tone::kNote});
    Table table;
    table.columns = {{"what", "", Align::kLeft, true},      {"unit", "", Align::kLeft, false},
                     {"careful", "", Align::kPoint, false}, {"usual", "", Align::kPoint, false},
                     {"worn", "", Align::kPoint, false},    {"anew each", "", Align::kLeft, true},
                     {"from", "", Align::kLeft, true}};
    for (const auto& [id, spread] : shop_.spreads) {
      table.rows.push_back({spread.words, spread.unit, Figure(spread.careful), Figure(spread.usual),
                            Figure(spread.worn), spread.scope, OriginText(spread)});
    }
    Add(std::move(table));
  }

  void AddTimes() {
    const HandlingTimes& times = shop_.times;
    Add(sheets::Heading{2, "What things take", ""});
    Table table;
    table.columns = {{"what", "", Align::kLeft, true}, {"time", "min", Align::kPoint, false}};
    const std::vector<std::pair<const char*, double>> rows = {
        {"change of the holding device", times.device_change},
        {"seat in the vise", times.seat_in_vise},
        {"seat in the chuck", times.seat_in_chuck},
        {"seat in the four-jaw", times.seat_in_four_jaw},
        {"change of tool", times.tool_change},
        {"find an edge", times.find_edge},
        {"centre on a bore", times.centre_bore},
        {"measure", times.measure},
        {"put a screw in", times.assemble_screw},
        {"put a part in its place", times.assemble_place},
        {"take burrs off a feature", times.deburr_feature},
        {"move to a hole", times.move_to_hole}};
    for (const auto& [what, minutes] : rows) table.rows.push_back({what, FormatFixed(minutes, 1)});
    Add(std::move(table));
  }

  const Shop& shop_;
  LengthUnit unit_;
  std::vector<Piece> pieces_;
};

}  // namespace

std::vector<Piece> MakeShopPage(const Opened& opened) { return ShopPage(opened).Make(); }

std::string ShopToJson(const Opened& opened) {
  std::string pieces;
  for (const Piece& piece : MakeShopPage(opened))
    pieces += (pieces.empty() ? "" : ",") + PieceToJson(piece);
  return fmt::format(R"({{"schema":"{}","unit":"{}","name":{},"pieces":[{}]}})", kShopSchemaId,
                     opened.unit == LengthUnit::kInch ? "inch" : "mm",
                     JsonString(opened.project.shop.name), pieces) +
         "\n";
}

}  // namespace fitwright::service
