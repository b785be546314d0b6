#include "fitwright/files/feature_writer.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/files/feature_reader.h"
#include "fitwright/model/material.h"
#include "fitwright/model/shapes.h"
#include "fitwright/trade/general_tolerance.h"

namespace fitwright::files {
namespace {

// Limits of normal . p as limits of the coordinate.
Size AsCoordinate(const PlanarFace& face) {
  if (face.normal_P[AxisOf(face.normal_P)] > 0) return face.at;
  Size at = face.at;
  at.nominal_mm = 0.0 - face.at.nominal_mm;
  at.lower_mm = 0.0 - face.at.upper_mm;
  at.upper_mm = 0.0 - face.at.lower_mm;
  return at;
}

bool IsGeneralFace(const Part& part, const PlanarFace& face) {
  if (face.at.origin != LimitsOrigin::kGeneralTolerance) return false;
  const int axis = AxisOf(face.normal_P);
  const Box3 drawn = part.envelope == EnvelopeKind::kBlock ? DrawnBlock(part) : CalcEnvelope(part);
  for (const double length_mm : {drawn.size_mm()[axis], CalcEnvelope(part).size_mm()[axis]}) {
    const double half_mm = 0.5 * GeneralOrNearest_mm(length_mm, part.general_tolerance);
    if (Alike(face.at.width_mm(), 2 * half_mm)) return true;
  }
  return face.at.width_mm() < kGeometryNoise_mm;
}

// Where the axis's own point stands along the part's turning axis: what from and to count from
// there.
double Shift(const Part& part, const Axis3& axis) {
  if (part.envelope == EnvelopeKind::kTurned) {
    return (axis.point_mm - part.turning_axis_P.point_mm).dot(axis.direction);
  }
  return axis.point_mm.dot(axis.direction);
}

// axis and at on a block, from and to.
void WriteReach(const Part& part, const Axis3& axis, double from_mm, double to_mm,
                SheetText& text) {
  if (part.envelope == EnvelopeKind::kBlock) {
    text.Side("axis", axis.direction);
    text.Lengths("at", OnPlane(axis.point_mm, axis.direction));
  }
  const double shift_mm = Shift(part, axis);
  text.Length("from", from_mm + shift_mm);
  text.Length("to", to_mm + shift_mm);
}

std::string SizeText(const Part& part, const Size& size, const SheetText& text) {
  const auto limits = LimitsOf(text, size, IsGeneral(part, size));
  if (limits.empty()) return text.LengthOf(size.nominal_mm);
  return fmt::format("{{ size = {}, {} = {} }}", text.LengthOf(size.nominal_mm), limits[0].key,
                     limits[0].value);
}

// The smaller end as the larger one less a change, limits and all: the cone was stated by its
// angle.
bool FollowsFrom(const Size& large, const Size& small) {
  const double change_mm = large.nominal_mm - small.nominal_mm;
  return small.origin == large.origin && Alike(large.lower_mm - change_mm, small.lower_mm) &&
         Alike(large.upper_mm - change_mm, small.upper_mm);
}

void WriteCone(const Part& part, const Taper& taper, SheetText& text) {
  const Size& start = taper.start_diameter;
  const Size& end = taper.end_diameter;
  const bool starts = start.nominal_mm > end.nominal_mm;
  const Size& large = starts ? start : end;
  const Size& small = starts ? end : start;
  const bool both = IsGeneral(part, start) && IsGeneral(part, end);
  if (both || !FollowsFrom(large, small)) {
    text.Key("start_diameter", SizeText(part, start, text));
    text.Key("end_diameter", SizeText(part, end, text));
    return;
  }
  text.Key(starts ? "start_diameter" : "end_diameter", SizeText(part, large, text));
  const double length_mm = taper.to_mm - taper.from_mm;
  const double change_mm = large.nominal_mm - small.nominal_mm;
  const std::string over = ShortNumber(length_mm / change_mm);
  if (over.find('.') == std::string::npos) {
    text.Text("ratio", "1:" + over);
  } else {
    text.Key("angle", ShortNumber(2 * std::atan(0.5 * change_mm / length_mm) / kRadPerDeg));
  }
}

struct ShapeWriter {
  const Part& part;
  const Feature& feature;
  SheetText& text;

  void Kind(std::string_view word) { text.Word("kind", word); }
  void End(bool at_start) { text.Word("end", at_start ? "start" : "end"); }

  void operator()(const PlanarFace& face) {
    Kind("planar_face");
    text.Side("side", face.normal_P);
    const Size at = AsCoordinate(face);
    const bool end = part.envelope == EnvelopeKind::kTurned &&
                     Alike(at.nominal_mm, face.normal_P[AxisOf(face.normal_P)] > 0
                                              ? CalcEnvelope(part).max_mm[AxisOf(face.normal_P)]
                                              : CalcEnvelope(part).min_mm[AxisOf(face.normal_P)]) &&
                     std::abs(face.normal_P.dot(part.turning_axis_P.direction)) > 0.5;
    if (!IsBlockFace(part, face) && !end) text.Length("at", at.nominal_mm);
    for (const LimitKey& limit : LimitsOf(text, at, IsGeneralFace(part, face)))
      text.Key(limit.key, limit.value);
  }
  void operator()(const Hole& hole) { WriteHole(part, feature, hole, text); }
  void operator()(const OuterDiameter& outer) {
    const bool block = part.envelope == EnvelopeKind::kBlock;
    Kind(outer.spigot ? "spigot" : block ? "boss" : "outer_diameter");
    WriteReach(part, outer.axis_P, outer.from_mm, outer.to_mm, text);
    WriteSize(part, "diameter", outer.diameter, text);
  }
  void operator()(const Slot& slot) {
    Kind("slot");
    const double radius_mm = 0.5 * slot.width.middle_mm();
    text.Side("from", -slot.into_P);
    WriteAt(part, -slot.into_P, slot.centre_P_mm, radius_mm, text);
    text.Side("along", slot.along_P);
    text.Length("length", slot.length_mm);
    WriteSize(part, "width", slot.width, text);
    Placement ends;
    ends.out_P = -slot.into_P;
    const Vec3 reach = (0.5 * slot.length_mm - radius_mm) * slot.along_P;
    ends.points_P_mm = {slot.centre_P_mm - reach, slot.centre_P_mm, slot.centre_P_mm + reach};
    if (slot.through && Alike(DepthThrough(part, ends, radius_mm), slot.depth_mm)) {
      text.Yes("through");
    } else {
      text.Length("depth", slot.depth_mm);
    }
  }
  void operator()(const Pocket& pocket) {
    Kind("pocket");
    text.Side("from", -pocket.into_P);
    // When it is read, the pockets that stand behind it in the sheet are not there yet.
    Part before = part;
    const auto here = std::find_if(before.features.begin(), before.features.end(),
                                   [&](const Feature& f) { return f.name == feature.name; });
    before.features.erase(
        std::remove_if(here, before.features.end(),
                       [](const Feature& f) { return std::holds_alternative<Pocket>(f.shape); }),
        before.features.end());
    WriteAt(before, -pocket.into_P, pocket.centre_P_mm, 0.5 * pocket.width_mm, text);
    text.Side("along", pocket.along_P);
    text.Length("length", pocket.length_mm);
    text.Length("width", pocket.width_mm);
    text.Length("corner_radius", pocket.corner_radius_mm);
    text.Length("depth", pocket.depth_mm);
  }
  void operator()(const StepCut& step) {
    Kind("step");
    text.Side("from", -step.into_P);
    const Box3& box = step.removed_P;
    const auto bounds = [&](int k) { return text.ListOf({box.min_mm[k], box.max_mm[k]}); };
    text.Key("removed",
             fmt::format("{{ x = {}, y = {}, z = {} }}", bounds(0), bounds(1), bounds(2)));
  }
  void operator()(const EdgeChamfer& chamfer) {
    Kind(chamfer.rounded ? "edge_round" : "chamfer");
    text.Key("between",
             BracketList({Quoted(chamfer.face_a.text()), Quoted(chamfer.face_b.text())}));
    if (chamfer.rounded) {
      text.Length("radius", chamfer.leg_a_mm);
    } else {
      text.Lengths("legs", {chamfer.leg_a_mm, chamfer.leg_b_mm});
    }
  }
  void operator()(const RoundChamfer& chamfer) {
    if (chamfer.countersink) return Countersink(chamfer);
    Kind(chamfer.rounded ? "edge_round" : "chamfer");
    text.Text("on", chamfer.on.text());
    End(chamfer.at_start);
    if (chamfer.rounded) {
      text.Length("radius", chamfer.axial_mm);
    } else {
      text.Length("axial", chamfer.axial_mm);
      text.Length("radial", chamfer.radial_mm);
    }
  }
  void Countersink(const RoundChamfer& cone) {
    Kind("countersink");
    text.Text("on", cone.on.text());
    if (!cone.at_start) End(false);
    const Feature* on = part.Find(cone.on);
    const auto* hole = on == nullptr ? nullptr : std::get_if<Hole>(&on->shape);
    const double hole_mm = hole == nullptr ? 0 : hole->diameter.middle_mm();
    text.Length("diameter", hole_mm + 2 * cone.radial_mm);
    const std::string angle =
        ShortNumber(2 * std::atan2(cone.radial_mm, cone.axial_mm) / kRadPerDeg);
    if (angle != "90") text.Key("angle", angle);
  }
  void operator()(const Groove& groove) {
    Kind(groove.undercut ? "undercut" : "groove");
    text.Key("inside", groove.internal ? "true" : "false");
    WriteReach(part, groove.axis_P, groove.from_mm, groove.to_mm, text);
    WriteSize(part, "diameter", groove.diameter, text);
    if (groove.profile != GrooveProfile::kSquare) text.Word("profile", WordOf(groove.profile));
    if (groove.profile == GrooveProfile::kVee) text.Key("vee_angle", ShortNumber(groove.vee_deg));
  }
  void operator()(const Flats& flats) {
    Kind("flats");
    WriteReach(part, flats.axis_P, flats.from_mm, flats.to_mm, text);
    WriteSize(part, "across", flats.across, text);
    text.Side("normal", flats.first_normal_P);
    if (flats.count != 2) text.Key("count", std::to_string(flats.count));
  }
  void operator()(const Taper& taper) {
    Kind("taper");
    text.Key("inside", taper.internal ? "true" : "false");
    WriteReach(part, taper.axis_P, taper.from_mm, taper.to_mm, text);
    WriteCone(part, taper, text);
    // None is stated of a cone that was read from a solid.
    const double limit_deg = taper.angle_limit_deg;
    if (limit_deg > 0 && std::abs(limit_deg - GeneralAngle_deg(part, taper)) > 1e-9) {
      text.Key("angle_within", ShortNumber(limit_deg));
    }
  }
  void operator()(const ExternalThread& thread) {
    Kind("thread");
    text.Text("on", thread.on.text());
    End(thread.at_start);
    text.Length("length", thread.length_mm);
    text.Text("designation", thread.designation);
  }
  void operator()(const Keyway& keyway) {
    Kind("keyway");
    text.Key("inside", keyway.internal ? "true" : "false");
    WriteReach(part, keyway.axis_P, keyway.from_mm, keyway.to_mm, text);
    WriteSize(part, "width", keyway.width, text);
    Groove like;
    like.internal = keyway.internal;
    like.axis_P = keyway.axis_P;
    like.from_mm = keyway.from_mm;
    like.to_mm = keyway.to_mm;
    const double surface_mm = GrooveSurfaceRadius(part, like);
    const double depth_mm =
        keyway.internal ? keyway.floor_mm - surface_mm : surface_mm - keyway.floor_mm;
    if (surface_mm > 0 && depth_mm > 0) {
      text.Length("depth", depth_mm);
    } else {
      text.Length("floor", keyway.floor_mm);
    }
    text.Side("side", keyway.side_P);
  }
  void operator()(const Knurl& knurl) {
    Kind("knurl");
    text.Text("on", knurl.on.text());
    const Feature* on = part.Find(knurl.on);
    const auto* outer = on == nullptr ? nullptr : std::get_if<OuterDiameter>(&on->shape);
    if (outer == nullptr || !Alike(outer->from_mm, knurl.from_mm) ||
        !Alike(outer->to_mm, knurl.to_mm)) {
      text.Length("from", knurl.from_mm);
      text.Length("to", knurl.to_mm);
    }
    text.Length("pitch", knurl.pitch_mm);
    if (knurl.pattern != KnurlPattern::kDiamond) text.Word("pattern", WordOf(knurl.pattern));
  }
  void operator()(const Marking& marking) {
    Kind("marking");
    text.Side("from", -marking.into_P);
    WriteAt(part, -marking.into_P, marking.at_P_mm, 0.5 * marking.height_mm, text);
    text.Text("text", marking.text);
    text.Length("height", marking.height_mm);
    text.Length("depth", marking.depth_mm);
    text.Side("along", marking.along_P);
  }
  void WriteLine(const Outline& outline) {
    const auto place = [&](const Vec2& p) {
      return OnPlane(outline.origin_P_mm + p.x() * outline.u_P + p.y() * outline.v_P,
                     outline.into_P);
    };
    const auto u = OnPlane(outline.u_P, outline.into_P);
    const auto v = OnPlane(outline.v_P, outline.into_P);
    const double hand = u[0] * v[1] - u[1] * v[0] > 0 ? 1 : -1;
    std::vector<std::string> corners;
    for (std::size_t i = 0; i < outline.line.size(); ++i) {
      std::vector<double> corner = place(outline.line[i].at_mm);
      if (const double radius = RadiusOf(outline.line, i); radius != 0) corner.push_back(hand * radius);
      corners.push_back(text.ListOf(corner));
    }
    text.Key("line", BracketList(corners));
    const int axis = AxisOf(outline.into_P);
    const Box3 box = CalcEnvelope(part);
    const double outside = outline.into_P[axis] > 0 ? box.min_mm[axis] : box.max_mm[axis];
    if (outline.depth_mm > 0 && !Alike(outline.origin_P_mm[axis], outside))
      text.Length("entry", outline.origin_P_mm[axis]);
    if (outline.depth_mm > 0) text.Length("depth", outline.depth_mm);
    else if (outline.within) text.Yes("through");
  }
  void operator()(const Outline& outline) {
    Kind(outline.within ? "cutout" : "outline");
    text.Side("from", -outline.into_P);
    const auto place = [&](const Vec2& p) {
      return OnPlane(outline.origin_P_mm + p.x() * outline.u_P + p.y() * outline.v_P,
                     outline.into_P);
    };
    if (!outline.line.empty()) WriteLine(outline);
    std::vector<std::string> discs;
    for (const Outline::Disc& disc : outline.discs) {
      const auto at = place(disc.centre_mm);
      discs.push_back(text.ListOf({at[0], at[1], disc.diameter_mm}));
    }
    std::vector<std::string> bars;
    for (const Outline::Bar& bar : outline.bars) {
      const auto a = place(bar.a_mm);
      const auto b = place(bar.b_mm);
      bars.push_back(text.ListOf({a[0], a[1], b[0], b[1], bar.width_mm}));
    }
    if (!discs.empty()) text.Key("discs", BracketList(discs));
    if (!bars.empty()) text.Key("bars", BracketList(bars));
    if (outline.inside_radius_mm > 0) text.Length("inside_radius", outline.inside_radius_mm);
  }
};

// finish, ra, geometric, do_not_grip and note.
void WriteSurface(const Feature& feature, SheetText& text) {
  if (feature.finish != Finish::kAsMachined) text.Word("finish", WordOf(feature.finish));
  if (feature.ra_um) text.Key("ra", PlainNumber(*feature.ra_um));
  std::vector<std::string> limits;
  for (const GeometricLimit& limit : feature.geometric) {
    limits.push_back(
        fmt::format("{{ kind = \"{}\", {}within = {} }}", WordOf(limit.kind),
                    limit.datum ? fmt::format("datum = {}, ", Quoted(limit.datum->text())) : "",
                    text.LengthOf(limit.within_mm)));
  }
  if (!limits.empty()) text.Key("geometric", BracketList(limits));
  if (feature.do_not_grip) text.Yes("do_not_grip");
  if (!feature.note.empty()) text.Text("note", feature.note);
}

bool SaysNothing(const Feature& feature) {
  return feature.finish == Finish::kAsMachined && !feature.ra_um && feature.geometric.empty() &&
         !feature.do_not_grip && feature.note.empty();
}

}  // namespace

bool IsGeneral(const Part& part, const Size& size) {
  if (size.origin != LimitsOrigin::kGeneralTolerance) return false;
  const auto general = trade::MakeGeneralSize(size.nominal_mm, part.general_tolerance);
  return size.width_mm() < kGeometryNoise_mm || (general && SameLimits(*general, size));
}

bool IsBlockFace(const Part& part, const PlanarFace& face) {
  if (part.envelope != EnvelopeKind::kBlock) return false;
  const int axis = AxisOf(face.normal_P);
  const bool high = face.normal_P[axis] > 0;
  const double bound_mm = high ? part.block_P.max_mm[axis] : 0.0 - part.block_P.min_mm[axis];
  return std::abs(face.at.middle_mm() - bound_mm) < kDrawnAlike_mm;
}

Box3 DrawnBlock(const Part& part) {
  Box3 drawn = part.block_P;
  for (const Feature& feature : part.features) {
    const auto* face = std::get_if<PlanarFace>(&feature.shape);
    if (face == nullptr || !IsBlockFace(part, *face)) continue;
    const int axis = AxisOf(face->normal_P);
    if (face->normal_P[axis] > 0) {
      drawn.max_mm[axis] = face->at.nominal_mm;
    } else {
      drawn.min_mm[axis] = 0.0 - face->at.nominal_mm;
    }
  }
  return drawn;
}

bool ExistsByItself(const Part& part, const Feature& feature) {
  const auto* face = std::get_if<PlanarFace>(&feature.shape);
  if (face == nullptr || !SaysNothing(feature) || !IsGeneralFace(part, *face)) return false;
  if (part.envelope == EnvelopeKind::kBlock) {
    const std::string side = SideWord(face->normal_P);
    return IsBlockFace(part, *face) &&
           std::any_of(kBlockFaces.begin(), kBlockFaces.end(), [&](const BlockFace& known) {
             return known.side == side && known.name == feature.name.text();
           });
  }
  // Added behind all others, the low end first.
  const std::size_t count = part.features.size();
  const std::size_t place = static_cast<std::size_t>(&feature - part.features.data());
  const Stretch work = CalcTurnedLength(part);
  const Axis3& axis = part.turning_axis_P;
  const double along = face->normal_P.dot(axis.direction);
  if (std::abs(along) < 0.5) return false;
  const double at_mm = along * face->at.nominal_mm - axis.direction.dot(axis.point_mm);
  const bool high = along > 0;
  if (!Alike(at_mm, high ? work.to_mm : work.from_mm)) return false;
  if (high) return feature.name.text() == "high_end" && place + 1 == count;
  const bool high_follows = place + 2 == count && part.features.back().name.text() == "high_end";
  return feature.name.text() == "low_end" && (place + 1 == count || high_follows);
}

std::vector<double> OnPlane(const Vec3& point, const Vec3& out) {
  std::vector<double> two;
  for (int k = 0; k < 3; ++k) {
    if (k != AxisOf(out)) two.push_back(point[k]);
  }
  return two;
}

std::optional<double> EntryToState(const Part& part, const Vec3& out,
                                   const std::vector<Vec3>& points, double radius_mm) {
  Placement placement;
  placement.out_P = out;
  placement.points_P_mm = points;
  const int axis = AxisOf(out);
  const double entry_mm = points.front()[axis];
  const auto usual_mm = FirstMaterial_mm(part, placement, radius_mm);
  if (usual_mm && Alike(*usual_mm, entry_mm)) return std::nullopt;
  // A face is named where it is drawn.
  for (const Feature& feature : part.features) {
    const auto* face = std::get_if<PlanarFace>(&feature.shape);
    if (face == nullptr || face->normal_P.dot(out) < 1 - 1e-9) continue;
    if (Alike(out[axis] * face->at.middle_mm(), entry_mm)) return out[axis] * face->at.nominal_mm;
  }
  return entry_mm;
}

void WriteAt(const Part& part, const Vec3& out, const Vec3& place, double radius_mm,
             SheetText& text) {
  const auto entry_mm = EntryToState(part, out, {place}, radius_mm);
  if (!entry_mm) return text.Lengths("at", OnPlane(place, out));
  Vec3 all = place;
  all[AxisOf(out)] = *entry_mm;
  text.Lengths("at", {all[0], all[1], all[2]});
}

void WriteSize(const Part& part, std::string_view key, const Size& size, SheetText& text) {
  const bool in_limits =
      size.origin == LimitsOrigin::kLimits && Alike(size.nominal_mm, size.middle_mm());
  if (!in_limits) text.Length(key, size.nominal_mm);
  for (const LimitKey& limit : LimitsOf(text, size, IsGeneral(part, size)))
    text.Key(limit.key, limit.value);
}

void WriteFeature(const Part& part, const Feature& feature, SheetText& text) {
  text.Table("[[feature]]", "features." + feature.name.text());
  text.Text("name", feature.name.text());
  ShapeWriter writer{part, feature, text};
  std::visit(writer, feature.shape);
  WriteSurface(feature, text);
}

}  // namespace fitwright::files
