#include "fitwright/files/plan_json_place.h"

#include <fmt/format.h>

#include <algorithm>
#include <iterator>
#include <nlohmann/json.hpp>
#include <vector>

namespace fitwright::files {
namespace {

// Reads characters and tells how far the parser has come.
class CountingIterator {
 public:
  using iterator_category = std::input_iterator_tag;
  using value_type = char;
  using difference_type = std::ptrdiff_t;
  using pointer = const char*;
  using reference = const char&;
  CountingIterator(const char* at, const char** reached) : at_(at), reached_(reached) {}
  reference operator*() const { return *at_; }
  CountingIterator& operator++() {
    ++at_;
    *reached_ = at_;
    return *this;
  }
  CountingIterator operator++(int) {
    CountingIterator old = *this;
    ++*this;
    return old;
  }
  friend bool operator==(const CountingIterator& a, const CountingIterator& b) {
    return a.at_ == b.at_;
  }
  friend bool operator!=(const CountingIterator& a, const CountingIterator& b) { return !(a == b); }

 private:
  const char* at_;
  const char** reached_;
};

// Follows the path of the value that comes next; stops the parser at the wanted one.
class PathFinder : public nlohmann::json_sax<nlohmann::json> {
 public:
  PathFinder(const std::string& wanted, const char* const* reached)
      : wanted_(wanted), reached_(reached) {}
  const char* found() const { return found_; }

  bool null() override { return Value(); }
  bool boolean(bool) override { return Value(); }
  bool number_integer(number_integer_t) override { return Value(); }
  bool number_unsigned(number_unsigned_t) override { return Value(); }
  bool number_float(number_float_t, const string_t&) override { return Value(); }
  bool string(string_t&) override { return Value(); }
  bool binary(binary_t&) override { return Value(); }
  bool start_object(std::size_t) override { return Open(false); }
  bool start_array(std::size_t) override { return Open(true); }
  bool end_object() override { return Close(); }
  bool end_array() override { return Close(); }
  bool key(string_t& name) override {
    levels_.back().key = name;
    return true;
  }
  bool parse_error(std::size_t, const std::string&, const nlohmann::detail::exception&) override {
    return false;
  }

 private:
  struct Level {
    bool list = false;
    std::string key;
    std::size_t index = 0;
  };
  std::string Path() const {
    std::string path;
    for (const Level& level : levels_) {
      if (level.list) {
        path += fmt::format("[{}]", level.index);
      } else {
        path += (path.empty() ? "" : ".") + level.key;
      }
    }
    return path;
  }
  bool Value() {
    if (!levels_.empty() && levels_.back().list) ++levels_.back().index;
    if (Path() != wanted_) return true;
    found_ = *reached_;
    return false;
  }
  bool Open(bool list) {
    if (!Value()) return false;
    levels_.push_back({list, "", 0});
    return true;
  }
  bool Close() {
    levels_.pop_back();
    return true;
  }

  const std::string& wanted_;
  const char* const* reached_;
  const char* found_ = nullptr;
  std::vector<Level> levels_;
};

}  // namespace

Where PlaceOfByte(std::string_view text, std::size_t offset) {
  const std::string_view before = text.substr(0, std::min(offset, text.size()));
  Where where;
  where.line = 1 + static_cast<int>(std::count(before.begin(), before.end(), '\n'));
  const std::size_t line_start = before.rfind('\n');
  where.column =
      1 + static_cast<int>(before.size() - (line_start == before.npos ? 0 : line_start + 1));
  return where;
}

Where PlaceOfJsonKey(std::string_view text, const std::string& path) {
  const char* reached = text.data();
  PathFinder finder(path, &reached);
  const CountingIterator first(text.data(), &reached);
  const CountingIterator last(text.data() + text.size(), &reached);
  nlohmann::json::sax_parse(first, last, &finder);
  if (finder.found() == nullptr) return {};
  const auto length = static_cast<std::size_t>(finder.found() - text.data());
  return PlaceOfByte(text, length == 0 ? 0 : length - 1);
}

}  // namespace fitwright::files
