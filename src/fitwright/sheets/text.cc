#include "fitwright/sheets/text.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/sheets/table_text.h"
#include "fitwright/sheets/words.h"

namespace fitwright::sheets {
namespace {

constexpr std::size_t kLabelWidth = 12;
constexpr std::size_t kNumberWidth = 6;
constexpr std::size_t kBarWidth = 20;
constexpr std::string_view kBold = "\x1b[1m";
constexpr std::string_view kLookColour = "\x1b[33m";
constexpr std::string_view kStopColour = "\x1b[31m";
constexpr std::string_view kReset = "\x1b[0m";

std::string_view ToneWord(Tone tone) {
  switch (tone) {
    case Tone::kPlain: return "";
    case Tone::kNote: return "Note: ";
    case Tone::kLook: return "Look here: ";
    case Tone::kStop: return "Caution: ";
  }
  return "";
}

// The margin label already says it; only colour is added to entries.
std::string_view ToneColour(Tone tone) {
  if (tone == Tone::kLook) return kLookColour;
  if (tone == Tone::kStop) return kStopColour;
  return "";
}

class TextRenderer {
 public:
  explicit TextRenderer(const TextOptions& options)
      : width_(static_cast<std::size_t>(std::clamp(options.width, 60, 120))),
        colour_(options.colour) {}

  std::string Render(const Book& book) {
    for (const Piece& piece : book.pieces) {
      std::visit([this](const auto& p) { Add(p); }, piece);
    }
    while (!lines_.empty() && lines_.back().empty()) lines_.pop_back();
    std::string text;
    for (const std::string& line : lines_) text += line + "\n";
    return text;
  }

 private:
  void Line(std::string line, std::string_view code = "") {
    line.erase(line.find_last_not_of(' ') + 1);
    if (colour_ && !code.empty() && !line.empty()) {
      line = std::string(code) + line + std::string(kReset);
    }
    lines_.push_back(std::move(line));
  }

  void Blank() {
    if (!lines_.empty() && !lines_.back().empty()) lines_.emplace_back();
  }

  // First line starts with `first`, the others are indented as far.
  void Hang(const std::string& first, std::string_view text, std::string_view code = "") {
    const std::string indent(first.size(), ' ');
    bool is_first = true;
    for (const std::string& line : WrapText(text, width_ - first.size())) {
      Line((is_first ? first : indent) + line, code);
      is_first = false;
    }
  }

  void Add(const Heading& h) {
    after_tick_ = false;
    Blank();
    if (h.level == 2) Blank();
    std::string line = h.text;
    if (h.level == 1) Line(std::string(width_, '='));
    if (!h.right.empty()) {
      if (line.size() + 2 + h.right.size() <= width_) {
        line.append(width_ - line.size() - h.right.size(), ' ');
        line += h.right;
      } else {
        line += "  " + h.right;
      }
    }
    for (const std::string& part : line.size() > width_ ? WrapText(line, width_)
                                                        : std::vector<std::string>{line}) {
      Line(part, kBold);
    }
    if (h.level == 1) Line(std::string(width_, '='));
    if (h.level == 2) Line(std::string(width_, '-'));
    after_heading_ = true;
  }

  void Add(const Paragraph& p) {
    if (p.tone == Tone::kPlain && !after_heading_) Blank();
    after_heading_ = false;
    Hang("", std::string(ToneWord(p.tone)) + p.text, ToneColour(p.tone));
  }

  void Add(const Entry& e) {
    if (after_tick_) Blank();
    after_tick_ = false;
    after_heading_ = false;
    std::string label = e.label;
    label.resize(std::max(kLabelWidth, label.size() + 1), ' ');
    Hang(label, e.text, ToneColour(e.tone));
  }

  void Add(const TickLine& t) {
    if (!after_heading_) Blank();
    after_heading_ = false;
    std::string first = "[ ] " + t.number;
    first.resize(std::max(4 + kNumberWidth, first.size() + 1), ' ');
    Hang(first, t.text);
    for (const std::string& detail : t.details) Hang(std::string(first.size(), ' '), detail);
    after_tick_ = true;
  }

  void Add(const ListItem& item) {
    after_heading_ = false;
    Hang("- ", item.text);
  }

  void Add(const Table& table) {
    if (!after_heading_) Blank();
    after_heading_ = false;
    const std::size_t indent = table.indented ? 4 + kNumberWidth : 0;
    for (const std::string& line : LayOutTable(table, width_ - indent)) {
      Line(std::string(indent, ' ') + line);
    }
    Blank();
  }

  void Add(const Tally& tally) {
    for (int row = 0; row < 2; ++row) {
      std::string line = width_ > 60 ? "  " : "";
      for (int i = row * 50; i < (row + 1) * 50; ++i) {
        if (i % 5 == 0 && i % 50 != 0) line += ' ';
        line += i < tally.met ? '|' : '.';
      }
      Line(line);
    }
    after_heading_ = false;
  }

  void Add(const Bars& bars) {
    double longest = 0;
    for (const Bar& bar : bars.bars) longest = std::max(longest, bar.share);
    for (const Bar& bar : bars.bars) {
      const double part = longest > 0 ? bar.share / longest : 0;
      std::string rule(static_cast<std::size_t>(std::lround(part * kBarWidth)), '=');
      rule.resize(kBarWidth, ' ');
      Hang(fmt::format("  {:3} %  {}  ", std::lround(100 * bar.share), rule), bar.text);
    }
    after_heading_ = false;
  }

  void Add(const OrderOfWork& order) {
    std::vector<std::string> legend;
    std::string heads;
    for (std::size_t i = 0; i < order.parts.size(); ++i) {
      legend.push_back(LaneHead(i) + " " + order.parts[i]);
      heads += LaneHead(i) + LaneGap(order.parts.size());
    }
    std::string legend_text;
    for (const std::string& l : legend) legend_text += (legend_text.empty() ? "" : ",  ") + l;
    Hang("", legend_text);
    Blank();
    Line(heads);
    for (const OrderRow& row : order.rows) AddOrderRow(row);
    after_heading_ = false;
    Hang("", "o worked on   + joined to the piece worked on   | waiting   -- pause: a place to break off");
  }

  static std::string LaneHead(std::size_t i) {
    constexpr std::size_t kLetters = 26;
    std::string head(1, static_cast<char>('A' + i % kLetters));
    if (i >= kLetters) head[0] = static_cast<char>('a' + i % kLetters);
    return head;
  }

  // Many lanes stand close, so that there is room beside them to read.
  static std::string LaneGap(std::size_t lanes) {
    constexpr std::size_t kApart = 12;
    return lanes > kApart ? "" : " ";
  }

  void AddOrderRow(const OrderRow& row) {
    const std::string gap = LaneGap(row.lanes.size());
    std::string lanes;
    std::string after;
    for (const Lane lane : row.lanes) {
      static constexpr std::string_view kMarks = " |o+";
      lanes += kMarks[static_cast<std::size_t>(lane)] + gap;
      after += (lane == Lane::kNone ? " " : "|") + gap;
    }
    const std::size_t margin = lanes.size() + 6;
    const std::size_t right = 10;
    bool is_first = true;
    for (const std::string& text : WrapText(row.text, width_ - margin - right - 1)) {
      std::string line = is_first ? fmt::format("{}{:>3}   {}", lanes, row.number, text)
                                  : fmt::format("{}      {}", after, text);
      if (is_first && line.size() + row.right.size() < width_) {
        line.append(width_ - line.size() - row.right.size(), ' ');
        line += row.right;
      }
      Line(line);
      is_first = false;
    }
    for (const std::string& wait : row.waits) AddBesideLanes(after + "      ", "", wait, kLookColour);
    if (!row.pause.empty()) AddBesideLanes(after + "      ", "-- ", row.pause, "");
  }

  // The lanes go on down the lines that the text takes.
  void AddBesideLanes(const std::string& lanes, const std::string& mark, const std::string& text, std::string_view colour) {
    std::string before = mark;
    for (const std::string& line : WrapText(text, width_ - lanes.size() - mark.size())) {
      Hang(lanes + before, line, colour);
      before.assign(mark.size(), ' ');
    }
  }

  std::size_t width_;
  bool colour_;
  bool after_heading_ = true;
  bool after_tick_ = false;
  std::vector<std::string> lines_;
};

}  // namespace

namespace {

// End of the word at `start`; a number keeps its unit.
std::size_t WordEnd(std::string_view text, std::size_t start) {
  std::size_t end = std::min(text.find_first_of(" \n", start), text.size());
  const bool number = text[end - 1] >= '0' && text[end - 1] <= '9';
  if (!number && text[end - 1] != '_') return end;
  for (const std::string_view unit : {"mm", "in", "rpm", "deg", "min", "h"}) {
    const std::string_view rest = text.substr(std::min(end + 1, text.size()));
    if (!rest.starts_with(unit)) continue;
    const std::size_t after = end + 1 + unit.size();
    if (after == text.size() || std::string_view(" .,;:)/\n").find(text[after]) != std::string_view::npos) {
      return std::min(text.find_first_of(" \n", after), text.size());
    }
  }
  return end;
}

}  // namespace

std::vector<std::string> WrapText(std::string_view text, std::size_t width) {
  std::vector<std::string> lines;
  std::string line;
  std::size_t at = 0;
  while (at < text.size()) {
    const std::size_t start = text.find_first_not_of(" \n", at);
    if (start == std::string_view::npos) break;
    const std::size_t end = WordEnd(text, start);
    // Blanks inside the text (columns of a witness reading) are kept while the line lasts.
    const std::size_t gap = line.empty() ? 0 : std::max<std::size_t>(1, start - at);
    if (!line.empty() && line.size() + gap + (end - start) > width) {
      lines.push_back(line);
      line.clear();
    } else {
      line.append(gap, ' ');
    }
    line += text.substr(start, end - start);
    at = end;
  }
  if (!line.empty() || lines.empty()) lines.push_back(line);
  return lines;
}

std::string RenderText(const Book& book, const TextOptions& options) {
  return TextRenderer(options).Render(book);
}

}  // namespace fitwright::sheets
