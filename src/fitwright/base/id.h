// Tagged string ids: a PartId is not a FeatureId. Ordered by text, so that ties break alike everywhere.
#pragma once

#include <compare>
#include <functional>
#include <string>
#include <utility>

namespace fitwright {

template <typename Tag>
class Id {
 public:
  Id() = default;
  explicit Id(std::string text) : text_(std::move(text)) {}
  const std::string& text() const { return text_; }
  bool empty() const { return text_.empty(); }
  friend auto operator<=>(const Id&, const Id&) = default;

 private:
  std::string text_;
};

}  // namespace fitwright

template <typename Tag>
struct std::hash<fitwright::Id<Tag>> {
  std::size_t operator()(const fitwright::Id<Tag>& id) const noexcept {
    return std::hash<std::string>()(id.text());
  }
};
