#include "fitwright/rework/coverage.h"

#include <algorithm>

namespace fitwright::rework {

Coverage::Coverage(const std::vector<Covering>& intervals) {
  for (const Covering& c : intervals) {
    if (c.low > c.high || c.weight <= 0) continue;
    lows_.push_back({c.low, c.weight});
    highs_.push_back({c.high, c.weight});
  }
  for (std::vector<Edge>* edges : {&lows_, &highs_}) {
    std::sort(edges->begin(), edges->end(),
              [](const Edge& a, const Edge& b) { return a.at < b.at; });
    double sum = 0;
    for (Edge& e : *edges) e.sum = sum += e.sum;
  }
}

double Coverage::Below(const std::vector<Edge>& edges, double x, bool with) {
  const auto it = with ? std::upper_bound(edges.begin(), edges.end(), x,
                                          [](double v, const Edge& e) { return v < e.at; })
                       : std::lower_bound(edges.begin(), edges.end(), x,
                                          [](const Edge& e, double v) { return e.at < v; });
  return it == edges.begin() ? 0 : std::prev(it)->sum;
}

double Coverage::At(double x) const { return Below(lows_, x, true) - Below(highs_, x, false); }

double Coverage::Best(double slack) const {
  double most = 0;
  for (const Edge& e : lows_) most = std::max(most, At(e.at));
  if (most <= 0) return 0;
  double from = 0;
  double to = 0;
  bool any = false;
  for (const std::vector<Edge>* edges : {&lows_, &highs_}) {
    for (const Edge& e : *edges) {
      if (At(e.at) < most - slack) continue;
      from = any ? std::min(from, e.at) : e.at;
      to = any ? std::max(to, e.at) : e.at;
      any = true;
    }
  }
  return 0.5 * (from + to);
}

}  // namespace fitwright::rework
