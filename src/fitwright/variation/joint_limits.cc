#include "fitwright/variation/joint_limits.h"

#include <algorithm>
#include <cmath>

#include "fitwright/base/check.h"
#include "fitwright/base/hash.h"
#include "fitwright/trade/thread_limits.h"

namespace fitwright::variation {
namespace {

constexpr double kSquareOn = 1 - 1e-6;

const FeatureForms* FormsOf(const AssemblyInput& input, const FeatureRef& ref) {
  const auto it = input.features->find(ref);
  return it == input.features->end() || !it->second.made ? nullptr : &it->second;
}

const Form6* PlacedAt(const PlacedMap& placed, const PartId& part) {
  const auto it = placed.find(part);
  return it == placed.end() ? nullptr : &it->second;
}

Form Without(Form form, const std::vector<SourceIndex>& sources) {
  std::erase_if(form.terms, [&](const Term& t) {
    return std::find(sources.begin(), sources.end(), t.source) != sources.end();
  });
  return form;
}

Vec2 InPlane(const LimitFrame& frame, const Vec3& p_W) {
  const Vec3 r = p_W - frame.origin_W;
  return {frame.axes_W[0].dot(r), frame.axes_W[1].dot(r)};
}

// One hole of a pattern in W, and its forms.
struct HoleEnd {
  FeatureRef ref;
  const Hole* hole = nullptr;
  const FeatureForms* forms = nullptr;
  Pose X_WP = Pose::Identity();
  Pose X_PW = Pose::Identity();
  std::vector<Vec3> entries_W;
  Vec3 into_W = Vec3::UnitZ();
  double depth_mm = 0;
};

HoleEnd EndOf(const AssemblyInput& input, const FeatureRef& ref) {
  HoleEnd end;
  end.ref = ref;
  const Feature* feature = FindFeature(*input.machine, ref);
  end.hole = feature == nullptr ? nullptr : std::get_if<Hole>(&feature->shape);
  if (end.hole == nullptr) return end;
  end.forms = FormsOf(input, ref);
  end.X_WP = PlaceOf(*input.machine, ref.part);
  end.X_PW = end.X_WP.inverse();
  for (const Vec3& p : end.hole->entries_P_mm) end.entries_W.push_back(end.X_WP * p);
  end.into_W = end.X_WP.linear() * end.hole->into_P;
  end.depth_mm = end.hole->depth_mm;
  return end;
}

// Move of hole i at p_W along a direction; the thread's own lean counts from the mouth.
void AddHole(FormSum& sum, const PlacedMap& placed, const HoleEnd& end, std::size_t i, const Vec3& p_W, double engaged_mm,
             const Vec3& dir_W, double factor) {
  const Vec3 p_P = end.X_PW * p_W;
  const Vec3 dir_P = end.X_WP.linear().transpose() * dir_W;
  if (const Form6* t = PlacedAt(placed, end.ref.part)) AddMoveAlong(sum, *t, p_W, dir_W, factor);
  const HoleForms& hole = end.forms->holes[i];
  const double depth = end.into_W.dot(p_W - end.entries_W[i]);
  if (!hole.threaded) {
    AddHoleMove(sum, hole, p_P, depth, dir_P, factor);
    return;
  }
  // A thread follows its hole: run-off as it is in the middle of the engagement; its lean turns the
  // screw about the mouth.
  AddHoleMove(sum, hole, p_P, 0.5 * engaged_mm, dir_P, factor);
  for (std::size_t k = 0; k < 2; ++k)
    sum.Add(hole.thread_lean[k], factor * depth * hole.across[k].dot(dir_P));
}

SourceIndex ScrewSize(const AssemblyInput& input, const Joint& joint, std::size_t i,
                      double half_width_mm) {
  Source source;
  source.key = MixKeys(StableHash(joint.name.text(), 0x7363726577), i);
  source.law = Law::kUniform;
  source.spread = SpreadId::kScrewLimits;
  source.unit = half_width_mm * input.spread_scale;
  return input.sources->Add(source);
}

// Outside of the screw as sold, in the usual class of its series; as drawn where there is none.
Form MajorOf(const AssemblyInput& input, const Joint& joint, std::size_t i) {
  Form major;
  const trade::ThreadRow* row = trade::FindThread(joint.screw->thread);
  const auto limits = row == nullptr ? std::nullopt : trade::ScrewMajorAsSold(*row);
  if (!limits) {
    major.constant = joint.screw->major_mm;
    return major;
  }
  major = FormOf(ScrewSize(input, joint, i, 0.5 * (limits->upper_mm - limits->lower_mm)));
  major.constant = limits->middle_mm();
  return major;
}

// Radial play inside a bearing, between none and the most its maker allows; 0 for other bores.
Form BearingPlay(const AssemblyInput& input, const FeatureRef& bore) {
  const BoughtPart* bought = input.machine->FindBought(SheetIdOf(bore.part));
  if (bought == nullptr || bought->radial_play_mm <= 0 || bore.feature.text() != "bore") return {};
  Source source;
  source.key = StableHash(bore.part.text(), 0x726164706c6179);
  source.law = Law::kFromZero;
  source.spread = SpreadId::kBearingPlay;
  source.unit = bought->radial_play_mm * input.spread_scale;
  return FormOf(input.sources->Add(source));
}

std::size_t NearestHole(const HoleEnd& end, const Vec3& p_W, const Vec3& axis_W) {
  std::size_t best = 0;
  double least = 1e300;
  for (std::size_t i = 0; i < end.entries_W.size(); ++i) {
    const Vec3 r = end.entries_W[i] - p_W;
    const double off = (r - axis_W * axis_W.dot(r)).norm();
    if (off < least - 1e-9) {
      least = off;
      best = i;
    }
  }
  return best;
}

struct ScrewPair {
  std::size_t clear = 0;
  std::size_t held = 0;
};

struct Pattern {
  HoleEnd clear;  // the part that moves on the screws
  HoleEnd held;   // the part with the threads; without a thread, the one behind the nut
  bool nut = false;
  double near_mm = 0;  // from the threads' mouth up to the clearing part's near side ...
  double far_mm = 0;   // ... and to its far one
  double engagement_mm = 1;
};

void SetHeights(Pattern& pattern) {
  const HoleEnd& clear = pattern.clear;
  if (clear.entries_W.empty() || pattern.held.entries_W.empty()) return;
  const Vec3& mouth = pattern.held.entries_W.front();
  const double entry = pattern.held.into_W.dot(mouth - clear.entries_W.front());
  const double exit = entry - clear.depth_mm * pattern.held.into_W.dot(clear.into_W);
  pattern.near_mm = std::min(entry, exit);
  pattern.far_mm = std::max(entry, exit);
}

// Above the threads' mouth: the far side of the part under the heads.
double HeadHeight(const AssemblyInput& input, const Joint& joint, const Pattern& pattern) {
  double height = pattern.far_mm;
  for (const Joint& whole : input.machine->joints) {
    if (whole.name != joint.name || whole.between.empty()) continue;
    const bool clear_moves = pattern.held.ref == whole.fixed;
    Pattern top;
    top.held = pattern.held;
    top.clear = EndOf(input, clear_moves ? whole.moving : whole.fixed);
    if (top.clear.hole == nullptr) continue;
    SetHeights(top);
    height = std::max(height, top.far_mm);
  }
  return height;
}

Pattern PatternOf(const AssemblyInput& input, const Joint& joint) {
  Pattern pattern;
  pattern.clear = EndOf(input, joint.moving);
  pattern.held = EndOf(input, joint.fixed);
  if (pattern.clear.hole == nullptr || pattern.held.hole == nullptr) return pattern;
  if (pattern.clear.hole->thread && !pattern.held.hole->thread)
    std::swap(pattern.clear, pattern.held);
  pattern.nut = !pattern.held.hole->thread;
  SetHeights(pattern);
  if (!pattern.nut) {
    const double in = joint.screw->length_mm > 0 ? joint.screw->length_mm - joint.washer_mm -
                                                       HeadHeight(input, joint, pattern)
                                                 : pattern.held.hole->thread->depth_mm;
    pattern.engagement_mm =
        std::max(0.5 * joint.screw->major_mm, std::min(in, pattern.held.hole->thread->depth_mm));
  }
  return pattern;
}

void AddPlanes(const AssemblyInput& input, const PlacedMap& placed, const Joint& joint,
               const LimitFrame& frame, const std::vector<SourceIndex>& without,
               const Pattern& pattern, const ScrewPair& pair, int screw, FloatLimits& limits) {
  const HoleEnd& moving = pattern.clear.ref == joint.moving ? pattern.clear : pattern.held;
  const HoleEnd& fixed = pattern.clear.ref == joint.moving ? pattern.held : pattern.clear;
  const std::size_t i_moving = pattern.clear.ref == joint.moving ? pair.clear : pair.held;
  const std::size_t i_fixed = pattern.clear.ref == joint.moving ? pair.held : pair.clear;
  FormSum room;
  room.Add(pattern.clear.forms->holes[pair.clear].size, 0.5);
  const Form major = MajorOf(input, joint, pair.held);
  if (pattern.nut) {
    room.Add(pattern.held.forms->holes[pair.held].size, 0.5);
    room.Add(major, -1);
  } else {
    room.Add(major, -0.5);
  }
  const Form room_form = room.Take();
  const Vec3 mouth = pattern.held.entries_W[pair.held];
  // A pattern drawn off its mate's starts with that much gone.
  Vec3 drawn_off = pattern.clear.entries_W[pair.clear] - mouth;
  drawn_off -= frame.normal_W * frame.normal_W.dot(drawn_off);
  if (drawn_off.norm() < kDrawnAlike_mm) drawn_off.setZero();
  if (pattern.clear.ref != joint.moving) drawn_off = -drawn_off;
  const int planes = pattern.nut ? 1 : 2;
  for (int k = 0; k < planes; ++k) {
    const double up = pattern.nut ? 0 : k == 0 ? pattern.near_mm : pattern.far_mm;
    const Vec3 p = mouth - up * pattern.held.into_W;
    FloatLimit limit;
    for (std::size_t axis = 0; axis < 2; ++axis) {
      FormSum sum;
      AddHole(sum, placed, moving, i_moving, p, pattern.engagement_mm, frame.axes_W[axis], 1);
      AddHole(sum, placed, fixed, i_fixed, p, pattern.engagement_mm, frame.axes_W[axis], -1);
      sum.Add(drawn_off.dot(frame.axes_W[axis]));
      limit.offset[axis] = Without(sum.Take(), without);
    }
    limit.q = InPlane(frame, p);
    limit.room = room_form;
    limit.screw = screw;
    limit.rock_arm_mm = pattern.nut ? 0 : up + 0.5 * pattern.engagement_mm;
    limits.limits.push_back(std::move(limit));
  }
  limits.engagement_mm = pattern.engagement_mm;
}

}  // namespace

Pose PlaceOf(const Machine& machine, const PartId& part) {
  return FindPlace(machine, part).value_or(Pose::Identity());
}

Joint PairWith(const Machine& machine, const Joint& joint, const FeatureRef& between) {
  Joint pair = joint;
  const Feature* moving = FindFeature(machine, joint.moving);
  const auto* hole = moving == nullptr ? nullptr : std::get_if<Hole>(&moving->shape);
  if (hole != nullptr && hole->thread) pair.fixed = joint.moving;
  pair.moving = between;
  pair.between.clear();
  return pair;
}

Datum DatumInW(const Machine& machine, const FeatureRef& ref) {
  const Feature* feature = FindFeature(machine, ref);
  Datum datum = feature == nullptr ? Datum{} : DatumOf(*feature);
  const Pose X_WP = PlaceOf(machine, ref.part);
  datum.point_P_mm = X_WP * datum.point_P_mm;
  datum.direction_P = X_WP.linear() * datum.direction_P;
  return datum;
}

Region RegionInW(const Machine& machine, const FeatureRef& ref) {
  const Part* part = FindSheet(machine, ref.part);
  const Feature* feature = FindFeature(machine, ref);
  if (part == nullptr || feature == nullptr) return {};
  return Moved(RegionOf(*part, *feature), PlaceOf(machine, ref.part));
}

std::vector<Vec3> HolesInW(const Machine& machine, const FeatureRef& ref) {
  std::vector<Vec3> points;
  const Feature* feature = FindFeature(machine, ref);
  const auto* hole = feature == nullptr ? nullptr : std::get_if<Hole>(&feature->shape);
  if (hole == nullptr) return points;
  const Pose X_WP = PlaceOf(machine, ref.part);
  for (const Vec3& p : hole->entries_P_mm) points.push_back(X_WP * p);
  return points;
}

Vec3 MiddleOfHoles(const Machine& machine, const FeatureRef& ref) {
  Vec3 sum = Vec3::Zero();
  const std::vector<Vec3> points = HolesInW(machine, ref);
  for (const Vec3& p : points) sum += p;
  return points.empty() ? sum : Vec3(sum / static_cast<double>(points.size()));
}

void AddMoveInW(FormSum& sum, const AssemblyInput& input, const PlacedMap& placed,
                const FeatureRef& ref, const Vec3& point_W, const Vec3& direction_W,
                double factor) {
  if (const Form6* t = PlacedAt(placed, ref.part))
    AddMoveAlong(sum, *t, point_W, direction_W, factor);
  const FeatureForms* forms = FormsOf(input, ref);
  if (forms == nullptr) return;
  const Pose X_WP = PlaceOf(*input.machine, ref.part);
  AddFeatureMove(sum, *forms, X_WP.inverse() * point_W, X_WP.linear().transpose() * direction_W,
                 factor);
}

void AddSpigotLimit(const AssemblyInput& input, const PlacedMap& placed, const Joint& joint,
                    const LimitFrame& frame, const std::vector<SourceIndex>& without,
                    const Vec3* at_W, FloatLimits& limits) {
  const FeatureForms* moving = FormsOf(input, joint.moving);
  const FeatureForms* fixed = FormsOf(input, joint.fixed);
  if (moving == nullptr || fixed == nullptr) return;
  const Datum a = DatumInW(*input.machine, joint.moving);
  const Datum b = DatumInW(*input.machine, joint.fixed);
  if (a.kind != DatumKind::kAxis || b.kind != DatumKind::kAxis) return;
  if (std::abs(a.direction_P.dot(frame.normal_W)) < kSquareOn) return;
  const Datum& shaft = a.inside ? b : a;
  const Vec3 p = at_W != nullptr ? *at_W : shaft.middle_P_mm();
  FloatLimit limit;
  for (std::size_t axis = 0; axis < 2; ++axis) {
    FormSum sum;
    AddMoveInW(sum, input, placed, joint.moving, p, frame.axes_W[axis], 1);
    AddMoveInW(sum, input, placed, joint.fixed, p, frame.axes_W[axis], -1);
    limit.offset[axis] = Without(sum.Take(), without);
  }
  limit.q = InPlane(frame, p);
  const FeatureForms& bore = a.inside ? *moving : *fixed;
  const FeatureForms& round = a.inside ? *fixed : *moving;
  FormSum room;
  room.Add(bore.size, 0.5);
  room.Add(round.size, -0.5);
  room.Add(BearingPlay(input, a.inside ? joint.moving : joint.fixed), 0.5);
  limit.room = room.Take();
  limits.limits.push_back(std::move(limit));
}

Status AddScrewLimits(const AssemblyInput& input, const PlacedMap& placed, const Joint& joint,
                      const LimitFrame& frame, const std::vector<SourceIndex>& without,
                      bool only_threaded, int& screw, FloatLimits& limits) {
  if (!joint.screw) return Ok{};
  const Pattern pattern = PatternOf(input, joint);
  if (pattern.clear.hole == nullptr || pattern.held.hole == nullptr ||
      pattern.clear.forms == nullptr || pattern.held.forms == nullptr) {
    if (only_threaded) return Ok{};
    return Unexpected(
        Error{ErrorCode::kNoPlan,
              fmt::format("the holes of {} are never made in the plan", joint.name.text()),
              joint.name.text(),
              "add the steps that drill them",
              {}});
  }
  for (std::size_t i = 0; i < pattern.held.entries_W.size(); ++i) {
    const std::size_t clear =
        NearestHole(pattern.clear, pattern.held.entries_W[i], pattern.held.into_W);
    const HoleForms& held = pattern.held.forms->holes[i];
    if (only_threaded && !(pattern.nut ? held.drilled : held.threaded)) continue;
    if (only_threaded && !pattern.clear.forms->holes[clear].drilled) continue;
    AddPlanes(input, placed, joint, frame, without, pattern, {clear, i}, screw++, limits);
  }
  return Ok{};
}

bool AddHoleMoveInW(FormSum& sum, const AssemblyInput& input, const PlacedMap& placed,
                    const FeatureRef& ref, std::size_t i, const Vec3& p_W, const Vec3& dir_W,
                    double factor) {
  const HoleEnd end = EndOf(input, ref);
  if (end.hole == nullptr || end.forms == nullptr || i >= end.forms->holes.size()) return false;
  if (!end.forms->holes[i].drilled) return false;
  AddHole(sum, placed, end, i, p_W, 0, dir_W, factor);
  return true;
}

namespace {

LimitFrame FrameOf(const AssemblyInput& input, const Joint& joint) {
  LimitFrame frame;
  frame.normal_W = DatumInW(*input.machine, joint.fixed).direction_P;
  frame.origin_W = MiddleOfHoles(*input.machine, joint.fixed);
  frame.axes_W = SquareTo(frame.normal_W);
  return frame;
}

void SetFrame(const LimitFrame& frame, FloatLimits& limits) {
  limits.origin_W = frame.origin_W;
  limits.normal_W = frame.normal_W;
  limits.axes_W = frame.axes_W;
}

void AddSpigotsBetween(const AssemblyInput& input, const PlacedMap& placed, const Joint& joint,
                       const LimitFrame& frame, const std::vector<SourceIndex>& without,
                       FloatLimits& limits) {
  for (const Joint& other : input.machine->joints) {
    const bool round = IsRoundJoint(other.kind);
    const bool same =
        (other.fixed.part == joint.fixed.part && other.moving.part == joint.moving.part) ||
        (other.fixed.part == joint.moving.part && other.moving.part == joint.fixed.part);
    if (!round || !same) continue;
    if (other.moving.part == joint.moving.part) {
      AddSpigotLimit(input, placed, other, frame, without, nullptr, limits);
    } else {
      Joint turned = other;
      std::swap(turned.fixed, turned.moving);
      AddSpigotLimit(input, placed, turned, frame, without, nullptr, limits);
    }
  }
}

// One pin: where its two holes stand against each other, at both ends of the moving part's.
void AddPin(const PlacedMap& placed, const LimitFrame& frame,
            const std::vector<SourceIndex>& without, const HoleEnd& fixed, std::size_t i_fixed,
            const HoleEnd& moving, std::size_t i_moving, const Form& room, FloatLimits& limits) {
  const Vec3& entry = moving.entries_W[i_moving];
  for (const double depth : {0.0, moving.depth_mm}) {
    const Vec3 p = entry + depth * moving.into_W;
    FloatLimit limit;
    for (std::size_t axis = 0; axis < 2; ++axis) {
      FormSum sum;
      AddHole(sum, placed, moving, i_moving, p, 0, frame.axes_W[axis], 1);
      AddHole(sum, placed, fixed, i_fixed, p, 0, frame.axes_W[axis], -1);
      limit.offset[axis] = Without(sum.Take(), without);
    }
    limit.q = InPlane(frame, p);
    limit.room = room;
    limit.screw = static_cast<int>(i_moving);
    limits.limits.push_back(std::move(limit));
  }
}

}  // namespace

Result<FloatLimits> PinLimitsOf(const AssemblyInput& input, const PlacedMap& placed,
                                const Joint& joint, const std::vector<SourceIndex>& without) {
  constexpr double kPressedGives_mm = 0.01;  // dowels about 0.01 (error model; opinion)
  const HoleEnd fixed = EndOf(input, joint.fixed);
  const HoleEnd moving = EndOf(input, joint.moving);
  const auto made = [](const HoleEnd& end) {
    return end.hole != nullptr && end.forms != nullptr &&
           std::all_of(end.forms->holes.begin(), end.forms->holes.end(), [](const HoleForms& h) { return h.drilled; });
  };
  if (!joint.pin || !made(fixed) || !made(moving)) {
    return Unexpected(Error{ErrorCode::kNoPlan,
                            fmt::format("the holes of {} are never made in the plan", joint.name.text()),
                            joint.name.text(),
                            "add the steps that drill them",
                            {}});
  }
  const LimitFrame frame = FrameOf(input, joint);
  FloatLimits limits;
  AddSpigotsBetween(input, placed, joint, frame, without, limits);
  const double pin = joint.pin->middle_mm();
  for (std::size_t i = 0; i < moving.entries_W.size(); ++i) {
    const std::size_t k = NearestHole(fixed, moving.entries_W[i], moving.into_W);
    FormSum room;
    room.Add(kPressedGives_mm);
    for (const Form* size : {&moving.forms->holes[i].size, &fixed.forms->holes[k].size}) {
      if (joint.pin->upper_mm >= size->constant) continue;  // tight in this one
      room.Add(*size, 0.5);
      room.Add(-0.5 * pin);
    }
    AddPin(placed, frame, without, fixed, k, moving, i, room.Take(), limits);
  }
  SetFrame(frame, limits);
  return limits;
}

Result<FloatLimits> LimitsOf(const AssemblyInput& input, const PlacedMap& placed,
                             const Joint& joint, const std::vector<SourceIndex>& without,
                             bool only_threaded) {
  FloatLimits limits;
  const LimitFrame frame = FrameOf(input, joint);
  AddSpigotsBetween(input, placed, joint, frame, without, limits);
  int screw = 0;
  if (const Status s =
          AddScrewLimits(input, placed, joint, frame, without, only_threaded, screw, limits);
      !s) {
    return Unexpected(s.error());
  }
  SetFrame(frame, limits);
  return limits;
}

}  // namespace fitwright::variation
