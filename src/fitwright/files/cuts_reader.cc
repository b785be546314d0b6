// Slots, pockets, steps and chamfers.
#include <cmath>

#include "fitwright/files/feature_reader.h"
#include "fitwright/files/size_reader.h"
#include "fitwright/units/length.h"

namespace fitwright::files {

std::optional<Vec3> ReadAlong(TableReader& table, const Vec3& out) {
  const auto along = table.Side("along");
  table.Require("along", "name its long direction: along = \"+x\"");
  if (!along) return std::nullopt;
  if (std::abs(along->dot(out)) < 1e-9) return along;
  table.Fault(ErrorCode::kNotSquare, "along",
              "the long direction is not square to the side in from",
              fmt::format("name a side square to {}", SideWord(out)));
  return std::nullopt;
}

std::optional<bool> ReadEnd(TableReader& table, std::optional<bool> otherwise) {
  const auto end = table.String("end");
  if (!otherwise) table.Require("end", "write end = \"start\" or \"end\"");
  if (!table.Has("end")) return otherwise;
  if (!end) return std::nullopt;
  if (*end == "start" || *end == "end") return *end == "start";
  table.UnknownWord("end", *end, {"start", "end"});
  return std::nullopt;
}

namespace {

std::optional<Box3> ReadRemoved(TableReader& table) {
  auto removed = table.Table("removed");
  table.Require("removed", "write the box taken away: removed = { x = [0, 5], y = ..., z = ... }");
  if (!removed) return std::nullopt;
  Box3 box;
  bool good = true;
  for (int k = 0; k < 3; ++k) {
    const std::string key(1, static_cast<char>('x' + k));
    const auto bounds = ReadBounds(*removed, key);
    removed->Require(key, fmt::format("write {} = [least, greatest]", key));
    good &= bounds.has_value();
    if (!bounds) continue;
    box.min_mm[k] = bounds->lower;
    box.max_mm[k] = bounds->upper;
  }
  removed->Finish();
  return good ? std::optional(box) : std::nullopt;
}

// The two faces that meet at an edge.
std::optional<std::vector<std::string>> ReadBetween(TableReader& table) {
  auto between = table.Strings("between");
  if (!between || between->size() == 2) return between;
  table.Fault(ErrorCode::kWrongCount, "between", fmt::format("{} faces are named", between->size()),
              "name the two faces that meet at the edge");
  return std::nullopt;
}

bool ReadEdgeChamfer(TableReader& table, Feature& feature) {
  const auto between = ReadBetween(table);
  const auto legs = table.Lengths_mm("legs", 2, 2);
  table.Require("legs", "write how far it reaches on each of the two faces: legs = [1, 1]");
  if (!between || !legs) return false;
  if ((*legs)[0] <= 0 || (*legs)[1] <= 0) {
    table.Fault(ErrorCode::kNotPositive, "legs", "a leg is not above zero",
                "write two lengths above zero");
    return false;
  }
  feature.shape =
      EdgeChamfer{FeatureId((*between)[0]), FeatureId((*between)[1]), (*legs)[0], (*legs)[1]};
  return true;
}

bool ReadRoundChamfer(TableReader& table, Feature& feature) {
  const auto on = table.String("on");
  const auto at_start = ReadEnd(table);
  const auto axial_mm = table.PositiveLength_mm("axial");
  table.Require("axial", "write how far it reaches along the axis");
  const auto radial_mm = table.PositiveLength_mm("radial");
  table.Require("radial", "write how far it reaches square to the axis");
  if (!on || !at_start || !axial_mm || !radial_mm) return false;
  feature.shape = RoundChamfer{FeatureId(*on), *at_start, *axial_mm, *radial_mm};
  return true;
}

}  // namespace

bool ReadStep(TableReader& table, Feature& feature) {
  const auto out = table.Side("from");
  table.Require("from", "name the side the tool comes from: from = \"+z\"");
  const auto removed = ReadRemoved(table);
  if (!out || !removed) return false;
  feature.shape = StepCut{-*out, *removed};
  return true;
}

bool ReadChamfer(TableReader& table, Feature& feature) {
  if (!table.AtMostOne({"between", "on"})) {
    table.Know({"legs", "end", "axial", "radial"});
    return false;
  }
  if (table.Has("on")) return ReadRoundChamfer(table, feature);
  table.Require("between",
                "write between = [\"a\", \"b\"] for an edge, on = \"NAME\" for a round one");
  if (table.Has("between")) return ReadEdgeChamfer(table, feature);
  table.Know({"legs", "end", "axial", "radial"});
  return false;
}

bool ReadEdgeRound(TableReader& table, Feature& feature) {
  table.Know({"end"});
  const bool one_way = table.AtMostOne({"between", "on"});
  const auto between = ReadBetween(table);
  const auto on = table.String("on");
  const auto at_start = table.Has("on") ? ReadEnd(table) : std::nullopt;
  const auto radius_mm = table.PositiveLength_mm("radius");
  table.Require("radius", "write the radius of the round: radius = 2");
  if (!table.Has("on")) {
    table.Require("between",
                  "write between = [\"a\", \"b\"] for an edge, on = \"NAME\" for a round one");
  }
  if (!one_way || !radius_mm || (!between && (!on || !at_start))) return false;
  if (between) {
    feature.shape = EdgeChamfer{FeatureId((*between)[0]), FeatureId((*between)[1]), *radius_mm,
                                *radius_mm, true};
  } else {
    feature.shape = RoundChamfer{FeatureId(*on), *at_start, *radius_mm, *radius_mm, true, false};
  }
  return true;
}

bool ReadCountersink(TableReader& table, const PartDraft& draft, Feature& feature) {
  constexpr double kUsualAngle_deg = 90;  // ISO 10642 heads
  const auto on = table.String("on");
  table.Require("on", "name the hole it opens: on = \"NAME\"");
  const auto at_start = ReadEnd(table, true);
  const auto diameter_mm = table.PositiveLength_mm("diameter");
  table.Require("diameter", "write its largest diameter");
  const auto angle_deg = table.Angle_deg("angle");
  if (!on || !at_start || !diameter_mm || (table.Has("angle") && !angle_deg)) return false;
  const double angle = angle_deg.value_or(kUsualAngle_deg);
  if (angle <= 0 || angle >= 180) {
    table.Fault(ErrorCode::kBadAngle, "angle", "this is not the angle of a cone",
                "write an angle between 0 and 180 degrees, 90 for the usual screws");
    return false;
  }
  RoundChamfer cone{FeatureId(*on), *at_start, *diameter_mm, *diameter_mm, false, true};
  const Feature* found = draft.part.Find(cone.on);
  const auto* hole = found == nullptr ? nullptr : std::get_if<Hole>(&found->shape);
  if (hole != nullptr && hole->diameter.nominal_mm > 0) {
    cone.radial_mm = 0.5 * (*diameter_mm - hole->diameter.middle_mm());
    cone.axial_mm = cone.radial_mm / std::tan(0.5 * angle * kRadPerDeg);
  }
  feature.shape = cone;
  if (cone.radial_mm > kDrawnAlike_mm) return true;
  table.Fault(ErrorCode::kCutsNothing, "diameter", "the countersink is no wider than its hole",
              fmt::format("write more than {} mm", FormatTrimmed(hole->diameter.middle_mm(), 3)));
  return false;
}

bool ReadSlot(TableReader& table, PartDraft& draft, Feature& feature) {
  Slot slot;
  auto placement = ReadPlacement(table, draft.part, false);
  const auto along = placement ? ReadAlong(table, placement->out_P) : table.Side("along");
  const auto length_mm = table.PositiveLength_mm("length");
  table.Require("length", "write its length over the round ends");
  SizeWish wish{"width", SizeOf::kWidth, draft.part.general_tolerance, {}, 0};
  const auto width = ReadSize(table, wish);
  const auto depth_mm = table.PositiveLength_mm("depth");
  const auto through = table.Bool("through");
  const bool one_way = table.AtMostOne({"depth", "through"});
  if (!table.Has("through")) table.Require("depth", "write depth = ... or through = true");
  if (!placement || !along || !length_mm || !width || !one_way) return false;
  if (!depth_mm && !through) return false;
  if (through && !*through) {
    table.Fault(ErrorCode::kConflictingKeys, "through",
                "a slot that is not through needs its depth", "write depth = ... instead");
    return false;
  }
  if (*length_mm < width->middle_mm()) {
    table.Fault(ErrorCode::kOutOfRange, "length", "the slot is shorter over all than it is wide",
                "write the length over both round ends");
    return false;
  }
  if (width->origin == LimitsOrigin::kGeneralTolerance) {
    draft.by_general_tolerance.push_back(feature.name.text());
  }
  const double radius_mm = 0.5 * width->middle_mm();
  if (!SettleEntry(table, draft, radius_mm, *placement)) return false;
  const Vec3 centre = placement->points_P_mm.front();
  slot = Slot{-placement->out_P, centre, *along, *length_mm, *width, depth_mm.value_or(0), false};
  if (through) {
    Placement ends = *placement;
    const Vec3 reach = (0.5 * *length_mm - radius_mm) * *along;
    ends.points_P_mm = {centre - reach, centre, centre + reach};
    slot.through = true;
    slot.depth_mm = DepthThrough(draft.part, ends, radius_mm);
  }
  feature.shape = slot;
  return true;
}

bool ReadPocket(TableReader& table, PartDraft& draft, Feature& feature) {
  auto placement = ReadPlacement(table, draft.part, false);
  const auto along = placement ? ReadAlong(table, placement->out_P) : table.Side("along");
  const auto length_mm = table.PositiveLength_mm("length");
  table.Require("length", "write its length");
  const auto width_mm = table.PositiveLength_mm("width");
  table.Require("width", "write its width");
  const auto radius_mm = table.PositiveLength_mm("corner_radius");
  table.Require("corner_radius", "write the radius of its corners, the cutter's or more");
  const auto depth_mm = table.PositiveLength_mm("depth");
  table.Require("depth", "write its depth");
  if (!placement || !along || !length_mm || !width_mm || !radius_mm || !depth_mm) return false;
  if (2 * *radius_mm > std::min(*length_mm, *width_mm) + kDrawnAlike_mm) {
    table.Fault(ErrorCode::kOutOfRange, "corner_radius", "the corners are larger than the pocket",
                fmt::format("write at most {} mm",
                            FormatTrimmed(0.5 * std::min(*length_mm, *width_mm), 3)));
    return false;
  }
  if (!SettleEntry(table, draft, 0.5 * *width_mm, *placement)) return false;
  feature.shape = Pocket{
      -placement->out_P, placement->points_P_mm.front(), *along, *length_mm, *width_mm, *radius_mm,
      *depth_mm};
  return true;
}

}  // namespace fitwright::files
