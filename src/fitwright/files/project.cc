#include "fitwright/files/project.h"

#include <algorithm>
#include <set>

#include "fitwright/base/hash.h"
#include "fitwright/files/choices_reader.h"
#include "fitwright/files/machine_reader.h"
#include "fitwright/files/part_reader.h"
#include "fitwright/files/shop_reader.h"
#include "fitwright/model/already_made.h"
#include "fitwright/model/mirror.h"
#include "fitwright/model/validate.h"

namespace fitwright::files {
namespace {

namespace fs = std::filesystem;

// What the hash is taken over, in reading order.
class InputHash {
 public:
  void Add(std::string_view name, std::string_view bytes) {
    hash_ = StableHash(fmt::format("{}:{}:", name, bytes.size()), hash_);
    hash_ = StableHash(bytes, hash_);
  }
  std::string Text() const { return fmt::format("{:016x}", hash_); }

 private:
  std::uint64_t hash_ = 0;
};

// The place of a field path: its own, else that of what it belongs to.
void AddFault(const ModelFault& fault, ReadLog& log) {
  std::string path = fault.path;
  Error error{fault.code, fault.message, fault.value, fault.remedy, {}};
  while (true) {
    const auto found = log.located.find(path);
    if (found != log.located.end()) {
      error.where = found->second.where;
      if (path == fault.path && !found->second.value.empty()) error.value = found->second.value;
      break;
    }
    const std::size_t dot = path.rfind('.');
    if (dot == std::string::npos) {
      error.where.key = fault.path;
      break;
    }
    path.resize(dot);
  }
  log.faults.Add(std::move(error));
}

void AddFaults(const std::vector<ModelFault>& faults, ReadLog& log) {
  for (const ModelFault& fault : faults) AddFault(fault, log);
}

class Loader {
 public:
  Loader(fs::path dir, const LoadOptions& options, Diagnostics& faults)
      : dir_(std::move(dir)), options_(options), log_(faults) {}

  Result<Project> Load() {
    project_.dir = dir_;
    const auto machine = Source("machine.toml");
    if (machine) {
      project_.machine = ReadMachine(*machine, log_);
      LoadSheets(*machine);
    }
    LoadShopFile();
    LoadChoicesFile();
    Validate();
    if (!log_.faults.empty()) {
      AddUnitSlips();
      return Unexpected(log_.faults.errors().front());
    }
    NoteUnusedSheets();
    project_.assumed = std::move(log_.assumed);
    project_.warnings = std::move(log_.warnings);
    project_.inputs_hash = hash_.Text();
    return std::move(project_);
  }

 private:
  // Reads, hashes and parses; faults are reported at `blame` when it names the file.
  std::optional<SourceFile> Source(const std::string& name, const Located* blame = nullptr) {
    return Parse(ReadBytes(dir_ / name, name), name, blame);
  }
  std::optional<SourceFile> Parse(Result<std::string> bytes, const std::string& name,
                                  const Located* blame) {
    if (!bytes) {
      Error error = bytes.error();
      if (blame != nullptr) {
        error.message = fmt::format("{}: {}", name, error.message);
        error.where = blame->where;
        error.value = blame->value;
      }
      log_.faults.Add(std::move(error));
      return std::nullopt;
    }
    hash_.Add(name, *bytes);
    auto source = ParseSource(*std::move(bytes), name);
    if (!source) {
      log_.faults.Add(source.error());
      return std::nullopt;
    }
    return *std::move(source);
  }

  static std::string SheetFile(const std::string& name) { return "parts/" + name + ".toml"; }

  void LoadSheets(const SourceFile&) {
    for (const PartUse& use : project_.machine.uses) {
      const auto found = log_.located.find(fmt::format("uses.{}.sheet", use.part.text()));
      LoadSheet(use.part.text(), found == log_.located.end() ? Located{} : found->second);
    }
    Mirrors();
    for (const PartUse& use : project_.machine.uses) {
      const auto read = sheets_.find(use.part.text());
      if (read == sheets_.end()) continue;
      project_.machine.parts.push_back(read->second.part);
    }
  }

  void LoadSheet(const std::string& name, const Located& blame) {
    if (sheets_.contains(name) || missing_.contains(name)) return;
    const auto source = Source(SheetFile(name), &blame);
    if (!source) {
      missing_.insert(name);
      return;
    }
    SheetRead read = ReadPart(*source, name, log_);
    const auto mirror = read.mirror;
    sheets_.emplace(name, std::move(read));
    if (!mirror) return;
    const auto found = log_.located.find(fmt::format("parts.{}.mirror_of", name));
    LoadSheet(mirror->of, found == log_.located.end() ? Located{} : found->second);
  }

  void Mirrors() {
    for (auto& [name, read] : sheets_) {
      if (!read.mirror) continue;
      const auto original = sheets_.find(read.mirror->of);
      if (original == sheets_.end()) continue;  // reported when it was looked for
      if (original->second.mirror) {
        AddFault({ErrorCode::kMirror, fmt::format("parts.{}.mirror_of", name),
                  fmt::format("{} is a mirror part itself", read.mirror->of),
                  "name the part that has the features", ""},
                 log_);
        continue;
      }
      if (log_.faults.empty()) {
        read.part = MirrorPart(original->second.part, PartId(name), read.mirror->axis);
      }
    }
  }

  void LoadShopFile() {
    Shop shop = DefaultShop();
    hash_.Add("default_shop.toml", kDefaultShopText);
    hash_.Add("spreads.csv", kSpreadsText);
    std::error_code trouble;
    std::optional<SourceFile> source;
    if (options_.shop_file) {
      const std::string name = options_.shop_file->filename().string();
      source = Parse(ReadBytes(*options_.shop_file, name), name, nullptr);
    } else if (fs::exists(dir_ / "shop.toml", trouble)) {
      source = Source("shop.toml");
    } else {
      log_.assumed.push_back(
          "No shop.toml: the default shop is taken, its machines, tools and what they hold.");
    }
    if (source) {
      shop.is_default = false;
      ReadShop(*source, shop, log_);
      if (log_.faults.empty()) AddFaults(ValidateShop(shop), log_);
    }
    if (options_.shop_level) {
      shop.level = *options_.shop_level;
      hash_.Add("level", WordOf(shop.level));
    }
    NoteSpreads(shop);
    project_.shop = std::move(shop);
  }

  void NoteSpreads(const Shop& shop) {
    std::size_t own = 0;
    for (const auto& [id, spread] : shop.spreads) {
      if (spread.origin != SpreadOrigin::kDefault) ++own;
    }
    log_.assumed.push_back(
        fmt::format("{} of {} spreads are the {} shop's figures, not measured in this one.",
                    shop.spreads.size() - own, shop.spreads.size(), WordOf(shop.level)));
  }

  void LoadChoicesFile() {
    std::error_code trouble;
    if (!fs::exists(dir_ / "choices.toml", trouble)) return;
    const auto source = Source("choices.toml");
    if (source) project_.choices = ReadChoices(*source, project_.machine.display_unit, log_);
  }

  void Validate() {
    const Machine& machine = project_.machine;
    const bool clean = log_.faults.empty();
    if (machine.uses.empty() || !missing_.empty()) return;
    AddFaults(ValidateMachine(machine, clean ? ValidateDepth::kGeometry : ValidateDepth::kNames),
              log_);
    if (!log_.faults.empty()) return;
    DeriveRequirements(project_.machine, log_);
    AddFaults(ValidateChoices(project_.choices, machine, project_.shop), log_);
    if (log_.faults.empty()) project_.machine = WithAlreadyMade(std::move(project_.machine), project_.choices, log_.assumed);
  }

  // What only would have been a warning may be what spoilt the rest.
  void AddUnitSlips() {
    for (const UnitSlip& slip : log_.unit_slips) {
      log_.faults.Add({ErrorCode::kOutOfRange, slip.say, slip.unit, slip.remedy, {slip.file, 0, 0, "unit"}});
    }
  }

  void NoteUnusedSheets() {
    std::error_code trouble;
    std::vector<std::string> unused;
    for (const auto& entry : fs::directory_iterator(dir_ / "parts", trouble)) {
      const fs::path& path = entry.path();
      if (path.extension() != ".toml" || sheets_.contains(path.stem().string())) continue;
      unused.push_back(path.filename().string());
    }
    std::sort(unused.begin(), unused.end());
    for (const std::string& name : unused) {
      log_.warnings.push_back(
          fmt::format("parts/{}: no [[part]] of machine.toml uses this sheet.", name));
    }
  }

  fs::path dir_;
  const LoadOptions& options_;
  ReadLog log_;
  InputHash hash_;
  Project project_;
  std::map<std::string, SheetRead> sheets_;
  std::set<std::string> missing_;
};

}  // namespace

Result<Project> LoadProject(const fs::path& dir, const LoadOptions& options, Diagnostics& faults) {
  return Loader(dir, options, faults).Load();
}

namespace {

Shop ReadDefaultShop() {
  Diagnostics faults;
  ReadLog log(faults);
  Shop shop;
  auto spreads = ParseSpreads(kSpreadsText, "spreads.csv");
  FW_CHECK(spreads.has_value(), spreads ? "" : Format(spreads.error()));
  shop.spreads = *std::move(spreads);
  const auto source = ParseSource(std::string(kDefaultShopText), "default_shop.toml");
  FW_CHECK(source.has_value(), source ? "" : Format(source.error()));
  ReadShop(*source, shop, log);
  FW_CHECK(faults.empty(), faults.empty() ? "" : Format(faults.errors().front()));
  return shop;
}

}  // namespace

Shop DefaultShop() {
  static const Shop shop = ReadDefaultShop();  // built in: one reading serves the whole run
  return shop;
}

Result<Shop> LoadShop(const fs::path& file, Diagnostics& faults) {
  ReadLog log(faults);
  const std::string name = file.filename().string();
  const auto bytes = ReadBytes(file, name);
  auto source = bytes ? ParseSource(*bytes, name) : Result<SourceFile>(Unexpected(bytes.error()));
  if (!source) {
    faults.Add(source.error());
    return Unexpected(source.error());
  }
  Shop shop = DefaultShop();
  shop.is_default = false;
  const std::size_t before = faults.count();
  ReadShop(*source, shop, log);
  if (faults.count() == before) AddFaults(ValidateShop(shop), log);
  if (faults.count() > before)
    return Unexpected(faults.errors()[std::min(before, faults.errors().size() - 1)]);
  return shop;
}

}  // namespace fitwright::files
