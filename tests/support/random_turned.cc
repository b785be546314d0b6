// Turned parts made up from a seed: one to three diameters about +z from z = 0 up, a hole down the axis,
// and on each diameter at most one thing more.
#include <algorithm>
#include <cmath>
#include <optional>

#include "tests/support/random_kinds.h"

namespace fitwright::testing {
namespace {

constexpr double kLeastWall_mm = 2;

struct Length {
  double from = 0;
  double to = 0;
  double diameter = 0;
  std::string name;
  bool plain = true;  // nothing else on it yet
  double size() const { return to - from; }
};

class TurnedMaker {
 public:
  TurnedMaker(Dice& dice, SheetWriter& sheet, bool odd) : dice_(dice), sheet_(sheet), odd_(odd) {}
  void Make();

 private:
  void ChooseLengths();
  void WriteStock();
  void WriteDiameters();
  void AddAxis();
  void AddOnLength(Length& length);
  void AddGroove(Length& length);
  void AddUndercut(Length& length);
  void AddTaper(Length& length);
  void AddThread(Length& length);
  void AddKeyway(Length& length);
  void AddEdges();
  void AddPattern();
  void AddMouth(const std::string& bore, double diameter, bool up);
  void AddInnerGroove(double diameter, double depth, bool up);

  double total() const { return lengths_.back().to; }
  double Thinnest() const {
    double least = 1e9;
    for (const Length& l : lengths_) least = std::min(least, l.diameter);
    return least;
  }
  double Widest() const {
    double most = 0;
    for (const Length& l : lengths_) most = std::max(most, l.diameter);
    return most;
  }
  bool IsFree(const Length& l, bool low) const {  // that end of it is an end of the part
    return low ? &l == &lengths_.front() : &l == &lengths_.back();
  }
  // The neighbour over that end; none at the part's ends.
  const Length* Beside(const Length& l, bool low) const {
    const std::ptrdiff_t i = &l - lengths_.data() + (low ? -1 : 1);
    return i < 0 || i >= std::ssize(lengths_) ? nullptr : &lengths_[static_cast<std::size_t>(i)];
  }

  Dice& dice_;
  SheetWriter& sheet_;
  bool odd_;
  std::vector<Length> lengths_;
  bool supplied_ = false;   // the widest diameter is the bar's own
  double core_ = 0;         // a tube's hole
  double bore_ = 0;         // widest hole down the axis
  bool low_busy_ = false;   // a cone or thread ends there: no chamfer
  bool high_busy_ = false;
};

void TurnedMaker::ChooseLengths() {
  const int count = dice_.Whole(1, 3);
  double at = 0;
  double diameter = dice_.In(8, 42, 0.5);
  for (int i = 0; i < count; ++i) {
    Length l;
    l.from = at;
    l.to = at + dice_.In(4, std::max(5.0, std::min(24.0, 1.6 * diameter)), 0.5);
    l.diameter = diameter;
    lengths_.push_back(l);
    at = l.to;
    diameter = std::max(5.0, diameter - dice_.In(2, 12, 0.5));
    if (diameter >= l.diameter) break;
  }
  if (odd_ && dice_.Chance(0.15)) lengths_.back().to += 12 * lengths_.back().diameter;
  if (lengths_.size() == 3 && dice_.Chance(0.5)) {  // the widest in the middle
    std::swap(lengths_[0].diameter, lengths_[1].diameter);
  } else if (dice_.Chance(0.5)) {
    std::vector<double> diameters;
    for (const Length& l : lengths_) diameters.push_back(l.diameter);
    for (std::size_t i = 0; i < lengths_.size(); ++i) lengths_[i].diameter = diameters[diameters.size() - 1 - i];
  }
  for (Length* l : {&lengths_.front(), &lengths_.back()}) {  // so that a thread may be cut on it
    double major = 5;
    for (const double next : {6.0, 8.0, 10.0, 12.0, 14.0, 16.0}) major = next < l->diameter ? next : major;
    const bool narrow = lengths_.size() == 1 || l->diameter < Widest();
    if (narrow && major < l->diameter && major > 0.7 * l->diameter && dice_.Chance(0.8)) l->diameter = major;
  }
  for (std::size_t i = 0; i < lengths_.size(); ++i) lengths_[i].name = fmt::format("outside_{}", i + 1);
}

void TurnedMaker::WriteStock() {
  static const std::vector<double> kBars = {6, 8, 10, 12, 14, 16, 18, 20, 22, 25, 28, 30, 32, 35, 38, 40, 45, 50, 55};
  const std::size_t kind = dice_.Below(10);
  supplied_ = dice_.Chance(0.25);
  const double least = Widest() + (supplied_ ? 0 : 0.8);
  double bar = *std::lower_bound(kBars.begin(), kBars.end(), least);
  if (supplied_) bar = Widest();
  const bool slug = dice_.Chance(0.2);
  const double start = slug ? -1 : -dice_.In(25, 40, 1);
  const std::string ends = fmt::format("length = {:g}\nstart = {:g}", total() + 1 - start, start);
  if (kind < 2 && !supplied_) {
    sheet_.Note("stock proposed");
  } else if (kind < 6 || supplied_) {
    sheet_.Stock("round", fmt::format("diameter = {:g}\n{}", bar, ends));
  } else if (kind < 7) {
    sheet_.Stock("hex", fmt::format("across = {:g}\n{}", bar, ends));
  } else if (kind < 9 && Thinnest() > 14) {
    core_ = std::floor(Thinnest() / 2);
    sheet_.Stock("tube", fmt::format("outer = {:g}\ninner = {:g}\n{}", bar, core_, ends));
  } else {
    sheet_.Stock("casting", fmt::format("allowance = {:g}\nskin = 0.5", dice_.In(1.5, 3, 0.5)));
  }
}

void TurnedMaker::WriteDiameters() {
  for (Length& l : lengths_) {
    std::string lines = fmt::format("from = {:g}\nto = {:g}\ndiameter = {:g}", l.from, l.to, l.diameter);
    const bool bar = supplied_ && l.diameter == Widest();
    if (bar) {
      lines += "\nfinish = \"as_supplied\"";
    } else {
      if (dice_.Chance(0.3)) lines += "\nfit = \"h7\"";
      else if (dice_.Chance(0.3)) lines += "\nplus_minus = 0.05";
      if (dice_.Chance(0.15)) lines += "\nra = 1.6";
    }
    sheet_.AddNamed(l.name, "outer_diameter", lines);
  }
}

void TurnedMaker::AddInnerGroove(double diameter, double depth, bool up) {
  if (diameter < 14 || depth < 8) return;
  const double width = dice_.Of({1.1, 1.3, 1.6, 2.0, 3.0});
  const double at = dice_.In(2, depth - 2 - width, 0.5);
  const double from = up ? total() - at - width : at;
  const double deep = dice_.In(0.5, 1.5, 0.1);
  if (diameter + 2 * deep > Thinnest() - 2 * kLeastWall_mm) return;
  const std::string profile = odd_ && dice_.Chance(0.2) ? "round" : "square";
  sheet_.Add("groove", fmt::format("inside = true\nfrom = {:g}\nto = {:g}\ndiameter = {:g}\nprofile = \"{}\"", from, from + width,
                                   diameter + 2 * deep, profile));
  sheet_.Note("inside groove");
}

void TurnedMaker::AddMouth(const std::string& bore, double diameter, bool up) {
  const double room = 0.5 * (Thinnest() - diameter) - kLeastWall_mm / 2;
  if (room < 0.5 || !dice_.Chance(0.5)) return;
  const double leg = dice_.In(0.3, std::min(1.5, room), 0.1);
  switch (dice_.Below(4)) {
    case 0:
      sheet_.Add("edge_round", fmt::format("on = \"{}\"\nend = \"start\"\nradius = {:g}", bore, leg));
      break;
    case 1:
      sheet_.Add("countersink", fmt::format("on = \"{}\"\ndiameter = {:g}", bore, diameter + 2 * leg));
      break;
    case 2: {
      const double long_ = dice_.In(2, std::min(odd_ ? 80.0 : 12.0, 0.5 * total()), 0.5);
      sheet_.Add("taper", fmt::format("inside = true\nfrom = {:g}\nto = {:g}\nstart_diameter = {:g}\nend_diameter = {:g}",
                                      up ? total() - long_ : 0, up ? total() : long_, diameter + (up ? 0 : 2 * leg),
                                      diameter + (up ? 2 * leg : 0)));
      sheet_.Note("inside taper");
      break;
    }
    default:
      sheet_.Add("chamfer", fmt::format("on = \"{}\"\nend = \"start\"\naxial = {:g}\nradial = {:g}", bore, leg,
                                        odd_ && dice_.Chance(0.3) ? leg / 2 : leg));
  }
}

void TurnedMaker::AddAxis() {
  if (core_ <= 0 && dice_.Chance(0.35)) return;
  const double most = Thinnest() - 2 * kLeastWall_mm - (lengths_.size() > 1 ? 1 : 0);
  const bool up = dice_.Chance(0.5);
  const std::string from = up ? "+z" : "-z";
  const auto hole = [&](const std::string& kind, double diameter, const std::string& rest) {
    bore_ = std::max(bore_, diameter);
    return sheet_.Add(kind, fmt::format("from = \"{}\"\ndiameter = {:g}\n{}", from, diameter, rest));
  };
  if (core_ > 0) {
    const double d = dice_.Chance(0.3) ? core_ : dice_.In(core_ + 1, std::max(core_ + 1, most), 0.5);
    const std::string name = hole("bore", d, d == core_ ? "through = true\nfinish = \"as_supplied\"" : "through = true\nfit = \"H7\"");
    if (d != core_) AddMouth(name, d, up);
    return;
  }
  if (most < 2.5) return;
  switch (dice_.Below(5)) {
    case 0: {
      const double d = dice_.In(2.5, std::min(most, 12.0), 0.5);
      AddMouth(hole("hole", d, "through = true"), d, up);
      break;
    }
    case 1: {
      const double d = dice_.In(2.5, std::min(most, 12.0), 0.5);
      const double deep = std::min(total() - 3, odd_ && dice_.Chance(0.3) ? 100.0 : dice_.In(2, 4 * d, 0.5));
      if (deep > 1) hole("hole", d, fmt::format("depth = {:g}\nbottom = \"{}\"", deep, dice_.Of({"118", "118", "flat"})));
      break;
    }
    case 2: {
      const auto [thread, drill] = dice_.Of(std::vector<std::pair<const char*, double>>{
          {"M3", 2.5}, {"M4", 3.3}, {"M5", 4.2}, {"M6", 5}, {"M8", 6.8}, {odd_ ? "M2" : "M3", odd_ ? 1.6 : 2.5}, {odd_ ? "M12" : "M4", odd_ ? 10.2 : 3.3}});
      const double deep = std::min(total() - 2, 3.5 * drill);
      if (drill > most || deep < 2.5 * drill) break;
      sheet_.Note("tapped");
      hole("hole", drill, fmt::format("thread = \"{}\"\ndepth = {:g}\nthread_depth = {:g}", thread, deep, 1.2 * drill));
      break;
    }
    case 3: {
      const double d = dice_.Of({4.0, 5.0, 6.0, 8.0, 10.0, 12.0});
      if (d > most) break;
      sheet_.Note("reamed");
      AddMouth(hole("hole", d, "through = true\nfit = \"H7\""), d, up);
      break;
    }
    default: {
      if (most < 10) break;
      const double d = dice_.In(10, most, 0.5);
      const bool through = dice_.Chance(0.6);
      const double deep = through ? total() : std::min(total() - 2, dice_.In(4, 2.5 * d, 0.5));
      if (deep < 2) break;
      const std::string name = hole("bore", d, (through ? "through = true" : fmt::format("depth = {:g}", deep)) +
                                                   (dice_.Chance(0.5) ? "\nfit = \"H7\"" : "\nplus_minus = 0.05"));
      AddMouth(name, d, up);
      if (dice_.Chance(0.4)) AddInnerGroove(d, deep, up);
      if (odd_ && through && dice_.Chance(0.3)) {  // a hub's, that no tool of the shop cuts
        sheet_.Add("keyway", fmt::format("inside = true\nfrom = 0\nto = {:g}\nwidth = 3\ndepth = 1\nside = \"+x\"", total()));
        sheet_.Note("inside keyway");
      }
    }
  }
}

void TurnedMaker::AddGroove(Length& l) {
  const double wall = 0.5 * (l.diameter - bore_) - kLeastWall_mm;
  if (l.size() < 6 || wall < 0.8) return;
  const std::string profile = dice_.Of({"square", "round", "vee"});
  double width = dice_.Of({1.1, 1.3, 1.6, 2.0, 3.0, 4.0});
  double deep = std::min(wall, dice_.In(0.5, std::min(4.0, 1.4 * width), 0.1));
  std::string angle;
  if (profile == "round") {
    const double radius = odd_ && dice_.Chance(0.4) ? 0.7 : dice_.Of({0.5, 1.0, 1.5, 2.0});
    width = 2 * radius;
    deep = std::max(deep, radius);
  } else if (profile == "vee") {
    width = std::min(dice_.In(2, 5, 0.5), l.size() - 2);
    deep = std::min(deep, 0.4 * width);
    angle = fmt::format("\nvee_angle = {}", dice_.Of({40, 60, 90}));
    if (dice_.Chance(0.5)) deep = std::min(deep, 0.3 * width);
  }
  if (deep > wall || width > l.size() - 2) return;
  const double from = dice_.In(l.from + 1, l.to - 1 - width, 0.5);
  sheet_.Add("groove", fmt::format("inside = false\nfrom = {:g}\nto = {:g}\ndiameter = {:.4g}\nprofile = \"{}\"{}", from, from + width,
                                   l.diameter - 2 * deep, profile, angle));
  sheet_.Note("groove " + profile);
  l.plain = false;
}

void TurnedMaker::AddUndercut(Length& l) {
  for (const bool low : {true, false}) {
    const Length* next = Beside(l, low);
    if (next == nullptr || next->diameter < l.diameter + 2) continue;
    const double deep = dice_.In(0.3, 1, 0.1);
    if (l.size() < 5 || 0.5 * (l.diameter - bore_) - deep < kLeastWall_mm) continue;
    const double width = dice_.Of({1.1, 1.6, 2.0});
    sheet_.Add("undercut", fmt::format("inside = false\nfrom = {:g}\nto = {:g}\ndiameter = {:g}", low ? l.from : l.to - width,
                                       low ? l.from + width : l.to, l.diameter - 2 * deep));
    l.plain = false;
    return;
  }
}

void TurnedMaker::AddTaper(Length& l) {
  const bool low = IsFree(l, true);
  if (!low && !IsFree(l, false)) return;
  const double most = std::min(odd_ ? 90.0 : 30.0, l.size() - 1);
  if (most < 2) return;
  const double along = dice_.In(2, most, 0.5);
  const double small = l.diameter - dice_.In(0.4, std::min(8.0, 0.5 * (l.diameter - bore_) - kLeastWall_mm), 0.2);
  if (small < bore_ + kLeastWall_mm || small >= l.diameter) return;
  const double from = low ? l.from : l.to - along;
  sheet_.Add("taper", fmt::format("inside = false\nfrom = {:g}\nto = {:g}\nstart_diameter = {:g}\nend_diameter = {:g}{}", from, from + along,
                                  low ? small : l.diameter, low ? l.diameter : small, dice_.Chance(0.5) ? "\nangle_within = 0.2" : ""));
  (low ? low_busy_ : high_busy_) = true;
  l.plain = false;
}

// Only on a diameter that a thread happens to suit.
void TurnedMaker::AddThread(Length& l) {
  static const std::vector<std::pair<const char*, double>> kThreads = {{"M5", 5}, {"M6", 6}, {"M8", 8}, {"M10", 10}, {"M12", 12}, {"M14", 14}, {"M16", 16}, {"M20", 20}};
  const bool low = IsFree(l, true);
  if (!low && !IsFree(l, false)) return;
  for (const auto& [thread, major] : kThreads) {
    if (std::abs(major - l.diameter) > 0.3 || 0.5 * (l.diameter - bore_) < kLeastWall_mm + 1) continue;
    const double along = odd_ && dice_.Chance(0.3) ? l.size() : dice_.In(std::ceil(0.7 * major), std::max(3.0, l.size() - 3), 0.5);
    if (along > l.size()) return;
    sheet_.Add("thread", fmt::format("on = \"{}\"\nend = \"{}\"\nlength = {:g}\ndesignation = \"{}\"", l.name, low ? "start" : "end", along, thread));
    l.plain = false;
    return;
  }
}

void TurnedMaker::AddKeyway(Length& l) {
  const double width = l.diameter < 10 ? 3 : l.diameter < 17 ? 5 : l.diameter < 22 ? 6 : 8;  // ISO 773's rows, roughly
  const double deep = 0.6 * width;
  if (l.diameter < 8 || l.size() < 2 * width || 0.5 * l.diameter - deep < 0.5 * bore_ + 1.5) return;
  const bool low = IsFree(l, true);
  const bool open = (low || IsFree(l, false)) && dice_.Chance(0.5);
  const double from = open && low ? l.from : l.from + 1;
  const double to = open && !low ? l.to : l.to - 1;
  sheet_.Add("keyway", fmt::format("inside = false\nfrom = {:g}\nto = {:g}\nwidth = {:g}\nfit = \"P9\"\ndepth = {:g}\nside = \"{}\"", from, to, width, deep,
                                   dice_.Of({"+x", "-y"})));
  l.plain = false;
}

void TurnedMaker::AddOnLength(Length& l) {
  if (!dice_.Chance(0.55)) return;
  switch (dice_.Below(12)) {
    case 0:
    case 1:
      return AddGroove(l);
    case 9:
    case 10:
      return AddKeyway(l);
    case 2:
      return AddUndercut(l);
    case 3:
    case 11:
      return AddTaper(l);
    case 4:
    case 5:
      return AddThread(l);
    case 6:
      if (l.size() < 4) return;
      sheet_.Add("knurl", fmt::format("on = \"{}\"\nfrom = {:g}\nto = {:g}\npitch = {:g}\npattern = \"{}\"", l.name, l.from + 0.5, l.to - 0.5,
                                      odd_ && dice_.Chance(0.3) ? 1.6 : 1.0, dice_.Of({"straight", "diamond"})));
      break;
    case 7: {
      const int count = dice_.Of({1, 2, 2, 4, 6, 3});
      const double off = dice_.In(0.38 * l.diameter, 0.47 * l.diameter, 0.1);
      if (off < 0.5 * bore_ + 1.5) return;
      const double across = count == 1 || count == 3 ? off + 0.5 * l.diameter : 2 * off;
      sheet_.Add("flats", fmt::format("from = {:g}\nto = {:g}\nacross = {:.4g}\nnormal = \"+x\"\ncount = {}", l.from, l.to, across, count));
      break;
    }
    default: {
      const double d = dice_.Of({2.0, 3.0, 4.0, 5.0});
      if (d > 0.5 * l.diameter || l.size() < d + 3) return;
      sheet_.Add("hole", fmt::format("from = \"+x\"\nat = [0, {:g}]\ndiameter = {:g}\nthrough = true", 0.5 * (l.from + l.to), d));
      sheet_.Note("cross hole");
    }
  }
  l.plain = false;
}

void TurnedMaker::AddEdges() {
  for (const bool low : {true, false}) {
    const Length& l = low ? lengths_.front() : lengths_.back();
    if ((low ? low_busy_ : high_busy_) || !dice_.Chance(0.4)) continue;
    const double leg = dice_.In(0.3, std::min(1.0, 0.5 * (l.diameter - bore_) - 1.5), 0.1);
    if (0.5 * (l.diameter - bore_) - leg < 1 || l.size() < leg + 2) continue;
    const std::string end = low ? "start" : "end";
    if (dice_.Chance(0.25)) {
      sheet_.Add("edge_round", fmt::format("on = \"{}\"\nend = \"{}\"\nradius = {:g}", l.name, end, dice_.Chance(0.5) ? 0.5 : leg));
    } else {
      sheet_.Add("chamfer", fmt::format("on = \"{}\"\nend = \"{}\"\naxial = {:g}\nradial = {:g}", l.name, end, leg, leg));
    }
  }
}

// Holes round a flange.
void TurnedMaker::AddPattern() {
  for (const Length& l : lengths_) {
    const bool up = IsFree(l, false);
    if ((!up && !IsFree(l, true)) || l.diameter < 22 || !l.plain || !dice_.Chance(0.4)) continue;
    double inner = bore_;
    for (const Length& other : lengths_) {
      if (&other != &l) inner = std::max(inner, other.diameter < l.diameter ? other.diameter : 0.0);
    }
    const double d = dice_.Of({2.5, 3.2, 4.2});
    const double pitch_circle = 0.5 * (inner + l.diameter);
    if (l.diameter - inner < 2 * (d + 4)) continue;
    const int count = dice_.Whole(3, 4);
    sheet_.Add("hole", fmt::format("from = \"{}\"\nat = [0, 0]\nentry = {:g}\ncircle = {{ diameter = {:g}, count = {}, first = 0, zero = \"+x\", "
                                   "towards = \"+y\" }}\ndiameter = {:g}\nthrough = true",
                                   up ? "+z" : "-z", up ? total() : 0, pitch_circle, count, d));
    sheet_.Note("circle");
    return;
  }
}

void TurnedMaker::Make() {
  ChooseLengths();
  WriteStock();
  WriteDiameters();
  AddAxis();
  for (Length& l : lengths_) {
    if (supplied_ && l.diameter == Widest()) continue;
    AddOnLength(l);
  }
  AddEdges();
  AddPattern();
}

}  // namespace

void AddTurned(Dice& dice, SheetWriter& sheet, bool odd) { TurnedMaker(dice, sheet, odd).Make(); }

}  // namespace fitwright::testing
