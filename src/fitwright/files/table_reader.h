// Reading one TOML table key by key: types, units, words and unknown keys, every fault with its
// place. Internal to files/.
#pragma once

#include <initializer_list>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fitwright/base/diagnostics.h"
#include "fitwright/files/source_file.h"
#include "fitwright/model/known_words.h"
#include "fitwright/units/geometry.h"
#include "fitwright/units/size.h"

namespace fitwright::files {

// Where a field of the model came from.
struct Located {
  Where where;
  std::string value;
};

// What a whole reading collects.
// A sheet whose bare numbers look as if they were meant in the other unit.
struct UnitSlip {
  std::string file;
  std::string unit;
  std::string say;
  std::string remedy;
};

struct ReadLog {
  explicit ReadLog(Diagnostics& sink) : faults(sink) {}
  Diagnostics& faults;
  std::map<std::string, Located> located;  // by field path of the model, see model/validate.h
  std::vector<std::string> assumed;
  std::vector<std::string> warnings;
  std::vector<UnitSlip> unit_slips;  // each also a warning
};

// Named numbers of a sheet, in the sheet's unit; NaN where the dimension is faulty, which is reported.
using Dimensions = std::map<std::string, double, std::less<>>;

// How far a length may reach, mm; beyond it is a slip of the pen.
inline constexpr double kLongestLength_mm = 1e5;

class TableReader {
 public:
  // path: as faults show it, "feature[3]" (counted from 1), empty for the whole file. unit: of bare
  // lengths. file and table must outlive the reader.
  TableReader(const SourceFile& file, const toml::table& table, std::string path, LengthUnit unit,
              ReadLog& log);

  LengthUnit unit() const { return unit_; }
  void set_unit(LengthUnit unit) { unit_ = unit; }
  // What names in lengths stand for, here and in the tables inside; must outlive the reader.
  void set_dimensions(const Dimensions* dimensions) { dimensions_ = dimensions; }
  const SourceFile& file() const { return *file_; }
  ReadLog& log() const { return *log_; }
  bool Has(std::string_view key);
  bool HasTable(std::string_view key);
  bool HasList(std::string_view key);
  // Counts the keys as asked for: for readers that may leave before they ask.
  void Know(std::initializer_list<std::string_view> keys);

  // Each: nothing when the key is absent, or when it is faulty, which is then reported.
  std::optional<std::string> String(std::string_view key);
  std::optional<bool> Bool(std::string_view key);
  std::optional<double> Number(std::string_view key);
  std::optional<std::int64_t> Integer(std::string_view key, std::int64_t least, std::int64_t most);
  // A length may be arithmetic over the dimensions: "outside - 2 * wall".
  std::optional<double> Length_mm(std::string_view key);
  std::optional<double> PositiveLength_mm(std::string_view key);
  // The text of a length as it is written, unread; reports what is neither text nor number.
  std::optional<std::string> LengthText(std::string_view key);
  bool HoldsTable(std::string_view key);
  std::optional<double> Angle_deg(std::string_view key);
  // count lengths between least and most.
  std::optional<std::vector<double>> Lengths_mm(std::string_view key, std::size_t least,
                                                std::size_t most);
  std::optional<std::vector<double>> Numbers(std::string_view key, std::size_t least,
                                             std::size_t most);
  std::optional<std::vector<double>> Angles_deg(std::string_view key, std::size_t count);
  std::optional<Vec3> Point_mm(std::string_view key);
  std::optional<std::vector<std::vector<double>>> PointList_mm(std::string_view key,
                                                               std::size_t least, std::size_t most);
  std::optional<std::vector<std::string>> Strings(std::string_view key);
  // Lists of `count` texts each: [["a", "b"], ["c", "d"]].
  std::optional<std::vector<std::vector<std::string>>> StringLists(std::string_view key,
                                                                   std::size_t count);
  // "+x" and its like, as a unit vector.
  std::optional<Vec3> Side(std::string_view key);
  // A name of letters, digits, "_" and "-" that begins with a letter, at most 64 long.
  std::optional<std::string> Name(std::string_view key);
  template <typename E>
  std::optional<E> Word(std::string_view key) {
    const auto text = String(key);
    if (!text) return std::nullopt;
    if (const auto value = EnumOf<E>(*text)) return value;
    UnknownWord(key, *text, WordList<E>());
    return std::nullopt;
  }
  std::optional<TableReader> Table(std::string_view key);
  // Every key of the table, in order of the alphabet; none counts as asked for.
  std::vector<std::string> Keys() const;
  std::vector<TableReader> Tables(std::string_view key);

  // Reports the key as missing unless present (also when present and faulty: that is reported
  // already).
  void Require(std::string_view key, std::string_view remedy);
  // At most one of keys may be present; reports the second.
  bool AtMostOne(const std::vector<std::string>& keys);
  // Reports every key that nobody asked for.
  void Finish();

  // A fault at the key's value; at the table when the key is absent.
  void Fault(ErrorCode code, std::string_view key, std::string message, std::string remedy);
  // A fault from below (trade, units) with this place put in, and its column counted from there.
  void Fault(std::string_view key, Error error);
  void UnknownWord(std::string_view key, std::string_view word,
                   const std::vector<std::string>& known);

  // Notes every key of this table under a field path of the model, for semantic faults.
  void Locate(const std::string& model_path);
  Located PlaceOf(std::string_view key) const;
  std::string PathOf(std::string_view key) const;

 private:
  const toml::node* Ask(std::string_view key);
  // An error of reading the node's text.
  void FaultInside(const toml::node& node, std::string path, const Error& error);
  std::optional<double> Calculated_mm(const toml::node& node, const std::string& path,
                                      const std::string& text);
  void FaultAt(ErrorCode code, const toml::node& node, std::string path, std::string message,
               std::string remedy);
  void WrongType(const toml::node& node, const std::string& path, std::string_view wanted);
  std::optional<double> NumberOf(const toml::node& node, const std::string& path,
                                 std::string_view wanted);
  std::optional<double> LengthOf(const toml::node& node, const std::string& path);
  std::optional<double> AngleOf(const toml::node& node, const std::string& path);
  // Items of an array; reports a wrong type or count.
  const toml::array* ArrayOf(const toml::node& node, const std::string& path, std::size_t least,
                             std::size_t most, std::string_view wanted);
  std::optional<std::vector<std::string>> TextsOf(const toml::node& node, const std::string& path,
                                                  std::size_t least, std::size_t most);
  template <typename ReadOne>
  std::optional<std::vector<double>> List(std::string_view key, std::size_t least, std::size_t most,
                                          ReadOne read_one);

  const SourceFile* file_;
  const toml::table* table_;
  std::string path_;
  LengthUnit unit_;
  ReadLog* log_;
  const Dimensions* dimensions_ = nullptr;
  std::vector<std::string> asked_;
};

// The six side words in the order of Side().
const std::vector<std::string>& SideWords();
std::optional<Vec3> DirectionOf(std::string_view word);
// "+x" of a direction along an axis.
std::string SideWord(const Vec3& direction);
// Index 0..2 of the axis that a side stands on.
int AxisOf(const Vec3& direction);

}  // namespace fitwright::files
