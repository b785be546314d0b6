// The plan's errors given what was read. Every form stays a form over the same independent sources:
//   form given the readings = form + gain . (readings - what they would show),
// with gains from the covariances of the sources that are normal. A build drawn from the sources
// and put through such forms is a build as it may stand now. That is exact where the sources that
// the readings show are normal; where others carry more than a fifth of the variance of what was
// read, these stay as drawn and each build counts with the likelihood that they leave it
// (docs/design/016-after-a-reading.md).
#pragma once

#include <Eigen/Core>
#include <cstdint>
#include <map>
#include <vector>

#include "fitwright/rework/observation.h"
#include "fitwright/variation/analysis.h"

namespace fitwright::rework {

// What one reading was expected to be before any was taken, and by those taken before it.
struct Expectation {
  double mean_mm = 0;
  double sigma_mm = 0;
  double chance = 1;  // of a reading so far from the mean, either side; normal
};

// Of every source of the plan.
std::vector<variation::Moments> MomentsOfSources(const variation::Analysis& analysis);

class Conditioning {
 public:
  // `analysis`: as Observe left it. `known`: MomentsOfSources of the plan's own sources, which are
  // the first; those that it has not are worked out.
  Conditioning(const variation::Analysis& analysis, const Observed& observed,
               const std::vector<variation::Moments>& known = {});

  // The form given the readings.
  variation::Form Given(const variation::Form& form) const;
  // Whether the readings say anything of the form.
  bool Changes(const variation::Form& form) const;
  // These requirements and all floats given the readings; without features and places.
  variation::Analysis Given(const variation::Analysis& analysis,
                            const std::vector<std::size_t>& requirements) const;

  // Mean and variance of a form given the readings, sources that are not normal by their moments.
  variation::Moments MomentsOf(const variation::Form& form) const;
  // Of the form as planned.
  variation::Moments PlannedMomentsOf(const variation::Form& form) const;
  double CovarianceOf(const variation::Form& a, const variation::Form& b) const;

  // Forms whose values weigh a build, and the logarithm of the weight that they give it. Empty
  // where every build counts the same.
  const std::vector<variation::Form>& misses() const { return misses_; }
  double LogWeightOf(const double* values, std::size_t stride) const;

  // In the order of the observations.
  const std::vector<Expectation>& expectations() const { return expectations_; }

 private:
  variation::Form Settled(const variation::Form& form) const;
  void FindWeighed(const variation::SourceTable& sources);
  void Factor();
  void Expect();
  Eigen::VectorXd CovarianceWithShown(const variation::Form& form) const;
  variation::Form Updated(const variation::Form& settled) const;

  std::map<variation::SourceIndex, variation::Form> settled_;
  std::vector<double> means_;  // by source
  std::vector<double> variances_;
  std::vector<std::uint8_t> weighed_;   // by source: stays as drawn
  std::vector<variation::Form> shown_;  // settled
  std::vector<double> values_;
  std::vector<variation::Form> off_;  // reading less what would be shown
  std::vector<std::vector<std::pair<std::size_t, double>>>
      in_shown_;             // by source: where, covariance
  Eigen::MatrixXd inverse_;  // of the covariance of what is shown
  std::vector<variation::Form> misses_;
  std::vector<Expectation> expectations_;
};

}  // namespace fitwright::rework
