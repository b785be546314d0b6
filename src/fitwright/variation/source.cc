#include "fitwright/variation/source.h"

namespace fitwright::variation {

std::uint64_t MixKeys(std::uint64_t a, std::uint64_t b) {
  std::uint64_t h = a ^ (b + 0x9e3779b97f4a7c15ULL + (a << 12) + (a >> 4));
  h ^= h >> 30;
  h *= 0xbf58476d1ce4e5b9ULL;
  h ^= h >> 27;
  h *= 0x94d049bb133111ebULL;
  return h ^ (h >> 31);
}

namespace {

std::uint64_t NameOf(const Source& source) { return MixKeys(source.key, static_cast<std::uint64_t>(source.law)); }

}  // namespace

std::optional<SourceIndex> SourceTable::Find(const Source& source) const {
  const auto it = by_key_.find(NameOf(source));
  if (it == by_key_.end()) return std::nullopt;
  return it->second;
}

SourceIndex SourceTable::Add(const Source& source) {
  constexpr std::size_t kUsual = 2048;  // in a machine of twenty parts
  if (sources_.empty()) {
    sources_.reserve(kUsual);
    by_key_.reserve(kUsual);
  }
  const std::uint64_t name = NameOf(source);
  const auto [it, is_new] = by_key_.try_emplace(name, static_cast<SourceIndex>(sources_.size()));
  if (is_new) {
    sources_.push_back(source);
    sources_.back().setup = setup_;
  } else if (setup_ >= 0 && sources_[it->second].setup != setup_) {
    shared_.push_back({it->second, setup_});
  }
  if (noted_ != nullptr) noted_->push_back(it->second);
  return it->second;
}

SourceIndex SourceTable::AddWorked(Source source, const WorkedSize& worked) {
  source.law = Law::kWorked;
  source.worked = static_cast<int>(worked_.size());
  const std::size_t before = sources_.size();
  const SourceIndex index = Add(source);
  if (sources_.size() > before) worked_.push_back(worked);
  return index;
}

}  // namespace fitwright::variation
