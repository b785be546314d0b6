// The result of a reckoning as plain data: lines, tables, notes, where the formula is from, and a
// drawing of plain primitives.
#pragma once

#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "fitwright/reckon/quantity.h"
#include "fitwright/units/geometry.h"

namespace fitwright::reckon {

struct Line {
  std::string label;
  Kind kind = Kind::kNumber;
  std::variant<double, std::string> value;
};

struct Column {
  std::string head;
  Kind kind = Kind::kLength;
};
struct Table {
  std::string title;
  std::vector<Column> columns;
  std::vector<std::vector<std::variant<double, std::string>>> rows;  // each as long as columns
};

// mm, x to the right, y up.
enum class Style { kVisible, kHidden, kCentre, kThin };
struct Stretch {
  Vec2 from_mm;
  Vec2 to_mm;
  Style style = Style::kVisible;
};
struct Round {
  Vec2 centre_mm;
  double radius_mm = 0;
  Style style = Style::kVisible;
};
// Lettering, middle of its foot at the point; always of the same height on the page.
struct Label {
  Vec2 at_mm;
  std::string text;
};
struct Drawing {
  std::vector<Stretch> stretches;
  std::vector<Round> rounds;
  std::vector<Label> labels;
  bool empty() const { return stretches.empty() && rounds.empty(); }
};

struct Reckoned {
  std::vector<Line> lines;
  std::vector<Table> tables;
  std::vector<std::string> notes;
  std::vector<std::string> cautions;
  std::string source;
  Drawing drawing;

  void Add(std::string label, Kind kind, double value) {
    lines.push_back({std::move(label), kind, value});
  }
  void AddWord(std::string label, std::string word) {
    lines.push_back({std::move(label), Kind::kWord, std::move(word)});
  }
};

}  // namespace fitwright::reckon
