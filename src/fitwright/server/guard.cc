#include "fitwright/server/guard.h"

#include <fmt/format.h>

#include <algorithm>

namespace fitwright::server {
namespace {

constexpr std::size_t kMostOfAValue = 64;

std::vector<std::string> Values(const Asked& asked, const std::string& name) {
  std::vector<std::string> values;
  const auto [first, last] = asked.headers.equal_range(name);
  for (auto at = first; at != last; ++at) values.push_back(at->second);
  return values;
}

std::set<std::string> OwnHosts(int port) {
  std::set<std::string> hosts;
  for (const char* name : {"127.0.0.1", "localhost", "[::1]"})
    hosts.insert(fmt::format("{}:{}", name, port));
  return hosts;
}

Refused Refusal(int status, std::string message, std::string value, std::string remedy) {
  if (value.size() > kMostOfAValue) value.resize(kMostOfAValue);
  std::replace_if(
      value.begin(), value.end(), [](char c) { return c < ' ' || c > '~'; }, '?');
  return {status, {ErrorCode::kUsage, std::move(message), std::move(value), std::move(remedy), {}}};
}

std::optional<Refused> FindForeign(const Asked& asked, int port) {
  const std::set<std::string> own = OwnHosts(port);
  const std::vector<std::string> hosts = Values(asked, "host");
  if (hosts.size() != 1)
    return Refusal(400, "a request names one Host", "", "use the address that was printed");
  if (own.count(hosts[0]) == 0) {
    return Refusal(403, "this server answers to its own address alone", hosts[0],
                   "use the address that was printed");
  }
  for (const std::string& origin : Values(asked, "origin")) {
    if (origin != "http://" + hosts[0]) {
      return Refusal(403, "another page asked", origin, "open this server's own page");
    }
  }
  for (const std::string& site : Values(asked, "sec-fetch-site")) {
    const bool visit = asked.path == "/" && !Values(asked, "sec-fetch-mode").empty() &&
                       Values(asked, "sec-fetch-mode")[0] == "navigate";
    if (site != "same-origin" && site != "none" && !visit) {
      return Refusal(403, "another page asked", site, "open this server's own page");
    }
  }
  return std::nullopt;
}

bool HasBody(const Asked& asked) {
  const std::vector<std::string> lengths = Values(asked, "content-length");
  return !Values(asked, "transfer-encoding").empty() ||
         std::any_of(lengths.begin(), lengths.end(),
                     [](const std::string& length) { return length != "0"; });
}

}  // namespace

std::optional<Refused> FindRefusal(const Asked& asked, int port) {
  if (auto foreign = FindForeign(asked, port)) return foreign;
  if (asked.method != "GET" && asked.method != "HEAD") {
    return Refusal(405, "this address is only read", asked.method, "use GET");
  }
  if (HasBody(asked))
    return Refusal(400, "a request to read carries nothing", "", "leave the body out");
  return std::nullopt;
}

std::optional<Error> FindFault(const std::multimap<std::string, std::string>& given,
                               const std::set<std::string>& known) {
  for (auto at = given.begin(); at != given.end(); ++at) {
    if (known.count(at->first) == 0) {
      return Refusal(400, "there is no such value to give", at->first, "leave it out").error;
    }
    if (given.count(at->first) > 1)
      return Refusal(400, "a value is given once", at->first, "leave one out").error;
    if (at->second.size() > kMostOfAValue)
      return Refusal(400, "the value is too long", at->second, "").error;
  }
  return std::nullopt;
}

}  // namespace fitwright::server
