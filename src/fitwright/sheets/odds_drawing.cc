#include "fitwright/sheets/odds_drawing.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/sheets/svg.h"
#include "fitwright/units/length.h"

namespace fitwright::sheets {
namespace {

constexpr double kWidth_mm = 160;
constexpr double kHeight_mm = 100;
constexpr double kLeft_mm = 8;
constexpr double kRight_mm = 152;
constexpr double kTop_mm = 28;
constexpr double kBase_mm = 64;   // the axis
constexpr double kStrip_mm = 88;  // feet of the strokes
constexpr double kTitle_mm = 3.5;
constexpr double kText_mm = 2.5;
constexpr double kHatchApart_mm = 1.6;
constexpr double kStroke_mm = 6;
constexpr double kMissed_mm = 0.9;
constexpr double kFigureRoom_mm = 4;

class Page {
 public:
  explicit Page(const OddsPicture& picture)
      : picture_(picture), svg_(kWidth_mm, kHeight_mm, picture.title + ": " + picture.chance) {}

  std::string Draw() {
    AddHead();
    if (picture_.edges.size() > 1) {
      highest_ = *std::max_element(picture_.shares.begin(), picture_.shares.end());
      if (highest_ > 0) AddSpread();
    } else {
      svg_.Text({kLeft_mm, 0.5 * (kTop_mm + kBase_mm)}, kText_mm,
                "It does not vary: no error of this plan moves it.");
    }
    AddStrip();
    return svg_.Finish();
  }

 private:
  void AddHead() {
    const double right = TextWidth_mm(picture_.chance, kTitle_mm, true);
    const double room = kRight_mm - kLeft_mm - right - 4;
    const auto lines = WrapToWidth(picture_.title, kTitle_mm, room);
    for (std::size_t i = 0; i < std::min<std::size_t>(lines.size(), 2); ++i)
      svg_.Text({kLeft_mm, 9 + 5.0 * static_cast<double>(i)}, kTitle_mm, lines[i]);
    svg_.Text({kRight_mm, 9}, kTitle_mm, picture_.chance, Anchor::kEnd, true);
    svg_.Line({kLeft_mm, 16.5}, {kRight_mm, 16.5}, Stroke::kRule);
    svg_.Text({kLeft_mm, 20.5}, kText_mm, picture_.limits);
    svg_.Text({kRight_mm, 20.5}, kText_mm, picture_.source, Anchor::kEnd);
  }

  double X(double value) const {
    const double from = picture_.edges.front();
    return kLeft_mm + (kRight_mm - kLeft_mm) * (value - from) / (picture_.edges.back() - from);
  }
  double Middle(std::size_t i) const { return 0.5 * (picture_.edges[i] + picture_.edges[i + 1]); }
  double Y(double share) const { return kBase_mm - (kBase_mm - kTop_mm) * share / highest_; }

  // Height of the line over a place along the axis.
  double HeightAt(double value) const {
    const std::size_t last = picture_.shares.size() - 1;
    if (value <= Middle(0)) return picture_.shares.front();
    if (value >= Middle(last)) return picture_.shares.back();
    const double step = picture_.edges[1] - picture_.edges[0];
    const double place = (value - Middle(0)) / step;
    const auto i = std::min(static_cast<std::size_t>(place), last - 1);
    const double part = place - static_cast<double>(i);
    return (1 - part) * picture_.shares[i] + part * picture_.shares[i + 1];
  }

  void AddSpread() {
    Hatch(picture_.edges.front(), picture_.lower.value_or(picture_.edges.front()));
    Hatch(picture_.upper.value_or(picture_.edges.back()), picture_.edges.back());
    std::vector<Vec2> line;
    for (std::size_t i = 0; i < picture_.shares.size(); ++i)
      line.emplace_back(X(Middle(i)), Y(picture_.shares[i]));
    svg_.Polyline(line, Stroke::kVisible);
    svg_.Line({kLeft_mm, kBase_mm}, {kRight_mm, kBase_mm}, Stroke::kThin);
    AddFigures();
    AddLimit(picture_.lower, picture_.lower_text, true);
    AddLimit(picture_.upper, picture_.upper_text, false);
    svg_.Text({kRight_mm, kBase_mm + 9}, kText_mm, picture_.axis, Anchor::kEnd);
  }

  // Strokes at 45 degrees under the line between two places, cut off where it ends.
  void Hatch(double from, double to) {
    const double left = X(std::max(from, picture_.edges.front()));
    const double right = X(std::min(to, picture_.edges.back()));
    if (right - left < 0.2) return;
    const double width = picture_.edges.back() - picture_.edges.front();
    for (double foot = left - (kBase_mm - kTop_mm); foot < right; foot += kHatchApart_mm) {
      std::vector<Vec2> inside;
      constexpr int kSteps = 120;
      for (int k = 0; k <= kSteps; ++k) {
        const double up = (kBase_mm - kTop_mm) * k / kSteps;
        const double x = foot + up;
        const double value =
            picture_.edges.front() + width * (x - kLeft_mm) / (kRight_mm - kLeft_mm);
        const bool under = x >= left && x <= right && kBase_mm - up >= Y(HeightAt(value));
        if (under) inside.emplace_back(x, kBase_mm - up);
        if (!under || k == kSteps) {
          if (inside.size() > 1) svg_.Line(inside.front(), inside.back(), Stroke::kHatch);
          inside.clear();
        }
      }
    }
  }

  void AddFigures() {
    const double width = picture_.edges.back() - picture_.edges.front();
    const double raw = width / 6;
    const double ten = std::pow(10.0, std::floor(std::log10(raw)));
    const double step = raw / ten < 2 ? 2 * ten : raw / ten < 5 ? 5 * ten : 10 * ten;
    for (double value = std::ceil(picture_.edges.front() / step) * step;
         value <= picture_.edges.back(); value += step) {
      const double x = X(value);
      svg_.Line({x, kBase_mm}, {x, kBase_mm + 1.2}, Stroke::kThin);
      svg_.Text({x, kBase_mm + kFigureRoom_mm + 0.6}, kText_mm,
                FormatFixed(value, picture_.decimals), Anchor::kMiddle);
    }
  }

  // The figure above the line, on the side that misses where there is room.
  void AddLimit(const std::optional<double>& limit, const std::string& text, bool is_lower) {
    if (!limit || *limit < picture_.edges.front() || *limit > picture_.edges.back()) return;
    const double x = X(*limit);
    svg_.Line({x, kTop_mm - 3}, {x, kBase_mm}, Stroke::kCentre);
    const double room = TextWidth_mm(text, kText_mm, true) + 1;
    const bool to_right = is_lower ? x - room < kLeft_mm : x + room < kRight_mm;
    svg_.Text({x + (to_right ? 1 : -1), kTop_mm - 1.5}, kText_mm, text,
              to_right ? Anchor::kStart : Anchor::kEnd, true);
  }

  // A hundred builds in fives: four upright and one across them; what misses lies short.
  void AddStrip() {
    constexpr double kApart_mm = 1.35;
    constexpr double kFive_mm = 7.2;
    for (int i = 0; i < 100; ++i) {
      const int five = i / 5;
      const double left = kLeft_mm + kFive_mm * five;
      const double x = left + kApart_mm * (i % 5);
      if (i >= picture_.met) {
        const double at = i % 5 == 4 ? left + kApart_mm * 3.9 : x;
        svg_.Line({at - 0.5 * kMissed_mm, kStrip_mm}, {at + 0.5 * kMissed_mm, kStrip_mm},
                  Stroke::kThin);
      } else if (i % 5 == 4) {
        svg_.Line({left - 0.8, kStrip_mm - 0.8},
                  {left + kApart_mm * 3 + 0.8, kStrip_mm - kStroke_mm + 0.8}, Stroke::kVisible);
      } else {
        svg_.Line({x, kStrip_mm}, {x, kStrip_mm - kStroke_mm}, Stroke::kVisible);
      }
    }
    svg_.Text(
        {kLeft_mm, kStrip_mm + 6}, kText_mm,
        fmt::format("Of a hundred such machines {} meet it{}", picture_.met,
                    picture_.met < 100 ? fmt::format(", {} do not.", 100 - picture_.met) : "."));
  }

  const OddsPicture& picture_;
  Svg svg_;
  double highest_ = 0;
};

}  // namespace

std::string DrawOdds(const OddsPicture& picture) { return Page(picture).Draw(); }

}  // namespace fitwright::sheets
