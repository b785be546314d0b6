// The build book as plain data, before it becomes terminal text, a page or paper. Every number in it
// is already text in the reader's unit.
#pragma once

#include <cstddef>
#include <string>
#include <variant>
#include <vector>

namespace fitwright::sheets {

// How much a line wants to be seen. Rendered as a word as well as by any colour.
enum class Tone { kPlain, kNote, kLook, kStop };

struct Heading {
  int level = 1;       // 1 the book, 2 a sheet, 3 a part of a sheet
  std::string text;
  std::string right;   // stands at the right margin: unit, minutes
};

struct Paragraph {
  std::string text;
  Tone tone = Tone::kPlain;
};

// A word in the margin and what it says: "Held | Vise on 20 mm parallels".
struct Entry {
  std::string label;
  std::string text;
  Tone tone = Tone::kPlain;
};

// One thing to do, to be ticked off, with lines that belong to it.
struct TickLine {
  std::string number;                // "7.3"
  std::string text;
  std::vector<std::string> details;  // tool and speed, aim, measure line
  std::string pass_axis;             // the axis of `passes`
  std::vector<std::string> passes;   // what it reads at the end of each of several passes; in details too
};

struct ListItem {
  std::string text;
};

enum class Align { kLeft, kRight, kPoint };
struct Column {
  std::string head;
  std::string unit;    // printed once, under the head; empty for none
  Align align = Align::kLeft;
  bool wraps = false;  // may be broken over several lines when room is short
};
struct Table {
  std::vector<Column> columns;
  std::vector<std::vector<std::string>> rows;  // each as long as columns
  bool indented = false;                       // belongs to the line above it
  std::size_t repeated = 1;                    // leading columns set again when it is split for width
};

// A strip of a hundred strokes, `met` of them standing.
struct Tally {
  int met = 0;
};

// Ruled list with lengths, largest first.
struct Bar {
  double share = 0;  // 0..1
  std::string text;
};
struct Bars {
  std::vector<Bar> bars;
};

// Setups down the page, one margin line for each part.
enum class Lane { kNone, kWaiting, kWorked, kJoined };
struct OrderRow {
  std::vector<Lane> lanes;           // one for each part
  std::string number;
  std::string text;
  std::string right;                 // minutes
  std::vector<std::string> waits;    // "waits for 4: spotted through the housing"
  std::string pause;                 // "a place to break off, 1 h 20 min since the last"; often empty
};
struct OrderOfWork {
  std::vector<std::string> parts;
  std::vector<OrderRow> rows;
};

using Piece = std::variant<Heading, Paragraph, Entry, TickLine, ListItem, Table, Tally, Bars,
                           OrderOfWork>;

struct Book {
  std::vector<Piece> pieces;
};

}  // namespace fitwright::sheets
