// Compares every figure that the report and the pages of the cuts print with the plan they were made from, by
// reading the printed text back: within half of the last digit that is printed.
#pragma once

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <regex>
#include <sstream>
#include <string>
#include <vector>

#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"
#include "tests/support/kept_regex.h"

namespace fitwright::testing {

class PrintedPlan {
 public:
  PrintedPlan(const Plan& plan, const Shop& shop, LengthUnit unit, const std::string& report)
      : plan_(plan), shop_(shop), mm_per_unit_(unit == LengthUnit::kInch ? 25.4 : 1) {
    std::istringstream in(report);
    for (std::string line; std::getline(in, line);) lines_.push_back(line);
  }

  // Sentences, one for each figure that is missing or is not what the plan has.
  std::vector<std::string> Faults() {
    for (const Setup& setup : plan_.setups) LookAtSetup(setup);
    for (const RequirementOdds& odds : plan_.odds.requirements) LookAtOdds(odds);
    LookAtAdvice();
    LookAtChoices();
    return faults_;
  }
  // How many figures were compared.
  std::size_t compared() const { return compared_; }

 private:
  using Lines = std::vector<std::string>;

  static bool Near(const std::string& printed, double value) {
    const std::size_t point = printed.find('.');
    const int decimals = point == std::string::npos ? 0 : static_cast<int>(printed.size() - point) - 1;
    return std::abs(std::stod(printed) - value) <= 0.5 * std::pow(10, -decimals) * (1 + 1e-6) + 1e-9;
  }
  bool NearLength(const std::string& printed, double mm) const { return Near(printed, mm / mm_per_unit_); }
  // The x of a place on the size that is worked to reads what is aimed at, not where the way is drawn: at the middle of
  // the limits; of a size to suit at the middle of the sheet's, somewhere between those that the mate leaves.
  bool IsAimed(const std::string& printed, const Step& step, double x_mm, bool diameter) const {
    if (!step.aim) return false;
    const double per_size = diameter ? 1 : 0.5;
    const double middle = per_size * 0.5 * (step.aim->lower_mm + step.aim->upper_mm);
    const double off = step.aim->kind == AimKind::kFitToMeasured ? per_size * 0.5 * (step.aim->upper_mm - step.aim->lower_mm) : 5e-4;
    return std::abs(std::abs(x_mm) - middle) < off && NearLength(printed, std::copysign(per_size * step.aim->target_mm, x_mm));
  }

  static std::string Joined(const Lines& lines) {
    std::string all;
    for (const std::string& line : lines) all += " " + line;
    return std::regex_replace(all, KeptRegex(" +"), " ");
  }

  static std::vector<std::string> NumbersIn(const std::string& text) {
    static const std::regex kNumber("-?[0-9]+(\\.[0-9]+)?");
    std::vector<std::string> found;
    for (std::sregex_iterator at(text.begin(), text.end(), kNumber), end; at != end; ++at) found.push_back(at->str());
    return found;
  }

  void Fault(const std::string& where, const std::string& what) { faults_.push_back(where + ": " + what); }

  // Lines from the first that begins so up to (not with) the next that begins like one of `ends`.
  Lines Section(const std::string& begins, const std::vector<std::string>& ends) const {
    auto at = std::find_if(lines_.begin(), lines_.end(), [&](const std::string& l) { return l.starts_with(begins); });
    Lines found;
    for (; at != lines_.end(); ++at) {
      const bool over = !found.empty() && std::any_of(ends.begin(), ends.end(), [&](const std::string& e) { return at->starts_with(e); });
      if (over) break;
      found.push_back(*at);
    }
    return found;
  }

  // A length that follows the words, once in the text.
  void ExpectLength(const std::string& where, const std::string& text, const std::string& pattern, double mm) {
    ++compared_;
    std::smatch found;
    const std::regex& words = KeptRegex(pattern + "(-?[0-9]+(\\.[0-9]+)?)");
    if (!std::regex_search(text, found, words)) return Fault(where, fmt::format("'{}' is not printed in: {}", pattern, text));
    if (!NearLength(found[1], mm)) Fault(where, fmt::format("{} {}, the plan has {:.5f} mm", pattern, found[1].str(), mm));
  }

  // "LOWER to UPPER" somewhere in the text.
  void ExpectLimits(const std::string& where, const std::string& text, double lower_mm, double upper_mm) {
    ++compared_;
    static const std::regex kPair("(-?[0-9]+\\.[0-9]+) to (-?[0-9]+\\.[0-9]+)");
    for (std::sregex_iterator at(text.begin(), text.end(), kPair), end; at != end; ++at) {
      if (NearLength((*at)[1], lower_mm) && NearLength((*at)[2], upper_mm)) return;
    }
    Fault(where, fmt::format("limits {:.5f} to {:.5f} mm are not printed in: {}", lower_mm, upper_mm, text));
  }

  void LookAtSetup(const Setup& setup) {
    const std::string where = fmt::format("setup {}", setup.number);
    const Lines section = Section(fmt::format("Setup {} of {}:", setup.number, plan_.setups.size()),
                                  {fmt::format("Setup {} of ", setup.number + 1), "Joints, and how"});
    if (section.empty()) return Fault(where, "has no sheet");
    const std::string all = Joined(section);
    const MachineTool* machine = shop_.Find(setup.machine);
    const bool vise = setup.holding == HoldingKind::kViseBedFirst || setup.holding == HoldingKind::kViseJawFirst;
    if (vise && !setup.contacts.empty() && !setup.keeps_chucking) {
      const std::string number = "(-?[0-9]+(\\.[0-9]+)?)";
      std::smatch grip;
      const std::regex& across = KeptRegex("Grip " + number + " ?(mm|in) across the jaws, held over " + number);
      compared_ += 2;
      if (!std::regex_search(all, grip, across) || !NearLength(grip[1], setup.opening_mm) || !NearLength(grip[4], setup.grip_depth_mm))
        Fault(where, "opening and grip are not printed as planned");
      if (setup.parallels_mm > 0) ExpectLength(where, all, "held over [0-9.]+ ?(?:mm|in), parallels ", setup.parallels_mm);
    }
    for (std::size_t i = 0; i < setup.steps.size(); ++i) LookAtStep(setup, machine, i, section);
  }

  void LookAtStep(const Setup& setup, const MachineTool* machine, std::size_t index, const Lines& section) {
    const Step& step = setup.steps[index];
    const std::string name = fmt::format("{}.{}", setup.number, index + 1);
    Lines block;
    bool open = false;
    for (const std::string& line : section) {
      if (line.starts_with("[ ]")) open = line.starts_with("[ ] " + name + " ");
      if (open) block.push_back(line);
    }
    if (block.empty()) return Fault(name, "is not printed");
    const std::string text = Joined(block);
    if (step.rpm > 0) {
      ++compared_;
      std::smatch rpm;
      if (!std::regex_search(text, rpm, KeptRegex(" ([0-9]+) rpm")) || !Near(rpm[1], step.rpm)) Fault(name, "speed is not the plan's");
    }
    if (step.aim) LookAtAim(name, step, text);
    if (step.measure && step.measure->upper_mm > step.measure->lower_mm && !(step.aim && step.aim->kind == AimKind::kFitToMeasured))
      ExpectLimits(name + " measured", text, step.measure->lower_mm, step.measure->upper_mm);
    if (step.measure) {
      ++compared_;
      if (text.find("Measured ____") == std::string::npos) Fault(name, "no place for the reading");
    }
    if (!step.tool.empty() && step.depth_mm > 0) LookAtDepth(name, step, text);
    LookAtPasses(name, step, machine, text);
    if (step.coordinates.empty() || machine == nullptr) return;
    const bool plunges = std::all_of(step.path.begin(), step.path.end(), [](const PathPiece& p) { return p.kind == PathKind::kPlunge; });
    const bool holes = machine->kind != MachineToolKind::kLathe && IsHoleWork(step.operation) && plunges;
    if (holes) {
      LookAtHoles(name, step, section);
    } else {
      LookAtRows(name, step, machine->kind == MachineToolKind::kLathe, machine->x_reads_diameter, block);
    }
  }

  static bool IsHoleWork(Operation operation) {
    switch (operation) {
      case Operation::kSpot:
      case Operation::kSpotThrough:
      case Operation::kDrill:
      case Operation::kReam:
      case Operation::kTap:
      case Operation::kBore:
      case Operation::kCounterbore:
      case Operation::kChamfer: return true;
      default: return false;
    }
  }

  void LookAtAim(const std::string& name, const Step& step, const std::string& text) {
    const Aim& aim = *step.aim;
    if (step.operation == Operation::kTrial) return;
    if (text.find("Aim ") != std::string::npos) {
      ExpectLength(name + " aim", text, "Aim ", aim.target_mm);
      ExpectLimits(name + " aim", text, aim.lower_mm, aim.upper_mm);
    }
    if (aim.kind != AimKind::kFitToMeasured) return;
    ExpectLimits(name + " to suit", text, aim.clearance_lower_mm, aim.clearance_upper_mm);
    ExpectLength(name + " to suit", text, "as measured (?:for .*? |at step [0-9.]+ \\(_+\\) )?[-+] ", std::abs(aim.clearance_mm));
  }

  // To the full diameter or the last level; where zero stands a little off the drawn top, as the dial reads.
  void LookAtDepth(const std::string& name, const Step& step, const std::string& text) {
    ++compared_;
    std::smatch found;
    if (!std::regex_search(text, found, KeptRegex(", depth (-?[0-9]+(\\.[0-9]+)?)"))) return Fault(name, "no depth is printed");
    const double read = step.coordinates.empty() ? step.depth_mm : std::abs(step.coordinates.front().z_mm);
    const bool as_read = std::abs(read - step.depth_mm) < 0.05 && NearPlain(found[1], read);
    if (!as_read && !NearPlain(found[1], step.depth_mm)) Fault(name, fmt::format("depth {}, the plan has {:.5f}", found[1].str(), step.depth_mm));
  }
  // Printed to two decimals in mm, four in inch, without trailing zeros.
  bool NearPlain(const std::string& printed, double mm) const {
    return std::abs(std::stod(printed) - mm / mm_per_unit_) <= (mm_per_unit_ > 1 ? 0.00005 : 0.005) + 1e-9;
  }

  // Readings of the passes: the last is the way's end, the others stand off it by the levels.
  void LookAtPasses(const std::string& name, const Step& step, const MachineTool* machine, const std::string& text) {
    if (step.levels_mm.size() < 2 || step.coordinates.empty() || machine == nullptr) return;
    std::smatch found;
    static const std::regex kPasses("; ([0-9]+) passes, to ([XZ]) ((?:-?[0-9.]+(?:, | and )?)+)\\.");
    if (!std::regex_search(text, found, kPasses)) return Fault(name, "its passes are not printed");
    const std::vector<std::string> readings = NumbersIn(found[3]);
    compared_ += readings.size();
    if (readings.size() != step.levels_mm.size()) return Fault(name, "not as many passes as the plan has");
    const bool x = found[2] == "X";
    const double by = x && machine->x_reads_diameter ? 2 : 1;
    const double last = std::stod(readings.back()) * mm_per_unit_;
    for (std::size_t i = 0; i < readings.size(); ++i) {
      const double off = by * (step.levels_mm.back() - step.levels_mm[i]);
      const double digit = mm_per_unit_ > 1 ? 0.0001 * 25.4 : 0.001;  // both ends are rounded
      if (std::abs(std::abs(std::stod(readings[i]) * mm_per_unit_ - last) - off) > digit + 1e-9)
        Fault(name, fmt::format("pass {} reads {}, {:.5f} mm from the last is planned", i + 1, readings[i], off));
    }
    const Coordinate& end = x ? step.coordinates.front() : step.coordinates.back();
    const bool aimed = IsAimed(readings.back(), step, end.x_mm, machine->x_reads_diameter);
    if (!NearLength(readings.back(), x ? end.x_mm : end.z_mm) && !(x && aimed)) Fault(name, "the last pass does not end where the way does");
  }

  // Ends and corners of a way, a row each, in order.
  void LookAtRows(const std::string& name, const Step& step, bool lathe, bool diameter, const Lines& block) {
    static const std::regex kRow("^ +([0-9]+ from|[0-9]+ to|start|end|[0-9]+) +(-?[0-9.]+) +(-?[0-9.]+)(?: +(-?[0-9.]+))?(?: .*)?$");
    std::vector<std::vector<std::string>> rows;
    for (const std::string& line : block) {
      std::smatch row;
      const bool is_row = std::regex_match(line, row, kRow) && (lathe || row[4].matched);
      if (is_row) rows.push_back({row[2], row[3], row[4]});
    }
    if (rows.size() != step.coordinates.size())
      return Fault(name, fmt::format("{} rows, the plan has {} places", rows.size(), step.coordinates.size()));
    for (std::size_t i = 0; i < rows.size(); ++i) {
      const Coordinate& c = step.coordinates[i];
      compared_ += lathe ? 2 : 3;
      const bool aimed = lathe && IsAimed(rows[i][0], step, c.x_mm, diameter);
      const bool x = NearLength(rows[i][0], c.x_mm) || aimed;
      const bool rest = lathe ? NearLength(rows[i][1], c.z_mm) : NearLength(rows[i][1], c.y_mm) && NearLength(rows[i][2], c.z_mm);
      if (!x || !rest) Fault(name, fmt::format("row {} is not the plan's {:.5f} {:.5f} {:.5f}", i + 1, c.x_mm, c.y_mm, c.z_mm));
    }
  }

  // A hole's row stands under the last step of its group, with the depth in the column of the step.
  void LookAtHoles(const std::string& name, const Step& step, const Lines& section) {
    static const std::regex kRow("^ +([a-z]?[0-9]+) +(-?[0-9.]+) +(-?[0-9.]+)(?: +.*)?$");
    const std::string all = Joined(section);
    std::vector<std::string> depths;
    static const std::regex kDepth("(?:Z |^| )(-?[0-9]+\\.[0-9]+)");
    for (std::sregex_iterator at(all.begin(), all.end(), kDepth), end; at != end; ++at) depths.push_back((*at)[1]);
    for (const Coordinate& c : step.coordinates) {
      compared_ += 3;
      const bool place = std::any_of(section.begin(), section.end(), [&](const std::string& line) {
        std::smatch row;
        return std::regex_match(line, row, kRow) && row[1].str().ends_with(c.hole) && NearLength(row[2], c.x_mm) && NearLength(row[3], c.y_mm);
      });
      if (!place) Fault(name, fmt::format("hole {} at {:.5f} {:.5f} has no row", c.hole, c.x_mm, c.y_mm));
      if (std::none_of(depths.begin(), depths.end(), [&](const std::string& d) { return NearLength(d, c.z_mm); }))
        Fault(name, fmt::format("Z {:.5f} is not printed", c.z_mm));
    }
  }

  // "55 in 100 (54-56)": whole hundredths, fives where the interval is wide.
  bool SaysChance(const std::string& text, double odds) const {
    std::smatch found;
    if (std::regex_search(text, KeptRegex("over 99 in 100"))) return odds > 0.985;
    if (std::regex_search(text, KeptRegex("under 1 in 100"))) return odds < 0.015;
    if (!std::regex_search(text, found, KeptRegex("([0-9]+) in 100"))) return false;
    return std::abs(std::stod(found[1]) - 100 * odds) <= 2.5;
  }

  void LookAtOdds(const RequirementOdds& odds) {
    std::string name = odds.name.text();
    std::replace(name.begin(), name.end(), '_', ' ');
    Lines section;
    const std::regex& heading = KeptRegex(name + " +(over |under )?[0-9]+ in 100.*");
    for (std::size_t i = 0; i < lines_.size(); ++i) {
      if (!std::regex_match(lines_[i], heading)) continue;
      for (std::size_t k = i; k < lines_.size() && (k == i || !lines_[k].empty()); ++k) section.push_back(lines_[k]);
      break;
    }
    compared_ += 2;
    if (section.empty()) return Fault(odds.name.text(), "its odds are not printed");
    if (!SaysChance(section.front(), odds.chance.odds)) Fault(odds.name.text(), "other odds: " + section.front());
    const std::string text = Joined(section);
    std::smatch size;
    if (!std::regex_search(text, size, KeptRegex("To be expected: ([-0-9.e+]+) ?\\S*, two builds in three within ([-0-9.e+]+) of it"))) return;
    const bool angle = odds.kind == RequirementKind::kSquare || odds.kind == RequirementKind::kParallel || odds.kind == RequirementKind::kAngle;
    if (odds.kind == RequirementKind::kFormula) return;  // four figures in a unit of its own
    const double factor = angle ? 1000 : 1 / mm_per_unit_;
    if (!Near(size[1], odds.mean * factor) || !Near(size[2], odds.sigma * factor)) Fault(odds.name.text(), "other size: " + size.str());
    LookAtCauses(odds, section);
  }

  void LookAtCauses(const RequirementOdds& odds, const Lines& section) {
    static const std::regex kBar("^ +([0-9]+) % .*");
    std::vector<double> shares;
    double rest = 0;
    for (const CauseShare& cause : odds.causes) {
      (cause.share < 0.03 || cause.source == "rest" ? rest : shares.emplace_back(0)) += cause.share;
    }
    std::sort(shares.rbegin(), shares.rend());
    if (rest >= 0.005) shares.push_back(rest);
    std::vector<std::string> bars;
    for (const std::string& line : section) {
      std::smatch bar;
      if (std::regex_match(line, bar, kBar)) bars.push_back(bar[1]);
    }
    if (bars.empty() && shares.size() < 2) return;
    compared_ += bars.size();
    if (bars.size() != shares.size()) return Fault(odds.name.text(), "not as many causes as the plan has");
    for (std::size_t i = 0; i < bars.size(); ++i) {
      if (!Near(bars[i], 100 * shares[i])) Fault(odds.name.text(), fmt::format("{} % for {:.4f}", bars[i], shares[i]));
    }
  }

  void LookAtAdvice() {
    const std::string all = Joined(Section("What to do differently", {"Parts and stock", "Plans to choose"}));
    for (const Advice& advice : plan_.advice) {
      ++compared_;
      const std::string gain = fmt::format("The odds' difference is {:+.1f} to {:+.1f} in 100", 100 * advice.gain_low, 100 * advice.gain_high);
      if (advice.gain_high > advice.gain_low && all.find(gain) == std::string::npos) Fault("advice", "not printed: " + gain);
    }
  }

  void LookAtChoices() {
    if (plan_.choices.size() < 2) return;
    const Lines section = Section("Plans to choose from", {"Parts and stock"});
    for (const PlanChoice& choice : plan_.choices) {
      ++compared_;
      const std::string hours = fmt::format("{:.1f}", choice.hours_expected);
      const bool row = std::any_of(section.begin(), section.end(), [&](const std::string& line) {
        return line.starts_with(choice.name) && line.find(hours) != std::string::npos;
      });
      if (!row) Fault("choices", fmt::format("{} of {} h is not printed", choice.name, hours));
    }
  }

  const Plan& plan_;
  const Shop& shop_;
  double mm_per_unit_ = 1;
  Lines lines_;
  std::vector<std::string> faults_;
  std::size_t compared_ = 0;
};

}  // namespace fitwright::testing
