// Files that only save work, kept between runs in the user's cache folder. Internal to service/.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>

namespace fitwright::service {

inline constexpr std::uintmax_t kMostKeptBytes = 64U << 20U;  // of each kind

// All that the file holds; nothing where it cannot be read.
std::optional<std::string> ReadKept(const std::filesystem::path& file);
// Written whole or not at all, its folder made; then the oldest files beside it with the same
// ending go until these take kMostKeptBytes. Failing to write is no error: the next run works it
// out again.
void WriteKept(const std::filesystem::path& file, std::string_view bytes);

}  // namespace fitwright::service
