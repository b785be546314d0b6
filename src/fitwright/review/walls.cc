// Walls between holes, to faces, to outsides; floors under blind holes; room below a thread.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>

#include "fitwright/model/material.h"
#include "fitwright/review/bores.h"
#include "fitwright/review/rules.h"
#include "fitwright/review/wall_points.h"
#include "fitwright/trade/threads.h"

namespace fitwright::review {
namespace {

constexpr double kCoaxial_mm = 0.01;
constexpr double kOnWall_mm = 1e-3;

std::string Name(const Part& part, const Feature& feature) {
  return part.name.text() + "." + feature.name.text();
}

// "hole 3 of " for a pattern, nothing for a single hole.
std::string Which(const Bore& bore) {
  if (bore.hole->entries_P_mm.size() < 2) return "";
  return fmt::format("hole {} of ", bore.index + 1);
}

bool MeantToMeet(const Bore& a, const Bore& b) {
  return (a.hole->through && AxisEnters(a, b)) || (b.hole->through && AxisEnters(b, a));
}

// The part with a pattern turned about its circle's middle.
Part Turned(const Part& part, const FeatureId& pattern, double angle_deg) {
  Part turned = part;
  for (Feature& feature : turned.features) {
    auto* hole = feature.name == pattern ? std::get_if<Hole>(&feature.shape) : nullptr;
    if (hole == nullptr || !hole->circle) continue;
    const Eigen::AngleAxisd turn(angle_deg * std::numbers::pi / 180, hole->circle->axis_P.direction);
    const Vec3& middle = hole->circle->axis_P.point_mm;
    for (Vec3& entry : hole->entries_P_mm) entry = middle + turn * (entry - middle);
  }
  return turned;
}

// Least metal between the pattern's holes and all others.
double LeastWall_mm(const Part& part, const FeatureId& pattern) {
  const std::vector<Bore> bores = BoresOf(part);
  double least = 1e9;
  for (const Bore& a : bores) {
    for (const Bore& b : bores) {
      if (a.feature->name != pattern || b.feature->name == pattern || Coaxial(a, b) || MeantToMeet(a, b)) continue;
      least = std::min(least, CalcWall_mm(a, b));
    }
  }
  return least;
}

// The least finding of a kind for a feature is enough: patterns repeat.
class Walls {
 public:
  Walls(const Part& part, const ReviewLimits& limits, std::vector<Finding>& findings, bool advises = true)
      : part_(part), limits_(limits), findings_(findings), bores_(BoresOf(part)), advises_(advises) {}

  void Run() {
    for (std::size_t i = 0; i < bores_.size(); ++i) {
      for (std::size_t j = 0; j < bores_.size(); ++j) {
        if (i != j) Between(bores_[i], bores_[j], i < j);
      }
      Floor(bores_[i]);
      if (part_.envelope == EnvelopeKind::kBlock) ToFaces(bores_[i]);
      ToOutsides(bores_[i]);
    }
    for (const Feature& feature : part_.features) {
      if (const auto* groove = std::get_if<Groove>(&feature.shape)) UnderGroove(feature, *groove);
    }
    for (const Feature& feature : part_.features) Around(feature);
    for (Seen& s : seen_) findings_.push_back(std::move(s.finding));
  }

 private:
  struct Seen {
    Finding finding;
    std::string pair;
    double wall_mm;
  };

  void Add(const std::string& pair, double wall_mm, Finding finding) {
    for (Seen& s : seen_) {
      if (s.pair != pair) continue;
      if (wall_mm < s.wall_mm - kNoise_mm) s = {std::move(finding), pair, wall_mm};
      return;
    }
    seen_.push_back({std::move(finding), pair, wall_mm});
  }

  // By a turn of so many times `step_deg`, the one that leaves most metal and brings nothing else too near: empty where none does.
  std::string TurnWords(const Feature& pattern, int step_deg) const {
    const auto& circle = std::get<Hole>(pattern.shape).circle;
    if (!advises_ || !circle || circle->count < 1) return "";
    int best_deg = 0;
    double best_mm = limits_.wall_mm - kNoise_mm;
    for (int angle = step_deg; angle < 360 / circle->count; angle += step_deg) {
      const Part turned = Turned(part_, pattern.name, angle);
      const double wall_mm = LeastWall_mm(turned, pattern.name);
      if (wall_mm < best_mm + 0.01) continue;
      std::vector<Finding> left;
      Walls(turned, limits_, left, false).Run();
      const bool clear = std::none_of(left.begin(), left.end(), [&](const Finding& f) {
        return f.where == Name(part_, pattern) || f.say.find(pattern.name.text()) != std::string::npos;
      });
      if (!clear) continue;
      best_mm = wall_mm;
      best_deg = angle;
    }
    return best_deg == 0 ? "" : fmt::format("turn the pattern {} degrees, with its mate's: {:.2f} mm", best_deg, best_mm);
  }

  std::string Remedy(const Bore& a, const Bore& b, const std::string& otherwise) const {
    for (const int step_deg : {15, 5}) {  // a plain angle rather than most metal
      for (const Bore* bore : {&a, &b}) {
        if (const std::string words = TurnWords(*bore->feature, step_deg); !words.empty()) return fmt::format("{}; or {}", words, otherwise);
      }
    }
    return otherwise;
  }

  // Said of the smaller of the two, as the one that is moved.
  void Between(const Bore& one, const Bore& other_one, bool first) {
    if (one.feature == other_one.feature && !first) return;
    if (Coaxial(one, other_one) || MeantToMeet(one, other_one)) return;
    const double wall_mm = CalcWall_mm(one, other_one);
    const bool swap = other_one.radius_mm < one.radius_mm;
    const Bore& a = swap ? other_one : one;
    const Bore& b = swap ? one : other_one;
    if (wall_mm >= limits_.wall_mm - kNoise_mm) return;
    const std::string where = Name(part_, *a.feature);
    const std::string other = Which(b) + b.feature->name.text();
    const std::string pair = a.feature->name < b.feature->name
                                 ? a.feature->name.text() + " " + b.feature->name.text()
                                 : b.feature->name.text() + " " + a.feature->name.text();
    if (wall_mm > 0) {
      Add(pair, wall_mm,
          {Rule::kWallThin, where,
           fmt::format("{}{} leaves {:.2f} mm to {}, least {:.2f} mm", Which(a),
                       a.feature->name.text(), wall_mm, other, limits_.wall_mm),
           Remedy(a, b, "move the hole, or make it smaller or shallower")});
      return;
    }
    if (std::abs(a.into.dot(b.into)) > 1 - kNoise_mm) {
      Add(pair, wall_mm,
          {Rule::kWallThin, where,
           fmt::format("{}{} breaks into {} beside it, least {:.2f} mm between them", Which(a),
                       a.feature->name.text(), other, limits_.wall_mm),
           Remedy(a, b, "move them apart, or make one smaller")});
      return;
    }
    Add(pair, wall_mm,
        {Rule::kPointBreaksOut, where,
         fmt::format("{}{} runs into {}", Which(a), a.feature->name.text(), other),
         Remedy(a, b, fmt::format("make it shallower or move it; when it is meant to, write until = \"{}\"", b.feature->name.text()))});
  }

  void Floor(const Bore& bore) {
    if (bore.hole->through) return;
    const double tip_mm = bore.depth_mm + bore.cone_mm;
    std::optional<double> floor_mm;
    for (const Stretch& s : CalcMaterialAlong(part_, bore.entry_mm, bore.into)) {
      // A flat bottom that opens into a pocket, or lies in a bore's own depth, is meant.
      if (s.to_mm <= bore.depth_mm + kNoise_mm || s.from_mm > tip_mm) continue;
      floor_mm = s.to_mm - tip_mm;
    }
    if (!floor_mm || *floor_mm >= limits_.wall_mm - kNoise_mm) return;
    const bool out = *floor_mm <= 0;
    Add("floor " + bore.feature->name.text(), *floor_mm,
        {out ? Rule::kPointBreaksOut : Rule::kWallThin, Name(part_, *bore.feature),
         out ? fmt::format("{}{} is {:.2f} mm deep with its point and comes out on the far side",
                           Which(bore), bore.feature->name.text(), tip_mm)
             : fmt::format("{}{} leaves a floor of {:.2f} mm, least {:.2f} mm", Which(bore),
                           bore.feature->name.text(), *floor_mm, limits_.wall_mm),
         "make it shallower, or through"});
  }

  bool HoldsScrew(const Bore& bore) const {
    if (!bore.hole->thread) return false;
    const trade::ThreadRow* row = trade::FindThread(bore.hole->thread->designation);
    return row == nullptr || row->series != trade::ThreadSeries::kPipe;
  }

  // centre_mm: from the hole's middle to the edge.
  void CheckEdge(const Bore& bore, double centre_mm, const std::string& to) {
    if (!HoldsScrew(bore)) {
      return CheckWall(bore, centre_mm, bore.hole->thread ? 0 : limits_.wall_mm, to);
    }
    const double least_mm = limits_.tapped_edge_diameters * bore.hole->thread->major_mm;
    if (centre_mm >= least_mm - kNoise_mm) return;
    Add("edge " + bore.feature->name.text() + " " + to, centre_mm,
        {Rule::kEdgeNear, Name(part_, *bore.feature),
         fmt::format("the middle of {}{} stands {:.2f} mm from {}, least {:.2f} mm for {}",
                     Which(bore), bore.feature->name.text(), centre_mm, to, least_mm,
                     bore.hole->thread->designation),
         "move it in, or take a smaller screw"});
  }

  // Metal outside the hole, or outside its thread.
  void CheckWall(const Bore& bore, double centre_mm, double least_plain_mm, const std::string& to) {
    const auto& thread = bore.hole->thread;
    const double wall_mm = centre_mm - (thread ? 0.5 * thread->major_mm : bore.radius_mm);
    const double least_mm =
        thread ? limits_.tapped_wall_diameters * thread->major_mm : least_plain_mm;
    if (wall_mm >= least_mm - kNoise_mm) return;
    Add("edge " + bore.feature->name.text() + " " + to, wall_mm,
        {Rule::kWallThin, Name(part_, *bore.feature),
         fmt::format("{}{} leaves {:.2f} mm to {}, least {:.2f} mm{}", Which(bore),
                     bore.feature->name.text(), wall_mm, to, least_mm,
                     thread ? " round " + thread->designation : ""),
         "move it in, or make it smaller"});
  }

  void ToFaces(const Bore& bore) {
    for (const Feature& feature : part_.features) {
      const auto* face = std::get_if<PlanarFace>(&feature.shape);
      if (face == nullptr || std::abs(face->normal_P.dot(bore.into)) > kNoise_mm) continue;
      const double out_mm = face->at.middle_mm() - face->normal_P.dot(bore.entry_mm);
      if (out_mm < 0) continue;  // a floor inside the part, beside the hole
      CheckEdge(bore, out_mm, "the " + feature.name.text());
    }
  }

  void ToOutsides(const Bore& bore) {
    for (const Feature& feature : part_.features) {
      const auto* outside = std::get_if<OuterDiameter>(&feature.shape);
      if (outside == nullptr) continue;
      if (outside->axis_P.direction.cross(bore.into).norm() > kNoise_mm) continue;
      const Vec3 from = bore.entry_mm - outside->axis_P.point_mm;
      const double a = from.dot(outside->axis_P.direction);
      const double b = a + bore.depth_mm * bore.into.dot(outside->axis_P.direction);
      const double overlap =
          std::min(std::max(a, b), outside->to_mm) - std::max(std::min(a, b), outside->from_mm);
      if (overlap < 0.1) continue;
      const double off_mm = (from - a * outside->axis_P.direction).norm();
      const double radius_mm = 0.5 * outside->diameter.middle_mm();
      if (off_mm >= radius_mm) continue;
      const std::string to = "the outside of " + feature.name.text();
      if (off_mm < kCoaxial_mm) {
        CheckWall(bore, radius_mm, limits_.ring_wall_mm, to);
      } else {
        CheckEdge(bore, radius_mm - off_mm, to);
      }
    }
  }

  // Whatever stands behind the walls; said once where nothing closer to the cause was found.
  void Around(const Feature& feature) {
    const std::string where = Name(part_, feature);
    const bool said = std::any_of(seen_.begin(), seen_.end(),
                                  [&](const Seen& s) { return s.finding.where == where; });
    if (said) return;
    const double least_mm = LeastWallOf(part_, feature, limits_);
    const auto wall_mm =
        FindThinWall_mm(WallPointsOf(part_, feature), least_mm - kOnWall_mm,
                        [&](const Vec3& from, const Vec3& way) -> Result<std::optional<double>> {
                          for (const Stretch& s : MetalAlong(part_, from, way)) {
                            if (s.from_mm < kOnWall_mm && s.to_mm > kOnWall_mm)
                              return std::optional<double>(s.to_mm);
                          }
                          return std::optional<double>();
                        });
    if (!wall_mm || !*wall_mm) return;
    Add("around " + feature.name.text(), **wall_mm,
        {Rule::kWallThin, where,
         fmt::format("{} leaves {:.2f} mm beside or below it, least {:.2f} mm", feature.name.text(),
                     **wall_mm, least_mm),
         "move it, or make it smaller or shallower"});
  }

  void UnderGroove(const Feature& feature, const Groove& groove) {
    if (groove.internal) return;
    for (const Bore& bore : bores_) {
      if (groove.axis_P.direction.cross(bore.into).norm() > kNoise_mm) continue;
      const Vec3 from = bore.entry_mm - groove.axis_P.point_mm;
      const double a = from.dot(groove.axis_P.direction);
      const double b = a + bore.depth_mm * bore.into.dot(groove.axis_P.direction);
      if (std::min(std::max(a, b), groove.to_mm) - std::max(std::min(a, b), groove.from_mm) <= 0) {
        continue;
      }
      const double off_mm = (from - a * groove.axis_P.direction).norm();
      const double wall_mm = 0.5 * groove.diameter.middle_mm() - off_mm - bore.radius_mm;
      if (wall_mm >= limits_.wall_mm - kNoise_mm) continue;
      Add("groove " + feature.name.text(), wall_mm,
          {Rule::kWallThin, Name(part_, feature),
           fmt::format("{} leaves {:.2f} mm to {}, least {:.2f} mm", feature.name.text(), wall_mm,
                       bore.feature->name.text(), limits_.wall_mm),
           "make the groove shallower or the hole smaller"});
    }
  }

  const Part& part_;
  const ReviewLimits& limits_;
  std::vector<Finding>& findings_;
  std::vector<Bore> bores_;
  std::vector<Seen> seen_;
  bool advises_ = true;
};

}  // namespace

void ReviewWalls(const Part& part, const ReviewLimits& limits, std::vector<Finding>& findings) {
  Walls(part, limits, findings).Run();
}

void ReviewThreads(const Part& part, std::vector<Finding>& findings) {
  for (const Feature& feature : part.features) {
    const auto* hole = std::get_if<Hole>(&feature.shape);
    if (hole == nullptr || !hole->thread || hole->through) continue;
    const double room_mm = hole->depth_mm - hole->thread->depth_mm;
    const double least_mm = trade::kPlugTapLead_pitches * hole->thread->pitch_mm;
    if (room_mm >= least_mm - kNoise_mm) continue;
    findings.push_back(
        {Rule::kThreadTooDeep, Name(part, feature),
         fmt::format(
             "{} full thread to {:.2f} mm in a hole {:.2f} mm deep leaves {:.2f} mm; a plug "
             "tap needs {:.2f} mm",
             hole->thread->designation, hole->thread->depth_mm, hole->depth_mm, room_mm, least_mm),
         "drill deeper or ask for less thread"});
  }
}

}  // namespace fitwright::review
