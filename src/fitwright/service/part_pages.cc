#include "fitwright/service/part_pages.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <iterator>

#include "fitwright/model/stock_words.h"
#include "fitwright/review/review.h"
#include "fitwright/service/book_json.h"
#include "fitwright/service/json_text.h"
#include "fitwright/service/sheet_lines.h"
#include "fitwright/sheets/numbers.h"
#include "fitwright/sheets/words.h"

namespace fitwright::service {
namespace {

using sheets::Align;
using sheets::NameText;
using sheets::Piece;
using sheets::Tone;

// "+z", or a slanting direction by its parts.
std::string SideWords(const Vec3& direction) {
  constexpr double kAlong = 1 - 1e-9;
  for (int axis = 0; axis < 3; ++axis) {
    if (std::abs(direction[axis]) < kAlong) continue;
    return fmt::format("{}{}", direction[axis] > 0 ? '+' : '-', "xyz"[axis]);
  }
  return fmt::format("{:.3f}, {:.3f}, {:.3f}", direction.x(), direction.y(), direction.z());
}

struct FeatureRow {
  std::string what;
  const Size* size = nullptr;  // the one that carries limits
};

// What a feature is, in the trade's words.
class FeatureWords {
 public:
  explicit FeatureWords(LengthUnit unit) : unit_(unit) {}

  FeatureRow operator()(const PlanarFace& face) const {
    return {fmt::format("face, looks {}", SideWords(face.normal_P)), &face.at};
  }
  FeatureRow operator()(const Hole& hole) const {
    const std::size_t count = hole.entries_P_mm.size();
    const std::string_view kind = hole.use == HoleUse::kBore          ? "bore"
                                  : hole.use == HoleUse::kCounterbore ? "counterbore"
                                                                      : "hole";
    std::string what = count == 1 ? std::string(kind) : fmt::format("{} {}s", count, kind);
    what += fmt::format(" from {}", SideWords(-hole.into_P));
    what += hole.through ? ", through" : fmt::format(", {} deep", Length(hole.depth_mm));
    if (hole.thread) {
      what += fmt::format(", {} {} deep", hole.thread->designation, Length(hole.thread->depth_mm));
    }
    if (hole.circle) what += fmt::format(", on a circle of {}", Length(hole.circle->diameter_mm));
    return {what, &hole.diameter};
  }
  FeatureRow operator()(const OuterDiameter& outer) const {
    return {fmt::format("{}, {} long", outer.spigot ? "spigot" : "outer diameter",
                        Length(outer.to_mm - outer.from_mm)),
            &outer.diameter};
  }
  FeatureRow operator()(const Slot& slot) const {
    return {fmt::format("slot from {}, {} long, {}", SideWords(-slot.into_P), Length(slot.length_mm),
                        Depth(slot.through, slot.depth_mm)),
            &slot.width};
  }
  FeatureRow operator()(const Pocket& pocket) const {
    return {fmt::format("pocket from {}, {} x {}, corners {}, {} deep", SideWords(-pocket.into_P),
                        Length(pocket.length_mm), Length(pocket.width_mm),
                        Length(pocket.corner_radius_mm), Length(pocket.depth_mm)),
            nullptr};
  }
  FeatureRow operator()(const StepCut& step) const {
    const Vec3 size = step.removed_P.size_mm();
    return {fmt::format("step from {}, {} x {} x {} taken off", SideWords(-step.into_P),
                        Length(size.x()), Length(size.y()), Length(size.z())),
            nullptr};
  }
  FeatureRow operator()(const EdgeChamfer& edge) const {
    return {fmt::format("{} {} between {} and {}", edge.rounded ? "round" : "chamfer",
                        Legs(edge.leg_a_mm, edge.leg_b_mm), NameText(edge.face_a.text()),
                        NameText(edge.face_b.text())),
            nullptr};
  }
  FeatureRow operator()(const RoundChamfer& edge) const {
    const std::string_view kind = edge.countersink ? "countersink"
                                  : edge.rounded   ? "round"
                                                   : "chamfer";
    return {fmt::format("{} {} on {}", kind, Legs(edge.axial_mm, edge.radial_mm),
                        NameText(edge.on.text())),
            nullptr};
  }
  FeatureRow operator()(const Groove& groove) const {
    return {
        fmt::format("{}{}, {} wide", groove.internal ? "inside " : "",
                    groove.undercut ? "undercut" : "groove", Length(groove.to_mm - groove.from_mm)),
        &groove.diameter};
  }
  FeatureRow operator()(const Flats& flats) const {
    return {fmt::format("{} flat{}, {} long, across", flats.count, flats.count == 1 ? "" : "s",
                        Length(flats.to_mm - flats.from_mm)),
            &flats.across};
  }
  FeatureRow operator()(const Taper& taper) const {
    return {fmt::format("{} taper, {} long, to {}", taper.internal ? "inside" : "outside",
                        Length(taper.to_mm - taper.from_mm), Length(taper.end_diameter.nominal_mm)),
            &taper.start_diameter};
  }
  FeatureRow operator()(const ExternalThread& thread) const {
    return {fmt::format("{} on {}, {} long", thread.designation, NameText(thread.on.text()),
                        Length(thread.length_mm)),
            nullptr};
  }
  FeatureRow operator()(const Keyway& keyway) const {
    return {fmt::format("keyway {}, {} long", keyway.internal ? "in the bore" : "in the shaft",
                        Length(keyway.to_mm - keyway.from_mm)),
            &keyway.width};
  }
  FeatureRow operator()(const Knurl& knurl) const {
    return {fmt::format("{} knurl on {}, pitch {}", WordOf(knurl.pattern),
                        NameText(knurl.on.text()), Length(knurl.pitch_mm)),
            nullptr};
  }
  FeatureRow operator()(const Marking& marking) const {
    return {fmt::format("letters \"{}\", {} high", marking.text, Length(marking.height_mm)),
            nullptr};
  }
  FeatureRow operator()(const Outline& outline) const {
    if (!outline.line.empty()) {
      return {fmt::format("{} from {}: a line of {} stretches, {}", outline.within ? "cutout" : "outline",
                          SideWords(-outline.into_P), outline.line.size(),
                          Depth(outline.depth_mm == 0, outline.depth_mm)),
              nullptr};
    }
    return {fmt::format("outline from {}: {} discs and {} bars", SideWords(-outline.into_P),
                        outline.discs.size(), outline.bars.size()),
            nullptr};
  }

 private:
  std::string Length(double mm) const { return sheets::NamedLength(mm, unit_); }
  std::string Depth(bool through, double depth_mm) const {
    return through ? "through" : Length(depth_mm) + " deep";
  }
  std::string Legs(double a_mm, double b_mm) const {
    return a_mm == b_mm ? Length(a_mm) : fmt::format("{} x {}", Length(a_mm), Length(b_mm));
  }

  LengthUnit unit_;
};

std::string OriginText(const Part& part, const Size& size) {
  switch (size.origin) {
    case LimitsOrigin::kFit:
      return size.fit;
    case LimitsOrigin::kPlusMinus:
    case LimitsOrigin::kLimits:
      return "said in the sheet";
    case LimitsOrigin::kGeneralTolerance:
      break;
  }
  return "ISO 2768-" + part.general_tolerance;
}

std::string StockText(const Stock& stock, LengthUnit unit) {
  return StockWords(stock, [&](double mm) { return sheets::NamedLength(mm, unit); }) +
         (stock.proposed ? " (proposed: the sheet says none)" : "");
}

class PartPage {
 public:
  PartPage(const Opened& opened, const Part& part, const std::vector<review::Finding>& findings)
      : opened_(opened), part_(part), findings_(findings) {}

  std::vector<Piece> Make() {
    const PartUse* use = opened_.project.machine.FindUse(part_.name);
    const int quantity = use == nullptr ? 1 : use->quantity;
    Add(sheets::Heading{1, sheets::Capital(NameText(part_.name.text())),
                        quantity == 1 ? "one is made" : fmt::format("{} are made", quantity)});
    AddFront();
    AddDoubts();
    AddFeatures();
    return std::move(pieces_);
  }

 private:
  void Add(Piece piece) { pieces_.push_back(std::move(piece)); }
  void AddEntry(std::string label, std::string text, Tone tone = Tone::kPlain) {
    Add(sheets::Entry{std::move(label), std::move(text), tone});
  }

  void AddFront() {
    AddEntry("Material", part_.material);
    AddEntry("Stock", StockText(part_.stock, opened_.unit));
    AddEntry("Otherwise", "limits after ISO 2768-" + part_.general_tolerance);
    AddEntry("Drawn in", std::string(UnitWord(part_.sheet_unit)));
    if (part_.mirror_of)
      AddEntry("Mirror", "of " + NameText(part_.mirror_of->text()) + ": change that one's sheet");
    for (const Joint& joint : opened_.project.machine.joints) {
      const bool fixed = SheetIdOf(joint.fixed.part) == part_.name;
      if (!fixed && SheetIdOf(joint.moving.part) != part_.name) continue;
      const FeatureRef& own = fixed ? joint.fixed : joint.moving;
      const FeatureRef& other = fixed ? joint.moving : joint.fixed;
      std::string text = fmt::format("{}: {} with {}", NameText(WordOf(joint.kind)),
                                     NameText(own.feature.text()), NameText(other));
      if (joint.screw) {
        text += fmt::format(", {} x {}", joint.screw->thread,
                            sheets::NamedLength(joint.screw->length_mm, opened_.unit));
      }
      AddEntry("Joint", text);
    }
  }

  bool IsAbout(const std::string& where) const {
    return where == part_.name.text() || where.starts_with(part_.name.text() + ".");
  }

  void AddDoubts() {
    for (const UnreadRegion& region : part_.unread) {
      AddEntry("Stop",
               fmt::format("{} faces of the file's solid were not understood: {} It is shaped by "
                           "hand there.",
                           region.faces.size(), region.why),
               Tone::kStop);
    }
    for (const review::Finding& finding : findings_) {
      if (!IsAbout(finding.where)) continue;
      AddEntry("Look here",
               sheets::SentenceInUnit(finding.say + " " + finding.remedy, opened_.unit, {}),
               Tone::kLook);
    }
    const std::string file = fmt::format("parts/{}.toml", part_.name.text());
    for (const std::vector<std::string>* list :
         {&opened_.project.warnings, &opened_.project.assumed}) {
      for (const std::string& sentence : *list) {
        if (!sentence.starts_with(file) && !IsAbout(sentence.substr(0, sentence.find(':'))))
          continue;
        AddEntry("Assumed", sheets::SentenceInUnit(sentence, opened_.unit, {}), Tone::kNote);
      }
    }
  }

  void AddFeatures() {
    Add(sheets::Heading{2, "Features", fmt::format("{}", part_.features.size())});
    const std::string unit(UnitWord(opened_.unit));
    sheets::Table table;
    table.columns = {{"feature", "", Align::kLeft, true},  {"what", "", Align::kLeft, true},
                     {"size", unit, Align::kPoint, false}, {"limits", unit, Align::kLeft, false},
                     {"from", "", Align::kLeft, false},    {"besides", "", Align::kLeft, true}};
    for (const Feature& feature : part_.features) {
      const FeatureRow row = std::visit(FeatureWords(opened_.unit), feature.shape);
      std::vector<std::string> cells = {NameText(feature.name.text()), row.what, "", "", ""};
      if (row.size != nullptr) {
        cells[2] = sheets::FineLength(row.size->nominal_mm, opened_.unit);
        cells[3] = sheets::LimitsText(row.size->lower_mm, row.size->upper_mm, opened_.unit);
        cells[4] = OriginText(part_, *row.size);
      }
      cells.push_back(BesidesText(feature));
      table.rows.push_back(std::move(cells));
    }
    Add(std::move(table));
  }

  std::string BesidesText(const Feature& feature) const {
    std::vector<std::string> words;
    if (feature.finish != Finish::kAsMachined) words.emplace_back(NameText(WordOf(feature.finish)));
    if (feature.do_not_grip) words.emplace_back("not gripped");
    if (feature.ra_um) words.push_back(fmt::format("Ra {:g} um", *feature.ra_um));
    for (const GeometricLimit& limit : feature.geometric) {
      words.push_back(fmt::format("{} within {}{}", NameText(WordOf(limit.kind)),
                                  sheets::NamedLength(limit.within_mm, opened_.unit),
                                  limit.datum ? " of " + NameText(limit.datum->text()) : ""));
    }
    if (!feature.note.empty()) words.push_back(feature.note);
    std::string text;
    for (const std::string& word : words) text += (text.empty() ? "" : "; ") + word;
    return text;
  }

  const Opened& opened_;
  const Part& part_;
  const std::vector<review::Finding>& findings_;
  std::vector<Piece> pieces_;
};

Result<std::string> LinesOf(const Opened& opened, const std::string& file) {
  std::ifstream in(opened.project.dir / file, std::ios::binary);
  const std::string sheet{std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
  if (!in) {
    return Unexpected(
        Error{ErrorCode::kFileUnreadable, "this sheet cannot be read", "", "", {file, 0, 0, ""}});
  }
  std::string lines;
  for (const SheetLine& line : ReadSheetLines(sheet)) {
    lines += fmt::format(
        R"({}{{"line":{},"table":{},"key":{},"value":{},"remark":{},"proposed":{},"text":{}}})",
        lines.empty() ? "" : ",", line.line, JsonString(line.table), JsonString(line.key),
        JsonString(line.value), JsonString(line.remark), line.proposed, JsonString(line.text));
  }
  return "[" + lines + "]";
}

std::string PiecesText(const std::vector<Piece>& pieces) {
  std::string text;
  for (const Piece& piece : pieces) text += (text.empty() ? "" : ",") + PieceToJson(piece);
  return "[" + text + "]";
}

}  // namespace

Result<std::string> PartsToJson(const Opened& opened) {
  const std::vector<review::Finding> findings = review::Review(opened.project.machine);
  std::string parts;
  for (const Part& part : opened.project.machine.parts) {
    const std::string file = fmt::format("parts/{}.toml", part.name.text());
    const auto lines = LinesOf(opened, file);
    if (!lines) return lines;
    const PartUse* use = opened.project.machine.FindUse(part.name);
    parts += fmt::format(R"({}{{"name":{},"file":{},"quantity":{},"pieces":{},"lines":{}}})",
                         parts.empty() ? "" : ",", JsonString(part.name.text()), JsonString(file),
                         use == nullptr ? 1 : use->quantity, PiecesText(PartPage(opened, part, findings).Make()),
                         *lines);
  }
  const auto machine = LinesOf(opened, "machine.toml");
  if (!machine) return machine;
  return fmt::format(
             R"({{"schema":"{}","unit":"{}","parts":[{}],"machine":{{"file":"machine.toml","lines":{}}}}})",
             kPartsSchemaId, opened.unit == LengthUnit::kInch ? "inch" : "mm", parts, *machine) +
         "\n";
}

}  // namespace fitwright::service
