// Requirements on lines, gaps, threads and reckoned values.
#include <algorithm>
#include <cmath>

#include "fitwright/base/hash.h"
#include "fitwright/trade/fits.h"
#include "fitwright/variation/joint_limits.h"
#include "fitwright/variation/requirement_maker.h"

namespace fitwright::variation {
namespace {

constexpr double kSameWay = 1 - 1e-6;

}  // namespace

void RequirementMaker::AddDeepMove(FormSum& sum, const FeatureRef& ref, std::size_t hole,
                                   const Vec3& p, const Vec3& n, double factor) const {
  const Feature* feature = FindFeature(*in_.machine, ref);
  const auto* shape = feature == nullptr ? nullptr : std::get_if<Hole>(&feature->shape);
  const FeatureForms& forms = FormsOf(ref);
  if (shape == nullptr || hole >= forms.holes.size()) {
    AddMoveInW(sum, in_, placed_, ref, p, n, factor);
    return;
  }
  const auto placed = placed_.find(ref.part);
  if (placed != placed_.end()) AddMoveAlong(sum, placed->second, p, n, factor);
  const Pose X_WP = PlaceOf(*in_.machine, ref.part);
  const Vec3 p_P = X_WP.inverse() * p;
  const double depth = shape->into_P.dot(p_P - shape->entries_P_mm[hole]);
  AddHoleMove(sum, forms.holes[hole], p_P, depth, X_WP.linear().transpose() * n, factor);
}

Form RequirementMaker::DeepDifference(const FeatureRef& plus, const FeatureRef& minus,
                                      const Vec3& p, const Vec3& n) const {
  FormSum sum;
  AddDeepMove(sum, plus, 0, p, n, 1);
  AddDeepMove(sum, minus, 0, p, n, -1);
  return sum.Take();
}

// a's axis against b's at both ends of a, or of all from a to b; a full reading is twice that, and
// the roundness of a comes on top.
Result<RequirementForms> RequirementMaker::MakeOnOneLine() {
  if (a_.kind != DatumKind::kAxis) return WrongKind(r_.a, "an axis");
  if (b_.kind != DatumKind::kAxis) return WrongKind(r_.b, "an axis");
  const Vec3 z = b_.direction_P;
  const auto at = [&](const Datum& d, double s) { return z.dot(d.point_P_mm + s * d.direction_P); };
  std::vector<double> ends = {at(a_, a_.from_mm), at(a_, a_.to_mm)};
  if (r_.extended) ends.insert(ends.end(), {at(b_, b_.from_mm), at(b_, b_.to_mm)});
  const auto [low, high] = std::minmax_element(ends.begin(), ends.end());
  const auto across = SquareTo(z);
  const bool reading = r_.kind == RequirementKind::kRunOut;
  out_.test = TestKind::kMagnitude;
  for (const double end : {*low, *high}) {
    const Vec3 p = b_.point_P_mm + (end - z.dot(b_.point_P_mm)) * z;
    const Vec3 r = a_.point_P_mm - b_.point_P_mm;
    std::array<Form, 2> pair;
    for (std::size_t k = 0; k < 2; ++k) {
      pair[k] = DeepDifference(r_.a, r_.b, p, across[k]);
      pair[k].constant += across[k].dot(r);
      if (reading) pair[k] = Scaled(pair[k], 2);
    }
    out_.vectors.push_back(std::move(pair));
    if (reading) out_.linear.push_back(FormsOf(r_.a).form);
  }
  return std::move(out_);
}

// Between two inner rings that are pushed one way and then the other, each bearing gives half of
// its play.
Form RequirementMaker::AxialPlayShare(const FeatureRef& ref) const {
  const BoughtPart* bought = in_.machine->FindBought(SheetIdOf(ref.part));
  if (bought == nullptr || bought->axial_play_mm <= 0) return {};
  Source source;
  source.key = StableHash(ref.part.text(), 0x6178706c6179);
  source.law = Law::kFromZero;
  source.spread = SpreadId::kBearingPlay;
  source.unit = bought->axial_play_mm * in_.spread_scale;
  return FormOf(in_.sources->Add(source), 0.5);
}

// Where between its stops a part stands drops out of the sum.
Result<RequirementForms> RequirementMaker::MakeEndFloat() {
  FormSum sum;
  for (const auto& [ref_a, ref_b] : r_.gaps) {
    const Datum a = DatumInW(*in_.machine, ref_a);
    const Datum b = DatumInW(*in_.machine, ref_b);
    if (a.kind != DatumKind::kPlane) return WrongKind(ref_a, "a planar face");
    if (b.kind != DatumKind::kPlane) return WrongKind(ref_b, "a planar face");
    const Vec3 n = a.direction_P;
    sum.Add(n.dot(b.point_P_mm - a.point_P_mm));
    const std::vector<Vec3> points = ReadingPoints(RegionInW(*in_.machine, ref_a));
    for (const Vec3& p : points)
      sum.Add(Difference(ref_b, ref_a, p, n), 1 / static_cast<double>(points.size()));
    sum.Add(AxialPlayShare(ref_a));
    sum.Add(AxialPlayShare(ref_b));
  }
  out_.linear.push_back(sum.Take());
  return std::move(out_);
}

Result<RequirementForms> RequirementMaker::MakeFormula() {
  FW_CHECK(r_.formula.has_value(), r_.name.text());
  Result<Expression> expression = Expression::Parse(r_.formula->expression);
  if (!expression) return Unexpected(expression.error());
  for (const std::string& wanted : expression->names()) {
    const auto& names = r_.formula->names;
    const auto found = std::find_if(names.begin(), names.end(),
                                    [&](const FormulaName& n) { return n.name == wanted; });
    if (found == names.end()) {
      return Unexpected(
          Error{ErrorCode::kUnknownName,
                fmt::format("{}: nothing says what {} stands for", r_.name.text(), wanted),
                wanted,
                "add it to names",
                {}});
    }
    Form value = found->b ? DistanceForm(found->a, *found->b, {}) : FormsOf(found->a).size;
    // How far apart they are as drawn, whichever is named first.
    if (found->b && value.constant < 0) value = Scaled(value, -1);
    out_.linear.push_back(std::move(value));
  }
  out_.test = TestKind::kFormula;
  out_.formula = std::move(*expression);
  out_.formula_text = r_.formula->expression;
  out_.unit = r_.formula->unit;
  return std::move(out_);
}

// The planar face of the part that looks along n and holds the point.
std::optional<FeatureRef> RequirementMaker::FaceAt(const PartId& id, const Vec3& p_W,
                                                   const Vec3& n_W) const {
  const Part* part = FindSheet(*in_.machine, id);
  for (const Feature& feature : part->features) {
    const FeatureRef ref{id, feature.name};
    const Datum face = DatumInW(*in_.machine, ref);
    const auto made = in_.features->find(ref);
    if (face.kind != DatumKind::kPlane || made == in_.features->end() || !made->second.made)
      continue;
    if (face.direction_P.dot(n_W) < kSameWay) continue;
    if (std::abs(n_W.dot(p_W - face.point_P_mm)) < kDrawnAlike_mm) return ref;
  }
  return std::nullopt;
}

// Of every screw: its length less washer and what it passes, and the thread's own length.
Result<RequirementForms> RequirementMaker::MakeEngagement() {
  const Joint* joint = ScrewedJoint();
  if (joint == nullptr) return NoScrews();
  for (const FeatureRef& ref : {joint->fixed, joint->moving}) {
    if (const Status s = NeedMade(ref); !s) return Unexpected(s.error());
  }
  const auto hole_of = [&](const FeatureRef& ref) {
    return std::get_if<Hole>(&FindFeature(*in_.machine, ref)->shape);
  };
  const bool fixed_tapped = hole_of(joint->fixed)->thread.has_value();
  const FeatureRef& held_ref = fixed_tapped ? joint->fixed : joint->moving;
  const FeatureRef& clear_ref = fixed_tapped ? joint->moving : joint->fixed;
  const Hole* held = hole_of(held_ref);
  if (held == nullptr || !held->thread) return WrongKind(held_ref, "a tapped hole");
  const Datum clear = DatumInW(*in_.machine, clear_ref);
  const Vec3 up = -DatumInW(*in_.machine, held_ref).direction_P;
  const double top = std::max(up.dot(clear.point_P_mm),
                              up.dot(clear.point_P_mm + clear.to_mm * clear.direction_P));
  // ISO 4759-1 grade A, to 50 mm long: js15 (from memory).
  Source length;
  length.key = StableHash(joint->name.text(), 0x6c656e677468);
  length.law = Law::kUniform;
  length.spread = SpreadId::kScrewLimits;
  const double long_mm = std::clamp(joint->screw->length_mm, 0.1, trade::kFitRange_mm);
  length.unit = 0.5 * trade::ToleranceGrade_mm(long_mm, 15) * in_.spread_scale;
  const SourceIndex screw_length = in_.sources->Add(length);
  for (const Vec3& mouth : HolesInW(*in_.machine, held_ref)) {
    const Vec3 head = mouth + (top - up.dot(mouth)) * up;
    FormSum in;
    in.Add(joint->screw->length_mm - joint->washer_mm - (top - up.dot(mouth)));
    in.Add(screw_length, 1);
    for (const auto& [part, at, factor] :
         {std::tuple(clear_ref.part, head, -1.0), std::tuple(held_ref.part, mouth, 1.0)}) {
      if (const auto face = FaceAt(part, at, up)) {
        AddMoveInW(in, in_, placed_, *face, at, up, factor);
      } else if (const auto placed = placed_.find(part); placed != placed_.end()) {
        AddMoveAlong(in, placed->second, at, up, factor);
      }
    }
    out_.linear.push_back(in.Take());
  }
  Form thread;
  thread.constant = held->thread->depth_mm;
  out_.linear.push_back(std::move(thread));
  return std::move(out_);
}

}  // namespace fitwright::variation
