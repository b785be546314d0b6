// Tapers, outside threads, keyways and knurls.
#include <cmath>

#include "fitwright/files/feature_reader.h"
#include "fitwright/model/shapes.h"
#include "fitwright/trade/general_tolerance.h"
#include "fitwright/units/length.h"

namespace fitwright::files {
namespace {

// A diameter alone, by the general tolerance; or { size = ..., limits }.
std::optional<Size> ReadEndDiameter(TableReader& table, PartDraft& draft, const Feature& feature,
                                    std::string_view key, bool internal) {
  if (table.HoldsTable(key)) {
    auto inner = table.Table(key);
    Size size;
    const SizeOf of = internal ? SizeOf::kHole : SizeOf::kShaft;
    const bool taken = TakeSize(*inner, draft, feature, {"size", of, "", {}, 0}, size);
    inner->Finish();
    return taken ? std::optional(size) : std::nullopt;
  }
  const auto nominal_mm = table.PositiveLength_mm(key);
  if (!nominal_mm) return std::nullopt;
  NoteGeneral(draft, feature);
  const double half_mm = GeneralOrNearest_mm(*nominal_mm, draft.part.general_tolerance);
  if (*nominal_mm > half_mm) {
    return Size{*nominal_mm, *nominal_mm - half_mm, *nominal_mm + half_mm,
                LimitsOrigin::kGeneralTolerance, ""};
  }
  table.Fault(ErrorCode::kNotPositive, key, "by the general tolerance this could be nothing",
              fmt::format("state its limits: {} = {{ size = ..., plus_minus = 0.05 }}", key));
  return std::nullopt;
}

// "1:10" as the change of diameter over length.
std::optional<double> ReadRatio(TableReader& table) {
  const auto text = table.String("ratio");
  if (!text) return std::nullopt;
  const std::size_t colon = text->find(':');
  if (colon != std::string::npos) {
    const auto change = ParseLength_mm(text->substr(0, colon), LengthUnit::kMillimetre);
    const auto length = ParseLength_mm(text->substr(colon + 1), LengthUnit::kMillimetre);
    if (change && length && *change > 0 && *length > 0) return *change / *length;
  }
  table.Fault(ErrorCode::kBadLength, "ratio", "this is not a ratio of a taper",
              "write change of diameter and length: ratio = \"1:10\"");
  return std::nullopt;
}

// How much the diameter changes from end to end, by angle or ratio; nothing when neither is sound.
std::optional<double> ReadChange_mm(TableReader& table, double length_mm) {
  const auto angle_deg = table.Angle_deg("angle");
  const auto ratio = ReadRatio(table);
  if (ratio) return *ratio * length_mm;
  if (!angle_deg) return std::nullopt;
  if (*angle_deg > 0 && *angle_deg < 180)
    return 2 * length_mm * std::tan(0.5 * *angle_deg * kRadPerDeg);
  table.Fault(ErrorCode::kBadAngle, "angle", "this is not the angle of a cone",
              "write the angle of the whole cone, between 0 and 180 degrees");
  return std::nullopt;
}

Size Less(const Size& size, double by_mm) {
  Size less = size;
  less.nominal_mm -= by_mm;
  less.lower_mm -= by_mm;
  less.upper_mm -= by_mm;
  return less;
}

// Both diameters stated, or the larger one and how fast the cone narrows from there.
bool ReadCone(TableReader& table, PartDraft& draft, const Feature& feature, Taper& taper) {
  if (!table.AtMostOne({"angle", "ratio"})) return false;
  const bool starts = table.Has("start_diameter");
  const bool ends = table.Has("end_diameter");
  const bool narrows = table.Has("angle") || table.Has("ratio");
  if (!starts && !ends) {
    table.Require("start_diameter",
                  "write start_diameter and end_diameter, or one with angle or ratio");
    return false;
  }
  if (narrows == (starts && ends)) {
    table.Fault(narrows ? ErrorCode::kConflictingKeys : ErrorCode::kMissingKey,
                narrows ? (table.Has("angle") ? "angle" : "ratio")
                        : (starts ? "end_diameter" : "start_diameter"),
                narrows ? "two diameters and the length give the angle already"
                        : "one diameter does not make a cone",
                "write two diameters, or the larger one and angle or ratio");
    return false;
  }
  std::optional<Size> start;
  std::optional<Size> end;
  if (starts) start = ReadEndDiameter(table, draft, feature, "start_diameter", taper.internal);
  if (ends) end = ReadEndDiameter(table, draft, feature, "end_diameter", taper.internal);
  if ((starts && !start) || (ends && !end)) return false;
  if (narrows) {
    const auto change_mm = ReadChange_mm(table, taper.to_mm - taper.from_mm);
    if (!change_mm) return false;
    const Size& large = start ? *start : *end;
    if (large.lower_mm - *change_mm <= 0) {
      table.Fault(ErrorCode::kNoTaper, table.Has("angle") ? "angle" : "ratio",
                  "the cone comes to a point before its other end",
                  "write a smaller angle, or from and to nearer to each other");
      return false;
    }
    (start ? end : start) = Less(large, *change_mm);
  }
  taper.start_diameter = *start;
  taper.end_diameter = *end;
  return true;
}

// Radius of what a keyway is cut into.
double SurfaceRadius(const Part& part, const Keyway& keyway) {
  Groove like;
  like.internal = keyway.internal;
  like.axis_P = keyway.axis_P;
  like.from_mm = keyway.from_mm;
  like.to_mm = keyway.to_mm;
  return GrooveSurfaceRadius(part, like);
}

// depth from the surface it is cut into, or floor from the axis.
bool ReadFloor(TableReader& table, const PartDraft& draft, Keyway& keyway) {
  const auto depth_mm = table.PositiveLength_mm("depth");
  const auto floor_mm = table.PositiveLength_mm("floor");
  if (!table.AtMostOne({"depth", "floor"})) return false;
  if (!table.Has("floor")) {
    table.Require("depth", "write depth from the surface it is cut into, or floor from the axis");
  }
  if (!draft.envelope_sound || (!depth_mm && !floor_mm)) return false;
  const double surface_mm = SurfaceRadius(draft.part, keyway);
  const std::string_view key = floor_mm ? "floor" : "depth";
  if (surface_mm <= 0) {
    table.Fault(ErrorCode::kOffDiameter, key,
                keyway.internal ? "there is no bore about this axis here"
                                : "there is no outer diameter about this axis here",
                "mend axis, at, from and to");
    return false;
  }
  keyway.floor_mm =
      floor_mm ? *floor_mm : (keyway.internal ? surface_mm + *depth_mm : surface_mm - *depth_mm);
  if (keyway.floor_mm <= 0) {
    table.Fault(
        ErrorCode::kKeywayTooBig, key, "the keyway reaches through the shaft's axis",
        fmt::format("the shaft is {} mm in diameter here", FormatTrimmed(2 * surface_mm, 3)));
    return false;
  }
  return true;
}

}  // namespace

double GeneralAngle_deg(const Part& part, const Taper& taper) {
  const double rise = 0.5 * (taper.end_diameter.middle_mm() - taper.start_diameter.middle_mm());
  const auto angle_rad = trade::GeneralAngleTolerance_rad(
      std::hypot(rise, taper.to_mm - taper.from_mm), part.general_tolerance);
  return angle_rad ? *angle_rad / kRadPerDeg : 0;
}

bool ReadTaper(TableReader& table, PartDraft& draft, Feature& feature) {
  table.Know({"start_diameter", "end_diameter", "angle", "ratio", "angle_within"});
  Taper taper;
  const auto inside = table.Bool("inside");
  table.Require("inside", "write inside = true for a taper bore, false for one outside");
  const auto axis = ReadAxis(table, draft.part);
  const auto reach = ReadReach(table);
  const auto within_deg = table.Angle_deg("angle_within");
  if (!inside || !axis || !reach || (table.Has("angle_within") && !within_deg)) return false;
  taper.internal = *inside;
  taper.axis_P = *axis;
  taper.from_mm = reach->from_mm;
  taper.to_mm = reach->to_mm;
  if (!ReadCone(table, draft, feature, taper)) return false;
  if (!within_deg) NoteGeneral(draft, feature);
  taper.angle_limit_deg = within_deg.value_or(GeneralAngle_deg(draft.part, taper));
  if (within_deg && *within_deg <= 0) {
    table.Fault(ErrorCode::kNotPositive, "angle_within", "no cone is made to no limit at all",
                "write how far the angle may be off, in degrees");
    return false;
  }
  feature.shape = taper;
  return true;
}

bool ReadExternalThread(TableReader& table, Feature& feature) {
  const auto on = table.String("on");
  table.Require("on", "name the outer diameter it is cut on: on = \"NAME\"");
  const auto at_start = ReadEnd(table);
  const auto length_mm = table.PositiveLength_mm("length");
  table.Require("length", "write the length of full thread");
  table.Require("designation", "write the thread: designation = \"M8\"");
  const auto* row = FindThreadRow(table, "designation");
  if (!on || !at_start || !length_mm || row == nullptr) return false;
  feature.shape =
      ExternalThread{FeatureId(*on), *at_start,    *length_mm, std::string(row->designation),
                     row->major_mm,  row->pitch_mm};
  return true;
}

bool ReadKeyway(TableReader& table, PartDraft& draft, Feature& feature) {
  table.Know({"depth", "floor"});
  Keyway keyway;
  const auto inside = table.Bool("inside");
  table.Require("inside", "write inside = true for a hub's, false for a shaft's");
  const auto axis = ReadAxis(table, draft.part);
  const auto reach = ReadReach(table);
  const bool sized =
      TakeSize(table, draft, feature, {"width", SizeOf::kWidth, "", {}, 0}, keyway.width);
  const auto side = table.Side("side");
  table.Require("side", "name the side of the axis it stands on: side = \"+y\"");
  if (!inside || !axis || !reach || !sized || !side) return false;
  if (!Square(table, "side", *side, axis->direction, "the axis")) return false;
  keyway.internal = *inside;
  keyway.axis_P = *axis;
  keyway.from_mm = reach->from_mm;
  keyway.to_mm = reach->to_mm;
  keyway.side_P = *side;
  if (!ReadFloor(table, draft, keyway)) return false;
  feature.shape = keyway;
  return true;
}

bool ReadKnurl(TableReader& table, const PartDraft& draft, Feature& feature) {
  const auto on = table.String("on");
  table.Require("on", "name the outer diameter it is rolled on: on = \"NAME\"");
  const Feature* found = on ? draft.part.Find(FeatureId(*on)) : nullptr;
  const auto* outer = found == nullptr ? nullptr : std::get_if<OuterDiameter>(&found->shape);
  const bool stated = table.Has("from") || table.Has("to");
  std::optional<Reach> reach;
  if (stated || (on && outer == nullptr)) {
    reach = stated ? ReadReach(table) : std::optional(Reach{});
  } else if (outer != nullptr) {
    reach = Reach{outer->from_mm, outer->to_mm};
  }
  const auto pitch_mm = table.PositiveLength_mm("pitch");
  table.Require("pitch", "write the pitch of its ridges: pitch = 1");
  const auto pattern = table.Word<KnurlPattern>("pattern");
  if (!on || !reach || !pitch_mm || (table.Has("pattern") && !pattern)) return false;
  feature.shape = Knurl{FeatureId(*on), reach->from_mm, reach->to_mm, *pitch_mm,
                        pattern.value_or(KnurlPattern::kDiamond)};
  return true;
}

}  // namespace fitwright::files
