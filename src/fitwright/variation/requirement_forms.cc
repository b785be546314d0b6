#include "fitwright/variation/requirement_forms.h"

#include <algorithm>
#include <cmath>

#include "fitwright/variation/joint_limits.h"
#include "fitwright/variation/requirement_maker.h"

namespace fitwright::variation {

Result<RequirementForms> RequirementMaker::Make() {
  out_.name = r_.name;
  out_.kind = r_.kind;
  if (r_.lower) out_.lower = *r_.lower;
  if (r_.upper) out_.upper = *r_.upper;
  std::vector<FeatureRef> subjects = Subjects();
  for (const FeatureRef& ref : subjects) {
    if (const Status s = NeedMade(ref); !s) return Unexpected(s.error());
  }
  if (subjects.size() == 2) {
    a_ = DatumInW(*in_.machine, subjects[0]);
    b_ = DatumInW(*in_.machine, subjects[1]);
  }
  switch (r_.kind) {
    case RequirementKind::kClearance:
      return MakeClearance(1);
    case RequirementKind::kInterference:
      return MakeClearance(-1);
    case RequirementKind::kFlush:
    case RequirementKind::kProud:
      return MakeStep();
    case RequirementKind::kSquare:
    case RequirementKind::kParallel:
    case RequirementKind::kAngle:
      return MakeAngle();
    case RequirementKind::kDistance:
      return MakeDistance();
    case RequirementKind::kAxesMeet:
      return MakeAxesMeet();
    case RequirementKind::kInLine:
    case RequirementKind::kRunOut:
      return MakeOnOneLine();
    case RequirementKind::kWallLeft:
      return MakeWallLeft();
    case RequirementKind::kEndFloat:
      return MakeEndFloat();
    case RequirementKind::kFormula:
      return MakeFormula();
    case RequirementKind::kEngagement:
      return MakeEngagement();
    case RequirementKind::kScrewsEnter:
      return MakeScrews();
  }
  return std::move(out_);
}

std::vector<FeatureRef> RequirementMaker::Subjects() const {
  std::vector<FeatureRef> subjects;
  switch (r_.kind) {
    case RequirementKind::kScrewsEnter:
    case RequirementKind::kEngagement:
      break;
    case RequirementKind::kEndFloat:
      for (const auto& [a, b] : r_.gaps) subjects.insert(subjects.end(), {a, b});
      break;
    case RequirementKind::kFormula:
      if (!r_.formula) break;
      for (const FormulaName& name : r_.formula->names) {
        subjects.push_back(name.a);
        if (name.b) subjects.push_back(*name.b);
      }
      break;
    default:
      subjects = {r_.a, r_.b};
  }
  return subjects;
}

// There, and made in the plan; its part is concerned.
Status RequirementMaker::NeedMade(const FeatureRef& ref) {
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
  return Ok{};
}

Unexpected RequirementMaker::WrongKind(const FeatureRef& ref, const std::string& wanted) const {
  return Unexpected(Error{ErrorCode::kWrongFeatureKind,
                          fmt::format("{}: {} is not {}", r_.name.text(), ref.text(), wanted),
                          ref.text(),
                          "name a feature of that kind",
                          {}});
}

// Move of b's feature less a's, at a point, in W.
Form RequirementMaker::Difference(const FeatureRef& plus, const FeatureRef& minus, const Vec3& p,
                                  const Vec3& n) const {
  FormSum sum;
  AddMoveInW(sum, in_, placed_, plus, p, n, 1);
  AddMoveInW(sum, in_, placed_, minus, p, n, -1);
  return sum.Take();
}

Form RequirementMaker::TurnDifference(const Vec3& n) const {
  FormSum sum;
  AddTurnInW(sum, r_.a, n, 1);
  AddTurnInW(sum, r_.b, n, -1);
  return sum.Take();
}

void RequirementMaker::AddTurnInW(FormSum& sum, const FeatureRef& ref, const Vec3& n,
                                  double factor) const {
  const auto it = placed_.find(ref.part);
  if (it != placed_.end()) sum.Add(TurnAbout(it->second, n), factor);
  AddTurnAbout(sum, FormsOf(ref).pose, PlaceOf(*in_.machine, ref.part).linear().transpose() * n,
               factor);
}

void RequirementMaker::LimitMagnitude() {
  // |x| <= upper; a lower limit of a magnitude says nothing that upper does not.
  if (r_.upper && !r_.lower) out_.lower = -*r_.upper;
}

// Size difference at both ends of what shaft and bore share, and the tilt of one in the other
// where both their parts stand on each other by a face.
Result<RequirementForms> RequirementMaker::MakeClearance(double sign) {
  if (a_.kind != DatumKind::kAxis) return WrongKind(r_.a, "a shaft");
  if (b_.kind != DatumKind::kAxis) return WrongKind(r_.b, "a bore");
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
  const Form& lobes = FormsOf(r_.b).lobes;
  for (const double at : {low, high}) {
    FormSum sum;
    AddSizeAt(sum, r_.b, b_, z, at, sign);
    AddSizeAt(sum, r_.a, a_, z, at, -sign);
    out_.linear.push_back(sum.Take());
    const Form plain = out_.linear.back();
    // The gauge finds the smallest diameter; the greatest is larger by the bore's form.
    if (!form.terms.empty()) out_.linear.push_back(Plus(out_.linear.back(), form, sign));
    // Lobes stand in and out of what it found; what is pressed in meets the mean.
    if (sign < 0 || lobes.terms.empty()) continue;
    out_.linear.push_back(Plus(out_.linear.back(), lobes));
    out_.linear.push_back(Plus(plain, lobes, -1));
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

void RequirementMaker::AddSizeAt(FormSum& sum, const FeatureRef& ref, const Datum& datum,
                                 const Vec3& z, double at, double factor) const {
  const FeatureForms& forms = FormsOf(ref);
  sum.Add(forms.size, factor);
  const double from_middle = (at - z.dot(datum.middle_P_mm())) * z.dot(datum.direction_P);
  sum.Add(forms.taper, factor * from_middle);
}

bool RequirementMaker::StandOnFace() const {
  return std::any_of(in_.machine->joints.begin(), in_.machine->joints.end(), [&](const Joint& j) {
    return IsFaceJoint(j.kind) && Joins(j, r_.a.part) && OtherEnd(j, r_.a.part).part == r_.b.part;
  });
}

// Step of a beyond b at every corner of what they share.
Result<RequirementForms> RequirementMaker::MakeStep() {
  if (a_.kind != DatumKind::kPlane) return WrongKind(r_.a, "a planar face");
  if (b_.kind != DatumKind::kPlane) return WrongKind(r_.b, "a planar face");
  const Region a = RegionInW(*in_.machine, r_.a);
  const Region b = RegionInW(*in_.machine, r_.b);
  const double step = b_.direction_P.dot(a_.point_P_mm - b_.point_P_mm);
  for (const Vec3& p : SharedCorners(b, a)) {
    Form form = Difference(r_.a, r_.b, p, b_.direction_P);
    form.constant += step;
    out_.linear.push_back(std::move(form));
  }
  if (r_.kind == RequirementKind::kFlush) LimitMagnitude();
  return std::move(out_);
}

// Angle between axes or normals off what it is to be: as drawn, or as the requirement says.
Result<RequirementForms> RequirementMaker::MakeAngle() {
  if (a_.kind == DatumKind::kOther) return WrongKind(r_.a, "a face or an axis");
  if (b_.kind == DatumKind::kOther) return WrongKind(r_.b, "a face or an axis");
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
  Form off = Scaled(TurnDifference(cross.normalized()), -1);
  if (r_.kind == RequirementKind::kAngle) {
    const double drawn = std::acos(std::clamp(a.dot(b), -1.0, 1.0));
    const bool other_side =
        std::abs(kPi - drawn - r_.nominal_rad) < std::abs(drawn - r_.nominal_rad);
    if (other_side) off = Scaled(off, -1);
    off.constant += (other_side ? kPi - drawn : drawn) - r_.nominal_rad;
  }
  out_.linear.push_back(std::move(off));
  LimitMagnitude();
  return std::move(out_);
}

Result<RequirementForms> RequirementMaker::MakeDistance() {
  if (b_.kind == DatumKind::kOther) return WrongKind(r_.b, "a face or an axis");
  if (a_.kind == DatumKind::kOther) return WrongKind(r_.a, "a face or an axis");
  out_.linear.push_back(DistanceForm(r_.a, r_.b, r_.at_W_mm));
  return std::move(out_);
}

// a beyond b along b's normal, else a's, else across both axes.
Form RequirementMaker::DistanceForm(const FeatureRef& ref_a, const FeatureRef& ref_b,
                                    const std::optional<Vec3>& at_W) const {
  const Datum a = DatumInW(*in_.machine, ref_a);
  const Datum b = DatumInW(*in_.machine, ref_b);
  const Vec3 n = b.kind == DatumKind::kPlane   ? b.direction_P
                 : a.kind == DatumKind::kPlane ? a.direction_P
                                               : Across(a, b);
  std::vector<Vec3> points = {a.middle_P_mm()};
  if (at_W) {
    points = {*at_W};
  } else if (a.kind == DatumKind::kPlane) {
    points = ReadingPoints(RegionInW(*in_.machine, ref_a));
  }
  FormSum sum;
  sum.Add(n.dot(a.point_P_mm - b.point_P_mm));
  for (const Vec3& p : points)
    sum.Add(Difference(ref_a, ref_b, p, n), 1 / static_cast<double>(points.size()));
  return sum.Take();
}

// Between two parallel axes: from b's to a's; else along their common normal.
Vec3 RequirementMaker::Across(const Datum& a, const Datum& b) {
  const Vec3 cross = a.direction_P.cross(b.direction_P);
  if (cross.norm() > 1e-6) return cross.normalized();
  Vec3 r = a.point_P_mm - b.point_P_mm;
  r -= b.direction_P * b.direction_P.dot(r);
  return r.norm() > kDrawnAlike_mm ? Vec3(r.normalized()) : SquareTo(b.direction_P)[0];
}

Result<RequirementForms> RequirementMaker::MakeAxesMeet() {
  if (a_.kind != DatumKind::kAxis) return WrongKind(r_.a, "an axis");
  if (b_.kind != DatumKind::kAxis) return WrongKind(r_.b, "an axis");
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

// The named joint, which has screws; null otherwise.
const Joint* RequirementMaker::ScrewedJoint() const {
  for (const Joint& j : in_.machine->joints) {
    if (r_.joint && j.name == *r_.joint && j.screw) return &j;
  }
  return nullptr;
}

Unexpected RequirementMaker::NoScrews() const {
  return Unexpected(Error{ErrorCode::kNoPlan,
                          fmt::format("{}: no joint with screws is named", r_.name.text()),
                          {},
                          "name a screwed_pattern joint with its screw",
                          {}});
}

const Joint* RequirementMaker::PinnedJoint() const {
  for (const Joint& j : in_.machine->joints) {
    if (r_.joint && j.name == *r_.joint && j.kind == JointKind::kPinned && j.pin) return &j;
  }
  return nullptr;
}

Result<RequirementForms> RequirementMaker::MakePins(const Joint& joint) {
  out_.test = TestKind::kScrews;
  out_.unit = "pin";
  out_.upper = 0;
  out_.parts = {joint.fixed.part, joint.moving.part};
  Result<FloatLimits> limits = PinLimitsOf(in_, placed_, joint, OwnPlays(joint));
  if (!limits) return Unexpected(limits.error());
  out_.screws = std::move(*limits);
  return std::move(out_);
}

Result<RequirementForms> RequirementMaker::MakeScrews() {
  if (const Joint* pinned = PinnedJoint()) return MakePins(*pinned);
  const Joint* joint = ScrewedJoint();
  if (joint == nullptr) return NoScrews();
  out_.test = TestKind::kScrews;
  out_.upper = 0;
  out_.parts = {joint->fixed.part, joint->moving.part};
  for (const FeatureRef& ref : joint->between) {
    const Joint pair = PairWith(*in_.machine, *joint, ref);
    Result<FloatLimits> limits = LimitsOf(in_, placed_, pair, OwnPlays(pair), false);
    if (!limits) return Unexpected(limits.error());
    out_.stack.push_back(std::move(*limits));
    out_.parts.push_back(ref.part);
  }
  Result<FloatLimits> limits = LimitsOf(in_, placed_, *joint, OwnPlays(*joint), false);
  if (!limits) return Unexpected(limits.error());
  out_.screws = std::move(*limits);
  return std::move(out_);
}

// A search over all moves of a part need not know where its own play came to rest.
std::vector<SourceIndex> RequirementMaker::OwnPlays(const Joint& joint) const {
  const bool stacked =
      std::any_of(in_.machine->joints.begin(), in_.machine->joints.end(),
                  [&](const Joint& j) { return j.name == joint.name && !j.between.empty(); });
  std::vector<SourceIndex> own;
  for (const Play& play : plays_) {
    if (!play.at_the_end || !Joins(joint, play.part)) continue;
    // In a stack a part stands on the next one: what moves is the part itself.
    const bool between_them = play.theta && Joins(joint, play.anchor);
    if (!between_them && !stacked) continue;
    own.insert(own.end(), {play.tx, play.ty});
    if (play.theta) own.push_back(*play.theta);
  }
  return own;
}

Result<RequirementForms> MakeRequirementForms(const AssemblyInput& input, const PlacedMap& placed,
                                              const std::vector<Play>& plays,
                                              const Requirement& requirement) {
  return RequirementMaker(input, placed, plays, requirement).Make();
}

}  // namespace fitwright::variation
