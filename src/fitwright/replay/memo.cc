#include "fitwright/replay/memo.h"

#include <algorithm>
#include <cstring>
#include <fstream>
#include <iterator>
#include <system_error>
#include <tuple>
#include <utility>

#include "fitwright/base/hash.h"
#include "fitwright/solid/solid_bytes.h"

namespace fitwright::replay {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view kMagic = "fitwright-replay/1\n";
constexpr std::string_view kEnding = ".piece";

// Plain little records: numbers as they lie in memory, texts with their length.
class Writer {
 public:
  void Put(std::int64_t number) { Raw(&number, sizeof number); }
  void Put(double number) { Raw(&number, sizeof number); }
  void Put(std::string_view text) {
    Put(static_cast<std::int64_t>(text.size()));
    bytes_.append(text);
  }
  void Put(const Vec3& v) {
    for (int i = 0; i < 3; ++i) Put(v[i]);
  }
  std::string Take() { return std::move(bytes_); }

 private:
  void Raw(const void* data, std::size_t size) {
    bytes_.append(static_cast<const char*>(data), size);
  }
  std::string bytes_;
};

class Reader {
 public:
  explicit Reader(std::string_view bytes) : bytes_(bytes) {}
  std::int64_t Int() {
    std::int64_t number = 0;
    Raw(&number, sizeof number);
    return number;
  }
  double Real() {
    double number = 0;
    Raw(&number, sizeof number);
    return number;
  }
  std::string_view Text() {
    const std::int64_t size = Int();
    if (size < 0 || static_cast<std::size_t>(size) > bytes_.size()) {
      ok_ = false;
      return {};
    }
    const std::string_view text = bytes_.substr(0, static_cast<std::size_t>(size));
    bytes_.remove_prefix(static_cast<std::size_t>(size));
    return text;
  }
  Vec3 Point() {
    Vec3 v;
    for (int i = 0; i < 3; ++i) v[i] = Real();
    return v;
  }
  // How many records follow; never more than there are bytes.
  std::int64_t Count() {
    const std::int64_t count = Int();
    if (count < 0 || static_cast<std::size_t>(count) > bytes_.size()) ok_ = false;
    return ok_ ? count : 0;
  }
  bool ok() const { return ok_; }

 private:
  void Raw(void* data, std::size_t size) {
    if (bytes_.size() < size) {
      ok_ = false;
      return;
    }
    std::memcpy(data, bytes_.data(), size);
    bytes_.remove_prefix(size);
  }
  std::string_view bytes_;
  bool ok_ = true;
};

void PutPiece(Writer& out, const Piece& piece) {
  out.Put(static_cast<std::int64_t>(piece.key.high));
  out.Put(static_cast<std::int64_t>(piece.key.low));
  out.Put(static_cast<std::int64_t>(piece.steps));
  out.Put(static_cast<std::int64_t>(piece.threads.size()));
  for (const Thread& t : piece.threads) {
    out.Put(t.entry_P_mm);
    out.Put(t.into_P);
    out.Put(std::string_view(t.designation));
    out.Put(t.depth_mm);
  }
  out.Put(static_cast<std::int64_t>(piece.honed.size()));
  for (const Honed& h : piece.honed) {
    out.Put(h.point_P_mm);
    out.Put(h.into_P);
    out.Put(h.diameter_mm);
  }
}

void ReadPiece(Reader& in, Piece& piece) {
  piece.key.high = static_cast<std::uint64_t>(in.Int());
  piece.key.low = static_cast<std::uint64_t>(in.Int());
  piece.steps = static_cast<int>(in.Int());
  piece.threads.clear();
  piece.honed.clear();
  for (std::int64_t i = in.Count(); i > 0 && in.ok(); --i) {
    Thread t;
    t.entry_P_mm = in.Point();
    t.into_P = in.Point();
    t.designation = std::string(in.Text());
    t.depth_mm = in.Real();
    piece.threads.push_back(t);
  }
  for (std::int64_t i = in.Count(); i > 0 && in.ok(); --i) {
    Honed h;
    h.point_P_mm = in.Point();
    h.into_P = in.Point();
    h.diameter_mm = in.Real();
    piece.honed.push_back(h);
  }
}

void PutFindings(Writer& out, const std::vector<Finding>& findings) {
  out.Put(static_cast<std::int64_t>(findings.size()));
  for (const Finding& f : findings) {
    out.Put(std::string_view(f.part.text()));
    out.Put(std::string_view(f.step.text()));
    out.Put(WordOf(f.rule));
    out.Put(std::string_view(f.say));
  }
}

std::vector<Finding> ReadFindings(Reader& in, bool& known) {
  std::vector<Finding> findings;
  for (std::int64_t i = in.Count(); i > 0 && in.ok(); --i) {
    Finding f;
    f.part = PartId(std::string(in.Text()));
    f.step = StepId(std::string(in.Text()));
    const auto rule = EnumOf<Rule>(in.Text());
    known = known && rule.has_value();
    f.rule = rule.value_or(Rule::kNotMade);
    f.say = std::string(in.Text());
    findings.push_back(std::move(f));
  }
  return findings;
}

bool ReadStanding(Reader& in, Standing& s) {
  if (in.Text() != s.part.text()) return false;
  s.present = in.Int() != 0;
  s.parted_off = in.Int() != 0;
  s.changed = in.Int() != 0;
  if (!s.changed) return in.ok();
  s.volume_mm3 = in.Real();
  s.box_S.min_mm = in.Point();
  s.box_S.max_mm = in.Point();
  ReadPiece(in, s.piece);
  const std::string_view bytes = in.Text();
  if (!in.ok()) return false;
  const auto body = solid::FromBytes(bytes);
  if (!body) return false;
  s.solid_S = *body;
  return true;
}

}  // namespace

Memo::Memo(fs::path folder, std::int64_t bytes_most)
    : folder_(std::move(folder)), bytes_most_(bytes_most) {
  if (folder_.empty()) return;
  std::error_code failed;
  fs::create_directories(folder_, failed);
  if (failed) folder_.clear();
}

std::shared_ptr<const StepResult> Memo::FindStep(const Key& key) const {
  const std::lock_guard lock(mutex_);
  const auto at = steps_.find(key);
  return at == steps_.end() ? nullptr : at->second;
}

void Memo::KeepStep(const Key& key, std::shared_ptr<const StepResult> result) {
  const std::lock_guard lock(mutex_);
  if (!frozen_) steps_.emplace(key, std::move(result));
}

std::optional<ReplayPart> Memo::FindJudged(const Key& key) const {
  const std::lock_guard lock(mutex_);
  const auto at = judged_.find(key);
  return at == judged_.end() ? std::nullopt : std::optional<ReplayPart>(at->second);
}

void Memo::KeepJudged(const Key& key, const ReplayPart& judged) {
  const std::lock_guard lock(mutex_);
  if (!frozen_) judged_.emplace(key, judged);
}

std::optional<solid::Solid> Memo::FindDesign(const PartId& sheet) const {
  const std::lock_guard lock(mutex_);
  const auto at = designs_.find(sheet);
  return at == designs_.end() ? std::nullopt : std::optional<solid::Solid>(at->second);
}

void Memo::KeepDesign(const PartId& sheet, const solid::Solid& design) const {
  const std::lock_guard lock(mutex_);
  designs_.emplace(sheet, design);
}

void Memo::Freeze() {
  const std::lock_guard lock(mutex_);
  frozen_ = true;
}

std::optional<std::string> Memo::ReadPayload(const Key& key) const {
  if (folder_.empty()) return std::nullopt;
  std::ifstream file(folder_ / (key.Hex() + std::string(kEnding)), std::ios::binary);
  if (!file) return std::nullopt;
  std::string bytes((std::istreambuf_iterator<char>(file)), std::istreambuf_iterator<char>());
  if (!bytes.starts_with(kMagic)) return std::nullopt;
  Reader in(std::string_view(bytes).substr(kMagic.size()));
  const auto hash = static_cast<std::uint64_t>(in.Int());
  const std::string_view payload = in.Text();
  if (!in.ok() || StableHash(payload, key.low) != hash) return std::nullopt;
  return std::string(payload);
}

void Memo::WritePayload(const Key& key, const std::string& payload) const {
  if (folder_.empty()) return;
  Writer out;
  out.Put(static_cast<std::int64_t>(StableHash(payload, key.low)));
  out.Put(std::string_view(payload));
  const fs::path path = folder_ / (key.Hex() + std::string(kEnding));
  const fs::path half = folder_ / (key.Hex() + ".half");
  std::error_code failed;
  {
    std::ofstream file(half, std::ios::binary | std::ios::trunc);
    file << kMagic << out.Take();
    if (!file.flush()) {
      fs::remove(half, failed);
      return;
    }
  }
  fs::rename(half, path, failed);
}

std::optional<StepResult> Memo::LoadSetup(const Key& key, const Floor& entering) const {
  const auto payload = ReadPayload(key);
  if (!payload) return std::nullopt;
  Reader in(*payload);
  bool known = true;
  StepResult result;
  result.findings = ReadFindings(in, known);
  result.floor = entering;
  if (!known || in.Count() != static_cast<std::int64_t>(entering.size())) return std::nullopt;
  for (Standing& s : result.floor) {
    if (!ReadStanding(in, s)) return std::nullopt;
  }
  return result;
}

void Memo::SaveSetup(const Key& key, const StepResult& result) const {
  if (folder_.empty()) return;
  Writer out;
  PutFindings(out, result.findings);
  out.Put(static_cast<std::int64_t>(result.floor.size()));
  for (const Standing& s : result.floor) {
    out.Put(std::string_view(s.part.text()));
    out.Put(static_cast<std::int64_t>(s.present));
    out.Put(static_cast<std::int64_t>(s.parted_off));
    out.Put(static_cast<std::int64_t>(s.changed));
    if (!s.changed) continue;
    out.Put(s.volume_mm3);
    out.Put(s.box_S.min_mm);
    out.Put(s.box_S.max_mm);
    PutPiece(out, s.piece);
    const auto bytes = solid::ToBytes(s.solid_S);
    if (!bytes) return;
    out.Put(std::string_view(*bytes));
  }
  WritePayload(key, out.Take());
}

std::optional<Volumes> Memo::LoadVolumes(const Key& key) const {
  const auto payload = ReadPayload(key);
  if (!payload) return std::nullopt;
  Reader in(*payload);
  Volumes volumes;
  volumes.design_mm3 = in.Real();
  volumes.made_mm3 = in.Real();
  volumes.difference_mm3 = in.Real();
  return in.ok() ? std::optional<Volumes>(volumes) : std::nullopt;
}

void Memo::SaveVolumes(const Key& key, const Volumes& volumes) const {
  Writer out;
  out.Put(volumes.design_mm3);
  out.Put(volumes.made_mm3);
  out.Put(volumes.difference_mm3);
  WritePayload(key, out.Take());
}

void Memo::Trim() const {
  if (folder_.empty()) return;
  struct Kept {
    fs::file_time_type time;
    std::string name;
    std::int64_t bytes;
  };
  std::vector<Kept> files;
  std::int64_t total = 0;
  std::error_code failed;
  for (const auto& entry : fs::directory_iterator(folder_, failed)) {
    if (entry.path().extension() != kEnding) continue;
    const auto bytes = static_cast<std::int64_t>(entry.file_size(failed));
    if (failed) continue;
    files.push_back({entry.last_write_time(failed), entry.path().filename().string(), bytes});
    total += bytes;
  }
  std::sort(files.begin(), files.end(), [](const Kept& a, const Kept& b) {
    return std::tie(a.time, a.name) < std::tie(b.time, b.name);
  });
  for (const Kept& file : files) {
    if (total <= bytes_most_) return;
    if (fs::remove(folder_ / file.name, failed)) total -= file.bytes;
  }
}

}  // namespace fitwright::replay
