#include "fitwright/files/part_reader.h"

#include <algorithm>
#include <cmath>

#include "fitwright/files/dimensions_reader.h"
#include "fitwright/files/feature_reader.h"
#include "fitwright/files/size_reader.h"
#include "fitwright/model/material.h"
#include "fitwright/trade/general_tolerance.h"
#include "fitwright/trade/materials.h"
#include "fitwright/units/length.h"

namespace fitwright::files {
namespace {

std::string NameOfFile(const SourceFile& file) { return file.name; }

void ReadMaterial(TableReader& sheet, Part& part) {
  const auto text = sheet.String("material");
  sheet.Require("material", "write its material: material = \"aluminium\"");
  if (!text) return;
  const auto* material = trade::FindMaterial(*text);
  if (material != nullptr) {
    part.material = std::string(material->name);
    return;
  }
  std::vector<std::string> nearest;
  for (const auto known : trade::NearestMaterials(*text)) nearest.emplace_back(known);
  std::vector<std::string> all;
  for (const auto& row : trade::Materials()) all.emplace_back(row.name);
  sheet.Fault(ErrorCode::kUnknownMaterial, "material", "the material is not in the table",
              fmt::format("nearest: {}; known: {}", ListOf(nearest), ListOf(all)));
}

void ReadClass(TableReader& sheet, Part& part) {
  const auto klass = sheet.String("general_tolerance");
  if (!sheet.Has("general_tolerance")) {
    sheet.log().assumed.push_back(
        fmt::format("{}: no general tolerance is stated; taken as ISO 2768-1 class m.",
                    NameOfFile(sheet.file())));
    return;
  }
  if (!klass) return;
  if (trade::GeneralTolerance_mm(10, *klass)) {
    part.general_tolerance = *klass;
  } else {
    sheet.UnknownWord("general_tolerance", *klass, {"f", "m", "c", "v"});
  }
}

void AddBlockFaces(Part& part) {
  for (const BlockFace& known : kBlockFaces) {
    const Vec3 side = *DirectionOf(known.side);
    const int axis = AxisOf(side);
    const double at_mm =
        side[axis] > 0 ? part.block_P.max_mm[axis] : 0.0 - part.block_P.min_mm[axis];
    const double half_mm =
        0.5 * GeneralOrNearest_mm(part.block_P.size_mm()[axis], part.general_tolerance);
    Feature face;
    face.name = FeatureId(std::string(known.name));
    face.shape = PlanarFace{
        side, Size{at_mm, at_mm - half_mm, at_mm + half_mm, LimitsOrigin::kGeneralTolerance, ""}};
    part.features.push_back(face);
  }
}

bool ReadBlock(TableReader& block, Part& part) {
  bool good = true;
  for (int k = 0; k < 3; ++k) {
    const std::string key(1, static_cast<char>('x' + k));
    const auto bounds = ReadBounds(block, key);
    block.Require(key, fmt::format("write {} = [least, greatest]", key));
    part.block_P.min_mm[k] = bounds ? bounds->lower : 0;
    part.block_P.max_mm[k] = bounds ? bounds->upper : 1;
    good &= bounds.has_value();
  }
  block.Finish();
  return good;
}

// The two end faces of turned work exist like a block's six: low_end and high_end along the turning
// axis, unless the sheet names faces there.
void AddEndFaces(Part& part, ReadLog& log) {
  const Axis3& axis = part.turning_axis_P;
  double low = 1e9;
  double high = -1e9;
  for (const Feature& f : part.features) {
    const auto* outer = std::get_if<OuterDiameter>(&f.shape);
    if (outer == nullptr) continue;
    for (const double along : {outer->from_mm, outer->to_mm}) {
      const double at =
          axis.direction.dot(outer->axis_P.point_mm + outer->axis_P.direction * along);
      low = std::min(low, at);
      high = std::max(high, at);
    }
  }
  if (low >= high) return;
  const double half_mm = 0.5 * GeneralOrNearest_mm(high - low, part.general_tolerance);
  for (const bool is_high : {false, true}) {
    const Vec3 normal = is_high ? axis.direction : Vec3(-axis.direction);
    const double at_mm = is_high ? high : 0.0 - low;
    const bool named =
        std::any_of(part.features.begin(), part.features.end(), [&](const Feature& f) {
          const auto* face = std::get_if<PlanarFace>(&f.shape);
          return face != nullptr && face->normal_P.dot(normal) > 1 - 1e-9 &&
                 std::abs(face->at.nominal_mm - at_mm) < kDrawnAlike_mm;
        });
    const FeatureId name(is_high ? "high_end" : "low_end");
    if (named || part.Find(name) != nullptr) continue;
    Feature face;
    face.name = name;
    face.shape = PlanarFace{
        normal, Size{at_mm, at_mm - half_mm, at_mm + half_mm, LimitsOrigin::kGeneralTolerance, ""}};
    part.features.push_back(face);
    log.assumed.push_back(fmt::format("{}: the end face towards {} is called {}.", part.name.text(),
                                      is_high ? "the axis' direction" : "the other side",
                                      name.text()));
  }
}

void ReadTurned(TableReader& turned, Part& part) {
  const auto axis = turned.Side("axis");
  turned.Require("axis", "name the turning axis: axis = \"+z\"");
  const auto through = turned.Point_mm("through");
  turned.Finish();
  if (!turned.Has("through")) {
    turned.log().assumed.push_back(fmt::format(
        "{}: the turning axis is taken through the part's origin.", NameOfFile(turned.file())));
  }
  part.turning_axis_P = Axis3{through.value_or(Vec3::Zero()), axis.value_or(Vec3::UnitZ())};
}

// False when there is no envelope to build features on.
bool ReadEnvelope(TableReader& sheet, Part& part) {
  auto envelope = sheet.Table("envelope");
  sheet.Require("envelope",
                "write [envelope] with block = { x, y, z } or turned = { axis, through }");
  if (!envelope) return false;
  const bool one = envelope->AtMostOne({"block", "turned"});
  bool good = true;
  if (auto turned = envelope->Table("turned")) {
    part.envelope = EnvelopeKind::kTurned;
    ReadTurned(*turned, part);
  } else if (auto block = envelope->Table("block")) {
    good = ReadBlock(*block, part);
    AddBlockFaces(part);
  } else {
    good = false;
    if (!envelope->Has("block") && !envelope->Has("turned")) {
      envelope->Require("block", "write block = { x, y, z } or turned = { axis, through }");
    }
  }
  envelope->Finish();
  return good && one;
}

void NoteDefaults(const PartDraft& draft, ReadLog& log) {
  const std::string& name = draft.part.name.text();
  const auto note = [&](const std::vector<std::string>& features, std::string_view sentence) {
    if (features.empty()) return;
    log.assumed.push_back(fmt::format("{}: {}: {}.", name, sentence, ListOf(features, 100)));
  };
  note(draft.by_general_tolerance,
       fmt::format("limits by the general tolerance ISO 2768-1 {} (between two faces half on each)",
                   draft.part.general_tolerance));
  note(draft.point_assumed, "bottom not stated, taken as a drill point of 118 degrees");
  note(draft.tap_drill_assumed, "diameter not stated, taken as the tap drill's");
  note(draft.thread_depth_assumed, "depth of full thread not stated, taken as");
}

// Numbers that look 25.4 times too large or small.
void WarnOfUnits(const SourceFile& file, const Part& part, ReadLog& log) {
  constexpr double kLargestUsual_mm = 1000;
  constexpr double kSmallestUsual_mm = 3;
  constexpr double kOutOfProportion = 20;
  const Vec3 size = CalcEnvelope(part).size_mm();
  const bool inch = part.sheet_unit == LengthUnit::kInch;
  const auto slip = [&](const std::string& say, const std::string& unit, const std::string& other) {
    log.warnings.push_back(fmt::format("{}: {}; if they are {}, write unit = \"{}\".", file.name, say, other == "mm" ? "mm" : "inches", other));
    log.unit_slips.push_back({file.name, unit, say, fmt::format("write unit = \"{}\" if that is what they are in", other)});
  };
  if (inch && size.maxCoeff() > kLargestUsual_mm) {
    slip(fmt::format("with bare numbers in inches the part is {} mm long", FormatTrimmed(size.maxCoeff(), 1)), "inch", "mm");
  } else if (!inch && size.maxCoeff() > 0 && size.maxCoeff() < kSmallestUsual_mm) {
    slip(fmt::format("with bare numbers in mm the part is only {} mm long", FormatTrimmed(size.maxCoeff(), 3)), "mm", "inch");
  }
  for (const Feature& feature : part.features) {
    const auto* hole = std::get_if<Hole>(&feature.shape);
    if (hole == nullptr || hole->diameter.nominal_mm <= 0) continue;
    if (hole->diameter.nominal_mm > size.maxCoeff() ||
        hole->diameter.nominal_mm * kOutOfProportion * kOutOfProportion < size.minCoeff()) {
      log.warnings.push_back(
          fmt::format("{}: {} is {} mm in a part of {} mm: look for a number in another unit.",
                      file.name, feature.name.text(), FormatTrimmed(hole->diameter.nominal_mm, 3),
                      FormatTrimmed(size.maxCoeff(), 1)));
    }
  }
}

std::optional<MirrorWish> ReadMirror(TableReader& sheet) {
  const auto of = sheet.Name("mirror_of");
  const auto plane = sheet.String("mirror");
  sheet.Require("mirror", "name the plane: mirror = \"y\" for y = 0");
  for (const std::string_view key :
       {"material", "unit", "general_tolerance", "dimensions", "envelope", "stock", "feature", "unread"}) {
    if (!sheet.Has(key)) continue;
    sheet.Fault(ErrorCode::kMirror, key, "a mirror part takes this from the part it mirrors",
                fmt::format("take {} out, or take mirror_of out", key));
  }
  if (plane && *plane != "x" && *plane != "y" && *plane != "z") {
    sheet.UnknownWord("mirror", *plane, {"x", "y", "z"});
    return std::nullopt;
  }
  if (!of || !plane) return std::nullopt;
  return MirrorWish{*of, plane->front() - 'x'};
}

bool HasOuter(const Part& part) {
  for (const Feature& f : part.features) {
    if (std::holds_alternative<OuterDiameter>(f.shape)) return true;
  }
  return false;
}

}  // namespace

void ReadFormat(TableReader& table, std::string_view wanted) {
  const auto format = table.String("format");
  table.Require("format", fmt::format("write format = \"{}\"", wanted));
  if (!format || *format == wanted) return;
  table.Fault(ErrorCode::kSchemaVersion, "format", "this version of the format is not known here",
              fmt::format("write format = \"{}\"", wanted));
}

LengthUnit ReadUnit(TableReader& table, std::string_view key) {
  const auto word = table.String(key);
  if (!word || *word == "mm") return LengthUnit::kMillimetre;
  if (*word == "inch") return LengthUnit::kInch;
  table.UnknownWord(key, *word, {"mm", "inch"});
  return LengthUnit::kMillimetre;
}

SheetRead ReadPart(const SourceFile& file, const std::string& name, ReadLog& log) {
  TableReader sheet(file, file.table, "", LengthUnit::kMillimetre, log);
  SheetRead read;
  PartDraft draft;
  Part& part = draft.part;
  part.name = PartId(name);
  ReadFormat(sheet, kPartFormat);
  sheet.Locate(fmt::format("parts.{}", name));
  if (sheet.Has("mirror_of")) {
    read.mirror = ReadMirror(sheet);
    read.part.name = part.name;
    sheet.Finish();
    return read;
  }
  part.sheet_unit = ReadUnit(sheet, "unit");
  sheet.set_unit(part.sheet_unit);
  if (!sheet.Has("unit")) {
    log.assumed.push_back(fmt::format("{}: no unit is stated; bare numbers are mm.", file.name));
  }
  const Dimensions dimensions = ReadDimensions(sheet);
  sheet.set_dimensions(&dimensions);
  ReadMaterial(sheet, part);
  ReadClass(sheet, part);
  ReadUnread(sheet, part);
  const std::size_t faults_before = log.faults.count();
  if (ReadEnvelope(sheet, part)) {
    ReadFeatures(sheet, draft);
    if (part.envelope == EnvelopeKind::kTurned && !HasOuter(part)) {
      sheet.Fault(ErrorCode::kMissingKey, "feature", "turned work has no outer diameter",
                  "write a [[feature]] with kind = \"outer_diameter\" or \"spigot\"");
    }
    if (part.envelope == EnvelopeKind::kTurned) AddEndFaces(part, log);
    if (log.faults.count() == faults_before) {
      ReadStock(sheet, part);
      NoteDefaults(draft, log);
      WarnOfUnits(file, part, log);
    }
  }
  sheet.Has("feature");
  sheet.Has("stock");
  ReadGone(sheet, part);
  sheet.Finish();
  read.part = std::move(part);
  return read;
}

}  // namespace fitwright::files
