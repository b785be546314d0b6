#include <algorithm>
#include <array>
#include <utility>

#include "fitwright/sheets/svg.h"

namespace fitwright::sheets {
namespace {

constexpr double kUnitsPerEm = 2048;
// Figures of the face stand this share of the type size above the line.
constexpr double kFigureShare = 0.72;

// Advance widths of DejaVu Sans and DejaVu Sans Bold 2.37, the first face that the pages ask for, from its
// hmtx table: the printable characters of ASCII from the blank on. The faces named after it run no wider.
constexpr std::array<int, 95> kPlain = {
    651,  821,  942,  1716, 1303, 1946, 1597, 563,  799,  799,  1024, 1716, 651,  739,  651,  690,
    1303, 1303, 1303, 1303, 1303, 1303, 1303, 1303, 1303, 1303, 690,  690,  1716, 1716, 1716, 1087,
    2048, 1401, 1405, 1430, 1577, 1294, 1178, 1587, 1540, 604,  604,  1343, 1141, 1767, 1532, 1612,
    1235, 1612, 1423, 1300, 1251, 1499, 1401, 2025, 1403, 1251, 1403, 799,  690,  799,  1716, 1024,
    1024, 1255, 1300, 1126, 1300, 1260, 721,  1300, 1298, 569,  569,  1186, 569,  1995, 1298, 1253,
    1300, 1300, 842,  1067, 803,  1298, 1212, 1675, 1212, 1212, 1075, 1303, 690,  1303, 1716};
constexpr std::array<int, 95> kHeavy = {
    713,  934,  1067, 1716, 1425, 2052, 1786, 627,  936,  936,  1071, 1716, 778,  850,  778,  748,
    1425, 1425, 1425, 1425, 1425, 1425, 1425, 1425, 1425, 1425, 819,  819,  1716, 1716, 1716, 1188,
    2048, 1585, 1561, 1503, 1700, 1399, 1399, 1681, 1714, 762,  762,  1587, 1305, 2038, 1714, 1741,
    1501, 1741, 1577, 1475, 1397, 1663, 1585, 2259, 1579, 1483, 1485, 936,  748,  936,  1716, 1024,
    1024, 1382, 1466, 1214, 1466, 1389, 891,  1466, 1458, 702,  702,  1362, 702,  2134, 1458, 1407,
    1466, 1466, 1010, 1219, 979,  1458, 1335, 1892, 1321, 1335, 1192, 1458, 748,  1458, 1716};

}  // namespace

double TextWidth_mm(std::string_view text, double size_mm, bool heavy) {
  const auto& widths = heavy ? kHeavy : kPlain;
  double units = 0;
  for (const char c : text) {
    const auto at = static_cast<unsigned char>(c);
    units += at >= 32 && at < 127 ? widths[at - 32U] : kUnitsPerEm;
  }
  return units / kUnitsPerEm * size_mm / kFigureShare;
}

std::vector<std::string> WrapToWidth(std::string_view text, double size_mm, double width_mm, bool heavy) {
  std::vector<std::string> lines;
  std::string line;
  std::size_t at = 0;
  while (at < text.size()) {
    const std::size_t end = std::min(text.find(' ', at), text.size());
    const std::string word(text.substr(at, end - at));
    at = end + 1;
    if (word.empty()) continue;
    std::string longer = line;
    if (!longer.empty()) longer += ' ';
    longer += word;
    if (!line.empty() && TextWidth_mm(longer, size_mm, heavy) > width_mm) {
      lines.push_back(line);
      line = word;
    } else {
      line = std::move(longer);
    }
  }
  if (!line.empty() || lines.empty()) lines.push_back(line);
  return lines;
}

double FittingSize_mm(std::string_view text, double size_mm, double width_mm, bool heavy) {
  const double width = TextWidth_mm(text, size_mm, heavy);
  return width <= width_mm ? size_mm : size_mm * width_mm / width;
}

}  // namespace fitwright::sheets
