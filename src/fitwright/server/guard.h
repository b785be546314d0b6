// What is refused before any route sees it.
#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "fitwright/base/error.h"

namespace fitwright::server {

// A request as far as the guard needs it: names of headers in lower case, each as often as it came.
struct Asked {
  std::string method;
  std::string path;
  std::multimap<std::string, std::string> headers;
};

struct Refused {
  int status = 400;
  Error error;
};

// Nothing when the request may go on. `port` is this server's own.
std::optional<Refused> FindRefusal(const Asked& asked, int port);

// Query values by name. kUsage for a name outside `known`, a name given twice, a value over 64
// characters.
using Query = std::map<std::string, std::string>;
std::optional<Error> FindFault(const std::multimap<std::string, std::string>& given,
                               const std::set<std::string>& known);

}  // namespace fitwright::server
