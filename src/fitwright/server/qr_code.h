// A QR code (ISO/IEC 18004) of a short text: byte mode, error correction level L, versions 1 to 6.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace fitwright::server {

struct QrCode {
  int size = 0;            // modules along a side
  std::vector<bool> dark;  // row by row
  bool At(int row, int column) const { return dark[static_cast<std::size_t>(row) * static_cast<std::size_t>(size) + static_cast<std::size_t>(column)]; }
};

inline constexpr std::size_t kMostQrBytes = 134;

// Nothing for a longer text.
std::optional<QrCode> MakeQrCode(std::string_view text);

// Two rows of modules a line, with the quiet zone; light modules are drawn, for a dark ground.
std::string QrText(const QrCode& code);

}  // namespace fitwright::server
