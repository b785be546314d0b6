#include "fitwright/base/id.h"

#include <array>
#include <memory>
#include <mutex>
#include <shared_mutex>
#include <unordered_map>

namespace fitwright {
namespace {

std::uint64_t HeadOf(std::string_view text) {
  std::uint64_t head = 0;
  for (std::size_t i = 0; i < sizeof head; ++i) head = head << 8 | (i < text.size() ? static_cast<unsigned char>(text[i]) : 0);
  return head;
}

class Texts {
 public:
  const IdText* Find(std::string_view text, std::size_t hash) {
    {
      const std::shared_lock lock(mutex_);
      if (const auto known = texts_.find(text); known != texts_.end()) return known->second.get();
    }
    auto own = std::make_unique<const IdText>(IdText{std::string(text), HeadOf(text), hash});
    const std::unique_lock lock(mutex_);
    const std::string_view key = own->text;
    return texts_.try_emplace(key, std::move(own)).first->second.get();
  }

 private:
  std::shared_mutex mutex_;
  std::unordered_map<std::string_view, std::unique_ptr<const IdText>> texts_;  // by a view of its own text
};

}  // namespace

const IdText* TheIdText(std::string_view text) {
  if (text.empty()) return nullptr;
  static auto& shards = *new std::array<Texts, 16>;  // never taken down: ids with static storage may outlive everything
  const std::size_t hash = std::hash<std::string_view>()(text);
  return shards[hash % shards.size()].Find(text, hash);
}

const std::string& NoText() {
  static const std::string none;
  return none;
}

}  // namespace fitwright
