// Turned work about z from z = 0 up.
#include <algorithm>
#include <cmath>
#include <string>

#include "tests/support/random_design_kinds.h"

namespace fitwright::testing {
namespace {

constexpr double kWall_mm = 1.5;
constexpr double kGap_mm = 0.7;

struct Length {
  double from = 0;
  double to = 0;
  double diameter = 0;
  double bore = 0;  // widest hole about the axis anywhere along it
  double free = 0;  // from here up nothing is cut into it yet
  double free_to = 0;
  bool whole = true;                         // nothing cut into it at all
  std::vector<std::array<double, 2>> rings;  // what goes all round it, from and to
  std::string name;
  double wall() const { return 0.5 * (diameter - bore); }
};

class TurnedDesign {
 public:
  TurnedDesign(Dice& dice, SheetWriter& sheet, bool crowded)
      : dice_(dice), sheet_(sheet), crowded_(crowded) {}
  int Make(int most);

 private:
  void ChooseLengths(int count);
  void AddBores(bool high);
  void AddBore(bool high, double diameter, double deep, bool first);
  void AddRims();
  void AddOn(Length& length);
  void AddGroove(Length& length);
  void AddKeyway(Length& length);
  void AddFlats(Length& length);
  void AddCrossHole(Length& length);
  void AddTaper(Length& length);
  void AddUndercut(Length& length);
  void AddThread(Length& length);
  void AddEndHoles(bool high);
  void AddEndSlot(bool high);
  void AddHubKeyway();
  // A stretch of the length that nothing else is cut into, or when crowded any; none when there is
  // no room.
  std::optional<double> Stretch(Length& length, double wide, double margin, bool ring = false);
  std::string Way() { return dice_.Of({"+x", "-x", "+y", "-y"}); }
  void Add(const std::string& kind, const std::string& lines) {
    sheet_.Add(kind, lines);
    ++features_;
  }
  double total() const { return lengths_.back().to; }
  bool IsEnd(const Length& l, bool high) const {
    return high ? &l == &lengths_.back() : &l == &lengths_.front();
  }
  double Neighbour(const Length& l, bool high) const;

  Dice& dice_;
  SheetWriter& sheet_;
  bool crowded_;
  std::vector<Length> lengths_;
  int features_ = 0;
  double low_depth_ = 0;  // of the bores from the low end
  double high_depth_ = 0;
  double through_ = 0;  // diameter of one bore right through
};

void TurnedDesign::ChooseLengths(int count) {
  double at = 0;
  double diameter = dice_.In(16, 60, 1);
  for (int i = 0; i < count; ++i) {
    Length l;
    l.from = at;
    l.to = at + dice_.In(8, 40, 0.5);
    l.diameter = diameter;
    l.name = fmt::format("outside_{}", i + 1);
    at = l.to;
    lengths_.push_back(l);
    const double next = diameter + (dice_.Chance(0.5) ? 1 : -1) * dice_.In(3, 20, 0.5);
    diameter = next < 12 || next > 90 ? diameter + (next < 12 ? 6 : -8) : next;
  }
}

double TurnedDesign::Neighbour(const Length& l, bool high) const {
  const std::ptrdiff_t i = &l - lengths_.data() + (high ? 1 : -1);
  return i < 0 || i >= std::ssize(lengths_) ? 0 : lengths_[static_cast<std::size_t>(i)].diameter;
}

void TurnedDesign::AddBore(bool high, double diameter, double deep, bool first) {
  const std::string side = high ? "+z" : "-z";
  const double entry = high ? total() : 0;
  const bool through = deep >= total();
  const std::string bottom = diameter > 13 ? "flat" : dice_.Of({"118", "flat", "135"});
  const std::string name = sheet_.Add(
      diameter > 13 ? "bore" : "hole",
      fmt::format(
          "from = \"{}\"\nat = [0, 0]\nentry = {:g}\ndiameter = {:g}\n{}", side, entry, diameter,
          through ? "through = true" : fmt::format("depth = {:g}\nbottom = \"{}\"", deep, bottom)));
  ++features_;
  if (through) through_ = diameter;
  const double reach = through ? deep : deep + (bottom == "flat" ? 0 : 0.31 * diameter);
  for (Length& l : lengths_) {
    const bool meets = high ? l.to > total() - reach - kGap_mm : l.from < reach + kGap_mm;
    if (meets) l.bore = std::max(l.bore, diameter);
  }
  if (!first) return;
  Length& end = high ? lengths_.back() : lengths_.front();
  const double leg = dice_.In(0.3, std::min(1.5, end.wall() - kWall_mm), 0.1);
  if (end.wall() - kWall_mm < 0.5 || deep < leg + 1 || !dice_.Chance(0.5)) return;
  end.bore = std::max(end.bore, diameter + 2 * leg);
  switch (dice_.Below(3)) {
    case 0:
      return Add("edge_round",
                 fmt::format("on = \"{}\"\nend = \"start\"\nradius = {:g}", name, leg));
    case 1:
      return Add("countersink",
                 fmt::format("on = \"{}\"\ndiameter = {:g}", name, diameter + 2 * leg));
    default:
      return Add("chamfer", fmt::format("on = \"{}\"\nend = \"start\"\naxial = {:g}\nradial = {:g}",
                                        name, leg, dice_.Chance(0.7) ? leg : 0.5 * leg));
  }
}

// One to three about the axis from an end, each narrower and deeper, and sometimes a groove in the
// first.
void TurnedDesign::AddBores(bool high) {
  const double limit = total() - (high ? low_depth_ : high_depth_) - 3;
  double most = 1e9;
  for (const Length& l : lengths_) most = std::min(most, l.diameter - 2 * kWall_mm - 2);
  double diameter = dice_.In(3, most, 0.5);
  double deep = 0;
  const int count = dice_.Whole(1, 3);
  for (int i = 0; i < count && diameter >= 3; ++i) {
    const double before = deep;
    deep = deep + dice_.In(3, 20, 0.5);
    const bool through = i + 1 == count && limit + 3 >= total() && dice_.Chance(0.5);
    if (!through && deep + 0.31 * diameter > limit) return;
    if (through) deep = total();
    AddBore(high, diameter, deep, i == 0);
    (high ? high_depth_ : low_depth_) = deep + (through ? 0 : 0.31 * diameter);
    if (i == 0 && deep - before > 7 && diameter > 8 && diameter + 3 < most && dice_.Chance(0.4)) {
      const double from = high ? total() - 5.5 : 4;
      Add("groove", fmt::format("inside = true\nfrom = {:g}\nto = {:g}\ndiameter = {:g}", from,
                                from + 1.5, diameter + 2));
      for (Length& l : lengths_) {
        if (l.from < from + 2.5 && l.to > from - 1) l.bore = std::max(l.bore, diameter + 2);
      }
    }
    diameter -= dice_.In(1.5, 8, 0.5);
  }
}

std::optional<double> TurnedDesign::Stretch(Length& length, double wide, double margin, bool ring) {
  const double least = std::max(length.from + margin, crowded_ ? 0 : length.free);
  const double most = std::min(length.to - margin, crowded_ ? 1e9 : length.free_to) - wide;
  if (most < least) return std::nullopt;
  const double from =
      crowded_ ? dice_.In(least, most, 0.5) : dice_.In(least, std::min(most, least + 4), 0.5);
  // Of two rings one inside the other's length may not show.
  const auto hides = [&](const std::array<double, 2>& other) {
    return (from >= other[0] && from + wide <= other[1]) ||
           (from <= other[0] && from + wide >= other[1]);
  };
  if (ring && std::any_of(length.rings.begin(), length.rings.end(), hides)) return std::nullopt;
  if (ring) length.rings.push_back({from, from + wide});
  length.free = from + wide + kGap_mm;
  length.whole = false;
  return from;
}

void TurnedDesign::AddGroove(Length& l) {
  const double wall = l.wall() - kWall_mm;
  const std::string profile = dice_.Of({"square", "square", "round", "vee"});
  double width = dice_.In(1, 5, 0.5);
  double deep = dice_.In(0.5, 4, 0.1);
  std::string more;
  if (profile == "round") deep = std::max(deep, 0.5 * width);
  if (profile == "vee") {
    const int angle = dice_.Of({40, 60, 90});
    deep = std::min(deep, 0.4 * width / std::tan(0.5 * angle * 3.14159265 / 180));
    deep = std::floor(deep * 20) / 20;
    more = fmt::format("\nvee_angle = {}", angle);
  }
  if (deep > wall || deep < 0.2) return;
  const auto from = Stretch(l, width, 1, true);
  if (!from) return;
  Add("groove",
      fmt::format("inside = false\nfrom = {:g}\nto = {:g}\ndiameter = {:g}\nprofile = \"{}\"{}",
                  *from, *from + width, l.diameter - 2 * deep, profile, more));
}

void TurnedDesign::AddKeyway(Length& l) {
  const double width = dice_.In(2, 0.35 * l.diameter, 0.5);
  // The floor lies deeper than where the round of the shaft leaves the key's edges.
  const double sag =
      0.5 * l.diameter - std::sqrt(0.25 * l.diameter * l.diameter - 0.25 * width * width);
  const double deep = std::ceil(2 * sag) / 2 + dice_.In(0.5, 4, 0.5);
  const double long_ = width + dice_.In(2, 20, 0.5);
  const double corner = std::hypot(0.5 * l.diameter - deep, 0.5 * width);
  if (0.5 * l.diameter - deep < 0.5 * l.bore + kWall_mm || corner > 0.5 * l.diameter - 0.1) return;
  const bool open = dice_.Chance(0.3) && IsEnd(l, true);
  const auto from = Stretch(l, long_, 1);
  if (!from) return;
  const double to = open ? l.to : *from + long_;
  if (open) l.free = l.to;
  Add("keyway",
      fmt::format(
          "inside = false\nfrom = {:g}\nto = {:g}\nwidth = {:g}\ndepth = {:g}\nside = \"{}\"",
          *from, to, width, deep, Way()));
}

void TurnedDesign::AddFlats(Length& l) {
  const int count = dice_.Of({1, 2, 2, 4, 6, 3});
  const double off = dice_.In(0.38 * l.diameter, 0.47 * l.diameter, 0.1);
  if (off < 0.5 * l.bore + kWall_mm) return;
  const double long_ = dice_.In(3, 15, 0.5);
  const auto from = Stretch(l, long_, 1);
  if (!from) return;
  const double across = count == 1 || count == 3 ? off + 0.5 * l.diameter : 2 * off;
  Add("flats", fmt::format("from = {:g}\nto = {:g}\nacross = {:g}\nnormal = \"{}\"\ncount = {}",
                           *from, *from + long_, across, Way(), count));
}

void TurnedDesign::AddCrossHole(Length& l) {
  const double d = dice_.In(1.5, std::min(8.0, 0.6 * l.diameter), 0.5);
  const bool through = crowded_ || l.bore <= 0 ? dice_.Chance(0.5) : false;
  const double most = l.wall() - kWall_mm - 0.4 * d;
  const double deep = crowded_ ? dice_.In(2, 0.8 * l.diameter, 0.5) : dice_.In(1, most, 0.5);
  if (!through && deep + 0.4 * d > (crowded_ ? 0.9 * l.diameter : l.wall() - kWall_mm)) return;
  const auto from = Stretch(l, d, 1);
  if (!from) return;
  const std::string way = Way();
  const double entry = (way[0] == '+' ? 0.5 : -0.5) * l.diameter;
  Add("hole", fmt::format("from = \"{}\"\nat = [0, {:g}]\nentry = {:g}\ndiameter = {:g}\n{}", way,
                          *from + 0.5 * d, entry, d,
                          through ? "through = true"
                                  : fmt::format("depth = {:g}\nbottom = \"{}\"", deep,
                                                dice_.Of({"118", "flat"}))));
}

// At an end of the part, or down to a smaller neighbour.
void TurnedDesign::AddTaper(Length& l) {
  const bool high = dice_.Chance(0.5);
  const double beside = Neighbour(l, high);
  if (beside > l.diameter || !l.whole) return;
  const double floor = std::max(l.bore + 2 * kWall_mm, beside + 1);
  const double along = dice_.In(4, l.to - l.from - 2, 0.5);
  const double small = l.diameter - dice_.In(1, 10, 0.5);
  if (small < floor || l.to - l.from < 7) return;
  l.whole = false;
  (high ? l.free_to : l.free) = high ? l.to - along - kGap_mm : l.from + along + kGap_mm;
  const double from = high ? l.to - along : l.from;
  l.rings.push_back({from, from + along});
  Add("taper",
      fmt::format(
          "inside = false\nfrom = {:g}\nto = {:g}\nstart_diameter = {:g}\nend_diameter = {:g}",
          from, from + along, high ? l.diameter : small, high ? small : l.diameter));
}

void TurnedDesign::AddUndercut(Length& l) {
  const bool high = dice_.Chance(0.5);
  const double beside = Neighbour(l, high);
  const double deep = dice_.In(0.3, 1.2, 0.1);
  if (beside < l.diameter + 2 || !l.whole || l.wall() - deep < kWall_mm) return;
  l.whole = false;
  const double width = dice_.In(1, 3, 0.5);
  (high ? l.free_to : l.free) = high ? l.to - width - kGap_mm : l.from + width + kGap_mm;
  const double from = high ? l.to - width : l.from;
  l.rings.push_back({from, from + width});
  Add("undercut", fmt::format("inside = false\nfrom = {:g}\nto = {:g}\ndiameter = {:g}", from,
                              from + width, l.diameter - 2 * deep));
}

// Takes nothing away, so it may lie over anything.
void TurnedDesign::AddThread(Length& l) {
  for (const int major : {16, 20, 24}) {
    if (std::abs(l.diameter - major) > 0.2) continue;
    Add("thread", fmt::format("on = \"{}\"\nend = \"start\"\nlength = {:g}\ndesignation = \"M{}\"",
                              l.name, 0.5 * (l.to - l.from), major));
    return;
  }
}

// Round the bore in an end's face.
void TurnedDesign::AddEndHoles(bool high) {
  Length& end = high ? lengths_.back() : lengths_.front();
  const double d = dice_.In(1.5, 6, 0.5);
  const double least = 0.5 * end.bore + 0.5 * d + 1;
  const double most = 0.5 * end.diameter - 0.5 * d - 1.5;
  const double deep = dice_.In(2, crowded_ ? 30.0 : end.to - end.from - 2 - 0.4 * d, 0.5);
  const double radius = dice_.In(std::ceil(least * 2) / 2, most, 0.5);
  const int count = dice_.Whole(1, 6);
  const bool through = crowded_ && dice_.Chance(0.3);
  if (radius > most || (count > 1 && 2 * radius * std::sin(3.14159 / count) < d + 1)) return;
  if (!crowded_ && (!end.whole || deep + 0.4 * d > end.to - end.from - 1)) return;
  if (deep > total() - 2 - d) return;
  end.whole = false;
  end.free = end.free_to;
  const double entry = high ? total() : 0;
  const std::string where = count == 1
                                ? fmt::format("at = [{:g}, 0]\nentry = {:g}", radius, entry)
                                : fmt::format(
                                      "at = [0, 0]\nentry = {:g}\ncircle = {{ diameter = {:g}, "
                                      "count = {}, first = {}, zero = \"+x\", towards = \"+y\" }}",
                                      entry, 2 * radius, count, dice_.Of({0, 30, 45}));
  Add("hole", fmt::format("from = \"{}\"\n{}\ndiameter = {:g}\n{}", high ? "+z" : "-z", where, d,
                          through ? "through = true" : fmt::format("depth = {:g}", deep)));
}

// A driver's slot across an end.
void TurnedDesign::AddEndSlot(bool high) {
  Length& end = high ? lengths_.back() : lengths_.front();
  if (!end.whole || end.bore > 0) return;
  const double width = dice_.In(1, 4, 0.5);
  const double deep = dice_.In(1, std::min(6.0, end.to - end.from - 2), 0.5);
  end.whole = false;
  (high ? end.free_to : end.free) = high ? end.to - deep - kGap_mm : end.from + deep + kGap_mm;
  Add("slot", fmt::format("from = \"{}\"\nat = [0, 0]\nentry = {:g}\nalong = \"+{}\"\nlength = "
                          "{:g}\nwidth = {:g}\ndepth = {:g}",
                          high ? "+z" : "-z", high ? total() : 0.0, dice_.Of({"x", "y"}),
                          end.diameter + 2 * width, width, deep));
}

void TurnedDesign::AddHubKeyway() {
  if (through_ < 8) return;
  double room = 1e9;
  double widest = 0;
  for (const Length& l : lengths_) {
    room = std::min(room, 0.5 * l.diameter);
    widest = std::max(widest, l.bore);
  }
  const double deep = dice_.In(1, 3, 0.5);
  if (0.5 * through_ + deep > room - kWall_mm || (!crowded_ && widest > through_)) return;
  Add("keyway",
      fmt::format("inside = true\nfrom = 0\nto = {:g}\nwidth = {:g}\ndepth = {:g}\nside = \"{}\"",
                  total(), dice_.In(2, 0.4 * through_, 0.5), deep, Way()));
  for (Length& l : lengths_) l.bore = std::max(l.bore, through_ + 2 * deep + 1);
}

// Breaks of rims that stand free.
void TurnedDesign::AddRims() {
  for (Length& l : lengths_) {
    for (const bool high : {false, true}) {
      const double leg = dice_.In(0.3, 1.5, 0.1);
      const double small = std::max(Neighbour(l, high), l.bore + 2 * kWall_mm);
      const bool clear = crowded_ || (high ? l.free_to > l.to - 0.1 : l.free < l.from + 0.1);
      if (!dice_.Chance(0.3) || !clear || small + 2 * leg + 1 > l.diameter || !l.whole) continue;
      (high ? l.free_to : l.free) = high ? l.to - leg - kGap_mm : l.from + leg + kGap_mm;
      const std::string on =
          fmt::format("on = \"{}\"\nend = \"{}\"\n", l.name, high ? "end" : "start");
      if (dice_.Chance(0.3)) {
        Add("edge_round", on + fmt::format("radius = {:g}", leg));
      } else {
        Add("chamfer", on + fmt::format("axial = {:g}\nradial = {:g}", leg,
                                        dice_.Chance(0.7) ? leg : 0.5 * leg));
      }
    }
  }
}

void TurnedDesign::AddOn(Length& l) {
  switch (dice_.Below(8)) {
    case 0:
    case 1:
      return AddGroove(l);
    case 2:
      return AddKeyway(l);
    case 3:
      return AddFlats(l);
    case 4:
      return AddCrossHole(l);
    case 5:
      return AddTaper(l);
    case 6:
      return AddUndercut(l);
    default:
      return AddThread(l);
  }
}

int TurnedDesign::Make(int most) {
  const int wanted = dice_.Whole(1, most);
  ChooseLengths(std::min(wanted, dice_.Whole(1, 5)));
  features_ = static_cast<int>(lengths_.size());
  for (Length& l : lengths_) {
    l.free = l.from;
    l.free_to = l.to;
    sheet_.AddNamed(
        l.name, "outer_diameter",
        fmt::format("from = {:g}\nto = {:g}\ndiameter = {:g}", l.from, l.to, l.diameter));
  }
  if (features_ < wanted && dice_.Chance(0.7)) AddBores(true);
  if (features_ < wanted && through_ <= 0 && dice_.Chance(0.5)) AddBores(false);
  if (features_ < wanted && dice_.Chance(0.5)) AddHubKeyway();
  if (features_ < wanted) AddRims();
  for (int tries = 0; tries < 4 * wanted && features_ < wanted; ++tries) {
    const std::size_t which = dice_.Below(12);
    if (which < 2)
      AddEndHoles(which == 0);
    else if (which == 2)
      AddEndSlot(dice_.Chance(0.5));
    else
      AddOn(lengths_[dice_.Below(lengths_.size())]);
  }
  return features_;
}

}  // namespace

int AddTurnedDesign(Dice& dice, SheetWriter& sheet, bool crowded, int most) {
  return TurnedDesign(dice, sheet, crowded).Make(most);
}

}  // namespace fitwright::testing
