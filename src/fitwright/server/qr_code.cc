#include "fitwright/server/qr_code.h"

#include <algorithm>
#include <array>
#include <cstdint>
#include <cstdlib>
#include <limits>

namespace fitwright::server {
namespace {

using Bytes = std::vector<std::uint8_t>;

// Level L, table 9 of the standard (from memory): codewords of data, and of correction in each
// block; all blocks of a version are alike.
struct Version {
  int data = 0;
  int blocks = 0;
  int correction = 0;
  int alignment = 0;  // centre of the one alignment pattern; 0: none
};
constexpr std::array kVersions = {Version{19, 1, 7, 0},    Version{34, 1, 10, 18},
                                  Version{55, 1, 15, 22},  Version{80, 1, 20, 26},
                                  Version{108, 1, 26, 30}, Version{136, 2, 18, 34}};
constexpr int kFinder = 7;
constexpr int kMasks = 8;
constexpr int kQuiet = 2;

// GF(256) with x^8 + x^4 + x^3 + x^2 + 1.
std::uint8_t Times(std::uint8_t a, std::uint8_t b) {
  unsigned product = 0;
  for (int bit = 7; bit >= 0; --bit) {
    product = (product << 1) ^ ((product >> 7) * 0x11D);
    product ^= ((b >> bit) & 1U) * a;
  }
  return static_cast<std::uint8_t>(product);
}

Bytes Generator(int degree) {
  Bytes polynomial(static_cast<std::size_t>(degree), 0);
  polynomial.back() = 1;
  std::uint8_t root = 1;
  for (int i = 0; i < degree; ++i) {
    for (std::size_t k = 0; k < polynomial.size(); ++k) {
      polynomial[k] = Times(polynomial[k], root);
      if (k + 1 < polynomial.size()) polynomial[k] ^= polynomial[k + 1];
    }
    root = Times(root, 2);
  }
  return polynomial;
}

Bytes Remainder(const Bytes& data, const Bytes& generator) {
  Bytes remainder(generator.size(), 0);
  for (const std::uint8_t byte : data) {
    const std::uint8_t factor = byte ^ remainder.front();
    std::rotate(remainder.begin(), remainder.begin() + 1, remainder.end());
    remainder.back() = 0;
    for (std::size_t k = 0; k < remainder.size(); ++k) remainder[k] ^= Times(generator[k], factor);
  }
  return remainder;
}

Bytes DataOf(std::string_view text, int codewords) {
  std::vector<bool> bits;
  const auto add = [&](unsigned value, int count) {
    for (int bit = count - 1; bit >= 0; --bit) bits.push_back(((value >> bit) & 1U) != 0);
  };
  add(4, 4);
  add(static_cast<unsigned>(text.size()), 8);
  for (const char c : text) add(static_cast<unsigned char>(c), 8);
  const std::size_t most = static_cast<std::size_t>(codewords) * 8;
  for (int i = 0; i < 4 && bits.size() < most; ++i) bits.push_back(false);
  while (bits.size() % 8 != 0) bits.push_back(false);
  Bytes data;
  for (std::size_t i = 0; i < bits.size(); i += 8) {
    unsigned byte = 0;
    for (std::size_t k = 0; k < 8; ++k) byte = byte << 1 | (bits[i + k] ? 1U : 0U);
    data.push_back(static_cast<std::uint8_t>(byte));
  }
  for (std::uint8_t fill = 0xEC; data.size() < static_cast<std::size_t>(codewords);
       fill = fill == 0xEC ? 0x11 : 0xEC)
    data.push_back(fill);
  return data;
}

// Data and correction of the blocks, a codeword of each in turn.
Bytes Interleaved(const Bytes& data, const Version& version) {
  const auto blocks = static_cast<std::size_t>(version.blocks);
  const std::size_t length = data.size() / blocks;
  const Bytes generator = Generator(version.correction);
  std::vector<Bytes> corrections;
  for (std::size_t b = 0; b < blocks; ++b) {
    const auto from = data.begin() + static_cast<std::ptrdiff_t>(b * length);
    corrections.push_back(
        Remainder(Bytes(from, from + static_cast<std::ptrdiff_t>(length)), generator));
  }
  Bytes out;
  for (std::size_t i = 0; i < length; ++i) {
    for (std::size_t b = 0; b < blocks; ++b) out.push_back(data[b * length + i]);
  }
  for (std::size_t i = 0; i < generator.size(); ++i) {
    for (const Bytes& correction : corrections) out.push_back(correction[i]);
  }
  return out;
}

bool Masks(int mask, int row, int column) {
  switch (mask) {
    case 0:
      return (row + column) % 2 == 0;
    case 1:
      return row % 2 == 0;
    case 2:
      return column % 3 == 0;
    case 3:
      return (row + column) % 3 == 0;
    case 4:
      return (row / 2 + column / 3) % 2 == 0;
    case 5:
      return row * column % 2 + row * column % 3 == 0;
    case 6:
      return (row * column % 2 + row * column % 3) % 2 == 0;
    default:
      return ((row + column) % 2 + row * column % 3) % 2 == 0;
  }
}

class Drawing {
 public:
  explicit Drawing(int number) : version_(kVersions[static_cast<std::size_t>(number - 1)]) {
    code_.size = 17 + 4 * number;
    code_.dark.assign(static_cast<std::size_t>(code_.size) * static_cast<std::size_t>(code_.size), false);
    fixed_ = code_.dark;
    DrawPatterns();
  }

  void Place(const Bytes& codewords) {
    std::size_t bit = 0;
    bool up = true;
    for (int right = code_.size - 1; right >= 1; right -= 2) {
      if (right == 6) right = 5;  // the upright timing line is left out
      for (int i = 0; i < code_.size; ++i) {
        const int row = up ? code_.size - 1 - i : i;
        for (const int column : {right, right - 1}) {
          if (fixed_[Index(row, column)]) continue;
          const bool in_data = bit < codewords.size() * 8;
          code_.dark[Index(row, column)] =
              in_data && ((codewords[bit / 8] >> (7 - bit % 8)) & 1U) != 0;
          ++bit;
        }
      }
      up = !up;
    }
  }

  QrCode Masked(int mask) const {
    Drawing masked = *this;
    for (int row = 0; row < code_.size; ++row) {
      for (int column = 0; column < code_.size; ++column) {
        const std::size_t at = Index(row, column);
        if (!fixed_[at] && Masks(mask, row, column)) masked.code_.dark[at] = !code_.dark[at];
      }
    }
    masked.DrawFormat(mask);
    return masked.code_;
  }

 private:
  std::size_t Index(int row, int column) const {
    return static_cast<std::size_t>(row) * static_cast<std::size_t>(code_.size) + static_cast<std::size_t>(column);
  }
  void Set(int row, int column, bool dark) {
    code_.dark[Index(row, column)] = dark;
    fixed_[Index(row, column)] = true;
  }

  void DrawFinder(int row, int column) {
    for (int r = -1; r <= kFinder; ++r) {
      for (int c = -1; c <= kFinder; ++c) {
        const bool inside =
            row + r >= 0 && row + r < code_.size && column + c >= 0 && column + c < code_.size;
        if (!inside) continue;
        const int ring = std::max(std::abs(r - 3), std::abs(c - 3));
        Set(row + r, column + c, ring != 2 && ring != 4);
      }
    }
  }

  void DrawPatterns() {
    for (int i = 0; i < code_.size; ++i) {
      Set(6, i, i % 2 == 0);
      Set(i, 6, i % 2 == 0);
    }
    DrawFinder(0, 0);
    DrawFinder(0, code_.size - kFinder);
    DrawFinder(code_.size - kFinder, 0);
    for (int r = -2; version_.alignment > 0 && r <= 2; ++r) {
      for (int c = -2; c <= 2; ++c)
        Set(version_.alignment + r, version_.alignment + c,
            std::max(std::abs(r), std::abs(c)) != 1);
    }
    DrawFormat(0);  // keeps its place
  }

  // Level L (01) and the mask, with their BCH code, twice.
  void DrawFormat(int mask) {
    const auto data = static_cast<unsigned>(1 << 3 | mask);
    unsigned rest = data;
    for (int i = 0; i < 10; ++i) rest = (rest << 1) ^ ((rest >> 9) * 0x537);
    const unsigned bits = (data << 10 | rest) ^ 0x5412;
    const auto bit = [&](int i) { return ((bits >> i) & 1U) != 0; };
    for (int i = 0; i <= 5; ++i) Set(i, 8, bit(i));
    Set(7, 8, bit(6));
    Set(8, 8, bit(7));
    Set(8, 7, bit(8));
    for (int i = 9; i < 15; ++i) Set(8, 14 - i, bit(i));
    for (int i = 0; i < 8; ++i) Set(8, code_.size - 1 - i, bit(i));
    for (int i = 8; i < 15; ++i) Set(code_.size - 15 + i, 8, bit(i));
    Set(code_.size - 8, 8, true);
  }

  Version version_;
  QrCode code_;
  std::vector<bool> fixed_;
};

// Long runs and an uneven share of dark are what spoils reading most; the two rules of the standard
// that weigh them choose the mask.
int Badness(const QrCode& code) {
  int badness = 0;
  int dark = 0;
  const auto line = [&](auto at) {
    int run = 0;
    for (int i = 0; i < code.size; ++i) {
      run = i > 0 && at(i) == at(i - 1) ? run + 1 : 1;
      if (run == 5) badness += 3;
      if (run > 5) ++badness;
    }
  };
  for (int k = 0; k < code.size; ++k) {
    line([&](int i) { return code.At(k, i); });
    line([&](int i) { return code.At(i, k); });
    for (int i = 0; i < code.size; ++i) dark += code.At(k, i) ? 1 : 0;
  }
  const int percent = 100 * dark / (code.size * code.size);
  return badness + 10 * (std::abs(percent - 50) / 5);
}

}  // namespace

std::optional<QrCode> MakeQrCode(std::string_view text) {
  for (std::size_t i = 0; i < kVersions.size(); ++i) {
    const Version& version = kVersions[i];
    if (text.size() + 2 > static_cast<std::size_t>(version.data)) continue;
    Drawing drawing(static_cast<int>(i) + 1);
    drawing.Place(Interleaved(DataOf(text, version.data), version));
    std::optional<QrCode> best;
    int least = std::numeric_limits<int>::max();
    for (int mask = 0; mask < kMasks; ++mask) {
      QrCode code = drawing.Masked(mask);
      const int badness = Badness(code);
      if (badness >= least) continue;
      least = badness;
      best = std::move(code);
    }
    return best;
  }
  return std::nullopt;
}

std::string QrText(const QrCode& code) {
  const auto light = [&](int row, int column) {
    const bool outside = row < 0 || column < 0 || row >= code.size || column >= code.size;
    return outside || !code.At(row, column);
  };
  std::string text;
  for (int row = -kQuiet; row < code.size + kQuiet; row += 2) {
    for (int column = -kQuiet; column < code.size + kQuiet; ++column) {
      const bool upper = light(row, column);
      const bool lower = row + 1 < code.size + kQuiet && light(row + 1, column);
      text += upper && lower ? "\u2588" : upper ? "\u2580" : lower ? "\u2584" : " ";
    }
    text += '\n';
  }
  return text;
}

}  // namespace fitwright::server
