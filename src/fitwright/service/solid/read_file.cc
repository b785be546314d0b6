#include "fitwright/service/solid/read_file.h"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <cctype>
#include <map>
#include <optional>
#include <set>
#include <sstream>
#include <string_view>
#include <system_error>

#include "fitwright/base/atomic_file.h"
#include "fitwright/base/diagnostics.h"
#include "fitwright/files/machine_writer.h"
#include "fitwright/files/part_writer.h"
#include "fitwright/files/project.h"
#include "fitwright/recognize/assembly_reading.h"
#include "fitwright/solid/face_graph.h"
#include "fitwright/solid/measure.h"
#include "fitwright/solid/build.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/step_io.h"
#include "fitwright/solid/step_reading.h"

namespace fitwright::service {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t kLongestName = 40;

// A name that the sheets may carry, after the file's own.
std::string SheetName(const std::string& in_file) {
  std::string name;
  for (const char c : in_file) {
    const auto byte = static_cast<unsigned char>(c);
    const bool good = byte < 128 && std::isalnum(byte) != 0;
    if (good) name += static_cast<char>(std::tolower(byte));
    if (!good && !name.empty() && name.back() != '_') name += '_';
  }
  name.resize(std::min(name.size(), kLongestName));
  while (!name.empty() && name.back() == '_') name.pop_back();
  const bool begins = !name.empty() && std::isalpha(static_cast<unsigned char>(name.front())) != 0;
  return begins ? name : name.empty() ? "part" : "part_" + name;
}

Error CannotWrite(const fs::path& path, const std::string& why, const std::string& remedy) {
  Error error{ErrorCode::kFileUnwritable, why, path.string(), remedy, {}};
  error.where.file = path.string();
  return error;
}

Status CheckTarget(const fs::path& into) {
  std::error_code failed;
  if (!fs::exists(into, failed)) return Ok{};
  if (!fs::is_directory(into, failed)) return Unexpected(CannotWrite(into, "it is not a folder", "name another"));
  if (fs::is_empty(into, failed) && !failed) return Ok{};
  return Unexpected(CannotWrite(into, "the folder holds something already", "name a new one; nothing is overwritten"));
}

// A folder beside the target that takes its place when all is written, and goes when it does not.
class HalfWritten {
 public:
  explicit HalfWritten(const fs::path& target) : target_(fs::absolute(target).lexically_normal()) {
    if (target_.filename().empty()) target_ = target_.parent_path();
    folder_ = target_;
    folder_ += fmt::format(".{}.new", ::getpid());
  }
  ~HalfWritten() {
    std::error_code ignored;
    if (!kept_) fs::remove_all(folder_, ignored);
  }
  HalfWritten(const HalfWritten&) = delete;
  HalfWritten& operator=(const HalfWritten&) = delete;

  Status Make() const {
    std::error_code failed;
    fs::create_directories(folder_ / "parts", failed);
    if (failed) return Unexpected(CannotWrite(folder_, failed.message(), "check the path and its rights"));
    return Ok{};
  }
  Status Keep() {
    std::error_code failed;
    fs::remove(target_, failed);  // an empty folder, or nothing
    fs::rename(folder_, target_, failed);
    if (failed) return Unexpected(CannotWrite(target_, failed.message(), "check the path and its rights"));
    kept_ = true;
    return Ok{};
  }
  const fs::path& folder() const { return folder_; }

 private:
  fs::path target_;
  fs::path folder_;
  bool kept_ = false;
};

// One distinct solid of the file.
struct ShapeRead {
  recognize::PartReading reading;
  std::string in_file;
  std::vector<double> face_areas_mm2;
  double volume_mm3 = 0;
};

class Reader {
 public:
  explicit Reader(const ReadUse& use) : use_(use) {}

  Result<FileRead> Run() {
    if (const Status target = CheckTarget(use_.into); !target) return Unexpected(target.error());
    use_.work.Report("reading the file", 0);
    auto contents = solid::ReadStep(use_.file.string(), use_.limits);
    if (!contents) return Unexpected(contents.error());
    contents_ = *std::move(contents);
    read_.schema = contents_.schema;
    read_.notes = contents_.notes;
    if (const Status shapes = ReadShapes(); !shapes) return Unexpected(shapes.error());
    if (const Status assembled = Assemble(); !assembled) return Unexpected(assembled.error());
    if (const Status written = Write(); !written) return Unexpected(written.error());
    ListParts();
    return std::move(read_);
  }

 private:
  std::string FreeName(const std::string& wanted) {
    std::string name = wanted;
    for (int n = 2; !names_.insert(name).second; ++n) name = fmt::format("{}_{}", wanted, n);
    return name;
  }

  std::string NameInFile(std::size_t shape) const {
    for (const solid::PlacedShape& placed : contents_.placed) {
      if (placed.shape == shape && !placed.name.empty()) return placed.name;
    }
    return "";
  }

  Status ReadShapes() {
    for (std::size_t i = 0; i < contents_.shapes.size(); ++i) {
      if (use_.work.cancelled()) return Unexpected(Error{ErrorCode::kStopped, "stopped before the file was read", {}, {}, {}});
      use_.work.Report("reading the parts", static_cast<double>(i) / static_cast<double>(contents_.shapes.size()));
      const std::string in_file = NameInFile(i);
      const auto graphs = solid::MakeFaceGraphs(contents_.shapes[i]);
      if (!graphs || graphs->empty()) {
        read_.notes.push_back(fmt::format("{}: left out, its faces could not be read: {}.", in_file.empty() ? "a solid" : in_file,
                                          graphs ? "nothing is inside" : graphs.error().message));
        continue;
      }
      recognize::PartReadingSettings settings;
      settings.name = PartId(FreeName(SheetName(in_file)));
      settings.material = use_.material;
      auto reading = recognize::ReadPart(graphs->front(), contents_.shapes[i], settings);
      if (!reading) return Unexpected(reading.error());
      reading->part.unread = reading->unread;
      std::vector<double> areas_mm2;
      for (const solid::GraphFace& face : graphs->front().faces) areas_mm2.push_back(face.area_mm2);
      shapes_[i] = {*std::move(reading), in_file, std::move(areas_mm2), graphs->front().volume_mm3};
    }
    return Ok{};
  }

  Status Assemble() {
    std::vector<recognize::PlacedReading> placed;
    for (const solid::PlacedShape& p : contents_.placed) {
      const auto shape = shapes_.find(p.shape);
      if (shape == shapes_.end()) continue;
      const recognize::PartReading& reading = shape->second.reading;
      placed.push_back({reading, p.X_WF * reading.X_PF.inverse()});
    }
    auto assembly = recognize::ReadAssembly(placed, use_.file.stem().string());
    if (!assembly) return Unexpected(assembly.error());
    assembly_ = *std::move(assembly);
    read_.machine = assembly_.machine;
    read_.machine.display_unit = contents_.written_in;
    for (const recognize::Inference& i : assembly_.inferred) read_.proposed.push_back({i.where, i.words});
    for (std::size_t k = 0; k < assembly_.parts.size(); ++k) {
      const std::string part = assembly_.machine.parts[k].name.text();
      for (const recognize::Inference& i : assembly_.parts[k]) read_.proposed.push_back({part + "." + i.where, i.words});
    }
    return Ok{};
  }

  const ShapeRead* ShapeOf(const PartId& part) const {
    for (const auto& [index, shape] : shapes_) {
      if (shape.reading.part.name == part) return &shape;
    }
    return nullptr;
  }

  void ListParts() {
    for (const Part& part : read_.machine.parts) {
      const ShapeRead* shape = ShapeOf(part.name);
      const PartUse* use = read_.machine.FindUse(part.name);
      if (shape == nullptr) {
        read_.notes.push_back(fmt::format("{}: its solid in the file is not known by this name; no STEP file stands beside its sheet.", part.name.text()));
        continue;
      }
      PartRead line;
      line.name = part.name;
      line.in_file = shape->in_file;
      line.quantity = use == nullptr ? 1 : use->quantity;
      line.turned = part.envelope == EnvelopeKind::kTurned;
      line.features = part.features.size();
      line.faces = shape->face_areas_mm2.size();
      double unread_mm3 = 0;
      for (const UnreadRegion& region : shape->reading.unread) {
        line.unread_faces += region.faces.size();
        unread_mm3 += region.volume_mm3;
        read_.unread.push_back({part.name.text(), fmt::format("{} face{}, {:.1f} mm2, {:.2f} mm3 not explained: {}", region.faces.size(),
                                                              region.faces.size() == 1 ? "" : "s", region.area_mm2, region.volume_mm3, region.why)});
      }
      line.unread_share = shape->volume_mm3 > 0 ? unread_mm3 / shape->volume_mm3 : 0;
      for (const auto& [index, one] : shapes_) {
        if (&one == shape) line.size_mm = solid::CalcBoxIn(contents_.shapes[index], one.reading.X_PF).size_mm();
      }
      read_.parts.push_back(line);
    }
  }

  static std::vector<files::Remark> RemarksOf(const std::vector<recognize::Inference>& inferred) {
    std::vector<files::Remark> remarks;
    for (const recognize::Inference& i : inferred) remarks.push_back({i.where, i.words});
    return remarks;
  }

  Result<std::string> SheetOf(std::size_t k) const {
    const Part& part = read_.machine.parts[k];
    for (const recognize::MirrorPair& mirror : assembly_.mirrors) {
      if (mirror.part == part.name) return files::WriteMirror(mirror.of, mirror.axis);
    }
    return files::WritePart(part, RemarksOf(assembly_.parts[k]));
  }

  Status WriteOne(const fs::path& folder, const std::string& name, const std::string& text) {
    read_.written.emplace_back(name);
    return WriteFileAtomically(folder / name, text);
  }

  Status WriteSolid(const fs::path& folder, const PartId& part) {
    for (const auto& [index, shape] : shapes_) {
      if (shape.reading.part.name != part) continue;
      const std::string name = "parts/" + part.text() + ".step";
      read_.written.emplace_back(name);
      return solid::WriteStep({{part.text(), solid::Moved(contents_.shapes[index], shape.reading.X_PF), Pose::Identity()}},
                              (folder / name).string(), {part.text(), read_.machine.display_unit, "2000-01-01T00:00:00"});
    }
    return Ok{};
  }

  Status WriteSheets(const fs::path& folder) {
    read_.written.clear();
    sheets_.clear();
    for (std::size_t k = 0; k < read_.machine.parts.size(); ++k) {
      const PartId& name = read_.machine.parts[k].name;
      const auto sheet = SheetOf(k);
      if (!sheet) return Unexpected(sheet.error());
      const std::string file = "parts/" + name.text() + ".toml";
      sheets_[file] = *sheet;
      if (const Status s = WriteOne(folder, file, *sheet); !s) return s;
    }
    sheets_["machine.toml"] = files::WriteMachine(read_.machine, RemarksOf(assembly_.inferred));
    return WriteOne(folder, "machine.toml", sheets_["machine.toml"]);
  }

  // The last name above a fault's line in what was written: of the feature, joint or requirement it is about.
  std::string NameAt(const Where& where) const {
    const auto sheet = sheets_.find(where.file);
    if (sheet == sheets_.end()) return "";
    std::istringstream lines(sheet->second);
    std::string line, name;
    constexpr std::string_view kName = "name = \"";
    for (int n = 1; n <= where.line && std::getline(lines, line); ++n) {
      if (line.rfind(kName, 0) == 0) name = line.substr(kName.size(), line.find('"', kName.size()) - kName.size());
    }
    return name;
  }

  // What the part keeps without the feature.
  static double TakenBy_mm3(const Part& part, const Feature& feature) {
    Part without = part;
    std::erase_if(without.features, [&](const Feature& f) { return f.name == feature.name; });
    const auto removed = solid::MakeFeatureVolume(part, feature);
    const auto left = solid::MakeDesign(without);
    if (!removed || removed->empty() || !left) return 0;
    const auto taken = solid::CalcCommonVolume_mm3(*left, *removed);
    return taken ? *taken : 0;
  }

  // A feature that its sheet cannot say as it stands becomes a region that was not understood.
  bool DropFeature(Part& part, const std::string& name, const Error& fault) {
    const auto at = std::find_if(part.features.begin(), part.features.end(), [&](const Feature& f) { return f.name.text() == name; });
    if (at == part.features.end()) return false;
    const double taken_mm3 = TakenBy_mm3(part, *at);
    for (auto& [index, shape] : shapes_) {
      if (shape.reading.part.name != part.name) continue;
      UnreadRegion region;
      region.volume_mm3 = taken_mm3;
      region.faces = shape.reading.faces[at->name];
      for (const std::size_t face : region.faces) region.area_mm2 += shape.face_areas_mm2.at(face);
      region.why = fmt::format("{} cannot be said in a sheet: {}", name, fault.message);
      if (region.faces.empty()) continue;
      shape.reading.unread.push_back(region);
      part.unread.push_back(region);
    }
    part.features.erase(at);
    return true;
  }

  bool Drop(const Error& fault) {
    const std::string name = NameAt(fault.where);
    if (name.empty()) return false;
    if (fault.where.file == "machine.toml") {
      const std::size_t joints = std::erase_if(read_.machine.joints, [&](const Joint& j) { return j.name.text() == name; });
      const std::size_t asked = std::erase_if(read_.machine.requirements, [&](const Requirement& r) { return r.name.text() == name; });
      if (joints + asked > 0) read_.notes.push_back(fmt::format("{} was proposed and is left out: {}.", name, fault.message));
      return joints + asked > 0;
    }
    for (Part& part : read_.machine.parts) {
      if (fault.where.file == "parts/" + part.name.text() + ".toml") return DropFeature(part, name, fault);
    }
    return false;
  }

  // Written, and read again as any project is; what does not come back is left out and said.
  Status WriteUntilRead(const fs::path& folder) {
    constexpr int kMostTries = 100;
    Error last;
    for (int i = 0; i < kMostTries; ++i) {
      if (const Status written = WriteSheets(folder); !written) return written;
      Diagnostics faults;
      const auto again = files::LoadProject(folder, {}, faults);
      if (again) return Ok{};
      last = faults.empty() ? again.error() : faults.errors().front();
      bool dropped = false;
      for (const Error& fault : faults.errors()) dropped |= Drop(fault);
      if (!dropped) break;
    }
    return Unexpected(Error{ErrorCode::kInternal, "what was read cannot be written as sheets: " + Format(last), use_.file.string(),
                            "nothing was written; report the file", {}});
  }

  Status Write() {
    use_.work.Report("writing the sheets", 0.95);
    HalfWritten half(use_.into);
    if (const Status made = half.Make(); !made) return made;
    if (const Status sheets = WriteUntilRead(half.folder()); !sheets) return sheets;
    for (const Part& part : read_.machine.parts) {
      if (const Status s = WriteSolid(half.folder(), part.name); !s) return s;
    }
    return half.Keep();
  }

  const ReadUse& use_;
  solid::StepContents contents_;
  std::map<std::size_t, ShapeRead> shapes_;  // by place in contents_.shapes
  recognize::AssemblyReading assembly_;
  std::set<std::string> names_;
  std::map<std::string, std::string> sheets_;  // as last written, by file
  FileRead read_;
};

}  // namespace

Result<FileRead> ReadFile(const ReadUse& use) { return Reader(use).Run(); }

}  // namespace fitwright::service
