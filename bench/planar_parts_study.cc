// How a labelled set of parts with plane faces is read: per face, our shape beside its label.
//   planar_parts_study FOLDER LABELS.json [--turned]
// FOLDER: the unpacked archive of STEP files, whose faces are named by their place in the file's list of
// labels. Shapes were tuned on files whose name's hash (SHA-256) starts with 0-7; the others are counted
// apart. --turned: each part is turned and shifted first.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <filesystem>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "bench/sha256.h"
#include "fitwright/recognize/frame.h"
#include "fitwright/recognize/sharp_shapes.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/step_reading.h"

namespace {

using fitwright::recognize::SharpKind;

constexpr const char* kOutside = "outside";
constexpr const char* kNone = "none";

// In the order of the set's corrected list of classes. Passages and pockets of three, four and six walls
// are one family each.
std::string LabelWord(std::size_t label) {
  static const std::array<const char*, 16> kWords = {"slope",         "passage",    "passage",     "passage", "vee",    "channel",
                                                     "step",          "bent step",  "slanting step", "pocket", "pocket", "pocket",
                                                     "short channel", "cut corner", "corner step", kOutside};
  return label < kWords.size() ? kWords[label] : kNone;
}

std::string KindWord(SharpKind kind) {
  static const std::map<SharpKind, const char*> kWords = {
      {SharpKind::kSlope, "slope"},          {SharpKind::kPassage, "passage"},           {SharpKind::kPocket, "pocket"},
      {SharpKind::kVee, "vee"},              {SharpKind::kChannel, "channel"},           {SharpKind::kShortChannel, "short channel"},
      {SharpKind::kStep, "step"},            {SharpKind::kSlantingStep, "slanting step"}, {SharpKind::kBentStep, "bent step"},
      {SharpKind::kCornerStep, "corner step"}, {SharpKind::kCutCorner, "cut corner"}};
  return kWords.at(kind);
}

// Counts of one half of the set.
struct Tally {
  int parts = 0;
  int faces = 0;
  int alike = 0;
  std::map<std::string, std::array<int, 3>> by_class;  // labelled, read, both
  void Add(const std::string& label, const std::string& read) {
    ++faces;
    alike += label == read ? 1 : 0;
    ++by_class[label][0];
    ++by_class[read][1];
    if (label == read) ++by_class[label][2];
  }
};

// Our word for each face of the graph, by its place there.
std::vector<std::string> ReadFaces(const fitwright::solid::FaceGraph& graph, const fitwright::solid::Solid& solid) {
  using namespace fitwright;
  const recognize::PartFrame frame = recognize::ChooseFrame(graph, solid);
  const recognize::PlacedGraph placed = recognize::Place(graph, frame.X_PF, frame.box_P);
  std::vector<std::string> words(graph.faces.size(), kNone);
  for (std::size_t f = 0; f < placed.faces.size(); ++f) {
    if (!recognize::IsOutside(placed, placed.faces[f])) continue;
    for (const std::size_t source : placed.sources[f]) words[source] = kOutside;
  }
  for (const recognize::SharpShape& shape : recognize::FindSharpShapes(placed)) {
    for (const std::size_t f : shape.faces) {
      for (const std::size_t source : placed.sources[f]) words[source] = KindWord(shape.kind);
    }
  }
  return words;
}

void ReadOne(const std::filesystem::path& path, const std::vector<std::size_t>& labels, bool turned, Tally& tally) {
  using namespace fitwright;
  auto contents = solid::ReadStep(path.string());
  if (!contents || contents->shapes.size() != 1) {
    fmt::print("{}: not read as one solid\n", path.filename().string());
    return;
  }
  solid::Solid solid = contents->shapes[0];
  Pose by = Pose::Identity();
  const double angle_rad = 1e-4 * static_cast<double>(std::stoul(bench::Sha256Hex(path.filename().string()).substr(0, 4), nullptr, 16));
  by.linear() = Eigen::AngleAxisd(angle_rad, Vec3(1, 2, 3).normalized())
                    .toRotationMatrix();
  by.translation() = Vec3(31, -57, 11);
  if (turned) solid = solid::Moved(solid, by);
  const auto graphs = solid::MakeFaceGraphs(solid, {}, contents->face_labels[0]);
  if (!graphs || graphs->size() != 1) return;
  const std::vector<std::string> read = ReadFaces(graphs->front(), solid);
  ++tally.parts;
  const std::vector<std::string>& names = contents->face_labels[0];
  for (std::size_t f = 0; f < read.size(); ++f) {
    for (const std::size_t source : graphs->front().faces[f].sources) {
      const std::string label = LabelWord(labels.at(std::stoul(names.at(source))));
      tally.Add(label, read[f]);
      if (label != read[f]) fmt::print("{}: face {} is {}, read as {}\n", path.filename().string(), names[source], label, read[f]);
    }
  }
}

void Print(const char* half, const Tally& tally) {
  double sum = 0;
  int classes = 0;
  for (const auto& [word, counts] : tally.by_class) {
    if (word == kNone) continue;
    const double f1 = counts[0] + counts[1] == 0 ? 0.0 : 2.0 * counts[2] / (counts[0] + counts[1]);
    fmt::print("  {:14} {:5} labelled {:5} read {:5} both  F1 {:.4f}\n", word, counts[0], counts[1], counts[2], f1);
    sum += f1;
    ++classes;
  }
  fmt::print("{}: {} parts, {} of {} faces alike ({:.4f}), mean F1 of {} classes {:.4f}\n", half, tally.parts, tally.alike, tally.faces,
             tally.faces == 0 ? 0.0 : static_cast<double>(tally.alike) / tally.faces, classes, classes == 0 ? 0.0 : sum / classes);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 3 || !std::filesystem::is_directory(argv[1]) || !std::filesystem::exists(argv[2])) {
    fmt::print("skipped: the labelled parts are not here; unpack them and name the folder and the list of labels\n");
    return 0;
  }
  const bool turned = argc > 3 && std::string(argv[3]) == "--turned";
  std::ifstream in(argv[2]);
  const nlohmann::json labels = nlohmann::json::parse(in).at("labels");
  Tally tuned;
  Tally held_back;
  for (const auto& [name, list] : labels.items()) {
    const std::filesystem::path path = std::filesystem::path(argv[1]) / name;
    if (!std::filesystem::exists(path)) continue;
    const bool low = fitwright::bench::Sha256Hex(name)[0] < '8';
    ReadOne(path, list.get<std::vector<std::size_t>>(), turned, low ? tuned : held_back);
  }
  Print("tuned on (0-7)", tuned);
  Print("held back (8-f)", held_back);
  return 0;
}
