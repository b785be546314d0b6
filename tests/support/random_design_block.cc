// Blocks with their least corner in the origin.
#include <algorithm>
#include <cmath>
#include <string>

#include "tests/support/random_design_kinds.h"

namespace fitwright::testing {
namespace {

// As far out as any tool comes from.
constexpr double kFar_mm = 1000;
constexpr double kWall_mm = 1;
constexpr std::array<const char*, 3> kAxes = {"x", "y", "z"};
constexpr std::array<const char*, 6> kFaces = {"rear", "front", "right", "left", "bottom", "top"};

class BlockDesign {
 public:
  BlockDesign(Dice& dice, SheetWriter& sheet, const std::array<double, 3>& size, bool crowded)
      : dice_(dice), sheet_(sheet), size_(size), rooms_(crowded) {}
  int Make(int most);

 private:
  // A place on a side: w along the tool's axis, u and v the two other axes in x y z order.
  struct Spot {
    std::size_t w = 2;
    std::size_t u = 0;
    std::size_t v = 1;
    bool high = true;  // the tool comes from the greater end of w
    double at_u = 0;
    double at_v = 0;
  };
  Spot ChooseSpot(double half_u, double half_v);
  double Height(const Spot& spot) const { return size_[spot.w]; }
  double EntryOf(const Spot& spot) const { return spot.high ? size_[spot.w] : 0; }
  std::string Side(const Spot& spot) const {
    return std::string(spot.high ? "+" : "-") + kAxes[spot.w];
  }
  std::string At(const Spot& spot) const;
  // Of something let in; depth 0 = through.
  Room RoomOf(const Spot& spot, double half_u, double half_v, double depth) const;
  bool Take(const std::vector<Room>& rooms, int features);

  void AddHole();
  void AddSeated();
  void AddPattern();
  void AddStepped();
  void AddPocket();
  void AddSlot(bool open);
  void AddStep();
  void AddEdgeBreak();
  void AddBoss();
  void AddKeyedBore();
  void AddTapered();
  void AddMouth(const std::string& hole, double diameter, double leg, std::size_t kind);

  Dice& dice_;
  SheetWriter& sheet_;
  std::array<double, 3> size_;
  Rooms rooms_;
  int features_ = 0;
  std::array<std::array<bool, 6>, 6> broken_{};  // edges by their two sides
};

BlockDesign::Spot BlockDesign::ChooseSpot(double half_u, double half_v) {
  Spot spot;
  spot.w = dice_.Chance(0.5) ? 2 : dice_.Below(3);
  spot.u = spot.w == 0 ? 1 : 0;
  spot.v = spot.w == 2 ? 1 : 2;
  spot.high = dice_.Chance(0.6);
  spot.at_u = dice_.In(std::ceil(half_u) + kWall_mm, size_[spot.u] - half_u - kWall_mm, 0.5);
  spot.at_v = dice_.In(std::ceil(half_v) + kWall_mm, size_[spot.v] - half_v - kWall_mm, 0.5);
  return spot;
}

std::string BlockDesign::At(const Spot& spot) const {
  return fmt::format("from = \"{}\"\nat = [{:g}, {:g}]\nentry = {:g}", Side(spot), spot.at_u,
                     spot.at_v, EntryOf(spot));
}

Room BlockDesign::RoomOf(const Spot& spot, double half_u, double half_v, double depth) const {
  Room room;
  room.min[spot.u] = spot.at_u - half_u;
  room.max[spot.u] = spot.at_u + half_u;
  room.min[spot.v] = spot.at_v - half_v;
  room.max[spot.v] = spot.at_v + half_v;
  const double floor = depth <= 0  ? (spot.high ? -kFar_mm : kFar_mm)
                       : spot.high ? size_[spot.w] - depth
                                   : depth;
  room.min[spot.w] = spot.high ? floor : -kFar_mm;
  room.max[spot.w] = spot.high ? kFar_mm : floor;
  return room;
}

// All of them within the block where it is closed, and free.
bool BlockDesign::Take(const std::vector<Room>& rooms, int features) {
  const bool must_meet = rooms_.crowded() && !rooms_.empty() && dice_.Chance(0.7);
  bool meets = false;
  for (const Room& room : rooms) {
    for (std::size_t i = 0; i < 3; ++i) {
      if (room.min[i] > -kFar_mm && room.min[i] < kWall_mm) return false;
      if (room.max[i] < kFar_mm && room.max[i] > size_[i] - kWall_mm) return false;
      if (room.max[i] - room.min[i] <= 0) return false;
    }
    if (!rooms_.Fits(room, false)) return false;
    meets |= rooms_.Fits(room, true);
  }
  if (must_meet && !meets) return false;
  for (const Room& room : rooms) rooms_.Take(room);
  features_ += features;
  return true;
}

void BlockDesign::AddMouth(const std::string& hole, double diameter, double leg, std::size_t kind) {
  if (kind == 0) {
    sheet_.Add("countersink",
               fmt::format("on = \"{}\"\ndiameter = {:g}", hole, diameter + 2 * leg));
  } else if (kind == 1) {
    sheet_.Add("edge_round", fmt::format("on = \"{}\"\nend = \"start\"\nradius = {:g}", hole, leg));
  } else {
    sheet_.Add("chamfer", fmt::format("on = \"{}\"\nend = \"start\"\naxial = {:g}\nradial = {:g}",
                                      hole, leg, kind == 2 ? leg : 0.5 * leg));
  }
}

void BlockDesign::AddHole() {
  const double d = dice_.In(2, 12, 0.5);
  const bool mouth = dice_.Chance(0.35);
  const double leg = mouth ? dice_.In(0.3, 1.5, 0.1) : 0;
  const double half = 0.5 * d + leg;
  const Spot spot = ChooseSpot(half, half);
  const bool through = dice_.Chance(0.4);
  const std::string bottom = dice_.Of({"118", "118", "135", "flat"});
  const double depth = dice_.In(3, Height(spot) - d, 0.5);
  const double point = bottom == "flat" ? 0.0 : 0.31 * d;
  if (!Take({RoomOf(spot, half, half, through ? 0 : depth + point)}, mouth ? 2 : 1)) return;
  const std::string name = sheet_.Add(
      "hole", At(spot) + fmt::format("\ndiameter = {:g}\n{}", d,
                                     through ? "through = true"
                                             : fmt::format("depth = {:g}\nbottom = \"{}\"", depth,
                                                           bottom)));
  if (mouth) AddMouth(name, d, leg, dice_.Below(4));
}

// A clearance hole with a seat for a screw's head.
void BlockDesign::AddSeated() {
  const double d = dice_.In(2.5, 6.5, 0.5);
  const double head = d + dice_.In(2, 6, 0.5);
  const Spot spot = ChooseSpot(0.5 * head, 0.5 * head);
  const double deep = dice_.In(1, 0.5 * Height(spot), 0.5);
  if (!Take({RoomOf(spot, 0.5 * head, 0.5 * head, 0)}, 2)) return;
  sheet_.Add("hole", At(spot) + fmt::format("\ndiameter = {:g}\nthrough = true", d));
  sheet_.Add("counterbore", At(spot) + fmt::format("\ndiameter = {:g}\ndepth = {:g}", head, deep));
}

void BlockDesign::AddPattern() {
  const double d = dice_.In(2, 5, 0.5);
  const bool through = dice_.Chance(0.5);
  const bool circle = dice_.Chance(0.5);
  const double reach_u = circle ? dice_.In(d + 1, 12, 0.5) : 0.5 * dice_.In(d + 2, 20, 1);
  const double reach_v = circle ? reach_u : 0.5 * dice_.In(d + 2, 20, 1);
  const int count = dice_.Whole(3, 6);
  if (circle && 2 * reach_u * std::sin(3.14159 / count) < d + 1) return;
  Spot spot = ChooseSpot(reach_u + 0.5 * d, reach_v + 0.5 * d);
  const double depth = dice_.In(3, Height(spot) - d - 1, 0.5);
  const double first = dice_.Of({0.0, 15.0, 30.0, 45.0});
  const Spot middle = spot;
  std::vector<Room> rooms;
  const auto add = [&](double u, double v) {
    spot.at_u = middle.at_u + u;
    spot.at_v = middle.at_v + v;
    rooms.push_back(RoomOf(spot, 0.5 * d, 0.5 * d, through ? 0 : depth + 0.31 * d));
  };
  if (circle) {
    for (int i = 0; i < count; ++i) {
      const double angle = (first + 360.0 * i / count) * 3.14159265358979 / 180;
      add(reach_u * std::cos(angle), reach_u * std::sin(angle));
    }
  } else {
    for (const double su : {-1.0, 1.0}) {
      for (const double sv : {-1.0, 1.0}) add(su * reach_u, sv * reach_v);
    }
  }
  if (!Take(rooms, 1)) return;
  const std::string how =
      circle
          ? fmt::format(
                "circle = {{ diameter = {:g}, count = {}, first = {:g}, zero = \"+{}\", towards = "
                "\"+{}\" }}",
                2 * reach_u, count, first, kAxes[spot.u], kAxes[spot.v])
          : fmt::format("grid = {{ rows = 2, columns = 2, pitch = [{:g}, {:g}], along = \"+{}\" }}",
                        2 * reach_u, 2 * reach_v, kAxes[spot.u]);
  sheet_.Add("hole", At(middle) + fmt::format("\n{}\ndiameter = {:g}\n{}", how, d,
                                              through ? "through = true"
                                                      : fmt::format("depth = {:g}", depth)));
}

// A bore, a narrower one below it, and sometimes a groove in the wide one.
void BlockDesign::AddStepped() {
  const double wide = dice_.In(10, 26, 0.5);
  const double narrow = dice_.In(4, wide - 3, 0.5);
  const bool groove = dice_.Chance(0.5);
  const double half = 0.5 * wide + (groove ? 1 : 0);
  const Spot spot = ChooseSpot(half, half);
  const double deep = dice_.In(4, Height(spot) - 5, 0.5);
  const bool through = dice_.Chance(0.5);
  const double deeper = dice_.In(deep + 2, Height(spot) - 2, 0.5);
  if (deep >= Height(spot) - 3 || deeper <= deep) return;
  if (!Take({RoomOf(spot, half, half, through ? 0 : deeper)}, groove && deep > 5 ? 3 : 2)) return;
  sheet_.Add("bore", At(spot) + fmt::format("\ndiameter = {:g}\ndepth = {:g}", wide, deep));
  sheet_.Add("bore", At(spot) + fmt::format("\ndiameter = {:g}\n{}", narrow,
                                            through ? "through = true"
                                                    : fmt::format("depth = {:g}", deeper)));
  if (!groove || deep <= 5) return;
  const double from = spot.high ? size_[spot.w] - deep + 1 : deep - 2.5;
  sheet_.Add("groove",
             fmt::format("inside = true\naxis = \"+{}\"\nat = [{:g}, {:g}]\nfrom = {:g}\nto = "
                         "{:g}\ndiameter = {:g}",
                         kAxes[spot.w], spot.at_u, spot.at_v, from, from + 1.5, wide + 2));
}

void BlockDesign::AddPocket() {
  const double half_u = 0.5 * dice_.In(6, 40, 1);
  const double half_v = 0.5 * dice_.In(6, 40, 1);
  const double least = std::min(half_u, half_v);
  const double corner = dice_.In(0.5, least - 1, 0.5);
  const Spot spot = ChooseSpot(half_u, half_v);
  const double depth = dice_.In(1.5, Height(spot) - 2, 0.5);
  if (!Take({RoomOf(spot, half_u, half_v, depth)}, 1)) return;
  const bool along_u = half_u >= half_v;
  sheet_.Add(
      "pocket",
      At(spot) +
          fmt::format(
              "\nalong = \"+{}\"\nlength = {:g}\nwidth = {:g}\ncorner_radius = {:g}\ndepth = {:g}",
              kAxes[along_u ? spot.u : spot.v], 2 * std::max(half_u, half_v), 2 * least, corner,
              depth));
}

// open: it runs out over an edge of its side.
void BlockDesign::AddSlot(bool open) {
  const double width = dice_.In(3, 10, 0.5);
  const double length = width + dice_.In(2, 25, 0.5);
  const bool along_u = dice_.Chance(0.5);
  const double half_u = 0.5 * (along_u ? length : width);
  const double half_v = 0.5 * (along_u ? width : length);
  Spot spot = ChooseSpot(half_u, half_v);
  double& at = along_u ? spot.at_u : spot.at_v;
  const bool low = dice_.Chance(0.5);
  const double edge = low ? 0 : size_[along_u ? spot.u : spot.v];
  if (open) at = edge + (low ? 1 : -1) * dice_.In(0.5, 0.5 * length - width - 0.5, 0.5);
  const bool through = dice_.Chance(0.4);
  const double depth = dice_.In(1.5, Height(spot) - 2, 0.5);
  Room room = RoomOf(spot, half_u, half_v, through ? 0 : depth);
  if (open) (low ? room.min : room.max)[along_u ? spot.u : spot.v] = low ? -kFar_mm : kFar_mm;
  if (!Take({room}, 1)) return;
  sheet_.Add("slot", At(spot) + fmt::format("\nalong = \"+{}\"\nlength = {:g}\nwidth = {:g}\n{}",
                                            kAxes[along_u ? spot.u : spot.v], length, width,
                                            through ? "through = true"
                                                    : fmt::format("depth = {:g}", depth)));
}

// Along a whole edge, from a corner, or in the middle of an edge.
void BlockDesign::AddStep() {
  const Spot spot = ChooseSpot(1, 1);
  std::array<double, 3> low{};
  std::array<double, 3> high = size_;
  const double deep = dice_.In(1.5, 0.6 * Height(spot), 0.5);
  (spot.high ? low : high)[spot.w] = spot.high ? Height(spot) - deep : deep;
  const std::size_t across = dice_.Chance(0.5) ? spot.u : spot.v;
  const std::size_t along = across == spot.u ? spot.v : spot.u;
  const double wide = dice_.In(2, 0.35 * size_[across], 0.5);
  const bool at_low = dice_.Chance(0.5);
  (at_low ? high : low)[across] = at_low ? wide : size_[across] - wide;
  const std::size_t ends = dice_.Below(3);
  if (ends == 1) high[along] = dice_.In(4, 0.6 * size_[along], 0.5);
  if (ends == 2) {
    low[along] = dice_.In(3, 0.4 * size_[along], 0.5);
    high[along] = dice_.In(low[along] + 4, size_[along] - 3, 0.5);
  }
  Room room{low, high};
  for (std::size_t i = 0; i < 3; ++i) {
    if (low[i] <= 0) room.min[i] = -kFar_mm;
    if (high[i] >= size_[i]) room.max[i] = kFar_mm;
  }
  if (!Take({room}, 1)) return;
  sheet_.Add(
      "step",
      fmt::format(
          "from = \"{}\"\nremoved = {{ x = [{:g}, {:g}], y = [{:g}, {:g}], z = [{:g}, {:g}] }}",
          Side(spot), low[0], high[0], low[1], high[1], low[2], high[2]));
}

void BlockDesign::AddEdgeBreak() {
  const std::size_t a = dice_.Below(6);
  const std::size_t b = dice_.Below(6);
  if (a / 2 == b / 2 || broken_[a][b] || broken_[b][a]) return;
  const double leg_a = dice_.In(0.5, 3, 0.5);
  const bool rounded = dice_.Chance(0.3);
  const double leg_b = !rounded && dice_.Chance(0.3) ? leg_a + 1 : leg_a;
  Room room;
  room.min.fill(-kFar_mm);
  room.max.fill(kFar_mm);
  const auto close = [&](std::size_t side, double leg) {
    (side % 2 == 0 ? room.max : room.min)[side / 2] = side % 2 == 0 ? leg : size_[side / 2] - leg;
  };
  close(a, leg_b);
  close(b, leg_a);
  if (!Take({room}, 1)) return;
  broken_[a][b] = true;
  const std::string between = fmt::format("between = [\"{}\", \"{}\"]\n", kFaces[a], kFaces[b]);
  if (rounded) {
    sheet_.Add("edge_round", between + fmt::format("radius = {:g}", leg_a));
  } else {
    sheet_.Add("chamfer", between + fmt::format("legs = [{:g}, {:g}]", leg_a, leg_b));
  }
}

void BlockDesign::AddBoss() {
  const double d = dice_.In(6, 24, 0.5);
  const double tall = dice_.In(2, 15, 0.5);
  const bool drilled = dice_.Chance(0.5);
  const double hole = dice_.In(2, 0.5 * d, 0.5);
  const Spot spot = ChooseSpot(0.5 * d, 0.5 * d);
  const Room room = RoomOf(spot, 0.5 * d, 0.5 * d, drilled ? 0 : 0.5);
  // What is let in beside it from the same side would begin under it.
  const auto within = [&](std::size_t axis) {
    return room.min[axis] >= kWall_mm && room.max[axis] <= size_[axis] - kWall_mm;
  };
  if (!rooms_.IsFree(room) || !within(spot.u) || !within(spot.v)) return;
  rooms_.Take(room, true);
  features_ += drilled ? 2 : 1;
  const double foot = spot.high ? size_[spot.w] : 0;
  sheet_.Add(
      "boss",
      fmt::format("axis = \"{}\"\nat = [{:g}, {:g}]\nfrom = {:g}\nto = {:g}\ndiameter = {:g}",
                  Side(spot), spot.at_u, spot.at_v, foot, foot + tall, d));
  if (!drilled) return;
  sheet_.Add(
      "hole",
      fmt::format("from = \"{}\"\nat = [{:g}, {:g}]\nentry = {:g}\ndiameter = {:g}\nthrough = true",
                  Side(spot), spot.at_u, spot.at_v, spot.high ? foot + tall : -tall, hole));
}

// A hub's seat for a key in a through bore.
void BlockDesign::AddKeyedBore() {
  const double d = dice_.In(8, 24, 1);
  const double width = dice_.In(2, 0.4 * d, 0.5);
  const double half = 0.5 * d + 2;
  const Spot spot = ChooseSpot(half, half);
  if (!Take({RoomOf(spot, half, half, 0)}, 2)) return;
  sheet_.Add("bore", At(spot) + fmt::format("\ndiameter = {:g}\nthrough = true", d));
  sheet_.Add("keyway",
             fmt::format("inside = true\naxis = \"+{}\"\nat = [{:g}, {:g}]\nfrom = 0\nto = "
                         "{:g}\nwidth = {:g}\ndepth = 1.5\nside = \"{}{}\"",
                         kAxes[spot.w], spot.at_u, spot.at_v, Height(spot), width,
                         dice_.Of({"+", "-"}), kAxes[dice_.Chance(0.5) ? spot.u : spot.v]));
}

void BlockDesign::AddTapered() {
  const double d = dice_.In(4, 14, 0.5);
  const double wide = d + dice_.In(1, 5, 0.5);
  const Spot spot = ChooseSpot(0.5 * wide, 0.5 * wide);
  const double along = dice_.In(4, Height(spot) - 2, 0.5);
  if (!Take({RoomOf(spot, 0.5 * wide, 0.5 * wide, 0)}, 2)) return;
  sheet_.Add("hole", At(spot) + fmt::format("\ndiameter = {:g}\nthrough = true", d));
  const double from = spot.high ? Height(spot) - along : 0;
  sheet_.Add("taper", fmt::format("inside = true\naxis = \"+{}\"\nat = [{:g}, {:g}]\nfrom = "
                                  "{:g}\nto = {:g}\nstart_diameter = {:g}\nend_diameter = {:g}",
                                  kAxes[spot.w], spot.at_u, spot.at_v, from, from + along,
                                  spot.high ? d : wide, spot.high ? wide : d));
}

int BlockDesign::Make(int most) {
  const int wanted = dice_.Whole(1, most);
  for (int tries = 0; tries < 8 * wanted && features_ < wanted; ++tries) {
    switch (dice_.Below(20)) {
      case 0:
      case 1:
      case 2:
      case 3:
        AddHole();
        break;
      case 4:
      case 5:
        AddSeated();
        break;
      case 6:
      case 7:
        AddPattern();
        break;
      case 8:
        AddStepped();
        break;
      case 9:
      case 10:
      case 11:
        AddPocket();
        break;
      case 12:
      case 13:
        AddSlot(false);
        break;
      case 14:
        AddSlot(true);
        break;
      case 15:
        AddStep();
        break;
      case 16:
        AddEdgeBreak();
        break;
      case 17:
        AddBoss();
        break;
      case 18:
        AddKeyedBore();
        break;
      default:
        AddTapered();
        break;
    }
  }
  return features_;
}

}  // namespace

int AddBlockDesign(Dice& dice, SheetWriter& sheet, const std::array<double, 3>& size, bool crowded,
                   int most) {
  return BlockDesign(dice, sheet, size, crowded).Make(most);
}

}  // namespace fitwright::testing
