// What is refused before any route sees it.
#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "fitwright/base/error.h"

namespace fitwright::server {

// A request as far as the guard needs it: names of headers in lower case, each as often as it came.
struct Asked {
  std::string method;
  std::string path;
  std::multimap<std::string, std::string> headers;
};

// How this server is reached, and what a page must show to write.
struct Door {
  std::set<std::string> hosts;  // "127.0.0.1:8137"
  std::string scheme = "http";
  std::string token;
  bool by_pairing = false;  // of devices; the server asks each for its token
};
Door NetworkDoor(const std::vector<std::string>& addresses, int port, std::string token);
Door LoopbackDoor(int port, std::string token);

// An address that is written to, by POST.
struct WrittenTo {
  std::string_view path;
  std::string_view type;  // Content-Type
  std::size_t most_bytes = 0;
  bool is_read = false;  // by GET, too
  bool by_token = true;  // else by anyone whose page is this server's
};
const WrittenTo* FindWrittenTo(std::string_view path);

// Where a device shows its code, as plain text.
inline constexpr std::string_view kPairPath = "/api/pair";

// The header that carries the token: no form and no other site's page can send it unasked.
inline constexpr std::string_view kTokenHeader = "fitwright-token";

struct Refused {
  int status = 400;
  Error error;
};

// Nothing when the request may go on.
std::optional<Refused> FindRefusal(const Asked& asked, const Door& door);

// Query values by name. kUsage for a name outside `known`, a name given twice, a value over 64
// characters.
using Query = std::map<std::string, std::string>;
std::optional<Error> FindFault(const std::multimap<std::string, std::string>& given,
                               const std::set<std::string>& known);

// Equal, in a time that says nothing of where they differ.
bool SameSecret(std::string_view a, std::string_view b);
// 32 hex digits that nobody can guess.
std::string MakeSecret();

}  // namespace fitwright::server
