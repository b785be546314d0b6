#include "fitwright/variation/requirement_forms.h"

#include <algorithm>
#include <cmath>

#include "fitwright/variation/joint_limits.h"

namespace fitwright::variation {
namespace {

constexpr double kParallel = 1 - 1e-6;

Unexpected WrongKind(const Requirement& r, const FeatureRef& ref, const std::string& wanted) {
  return Unexpected(Error{ErrorCode::kWrongFeatureKind,
                          fmt::format("{}: {} is not {}", r.name.text(), ref.text(), wanted),
                          ref.text(),
                          "name a feature of that kind",
                          {}});
}

class Maker {
 public:
  Maker(const AssemblyInput& input, const PlacedMap& placed, const std::vector<Play>& plays,
        const Requirement& r)
      : in_(input), placed_(placed), plays_(plays), r_(r) {}

  Result<RequirementForms> Make() {
    out_.name = r_.name;
    out_.kind = r_.kind;
    if (r_.lower) out_.lower = *r_.lower;
    if (r_.upper) out_.upper = *r_.upper;
    if (r_.kind == RequirementKind::kScrewsEnter) return MakeScrews();
    for (const FeatureRef& ref : {r_.a, r_.b}) {
      if (FindFeature(*in_.machine, ref) == nullptr) {
        return Unexpected(Error{ErrorCode::kUnknownFeature,
                                fmt::format("{}: there is no {}", r_.name.text(), ref.text()),
                                ref.text(),
                                "name a feature of a part of the machine",
                                {}});
      }
      const auto it = in_.features->find(ref);
      if (it == in_.features->end() || !it->second.made) {
        return Unexpected(
            Error{ErrorCode::kNoPlan,
                  fmt::format("{}: {} is never made in the plan", r_.name.text(), ref.text()),
                  ref.text(),
                  "add the step that cuts it",
                  {}});
      }
      if (std::find(out_.parts.begin(), out_.parts.end(), ref.part) == out_.parts.end())
        out_.parts.push_back(ref.part);
    }
    a_ = DatumInW(*in_.machine, r_.a);
    b_ = DatumInW(*in_.machine, r_.b);
    switch (r_.kind) {
      case RequirementKind::kClearance:
        return MakeClearance(1);
      case RequirementKind::kInterference:
        return MakeClearance(-1);
      case RequirementKind::kFlush:
        return MakeFlush();
      case RequirementKind::kSquare:
        return MakeSquare();
      case RequirementKind::kDistance:
        return MakeDistance();
      case RequirementKind::kAxesMeet:
        return MakeAxesMeet();
      case RequirementKind::kScrewsEnter:
        break;
    }
    return std::move(out_);
  }

 private:
  const FeatureForms& FormsOf(const FeatureRef& ref) const { return in_.features->at(ref); }

  // Move of b's feature less a's, at a point, in W.
  Form Difference(const FeatureRef& plus, const FeatureRef& minus, const Vec3& p,
                  const Vec3& n) const {
    FormSum sum;
    AddMoveInW(sum, in_, placed_, plus, p, n, 1);
    AddMoveInW(sum, in_, placed_, minus, p, n, -1);
    return sum.Take();
  }

  Form TurnDifference(const Vec3& n) const {
    FormSum sum;
    AddTurnInW(sum, r_.a, n, 1);
    AddTurnInW(sum, r_.b, n, -1);
    return sum.Take();
  }

  void AddTurnInW(FormSum& sum, const FeatureRef& ref, const Vec3& n, double factor) const {
    const auto it = placed_.find(ref.part);
    if (it != placed_.end()) sum.Add(TurnAbout(it->second, n), factor);
    AddTurnAbout(sum, FormsOf(ref).pose, PlaceOf(*in_.machine, ref.part).linear().transpose() * n,
                 factor);
  }

  void LimitMagnitude() {
    // |x| <= upper; a lower limit of a magnitude says nothing that upper does not.
    if (r_.upper && !r_.lower) out_.lower = -*r_.upper;
  }

  // Size difference at both ends of what shaft and bore share, and the tilt of one in the other
  // where both their parts stand on each other by a face.
  Result<RequirementForms> MakeClearance(double sign) {
    if (a_.kind != DatumKind::kAxis) return WrongKind(r_, r_.a, "a shaft");
    if (b_.kind != DatumKind::kAxis) return WrongKind(r_, r_.b, "a bore");
    const Vec3 z = b_.direction_P;
    const auto span = [&](const Datum& d) {
      const double p = z.dot(d.point_P_mm + d.from_mm * d.direction_P);
      const double q = z.dot(d.point_P_mm + d.to_mm * d.direction_P);
      return std::pair(std::min(p, q), std::max(p, q));
    };
    const auto [a0, a1] = span(a_);
    const auto [b0, b1] = span(b_);
    double low = std::max(a0, b0);
    double high = std::min(a1, b1);
    if (high - low < kDrawnAlike_mm) std::tie(low, high) = std::pair(a0, a1);
    const Form& form = FormsOf(r_.b).form;
    for (const double at : {low, high}) {
      FormSum sum;
      AddSizeAt(sum, r_.b, b_, z, at, sign);
      AddSizeAt(sum, r_.a, a_, z, at, -sign);
      out_.linear.push_back(sum.Take());
      // The gauge finds the smallest diameter; the greatest is larger by the bore's form.
      if (!form.terms.empty()) out_.linear.push_back(Plus(out_.linear.back(), form, sign));
    }
    out_.test = TestKind::kClearance;
    if (sign < 0) {
      out_.test = TestKind::kLinear;
      return std::move(out_);
    }
    if (StandOnFace()) {
      const auto across = SquareTo(z);
      out_.vectors.push_back({TurnDifference(across[0]), TurnDifference(across[1])});
      out_.tilt_length_mm = high - low;
    }
    return std::move(out_);
  }

  void AddSizeAt(FormSum& sum, const FeatureRef& ref, const Datum& datum, const Vec3& z, double at,
                 double factor) const {
    const FeatureForms& forms = FormsOf(ref);
    sum.Add(forms.size, factor);
    const double from_middle = (at - z.dot(datum.middle_P_mm())) * z.dot(datum.direction_P);
    sum.Add(forms.taper, factor * from_middle);
  }

  bool StandOnFace() const {
    return std::any_of(in_.machine->joints.begin(), in_.machine->joints.end(), [&](const Joint& j) {
      return j.kind == JointKind::kFaceContact && Joins(j, r_.a.part) &&
             OtherEnd(j, r_.a.part).part == r_.b.part;
    });
  }

  Result<RequirementForms> MakeFlush() {
    if (a_.kind != DatumKind::kPlane) return WrongKind(r_, r_.a, "a planar face");
    if (b_.kind != DatumKind::kPlane) return WrongKind(r_, r_.b, "a planar face");
    const Region a = RegionInW(*in_.machine, r_.a);
    const Region b = RegionInW(*in_.machine, r_.b);
    const double step = b_.direction_P.dot(a_.point_P_mm - b_.point_P_mm);
    for (const Vec3& p : SharedCorners(b, a)) {
      Form form = Difference(r_.a, r_.b, p, b_.direction_P);
      form.constant += step;
      out_.linear.push_back(std::move(form));
    }
    LimitMagnitude();
    return std::move(out_);
  }

  // Angle between axes or normals off its nominal.
  Result<RequirementForms> MakeSquare() {
    if (a_.kind == DatumKind::kOther) return WrongKind(r_, r_.a, "a face or an axis");
    if (b_.kind == DatumKind::kOther) return WrongKind(r_, r_.b, "a face or an axis");
    const Vec3 a = a_.direction_P;
    const Vec3 b = b_.direction_P;
    const Vec3 cross = a.cross(b);
    if (cross.norm() < 1e-6) {
      const auto across = SquareTo(b);
      out_.test = TestKind::kMagnitude;
      out_.vectors.push_back({TurnDifference(across[0]), TurnDifference(across[1])});
      return std::move(out_);
    }
    // d(angle) = (w_b - w_a) . (a x b) / |a x b|.
    out_.linear.push_back(Scaled(TurnDifference(cross.normalized()), -1));
    LimitMagnitude();
    return std::move(out_);
  }

  Result<RequirementForms> MakeDistance() {
    if (b_.kind == DatumKind::kOther) return WrongKind(r_, r_.b, "a face or an axis");
    if (a_.kind == DatumKind::kOther) return WrongKind(r_, r_.a, "a face or an axis");
    const Vec3 n = b_.kind == DatumKind::kPlane   ? b_.direction_P
                   : a_.kind == DatumKind::kPlane ? a_.direction_P
                                                  : Across();
    std::vector<Vec3> points = {a_.middle_P_mm()};
    if (r_.at_W_mm) {
      points = {*r_.at_W_mm};
    } else if (a_.kind == DatumKind::kPlane) {
      points = ReadingPoints(RegionInW(*in_.machine, r_.a));
    }
    FormSum sum;
    sum.Add(n.dot(a_.point_P_mm - b_.point_P_mm));
    for (const Vec3& p : points)
      sum.Add(Difference(r_.a, r_.b, p, n), 1 / static_cast<double>(points.size()));
    out_.linear.push_back(sum.Take());
    return std::move(out_);
  }

  // Between two parallel axes: from b's to a's; else along their common normal.
  Vec3 Across() const {
    const Vec3 cross = a_.direction_P.cross(b_.direction_P);
    if (cross.norm() > 1e-6) return cross.normalized();
    Vec3 r = a_.point_P_mm - b_.point_P_mm;
    r -= b_.direction_P * b_.direction_P.dot(r);
    return r.norm() > kDrawnAlike_mm ? Vec3(r.normalized()) : SquareTo(b_.direction_P)[0];
  }

  Result<RequirementForms> MakeAxesMeet() {
    if (a_.kind != DatumKind::kAxis) return WrongKind(r_, r_.a, "an axis");
    if (b_.kind != DatumKind::kAxis) return WrongKind(r_, r_.b, "an axis");
    const Vec3 cross = a_.direction_P.cross(b_.direction_P);
    if (cross.norm() < 1e-6) {
      // Parallel: how far apart at both ends of a.
      const auto across = SquareTo(b_.direction_P);
      out_.test = TestKind::kMagnitude;
      for (const double at : {a_.from_mm, a_.to_mm}) {
        const Vec3 p = a_.point_P_mm + at * a_.direction_P;
        const Vec3 r = a_.point_P_mm - b_.point_P_mm;
        std::array<Form, 2> pair;
        for (std::size_t k = 0; k < 2; ++k) {
          pair[k] = Difference(r_.a, r_.b, p, across[k]);
          pair[k].constant += across[k].dot(r);
        }
        out_.vectors.push_back(std::move(pair));
      }
      return std::move(out_);
    }
    const Vec3 n = cross.normalized();
    // Where the axes come nearest: on a's line.
    const Vec3 r = b_.point_P_mm - a_.point_P_mm;
    const double along = r.cross(b_.direction_P).dot(cross) / cross.squaredNorm();
    Form form = Difference(r_.a, r_.b, a_.point_P_mm + along * a_.direction_P, n);
    form.constant += n.dot(a_.point_P_mm - b_.point_P_mm);
    out_.linear.push_back(std::move(form));
    LimitMagnitude();
    return std::move(out_);
  }

  Result<RequirementForms> MakeScrews() {
    const Joint* joint = nullptr;
    for (const Joint& j : in_.machine->joints) {
      if (r_.joint && j.name == *r_.joint) joint = &j;
    }
    if (joint == nullptr || !joint->screw) {
      return Unexpected(Error{ErrorCode::kNoPlan,
                              fmt::format("{}: no joint with screws is named", r_.name.text()),
                              {},
                              "name a screwed_pattern joint with its screw",
                              {}});
    }
    out_.test = TestKind::kScrews;
    out_.upper = 0;
    out_.parts = {joint->fixed.part, joint->moving.part};
    std::vector<SourceIndex> own;
    for (const Play& play : plays_) {
      if (!play.at_the_end || !play.theta || !Joins(*joint, play.part) ||
          !Joins(*joint, play.anchor))
        continue;
      own.insert(own.end(), {play.tx, play.ty, *play.theta});
    }
    Result<FloatLimits> limits = LimitsOf(in_, placed_, *joint, own, false);
    if (!limits) return Unexpected(limits.error());
    out_.screws = std::move(*limits);
    return std::move(out_);
  }

  const AssemblyInput& in_;
  const PlacedMap& placed_;
  const std::vector<Play>& plays_;
  const Requirement& r_;
  RequirementForms out_;
  Datum a_;
  Datum b_;
};

}  // namespace

Result<RequirementForms> MakeRequirementForms(const AssemblyInput& input, const PlacedMap& placed,
                                              const std::vector<Play>& plays,
                                              const Requirement& requirement) {
  return Maker(input, placed, plays, requirement).Make();
}

}  // namespace fitwright::variation
