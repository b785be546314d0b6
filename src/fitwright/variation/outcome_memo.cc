#include "fitwright/variation/outcome_memo.h"

#include <cstring>

#include "fitwright/base/hash.h"
#include "fitwright/variation/outcome_memo_access.h"

namespace fitwright::variation {
namespace {

constexpr std::string_view kMagic = "fitwright-outcomes/1\n";

class Writer {
 public:
  template <typename T>
  void Put(const T& number) {
    bytes_.append(reinterpret_cast<const char*>(&number), sizeof number);
  }
  void Put(const Fingerprint& print) {
    Put(print.a);
    Put(print.b);
  }
  void Put(const Bits& bits) {
    Put(std::uint64_t{bits.size()});
    bytes_.append(reinterpret_cast<const char*>(bits.data()), bits.size() * sizeof(bits[0]));
  }
  std::string Take() { return std::move(bytes_); }

 private:
  std::string bytes_;
};

class Reader {
 public:
  explicit Reader(std::string_view bytes) : bytes_(bytes) {}
  template <typename T>
  T Number() {
    T number{};
    Raw(&number, sizeof number);
    return number;
  }
  Fingerprint Print() {
    const auto a = Number<std::uint64_t>();
    return {a, Number<std::uint64_t>()};
  }
  Bits Words() {
    const auto count = Number<std::uint64_t>();
    if (count > bytes_.size() / sizeof(std::uint64_t)) ok_ = false;
    Bits bits(ok_ ? count : 0);
    if (!bits.empty()) Raw(bits.data(), bits.size() * sizeof(bits[0]));
    return bits;
  }
  bool ok() const { return ok_; }
  bool at_end() const { return bytes_.empty(); }

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

template <typename T>
std::uint64_t UsedIn(const KeptOutcomes<T>& kept) {
  std::uint64_t count = 0;
  for (const auto& [print, one] : kept) count += one.used ? 1 : 0;
  return count;
}

}  // namespace

OutcomeMemo::OutcomeMemo() : kept_(std::make_unique<Kept>()) {}
OutcomeMemo::~OutcomeMemo() = default;

std::string OutcomeMemo::ToBytes() const {
  const std::lock_guard lock(kept_->mutex);
  Writer out;
  out.Put(UsedIn(kept_->requirements));
  for (const auto& [print, one] : kept_->requirements) {
    if (!one.used) continue;
    out.Put(print);
    out.Put(one.outcome->met);
    out.Put(one.outcome->sum);
    out.Put(one.outcome->squares);
  }
  out.Put(UsedIn(kept_->worked));
  for (const auto& [print, one] : kept_->worked) {
    if (!one.used) continue;
    out.Put(print);
    out.Put(one.outcome->recuts);
    out.Put(one.outcome->spoiled);
  }
  const std::string payload = out.Take();
  Writer head;
  head.Put(StableHash(payload));
  return std::string(kMagic) + head.Take() + payload;
}

bool OutcomeMemo::AddBytes(std::string_view bytes) {
  if (!bytes.starts_with(kMagic)) return false;
  bytes.remove_prefix(kMagic.size());
  std::uint64_t hash = 0;
  if (bytes.size() < sizeof hash) return false;
  std::memcpy(&hash, bytes.data(), sizeof hash);
  bytes.remove_prefix(sizeof hash);
  if (StableHash(bytes) != hash) return false;
  Reader in(bytes);
  KeptOutcomes<Outcome> requirements;
  for (auto left = in.Number<std::uint64_t>(); left > 0 && in.ok(); --left) {
    const Fingerprint print = in.Print();
    Outcome outcome;
    outcome.met = in.Words();
    outcome.sum = in.Number<double>();
    outcome.squares = in.Number<double>();
    requirements[print] = {std::make_shared<const Outcome>(std::move(outcome)), false};
  }
  KeptOutcomes<WorkedOutcomes> worked;
  for (auto left = in.Number<std::uint64_t>(); left > 0 && in.ok(); --left) {
    const Fingerprint print = in.Print();
    WorkedOutcomes outcome;
    outcome.recuts = in.Number<std::int64_t>();
    outcome.spoiled = in.Words();
    worked[print] = {std::make_shared<const WorkedOutcomes>(std::move(outcome)), false};
  }
  if (!in.ok() || !in.at_end()) return false;
  const std::lock_guard lock(kept_->mutex);
  kept_->requirements.merge(requirements);
  kept_->worked.merge(worked);
  return true;
}

}  // namespace fitwright::variation
