#include "fitwright/planner/decided.h"

#include <fmt/format.h>

#include <charconv>
#include <cmath>
#include <map>
#include <string_view>

namespace fitwright::planner {
namespace {

// A line is a word, then "key=value" each after a blank; lists have commas, and of a pair the first stands before a
// slash. Names have none of these letters. What is as in a new sketch is left out.
constexpr std::string_view kPattern = "pattern";
constexpr std::string_view kFlush = "flush";
constexpr std::string_view kSuit = "suit";
constexpr std::string_view kShared = "shared";
constexpr std::string_view kAim = "aim";
constexpr std::string_view kRoute = "route";  // of a part that nothing is cut on by itself
constexpr std::string_view kSetup = "setup";
constexpr std::string_view kDone = "done";

std::vector<std::string> Split(std::string_view text, char by) {
  std::vector<std::string> pieces;
  while (!text.empty()) {
    const std::size_t at = text.find(by);
    pieces.emplace_back(text.substr(0, at));
    text.remove_prefix(at == std::string_view::npos ? text.size() : at + 1);
  }
  return pieces;
}

// Each kind of value as text, and back. False: the text is none.
std::string TextOf(const std::string& value) { return value; }
bool TakeText(const std::string& text, std::string& value) {
  value = text;
  return true;
}
std::string TextOf(double value) { return fmt::format("{}", value); }
bool TakeText(const std::string& text, double& value) {
  const auto read = std::from_chars(text.data(), text.data() + text.size(), value);
  return read.ec == std::errc() && read.ptr == text.data() + text.size() && std::isfinite(value);
}
std::string TextOf(int value) { return fmt::format("{}", value); }
bool TakeText(const std::string& text, int& value) {
  const auto read = std::from_chars(text.data(), text.data() + text.size(), value);
  return read.ec == std::errc() && read.ptr == text.data() + text.size();
}
std::string TextOf(bool value) { return value ? "1" : "0"; }
bool TakeText(const std::string& text, bool& value) {
  value = text == "1";
  return value || text == "0";
}
template <typename Tag>
std::string TextOf(const Id<Tag>& id) {
  return id.text();
}
template <typename Tag>
bool TakeText(const std::string& text, Id<Tag>& id) {
  id = Id<Tag>(text);
  return true;
}
std::string TextOf(const FeatureRef& ref) { return ref.part.text() + "/" + ref.feature.text(); }
bool TakeText(const std::string& text, FeatureRef& ref) {
  const std::size_t slash = text.find('/');
  if (slash == std::string::npos) return false;
  ref = {PartId(text.substr(0, slash)), FeatureId(text.substr(slash + 1))};
  return true;
}
std::string TextOf(const Vec3& v) { return fmt::format("{},{},{}", v.x(), v.y(), v.z()); }
bool TakeText(const std::string& text, Vec3& v) {
  const std::vector<std::string> pieces = Split(text, ',');
  if (pieces.size() != 3) return false;
  for (int axis = 0; axis < 3; ++axis) {
    if (!TakeText(pieces[static_cast<std::size_t>(axis)], v[axis])) return false;
  }
  return true;
}
template <typename E>
  requires requires { WordsOf<E>::kAll; }
std::string TextOf(E value) {
  return std::string(WordOf(value));
}
template <typename E>
  requires requires { WordsOf<E>::kAll; }
bool TakeText(const std::string& text, E& value) {
  const auto found = EnumOf<E>(text);
  if (found) value = *found;
  return found.has_value();
}
template <typename E>
  requires(std::is_enum_v<E> && !requires { WordsOf<E>::kAll; })
std::string TextOf(E value) {
  return TextOf(static_cast<int>(value));
}
template <typename E>
  requires(std::is_enum_v<E> && !requires { WordsOf<E>::kAll; })
bool TakeText(const std::string& text, E& value) {
  int number = 0;
  if (!TakeText(text, number) || number < 0 || number > 2) return false;  // those of a sketch have three members
  value = static_cast<E>(number);
  return true;
}
template <typename T>
std::string TextOf(const std::optional<T>& value) {
  return TextOf(*value);
}
template <typename T>
bool TakeText(const std::string& text, std::optional<T>& value) {
  return TakeText(text, value.emplace());
}
template <typename T>
std::string TextOf(const std::vector<T>& list) {
  std::vector<std::string> pieces;
  for (const T& one : list) pieces.push_back(TextOf(one));
  return fmt::format("{}", fmt::join(pieces, ","));
}
template <typename T>
bool TakeText(const std::string& text, std::vector<T>& list) {
  for (const std::string& piece : Split(text, ',')) {
    if (!TakeText(piece, list.emplace_back())) return false;
  }
  return true;
}
std::string TextOf(const std::map<FeatureId, double>& map) {
  std::vector<std::string> pieces;
  for (const auto& [id, mm] : map) pieces.push_back(fmt::format("{}/{}", id.text(), mm));
  return fmt::format("{}", fmt::join(pieces, ","));
}
bool TakeText(const std::string& text, std::map<FeatureId, double>& map) {
  for (const std::string& piece : Split(text, ',')) {
    const std::size_t slash = piece.find('/');
    if (slash == std::string::npos || !TakeText(piece.substr(slash + 1), map[FeatureId(piece.substr(0, slash))])) return false;
  }
  return true;
}

class LineWriter {
 public:
  explicit LineWriter(std::string_view word) : line_(word) {}
  template <typename T>
  void operator()(const char* key, const T& value, const T& usual = {}) {
    if (!(value == usual)) line_ += fmt::format(" {}={}", key, TextOf(value));
  }
  std::string Take() { return std::move(line_); }

 private:
  std::string line_;
};

class LineReader {
 public:
  explicit LineReader(const std::string& line) {
    for (const std::string& piece : Split(line, ' ')) {
      const std::size_t equals = piece.find('=');
      if (equals == std::string::npos) {
        good_ = good_ && word_.empty();
        word_ = piece;
      } else {
        pairs_[piece.substr(0, equals)] = piece.substr(equals + 1);
      }
    }
  }
  template <typename T>
  void operator()(const char* key, T& value, const T& usual = {}) {
    const auto found = pairs_.find(key);
    value = usual;
    if (found == pairs_.end()) return;
    good_ = TakeText(found->second, value) && good_;
    pairs_.erase(found);
  }
  const std::string& word() const { return word_; }
  bool good() const { return good_ && pairs_.empty(); }

 private:
  std::string word_;
  std::map<std::string, std::string> pairs_;
  bool good_ = true;
};

template <typename Io, typename Sketch>
void Fields(Io& io, Sketch& s) {
  const SetupSketch usual;
  io("part", s.part);
  io("machine", s.machine);
  io("device", s.device);
  io("holding", s.holding, usual.holding);
  io("up", s.up_P, usual.up_P);
  io("jaw", s.jaw_P, usual.jaw_P);
  io("zero", s.zero, usual.zero);
  io("zero_on", s.zero_on);
  io("angle_by", s.angle_by);
  io("cuts", s.cuts);
  io("leave", s.leave_mm);
  io("part_off", s.part_off);
  io("part_off_leave", s.part_off_leave_mm);
  io("mates", s.mates);
  io("joints", s.joints);
  io("together", s.together);
  io("through", s.through);
  io("drilled", s.drilled);
  io("way", s.way, usual.way);
  io("marks", s.marks);
  io("on_marks", s.on_marks);
  io("on_already", s.on_already);
  io("comes_bonded", s.comes_bonded);
  io("take_apart", s.take_apart);
  io("bare", s.bare_mm);
  io("first", s.first);
  io("bored_true", s.bored_true);
  io("centre", s.centre);
  io("support", s.support);
  io("between_centres", s.between_centres);
  io("set_over", s.set_over);
  io("bench", s.bench, usual.bench);
  io("measures", s.measures);
}

std::string LineOf(std::string_view word, const SetupSketch& sketch) {
  LineWriter line(word);
  Fields(line, sketch);
  return line.Take();
}

struct NamedWay {
  std::string of;
  Technique way = Technique::kByCoordinates;
  int first = 0;
  std::optional<double> share;
};
template <typename Io, typename Way>
void FieldsOfWay(Io& io, Way& way) {
  io("of", way.of);
  io("way", way.way);
  io("first", way.first);
  io("share", way.share);
}
std::string LineOf(std::string_view word, const NamedWay& way) {
  LineWriter line(word);
  FieldsOfWay(line, way);
  return line.Take();
}

struct NamedAim {
  FeatureRef of;
  std::optional<AimKind> kind;
  std::optional<double> size_mm;
  std::optional<double> lower_mm;
  std::optional<double> upper_mm;
};
template <typename Io, typename Aimed>
void FieldsOfAim(Io& io, Aimed& aim) {
  io("of", aim.of);
  io("kind", aim.kind);
  io("size", aim.size_mm);
  io("lower", aim.lower_mm);
  io("upper", aim.upper_mm);
}
std::string LineOf(const FeatureRef& of, const OwnAim& own) {
  NamedAim aim{of, own.kind, own.size_mm, {}, {}};
  if (own.window) aim.lower_mm = own.window->lower_mm;
  if (own.window) aim.upper_mm = own.window->upper_mm;
  LineWriter line(kAim);
  FieldsOfAim(line, aim);
  return line.Take();
}

void TakeWay(LineReader& line, Strategy& strategy) {
  NamedWay way;
  FieldsOfWay(line, way);
  if (line.word() == kPattern) strategy.patterns[JointId(way.of)] = {way.way, way.first};
  if (line.word() == kFlush) strategy.flush[RequirementId(way.of)] = way.way;
  if (line.word() == kShared) strategy.shared[way.of] = way.way;
  if (line.word() == kSuit) strategy.suits[RequirementId(way.of)] = way.way;
  if (line.word() == kSuit && way.share) strategy.aim_share[RequirementId(way.of)] = *way.share;
}

void TakeAim(LineReader& line, Strategy& strategy) {
  NamedAim aim;
  FieldsOfAim(line, aim);
  OwnAim own{aim.kind, aim.size_mm, {}};
  if (aim.lower_mm && aim.upper_mm) own.window = Window{*aim.lower_mm, *aim.upper_mm};
  strategy.own_aims[aim.of] = own;
}

// False: the line is of no known kind.
bool TakeLine(LineReader& line, Strategy& strategy) {
  const std::string& word = line.word();
  if (word == kPattern || word == kFlush || word == kSuit || word == kShared) {
    TakeWay(line, strategy);
  } else if (word == kAim) {
    TakeAim(line, strategy);
  } else if (word == kRoute) {
    PartId part;
    line("part", part);
    strategy.routes[part];
  } else if (word == kSetup || word == kDone) {
    SetupSketch sketch;
    Fields(line, sketch);
    (word == kDone ? strategy.done : strategy.routes[sketch.part].setups).push_back(std::move(sketch));
  } else {
    return false;
  }
  return line.good();
}

}  // namespace

std::vector<std::string> LinesOf(const Strategy& strategy) {
  std::vector<std::string> lines;
  for (const auto& [joint, choice] : strategy.patterns) lines.push_back(LineOf(kPattern, NamedWay{joint.text(), choice.technique, choice.first, {}}));
  for (const auto& [of, way] : strategy.flush) lines.push_back(LineOf(kFlush, NamedWay{of.text(), way, 0, {}}));
  for (const auto& [of, way] : strategy.suits) {
    const auto share = strategy.aim_share.find(of);
    lines.push_back(LineOf(kSuit, NamedWay{of.text(), way, 0, share == strategy.aim_share.end() ? std::nullopt : std::optional(share->second)}));
  }
  for (const auto& [of, way] : strategy.shared) lines.push_back(LineOf(kShared, NamedWay{of, way, 0, {}}));
  for (const auto& [of, aim] : strategy.own_aims) lines.push_back(LineOf(of, aim));
  for (const auto& [part, route] : strategy.routes) {
    if (route.setups.empty()) lines.push_back(fmt::format("{} part={}", kRoute, part.text()));
    for (const SetupSketch& sketch : route.setups) lines.push_back(LineOf(kSetup, sketch));
  }
  for (const SetupSketch& sketch : strategy.done) lines.push_back(LineOf(kDone, sketch));
  return lines;
}

Result<Strategy> StrategyFrom(const std::vector<std::string>& lines) {
  Strategy strategy;
  for (const std::string& text : lines) {
    LineReader line(text);
    if (TakeLine(line, strategy)) continue;
    return Unexpected(Error{ErrorCode::kUnknownWord, "the plan's decisions cannot be read", text, "plan from the sheets alone: 'fitwright plan --afresh'", {}});
  }
  return strategy;
}

}  // namespace fitwright::planner
