// A sheet as text, key by key, as a person types one: the shortest numbers that say the length, and
// a comment on the line of everything that was proposed. Internal to files/.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "fitwright/files/remark.h"
#include "fitwright/units/geometry.h"
#include "fitwright/units/size.h"

namespace fitwright::files {

class SheetText {
 public:
  // unit: of bare lengths. remarks must outlive the text.
  SheetText(LengthUnit unit, const std::vector<Remark>& remarks);

  // A blank line and "[stock]" or "[[feature]]"; path: the field path that remarks on its keys
  // begin with.
  void Table(std::string_view header, std::string path);
  // Back to keys of the whole file, before the first table.
  void Key(std::string_view key, std::string value);  // the value is TOML already
  void Text(std::string_view key, std::string_view value);
  void Word(std::string_view key, std::string_view value) { Text(key, value); }
  void Length(std::string_view key, double mm);
  void Lengths(std::string_view key, const std::vector<double>& mm);
  void Side(std::string_view key, const Vec3& direction);
  void Yes(std::string_view key) { Key(key, "true"); }

  // The lengths of one value, for keys put together by hand.
  std::string LengthOf(double mm) const;
  std::string ListOf(const std::vector<double>& mm) const;

  // The whole text. What was proposed of a key that was not written stands beside the first key of
  // its table, and what names no table at the head.
  std::string Finish();

 private:
  struct Line {
    std::string text;
    std::string path;  // of its key; empty for headers and blank lines
    std::string comment;
  };
  void Attach(const Remark& remark);

  LengthUnit unit_;
  const std::vector<Remark>& remarks_;
  std::vector<Line> lines_;
  std::vector<std::pair<std::string, std::size_t>> tables_;  // path, place of the first key
  std::string path_;
};

// A string of TOML, in quotation marks.
std::string Quoted(std::string_view text);
// The fewest decimals, at most nine, that give the number back within kGeometryNoise_mm.
std::string ShortNumber(double value);
// A number that is no length, to its last digit, with a point or an exponent only where it needs
// one.
std::string PlainNumber(double value);
std::string BracketList(const std::vector<std::string>& items);

// The keys of a size's limits beside `nominal` ("fit", "plus_minus", "limits" or "deviations") and
// their values; none where `general` says that they are the general tolerance's.
struct LimitKey {
  std::string key;
  std::string value;
};
std::vector<LimitKey> LimitsOf(const SheetText& text, const Size& size, bool general);
bool SameLimits(const Size& a, const Size& b);
// Written alike.
bool Alike(double a, double b);
bool Alike(const Vec3& a, const Vec3& b);

}  // namespace fitwright::files
