// The plan of one project as it was last worked out, kept between runs in the user's cache folder
// under all that it was worked out from. Internal to service/.
#pragma once

#include <filesystem>
#include <optional>
#include <string>

#include "fitwright/service/solid/use_cases.h"

namespace fitwright::service {

class KeptPlan {
 public:
  // Keeps nothing where there is no cache folder, and where more is asked for than the plan
  // (use.offers).
  KeptPlan(const files::Project& project, const PlanUse& use);
  // As it was saved: the same to the last bit as planning again would give. Nothing where anything
  // that it was worked out from was otherwise, or what lies there is damaged.
  // `origin`, where not null, is told how the plan came about.
  std::optional<Plan> Find(PlanOrigin* origin = nullptr) const;
  // The plan as the planner gives it, without what its proof, version and the reading of the sheets
  // add.
  void Save(const Plan& plan, const PlanOrigin& origin = {}) const;
  // Sheets, shop and choices, what is asked for, and the program itself by its bytes. The number of
  // threads is left out: it changes nothing.
  const std::string& key() const { return key_; }

 private:
  std::string key_;
  std::filesystem::path file_;  // empty: nothing is kept
};

}  // namespace fitwright::service
