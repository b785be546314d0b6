// How much of some files' parts is read: faces explained and volume left, file by file.
//   read_parts_study FILE.step ...
#include <fmt/format.h>

#include <chrono>
#include <string>

#include "fitwright/recognize/part_reading.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/measure.h"
#include "fitwright/solid/step_reading.h"

namespace {

struct Sum {
  std::size_t faces = 0;
  std::size_t explained = 0;
  int solids = 0;
  int whole = 0;
};

void ReadOne(const std::string& file, const std::string& name, const fitwright::solid::Solid& solid, bool words, Sum& sum) {
  using namespace fitwright;
  const auto graphs = solid::MakeFaceGraphs(solid);
  if (!graphs) {
    fmt::print("{} {}: no graph: {}\n", file, name, graphs.error().message);
    return;
  }
  const auto pieces = solid::SplitPieces(solid);
  for (std::size_t i = 0; i < graphs->size(); ++i) {
    const auto start = std::chrono::steady_clock::now();
    const solid::Solid& piece = graphs->size() == 1 || !pieces ? solid : (*pieces)[std::min(i, pieces->size() - 1)];
    const auto reading = recognize::ReadPart((*graphs)[i], piece, {PartId("part"), "steel"});
    const double seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
    if (!reading) {
      fmt::print("{} {}: {}\n", file, name, reading.error().message);
      continue;
    }
    const std::size_t faces = (*graphs)[i].faces.size();
    std::size_t unread = 0;
    double left_mm3 = 0;
    for (const auto& region : reading->unread) {
      unread += region.faces.size();
      left_mm3 += region.volume_mm3;
    }
    ++sum.solids;
    sum.faces += faces;
    sum.explained += faces - unread;
    if (unread == 0) ++sum.whole;
    fmt::print("{} {}: {} of {} faces, {} features, {:.2g} of the volume left, {:.2f} s\n", file, name, faces - unread, faces,
               reading->part.features.size(), left_mm3 / solid::CalcVolume_mm3(piece), seconds);
    if (!words) continue;
    for (const auto& region : reading->unread) {
      for (const std::size_t f : region.faces) {
        const auto& face = (*graphs)[i].faces[f];
        const Vec3 d = reading->X_PF.linear() * face.surface.axis_F.direction;
        const Vec3 p = reading->X_PF * face.inner_F_mm;
        fmt::print("    unread kind {} hollow {} r {:.4g} d ({:.3g} {:.3g} {:.3g}) at ({:.4g} {:.4g} {:.4g}) area {:.4g} share {:.3g}\n",
                   static_cast<int>(face.surface.kind), face.hollow, face.surface.radius_mm, d.x(), d.y(), d.z(), p.x(), p.y(), p.z(),
                   face.area_mm2, face.turn_share);
      }
    }
  }
}

}  // namespace

int main(int argc, char** argv) {
  Sum sum;
  bool words = false;
  for (int i = 1; i < argc; ++i) {
    const std::string file = argv[i];
    if (file == "--words") {
      words = true;
      continue;
    }
    const auto contents = fitwright::solid::ReadStep(file);
    if (!contents) {
      fmt::print("{}: {}\n", file, contents.error().message);
      continue;
    }
    for (std::size_t i = 0; i < contents->shapes.size(); ++i) ReadOne(file, fmt::format("{}", i + 1), contents->shapes[i], words, sum);
  }
  fmt::print("{} solids, {} read whole, {} of {} faces explained ({:.4f})\n", sum.solids, sum.whole, sum.explained, sum.faces,
             sum.faces == 0 ? 0.0 : static_cast<double>(sum.explained) / static_cast<double>(sum.faces));
  return 0;
}
