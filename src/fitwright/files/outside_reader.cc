// Faces and what is turned: planar faces, outer diameters, grooves, flats.
#include <cmath>

#include "fitwright/files/feature_reader.h"
#include "fitwright/files/size_reader.h"
#include "fitwright/model/material.h"

namespace fitwright::files {

std::optional<Axis3> ReadAxis(TableReader& table, const Part& part) {
  if (part.envelope == EnvelopeKind::kTurned) return part.turning_axis_P;
  const auto direction = table.Side("axis");
  table.Require("axis", "on a block, name its direction: axis = \"+z\"");
  const auto at = table.Lengths_mm("at", 2, 3);
  table.Require("at", "on a block, write where its axis stands: at = [0, 0]");
  if (!direction || !at) return std::nullopt;
  const int along = AxisOf(*direction);
  Axis3 axis{Vec3::Zero(), *direction};
  std::size_t next = 0;
  for (int k = 0; k < 3; ++k) {
    if (at->size() == 3) {
      axis.point_mm[k] = k == along ? 0 : (*at)[static_cast<std::size_t>(k)];
    } else if (k != along) {
      axis.point_mm[k] = (*at)[next++];
    }
  }
  return axis;
}

std::optional<Reach> ReadReach(TableReader& table) {
  const auto from_mm = table.Length_mm("from");
  table.Require("from", "write where it begins along the axis: from = 0");
  const auto to_mm = table.Length_mm("to");
  table.Require("to", "write where it ends along the axis: to = 10");
  if (!from_mm || !to_mm) return std::nullopt;
  if (*to_mm - *from_mm > kDrawnAlike_mm) return Reach{*from_mm, *to_mm};
  table.Fault(ErrorCode::kLimitsSwapped, "to", "to does not lie beyond from along the axis",
              "write the lesser coordinate in from, the greater in to");
  return std::nullopt;
}

bool TakeSize(TableReader& table, PartDraft& draft, const Feature& feature, SizeWish wish,
              Size& size) {
  wish.general_tolerance = draft.part.general_tolerance;
  const auto read = ReadSize(table, wish);
  if (!read) return false;
  size = *read;
  if (size.origin == LimitsOrigin::kGeneralTolerance) NoteGeneral(draft, feature);
  return true;
}

void NoteGeneral(PartDraft& draft, const Feature& feature) {
  auto& noted = draft.by_general_tolerance;
  if (noted.empty() || noted.back() != feature.name.text()) noted.push_back(feature.name.text());
}

namespace {

// The envelope's own face on that side: the coordinate, when the part has one there.
std::optional<double> EnvelopeFace(const Part& part, const Vec3& side) {
  const int axis = AxisOf(side);
  if (part.envelope == EnvelopeKind::kBlock) {
    return side[axis] > 0 ? part.block_P.max_mm[axis] : part.block_P.min_mm[axis];
  }
  const double along = part.turning_axis_P.direction.dot(side);
  if (std::abs(std::abs(along) - 1.0) > 1e-9) return std::nullopt;
  const Stretch length = CalcTurnedLength(part);
  const double end_mm = along > 0 ? length.to_mm : length.from_mm;
  return part.turning_axis_P.point_mm[axis] + end_mm * part.turning_axis_P.direction[axis];
}

// Index of the block's face on that side, whatever its name.
std::optional<std::size_t> BlockFaceIndex(const Part& part, const Vec3& side) {
  if (part.envelope != EnvelopeKind::kBlock) return std::nullopt;
  for (std::size_t i = 0; i < part.features.size() && i < 6; ++i) {
    const auto* face = std::get_if<PlanarFace>(&part.features[i].shape);
    if (face != nullptr && face->normal_P.dot(side) > 0.5) return i;
  }
  return std::nullopt;
}

// Limits of a coordinate turned into limits of normal . p.
Size AlongNormal(const Size& coordinate, double sense) {
  if (sense > 0) return coordinate;
  Size along = coordinate;
  along.nominal_mm = 0.0 - coordinate.nominal_mm;
  along.lower_mm = 0.0 - coordinate.upper_mm;
  along.upper_mm = 0.0 - coordinate.lower_mm;
  return along;
}

}  // namespace

namespace {

bool ReadProfile(TableReader& table, Groove& groove) {
  const auto profile = table.Word<GrooveProfile>("profile");
  const auto vee_deg = table.Angle_deg("vee_angle");
  if (table.Has("profile") && !profile) return false;
  groove.profile = profile.value_or(GrooveProfile::kSquare);
  const bool vee = groove.profile == GrooveProfile::kVee;
  if (vee) table.Require("vee_angle", "write the angle between its walls: vee_angle = 40");
  if (!vee && table.Has("vee_angle")) {
    table.Fault(ErrorCode::kConflictingKeys, "vee_angle", "only a groove of profile vee has an angle",
                "write profile = \"vee\", or take vee_angle out");
    return false;
  }
  if (!vee) return true;
  if (!vee_deg) return false;
  if (*vee_deg > 0 && *vee_deg < 180) {
    groove.vee_deg = *vee_deg;
    return true;
  }
  table.Fault(ErrorCode::kBadProfile, "vee_angle", "the walls of a vee groove do not open outwards so",
              "write an angle between 0 and 180 degrees");
  return false;
}

bool ReadFlatCount(TableReader& table, Flats& flats) {
  const auto count = table.Integer("count", 1, 6);
  if (table.Has("count") && !count) return false;
  flats.count = static_cast<int>(count.value_or(2));
  if (flats.count != 5) return true;
  table.Fault(ErrorCode::kOutOfRange, "count", "five flats have no size across",
              "write 1, 2, 3, 4 or 6");
  return false;
}

}  // namespace

bool ReadPlanarFace(TableReader& table, PartDraft& draft, Feature& feature) {
  table.Know({"at", "plus_minus", "limits", "deviations"});
  const auto side = table.Side("side");
  table.Require("side", "name the side it looks to: side = \"+z\"");
  if (!side) return false;
  Part& part = draft.part;
  const int axis = AxisOf(*side);
  const auto envelope_mm = EnvelopeFace(part, *side);
  SizeWish wish{"at", SizeOf::kFace, part.general_tolerance, envelope_mm, 0};
  const Box3 box = CalcEnvelope(part);
  wish.general_for_mm = box.size_mm()[axis];
  Size coordinate;
  if (!TakeSize(table, draft, feature, wish, coordinate)) return false;
  if (!draft.envelope_sound) return false;
  if (coordinate.nominal_mm < box.min_mm[axis] - kDrawnAlike_mm ||
      coordinate.nominal_mm > box.max_mm[axis] + kDrawnAlike_mm) {
    table.Fault(ErrorCode::kOutsidePart, "at", "this face stands outside the part",
                fmt::format("the part reaches from {} to {} along {}", box.min_mm[axis],
                            box.max_mm[axis], "xyz"[axis]));
    return false;
  }
  feature.shape = PlanarFace{*side, AlongNormal(coordinate, (*side)[axis])};
  const auto index = BlockFaceIndex(part, *side);
  if (!index || std::abs(coordinate.nominal_mm - *envelope_mm) > kDrawnAlike_mm) return true;
  if (draft.side_named[*index]) {
    table.Fault(ErrorCode::kDuplicateName, "side",
                fmt::format("the face on this side is named already: {}",
                            part.features[*index].name.text()),
                "keep one of the two");
    return false;
  }
  draft.side_named[*index] = true;
  // The solid stands at the middle of limits.
  auto& bound = (*side)[axis] > 0 ? part.block_P.max_mm : part.block_P.min_mm;
  bound[axis] = coordinate.middle_mm();
  part.features[*index] = feature;
  return true;
}

bool ReadOuterDiameter(TableReader& table, PartDraft& draft, FeatureWord word, Feature& feature) {
  OuterDiameter outer;
  outer.spigot = word == FeatureWord::kSpigot;
  const auto axis = ReadAxis(table, draft.part);
  const auto reach = ReadReach(table);
  const bool sized =
      TakeSize(table, draft, feature, {"diameter", SizeOf::kShaft, "", {}, 0}, outer.diameter);
  if (!axis || !reach || !sized) return false;
  outer.axis_P = *axis;
  outer.from_mm = reach->from_mm;
  outer.to_mm = reach->to_mm;
  feature.shape = outer;
  return true;
}

bool ReadGroove(TableReader& table, PartDraft& draft, FeatureWord word, Feature& feature) {
  Groove groove;
  groove.undercut = word == FeatureWord::kUndercut;
  const auto inside = table.Bool("inside");
  table.Require("inside", "write inside = true for one in a bore, false for one outside");
  const auto axis = ReadAxis(table, draft.part);
  const auto reach = ReadReach(table);
  const SizeOf of = inside.value_or(false) ? SizeOf::kHole : SizeOf::kShaft;
  const bool sized = TakeSize(table, draft, feature, {"diameter", of, "", {}, 0}, groove.diameter);
  table.Know({"profile", "vee_angle"});
  if (!inside || !axis || !reach || !sized) return false;
  groove.internal = *inside;
  groove.axis_P = *axis;
  groove.from_mm = reach->from_mm;
  groove.to_mm = reach->to_mm;
  if (!ReadProfile(table, groove)) return false;
  feature.shape = groove;
  return true;
}

bool ReadFlats(TableReader& table, PartDraft& draft, Feature& feature) {
  Flats flats;
  const auto axis = ReadAxis(table, draft.part);
  const auto reach = ReadReach(table);
  const bool sized =
      TakeSize(table, draft, feature, {"across", SizeOf::kShaft, "", {}, 0}, flats.across);
  const auto normal = table.Side("normal");
  table.Require("normal", "name the side one of the flats looks to: normal = \"+x\"");
  const bool counted = ReadFlatCount(table, flats);
  if (!axis || !reach || !sized || !normal || !counted) return false;
  if (std::abs(normal->dot(axis->direction)) > 1e-9) {
    table.Fault(ErrorCode::kNotSquare, "normal", "the flats are not along the axis",
                fmt::format("name a side square to {}", SideWord(axis->direction)));
    return false;
  }
  flats.axis_P = *axis;
  flats.from_mm = reach->from_mm;
  flats.to_mm = reach->to_mm;
  flats.first_normal_P = *normal;
  feature.shape = flats;
  return true;
}

}  // namespace fitwright::files
