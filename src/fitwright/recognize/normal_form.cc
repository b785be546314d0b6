#include "fitwright/recognize/normal_form.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <optional>

#include "fitwright/model/shapes.h"
#include "fitwright/recognize/normal_profile.h"
#include "fitwright/recognize/placed_graph.h"
#include "fitwright/model/material.h"

namespace fitwright::recognize {
namespace {

constexpr double kAny = std::numeric_limits<double>::quiet_NaN();

// A line without a sense, and what lies about it.
struct AxisItems {
  Axis3 axis_N;
  std::vector<ProfilePiece> outer;
  std::vector<ProfilePiece> outer_cuts;
  std::vector<ProfilePiece> inner;
};

Vec3 WithoutSense(Vec3 d) {
  for (int i = 0; i < 3; ++i) {
    if (std::abs(d[i]) > 1e-6) return d[i] < 0 ? Vec3(-d) : d;
  }
  return d;
}

// The envelope without what an outline takes beyond its farthest disc or bar.
Box3 BoxLeft(const Part& part) {
  Box3 box = CalcEnvelope(part);
  for (const Feature& feature : part.features) {
    const auto* outline = std::get_if<Outline>(&feature.shape);
    if (outline == nullptr || outline->within || outline->depth_mm > 0) continue;
    for (int i = 0; i < 3; ++i) {
      if (std::abs(outline->into_P[i]) > 0.5) continue;
      const Vec2 way(outline->u_P[i], outline->v_P[i]);
      const double from = outline->origin_P_mm[i];
      double low = std::numeric_limits<double>::infinity();
      double high = -low;
      const auto include = [&](const Vec2& p, double reach) {
        low = std::min(low, from + way.dot(p) - reach);
        high = std::max(high, from + way.dot(p) + reach);
      };
      for (const Outline::Disc& disc : outline->discs) include(disc.centre_mm, 0.5 * disc.diameter_mm);
      for (const Outline::Bar& bar : outline->bars) {
        const Vec2 along = (bar.b_mm - bar.a_mm).normalized();
        const double across = 0.5 * bar.width_mm * std::abs(way.dot(Vec2(-along.y(), along.x())));
        include(bar.a_mm, across);
        include(bar.b_mm, across);
      }
      for (std::size_t k = 0; k < outline->line.size(); ++k) {
        include(outline->line[k].at_mm, 0);
        include(MiddleOf(outline->line, k), 0);
      }
      box.min_mm[i] = std::max(box.min_mm[i], low);
      box.max_mm[i] = std::min(box.max_mm[i], high);
    }
  }
  return box;
}

class Former {
 public:
  Former(const Part& part, const Pose& X_NP) : part_(part), X_NP_(X_NP) { box_N_ = Turned(BoxLeft(part)); }
  std::vector<NormalItem> Make();

  void operator()(const Hole& hole);
  void operator()(const OuterDiameter& outer);
  void operator()(const Slot& slot);
  void operator()(const Pocket& pocket);
  void operator()(const StepCut& step) { AddBox(Turned(step.removed_P)); }
  void operator()(const EdgeChamfer& chamfer);
  void operator()(const RoundChamfer& chamfer);
  void operator()(const Groove& groove);
  void operator()(const Flats& flats);
  void operator()(const Taper& taper);
  void operator()(const Keyway& keyway);
  void operator()(const Outline& outline);
  template <typename Other>
  void operator()(const Other&) {}

 private:
  struct Seen {  // an axis and the way its places count
    AxisItems* items = nullptr;
    double start_mm = 0;
    double sense = 1;
    ProfilePiece Piece(double from, double to, double r0, double r1) const;
    double At(double mm) const { return start_mm + sense * mm; }
  };
  Seen See(const Axis3& axis_P);
  std::vector<double> LineOf(const Axis3& axis_N) const;
  Box3 Turned(const Box3& box_P) const;
  void AddBox(const Box3& box_N);
  void AddPrism(Box3 box_N, const Vec3& into_N, bool through, double corner_mm);
  void AddRectangle(const Vec3& into_P, const Vec3& centre_P, const Vec3& along_P, const Vec2& size, double depth, bool through, double corner);
  void AddHoleBreak(const Hole& hole, const RoundChamfer& chamfer);
  void AddRimBreak(const OuterDiameter& outer, const RoundChamfer& chamfer);
  void AddProfiles();
  void Add(std::string kind, std::vector<double> figures) { items_.push_back({std::move(kind), std::move(figures)}); }

  const Part& part_;
  Pose X_NP_;
  Box3 box_N_;
  std::vector<AxisItems> axes_;
  std::vector<NormalItem> items_;
};

void Append(std::vector<double>& figures, const Vec3& v) { figures.insert(figures.end(), {v.x(), v.y(), v.z()}); }

Box3 Former::Turned(const Box3& box_P) const {
  const Vec3 a = X_NP_ * box_P.min_mm;
  const Vec3 b = X_NP_ * box_P.max_mm;
  return {a.cwiseMin(b), a.cwiseMax(b)};
}

ProfilePiece Former::Seen::Piece(double from, double to, double r0, double r1) const {
  const double a = At(from);
  const double b = At(to);
  if (a <= b) return {a, b, r0, r1, false, false};
  return {b, a, r1, r0, false, false};
}

Former::Seen Former::See(const Axis3& axis_P) {
  const Vec3 d = X_NP_.linear() * axis_P.direction.normalized();
  const Vec3 p = X_NP_ * axis_P.point_mm;
  const Vec3 line = WithoutSense(d);
  Seen seen;
  seen.sense = line.dot(d) < 0 ? -1 : 1;
  seen.start_mm = line.dot(p);
  const Axis3 canonical{p - line.dot(p) * line, line};
  for (AxisItems& items : axes_) {
    if (AreCoaxial(items.axis_N, canonical)) seen.items = &items;
  }
  if (seen.items == nullptr) seen.items = &axes_.emplace_back(AxisItems{canonical, {}, {}, {}});
  return seen;
}

std::vector<double> Former::LineOf(const Axis3& axis_N) const {
  std::vector<double> figures;
  Append(figures, axis_N.direction);
  Append(figures, axis_N.point_mm);
  return figures;
}

void Former::operator()(const Hole& hole) {
  for (const Vec3& entry : hole.entries_P_mm) {
    const Seen seen = See({entry, hole.into_P});
    const double r = 0.5 * hole.diameter.middle_mm();
    ProfilePiece piece = seen.Piece(0, hole.depth_mm, r, r);
    (seen.sense > 0 ? piece.open_from : piece.open_to) = true;
    if (hole.through) piece.open_from = piece.open_to = true;
    seen.items->inner.push_back(piece);
    if (hole.through || hole.bottom == HoleBottom::kFlat) continue;
    std::vector<double> figures = LineOf(seen.items->axis_N);
    figures.insert(figures.end(), {seen.At(hole.depth_mm), r, hole.bottom == HoleBottom::kPoint118 ? 118.0 : 135.0});
    Add("drill_point", figures);
  }
}

void Former::operator()(const OuterDiameter& outer) {
  const Seen seen = See(outer.axis_P);
  const double r = 0.5 * outer.diameter.middle_mm();
  seen.items->outer.push_back(seen.Piece(outer.from_mm, outer.to_mm, r, r));
}

void Former::operator()(const Taper& taper) {
  const Seen seen = See(taper.axis_P);
  const ProfilePiece piece =
      seen.Piece(taper.from_mm, taper.to_mm, 0.5 * taper.start_diameter.middle_mm(), 0.5 * taper.end_diameter.middle_mm());
  (taper.internal ? seen.items->inner : seen.items->outer_cuts).push_back(piece);
}

void Former::operator()(const Groove& groove) {
  const Seen seen = See(groove.axis_P);
  const double r = 0.5 * groove.diameter.middle_mm();
  if (groove.profile == GrooveProfile::kSquare) {
    const ProfilePiece piece = seen.Piece(groove.from_mm, groove.to_mm, r, r);
    (groove.internal ? seen.items->inner : seen.items->outer_cuts).push_back(piece);
    return;
  }
  const ProfilePiece piece = seen.Piece(groove.from_mm, groove.to_mm, r, r);
  std::vector<double> figures = LineOf(seen.items->axis_N);
  figures.insert(figures.end(), {piece.from_mm, piece.to_mm});
  const bool vee = groove.profile == GrooveProfile::kVee;
  double floor = groove.diameter.middle_mm();
  if (vee) {  // no deeper than where the walls meet
    const double surface = GrooveSurfaceRadius(part_, groove);
    const double deepest = 0.5 * (groove.to_mm - groove.from_mm) / std::tan(0.5 * groove.vee_deg * kRadPerDeg);
    const double depth = std::min(std::abs(surface - r), deepest);
    floor = 2 * (groove.internal ? surface + depth : surface - depth);
  }
  figures.insert(figures.end(), {groove.internal ? 1.0 : 0.0, floor, vee ? groove.vee_deg : 0.0});
  Add(vee ? "vee_groove" : "round_groove", figures);
}

void Former::AddHoleBreak(const Hole& hole, const RoundChamfer& chamfer) {
  const double r = 0.5 * hole.diameter.middle_mm();
  for (const Vec3& entry : hole.entries_P_mm) {
    const Seen seen = See({entry, hole.into_P});
    const double from = chamfer.at_start ? 0 : hole.depth_mm;
    const double to = chamfer.at_start ? chamfer.axial_mm : hole.depth_mm - chamfer.axial_mm;
    if (!chamfer.rounded) {
      seen.items->inner.push_back(seen.Piece(from, to, r + chamfer.radial_mm, r));
      continue;
    }
    std::vector<double> figures = LineOf(seen.items->axis_N);
    figures.insert(figures.end(), {seen.At(from), seen.At(to), r});
    Add("mouth_round", figures);
  }
}

void Former::AddRimBreak(const OuterDiameter& outer, const RoundChamfer& chamfer) {
  const double r = 0.5 * outer.diameter.middle_mm();
  const Seen seen = See(outer.axis_P);
  const double from = chamfer.at_start ? outer.from_mm : outer.to_mm;
  const double to = from + (chamfer.at_start ? chamfer.axial_mm : -chamfer.axial_mm);
  if (!chamfer.rounded) {
    seen.items->outer_cuts.push_back(seen.Piece(from, to, r - chamfer.radial_mm, r));
    return;
  }
  std::vector<double> figures = LineOf(seen.items->axis_N);
  figures.insert(figures.end(), {seen.At(from), seen.At(to), r});
  Add("rim_round", figures);
}

void Former::operator()(const RoundChamfer& chamfer) {
  const Feature* on = part_.Find(chamfer.on);
  if (on == nullptr) return;
  if (const auto* hole = std::get_if<Hole>(&on->shape)) AddHoleBreak(*hole, chamfer);
  if (const auto* outer = std::get_if<OuterDiameter>(&on->shape)) AddRimBreak(*outer, chamfer);
}

void Former::operator()(const Flats& flats) {
  const Seen seen = See(flats.axis_P);
  const ProfilePiece along = seen.Piece(flats.from_mm, flats.to_mm, 0, 0);
  for (int i = 0; i < flats.count; ++i) {
    std::vector<double> figures = LineOf(seen.items->axis_N);
    Append(figures, X_NP_.linear() * FlatNormal(flats, i).normalized());
    figures.insert(figures.end(), {FlatDistance(part_, flats), along.from_mm, along.to_mm});
    Add("flat", figures);
  }
}

void Former::AddBox(const Box3& box_N) {
  std::vector<double> figures;
  Append(figures, box_N.min_mm.cwiseMax(box_N_.min_mm));
  Append(figures, box_N.max_mm.cwiseMin(box_N_.max_mm));
  Add("box", figures);
}

void Former::AddPrism(Box3 box_N, const Vec3& into_N, bool through, double corner_mm) {
  const std::optional<int> axis = AlongAxis(into_N);
  if (!axis) return;
  box_N.min_mm = box_N.min_mm.cwiseMax(box_N_.min_mm);
  box_N.max_mm = box_N.max_mm.cwiseMin(box_N_.max_mm);
  const bool up = into_N[*axis] > 0;
  const double far = up ? box_N_.max_mm[*axis] : box_N_.min_mm[*axis];
  const double floor = up ? box_N.max_mm[*axis] : box_N.min_mm[*axis];
  through |= IsSame(far, floor);
  std::vector<double> figures = {static_cast<double>(*axis), through ? 0.0 : up ? 1.0 : -1.0, through ? kAny : floor};
  for (int i = 0; i < 3; ++i) {
    if (i != *axis) figures.insert(figures.end(), {box_N.min_mm[i], box_N.max_mm[i]});
  }
  figures.push_back(corner_mm);
  Add("prism", figures);
}

void Former::AddRectangle(const Vec3& into_P, const Vec3& centre_P, const Vec3& along_P, const Vec2& size, double depth, bool through,
                          double corner) {
  const Vec3 across = into_P.cross(along_P);
  const Vec3 half = 0.5 * size.x() * along_P + 0.5 * size.y() * across;
  const Vec3 a = centre_P - half;
  const Vec3 b = centre_P + half + depth * into_P;
  AddPrism(Turned({a.cwiseMin(b), a.cwiseMax(b)}), X_NP_.linear() * into_P, through, corner);
}

void Former::operator()(const Slot& slot) {
  const double width = slot.width.middle_mm();
  AddRectangle(slot.into_P, slot.centre_P_mm, slot.along_P, {slot.length_mm, width}, slot.depth_mm, slot.through, 0.5 * width);
}

void Former::operator()(const Pocket& pocket) {
  AddRectangle(pocket.into_P, pocket.centre_P_mm, pocket.along_P, {pocket.length_mm, pocket.width_mm}, pocket.depth_mm, false,
               pocket.corner_radius_mm);
}

void Former::operator()(const Keyway& keyway) {
  const double width = keyway.width.middle_mm();
  const Vec3 d = keyway.axis_P.direction.normalized();
  const Vec3 middle = keyway.axis_P.point_mm + 0.5 * (keyway.from_mm + keyway.to_mm) * d;
  const double length = keyway.to_mm - keyway.from_mm;
  const double outside = 0.5 * CoveringDiameter(part_, keyway.axis_P, keyway.from_mm, keyway.to_mm);
  if (!keyway.internal) {
    AddRectangle(-keyway.side_P, middle + outside * keyway.side_P, d, {length, width}, outside - keyway.floor_mm, false, 0.5 * width);
    return;
  }
  const Seen seen = See(keyway.axis_P);
  const ProfilePiece along = seen.Piece(keyway.from_mm, keyway.to_mm, 0, 0);
  std::vector<double> figures = LineOf(seen.items->axis_N);
  Append(figures, X_NP_.linear() * keyway.side_P);
  figures.insert(figures.end(), {along.from_mm, along.to_mm, width, keyway.floor_mm});
  Add("hub_keyway", figures);
}

void Former::operator()(const EdgeChamfer& chamfer) {
  const Feature* a = part_.Find(chamfer.face_a);
  const Feature* b = part_.Find(chamfer.face_b);
  if (a == nullptr || b == nullptr) return;
  using Side = std::array<double, 5>;
  const auto side = [&](const Feature& feature, double leg) {
    const auto& face = std::get<PlanarFace>(feature.shape);
    const Vec3 n = X_NP_.linear() * face.normal_P;
    const double at = n.dot(X_NP_ * Vec3(face.at.middle_mm() * face.normal_P));
    return Side{n.x(), n.y(), n.z(), at, leg};
  };
  std::array<Side, 2> sides = {side(*a, chamfer.leg_a_mm), side(*b, chamfer.leg_b_mm)};
  const auto main = [](const Side& s) { return Tidy(s[0] + 2 * s[1] + 4 * s[2]); };
  if (main(sides[0]) > main(sides[1])) std::swap(sides[0], sides[1]);
  std::vector<double> figures(sides[0].begin(), sides[0].end());
  figures.insert(figures.end(), sides[1].begin(), sides[1].end());
  Add(chamfer.rounded ? "edge_round" : "edge_chamfer", figures);
}

void Former::operator()(const Outline& outline) {
  const Vec3 line = WithoutSense(X_NP_.linear() * outline.into_P);
  const auto at = [&](const Vec2& p) {
    const Vec3 q = X_NP_ * Vec3(outline.origin_P_mm + p.x() * outline.u_P + p.y() * outline.v_P);
    return Vec3(q - q.dot(line) * line);
  };
  for (const Outline::Disc& disc : outline.discs) {
    std::vector<double> figures = LineOf({at(disc.centre_mm), line});
    figures.push_back(disc.diameter_mm);
    Add("outline_disc", figures);
  }
  for (const Outline::Bar& bar : outline.bars) {
    Vec3 a = at(bar.a_mm);
    Vec3 b = at(bar.b_mm);
    if (WithoutSense(b - a).dot(b - a) < 0) std::swap(a, b);
    std::vector<double> figures;
    Append(figures, a);
    Append(figures, b);
    figures.push_back(bar.width_mm);
    Add("outline_bar", figures);
  }
  if (outline.inside_radius_mm > 0) Add("outline_inside_radius", {outline.inside_radius_mm});
  for (std::size_t i = 0; i < outline.line.size(); ++i) {
    Vec3 a = at(outline.line[i].at_mm);
    Vec3 b = at(outline.line[(i + 1) % outline.line.size()].at_mm);
    if (WithoutSense(b - a).dot(b - a) < 0) std::swap(a, b);
    std::vector<double> figures;
    Append(figures, a);
    Append(figures, b);
    Append(figures, at(MiddleOf(outline.line, i)));
    if (outline.depth_mm > 0) {
      const Vec3 top = X_NP_ * outline.origin_P_mm;
      figures.push_back(line.dot(top));
      figures.push_back(line.dot(top + outline.depth_mm * (X_NP_.linear() * outline.into_P)));
    }
    Add(outline.within ? "cutout_line" : "outline_line", figures);
  }
}

void Former::AddProfiles() {
  for (const AxisItems& items : axes_) {
    const std::vector<ProfilePiece> outer = CutDown(Widest(items.outer), items.outer_cuts);
    const std::vector<ProfilePiece> inner = Widest(items.inner);
    for (const auto* pieces : {&outer, &inner}) {
      for (std::size_t i = 0; i < pieces->size(); ++i) {
        const ProfilePiece& piece = (*pieces)[i];
        const bool alone_below = i == 0 || (*pieces)[i - 1].to_mm < piece.from_mm - 1e-4;
        const bool alone_above = i + 1 == pieces->size() || (*pieces)[i + 1].from_mm > piece.to_mm + 1e-4;
        std::vector<double> figures = LineOf(items.axis_N);
        figures.push_back(piece.open_from && alone_below ? kAny : piece.from_mm);
        figures.push_back(piece.open_to && alone_above ? kAny : piece.to_mm);
        figures.insert(figures.end(), {piece.start_radius_mm, piece.end_radius_mm});
        Add(pieces == &outer ? "outside" : "inside", figures);
      }
    }
  }
}

std::vector<NormalItem> Former::Make() {
  if (part_.envelope == EnvelopeKind::kBlock) {
    std::vector<double> figures;
    Append(figures, box_N_.min_mm);
    Append(figures, box_N_.max_mm);
    Add("block", figures);
  }
  for (const Feature& feature : part_.features) std::visit(*this, feature.shape);
  AddProfiles();
  return items_;
}

bool Alike(const NormalItem& a, const NormalItem& b, double tolerance_mm) {
  if (a.kind != b.kind || a.figures.size() != b.figures.size()) return false;
  for (std::size_t i = 0; i < a.figures.size(); ++i) {
    if (std::isnan(a.figures[i]) || std::isnan(b.figures[i])) continue;
    if (std::abs(a.figures[i] - b.figures[i]) > tolerance_mm) return false;
  }
  return true;
}

}  // namespace

std::vector<NormalItem> MakeNormalForm(const Part& part, const Pose& X_NP) { return Former(part, X_NP).Make(); }

std::string Format(const NormalItem& item) {
  std::string text = item.kind;
  for (const double figure : item.figures) {
    text += std::isnan(figure) ? std::string(" *") : fmt::format(" {:.4g}", Tidy(figure));
  }
  return text;
}

NormalDifference CompareNormalForms(const std::vector<NormalItem>& a, const std::vector<NormalItem>& b, double tolerance_mm) {
  NormalDifference difference;
  std::vector<bool> used(b.size(), false);
  for (const NormalItem& item : a) {
    std::size_t match = b.size();
    for (std::size_t i = 0; i < b.size() && match == b.size(); ++i) {
      if (!used[i] && Alike(item, b[i], tolerance_mm)) match = i;
    }
    if (match == b.size()) {
      difference.only_a.push_back(item);
    } else {
      used[match] = true;
      ++difference.shared;
    }
  }
  for (std::size_t i = 0; i < b.size(); ++i) {
    if (!used[i]) difference.only_b.push_back(b[i]);
  }
  return difference;
}

}  // namespace fitwright::recognize
