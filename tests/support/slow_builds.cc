#include "tests/support/slow_builds.h"

namespace fitwright::testing {

int SlowBuilds() {
  const char* deep = std::getenv("FITWRIGHT_DEEP");
  return deep != nullptr && std::string(deep) == "1" ? 1'000'000 : 20'000;
}

double Worked(SlowRandom& r, double one_shot, double reading, double most) {
  const double cut = std::sqrt(0.25 * one_shot * one_shot - reading * reading);
  double error = r.Normal(reading);
  for (int cuts = 0;; ++cuts) {
    const double off = r.Normal(cut) - error;
    error = r.Normal(reading);
    if (off + error <= most || cuts == 8) return off;
  }
}

SlowValue Judged(double value, double lower, double upper) {
  return {value, value >= lower && value <= upper};
}

SlowTally Build(std::uint64_t seed, const std::function<SlowValue(SlowRandom&)>& one) {
  SlowRandom random(seed);
  SlowTally tally;
  tally.builds = SlowBuilds();
  double sum = 0;
  double squares = 0;
  for (int i = 0; i < tally.builds; ++i) {
    const SlowValue v = one(random);
    tally.met += v.met ? 1 : 0;
    sum += v.value;
    squares += v.value * v.value;
  }
  tally.mean = sum / tally.builds;
  tally.sigma = std::sqrt(std::max(0.0, squares / tally.builds - tally.mean * tally.mean));
  return tally;
}

Odds FastOdds(const Machine& machine, const Shop& shop, const Plan& plan) {
  variation::OddsOptions options;
  options.builds = SlowBuilds();
  options.seed = 7;
  options.shop_band = false;
  const auto odds = variation::CalcOdds(machine, shop, plan, options);
  EXPECT_TRUE(odds) << Format(odds.error());
  return odds ? *odds : Odds{};
}

void PrintDeep(const RequirementOdds& fast, const SlowTally& slow) {
  if (slow.builds < 1'000'000) return;
  std::printf("%s: odds %.5f, the slow way %.5f; mean %.6g, %.6g; sigma %.6g, %.6g\n",
              fast.name.text().c_str(), fast.chance.odds, slow.odds(), fast.mean, slow.mean,
              fast.sigma, slow.sigma);
}

void ExpectSame(const RequirementOdds& fast, const SlowTally& slow, double second_order) {
  constexpr double kSigmas = 4.5;
  SCOPED_TRACE(fast.name.text());
  PrintDeep(fast, slow);
  const double n = slow.builds;
  const double p = 0.5 * (fast.chance.odds + slow.odds());
  EXPECT_NEAR(fast.chance.odds, slow.odds(), kSigmas * std::sqrt(2 * p * (1 - p) / n) + 3 / n);
  const double sigma = std::max(fast.sigma, slow.sigma);
  const double valued = std::min(n, 16384.0);  // builds of which the odds' mean and sigma are counted
  EXPECT_NEAR(fast.mean, slow.mean, kSigmas * sigma * std::sqrt(1 / valued + 1 / n) + second_order);
  // A sigma's own doubt, for tails up to a normal's: sigma / sqrt(2 n) each.
  EXPECT_NEAR(fast.sigma, slow.sigma, kSigmas * sigma * std::sqrt(0.5 / valued + 0.5 / n) + second_order);
}

Pose AlongAxis(const Vec3& low, const Vec3& high, const Vec3& low_now, const Vec3& high_now) {
  Pose moved = Pose::Identity();
  moved.linear() = ShortestTurn(high - low, high_now - low_now);
  moved.translation() = low_now - moved.linear() * low;
  return moved;
}

Pose OnThreePoints(const std::vector<Vec3>& drawn, const std::vector<Vec3>& now) {
  const auto frame = [](const std::vector<Vec3>& p) {
    const Vec3 n = (p[1] - p[0]).cross(p[2] - p[0]).normalized();
    return n;
  };
  Pose moved = Pose::Identity();
  moved.linear() = ShortestTurn(frame(drawn), frame(now));
  moved.translation() = now[0] - moved.linear() * drawn[0];
  return moved;
}

double FromLine(const Vec3& p, const Vec3& on_line, const Vec3& direction) {
  return (p - on_line).cross(direction.normalized()).norm();
}

Feature AsSupplied(Feature feature) {
  feature.finish = Finish::kAsSupplied;
  return feature;
}

Feature SuppliedFace(const std::string& name, const Vec3& normal, const Size& at) {
  PlanarFace face;
  face.normal_P = normal;
  face.at = at;
  return {FeatureId(name), face, Finish::kAsSupplied, false, {}};
}

Part SuppliedBlock(const std::string& name, const Vec3& low, const Vec3& high) {
  Part part = MakeBlock(name, low, high);
  for (Feature& feature : part.features) {
    feature.finish = Finish::kAsSupplied;
    Size& at = std::get<PlanarFace>(feature.shape).at;
    at.lower_mm = at.upper_mm = at.nominal_mm;
  }
  return part;
}

Part SuppliedRound(const std::string& name, const Size& outside, const std::optional<Size>& bore,
                   double length_mm) {
  Part part;
  part.name = PartId(name);
  part.material = "steel";
  part.envelope = EnvelopeKind::kTurned;
  part.features.push_back(AsSupplied(MakeOutside("outside", {}, 0, length_mm, outside)));
  if (bore) {
    part.features.push_back(
        AsSupplied(MakeHoles("bore", -Vec3::UnitZ(), {{0, 0, length_mm}}, *bore, length_mm, true)));
  }
  part.features.push_back(SuppliedFace("low_end", -Vec3::UnitZ(), MakeSize(0, 0)));
  part.features.push_back(SuppliedFace("high_end", Vec3::UnitZ(), MakeSize(length_mm, length_mm)));
  return part;
}

FeatureRef RefTo(const std::string& text) {
  const std::size_t dot = text.find('.');
  return {PartId(text.substr(0, dot)), FeatureId(text.substr(dot + 1))};
}

Joint JoinedBy(const std::string& name, JointKind kind, const std::string& fixed,
               const std::string& moving) {
  Joint joint;
  joint.name = JointId(name);
  joint.kind = kind;
  joint.fixed = RefTo(fixed);
  joint.moving = RefTo(moving);
  return joint;
}

Requirement Required(const std::string& name, RequirementKind kind, const std::string& a,
                     const std::string& b, std::optional<double> lower,
                     std::optional<double> upper) {
  Requirement r;
  r.name = RequirementId(name);
  r.kind = kind;
  if (!a.empty()) r.a = RefTo(a);
  if (!b.empty()) r.b = RefTo(b);
  r.lower = lower;
  r.upper = upper;
  return r;
}

PartUse StandsAt(const std::string& part, const Vec3& at_W_mm) {
  PartUse use;
  use.part = PartId(part);
  use.X_WP.translation() = at_W_mm;
  return use;
}

}  // namespace fitwright::testing
