// A part called a mirror part that is the same either way round is one part made twice.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "fitwright/model/material.h"
#include "fitwright/review/rules.h"

namespace fitwright::review {
namespace {

constexpr double kSame_mm = 1e-4;

// A feature as points with a number each; equal sets of points are equal features. Points are taken
// from the middle of the envelope.
struct TaggedPoint {
  Vec3 point_mm;
  double tag = 0;
};
using Likeness = std::vector<TaggedPoint>;

constexpr double kKindTag = 1e6;  // keeps the kinds apart

class LikenessMaker {
 public:
  LikenessMaker(const Part& part, const Vec3& centre) : part_(part), centre_(centre) {}

  Likeness Make() {
    for (const Feature& feature : part_.features) {
      std::visit([this](const auto& shape) { Add(shape); }, feature.shape);
    }
    return likeness_;
  }

 private:
  void Point(const Vec3& p, double tag) { likeness_.push_back({p - centre_, tag}); }

  void Add(const PlanarFace& f) {
    Point(centre_ + f.normal_P * (f.at.middle_mm() - f.normal_P.dot(centre_)), 1 * kKindTag);
  }
  void Add(const Hole& h) {
    for (const Vec3& entry : h.entries_P_mm) {
      const double tag = 2 * kKindTag + h.diameter.middle_mm() + (h.thread ? 0.5 * kKindTag : 0);
      Point(entry, tag);
      Point(entry + h.depth_mm * h.into_P, tag + 0.25 * kKindTag);
    }
  }
  void Add(const OuterDiameter& d) {
    Point(d.axis_P.point_mm + d.from_mm * d.axis_P.direction,
          3 * kKindTag + d.diameter.middle_mm());
    Point(d.axis_P.point_mm + d.to_mm * d.axis_P.direction, 3 * kKindTag + d.diameter.middle_mm());
  }
  void Add(const Slot& s) {
    const Vec3 half = 0.5 * s.length_mm * s.along_P;
    const double tag = 4 * kKindTag + s.width.middle_mm();
    Point(s.centre_P_mm + half, tag);
    Point(s.centre_P_mm - half, tag);
    Point(s.centre_P_mm + s.depth_mm * s.into_P, tag + 0.25 * kKindTag);
  }
  void Add(const Pocket& p) {
    const Vec3 half = 0.5 * p.length_mm * p.along_P;
    const double tag = 5 * kKindTag + p.width_mm;
    Point(p.centre_P_mm + half, tag);
    Point(p.centre_P_mm - half, tag);
    Point(p.centre_P_mm + p.depth_mm * p.into_P, tag + 0.25 * kKindTag);
  }
  void Add(const StepCut& s) {
    for (int corner = 0; corner < 8; ++corner) {
      const Vec3 p((corner & 1) != 0 ? s.removed_P.max_mm.x() : s.removed_P.min_mm.x(),
                   (corner & 2) != 0 ? s.removed_P.max_mm.y() : s.removed_P.min_mm.y(),
                   (corner & 4) != 0 ? s.removed_P.max_mm.z() : s.removed_P.min_mm.z());
      Point(p, 6 * kKindTag);
    }
  }
  void Add(const EdgeChamfer& c) {
    for (const auto& [face, leg] :
         {std::pair(c.face_a, c.leg_a_mm), std::pair(c.face_b, c.leg_b_mm)}) {
      const Feature* feature = part_.Find(face);
      const auto* plane = feature == nullptr ? nullptr : std::get_if<PlanarFace>(&feature->shape);
      if (plane == nullptr) continue;
      Point(centre_ + plane->normal_P * (plane->at.middle_mm() - plane->normal_P.dot(centre_)),
            7 * kKindTag + leg);
    }
  }
  // Round about the part's own axis, or on a feature that stands here itself.
  void Add(const RoundChamfer&) {}
  void Add(const Groove&) {}
  void Add(const ExternalThread&) {}
  void Add(const Knurl&) {}
  void Add(const Flats& f) {
    for (int i = 0; i < f.count; ++i) {
      const Vec3 normal =
          Eigen::AngleAxisd(2 * kPi * i / f.count, f.axis_P.direction.normalized()) *
          f.first_normal_P;
      Point(f.axis_P.point_mm + f.from_mm * f.axis_P.direction + normal,
            8 * kKindTag + f.across.middle_mm());
    }
  }
  void Add(const Taper& t) {
    Point(t.axis_P.point_mm + t.from_mm * t.axis_P.direction,
          9 * kKindTag + t.start_diameter.middle_mm());
    Point(t.axis_P.point_mm + t.to_mm * t.axis_P.direction,
          9 * kKindTag + t.end_diameter.middle_mm());
  }
  void Add(const Keyway& k) {
    for (const double at : {k.from_mm, k.to_mm}) {
      Point(k.axis_P.point_mm + at * k.axis_P.direction + k.floor_mm * k.side_P,
            10 * kKindTag + k.width.middle_mm());
    }
  }
  // Letters read one way only.
  void Add(const Marking& m) {
    Point(m.at_P_mm + m.along_P, 11 * kKindTag + m.height_mm);
    Point(m.at_P_mm - m.into_P.cross(m.along_P), 11.5 * kKindTag + m.height_mm);
  }
  void Add(const Outline& o) {
    const auto at = [&](const Vec2& p) {
      return Vec3(o.origin_P_mm + p.x() * o.u_P + p.y() * o.v_P);
    };
    for (const Outline::Disc& d : o.discs) Point(at(d.centre_mm), 12 * kKindTag + d.diameter_mm);
    for (const Outline::Bar& b : o.bars) {
      Point(at(b.a_mm), 13 * kKindTag + b.width_mm);
      Point(at(b.b_mm), 13 * kKindTag + b.width_mm);
    }
    for (std::size_t i = 0; i < o.line.size(); ++i) {
      Point(at(o.line[i].at_mm), (o.within ? 15 : 14) * kKindTag + o.depth_mm);
      Point(at(MiddleOf(o.line, i)), 16 * kKindTag);
    }
  }

  const Part& part_;
  Vec3 centre_;
  Likeness likeness_;
};

bool Same(const Likeness& a, const Likeness& b, const Eigen::Matrix3d& turn) {
  if (a.size() != b.size()) return false;
  std::vector<bool> used(b.size(), false);
  for (const TaggedPoint& p : a) {
    const Vec3 turned = turn * p.point_mm;
    bool found = false;
    for (std::size_t i = 0; i < b.size() && !found; ++i) {
      if (used[i] || std::abs(p.tag - b[i].tag) > kSame_mm) continue;
      if ((turned - b[i].point_mm).norm() > kSame_mm) continue;
      used[i] = true;
      found = true;
    }
    if (!found) return false;
  }
  return true;
}

// The 24 turns that take axes to axes.
std::vector<Eigen::Matrix3d> AxisTurns() {
  std::vector<Eigen::Matrix3d> turns;
  std::array<int, 3> order = {0, 1, 2};
  do {
    for (int signs = 0; signs < 8; ++signs) {
      Eigen::Matrix3d m = Eigen::Matrix3d::Zero();
      for (int row = 0; row < 3; ++row) {
        m(row, order[static_cast<std::size_t>(row)]) = (signs & (1 << row)) != 0 ? -1 : 1;
      }
      if (m.determinant() > 0) turns.push_back(m);
    }
  } while (std::next_permutation(order.begin(), order.end()));
  return turns;
}

}  // namespace

void ReviewMirror(const Machine& machine, const Part& part, std::vector<Finding>& findings) {
  if (!part.mirror_of) return;
  const Part* original = machine.FindPart(*part.mirror_of);
  if (original == nullptr) return;
  const Likeness one = LikenessMaker(*original, CalcEnvelope(*original).centre_mm()).Make();
  const Likeness other = LikenessMaker(part, CalcEnvelope(part).centre_mm()).Make();
  for (const Eigen::Matrix3d& turn : AxisTurns()) {
    if (!Same(one, other, turn)) continue;
    findings.push_back(
        {Rule::kNotAMirror, part.name.text(),
         fmt::format("{} is called the mirror of {}, yet is the same part turned round",
                     part.name.text(), original->name.text()),
         fmt::format("use {} with quantity 2 and leave the mirror sheet out",
                     original->name.text())});
    return;
  }
}

}  // namespace fitwright::review
