#include "fitwright/variation/what_if.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <optional>
#include <set>
#include <utility>

#include "fitwright/model/known_words.h"
#include "fitwright/units/length.h"
#include "fitwright/variation/joint_limits.h"

namespace fitwright::variation {
namespace {

constexpr double kMradPerRad = 1000;
constexpr double kSameHole_mm = 0.05;

// ---- Clearance of holes round screws.

// Places of the joint's holes in the plane of the limits.
std::vector<Vec2> HolesInPlane(const Machine& machine, const Joint& joint,
                               const FloatLimits& limits) {
  std::vector<Vec2> places;
  for (const Vec3& p : HolesInW(machine, joint.fixed)) {
    const Vec3 d = p - limits.origin_W;
    places.emplace_back(d.dot(limits.axes_W[0]), d.dot(limits.axes_W[1]));
  }
  return places;
}

void Ease(const Machine& machine, const Joint& joint, double more_room_mm, FloatLimits& limits) {
  const std::vector<Vec2> holes = HolesInPlane(machine, joint, limits);
  for (FloatLimit& limit : limits.limits) {
    const bool here =
        limit.screw >= 0 && std::any_of(holes.begin(), holes.end(), [&](const Vec2& hole) {
          return (hole - limit.q).norm() < kSameHole_mm;
        });
    if (here) limit.room.constant += more_room_mm;
  }
}

bool Concerns(const Play& play, const Joint& joint) {
  const auto is = [&](const PartId& part) {
    if (part == joint.fixed.part || part == joint.moving.part) return true;
    return std::any_of(joint.between.begin(), joint.between.end(),
                       [&](const FeatureRef& ref) { return ref.part == part; });
  };
  return is(play.part) && is(play.anchor);
}

std::vector<const Hole*> ClearHoles(const Machine& machine, const Joint& joint) {
  std::vector<const Hole*> holes;
  for (const FeatureRef* ref : {&joint.moving, &joint.fixed}) {
    const Feature* feature = machine.Find(*ref);
    const Hole* hole = feature == nullptr ? nullptr : std::get_if<Hole>(&feature->shape);
    if (hole != nullptr && !hole->thread) holes.push_back(hole);
  }
  return holes;
}

// Radial; with nuts the holes of both parts are eased.
void EaseJoint(const Machine& machine, const Joint& joint, double by_mm, Analysis& analysis) {
  const double room_mm = ClearHoles(machine, joint).size() > 1 ? by_mm : 0.5 * by_mm;
  for (RequirementForms& forms : analysis.requirements) {
    for (const Requirement& r : machine.requirements) {
      if (r.name != forms.name || r.joint != joint.name || forms.test != TestKind::kScrews)
        continue;
      Ease(machine, joint, room_mm, forms.screws);
      for (FloatLimits& limits : forms.stack) Ease(machine, joint, room_mm, limits);
    }
  }
  for (Play& play : analysis.plays) {
    if (Concerns(play, joint)) Ease(machine, joint, room_mm, play.within);
  }
}

// ---- Knobs.

void AddSpreads(const Project& project, std::vector<Knob>& knobs) {
  for (const auto& [id, row] : project.shop.spreads) {
    const SpreadFigure now = FigureOf(project.shop, row);
    const auto set = [id = id](double SpreadFigure::*figure) {
      return [id, figure](Project& p, double value) {
        Spread& spread = p.shop.spreads.at(id);
        const double scale = p.shop.spread_scale > 0 ? p.shop.spread_scale : 1;
        SpreadFigure in_force = FigureOf(p.shop, spread);
        in_force.*figure = value;
        spread.usual = {in_force.mean / scale, in_force.spread / scale};
        spread.origin = SpreadOrigin::kStated;
      };
    };
    const bool lognormal = row.distribution == SpreadDistribution::kLognormal;
    knobs.push_back({id, row.words, lognormal ? "log-sigma" : row.unit, now.spread, 0,
                     set(&SpreadFigure::spread)});
    if (now.mean != 0)
      knobs.push_back(
          {id + ".mean", row.words, row.unit, now.mean, -1e300, set(&SpreadFigure::mean)});
  }
}

bool IsAngle(RequirementKind kind) {
  return kind == RequirementKind::kSquare || kind == RequirementKind::kParallel ||
         kind == RequirementKind::kAngle;
}

void AddLimits(const Project& project, std::vector<Knob>& knobs) {
  for (std::size_t i = 0; i < project.machine.requirements.size(); ++i) {
    const Requirement& r = project.machine.requirements[i];
    const double scale = IsAngle(r.kind) ? kMradPerRad : 1;
    const std::string unit = IsAngle(r.kind) ? "mrad" : r.formula ? r.formula->unit : "mm";
    for (const auto& [name, limit] :
         {std::pair{"lower", &Requirement::lower}, {"upper", &Requirement::upper}}) {
      if (!(r.*limit)) continue;
      knobs.push_back({fmt::format("{}.{}", r.name.text(), name),
                       fmt::format("the {} limit of {}", name, r.name.text()), unit,
                       *(r.*limit) * scale, -1e300,
                       [i, limit = limit, scale](Project& p, double value) {
                         p.machine.requirements[i].*limit = value / scale;
                       }});
    }
  }
}

void AddClearances(const Project& project, std::vector<Knob>& knobs) {
  for (const Joint& joint : project.machine.joints) {
    const std::vector<const Hole*> holes = ClearHoles(project.machine, joint);
    if (!joint.screw || holes.empty()) continue;
    const double drawn = holes.front()->diameter.nominal_mm - joint.screw->major_mm;
    const auto eased = project.eased_mm.find(joint.name);
    knobs.push_back(
        {joint.name.text() + ".clearance",
         fmt::format("clearance of the holes of {} round their screws", joint.name.text()), "mm",
         drawn + (eased == project.eased_mm.end() ? 0 : eased->second), 0,
         [name = joint.name, drawn](Project& p, double value) {
           p.eased_mm[name] = value - drawn;
         }});
  }
}

void AddAims(const Project& project, std::vector<Knob>& knobs) {
  std::set<std::string> seen;
  for (const Setup& setup : project.plan.setups) {
    for (const Step& step : setup.steps) {
      if (!step.aim || step.features.empty() || !step.aim->closes.empty()) continue;
      if (project.made.done.contains(step.id)) continue;
      const FeatureRef ref = step.features.front();
      const std::string key = fmt::format("{}.{}.aim", ref.part.text(), ref.feature.text());
      const bool fitted = step.aim->kind == AimKind::kFitToMeasured && step.aim->mate;
      if ((!fitted && step.aim->upper_mm <= step.aim->lower_mm) || !seen.insert(key).second)
        continue;
      knobs.push_back({key,
                       fitted ? fmt::format("clearance that {} of {} is made to",
                                            ref.feature.text(), ref.part.text())
                              : fmt::format("the size that {} of {} is aimed at",
                                            ref.feature.text(), ref.part.text()),
                       "mm", fitted ? step.aim->clearance_mm : step.aim->target_mm, -1e300,
                       [ref, fitted](Project& p, double value) {
                         for (Setup& s : p.plan.setups) {
                           for (Step& t : s.steps) {
                             if (!t.aim || t.features.empty() || t.features.front() != ref)
                               continue;
                             if (p.made.done.contains(t.id)) continue;
                             (fitted ? t.aim->clearance_mm : t.aim->target_mm) = value;
                           }
                         }
                       }});
    }
  }
}

// ---- Reading what is asked.

std::optional<double> NumberIn(std::string_view text) {
  double value = 0;
  const auto [end, trouble] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (trouble != std::errc() || end != text.data() + text.size() || !std::isfinite(value))
    return std::nullopt;
  return value;
}

std::optional<double> ValueOf(std::string_view text, const Knob& knob, LengthUnit bare) {
  if (text == "half") return 0.5 * knob.now;
  if (text == "double") return 2 * knob.now;
  if (text.starts_with('x')) {
    const auto times = NumberIn(text.substr(1));
    return times ? std::optional(*times * knob.now) : std::nullopt;
  }
  if (knob.unit != "mm") return NumberIn(text);
  const auto length = ParseLength_mm(text, bare);
  return length ? std::optional(*length) : std::nullopt;
}

Error UnknownKey(std::string_view key, const std::vector<Knob>& knobs) {
  std::vector<std::string> keys;
  std::string list;
  for (const Knob& knob : knobs) {
    keys.push_back(knob.key);
    list += fmt::format("\n  {} = {:g} {}", knob.key, knob.now, knob.unit);
  }
  return {ErrorCode::kUsage,
          "no number of the plan, its shop or its requirements has this name",
          std::string(key),
          fmt::format("write \"{}\", or one of these:{}", NearestOf(key, keys), list),
          {}};
}

}  // namespace

Result<Analysis> AnalyseProject(const Project& project) {
  auto analysis = Analyse(project.machine, project.shop, project.plan);
  if (!analysis) return analysis;
  for (const Joint& joint : project.machine.joints) {
    const auto eased = project.eased_mm.find(joint.name);
    if (eased != project.eased_mm.end())
      EaseJoint(project.machine, joint, eased->second, *analysis);
  }
  if (project.made.known) return project.made.known(project, *std::move(analysis));
  return analysis;
}

bool IsCut(const Project& project, const FeatureRef& feature) {
  for (const Setup& setup : project.plan.setups) {
    for (const Step& step : setup.steps) {
      const bool of_it = !step.features.empty() && step.features.front() == feature;
      if (of_it && step.finishes && project.made.done.contains(step.id)) return true;
    }
  }
  return false;
}

std::vector<Knob> KnobsOf(const Project& project) {
  std::vector<Knob> knobs;
  AddSpreads(project, knobs);
  AddLimits(project, knobs);
  AddClearances(project, knobs);
  AddAims(project, knobs);
  return knobs;
}

Result<Change> ApplyWhatIf(std::string_view text, LengthUnit bare, Project& project) {
  const std::size_t at = text.find('=');
  if (at == std::string_view::npos || at == 0 || at + 1 == text.size()) {
    return Unexpected(Error{ErrorCode::kUsage,
                            "this is not KEY=VALUE",
                            std::string(text),
                            "write what is to change and to what, such as edge_finder=x0.5",
                            {}});
  }
  const std::string_view key = text.substr(0, at);
  const std::vector<Knob> knobs = KnobsOf(project);
  for (const Knob& knob : knobs) {
    if (knob.key != key) continue;
    const bool own_unit =
        project.shop.spreads.contains(std::string(key.substr(0, key.rfind(".mean"))));
    const auto value =
        ValueOf(text.substr(at + 1), knob, own_unit ? LengthUnit::kMillimetre : bare);
    if (!value || *value < knob.least) {
      return Unexpected(
          Error{ErrorCode::kUsage,
                fmt::format("{} cannot be this", knob.key),
                std::string(text.substr(at + 1)),
                fmt::format("write a number{} in {} (it is {:g}), or x0.5, half, double",
                            knob.least == 0 ? " of zero or more" : "", knob.unit, knob.now),
                {}});
    }
    knob.set(project, *value);
    return Change{knob.key, knob.words, knob.unit, knob.now, *value};
  }
  return Unexpected(UnknownKey(key, knobs));
}

}  // namespace fitwright::variation
