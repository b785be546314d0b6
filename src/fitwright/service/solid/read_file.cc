#include "fitwright/service/solid/read_file.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <fstream>
#include <iterator>
#include <map>
#include <optional>
#include <set>
#include <sstream>
#include <string_view>
#include <system_error>
#include <utility>

#include "fitwright/base/atomic_file.h"
#include "fitwright/base/diagnostics.h"
#include "fitwright/base/parallel.h"
#include "fitwright/files/machine_writer.h"
#include "fitwright/files/part_writer.h"
#include "fitwright/files/project.h"
#include "fitwright/files/proposals_reader.h"
#include "fitwright/recognize/assembly_reading.h"
#include "fitwright/recognize/stated_limits.h"
#include "fitwright/service/solid/confirmed_project.h"
#include "fitwright/service/solid/project_folder.h"
#include "fitwright/solid/build.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/face_graph.h"
#include "fitwright/solid/measure.h"
#include "fitwright/solid/step_io.h"
#include "fitwright/solid/step_reading.h"

namespace fitwright::service {
namespace {

namespace fs = std::filesystem;

class Reader {
 public:
  explicit Reader(const ReadUse& use) : use_(use) {}

  Result<FileRead> Run() {
    if (const Status target = CheckTarget(); !target) return Unexpected(target.error());
    use_.work.Report("reading the file", 0);
    auto contents = solid::ReadStep(use_.file.string(), use_.limits);
    if (!contents) return Unexpected(contents.error());
    contents_ = *std::move(contents);
    read_.schema = contents_.schema;
    read_.notes = contents_.notes;
    if (const Status shapes = ReadShapes(); !shapes) return Unexpected(shapes.error());
    if (const Status known = TakeConfirmed(); !known) return Unexpected(known.error());
    if (const Status assembled = Assemble(); !assembled) return Unexpected(assembled.error());
    if (const Status written = Write(); !written) return Unexpected(written.error());
    ListParts();
    return std::move(read_);
  }

 private:
  // The project there, or the one named, is loaded before the file is read: its faults come first.
  Status CheckTarget() {
    over_ = use_.confirm_from.empty() && HoldsProject(use_.into);
    if (!over_) {
      if (const Status empty = CheckEmpty(use_.into); !empty) return empty;
      if (use_.confirm_from.empty()) return Ok{};
    }
    Diagnostics faults;
    auto confirmed = files::LoadProject(over_ ? use_.into : use_.confirm_from, {}, faults);
    if (!confirmed) return Unexpected(confirmed.error());
    confirmed_ = *std::move(confirmed);
    return Ok{};
  }

  Status TakeConfirmed() {
    if (!confirmed_) return Ok{};
    auto carried = CarryProject(*confirmed_, contents_, shapes_, use_.work);
    if (!carried) return Unexpected(carried.error());
    carried_ = *std::move(carried);
    read_.kept = carried_.kept;
    read_.changes = carried_.changes;
    for (const files::Remark& one : carried_.machine_remarks) read_.proposed.push_back({one.where, one.words});
    for (const auto& [part, sheet] : carried_.sheets) {
      for (const files::Remark& one : sheet.remarks) read_.proposed.push_back({part.text() + "." + one.where, one.words});
    }
    return Ok{};
  }

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

  // What one shape of the file is read as, for itself: many are at a time.
  struct ShapeTry {
    std::optional<solid::FaceGraph> graph;
    std::string fault;  // where it has none
    std::optional<Result<recognize::PartReading>> reading;
  };

  ShapeTry TryShape(std::size_t shape) const {
    ShapeTry tried;
    if (use_.work.cancelled()) return tried;
    auto graphs = solid::MakeFaceGraphs(contents_.shapes[shape], {}, contents_.face_labels[shape]);
    if (!graphs || graphs->empty()) {
      tried.fault = graphs ? "nothing is inside" : graphs.error().message;
      return tried;
    }
    recognize::PartReadingSettings settings;
    settings.material = use_.material;
    settings.work.cancel = use_.work.cancel;
    tried.graph = std::move(graphs->front());
    tried.reading.emplace(recognize::ReadPart(*tried.graph, contents_.shapes[shape], settings));
    return tried;
  }

  Status KeepShape(std::size_t shape, ShapeTry& tried) {
    const std::string in_file = NameInFile(shape);
    if (!tried.graph) {
      read_.notes.push_back(fmt::format("{}: left out, its faces could not be read: {}.", in_file.empty() ? "a solid" : in_file, tried.fault));
      return Ok{};
    }
    if (!*tried.reading) return Unexpected(tried.reading->error());
    recognize::PartReading& reading = **tried.reading;
    reading.part.name = PartId(FreeName(SheetName(in_file)));
    TakeLimits(shape, *tried.graph, reading);
    reading.part.unread = reading.unread;
    std::vector<double> areas_mm2;
    for (const solid::GraphFace& face : tried.graph->faces) areas_mm2.push_back(face.area_mm2);
    shapes_[shape] = {std::move(reading), in_file, std::move(areas_mm2), tried.graph->volume_mm3};
    return Ok{};
  }

  // Some at a time, so that it can be said how far it is.
  Status ReadShapes() {
    constexpr std::size_t kAtATime = 8;
    const std::size_t count = contents_.shapes.size();
    for (std::size_t from = 0; from < count; from += kAtATime) {
      use_.work.Report(fmt::format("reading the parts, {} of {}", from + 1, count),
                       0.05 + 0.85 * static_cast<double>(from) / static_cast<double>(count));
      std::vector<ShapeTry> tries(std::min(kAtATime, count - from));
      ParallelFor(tries.size(), 0, [&](std::size_t i) { tries[i] = TryShape(from + i); });
      if (use_.work.cancelled()) return Unexpected(Error{ErrorCode::kStopped, "stopped before the file was read", {}, {}, {}});
      for (std::size_t i = 0; i < tries.size(); ++i) {
        if (const Status kept = KeepShape(from + i, tries[i]); !kept) return kept;
      }
    }
    return Ok{};
  }

  void TakeLimits(std::size_t shape, const solid::FaceGraph& graph,
                  recognize::PartReading& reading) {
    std::vector<solid::StatedLimit> own;
    for (const solid::StatedLimit& limit : contents_.limits) {
      if (limit.shape == shape) own.push_back(limit);
    }
    for (const std::string& words : recognize::TakeStatedLimits(graph, own, reading))
      read_.notes.push_back(fmt::format("{}: {}", reading.part.name.text(), words));
  }

  Status Assemble() {
    std::vector<recognize::PlacedReading> placed;
    for (const solid::PlacedShape& p : contents_.placed) {
      const auto shape = shapes_.find(p.shape);
      if (shape == shapes_.end() || carried_.shapes.contains(p.shape)) continue;
      const recognize::PartReading& reading = shape->second.reading;
      placed.push_back({reading, p.X_WF * reading.X_PF.inverse(), p.shape});
    }
    auto assembly = recognize::ReadAssembly(placed, use_.file.stem().string(), carried_.base);
    if (!assembly) return Unexpected(assembly.error());
    assembly_ = *std::move(assembly);
    read_.machine = assembly_.machine;
    if (!confirmed_) read_.machine.display_unit = contents_.written_in;
    for (const recognize::Inference& i : assembly_.inferred) read_.proposed.push_back({i.where, i.words});
    for (std::size_t k = 0; k < assembly_.parts.size(); ++k) {
      const PartId& part = assembly_.machine.parts[k].name;
      source_of_[part] = assembly_.sources[k];
      for (const recognize::Inference& i : assembly_.parts[k]) read_.proposed.push_back({part.text() + "." + i.where, i.words});
      const bool fresh = confirmed_ && !carried_.sheets.contains(part);
      if (fresh) read_.changes.push_back({part.text(), "new: the project had no such part"});
    }
    return Ok{};
  }

  ShapeRead* ShapeOf(const PartId& part) {
    const auto source = source_of_.find(part);
    return source == source_of_.end() ? nullptr : &shapes_.at(source->second.shape);
  }

  void ListParts() {
    for (const Part& part : read_.machine.parts) {
      const ShapeRead* shape = ShapeOf(part.name);
      const PartUse* use = read_.machine.FindUse(part.name);
      if (shape == nullptr) continue;
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
      const recognize::PartSource& source = source_of_.at(part.name);
      line.size_mm = solid::CalcBoxIn(contents_.shapes[source.shape], source.X_PF).size_mm();
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
    auto remarks = RemarksOf(assembly_.parts[k]);
    const auto carried = carried_.sheets.find(part.name);
    if (carried == carried_.sheets.end()) return files::WritePart(part, remarks);
    if (!carried->second.text.empty()) return carried->second.text;
    remarks.insert(remarks.begin(), carried->second.remarks.begin(), carried->second.remarks.end());
    auto sheet = files::WritePart(part, remarks);
    if (sheet) *sheet += files::WriteGoneNames(carried->second.gone);
    return sheet;
  }

  // The confirmed file itself where nothing of it changed.
  std::string MachineSheet() const {
    auto remarks = carried_.machine_remarks;
    for (const files::Remark& one : RemarksOf(assembly_.inferred)) remarks.push_back(one);
    if (confirmed_ && files::WriteMachine(read_.machine) == files::WriteMachine(confirmed_->machine)) {
      std::ifstream in(confirmed_->dir / "machine.toml", std::ios::binary);
      return {std::istreambuf_iterator<char>(in), {}};
    }
    return files::WriteMachine(read_.machine, remarks);
  }

  Status WriteOne(const fs::path& folder, const std::string& name, const std::string& text) {
    read_.written.emplace_back(name);
    return WriteFileAtomically(folder / name, text);
  }

  Status WriteSolid(const fs::path& folder, const PartId& part) {
    const auto source = source_of_.find(part);
    if (source == source_of_.end()) return Ok{};
    const std::string name = "parts/" + part.text() + ".step";
    read_.written.emplace_back(name);
    const solid::Solid solid_P = solid::Moved(contents_.shapes[source->second.shape], source->second.X_PF);
    return solid::WriteStep({{part.text(), solid_P, Pose::Identity()}}, (folder / name).string(),
                            {part.text(), read_.machine.display_unit, "2000-01-01T00:00:00"});
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
    sheets_["machine.toml"] = MachineSheet();
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
    ShapeRead* shape = ShapeOf(part.name);
    if (shape != nullptr && !shape->reading.faces[at->name].empty()) {
      UnreadRegion region;
      region.volume_mm3 = taken_mm3;
      region.faces = shape->reading.faces[at->name];
      for (const std::size_t face : region.faces) region.area_mm2 += shape->face_areas_mm2.at(face);
      region.why = fmt::format("{} cannot be said in a sheet: {}", name, fault.message);
      shape->reading.unread.push_back(region);
      part.unread.push_back(region);
    }
    part.features.erase(at);
    return true;
  }

  // A mirror's sheet has nothing that could be left out: it is written out as a part of its own.
  bool WriteOutMirror(Part& part) {
    const std::size_t mirrors = std::erase_if(assembly_.mirrors, [&](const recognize::MirrorPair& m) { return m.part == part.name; });
    if (mirrors == 0) return false;
    part.mirror_of.reset();
    if (const ShapeRead* shape = ShapeOf(part.name)) part.unread = shape->reading.unread;
    return true;
  }

  // Nothing that was read of it makes a sheet: the block around it, all of it shaped by hand.
  bool WriteAsBlock(Part& part, const Error& fault) {
    const auto source = source_of_.find(part.name);
    const bool plain = part.envelope == EnvelopeKind::kBlock && part.features.empty();
    if (source == source_of_.end() || plain) return false;
    ShapeRead& shape = shapes_.at(source->second.shape);
    UnreadRegion all;
    for (std::size_t face = 0; face < shape.face_areas_mm2.size(); ++face) {
      all.faces.push_back(face);
      all.area_mm2 += shape.face_areas_mm2[face];
    }
    part.envelope = EnvelopeKind::kBlock;
    part.features.clear();
    part.block_P = solid::CalcBoxIn(contents_.shapes[source->second.shape], source->second.X_PF);
    part.stock = {};
    part.stock.proposed = true;
    part.stock.box_P = part.block_P;
    all.volume_mm3 = part.block_P.size_mm().prod() - shape.volume_mm3;
    all.why = "no sheet can say what was read here: " + fault.message;
    part.unread = {all};
    shape.reading.unread = part.unread;
    return true;
  }

  bool DropFromSheet(Part& part, const std::string& name, const Error& fault) {
    const auto carried = carried_.sheets.find(part.name);
    if (carried != carried_.sheets.end() && !carried->second.text.empty()) {
      carried->second.text.clear();
      return true;
    }
    if (WriteOutMirror(part)) return true;
    return (!name.empty() && DropFeature(part, name, fault)) || WriteAsBlock(part, fault);
  }

  bool Drop(const Error& fault) {
    const std::string name = NameAt(fault.where);
    if (fault.where.file == "choices.toml" && !without_choices_) {
      without_choices_ = true;
      read_.notes.push_back(fmt::format("choices.toml does not fit what was read: {} ({}). {}", fault.message, fault.value,
                                        over_ ? "It stands as it was: mend it before planning." : "It was not taken along."));
      return true;
    }
    if (fault.where.file == "machine.toml" && !name.empty()) {
      const std::size_t joints = std::erase_if(read_.machine.joints, [&](const Joint& j) { return j.name.text() == name; });
      const std::size_t asked = std::erase_if(read_.machine.requirements, [&](const Requirement& r) { return r.name.text() == name; });
      if (joints + asked > 0) read_.notes.push_back(fmt::format("{} was proposed and is left out: {}.", name, fault.message));
      return joints + asked > 0;
    }
    for (Part& part : read_.machine.parts) {
      if (fault.where.file == "parts/" + part.name.text() + ".toml") return DropFromSheet(part, name, fault);
    }
    return false;
  }

  // The shop and the choices of the confirmed project, for reading the sheets as they will be read.
  Status TakeAlong(const fs::path& folder) {
    if (!confirmed_) return Ok{};
    for (const char* name : {"shop.toml", "choices.toml"}) {
      std::error_code failed;
      if (std::string_view(name) == "choices.toml" && without_choices_) {
        fs::remove(folder / name, failed);
        continue;
      }
      if (!fs::exists(confirmed_->dir / name, failed)) continue;
      fs::copy_file(confirmed_->dir / name, folder / name, fs::copy_options::overwrite_existing, failed);
      if (failed) return Unexpected(CannotWrite(folder / name, failed.message(), "check the path and its rights"));
      if (!over_) read_.written.emplace_back(name);
    }
    return Ok{};
  }

  // As proposed where the sheets say none.
  void TakeStocks(const Machine& again) {
    for (Part& part : read_.machine.parts) {
      if (const Part* same = again.FindPart(part.name)) part.stock = same->stock;
    }
  }

  // Written, and read again as any project is; what does not come back is left out and said.
  Status WriteUntilRead(const fs::path& folder) {
    constexpr int kMostTries = 100;
    Error last;
    for (int i = 0; i < kMostTries; ++i) {
      if (const Status written = WriteSheets(folder); !written) return written;
      if (const Status along = TakeAlong(folder); !along) return along;
      Diagnostics faults;
      const auto again = files::LoadProject(folder, {}, faults);
      if (again) {
        TakeStocks(again->machine);
        return Ok{};
      }
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
    return over_ ? half.KeepOver(read_.written) : half.Keep();
  }

  const ReadUse& use_;
  solid::StepContents contents_;
  ShapesRead shapes_;
  bool over_ = false;             // the project there is brought up to the file
  bool without_choices_ = false;
  std::optional<files::Project> confirmed_;
  CarriedProject carried_;
  std::map<PartId, recognize::PartSource> source_of_;
  recognize::AssemblyReading assembly_;
  std::set<std::string> names_;
  std::map<std::string, std::string> sheets_;  // as last written, by file
  FileRead read_;
};

}  // namespace

std::string SheetName(const std::string& in_file) {
  constexpr std::size_t kLongestName = 40;
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

Result<FileRead> ReadFile(const ReadUse& use) { return Reader(use).Run(); }

}  // namespace fitwright::service
