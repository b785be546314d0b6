// Reads the lettering of a drawn page back and looks whether it can be read.
#pragma once

#include <fmt/format.h>

#include <cmath>
#include <regex>
#include <string>
#include <vector>

#include "fitwright/sheets/solid/page.h"
#include "fitwright/sheets/svg.h"
#include "tests/support/kept_regex.h"

namespace fitwright::testing {

struct Lettering {
  double left_mm = 0;
  double right_mm = 0;
  double top_mm = 0;
  double bottom_mm = 0;
  std::string text;
};

inline double AttributeOf(const std::string& tag, const std::string& name) {
  std::smatch found;
  return std::regex_search(tag, found, KeptRegex(" " + name + "=\"([-0-9.]+)\"")) ? std::stod(found[1]) : std::nan("");
}

inline std::vector<Lettering> LetteringOf(const std::string& svg) {
  constexpr double kFigures = 0.72;  // height of figures over the type's size
  constexpr double kTails = 0.2;     // of the figures' height, below the line
  std::vector<Lettering> found;
  static const std::regex pattern("<text( [^>]*)>([^<]*)</text>");
  for (std::sregex_iterator at(svg.begin(), svg.end(), pattern), end; at != end; ++at) {
    const std::string tag = (*at)[1];
    std::string text = std::regex_replace((*at)[2].str(), KeptRegex("&lt;"), "<");
    text = std::regex_replace(std::regex_replace(text, KeptRegex("&gt;"), ">"), KeptRegex("&amp;"), "&");
    const double size = AttributeOf(tag, "font-size") * kFigures;
    const double width = sheets::TextWidth_mm(text, size, tag.find("bold") != std::string::npos);
    const double x = AttributeOf(tag, "x");
    const double y = AttributeOf(tag, "y");
    const double back = tag.find("\"end\"") != std::string::npos      ? width
                        : tag.find("\"middle\"") != std::string::npos ? width / 2
                                                                     : 0;
    found.push_back({x - back, x - back + width, y - size, y + kTails * size, text});
  }
  return found;
}

// Lettering that runs over other lettering, over the rules of head and foot, or off the page.
inline std::vector<std::string> UnreadableOn(const std::string& svg) {
  constexpr double kTouch_mm = 0.15;  // closer than this they only touch
  std::vector<std::string> faults;
  const std::vector<Lettering> all = LetteringOf(svg);
  for (std::size_t i = 0; i < all.size(); ++i) {
    const Lettering& a = all[i];
    const bool off = a.left_mm < sheets::kPageRim_mm - kTouch_mm || a.right_mm > sheets::kPageWidth_mm - sheets::kPageRim_mm + 1 ||
                     a.top_mm < 0 || a.bottom_mm > sheets::kPageHeight_mm;
    if (off) faults.push_back("runs off the page: " + a.text);
    for (const double rule : {sheets::kPageHead_mm, sheets::kPageFoot_mm}) {
      if (a.top_mm < rule - kTouch_mm && a.bottom_mm > rule + kTouch_mm) faults.push_back("over a rule: " + a.text);
    }
    for (std::size_t k = i + 1; k < all.size(); ++k) {
      const Lettering& b = all[k];
      const bool over = a.left_mm < b.right_mm - kTouch_mm && b.left_mm < a.right_mm - kTouch_mm &&
                        a.top_mm < b.bottom_mm - kTouch_mm && b.top_mm < a.bottom_mm - kTouch_mm;
      if (over) faults.push_back(fmt::format("'{}' over '{}'", a.text, b.text));
    }
  }
  return faults;
}

}  // namespace fitwright::testing
