// The page's own files, put into the program at the build (web/build.mjs).
#pragma once

#include <span>
#include <string_view>

namespace fitwright::server {

struct PageFile {
  std::string_view path;  // "/app.js"; the page itself is "/"
  std::string_view type;  // with charset where it is text
  std::string_view bytes;
};

std::span<const PageFile> PageFiles();

}  // namespace fitwright::server
