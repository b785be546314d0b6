// The least material between two features: the points of one's surface that come nearest to the
// other.
#include <algorithm>
#include <cmath>

#include "fitwright/variation/joint_limits.h"
#include "fitwright/variation/requirement_maker.h"

namespace fitwright::variation {
namespace {

constexpr int kAround = 48;
constexpr int kRefine = 40;
// Places whose walls as drawn are within this of the thinnest may turn out thinnest.
constexpr double kRival_mm = 0.3;

// A round surface in W; a drilled bottom's point is its tip.
struct Round {
  Vec3 start_W = Vec3::Zero();
  Vec3 direction_W = Vec3::UnitZ();
  double length_mm = 0;
  double radius_mm = 0;
  double tip_mm = 0;
  bool inside = true;
  bool open = false;  // runs out at its end
  FeatureRef ref;
  std::size_t hole = 0;
};

double TipLength(const Hole& hole) {
  if (hole.through || hole.bottom == HoleBottom::kFlat) return 0;
  const double point_deg = hole.bottom == HoleBottom::kPoint118 ? 118 : 135;
  return 0.5 * hole.diameter.middle_mm() / std::tan(0.5 * point_deg * kRadPerDeg);
}

std::vector<Round> RoundsOf(const Machine& machine, const FeatureRef& ref) {
  const Feature* feature = FindFeature(machine, ref);
  const auto* hole = std::get_if<Hole>(&feature->shape);
  const Datum datum = DatumInW(machine, ref);
  Round one;
  one.ref = ref;
  one.direction_W = datum.direction_P;
  one.start_W = datum.point_P_mm + datum.from_mm * datum.direction_P;
  one.length_mm = datum.to_mm - datum.from_mm;
  one.radius_mm = 0.5 * datum.diameter_mm;
  one.inside = datum.inside;
  if (hole == nullptr) return {one};
  if (hole->thread) one.radius_mm = std::max(one.radius_mm, 0.5 * hole->thread->major_mm);
  one.tip_mm = TipLength(*hole);
  one.open = hole->through;
  std::vector<Round> rounds;
  for (const Vec3& entry : HolesInW(machine, ref)) {
    one.start_W = entry;
    rounds.push_back(one);
    ++one.hole;
  }
  return rounds;
}

// Material from q to the surface of `to`, the direction in which it shrinks when q moves that way,
// and where on `to` it ends.
struct Gap {
  double wall_mm = 0;
  Vec3 towards = Vec3::UnitZ();
  Vec3 end_W = Vec3::Zero();
  double radius_share = 0;  // wall per mm of the other's radius
};

Gap ToRound(const Vec3& q, const Round& to) {
  const double along = to.direction_W.dot(q - to.start_W);
  const Vec3 on_axis = to.start_W + along * to.direction_W;
  const Vec3 radial = q - on_axis;
  const double rho = radial.norm();
  const Vec3 out = rho > 1e-9 ? Vec3(radial / rho) : SquareTo(to.direction_W)[0];
  if (!to.inside) return {to.radius_mm - rho, out, on_axis + to.radius_mm * out, 1};
  const double beyond = to.open ? 0 : std::max(along - to.length_mm - to.tip_mm, 0.0);
  const double beside = rho - to.radius_mm;
  if (beyond <= 0) return {beside, -out, on_axis + to.radius_mm * out, -1};
  const double side = std::max(beside, 0.0);
  const Vec3 to_q = side * out + beyond * to.direction_W;
  const double wall = to_q.norm();
  return {wall, -to_q / wall, q - to_q, side > 0 ? -side / wall : 0};
}

struct Candidate {
  Vec3 q = Vec3::Zero();
  Vec3 out = Vec3::Zero();  // of the own surface, where its size moves it; zero at a tip
  Gap gap;
};

// The nearest point of the circle about the own axis at `along`; all round where it is the same.
template <typename Measure>
void AddCircle(const Round& own, double along, const Measure& measure,
               std::vector<Candidate>& candidates) {
  const auto [u, v] = SquareTo(own.direction_W);
  const auto at = [&, u = u, v = v](double angle) {
    Candidate c;
    c.out = std::cos(angle) * u + std::sin(angle) * v;
    c.q = own.start_W + along * own.direction_W + own.radius_mm * c.out;
    c.gap = measure(c.q);
    return c;
  };
  double least = 1e300;
  double most = -1e300;
  int best = 0;
  for (int i = 0; i < kAround; ++i) {
    const double wall = at(2 * kPi * i / kAround).gap.wall_mm;
    if (wall < least) best = i;
    least = std::min(least, wall);
    most = std::max(most, wall);
  }
  if (most - least < kDrawnAlike_mm) {
    for (int i = 0; i < kAround; i += 3) candidates.push_back(at(2 * kPi * i / kAround));
    return;
  }
  double low = 2 * kPi * (best - 1) / kAround;
  double high = 2 * kPi * (best + 1) / kAround;
  for (int i = 0; i < kRefine; ++i) {
    const double third = (high - low) / 3;
    if (at(low + third).gap.wall_mm < at(high - third).gap.wall_mm) {
      high -= third;
    } else {
      low += third;
    }
  }
  candidates.push_back(at(0.5 * (low + high)));
}

double ThinnestOf(const std::vector<Candidate>& candidates) {
  double least = 1e300;
  for (const Candidate& c : candidates) least = std::min(least, c.gap.wall_mm);
  return least;
}

// Both ends of the own surface, places between where it is thinner than at both, and a point's tip.
template <typename Measure>
std::vector<Candidate> CandidatesOf(const Round& own, const Measure& measure) {
  constexpr int kStations = 9;
  std::vector<Candidate> candidates;
  AddCircle(own, 0, measure, candidates);
  AddCircle(own, own.length_mm, measure, candidates);
  const double at_ends = ThinnestOf(candidates);
  for (int i = 1; i + 1 < kStations; ++i) {
    std::vector<Candidate> between;
    AddCircle(own, own.length_mm * i / (kStations - 1), measure, between);
    if (ThinnestOf(between) < at_ends - kDrawnAlike_mm)
      candidates.insert(candidates.end(), between.begin(), between.end());
  }
  if (own.inside && own.tip_mm > 0) {
    Candidate tip;
    tip.q = own.start_W + (own.length_mm + own.tip_mm) * own.direction_W;
    tip.gap = measure(tip.q);
    candidates.push_back(tip);
  }
  return candidates;
}

}  // namespace

Result<RequirementForms> RequirementMaker::MakeWallOfFaces() {
  const Vec3 n = a_.direction_P;
  const double wall = n.dot(a_.point_P_mm - b_.point_P_mm);
  for (const Vec3& p :
       SharedCorners(RegionInW(*in_.machine, r_.a), RegionInW(*in_.machine, r_.b))) {
    Form form = Difference(r_.a, r_.b, p, n);
    form.constant += wall;
    out_.linear.push_back(std::move(form));
  }
  return std::move(out_);
}

Result<RequirementForms> RequirementMaker::MakeWallLeft() {
  if (a_.kind == DatumKind::kOther) return WrongKind(r_.a, "a face or a round feature");
  if (b_.kind == DatumKind::kOther) return WrongKind(r_.b, "a face or a round feature");
  if (a_.kind == DatumKind::kPlane && b_.kind == DatumKind::kPlane) return MakeWallOfFaces();
  // Points are taken on a hole; the other is a face, an outside, or a hole too.
  const bool swap = a_.kind == DatumKind::kPlane || (!a_.inside && b_.inside);
  const FeatureRef& own_ref = swap ? r_.b : r_.a;
  const FeatureRef& other_ref = swap ? r_.a : r_.b;
  const Datum& other = swap ? a_ : b_;
  std::vector<Round> others = {Round{}};
  if (other.kind == DatumKind::kAxis) others = RoundsOf(*in_.machine, other_ref);
  struct Found {
    Candidate at;
    std::size_t hole = 0;
    std::size_t other_hole = 0;
  };
  std::vector<Found> found;
  double least = 1e300;
  for (const Round& own : RoundsOf(*in_.machine, own_ref)) {
    for (const Round& to : others) {
      if (own.ref == to.ref && own.hole == to.hole) continue;
      const auto measure = [&](const Vec3& q) {
        if (other.kind == DatumKind::kAxis) return ToRound(q, to);
        const double wall = other.direction_P.dot(other.point_P_mm - q);
        return Gap{wall, other.direction_P, q + wall * other.direction_P, 0};
      };
      for (const Candidate& c : CandidatesOf(own, measure)) {
        found.push_back({c, own.hole, to.hole});
        least = std::min(least, c.gap.wall_mm);
      }
    }
  }
  for (const Found& f : found) {
    if (f.at.gap.wall_mm > least + kRival_mm) continue;
    FormSum sum;
    sum.Add(f.at.gap.wall_mm);
    AddDeepMove(sum, own_ref, f.hole, f.at.q, f.at.gap.towards, -1);
    AddDeepMove(sum, other_ref, f.other_hole, f.at.gap.end_W, f.at.gap.towards, 1);
    const auto add_size = [&](const FeatureRef& ref, double nominal_mm, double factor) {
      if (factor == 0) return;
      sum.Add(FormsOf(ref).size, factor);
      sum.Add(-factor * nominal_mm);
    };
    add_size(own_ref, NominalSize_mm(*FindFeature(*in_.machine, own_ref)),
             -0.5 * f.at.out.dot(f.at.gap.towards));
    add_size(other_ref, NominalSize_mm(*FindFeature(*in_.machine, other_ref)),
             0.5 * f.at.gap.radius_share);
    out_.linear.push_back(sum.Take());
  }
  return std::move(out_);
}

}  // namespace fitwright::variation
