// Blocks and plates made up from a seed, z = 0 to the top, about the middle of x and y. What is cut from
// above stands in up to four quarters of the top, so that nothing runs into its neighbour.
#include <algorithm>
#include <array>
#include <cmath>

#include "tests/support/random_kinds.h"

namespace fitwright::testing {
namespace {

struct Field {  // a free rectangle of the top
  double x = 0;
  double y = 0;
  double length = 0;  // along x
  double width = 0;
};

class BlockMaker {
 public:
  BlockMaker(Dice& dice, SheetWriter& sheet, const BlockSize& size, bool odd) : dice_(dice), sheet_(sheet), size_(size), odd_(odd) {}
  void MakeBlock();
  void MakePlate();

 private:
  void WriteStock();
  void WritePlateStock();
  void AddFaces();
  void AddStep();
  void AddSideHole();
  void AddEdges();
  void AddPattern();
  void AddIn(const Field& field);
  void AddHole(const Field& field);
  void AddCounterbored(const Field& field);
  void AddPocket(const Field& field);
  void AddSlot(const Field& field);
  void AddBore(const Field& field);
  void AddMarking(const Field& field);
  void AddMouth(const std::string& hole, double diameter, double room);
  std::string At(const Field& field) const { return fmt::format("from = \"+z\"\nat = [{:g}, {:g}]\nentry = {:g}", field.x, field.y, size_.z); }

  Dice& dice_;
  SheetWriter& sheet_;
  BlockSize size_;
  bool odd_;
  double left_ = 0;   // of the top, along x: what the step and the side hole leave
  double right_ = 0;
};

void BlockMaker::WriteStock() {
  const double across = std::hypot(size_.y, size_.z);
  switch (dice_.Below(10)) {
    case 0:
    case 1:
      sheet_.Note("stock proposed");
      return;
    case 2:
      sheet_.Stock("casting", fmt::format("allowance = {:g}\nskin = 0.3", dice_.In(1, 3, 0.5)));
      return;
    case 3:
      if (across < 50) {
        sheet_.Stock("round", fmt::format("axis = \"+x\"\ndiameter = {:g}\nlength = {:g}", std::ceil(across + 1), size_.x + 4));
        return;
      }
      break;
    case 4:
      if (size_.y < 40 && size_.z < 40) {
        const double square = std::ceil(std::max(size_.y, size_.z) + 1);
        sheet_.Stock("square", fmt::format("size = [{:g}, {:g}, {:g}]", size_.x + 4, square, square));
        return;
      }
      break;
    case 5:
      if (across < 40) {
        sheet_.Stock("hex", fmt::format("axis = \"+x\"\nacross = {:g}\nlength = {:g}\nflat = \"+z\"", std::ceil(across + 2), size_.x + 4));
        return;
      }
      break;
    default:
      break;
  }
  sheet_.Stock("flat", fmt::format("size = [{:g}, {:g}, {:g}]", size_.x + dice_.Of({2, 3, 4}), size_.y + dice_.Of({2, 3, 4}), size_.z + dice_.Of({1.5, 2.0, 3.0})));
}

// Its thickness is the plate's own.
void BlockMaker::WritePlateStock() {
  sheet_.Stock("plate", fmt::format("size = [{:g}, {:g}, {:g}]", size_.x + 6, size_.y + 6, size_.z));
  for (const char* side : {"+z", "-z"}) {
    sheet_.AddNamed(side[0] == '+' ? "top_skin" : "bottom_skin", "planar_face", fmt::format("side = \"{}\"\nfinish = \"as_supplied\"", side));
  }
}

void BlockMaker::AddFaces() {
  if (dice_.Chance(0.25)) sheet_.AddNamed("front_face", "planar_face", fmt::format("side = \"+x\"\nat = {:g}\nplus_minus = {:g}", size_.x / 2, dice_.Of({0.02, 0.05})));
  if (dice_.Chance(0.2)) {
    sheet_.AddNamed("left_face", "planar_face", "side = \"+y\"\ngeometric = [{ kind = \"square\", datum = \"bottom\", within = 0.05 }]");
    sheet_.Note("geometric");
  }
}

void BlockMaker::AddStep() {
  if (!dice_.Chance(0.3) || size_.x < 24) return;
  const double wide = dice_.In(3, 0.25 * size_.x, 0.5);
  const double deep = dice_.In(1.5, 0.6 * size_.z, 0.5);
  sheet_.Add("step", fmt::format("from = \"+z\"\nremoved = {{ x = [{:g}, {:g}], y = [{:g}, {:g}], z = [{:g}, {:g}] }}", size_.x / 2 - wide,
                                 size_.x / 2, -size_.y / 2, size_.y / 2, size_.z - deep, size_.z));
  right_ -= wide;
}

void BlockMaker::AddSideHole() {
  if (!dice_.Chance(0.35) || size_.z < 8) return;
  const double d = std::min(dice_.Of({2.5, 3.2, 4.2, 5.0, 6.0}), size_.z - 4);
  if (d < 2.5) return;
  const double deep = odd_ && dice_.Chance(0.3) ? size_.x : dice_.In(4, std::min(0.25 * size_.x, 4 * d), 0.5);
  const bool through = deep >= size_.x;
  sheet_.Add("hole", fmt::format("from = \"-x\"\nat = [0, {:g}]\nentry = {:g}\ndiameter = {:.4g}\n{}", 0.4 * size_.z, -size_.x / 2, d,
                                 through ? "through = true" : fmt::format("depth = {:g}", deep)));
  sheet_.Note("side hole");
  if (!through) left_ += deep + 2;
}

void BlockMaker::AddMouth(const std::string& hole, double diameter, double room) {
  if (room < 0.4 || !dice_.Chance(0.4)) return;
  const double leg = dice_.In(0.3, std::min(1.0, room), 0.1);
  if (dice_.Chance(0.5)) {
    sheet_.Add("countersink", fmt::format("on = \"{}\"\ndiameter = {:g}{}", hole, diameter + 2 * leg, odd_ && dice_.Chance(0.3) ? "\nangle = 60" : ""));
  } else {
    sheet_.Add("chamfer", fmt::format("on = \"{}\"\nend = \"start\"\naxial = {:g}\nradial = {:g}", hole, leg, leg));
  }
}

void BlockMaker::AddHole(const Field& field) {
  const double most = std::min(field.length, field.width) - 2;
  if (dice_.Chance(0.35)) {
    const auto [thread, drill] = dice_.Of(std::vector<std::pair<const char*, double>>{
        {"M3", 2.5}, {"M4", 3.3}, {"M5", 4.2}, {"M6", 5}, {odd_ ? "M10" : "M3", odd_ ? 8.5 : 2.5}, {odd_ ? "M1.6" : "M4", odd_ ? 1.25 : 3.3}});
    if (drill > most) return;
    const double deep = dice_.In(2.5 * drill, 3.5 * drill, 0.5);
    const bool through = deep > size_.z - 2;
    if (through && size_.z > 5 * drill) return;
    sheet_.Add("hole", At(field) + fmt::format("\nthread = \"{}\"\n{}", thread,
                                               through ? "through = true" : fmt::format("depth = {:g}\nthread_depth = {:g}", deep, 1.2 * drill)));
    sheet_.Note("tapped");
    return;
  }
  const bool reamed = dice_.Chance(0.3);
  const double d = reamed ? dice_.Of({4.0, 5.0, 6.0, 8.0, 10.0}) : dice_.In(1.5, 11, 0.5);
  if (d > most) return;
  const double blind = dice_.In(1.5, std::min(size_.z - 2, 4 * d), 0.5);
  const bool through = dice_.Chance(0.5) || blind >= size_.z - 1;
  const std::string name = sheet_.Add(
      "hole", At(field) + fmt::format("\ndiameter = {:g}\n{}{}", d, through ? "through = true" : fmt::format("depth = {:g}\nbottom = \"{}\"", blind, dice_.Of({"118", "118", "flat"})),
                                      reamed ? "\nfit = \"H7\"" : ""));
  if (reamed) sheet_.Note("reamed");
  AddMouth(name, d, 0.5 * (most - d));
}

void BlockMaker::AddCounterbored(const Field& field) {
  struct Row {
    double hole, head, deep;
  };
  const Row row = dice_.Of({Row{3.4, 6.5, 3.4}, Row{4.5, 8, 4.4}, Row{5.5, 10, 5.4}, odd_ ? Row{4, 9.3, 5} : Row{3.4, 6.5, 3.4}});
  if (row.head > std::min(field.length, field.width) - 2 || row.deep > size_.z - 2) return;
  sheet_.Add("hole", At(field) + fmt::format("\ndiameter = {:g}\nthrough = true", row.hole));
  sheet_.Add("counterbore", At(field) + fmt::format("\ndiameter = {:g}\ndepth = {:g}", row.head, row.deep));
}

void BlockMaker::AddPocket(const Field& field) {
  if (std::min(field.length, field.width) < 7) return;
  const double length = dice_.In(6, field.length - 2, 0.5);
  const double width = dice_.In(5, field.width - 2, 0.5);
  const double most = 0.5 * std::min(length, width);
  const double corner = odd_ ? dice_.Of({0.2, 0.6, 1.5}) : std::min(most, dice_.Of({2.0, 2.5, 3.0, 4.0}));
  const double deep = dice_.In(1, std::min(size_.z - 2, odd_ ? 40.0 : 10.0), 0.5);
  sheet_.Add("pocket", At(field) + fmt::format("\nalong = \"+x\"\nlength = {:g}\nwidth = {:g}\ncorner_radius = {:g}\ndepth = {:g}", length, width, corner, deep));
}

void BlockMaker::AddSlot(const Field& field) {
  const double width = dice_.Of({3.0, 4.0, 5.0, 6.0, odd_ ? 0.8 : 8.0, odd_ ? 1.5 : 3.5});
  if (width > field.width - 2 || field.length < width + 4) return;
  const double length = dice_.In(width + 2, field.length - 2, 0.5);
  const bool through = size_.z < 3 * width && dice_.Chance(0.4);
  const double deep = dice_.In(1, std::min(size_.z - 2, 2 * width), 0.5);
  sheet_.Add("slot", At(field) + fmt::format("\nalong = \"+x\"\nlength = {:g}\nwidth = {:g}\n{}", length, width,
                                             through ? "through = true" : fmt::format("depth = {:g}", deep)));
}

void BlockMaker::AddBore(const Field& field) {
  const double most = std::min(field.length, field.width) - 4;
  if (most < 12) return AddHole(field);
  const double d = dice_.In(12, most, 0.5);
  const bool through = dice_.Chance(0.7);
  const double deep = dice_.In(3, size_.z - 2, 0.5);
  const std::string name = sheet_.Add("bore", At(field) + fmt::format("\ndiameter = {:g}\n{}\n{}", d, through ? "through = true" : fmt::format("depth = {:g}", deep),
                                                                      dice_.Chance(0.6) ? "fit = \"H7\"" : "plus_minus = 0.05"));
  AddMouth(name, d, 1);
}

void BlockMaker::AddMarking(const Field& field) {
  const std::string text = dice_.Of({"A", "12", "IN"});
  const double height = dice_.Of({2.0, 3.0});
  if (0.6 * height * static_cast<double>(text.size()) > field.length - 2 || height > field.width - 2) return;
  sheet_.Add("marking", At(field) + fmt::format("\ntext = \"{}\"\nheight = {:g}\ndepth = 0.2\nalong = \"+x\"", text, height));
}

void BlockMaker::AddIn(const Field& field) {
  switch (dice_.Below(8)) {
    case 0:
    case 1:
      return AddHole(field);
    case 2:
      return AddCounterbored(field);
    case 3:
    case 4:
      return AddPocket(field);
    case 5:
      return AddSlot(field);
    case 6:
      return AddBore(field);
    default:
      return AddMarking(field);
  }
}

// A pattern over the whole free top.
void BlockMaker::AddPattern() {
  const double length = right_ - left_;
  const double middle = 0.5 * (right_ + left_);
  const double d = dice_.Of({2.5, 3.2, 4.2});
  const std::string rest = fmt::format("diameter = {:g}\nthrough = true", d);
  const std::string at = fmt::format("from = \"+z\"\nat = [{:g}, 0]\nentry = {:g}\n", middle, size_.z);
  const double least = std::min(length, size_.y);
  switch (dice_.Below(3)) {
    case 0: {
      const double px = dice_.In(d + 2, (length - d - 4) / 2, 0.5);
      const double py = dice_.In(d + 2, size_.y - d - 4, 0.5);
      if (2 * px > length - d - 2 || py > size_.y - d - 2) return;
      sheet_.Add("hole", at + fmt::format("grid = {{ rows = 2, columns = 3, pitch = [{:g}, {:g}], along = \"+x\" }}\n", px, py) + rest);
      sheet_.Note("grid");
      return;
    }
    case 1: {
      const double circle = least - d - 4;
      if (circle < 2 * d + 4) return;
      sheet_.Add("hole", at + fmt::format("circle = {{ diameter = {:g}, count = {}, first = 45, zero = \"+x\", towards = \"+y\" }}\n", circle, dice_.Of({3, 4})) + rest);
      sheet_.Note("circle");
      return;
    }
    default: {
      const double px = length / 2 - d / 2 - 2;
      const double py = size_.y / 2 - d / 2 - 2;
      if (px < d || py < d) return;
      sheet_.Add("hole", fmt::format("from = \"+z\"\nentry = {:g}\npoints = [[{:g}, {:g}], [{:g}, {:g}]]\n", size_.z, middle - px, -py, middle + px, py) + rest);
      sheet_.Note("points");
    }
  }
}

void BlockMaker::AddEdges() {
  const double leg = dice_.In(0.5, std::min(2.0, 0.2 * size_.z), 0.5);
  if (dice_.Chance(0.2)) {
    sheet_.Add("chamfer", fmt::format("between = [\"bottom\", \"rear\"]\nlegs = [{:g}, {:g}]", leg, odd_ && dice_.Chance(0.5) ? 0.5 * leg : leg));
    sheet_.Note("straight chamfer");
  } else if (odd_ && dice_.Chance(0.2)) {
    sheet_.Add("edge_round", fmt::format("between = [\"bottom\", \"rear\"]\nradius = {:g}", leg));
  }
}

void BlockMaker::MakeBlock() {
  left_ = -size_.x / 2;
  right_ = size_.x / 2;
  WriteStock();
  AddFaces();
  AddStep();
  AddSideHole();
  if (dice_.Chance(0.3)) {
    AddPattern();
  } else {
    const double length = 0.5 * (right_ - left_);
    const double width = 0.5 * size_.y;
    if (dice_.Chance(0.4)) {
      AddIn({0.5 * (left_ + right_), 0, 2 * length - 2, size_.y - 2});
    } else {
      for (const double sx : {-1.0, 1.0}) {
        for (const double sy : {-1.0, 1.0}) {
          if (dice_.Chance(0.6)) AddIn({0.5 * (left_ + right_) + 0.5 * sx * length, 0.5 * sy * width, length - 2, width - 2});
        }
      }
    }
  }
  AddEdges();
}

void BlockMaker::MakePlate() {
  WritePlateStock();
  const double r = size_.y / 2;
  const double far = size_.x / 2 - r;
  if (far > r && dice_.Chance(0.6)) {
    const double small = dice_.In(0.6 * size_.y, size_.y, 1);
    sheet_.Add("outline", fmt::format("from = \"+z\"\ndiscs = [[{:g}, 0, {:g}], [{:g}, 0, {:g}]]\nbars = [[{:g}, 0, {:g}, 0, {:g}]]\ninside_radius = 3", -far, size_.y,
                                      far, small, -far, far, dice_.In(0.4 * size_.y, 0.6 * size_.y, 1)));
  }
  const double d = dice_.Of({2.5, 3.2, 4.2});
  if (d < size_.y / 3) {
    sheet_.Add("hole", fmt::format("from = \"+z\"\nentry = {:g}\npoints = [[{:g}, 0], [{:g}, 0]]\ndiameter = {:g}\nthrough = true", size_.z, -far, far, d));
  }
  if (dice_.Chance(0.3) && size_.z > 1) AddMarking({0, 0, far, 0.4 * size_.y});
}

}  // namespace

void AddBlock(Dice& dice, SheetWriter& sheet, const BlockSize& size, bool odd) { BlockMaker(dice, sheet, size, odd).MakeBlock(); }

void AddPlate(Dice& dice, SheetWriter& sheet, const BlockSize& size, bool odd) { BlockMaker(dice, sheet, size, odd).MakePlate(); }

}  // namespace fitwright::testing
