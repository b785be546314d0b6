// The example bushed-block with a short plan made by hand: bore the block, turn the bush to it, saw and
// drill two feet, then bond the bush in and let it set.
#pragma once

#include <string>

#include "fitwright/files/plan_json.h"
#include "fitwright/service/build_use.h"
#include "tests/store/samples.h"
#include "tests/support/plan_builders.h"

namespace fitwright::workshop_test {

namespace fs = std::filesystem;

inline MeasureLine Measure(const char* part, const char* feature, const char* instrument, double lower_mm,
                           double upper_mm) {
  return {{PartId(part), FeatureId(feature)}, InstrumentId(instrument), "", lower_mm, upper_mm};
}

inline Plan ShortPlan() {
  testing::PlanBuilder b;
  b.plan.project = "bushed block";
  b.plan.parts = {{PartId("block"), 1, "aluminium", "", 0},
                  {PartId("bush"), 1, "bronze", "", 0},
                  {PartId("foot"), 2, "aluminium", "", 0}};
  b.AddSetup("block", "mill", HoldingKind::kViseBedFirst, "mill_vise", Pose::Identity());
  b.Cut(Operation::kFace, "top", "end_mill_20");
  Step& bore = b.Cut(Operation::kBore, "bore", "boring_head");
  bore.aim = Aim{AimKind::kBringToSize, 25.010, 25.000, 25.021, std::nullopt, 0, 0, 0, {}};
  bore.measure = Measure("block", "bore", "bore_gauge_35", 25.000, 25.021);
  Step& depth = b.Cut(Operation::kMeasure, "bore");
  depth.measure = Measure("block", "bore", "caliper", 39.9, 40.1);
  Setup& lathe = b.AddSetup("bush", "lathe", HoldingKind::kThreeJaw, "three_jaw", Pose::Identity());
  lathe.waits_for = {SetupId("s1")};
  Step& spigot = b.Cut(Operation::kTurn, "spigot", "knife");
  spigot.aim = Aim{AimKind::kFitToMeasured, 24.986, 24.969, 25.003, FeatureRef{PartId("block"), FeatureId("bore")},
                   0.024, 0.007, 0.041, {}};
  spigot.measure = Measure("bush", "spigot", "micrometer_25", 24.969, 25.003);
  b.AddSetup("foot", "mill", HoldingKind::kViseBedFirst, "mill_vise", Pose::Identity());
  b.Cut(Operation::kSaw, "mount", "hacksaw");
  b.Cut(Operation::kDrill, "screw_holes", "drill_4_5");
  Setup& bench = b.AddSetup("block", "bench", HoldingKind::kBench, "", Pose::Identity());
  bench.parts.push_back({PartId("bush"), Pose::Identity(), false});
  bench.waits_for = {SetupId("s1"), SetupId("s2")};
  b.Cut(Operation::kBond, "bore");
  b.Cut(Operation::kCure, "").wait_min = 60;
  b.Cut(Operation::kWash, "");
  return b.plan;
}

class Workplace {
 public:
  explicit Workplace(const Plan& plan = ShortPlan()) {
    fs::copy(fs::path(FITWRIGHT_SOURCE_DIR) / "examples/bushed-block", dir(), fs::copy_options::recursive);
    Follow(plan);
  }
  fs::path dir() const { return folder_.path() / "bushed-block"; }
  const fs::path& parent() const { return folder_.path(); }
  void Follow(Plan plan) const {
    Diagnostics faults;
    const auto project = files::LoadProject(dir(), {}, faults);
    ASSERT_TRUE(project);
    plan.inputs_hash = project->inputs_hash;
    ASSERT_TRUE(files::SavePlan(dir(), plan));
  }
  service::RecordUse Use(const std::string& step, const std::string& value = "") const {
    service::RecordUse use;
    use.open = {dir(), std::nullopt, std::nullopt};
    use.step = step;
    use.value = value;
    use.now_ms = now_ms;
    return use;
  }
  service::RecordAnswer Keep(const service::RecordUse& use) const {
    auto answer = service::Record(use);
    EXPECT_TRUE(answer) << Format(answer.error());
    return answer ? *std::move(answer) : service::RecordAnswer{};
  }
  service::RecordAnswer Done(const std::string& step) const {
    service::RecordUse use = Use(step);
    use.done = true;
    return Keep(use);
  }
  // "3.1 foot#2"; empty when all is done.
  std::string NextUp(int build = 1) const {
    const auto answer = service::AskNext({{dir(), std::nullopt, std::nullopt}, build, now_ms});
    EXPECT_TRUE(answer) << Format(answer.error());
    if (!answer || !answer->next.step) return "";
    return answer->next.step->place.number() + " " + answer->next.step->place.piece.text();
  }
  std::int64_t now_ms = 1700000000000;

 private:
  store_test::TempFolder folder_;
};

}  // namespace fitwright::workshop_test
