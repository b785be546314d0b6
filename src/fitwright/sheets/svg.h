// An SVG page in mm: lines by the line types of ISO 128, lettering by the heights of ISO 3098.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "fitwright/units/geometry.h"

namespace fitwright::sheets {

// ISO 128-2 line types as used here, and their widths (0.5 thick, 0.25 thin).
enum class Stroke {
  kVisible,   // continuous, thick: edges of the piece
  kHidden,    // dashed, thin
  kCentre,    // long dash, dot, thin: axes and centres
  kStock,     // long dash, double dot, thin: outline before the cut
  kThin,      // continuous, thin: dimensions, leaders
  kHatch,     // continuous, very thin
  kHolding,   // continuous, thin, grey: jaws, parallels, chuck
  kRule       // continuous, thick: frame and rules of the sheet
};

enum class Anchor { kStart, kMiddle, kEnd };

// Paper coordinates: mm, x to the right, y down, from the top left corner.
class Svg {
 public:
  Svg(double width_mm, double height_mm, const std::string& title);

  void Line(const Vec2& a, const Vec2& b, Stroke stroke);
  void Polyline(const std::vector<Vec2>& points, Stroke stroke);
  void Circle(const Vec2& centre, double radius_mm, Stroke stroke);
  // Filled with ink or with paper (white); outlined thin.
  void Polygon(const std::vector<Vec2>& points, bool ink);
  void Disc(const Vec2& centre, double radius_mm);  // white, outlined: balloons
  void Box(const Vec2& corner, const Vec2& size, Stroke stroke);
  void Blank(const Vec2& corner, const Vec2& size);  // white, without outline
  // size_mm: height of the figures. `look`: in the one accent, and heavier.
  void Text(const Vec2& at, double size_mm, std::string_view text, Anchor anchor = Anchor::kStart,
            bool heavy = false);
  void Caution(const Vec2& at, double size_mm, std::string_view text);

  // All that is drawn between the two is cut off at the box.
  void BeginClip(const Vec2& corner, const Vec2& size);
  void EndClip();

  std::string Finish();

 private:
  std::string body_;
  std::string head_;
  int clips_ = 0;
};

// Breadth of a line of text in the sheet's face, from the face's own widths.
double TextWidth_mm(std::string_view text, double size_mm, bool heavy = false);
// `text` broken at blanks into lines no broader than width_mm (a single word that is stays whole); at least
// one line.
std::vector<std::string> WrapToWidth(std::string_view text, double size_mm, double width_mm, bool heavy = false);
// The size at which the line is no broader than width_mm, at most size_mm.
double FittingSize_mm(std::string_view text, double size_mm, double width_mm, bool heavy = false);

}  // namespace fitwright::sheets
