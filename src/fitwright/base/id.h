// Tagged string ids: a PartId is not a FeatureId. Ordered by text, so that ties break alike everywhere.
#pragma once

#include <compare>
#include <cstdint>
#include <functional>
#include <string>
#include <string_view>

namespace fitwright {

struct IdText {
  std::string text;
  std::uint64_t head = 0;  // the first eight bytes, the first one highest: ordered as they are
  std::size_t hash = 0;
};

// The one that there is of each text, for as long as the program runs; null of no text. For many threads.
const IdText* TheIdText(std::string_view text);
const std::string& NoText();

// As small as a pointer: plans hold and copy many. Each text that ever was an id stays in memory.
template <typename Tag>
class Id {
 public:
  Id() = default;
  explicit Id(std::string_view text) : one_(TheIdText(text)) {}
  const std::string& text() const { return one_ == nullptr ? NoText() : one_->text; }
  bool empty() const { return one_ == nullptr; }
  std::size_t hash() const { return one_ == nullptr ? 0 : one_->hash; }
  friend bool operator==(const Id& a, const Id& b) { return a.one_ == b.one_; }
  friend std::strong_ordering operator<=>(const Id& a, const Id& b) {
    if (a.one_ == b.one_) return std::strong_ordering::equal;
    if (a.one_ == nullptr || b.one_ == nullptr) return a.one_ == nullptr ? std::strong_ordering::less : std::strong_ordering::greater;
    if (a.one_->head != b.one_->head) return a.one_->head <=> b.one_->head;
    return a.one_->text <=> b.one_->text;
  }

 private:
  const IdText* one_ = nullptr;
};

}  // namespace fitwright

template <typename Tag>
struct std::hash<fitwright::Id<Tag>> {
  std::size_t operator()(const fitwright::Id<Tag>& id) const noexcept { return id.hash(); }
};
