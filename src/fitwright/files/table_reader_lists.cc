#include <algorithm>

#include "fitwright/files/table_reader.h"

namespace fitwright::files {
namespace {

std::string CountWords(std::size_t least, std::size_t most) {
  if (least == most) return fmt::format("{}", least);
  if (most > 1000) return fmt::format("at least {}", least);
  return fmt::format("{} to {}", least, most);
}

std::string ItemPath(const std::string& path, std::size_t index) {
  return fmt::format("{}[{}]", path, index + 1);
}

bool IsNameLetter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }
bool IsNameChar(char c) {
  return IsNameLetter(c) || (c >= '0' && c <= '9') || c == '_' || c == '-';
}

}  // namespace

const toml::array* TableReader::ArrayOf(const toml::node& node, const std::string& path,
                                        std::size_t least, std::size_t most,
                                        std::string_view wanted) {
  const toml::array* items = node.as_array();
  if (items == nullptr) {
    WrongType(node, path, wanted);
    return nullptr;
  }
  if (items->size() < least || items->size() > most) {
    FaultAt(ErrorCode::kWrongCount, node, path, fmt::format("{} stand here", items->size()),
            fmt::format("write {} of them", CountWords(least, most)));
    return nullptr;
  }
  return items;
}

template <typename ReadOne>
std::optional<std::vector<double>> TableReader::List(std::string_view key, std::size_t least,
                                                     std::size_t most, ReadOne read_one) {
  const toml::node* node = Ask(key);
  if (node == nullptr) return std::nullopt;
  const std::string path = PathOf(key);
  const toml::array* items =
      ArrayOf(*node, path, least, most,
              fmt::format("a list in brackets: [ ... ] of {}", CountWords(least, most)));
  if (items == nullptr) return std::nullopt;
  std::vector<double> list;
  for (std::size_t i = 0; i < items->size(); ++i) {
    const auto value = read_one((*items)[i], ItemPath(path, i));
    if (!value) return std::nullopt;
    list.push_back(*value);
  }
  return list;
}

std::optional<std::vector<double>> TableReader::Lengths_mm(std::string_view key, std::size_t least,
                                                           std::size_t most) {
  return List(key, least, most, [this](const toml::node& node, const std::string& path) {
    return LengthOf(node, path);
  });
}

std::optional<std::vector<double>> TableReader::Numbers(std::string_view key, std::size_t least,
                                                        std::size_t most) {
  return List(key, least, most, [this](const toml::node& node, const std::string& path) {
    return NumberOf(node, path, "a number");
  });
}

std::optional<std::vector<double>> TableReader::Angles_deg(std::string_view key,
                                                           std::size_t count) {
  return List(key, count, count, [this](const toml::node& node, const std::string& path) {
    return AngleOf(node, path);
  });
}

std::optional<Vec3> TableReader::Point_mm(std::string_view key) {
  const auto numbers = Lengths_mm(key, 3, 3);
  if (!numbers) return std::nullopt;
  return Vec3((*numbers)[0], (*numbers)[1], (*numbers)[2]);
}

std::optional<std::vector<std::vector<double>>> TableReader::PointList_mm(std::string_view key,
                                                                          std::size_t least,
                                                                          std::size_t most) {
  const toml::node* node = Ask(key);
  if (node == nullptr) return std::nullopt;
  const std::string path = PathOf(key);
  const toml::array* items = ArrayOf(*node, path, 1, 10000, "a list of points: [[x, y], [x, y]]");
  if (items == nullptr) return std::nullopt;
  std::vector<std::vector<double>> points;
  for (std::size_t i = 0; i < items->size(); ++i) {
    const std::string item_path = ItemPath(path, i);
    const toml::array* point = ArrayOf((*items)[i], item_path, least, most, "a point: [x, y]");
    if (point == nullptr) return std::nullopt;
    std::vector<double> numbers;
    for (std::size_t k = 0; k < point->size(); ++k) {
      const auto length_mm = LengthOf((*point)[k], ItemPath(item_path, k));
      if (!length_mm) return std::nullopt;
      numbers.push_back(*length_mm);
    }
    points.push_back(std::move(numbers));
  }
  return points;
}

std::optional<std::vector<std::string>> TableReader::TextsOf(const toml::node& node,
                                                             const std::string& path,
                                                             std::size_t least, std::size_t most) {
  const toml::array* items = ArrayOf(node, path, least, most, "a list of texts: [\"...\"]");
  if (items == nullptr) return std::nullopt;
  std::vector<std::string> texts;
  for (std::size_t i = 0; i < items->size(); ++i) {
    const auto* text = (*items)[i].as_string();
    if (text == nullptr) {
      WrongType((*items)[i], ItemPath(path, i), "text in quotes");
      return std::nullopt;
    }
    texts.push_back(text->get());
  }
  return texts;
}

std::optional<std::vector<std::string>> TableReader::Strings(std::string_view key) {
  const toml::node* node = Ask(key);
  if (node == nullptr) return std::nullopt;
  return TextsOf(*node, PathOf(key), 0, 10000);
}

std::optional<std::vector<std::vector<std::string>>> TableReader::StringLists(std::string_view key,
                                                                              std::size_t count) {
  const toml::node* node = Ask(key);
  if (node == nullptr) return std::nullopt;
  const std::string path = PathOf(key);
  const toml::array* items = ArrayOf(*node, path, 1, 1000, "a list of lists: [[\"...\", \"...\"]]");
  if (items == nullptr) return std::nullopt;
  std::vector<std::vector<std::string>> lists;
  for (std::size_t i = 0; i < items->size(); ++i) {
    auto texts = TextsOf((*items)[i], ItemPath(path, i), count, count);
    if (!texts) return std::nullopt;
    lists.push_back(*std::move(texts));
  }
  return lists;
}

std::optional<Vec3> TableReader::Side(std::string_view key) {
  const auto text = String(key);
  if (!text) return std::nullopt;
  if (const auto direction = DirectionOf(*text)) return direction;
  UnknownWord(key, *text, SideWords());
  return std::nullopt;
}

std::optional<std::string> TableReader::Name(std::string_view key) {
  const auto text = String(key);
  if (!text) return std::nullopt;
  constexpr std::size_t kLongestName = 64;
  const bool good = !text->empty() && text->size() <= kLongestName && IsNameLetter(text->front()) &&
                    std::all_of(text->begin(), text->end(), IsNameChar);
  if (good) return text;
  Fault(ErrorCode::kBadName, key, "this cannot be a name",
        "begin with a letter and use letters, digits, \"_\" and \"-\", at most 64");
  return std::nullopt;
}

std::optional<TableReader> TableReader::Table(std::string_view key) {
  const toml::node* node = Ask(key);
  if (node == nullptr) return std::nullopt;
  if (const auto* table = node->as_table()) {
    TableReader reader(*file_, *table, PathOf(key), unit_, *log_);
    reader.set_dimensions(dimensions_);
    return reader;
  }
  WrongType(*node, PathOf(key), fmt::format("a table: {} = {{ ... }}", key));
  return std::nullopt;
}

std::vector<TableReader> TableReader::Tables(std::string_view key) {
  std::vector<TableReader> readers;
  const toml::node* node = Ask(key);
  if (node == nullptr) return readers;
  const std::string path = PathOf(key);
  const toml::array* items = node->as_array();
  if (items == nullptr) {
    WrongType(*node, path, fmt::format("a heading in double brackets: [[{}]]", key));
    return readers;
  }
  for (std::size_t i = 0; i < items->size(); ++i) {
    const auto* table = (*items)[i].as_table();
    if (table == nullptr) {
      WrongType((*items)[i], ItemPath(path, i), fmt::format("a table under [[{}]]", key));
      continue;
    }
    readers.emplace_back(*file_, *table, ItemPath(path, i), unit_, *log_);
    readers.back().set_dimensions(dimensions_);
  }
  return readers;
}

const std::vector<std::string>& SideWords() {
  static const std::vector<std::string> words{"+x", "-x", "+y", "-y", "+z", "-z"};
  return words;
}

std::optional<Vec3> DirectionOf(std::string_view word) {
  if (word.size() != 2 || (word[0] != '+' && word[0] != '-')) return std::nullopt;
  if (word[1] < 'x' || word[1] > 'z') return std::nullopt;
  Vec3 direction = Vec3::Zero();
  direction[word[1] - 'x'] = word[0] == '+' ? 1 : -1;
  return direction;
}

int AxisOf(const Vec3& direction) {
  int axis = 0;
  direction.cwiseAbs().maxCoeff(&axis);
  return axis;
}

std::string SideWord(const Vec3& direction) {
  const int axis = AxisOf(direction);
  return std::string(direction[axis] > 0 ? "+" : "-") + static_cast<char>('x' + axis);
}

}  // namespace fitwright::files
