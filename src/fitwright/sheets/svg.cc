#include "fitwright/sheets/svg.h"

#include <fmt/format.h>

#include "fitwright/units/length.h"

namespace fitwright::sheets {
namespace {

constexpr double kThick_mm = 0.5;
constexpr double kThin_mm = 0.25;
constexpr std::string_view kInk = "#1a1a1a";
constexpr std::string_view kGrey = "#8a8a8a";
constexpr std::string_view kAccent = "#a33b0c";
// Figures of a common sans face stand this share of the type size above the line.
constexpr double kFigureShare = 0.72;

std::string N(double value) { return FormatTrimmed(value, 3); }

struct StrokeStyle {
  double width_mm;
  std::string_view colour;
  std::string_view dashes;
};

StrokeStyle StyleOf(Stroke stroke) {
  switch (stroke) {
    case Stroke::kVisible: return {kThick_mm, kInk, ""};
    case Stroke::kHidden: return {kThin_mm, kInk, "2 0.75"};
    case Stroke::kCentre: return {0.18, kInk, "6 0.75 0.4 0.75"};
    case Stroke::kStock: return {kThin_mm, kInk, "5 0.75 0.4 0.75 0.4 0.75"};
    case Stroke::kThin: return {0.18, kInk, ""};
    case Stroke::kHatch: return {0.13, kInk, ""};
    case Stroke::kHolding: return {kThin_mm, kGrey, ""};
    case Stroke::kRule: return {kThick_mm, kInk, ""};
  }
  return {kThin_mm, kInk, ""};
}

std::string Attributes(Stroke stroke) {
  const StrokeStyle style = StyleOf(stroke);
  std::string text = fmt::format("fill=\"none\" stroke=\"{}\" stroke-width=\"{}\"", style.colour,
                                 N(style.width_mm));
  if (!style.dashes.empty()) text += fmt::format(" stroke-dasharray=\"{}\"", style.dashes);
  return text;
}

std::string Escaped(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (c == '&') {
      out += "&amp;";
    } else if (c == '<') {
      out += "&lt;";
    } else if (c == '>') {
      out += "&gt;";
    } else {
      out += c;
    }
  }
  return out;
}

std::string Points(const std::vector<Vec2>& points) {
  std::string text;
  for (const Vec2& p : points) text += fmt::format("{},{} ", N(p.x()), N(p.y()));
  if (!text.empty()) text.pop_back();
  return text;
}

}  // namespace

Svg::Svg(double width_mm, double height_mm, const std::string& title) {
  head_ = fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0}mm\" height=\"{1}mm\" "
      "viewBox=\"0 0 {0} {1}\" role=\"img\">\n<title>{2}</title>\n"
      "<rect width=\"{0}\" height=\"{1}\" fill=\"#ffffff\"/>\n"
      "<g stroke-linecap=\"round\" stroke-linejoin=\"round\" "
      "font-family=\"'DejaVu Sans','Liberation Sans',sans-serif\" fill=\"{3}\">\n",
      N(width_mm), N(height_mm), Escaped(title), kInk);
}

void Svg::Line(const Vec2& a, const Vec2& b, Stroke stroke) {
  body_ += fmt::format("<line x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\" {}/>\n", N(a.x()), N(a.y()),
                       N(b.x()), N(b.y()), Attributes(stroke));
}

void Svg::Polyline(const std::vector<Vec2>& points, Stroke stroke) {
  body_ += fmt::format("<polyline points=\"{}\" {}/>\n", Points(points), Attributes(stroke));
}

void Svg::Circle(const Vec2& centre, double radius_mm, Stroke stroke) {
  body_ += fmt::format("<circle cx=\"{}\" cy=\"{}\" r=\"{}\" {}/>\n", N(centre.x()), N(centre.y()),
                       N(radius_mm), Attributes(stroke));
}

void Svg::Polygon(const std::vector<Vec2>& points, bool ink) {
  body_ += fmt::format("<polygon points=\"{}\" fill=\"{}\" stroke=\"{}\" stroke-width=\"0.18\"/>\n",
                       Points(points), ink ? kInk : "#ffffff", kInk);
}

void Svg::Disc(const Vec2& centre, double radius_mm) {
  body_ += fmt::format(
      "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"#ffffff\" stroke=\"{}\" stroke-width=\"0.25\"/>\n",
      N(centre.x()), N(centre.y()), N(radius_mm), kInk);
}

void Svg::Box(const Vec2& corner, const Vec2& size, Stroke stroke) {
  body_ += fmt::format("<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" {}/>\n", N(corner.x()),
                       N(corner.y()), N(size.x()), N(size.y()), Attributes(stroke));
}

void Svg::Blank(const Vec2& corner, const Vec2& size) {
  body_ += fmt::format("<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"#ffffff\"/>\n",
                       N(corner.x()), N(corner.y()), N(size.x()), N(size.y()));
}

void Svg::Text(const Vec2& at, double size_mm, std::string_view text, Anchor anchor, bool heavy) {
  static constexpr std::string_view kAnchors[] = {"start", "middle", "end"};
  body_ += fmt::format("<text x=\"{}\" y=\"{}\" font-size=\"{}\" text-anchor=\"{}\"{}>{}</text>\n",
                       N(at.x()), N(at.y()), N(size_mm / kFigureShare),
                       kAnchors[static_cast<std::size_t>(anchor)],
                       heavy ? " font-weight=\"bold\"" : "", Escaped(text));
}

void Svg::Caution(const Vec2& at, double size_mm, std::string_view text) {
  body_ += fmt::format(
      "<text x=\"{}\" y=\"{}\" font-size=\"{}\" font-weight=\"bold\" fill=\"{}\">{}</text>\n",
      N(at.x()), N(at.y()), N(size_mm / kFigureShare), kAccent, Escaped(text));
}

void Svg::BeginClip(const Vec2& corner, const Vec2& size) {
  body_ += fmt::format(
      "<clipPath id=\"clip{0}\"><rect x=\"{1}\" y=\"{2}\" width=\"{3}\" height=\"{4}\"/></clipPath>\n"
      "<g clip-path=\"url(#clip{0})\">\n",
      ++clips_, N(corner.x()), N(corner.y()), N(size.x()), N(size.y()));
}

void Svg::EndClip() { body_ += "</g>\n"; }

std::string Svg::Finish() { return head_ + body_ + "</g>\n</svg>\n"; }

}  // namespace fitwright::sheets
