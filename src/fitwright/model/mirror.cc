#include "fitwright/model/mirror.h"

#include <algorithm>
#include <cmath>

#include "fitwright/model/block_faces.h"

namespace fitwright {
namespace {

struct Mirror {
  int axis;

  Vec3 operator()(Vec3 v) const {
    v[axis] = 0.0 - v[axis];
    return v;
  }
  Axis3 operator()(const Axis3& a) const {
    return Axis3{(*this)(a.point_mm), (*this)(a.direction)};
  }
  Box3 operator()(Box3 b) const {
    std::swap(b.min_mm[axis], b.max_mm[axis]);
    return Box3{(*this)(b.min_mm), (*this)(b.max_mm)};
  }

  PlanarFace operator()(PlanarFace f) const {
    f.normal_P = (*this)(f.normal_P);
    return f;
  }
  Hole operator()(Hole h) const {
    h.into_P = (*this)(h.into_P);
    for (Vec3& entry : h.entries_P_mm) entry = (*this)(entry);
    if (!h.circle || h.entries_P_mm.empty()) return h;
    // A mirror turns the right hand into the left: counted again by the right hand, hole 0 stays
    // the first and the others follow the other way round.
    h.circle->axis_P = (*this)(h.circle->axis_P);
    h.circle->zero_P = (*this)(h.circle->zero_P);
    h.circle->first_deg = h.circle->first_deg > 0 ? 360.0 - h.circle->first_deg : 0.0;
    std::reverse(h.entries_P_mm.begin() + 1, h.entries_P_mm.end());
    return h;
  }
  OuterDiameter operator()(OuterDiameter o) const {
    o.axis_P = (*this)(o.axis_P);
    return o;
  }
  Slot operator()(Slot s) const {
    s.into_P = (*this)(s.into_P);
    s.centre_P_mm = (*this)(s.centre_P_mm);
    s.along_P = (*this)(s.along_P);
    return s;
  }
  Pocket operator()(Pocket p) const {
    p.into_P = (*this)(p.into_P);
    p.centre_P_mm = (*this)(p.centre_P_mm);
    p.along_P = (*this)(p.along_P);
    return p;
  }
  StepCut operator()(const StepCut& s) const {
    return StepCut{(*this)(s.into_P), (*this)(s.removed_P)};
  }
  EdgeChamfer operator()(const EdgeChamfer& c) const { return c; }
  RoundChamfer operator()(const RoundChamfer& c) const { return c; }
  Groove operator()(Groove g) const {
    g.axis_P = (*this)(g.axis_P);
    return g;
  }
  Flats operator()(Flats f) const {
    f.axis_P = (*this)(f.axis_P);
    f.first_normal_P = (*this)(f.first_normal_P);
    return f;
  }
  Taper operator()(Taper t) const {
    t.axis_P = (*this)(t.axis_P);
    return t;
  }
  Keyway operator()(Keyway k) const {
    k.axis_P = (*this)(k.axis_P);
    k.side_P = (*this)(k.side_P);
    return k;
  }
  // Letters stay readable: they go to the mirrored place and are not mirrored themselves.
  Marking operator()(Marking m) const {
    m.into_P = (*this)(m.into_P);
    m.at_P_mm = (*this)(m.at_P_mm);
    m.along_P = (*this)(m.along_P);
    return m;
  }
  // v is counted the other way, so that u x v still points out of the face.
  Outline operator()(Outline o) const {
    o.into_P = (*this)(o.into_P);
    o.origin_P_mm = (*this)(o.origin_P_mm);
    o.u_P = (*this)(o.u_P);
    o.v_P = -(*this)(o.v_P);
    for (Outline::Disc& disc : o.discs) disc.centre_mm.y() = 0.0 - disc.centre_mm.y();
    for (Outline::Bar& bar : o.bars) {
      bar.a_mm.y() = 0.0 - bar.a_mm.y();
      bar.b_mm.y() = 0.0 - bar.b_mm.y();
    }
    o.line = Mirrored(std::move(o.line));
    return o;
  }
  ExternalThread operator()(const ExternalThread& t) const { return t; }
  Knurl operator()(const Knurl& k) const { return k; }
};

std::optional<std::string> SideNameOf(const Vec3& normal) {
  for (const BlockFace& face : kBlockFaces) {
    if (face.normal().dot(normal) > 0.5) return std::string(face.name);
  }
  return std::nullopt;
}

// left becomes right where the mirror swaps them.
FeatureId Renamed(const Part& original, const FeatureId& name, const Mirror& mirror) {
  const Feature* feature = original.Find(name);
  const auto* face = feature == nullptr ? nullptr : std::get_if<PlanarFace>(&feature->shape);
  if (face == nullptr || original.envelope != EnvelopeKind::kBlock) return name;
  if (SideNameOf(face->normal_P) != name.text()) return name;
  return FeatureId(*SideNameOf(mirror(face->normal_P)));
}

int PlaceOfFace(const Feature& feature) {
  const auto& face = std::get<PlanarFace>(feature.shape);
  for (std::size_t i = 0; i < kBlockFaces.size(); ++i) {
    if (kBlockFaces[i].normal().dot(face.normal_P) > 0.5) return static_cast<int>(i);
  }
  return 0;
}

}  // namespace

Part MirrorPart(const Part& original, const PartId& name, int axis) {
  const Mirror mirror{axis};
  Part part = original;
  part.name = name;
  part.mirror_of = original.name;
  part.block_P = mirror(original.block_P);
  part.turning_axis_P = mirror(original.turning_axis_P);
  part.stock.box_P = mirror(original.stock.box_P);
  part.stock.axis_P = mirror(original.stock.axis_P);
  part.stock.flat_normal_P = mirror(original.stock.flat_normal_P);
  for (Feature& feature : part.features) {
    feature.name = Renamed(original, feature.name, mirror);
    feature.shape =
        std::visit([&](const auto& shape) { return FeatureShape(mirror(shape)); }, feature.shape);
    if (auto* chamfer = std::get_if<EdgeChamfer>(&feature.shape)) {
      chamfer->face_a = Renamed(original, chamfer->face_a, mirror);
      chamfer->face_b = Renamed(original, chamfer->face_b, mirror);
    }
  }
  if (part.envelope == EnvelopeKind::kBlock) {
    std::stable_sort(
        part.features.begin(), part.features.begin() + 6,
        [](const Feature& a, const Feature& b) { return PlaceOfFace(a) < PlaceOfFace(b); });
  }
  return part;
}

}  // namespace fitwright
