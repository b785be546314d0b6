// The book in monospace, for a terminal or a plain file.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "fitwright/sheets/sheet_model.h"

namespace fitwright::sheets {

struct TextOptions {
  int width = 80;       // columns; taken as 60 below 60 and 120 above 120
  bool colour = false;  // weight and two colours by terminal codes; the words alone say everything
};

// ASCII lines, none wider than the width (a single word that is longer stays whole), each ended by a
// newline, no blanks at line ends. Columns aligned on the point.
std::string RenderText(const Book& book, const TextOptions& options);

// `text` broken at blanks into lines of at most `width` characters; at least one line.
std::vector<std::string> WrapText(std::string_view text, std::size_t width);

}  // namespace fitwright::sheets
