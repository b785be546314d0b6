// How much of some files' parts is read: faces explained, volume left, how well the rebuilt solid
// agrees with the file's outside what is listed unread, and time, file by file; at the end the time for
// each hundred faces by the size of the part, and the most memory that was held.
//   read_parts_study [--words] [--quick] [--holes LIST.json] FILE.step ...
// Times are of the processor. --quick: without crossing the two solids, which may take minutes.
// --words: each unread region, why, and its faces. --holes: of the files that the list names,
// whether every hole of their drawings was found (tests/reference/nist_drawing_holes.json).
#include <fmt/format.h>
#include <sys/resource.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <string>

#include "fitwright/recognize/part_reading.h"
#include "fitwright/solid/build.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/measure.h"
#include "fitwright/solid/step_reading.h"

namespace {

using namespace fitwright;

struct Sum {
  std::size_t faces = 0;
  std::size_t explained = 0;
  int solids = 0;
  int whole = 0;
  std::map<std::string, std::size_t> why;          // unread faces by reason
  std::map<std::string, std::map<int, int>> holes;  // by file: how many of each diameter, in 0.01 mm
  double graph_s = 0;
  double reading_s = 0;
  struct Size {  // parts of about one size
    int parts = 0;
    std::size_t faces = 0;
    double s = 0;
  };
  std::map<std::size_t, Size> sizes;  // by the most faces that such a part has
};

struct Options {
  bool words = false;
  bool quick = false;
  nlohmann::json holes;
};

class Clock {
 public:
  double s() const { return Now_s() - start_; }

 private:
  // Of this process and of those that read files for it.
  static double Now_s() {
    double sum = 0;
    for (const int who : {RUSAGE_SELF, RUSAGE_CHILDREN}) {
      rusage use{};
      getrusage(who, &use);
      for (const timeval& t : {use.ru_utime, use.ru_stime})
        sum += static_cast<double>(t.tv_sec) + 1e-6 * static_cast<double>(t.tv_usec);
    }
    return sum;
  }
  double start_ = Now_s();
};

double Apart(const Box3& a, const Box3& b) {
  return (a.min_mm - b.max_mm).cwiseMax(b.min_mm - a.max_mm).cwiseMax(0).norm();
}

// Volume of the difference in pieces that touch no unread face, as a share of the whole. Below 0: not
// measured, for faces without a name, with which crossing solids may take minutes.
double DifferenceOutside(const solid::FaceGraph& graph, const solid::Solid& piece, const recognize::PartReading& reading) {
  for (const solid::GraphFace& face : graph.faces) {
    if (!solid::IsElementary(face.surface.kind)) return -1;
  }
  const auto rebuilt_P = solid::MakeDesign(reading.part);
  if (!rebuilt_P) return -1;
  const solid::Solid rebuilt = solid::Moved(*rebuilt_P, reading.X_PF.inverse());
  const double volume_mm3 = solid::CalcVolume_mm3(piece);
  double outside_mm3 = 0;
  for (const auto& rest : {solid::Cut(rebuilt, {piece}), solid::Cut(piece, {rebuilt})}) {
    if (!rest || rest->empty()) continue;
    const auto pieces = solid::SplitPieces(*rest);
    for (std::size_t i = 0; pieces && i < pieces->size(); ++i) {
      const Box3 box = solid::CalcBox((*pieces)[i]);
      double least = 1e300;
      for (const auto& region : reading.unread) {
        for (const std::size_t f : region.faces) least = std::min(least, Apart(box, graph.faces[f].box_F));
      }
      if (least > 0.01) outside_mm3 += std::abs(solid::CalcVolume_mm3((*pieces)[i]));
    }
  }
  return outside_mm3 / volume_mm3;
}

void CountHoles(const std::string& file, const recognize::PartReading& reading, Sum& sum) {
  for (const Feature& feature : reading.part.features) {
    const auto* hole = std::get_if<Hole>(&feature.shape);
    if (hole == nullptr) continue;
    const int key = static_cast<int>(std::lround(100 * hole->diameter.nominal_mm));
    sum.holes[std::filesystem::path(file).stem().string()][key] += static_cast<int>(hole->entries_P_mm.size());
  }
}

void PrintUnread(const solid::FaceGraph& graph, const recognize::PartReading& reading) {
  for (const auto& region : reading.unread) {
    fmt::print("    {} faces, {:.4g} mm2, {:.3g} mm3: {}\n", region.faces.size(), region.area_mm2, region.volume_mm3, region.why);
    for (const std::size_t f : region.faces) {
      const auto& face = graph.faces[f];
      const Vec3 d = reading.X_PF.linear() * face.surface.axis_F.direction;
      const Vec3 p = reading.X_PF * face.inner_F_mm;
      fmt::print("      kind {} hollow {} r {:.4g} d ({:.3g} {:.3g} {:.3g}) at ({:.4g} {:.4g} {:.4g}) area {:.4g} share {:.3g}\n",
                 static_cast<int>(face.surface.kind), face.hollow, face.surface.radius_mm, d.x(), d.y(), d.z(), p.x(), p.y(), p.z(),
                 face.area_mm2, face.turn_share);
    }
  }
}

std::size_t ClassOf(std::size_t faces) {
  std::size_t most = 10;
  while (most < faces) most *= 2;
  return most;
}

void PrintSpeed(const Sum& sum) {
  for (const auto& [most, size] : sum.sizes) {
    fmt::print("parts of {} to {} faces: {}, {} faces, {:.2f} s a hundred\n", most == 10 ? 1 : most / 2 + 1, most, size.parts, size.faces,
               100 * size.s / static_cast<double>(size.faces));
  }
  rusage own{};
  rusage child{};
  getrusage(RUSAGE_SELF, &own);
  getrusage(RUSAGE_CHILDREN, &child);
  fmt::print("at most {} MB held here, {} MB by the reader of files\n", own.ru_maxrss / 1024, child.ru_maxrss / 1024);
}

void ReadOne(const std::string& file, const std::string& name, const solid::Solid& solid, const std::vector<std::string>& labels,
             const Options& options, Sum& sum) {
  const Clock graph_clock;
  const auto graphs = solid::MakeFaceGraphs(solid, {}, labels);
  const double graph_s = graph_clock.s();
  if (!graphs || graphs->size() != 1) {
    fmt::print("{} {}: no graph: {}\n", file, name, graphs ? "several bodies" : graphs.error().message);
    return;
  }
  const Clock clock;
  const auto reading = recognize::ReadPart(graphs->front(), solid, {PartId("part"), "steel", {}});
  const double reading_s = clock.s();
  if (!reading) {
    fmt::print("{} {}: {}\n", file, name, reading.error().message);
    return;
  }
  const std::size_t faces = graphs->front().faces.size();
  std::size_t unread = 0;
  double left_mm3 = 0;
  for (const auto& region : reading->unread) {
    unread += region.faces.size();
    left_mm3 += region.volume_mm3;
    sum.why[region.why] += region.faces.size();
  }
  ++sum.solids;
  sum.faces += faces;
  sum.explained += faces - unread;
  sum.graph_s += graph_s;
  sum.reading_s += reading_s;
  if (unread == 0) ++sum.whole;
  Sum::Size& size = sum.sizes[ClassOf(faces)];
  ++size.parts;
  size.faces += faces;
  size.s += graph_s + reading_s;
  CountHoles(file, *reading, sum);
  fmt::print(
      "{} {}: {} of {} faces, {} features, {:.2g} of the volume left, {:.2g} differs elsewhere, "
      "faces {:.2f} s, reading {:.2f} s\n",
      file, name, faces - unread, faces, reading->part.features.size(),
      left_mm3 / solid::CalcVolume_mm3(solid),
      options.quick ? -1 : DifferenceOutside(graphs->front(), solid, *reading), graph_s, reading_s);
  if (options.words) PrintUnread(graphs->front(), *reading);
  std::fflush(stdout);
}

void PrintHoles(const Options& options, const Sum& sum) {
  int found = 0;
  int all = 0;
  for (const auto& hole : options.holes) {
    const auto file = sum.holes.find(hole.at("file").get<std::string>());
    const double mm = hole.at("diameter").get<double>() * (hole.at("unit") == "in" ? 25.4 : 1.0);
    int count = 0;
    for (const auto& [key, times] : file == sum.holes.end() ? std::map<int, int>{} : file->second) {
      if (std::abs(0.01 * key - mm) <= 0.03) count += times;
    }
    ++all;
    found += count >= hole.at("count").get<int>() ? 1 : 0;
    fmt::print("{}: diameter {:.3f} mm, {} written, {} read\n", hole.at("file").get<std::string>(), mm, hole.at("count").get<int>(), count);
  }
  fmt::print("{} of {} lines of the drawings found whole\n", found, all);
}

}  // namespace

int main(int argc, char** argv) {
  Sum sum;
  Options options;
  for (int i = 1; i < argc; ++i) {
    const std::string file = argv[i];
    if (file == "--words") {
      options.words = true;
      continue;
    }
    if (file == "--quick") {
      options.quick = true;
      continue;
    }
    if (file == "--holes" && i + 1 < argc) {
      std::ifstream in(argv[++i]);
      options.holes = nlohmann::json::parse(in).at("holes");
      continue;
    }
    const Clock clock;
    const auto contents = solid::ReadStep(file);
    if (!contents) {
      fmt::print("{}: {}\n", file, contents.error().message);
      continue;
    }
    fmt::print("{}: the kernel's read {:.2f} s\n", file, clock.s());
    for (std::size_t k = 0; k < contents->shapes.size(); ++k) {
      ReadOne(file, fmt::format("{}", k + 1), contents->shapes[k], contents->face_labels[k], options, sum);
    }
  }
  for (const auto& [why, faces] : sum.why) fmt::print("{:6} faces: {}\n", faces, why);
  if (!options.holes.is_null()) PrintHoles(options, sum);
  fmt::print("{} solids, {} read whole, {} of {} faces explained ({:.4f}); faces {:.1f} s, reading {:.1f} s\n", sum.solids, sum.whole,
             sum.explained, sum.faces, sum.faces == 0 ? 0.0 : static_cast<double>(sum.explained) / static_cast<double>(sum.faces), sum.graph_s,
             sum.reading_s);
  PrintSpeed(sum);
  return 0;
}
