// Slots, pockets, steps and chamfers.
#include <cmath>

#include "fitwright/files/feature_reader.h"
#include "fitwright/files/size_reader.h"
#include "fitwright/units/length.h"

namespace fitwright::files {
namespace {

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

bool ReadEdgeChamfer(TableReader& table, Feature& feature) {
  const auto between = table.Strings("between");
  const auto legs = table.Lengths_mm("legs", 2, 2);
  table.Require("legs", "write how far it reaches on each of the two faces: legs = [1, 1]");
  if (!between || !legs) return false;
  if (between->size() != 2) {
    table.Fault(ErrorCode::kWrongCount, "between",
                fmt::format("{} faces are named", between->size()),
                "name the two faces that meet at the edge");
    return false;
  }
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
  const auto end = table.String("end");
  table.Require("end", "write end = \"start\" or \"end\"");
  const auto axial_mm = table.PositiveLength_mm("axial");
  table.Require("axial", "write how far it reaches along the axis");
  const auto radial_mm = table.PositiveLength_mm("radial");
  table.Require("radial", "write how far it reaches square to the axis");
  if (end && *end != "start" && *end != "end") {
    table.UnknownWord("end", *end, {"start", "end"});
    return false;
  }
  if (!on || !end || !axial_mm || !radial_mm) return false;
  feature.shape = RoundChamfer{FeatureId(*on), *end == "start", *axial_mm, *radial_mm};
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
