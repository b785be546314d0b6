#include "fitwright/planner/assembly_looks.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "fitwright/model/faces.h"
#include "fitwright/model/material.h"
#include "fitwright/planner/bench_work.h"
#include "fitwright/planner/process_common.h"
#include "fitwright/planner/putting_on.h"

namespace fitwright::planner {
namespace {

constexpr double kTouch_mm = 0.05;   // nearer than this is drawn touching
constexpr double kWire_mm = 2;       // a gap up to this is told by a wire pressed in it (common practice)
constexpr double kWireOver = 1.5;    // of the widest gap
constexpr double kSameWay = 0.999;

// What shows, or can be measured, when the last of its parts is on. What is of one part alone was measured
// where it was cut.
bool ShowsTogether(const Requirement& r) {
  using K = RequirementKind;
  const bool kind = r.kind == K::kFlush || r.kind == K::kDistance || r.kind == K::kProud || r.kind == K::kEndFloat || r.kind == K::kRunOut;
  return kind && !r.derived && !r.words.empty() && (!r.gaps.empty() || r.a.part != r.b.part);
}

std::set<PartId> PartsOf(const Requirement& r) {
  std::set<PartId> parts;
  for (const FeatureRef& ref : {r.a, r.b}) {
    if (!ref.part.empty()) parts.insert(ref.part);
  }
  for (const auto& [a, b] : r.gaps) parts.insert({a.part, b.part});
  return parts;
}

// Both ends of the screws that draw one of the parts down between them.
std::set<PartId> DrawnBy(const Machine& machine, const std::set<PartId>& parts) {
  std::set<PartId> by;
  for (const Joint& joint : machine.joints) {
    const bool between = std::any_of(joint.between.begin(), joint.between.end(), [&](const FeatureRef& ref) { return parts.contains(ref.part); });
    if (between) by.insert({joint.fixed.part, joint.moving.part});
  }
  return by;
}

struct FaceAt {
  double at_mm = 0;  // along its normal
  Vec3 normal_W = Vec3::UnitZ();
};
std::optional<FaceAt> FaceOf(const Machine& machine, const FeatureRef& ref) {
  const Feature* feature = machine.Find(ref);
  const auto* face = feature == nullptr ? nullptr : std::get_if<PlanarFace>(&feature->shape);
  const auto X_WP = machine.FindPlace(ref.part);
  if (face == nullptr || !X_WP) return std::nullopt;
  const Vec3 normal = X_WP->linear() * face->normal_P;
  return FaceAt{face->at.middle_mm() + normal.dot(X_WP->translation()), normal};
}

// Two faces that look at each other over a gap that the parts themselves shut off from view.
bool IsShutIn(const Machine& machine, const Requirement& r) {
  const auto a = FaceOf(machine, r.a);
  const auto b = FaceOf(machine, r.b);
  if (r.kind != RequirementKind::kDistance || !a || !b || !r.upper) return false;
  return r.lower && *r.lower > 0 && *r.upper < kWire_mm && a->normal_W.dot(b->normal_W) < -kSameWay;
}

std::string LimitWords(const Requirement& r) {
  if (r.lower && r.upper) {
    const auto [least, most] = std::minmax({std::abs(*r.lower), std::abs(*r.upper)});
    if (*r.lower * *r.upper < 0) return fmt::format("{:.3f} to {:.3f} mm", *r.lower, *r.upper);
    return fmt::format("{:.3f} to {:.3f} mm", least, most);  // drawn sides count their distances below nothing
  }
  if (r.upper) return fmt::format("at most {:.3f} mm", *r.upper);
  return r.lower ? fmt::format("at least {:.3f} mm", *r.lower) : "as the drawing has it";
}

// A step so small, between limits so close, that an indicator slid over it tells more than a height gauge.
bool IsFineStep(const Requirement& r) {
  constexpr double kSlidOver_mm = 0.5;
  constexpr double kFine_mm = 0.05;
  const bool step = r.kind == RequirementKind::kDistance || r.kind == RequirementKind::kProud;
  return step && r.lower && r.upper && std::max(std::abs(*r.lower), std::abs(*r.upper)) < kSlidOver_mm && *r.upper - *r.lower < kFine_mm;
}

std::vector<InstrumentKind> InstrumentsFor(const Requirement& r, bool shut) {
  using K = InstrumentKind;
  if (shut) return {K::kMicrometer, K::kCaliper};
  const RequirementKind kind = r.kind;
  if (kind == RequirementKind::kRunOut || kind == RequirementKind::kEndFloat) return {K::kIndicator};
  if (kind == RequirementKind::kFlush || IsFineStep(r)) return {K::kIndicator, K::kDepthMicrometer, K::kHeightGauge};
  return {K::kDepthMicrometer, K::kHeightGauge, K::kCaliper};
}

// The faces that are read: the requirement's own or those of other parts that they are to meet.
struct Faces {
  FeatureRef a;
  FeatureRef b;
};
std::vector<FeatureRef> StandIns(const Machine& machine, const FeatureRef& ref) {
  std::vector<FeatureRef> faces = {ref};
  for (const Joint& joint : machine.joints) {
    if (joint.kind != JointKind::kFaceContact) continue;
    if (joint.fixed == ref) faces.push_back(joint.moving);
    if (joint.moving == ref) faces.push_back(joint.fixed);
  }
  return faces;
}
std::optional<Faces> FacesThere(const Machine& machine, const Requirement& r, const std::set<PartId>& joined) {
  const bool may_stand_in = r.kind == RequirementKind::kDistance && FaceOf(machine, r.a) && FaceOf(machine, r.b);
  const std::vector<FeatureRef> of_a = may_stand_in ? StandIns(machine, r.a) : std::vector<FeatureRef>{r.a};
  const std::vector<FeatureRef> of_b = may_stand_in ? StandIns(machine, r.b) : std::vector<FeatureRef>{r.b};
  for (const FeatureRef& a : of_a) {
    for (const FeatureRef& b : of_b) {
      if (joined.contains(a.part) && joined.contains(b.part) && a.part != b.part) return Faces{a, b};
    }
  }
  return std::nullopt;
}

std::string Named(const FeatureRef& read, const FeatureRef& meant) {
  if (read == meant) return FeatureOfPart(read);
  return fmt::format("{} (it comes against {})", FeatureOfPart(read), FeatureOfPart(meant));
}

// How a depth or a step between two faces is taken.
std::string DistanceWords(const Machine& machine, const Requirement& r, const Faces& faces, const Instrument* instrument) {
  const auto a = FaceOf(machine, faces.a);
  const auto b = FaceOf(machine, faces.b);
  const std::string name_a = Named(faces.a, r.a);
  const std::string name_b = Named(faces.b, r.b);
  if (!a || !b) return fmt::format("from {} to {}", name_a, name_b);
  const bool same = a->normal_W.dot(b->normal_W) > kSameWay;
  if (!same) return fmt::format("over {} and {}", name_a, name_b);
  const bool a_out = a->at_mm > b->at_mm;
  const std::string& high = a_out ? name_a : name_b;
  const std::string& low = a_out ? name_b : name_a;
  if (instrument != nullptr && instrument->kind == InstrumentKind::kIndicator) {
    return fmt::format("piece and stand on the plate, set to 0 on {} and slid over onto {}, at four places", low, high);
  }
  if (instrument != nullptr && instrument->kind == InstrumentKind::kDepthMicrometer) {
    return fmt::format("half of its base on {}, beside what stands out of that, its rod down on {} past the edge, at two places opposite each other", high, low);
  }
  return fmt::format("from {} up to {}, the piece standing on the plate", low, high);
}

// Along the axis that the chain of gaps lies on.
Vec3 AxisOfGaps(const Machine& machine, const Requirement& r) {
  const auto face = r.gaps.empty() ? std::nullopt : FaceOf(machine, r.gaps.front().first);
  return face ? face->normal_W : Vec3::UnitX();
}

bool CoversBeyond(const Machine& machine, const PartId& part, const Vec3& p_W, const Vec3& out_W) {
  const auto X_WP = machine.FindPlace(part);
  const Part* sheet = machine.FindPart(part);
  if (!X_WP || sheet == nullptr) return false;
  const Box3 box = CalcEnvelope(*sheet);
  const Pose X_PW = X_WP->inverse();
  const Vec3 p = X_PW * p_W;
  const Vec3 out = X_PW.linear() * out_W;
  for (int k = 0; k < 3; ++k) {
    if (std::abs(out[k]) > 0.5) {
      if (out[k] * (out[k] > 0 ? box.max_mm[k] : box.min_mm[k]) <= out[k] * p[k] + 0.05) return false;
    } else if (p[k] < box.min_mm[k] || p[k] > box.max_mm[k]) {
      return false;
    }
  }
  return true;
}

// What turns or slides in the chain, and an end of it that shows.
std::string FloatingEnd(const Machine& machine, const Requirement& r, const std::set<PartId>& joined) {
  const Vec3 axis = AxisOfGaps(machine, r);
  for (const Joint& joint : machine.joints) {
    const bool runs = joint.kind == JointKind::kBearingOnShaft || joint.kind == JointKind::kRunningFit || joint.kind == JointKind::kSliderInBore;
    const Part* part = machine.FindBought(joint.moving.part) != nullptr ? nullptr : machine.FindPart(joint.moving.part);
    const auto X_WP = machine.FindPlace(joint.moving.part);
    if (!runs || part == nullptr || !X_WP || !joined.contains(joint.moving.part)) continue;
    for (const Vec3& out : {axis, Vec3(-axis)}) {
      const Feature* face = OutermostFace(*part, X_WP->linear().transpose() * out);
      const auto at = face == nullptr ? std::nullopt : FaceOf(machine, {joint.moving.part, face->name});
      if (!at) continue;
      const Vec3 middle = *X_WP * CalcEnvelope(*part).centre_mm();
      const Vec3 p_W = middle + out * (at->at_mm - out.dot(middle));
      const bool covered = std::any_of(joined.begin(), joined.end(), [&](const PartId& other) {
        return other != joint.moving.part && CoversBeyond(machine, other, p_W, out);
      });
      if (!covered) return fmt::format("on the {} of {}", NameWords(face->name), NamesOf({joint.moving.part}));
    }
  }
  return "on an end that shows";
}

}  // namespace

bool RingsShift(const Machine& machine) {
  const bool seated = std::any_of(machine.joints.begin(), machine.joints.end(), [](const Joint& j) { return j.kind == JointKind::kBearingSeat; });
  return seated && std::any_of(machine.bought.begin(), machine.bought.end(), [](const BoughtPart& b) { return b.kind == BoughtKind::kCirclip; });
}

namespace {

std::string ReadWords(const Machine& machine, const Requirement& r, const Faces& faces, const Instrument* instrument, const std::set<PartId>& joined) {
  const std::string with = instrument == nullptr ? "the finest that reaches" : "the " + instrument->words;
  switch (r.kind) {
    case RequirementKind::kRunOut:
      return fmt::format("Read it with {} on {}, {} turned one full turn by hand: the whole swing of the needle", with, FeatureOfPart(r.a),
                         NamesOf({r.b.part}));
    case RequirementKind::kEndFloat:
      return fmt::format("Read it with {} on a stand, {}, along the axis: push all home one way, set 0, pull it home the other way{}", with,
                         FloatingEnd(machine, r, joined), RingsShift(machine) ? "; less what the bearings' outer rings shift by themselves, read before the shaft went in" : "");
    case RequirementKind::kFlush:
      return fmt::format("Read it with {} on a stand, it and the piece on the plate, slid from {} over onto {}, at each end of where they meet", with, FeatureOfPart(r.b), FeatureOfPart(r.a));
    default:
      return fmt::format("All that is to seat pushed home and held there, read it with {}, {}", with, DistanceWords(machine, r, faces, instrument));
  }
}

Step LookStep(const Machine& machine, const Shop& shop, const Requirement& r, const Faces& faces, const std::set<PartId>& joined) {
  Step look;
  look.operation = Operation::kMeasure;
  for (const FeatureRef& ref : {faces.a, faces.b}) {
    if (!ref.part.empty()) look.features.push_back(ref);
  }
  for (const auto& gap : r.gaps) look.features.insert(look.features.end(), {gap.first, gap.second});
  look.words = fmt::format("Look at {}: {}. {}.", r.name.text(), r.words, LimitWords(r));
  char& first = look.words[look.words.size() - LimitWords(r).size() - 1];
  first = static_cast<char>(std::toupper(static_cast<unsigned char>(first)));
  if (r.kind == RequirementKind::kDistance || r.kind == RequirementKind::kProud || r.kind == RequirementKind::kFlush)
    look.words += " Out of that: first all clean and home again; then see by the boxes of its sizes which is off, cut that again or make it anew before more goes on.";
  const Instrument* instrument = FindInstrument(shop, InstrumentsFor(r, false), std::abs(r.upper.value_or(1)));
  MeasureLine line;
  line.feature = look.features.front();
  if (instrument != nullptr) line.instrument = instrument->name;
  line.words = ReadWords(machine, r, faces, instrument, joined);
  look.measure = line;
  look.time_min = shop.times.measure;
  return look;
}

// Thin parts that lie in the gap: a wire on one of them reads too little by its thickness.
std::vector<PartId> LyingIn(const Machine& machine, const Requirement& gap) {
  const auto a = FaceOf(machine, gap.a);
  const auto b = FaceOf(machine, gap.b);
  const auto X_WA = machine.FindPlace(gap.a.part);
  if (!a || !b || !X_WA) return {};
  const Box3 own = CalcEnvelope(*machine.FindPart(gap.a.part));
  const Vec3 centre_W = *X_WA * own.centre_mm();
  std::vector<PartId> parts;
  for (const PartUse& use : machine.uses) {
    const bool gasket = std::any_of(machine.joints.begin(), machine.joints.end(), [&](const Joint& j) {
      return j.kind == JointKind::kGasketedFace && (j.fixed.part == use.part || j.moving.part == use.part);  // lies round the gap
    });
    if (gasket || use.part == gap.a.part || use.part == gap.b.part) continue;
    const Box3 box = CalcEnvelope(*machine.FindPart(use.part));
    const Vec3 off = use.X_WP * box.centre_mm() - centre_W;
    const double at = a->normal_W.dot(use.X_WP * box.centre_mm());
    const double half = 0.5 * (use.X_WP.linear().transpose() * a->normal_W).cwiseAbs().dot(box.size_mm());
    const bool inside = at - half > a->at_mm - kTouch_mm && at + half < -b->at_mm + kTouch_mm;
    const double aside = (off - off.dot(a->normal_W) * a->normal_W).norm();
    if (inside && aside < 0.5 * (own.size_mm().maxCoeff() + box.size_mm().maxCoeff())) parts.push_back(use.part);
  }
  return parts;
}

// Over what carries the part, so that a pressed wire does not tip it.
std::string WirePlaces(const Machine& machine, const Requirement& gap, const PartId& part) {
  if (const std::vector<PartId> between = LyingIn(machine, gap); !between.empty()) {
    return fmt::format("opposite each other and clear of {}, there in the gap (a wire over that reads too little by its thickness: add what it mikes)", NamesOf(between));
  }
  for (const Joint& joint : machine.joints) {
    const bool fixed = joint.fixed.part == part;
    if (joint.kind != JointKind::kRunningFit || (!fixed && joint.moving.part != part)) continue;
    return fmt::format("on the line of {}, one on each side and alike far out, so that it is not tipped", NamesOf({fixed ? joint.moving.part : joint.fixed.part}));
  }
  return "opposite each other";
}

Step WireStep(const Machine& machine, const Shop& shop, const Requirement& r, const review::AssemblyStep& way) {
  // What lies still takes the wire; the other comes down on it.
  const FeatureRef& on = Has(way.parts, r.a.part) ? r.b : r.a;
  Step step;
  step.operation = Operation::kMeasure;
  step.features = {r.a, r.b};
  step.words = fmt::format("For {}, before it is shut off, turned by hand to where the gap is widest: lay two bits of soft wire, {:.1f} mm thick, on {}, {}, clear of every hole that shuts over it, a "
                           "dab of grease under each. It comes out again when it has been pressed.",
                           r.name.text(), kWireOver * *r.upper, FeatureOfPart(on), WirePlaces(machine, r, on.part));
  step.caution = "With the wire in, turn it over by hand only, and slowly.";
  step.time_min = shop.times.measure;
  return step;
}

Step PressedStep(const Shop& shop, const Requirement& r, const std::vector<PartId>& over) {
  Step look;
  look.operation = Operation::kMeasure;
  look.features = {r.a, r.b};
  look.words = fmt::format("Look at {}: {}. {} to {:.3f} mm. All is drawn tight: turn it over once by hand, so that the gap has been at its least. Take "
                           "{} off again, the last first, take the wire out and measure it; then put all on again the same way, without it.",
                           r.name.text(), r.words, fmt::format("{:.3f}", *r.lower), *r.upper, NamesOf(over));
  const Instrument* instrument = FindInstrument(shop, InstrumentsFor(r, true), kWireOver * *r.upper);
  MeasureLine line;
  line.feature = r.a;
  if (instrument != nullptr) line.instrument = instrument->name;
  line.words = fmt::format("Measure each wire where it is thinnest with the {}; the smaller counts", instrument == nullptr ? "finest there is" : instrument->words);
  look.measure = line;
  look.time_min = 3 * shop.times.measure + 2 * static_cast<double>(over.size()) * shop.times.assemble_place;
  return look;
}

}  // namespace

AssemblyLooks::AssemblyLooks(const Machine& machine, const Shop& shop) : machine_(machine), shop_(shop) {
  for (const Requirement& r : machine.requirements) {
    if (!ShowsTogether(r)) continue;
    Open open;
    open.requirement = &r;
    open.parts = PartsOf(r);
    open.drawn_by = DrawnBy(machine, open.parts);
    open_.push_back(std::move(open));
  }
}

std::vector<Step> AssemblyLooks::Before(const review::AssemblyStep& way, const std::set<PartId>& joined) {
  std::vector<Step> steps;
  for (Open& open : open_) {
    if (!IsShutIn(machine_, *open.requirement)) continue;
    if (!open.laid && std::includes(joined.begin(), joined.end(), open.parts.begin(), open.parts.end())) {
      steps.push_back(WireStep(machine_, shop_, *open.requirement, way));
      open.laid = true;
    }
    if (open.laid) open.over.insert(open.over.begin(), way.parts.begin(), way.parts.end());
  }
  return steps;
}

std::optional<Step> AssemblyLooks::Read(const Open& open, const std::set<PartId>& joined) const {
  const Requirement& r = *open.requirement;
  const bool drawn = std::includes(joined.begin(), joined.end(), open.drawn_by.begin(), open.drawn_by.end());
  const bool all = std::includes(joined.begin(), joined.end(), open.parts.begin(), open.parts.end());
  if (!drawn) return std::nullopt;
  if (open.laid) return all ? std::optional<Step>(PressedStep(shop_, r, open.over)) : std::nullopt;
  if (!r.gaps.empty()) return all ? std::optional<Step>(LookStep(machine_, shop_, r, {r.a, r.b}, joined)) : std::nullopt;
  const auto faces = FacesThere(machine_, r, joined);
  if (!faces) return std::nullopt;
  return LookStep(machine_, shop_, r, *faces, joined);
}

std::vector<Step> AssemblyLooks::After(const std::set<PartId>& joined) {
  std::vector<Step> steps;
  std::erase_if(open_, [&](const Open& open) {
    auto step = Read(open, joined);
    if (!step) return false;
    steps.push_back(*std::move(step));
    return true;
  });
  return steps;
}

std::vector<Step> AssemblyLooks::Left() {
  std::vector<Step> steps;
  for (const Open& open : open_) {
    const Requirement& r = *open.requirement;
    steps.push_back(open.laid ? PressedStep(shop_, r, open.over) : LookStep(machine_, shop_, r, {r.a, r.b}, open.parts));
  }
  open_.clear();
  return steps;
}

Step FloatStep(const Machine& machine, const Shop& shop, const Requirement& requirement, const std::set<PartId>& joined) {
  return LookStep(machine, shop, requirement, {requirement.a, requirement.b}, joined);
}

}  // namespace fitwright::planner
