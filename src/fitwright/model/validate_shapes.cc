#include <algorithm>
#include <array>
#include <cmath>

#include "fitwright/model/material.h"
#include "fitwright/model/shapes.h"
#include "fitwright/model/validate_internal.h"

namespace fitwright {
namespace {

// A thread is cut on a blank near its major diameter: common practice leaves it 0.1 or so under.
constexpr double kThreadBlank_mm = 0.3;
// A cone drawn at the nominal size of a fit stands over its diameter by no more than this.
constexpr double kConeOver_mm = 0.2;

double DistanceToDisc(const Outline::Disc& disc, const Vec2& p) {
  return (p - disc.centre_mm).norm() - 0.5 * disc.diameter_mm;
}

// Corners of a bar, in turn.
std::array<Vec2, 4> CornersOf(const Outline::Bar& bar) {
  const Vec2 along = (bar.b_mm - bar.a_mm).normalized();
  const Vec2 side = 0.5 * bar.width_mm * Vec2(-along.y(), along.x());
  return {bar.a_mm - side, bar.b_mm - side, bar.b_mm + side, bar.a_mm + side};
}

double DistanceToSegment(const Vec2& a, const Vec2& b, const Vec2& p) {
  const double t = std::clamp((p - a).dot(b - a) / (b - a).squaredNorm(), 0.0, 1.0);
  return (p - a - t * (b - a)).norm();
}

bool InBar(const Outline::Bar& bar, const Vec2& p) {
  const Vec2 along = (bar.b_mm - bar.a_mm).normalized();
  const Vec2 d = p - bar.a_mm;
  const double t = along.dot(d);
  return t >= 0 && t <= (bar.b_mm - bar.a_mm).norm() &&
         std::abs(along.x() * d.y() - along.y() * d.x()) <= 0.5 * bar.width_mm;
}

bool Overlap(const Outline::Disc& a, const Outline::Disc& b) {
  return DistanceToDisc(a, b.centre_mm) < 0.5 * b.diameter_mm - kDrawnAlike_mm;
}

bool Overlap(const Outline::Disc& disc, const Outline::Bar& bar) {
  if (InBar(bar, disc.centre_mm)) return true;
  const auto corners = CornersOf(bar);
  double nearest = 1e9;
  for (std::size_t i = 0; i < 4; ++i)
    nearest =
        std::min(nearest, DistanceToSegment(corners[i], corners[(i + 1) % 4], disc.centre_mm));
  return nearest < 0.5 * disc.diameter_mm - kDrawnAlike_mm;
}

// Two rectangles lie apart when one of their four sides' directions parts them.
bool Overlap(const Outline::Bar& a, const Outline::Bar& b) {
  const auto corners_a = CornersOf(a);
  const auto corners_b = CornersOf(b);
  for (const Outline::Bar* bar : {&a, &b}) {
    const Vec2 along = (bar->b_mm - bar->a_mm).normalized();
    for (const Vec2& way : {along, Vec2(-along.y(), along.x())}) {
      const auto reach = [&](const std::array<Vec2, 4>& corners) {
        std::array<double, 4> at{};
        std::transform(corners.begin(), corners.end(), at.begin(),
                       [&](const Vec2& c) { return way.dot(c); });
        return std::pair{*std::min_element(at.begin(), at.end()),
                         *std::max_element(at.begin(), at.end())};
      };
      const auto [low_a, high_a] = reach(corners_a);
      const auto [low_b, high_b] = reach(corners_b);
      if (std::min(high_a, high_b) - std::max(low_a, low_b) < kDrawnAlike_mm) return false;
    }
  }
  return true;
}

bool Overlap(const Outline& o, std::size_t i, std::size_t k) {
  const std::size_t discs = o.discs.size();
  if (i > k) std::swap(i, k);
  if (k < discs) return Overlap(o.discs[i], o.discs[k]);
  if (i < discs) return Overlap(o.discs[i], o.bars[k - discs]);
  return Overlap(o.bars[i - discs], o.bars[k - discs]);
}

bool IsOnePiece(const Outline& outline) {
  const std::size_t count = outline.discs.size() + outline.bars.size();
  std::vector<std::size_t> reached{0};
  std::vector<bool> seen(count, false);
  seen[0] = true;
  for (std::size_t next = 0; next < reached.size(); ++next) {
    for (std::size_t k = 0; k < count; ++k) {
      if (seen[k] || !Overlap(outline, reached[next], k)) continue;
      seen[k] = true;
      reached.push_back(k);
    }
  }
  return reached.size() == count;
}

// Box of the outline along u and v.
std::pair<Vec2, Vec2> BoxOf(const Outline& outline) {
  if (!outline.line.empty()) return ReachOf(outline.line);
  Vec2 low = Vec2::Constant(1e9);
  Vec2 high = Vec2::Constant(-1e9);
  for (const Outline::Disc& disc : outline.discs) {
    low = low.cwiseMin(disc.centre_mm - Vec2::Constant(0.5 * disc.diameter_mm));
    high = high.cwiseMax(disc.centre_mm + Vec2::Constant(0.5 * disc.diameter_mm));
  }
  for (const Outline::Bar& bar : outline.bars) {
    for (const Vec2& corner : CornersOf(bar)) {
      low = low.cwiseMin(corner);
      high = high.cwiseMax(corner);
    }
  }
  return {low, high};
}

}  // namespace

void ShapeCheck::operator()(const Feature& feature, const Groove& groove) {
  CheckSize(feature, groove.diameter, "diameter");
  const double floor_mm = 0.5 * groove.diameter.middle_mm();
  const double half_mm = 0.5 * (groove.to_mm - groove.from_mm);
  if (groove.profile == GrooveProfile::kRound && groove.internal && floor_mm <= half_mm) {
    Add(ErrorCode::kBadProfile, feature, "profile", "the half round reaches over the axis",
        "write a narrower groove");
  }
  if (!groove.internal) {
    CheckCutsOutside(feature, groove.axis_P, groove.from_mm, groove.to_mm,
                     groove.diameter.middle_mm(), "diameter");
    return;
  }
  const double bore_mm = GrooveSurfaceRadius(part, groove);
  if (bore_mm <= 0 || floor_mm > bore_mm + kGeometryNoise_mm) return;
  Add(ErrorCode::kCutsNothing, feature, "diameter", "the groove is no wider than the bore it is in",
      fmt::format("write more than {} mm", Trim(2 * bore_mm)));
}

void ShapeCheck::operator()(const Feature& feature, const Flats& flats) {
  CheckSize(feature, flats.across, "across");
  const double covering_mm = CoveringDiameter(part, flats.axis_P, flats.from_mm, flats.to_mm);
  const double off_mm = FlatDistance(part, flats);
  if (covering_mm > 0 && off_mm >= 0.5 * covering_mm - kGeometryNoise_mm) {
    Add(ErrorCode::kCutsNothing, feature, "across", "the flats lie outside the part",
        fmt::format("the outer diameter is {} mm here", Trim(covering_mm)));
    return;
  }
  if (covering_mm > 0 && off_mm <= kGeometryNoise_mm) {
    Add(ErrorCode::kOutOfRange, feature, "across", "the flats reach past the axis",
        fmt::format(
            "across one or three flats is counted to the far side of the outer diameter, {} "
            "mm here",
            Trim(covering_mm)));
    return;
  }
  CheckCutsOutside(feature, flats.axis_P, flats.from_mm, flats.to_mm, 2 * off_mm, "across");
}

void ShapeCheck::operator()(const Feature& feature, const Taper& taper) {
  CheckSize(feature, taper.start_diameter, "start_diameter");
  CheckSize(feature, taper.end_diameter, "end_diameter");
  const double start_mm = taper.start_diameter.middle_mm();
  const double end_mm = taper.end_diameter.middle_mm();
  if (std::abs(start_mm - end_mm) < kDrawnAlike_mm) {
    Add(ErrorCode::kNoTaper, feature, "end_diameter", "both ends of the taper are alike",
        "write two diameters that differ, or an outer diameter or a bore");
    return;
  }
  if (taper.internal) return;
  CheckCutsOutside(feature, taper.axis_P, taper.from_mm, taper.to_mm, std::min(start_mm, end_mm),
                   start_mm < end_mm ? "start_diameter" : "end_diameter");
  const double covering_mm = CoveringDiameter(part, taper.axis_P, taper.from_mm, taper.to_mm);
  if (covering_mm <= 0 || std::max(start_mm, end_mm) <= covering_mm + kConeOver_mm) return;
  Add(ErrorCode::kOutsidePart, feature, start_mm > end_mm ? "start_diameter" : "end_diameter",
      "the taper is wider than the outer diameter it is cut from",
      fmt::format("the outer diameter is {} mm here", Trim(covering_mm)));
}

void ShapeCheck::operator()(const Feature& feature, const ExternalThread& thread) {
  const Feature* on = part.Find(thread.on);
  const auto* outer = on == nullptr ? nullptr : std::get_if<OuterDiameter>(&on->shape);
  if (outer == nullptr) return;
  const double diameter_mm = outer->diameter.middle_mm();
  if (std::abs(diameter_mm - thread.major_mm) > kThreadBlank_mm) {
    Add(ErrorCode::kThreadOffDiameter, feature, "designation",
        fmt::format("{} is {} mm outside, and {} is {} mm", thread.designation,
                    Trim(thread.major_mm), on->name.text(), Trim(diameter_mm)),
        "write the thread of that diameter, or mend the diameter");
  }
  const double length_mm = outer->to_mm - outer->from_mm;
  if (thread.length_mm <= length_mm + kDrawnAlike_mm) return;
  Add(ErrorCode::kThreadTooLong, feature, "length",
      fmt::format("{} is only {} mm long", on->name.text(), Trim(length_mm)),
      "write a shorter thread, or a longer diameter");
}

void ShapeCheck::operator()(const Feature& feature, const Keyway& keyway) {
  CheckSize(feature, keyway.width, "width");
  Groove like;
  like.internal = keyway.internal;
  like.axis_P = keyway.axis_P;
  like.from_mm = keyway.from_mm;
  like.to_mm = keyway.to_mm;
  const double radius_mm = GrooveSurfaceRadius(part, like);
  const double width_mm = keyway.width.middle_mm();
  if (radius_mm <= 0) return;
  if (width_mm >= 2 * radius_mm) {
    Add(ErrorCode::kKeywayTooBig, feature, "width", "the keyway is wider than what it is cut into",
        fmt::format("the diameter is {} mm here", Trim(2 * radius_mm)));
    return;
  }
  const bool cuts = keyway.internal ? keyway.floor_mm > radius_mm + kGeometryNoise_mm
                                    : keyway.floor_mm < radius_mm - kGeometryNoise_mm;
  if (!cuts) {
    Add(ErrorCode::kCutsNothing, feature, "floor", "the keyway's floor is at or above the surface",
        fmt::format("the surface is {} mm from the axis", Trim(radius_mm)));
    return;
  }
  if (keyway.internal || keyway.to_mm - keyway.from_mm >= width_mm - kDrawnAlike_mm) return;
  const auto [open_from, open_to] = OpenEnds(part, keyway);
  if (open_from || open_to) return;
  Add(ErrorCode::kOutOfRange, feature, "to", "the keyway is shorter than its cutter is wide",
      fmt::format("write from and to at least {} mm apart", Trim(width_mm)));
}

void ShapeCheck::operator()(const Feature& feature, const Knurl& knurl) {
  const Feature* on = part.Find(knurl.on);
  const auto* outer = on == nullptr ? nullptr : std::get_if<OuterDiameter>(&on->shape);
  if (outer == nullptr) return;
  if (knurl.from_mm < outer->from_mm - kDrawnAlike_mm ||
      knurl.to_mm > outer->to_mm + kDrawnAlike_mm) {
    Add(ErrorCode::kOffDiameter, feature,
        knurl.from_mm < outer->from_mm - kDrawnAlike_mm ? "from" : "to",
        fmt::format("the knurl runs off {}", on->name.text()),
        fmt::format("it reaches from {} to {}", Trim(outer->from_mm), Trim(outer->to_mm)));
    return;
  }
  if (knurl.pitch_mm < kPi * outer->diameter.middle_mm() / 4) return;
  Add(ErrorCode::kOutOfRange, feature, "pitch",
      "the ridges are too coarse to go round the diameter",
      "write the pitch of the wheels: 0.5 to 2 mm");
}

void ShapeCheck::operator()(const Feature& feature, const Marking& marking) {
  CheckDepth(feature, marking.depth_mm);
  // Letters are about 0.6 as wide as high with the gap after them (common practice). The part must
  // stand under both ends of the text.
  constexpr double kLetterWidth = 0.6;
  const double half_mm =
      0.5 * kLetterWidth * marking.height_mm * static_cast<double>(marking.text.size());
  const Vec3 up = marking.along_P.cross(marking.into_P);
  for (const double end : {-half_mm, 0.0, half_mm}) {
    for (const double side : {-0.5, 0.5}) {
      const Vec3 point = marking.at_P_mm + end * marking.along_P + side * marking.height_mm * up;
      const auto stretches = CalcMaterialAlong(part, point - marking.into_P * 1e-3, marking.into_P);
      const bool under = std::any_of(stretches.begin(), stretches.end(), [&](const Stretch& s) {
        return s.from_mm <= 2e-3 && s.to_mm >= marking.depth_mm;
      });
      if (under) continue;
      Add(ErrorCode::kOffFace, feature, "at", "the letters run off the face they stand on",
          "move the marking, or write a smaller height");
      return;
    }
  }
}

bool ShapeCheck::HasSoundLine(const Feature& feature, const Outline& outline) {
  constexpr double kNoArea_mm2 = 1e-3;
  if (outline.line.size() < 2 || std::abs(AreaWithin_mm2(outline.line)) < kNoArea_mm2) {
    Add(ErrorCode::kBadOutline, feature, "line", "the line encloses nothing",
        "write the corners one after the other, three at least, or two and arcs between them");
    return false;
  }
  if (!CrossesItself(outline.line)) return true;
  Add(ErrorCode::kBadOutline, feature, "line", "the line crosses itself",
      "write the corners in the order in which one goes round");
  return false;
}

void ShapeCheck::operator()(const Feature& feature, const Outline& outline) {
  if (!outline.line.empty()) {
    if (!HasSoundLine(feature, outline)) return;
  } else if (outline.discs.empty() && outline.bars.empty()) {
    Add(ErrorCode::kBadOutline, feature, "discs", "the outline leaves nothing of the part",
        "write discs and bars");
    return;
  }
  const std::string_view key = !outline.line.empty() ? "line" : outline.discs.empty() ? "bars" : "discs";
  if (outline.line.empty() && !IsOnePiece(outline)) {
    Add(ErrorCode::kBadOutline, feature, key, "the outline is not one piece",
        "let each disc and bar overlap another one");
    return;
  }
  const Box3 box = CalcEnvelope(part);
  const auto [low, high] = BoxOf(outline);
  double out_mm = 0;
  double in_mm = -1e9;
  for (int way = 0; way < 2; ++way) {
    const Vec3& axis = way == 0 ? outline.u_P : outline.v_P;
    const double origin = axis.dot(outline.origin_P_mm);
    const double least =
        axis.cwiseMax(0).dot(box.min_mm) + axis.cwiseMin(0).dot(box.max_mm) - origin;
    const double most =
        axis.cwiseMax(0).dot(box.max_mm) + axis.cwiseMin(0).dot(box.min_mm) - origin;
    out_mm = std::max({out_mm, least - low[way], high[way] - most});
    in_mm = std::max({in_mm, low[way] - most, least - high[way]});
  }
  if (in_mm >= 0) {
    Add(ErrorCode::kBadOutline, feature, key,
        outline.within ? "the cutout stands beside the part" : "the outline leaves nothing of the part",
        "its places are the part's own coordinates, in x y z order");
  } else if (!outline.within && out_mm > kDrawnAlike_mm) {
    Add(ErrorCode::kOutsidePart, feature, key,
        fmt::format("the outline stands {} mm outside the part", Trim(out_mm)),
        "make the envelope as large as the outline");
  }
}

void ShapeCheck::CheckCutsOutside(const Feature& feature, const Axis3& axis, double from_mm,
                                  double to_mm, double size_mm, std::string_view key) {
  if (CoveringDiameter(part, axis, from_mm, to_mm) > size_mm + kGeometryNoise_mm) return;
  Add(ErrorCode::kOutsidePart, feature, key, "there is nothing of the part outside this size here",
      "mend the size, or from and to");
}

}  // namespace fitwright
