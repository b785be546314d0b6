// Of many weighed intervals: how much weight covers a place, and where most does.
#pragma once

#include <vector>

namespace fitwright::rework {

struct Covering {
  double low = 0;  // empty where low > high
  double high = 0;
  double weight = 0;
};

class Coverage {
 public:
  explicit Coverage(const std::vector<Covering>& intervals);
  double At(double x) const;
  // The middle of the places that are covered within `slack` of the most; 0 where nothing is.
  double Best(double slack) const;

 private:
  struct Edge {
    double at;
    double sum;  // of weights up to here
  };
  static double Below(const std::vector<Edge>& edges, double x, bool with);
  std::vector<Edge> lows_;
  std::vector<Edge> highs_;
};

}  // namespace fitwright::rework
