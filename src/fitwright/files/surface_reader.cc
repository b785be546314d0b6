// What stands on faces and around the outside: finish and geometric limits, markings, outlines.
#include <cmath>

#include "fitwright/files/feature_reader.h"
#include "fitwright/model/material.h"
#include "fitwright/units/length.h"

namespace fitwright::files {
namespace {

bool NeedsDatum(GeometricKind kind) {
  return kind != GeometricKind::kFlat && kind != GeometricKind::kRound &&
         kind != GeometricKind::kCylindrical;
}

std::optional<GeometricLimit> ReadGeometric(TableReader& table) {
  GeometricLimit limit;
  const auto kind = table.Word<GeometricKind>("kind");
  table.Require("kind", fmt::format("write one of: {}", ListOf(WordList<GeometricKind>())));
  const auto within_mm = table.PositiveLength_mm("within");
  table.Require("within", "write the width of its zone: within = 0.02");
  const auto datum = table.String("datum");
  table.Finish();
  if (!kind || !within_mm || (table.Has("datum") && !datum)) return std::nullopt;
  if (NeedsDatum(*kind) != datum.has_value()) {
    table.Fault(ErrorCode::kBadDatum, "datum",
                datum
                    ? fmt::format("{} is a form: it has no datum", WordOf(*kind))
                    : fmt::format("{} is counted from a datum, which is not stated", WordOf(*kind)),
                datum ? "take datum out" : "write datum = \"NAME\", a feature of the same part");
    return std::nullopt;
  }
  limit.kind = *kind;
  limit.within_mm = *within_mm;
  if (datum) limit.datum = FeatureId(*datum);
  return limit;
}

// The coordinate of the part's outside on that side.
double OutsideAt(const Part& part, const Vec3& out) {
  const Box3 box = CalcEnvelope(part);
  const int axis = AxisOf(out);
  return out[axis] > 0 ? box.max_mm[axis] : box.min_mm[axis];
}

// Directions of the two other coordinates, in x y z order.
void SetPlane(const Vec3& out, Outline& outline) {
  const int axis = AxisOf(out);
  outline.u_P = Vec3::Unit(axis == 0 ? 1 : 0);
  outline.v_P = Vec3::Unit(axis == 2 ? 1 : 2);
}

// The closed line as written; false when it is not one (reported). An arc's radius turns left above
// zero, seen with the two coordinates as x and y.
bool ReadLine(TableReader& table, Outline& outline) {
  const auto corners = table.PointList_mm("line", 2, 3);
  if (!corners) return false;
  for (const auto& c : *corners) outline.line.push_back({Vec2(c[0], c[1]), 0});
  for (std::size_t i = 0; i < corners->size(); ++i) {
    const auto& c = (*corners)[i];
    if (c.size() < 3) continue;
    const Vec2& next = outline.line[(i + 1) % outline.line.size()].at_mm;
    const auto turn = TurnOfArc(outline.line[i].at_mm, next, c[2]);
    if (!turn) {
      table.Fault(ErrorCode::kBadOutline, "line", "an arc of the line is too small for its two ends",
                  fmt::format("write a radius of at least {} mm from corner {} on",
                              FormatTrimmed(0.5 * (next - outline.line[i].at_mm).norm(), 3), i + 1));
      return false;
    }
    outline.line[i].turn_rad = *turn;
  }
  if (outline.line.size() > 1) return true;
  table.Fault(ErrorCode::kBadOutline, "line", "a line of one corner encloses nothing",
              "write the corners one after the other: [[0, 0], [20, 0], [10, 15]]");
  return false;
}

// Discs and bars as written; false when one has no size (reported).
bool ReadShapes(TableReader& table, Outline& outline) {
  if (table.Has("line")) return ReadLine(table, outline);
  const auto discs = table.PointList_mm("discs", 3, 3);
  const auto bars = table.PointList_mm("bars", 5, 5);
  if ((table.Has("discs") && !discs) || (table.Has("bars") && !bars)) return false;
  if (!discs && !bars) {
    table.Require("discs", "write discs = [[u, v, diameter]] and bars = [[u1, v1, u2, v2, width]], or one line = [[u, v], [u, v, radius]]");
    return false;
  }
  if (discs) {
    for (const auto& d : *discs) outline.discs.push_back({Vec2(d[0], d[1]), d[2]});
  }
  if (bars) {
    for (const auto& b : *bars) outline.bars.push_back({Vec2(b[0], b[1]), Vec2(b[2], b[3]), b[4]});
  }
  for (const auto& disc : outline.discs) {
    if (disc.diameter_mm > kDrawnAlike_mm) continue;
    table.Fault(ErrorCode::kBadOutline, "discs", "a disc of the outline has no size",
                "write [u, v, diameter] with a diameter above zero");
    return false;
  }
  for (const auto& bar : outline.bars) {
    if (bar.width_mm > kDrawnAlike_mm && (bar.b_mm - bar.a_mm).norm() > kDrawnAlike_mm) continue;
    table.Fault(ErrorCode::kBadOutline, "bars", "a bar of the outline has no size",
                "write [u1, v1, u2, v2, width] with two places and a width above zero");
    return false;
  }
  return true;
}

// The model's u, v and the way out make a right hand.
void TurnToRightHand(Outline& outline) {
  if (outline.u_P.cross(outline.v_P).dot(outline.into_P) < 0) return;
  outline.v_P = -outline.v_P;
  for (Outline::Disc& disc : outline.discs) disc.centre_mm.y() = 0.0 - disc.centre_mm.y();
  for (Outline::Bar& bar : outline.bars) {
    bar.a_mm.y() = 0.0 - bar.a_mm.y();
    bar.b_mm.y() = 0.0 - bar.b_mm.y();
  }
  outline.line = Mirrored(std::move(outline.line));
}

// What a closed line is cut down to; false when faulty (reported).
bool ReadLineDepth(TableReader& table, const Vec3& out, const Part& part, Outline& outline) {
  const auto entry_mm = table.Length_mm("entry");
  const auto depth_mm = table.PositiveLength_mm("depth");
  const bool through = outline.within && table.Bool("through").value_or(false);
  if (outline.within && !through) table.Require("depth", "write its depth, or through = true");
  if ((table.Has("depth") || (outline.within && !through)) && !depth_mm) return false;
  outline.origin_P_mm[AxisOf(out)] = entry_mm.value_or(OutsideAt(part, out));
  outline.depth_mm = through ? 0 : depth_mm.value_or(0);
  return true;
}

}  // namespace

void ReadSurface(TableReader& table, Feature& feature) {
  feature.finish = table.Word<Finish>("finish").value_or(Finish::kAsMachined);
  feature.do_not_grip = table.Bool("do_not_grip").value_or(false);
  feature.note = table.String("note").value_or("");
  const auto ra_um = table.Number("ra");
  if (ra_um && *ra_um <= 0) {
    table.Fault(ErrorCode::kNotPositive, "ra", "ra is not above zero",
                "write the greatest Ra in micrometres: ra = 1.6");
  } else {
    feature.ra_um = ra_um;
  }
  for (TableReader& row : table.Tables("geometric")) {
    if (const auto limit = ReadGeometric(row)) feature.geometric.push_back(*limit);
  }
}

bool ReadMarking(TableReader& table, PartDraft& draft, Feature& feature) {
  auto placement = ReadPlacement(table, draft.part, false);
  const auto along = placement ? ReadAlong(table, placement->out_P) : table.Side("along");
  const auto text = table.String("text");
  table.Require("text", "write what it says: text = \"2.5 bar max\"");
  const auto height_mm = table.PositiveLength_mm("height");
  table.Require("height", "write the height of its letters");
  const auto depth_mm = table.PositiveLength_mm("depth");
  table.Require("depth", "write how deep it is cut");
  if (!placement || !along || !text || !height_mm || !depth_mm) return false;
  if (text->find_first_not_of(" \t\n") == std::string::npos) {
    table.Fault(ErrorCode::kCutsNothing, "text", "the marking says nothing",
                "write some letters, or take the marking out");
    return false;
  }
  if (!SettleEntry(table, draft, 0.5 * *height_mm, *placement)) return false;
  feature.shape = Marking{
      -placement->out_P, placement->points_P_mm.front(), *along, *text, *height_mm, *depth_mm};
  return true;
}

bool ReadOutline(TableReader& table, const PartDraft& draft, bool within, Feature& feature) {
  Outline outline;
  outline.within = within;
  const auto out = table.Side("from");
  table.Require("from", "name the side the tool comes from: from = \"+z\"");
  if (within) table.Require("line", "write its corners: line = [[u, v], [u, v, radius]]");
  const bool shaped = within ? table.Has("line") && ReadLine(table, outline) : ReadShapes(table, outline);
  const bool by_line = within || table.Has("line");
  const auto radius_mm = by_line ? std::nullopt : table.PositiveLength_mm("inside_radius");
  if (outline.discs.size() + outline.bars.size() > 1) {
    table.Require("inside_radius", "write the radius of its inside corners, the cutter's or more");
  }
  if (!out || !shaped || (outline.discs.size() + outline.bars.size() > 1 && !radius_mm))
    return false;
  if (!draft.envelope_sound) return false;
  outline.into_P = -*out;
  outline.origin_P_mm[AxisOf(*out)] = OutsideAt(draft.part, *out);
  if (by_line && !ReadLineDepth(table, *out, draft.part, outline)) return false;
  outline.inside_radius_mm = radius_mm.value_or(0);
  SetPlane(*out, outline);
  TurnToRightHand(outline);
  feature.shape = outline;
  return true;
}

}  // namespace fitwright::files
