// Holes cut in one go through parts that are held together: the lower part's stand where the upper
// part's do.
#include "fitwright/variation/cut_reader.h"
#include "fitwright/variation/joint_limits.h"

namespace fitwright::variation {
namespace {

// The hole of the pattern on the line through p along `along`, both in the pattern's frame.
std::optional<std::size_t> OnLine(const Hole& hole, const Vec3& p, const Vec3& along) {
  for (std::size_t i = 0; i < hole.entries_P_mm.size(); ++i) {
    const Vec3 r = hole.entries_P_mm[i] - p;
    if ((r - along * along.dot(r)).norm() < kDrawnAlike_mm) return i;
  }
  return std::nullopt;
}

}  // namespace

Status CutReader::FollowHoles(const Step& step, const FeatureRef& lead, const FeatureRef& ref,
                              const Hole& hole, FeatureForms& forms) {
  const auto& upper = std::get<Hole>(FindFeature(machine_, lead)->shape);
  const Pose X_FL = PoseInSetup(ref.part) * PoseInSetup(lead.part).inverse();
  const auto fault = [&](const std::string& why, const std::string& remedy) {
    return Unexpected(Error{
        ErrorCode::kNoPlan,
        fmt::format("step {} cuts {} with {}, {}", step.id.text(), ref.text(), lead.text(), why),
        ref.text(),
        remedy,
        {}});
  };
  if (!StillTogether(ref.part, lead.part))
    return fault("but the two parts are not together", "assemble them first");
  forms.holes.resize(hole.entries_P_mm.size());
  std::vector<int> holes = step.holes;
  if (holes.empty()) {
    for (std::size_t k = 0; k < upper.entries_P_mm.size(); ++k)
      holes.push_back(static_cast<int>(k));
  }
  for (const int number : holes) {
    const auto k = static_cast<std::size_t>(number);
    const auto i = OnLine(hole, X_FL * upper.entries_P_mm[k], X_FL.linear() * upper.into_P);
    if (!i) return fault("which has no hole on that line", "draw the two holes on one line");
    if (out_.features[lead].holes[k].pose.base != BaseOf(lead.part))
      return fault("which was placed in another setup",
                   "start the upper hole in the setup that goes through both");
    FollowHole(step, lead, k, ref, hole, *i, forms);
  }
  forms.made = true;
  forms.pose = forms.holes.front().pose;
  forms.size = forms.holes.front().size;
  return Ok{};
}

void CutReader::FollowHole(const Step& step, const FeatureRef& lead, std::size_t k,
                           const FeatureRef& ref, const Hole& hole, std::size_t i,
                           FeatureForms& forms) {
  const auto& upper = std::get<Hole>(FindFeature(machine_, lead)->shape);
  const HoleForms from = out_.features[lead].holes[k];
  const Pose X_FL = PoseInSetup(ref.part) * PoseInSetup(lead.part).inverse();
  HoleForms& own = forms.holes[i];
  own.across = SquareTo(hole.into_P);
  own.pose = {BaseOf(ref.part), Transformed(X_FL, from.pose.own)};
  // The drill that ran off above goes on the same way below.
  const Vec3 mouth_L = X_FL.inverse() * hole.entries_P_mm[i];
  const double depth = upper.into_P.dot(mouth_L - upper.entries_P_mm[k]);
  const double onward = hole.into_P.dot(X_FL.linear() * upper.into_P);
  for (std::size_t j = 0; j < 2; ++j) {
    FormSum slope;
    for (std::size_t a = 0; a < 2; ++a)
      slope.Add(from.run_off[a], onward * own.across[j].dot(X_FL.linear() * from.across[a]));
    own.run_off[j] = slope.Take();
    AddShift(own.pose.own, X_FL.linear() * from.across[j], from.run_off[j], depth);
    own.thread_lean[j] = {};
  }
  own.size = from.size;
  own.started = true;
  own.drilled = from.drilled;
  own.threaded = false;
  const std::uint64_t visit = VisitKey(step, ref, i);
  for (const SourceUse& use : FindRow(step.operation, Work::kHoleThroughBoth).uses) {
    if (use.effect != Effect::kTransfer) {
      ApplyHoleUse(use, step, ref, hole, i, visit, forms);
      continue;
    }
    for (std::size_t j = 0; j < 2; ++j)
      AddShift(own.pose.own, own.across[j], Draw(use.spread, Law::kNormal, visit, 1, j));
  }
}

}  // namespace fitwright::variation
