#include "fitwright/server/guard.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <random>

namespace fitwright::server {
namespace {

constexpr std::size_t kMostOfAValue = 64;
constexpr std::size_t kMostOfEvents = std::size_t{256} * 1024;

constexpr std::size_t kMostOfAnEdit = std::size_t{16} * 1024;
constexpr std::size_t kMostOfAForm = std::size_t{64} * 1024;
constexpr std::size_t kMostOfAFile = std::size_t{64} << 20;

constexpr std::array kWrittenTo = {
    WrittenTo{"/api/events", "application/json", kMostOfEvents},
    WrittenTo{"/api/edit", "application/json", kMostOfAnEdit},
    WrittenTo{"/api/add", "application/json", kMostOfAForm},
    WrittenTo{"/api/what-if", "application/json", kMostOfAnEdit},
    WrittenTo{"/api/spread", "application/json", kMostOfAnEdit},
    WrittenTo{"/api/planning", "application/json", kMostOfAnEdit, true},
    WrittenTo{"/api/read", "application/octet-stream", kMostOfAFile},
    WrittenTo{kPairPath, "text/plain", kMostOfAValue, false, false}};

std::vector<std::string> HeadersOf(const Asked& asked, const std::string& name) {
  std::vector<std::string> values;
  const auto [first, last] = asked.headers.equal_range(name);
  for (auto at = first; at != last; ++at) values.push_back(at->second);
  return values;
}

Refused Refusal(int status, std::string message, std::string value, std::string remedy) {
  if (value.size() > kMostOfAValue) value.resize(kMostOfAValue);
  std::replace_if(
      value.begin(), value.end(), [](char c) { return c < ' ' || c > '~'; }, '?');
  return {status, {ErrorCode::kUsage, std::move(message), std::move(value), std::move(remedy), {}}};
}

std::optional<Refused> FindForeign(const Asked& asked, const Door& door) {
  const std::vector<std::string> hosts = HeadersOf(asked, "host");
  if (hosts.size() != 1)
    return Refusal(400, "a request names one Host", "", "use the address that was printed");
  if (door.hosts.count(hosts[0]) == 0) {
    return Refusal(403, "this server answers to its own address alone", hosts[0],
                   "use the address that was printed");
  }
  for (const std::string& origin : HeadersOf(asked, "origin")) {
    if (origin != door.scheme + "://" + hosts[0]) {
      return Refusal(403, "another page asked", origin, "open this server's own page");
    }
  }
  for (const std::string& site : HeadersOf(asked, "sec-fetch-site")) {
    const bool visit = asked.path == "/" && !HeadersOf(asked, "sec-fetch-mode").empty() &&
                       HeadersOf(asked, "sec-fetch-mode")[0] == "navigate";
    if (site != "same-origin" && site != "none" && !visit) {
      return Refusal(403, "another page asked", site, "open this server's own page");
    }
  }
  return std::nullopt;
}

bool HasBody(const Asked& asked) {
  const std::vector<std::string> lengths = HeadersOf(asked, "content-length");
  return !HeadersOf(asked, "transfer-encoding").empty() ||
         std::any_of(lengths.begin(), lengths.end(),
                     [](const std::string& length) { return length != "0"; });
}

std::optional<std::size_t> BodyLength(const Asked& asked) {
  const std::vector<std::string> lengths = HeadersOf(asked, "content-length");
  if (lengths.size() != 1 || !HeadersOf(asked, "transfer-encoding").empty()) return std::nullopt;
  std::size_t length = 0;
  const char* end = lengths[0].data() + lengths[0].size();
  const auto [at, fault] = std::from_chars(lengths[0].data(), end, length);
  if (fault != std::errc() || at != end) return std::nullopt;
  return length;
}

std::optional<Refused> FindWrongWrite(const Asked& asked, const Door& door, const WrittenTo& to) {
  const std::vector<std::string> tokens = HeadersOf(asked, std::string(kTokenHeader));
  if (to.by_token && (tokens.size() != 1 || !SameSecret(tokens[0], door.token))) {
    return Refusal(403, "who writes shows this server's token", "",
                   "load the page again: the program was started anew");
  }
  const std::vector<std::string> types = HeadersOf(asked, "content-type");
  if (types.size() != 1 || types[0] != to.type) {
    return Refusal(415, fmt::format("{} is wanted here", to.type), types.empty() ? "" : types[0],
                   "send it as such");
  }
  const auto length = BodyLength(asked);
  if (!length) return Refusal(411, "what is sent says its length", "", "give one Content-Length");
  if (*length > to.most_bytes) {
    return Refusal(413, fmt::format("up to {} bytes are taken at once", to.most_bytes),
                   std::to_string(*length), "send it in smaller pieces");
  }
  return std::nullopt;
}

}  // namespace

Door LoopbackDoor(int port, std::string token) {
  Door door;
  for (const char* name : {"127.0.0.1", "localhost", "[::1]"})
    door.hosts.insert(fmt::format("{}:{}", name, port));
  door.token = std::move(token);
  return door;
}

Door NetworkDoor(const std::vector<std::string>& addresses, int port, std::string token) {
  Door door;
  for (const std::string& address : addresses)
    door.hosts.insert(fmt::format("{}:{}", address, port));
  door.scheme = "https";
  door.token = std::move(token);
  door.by_pairing = true;
  return door;
}

const WrittenTo* FindWrittenTo(std::string_view path) {
  const auto found = std::find_if(kWrittenTo.begin(), kWrittenTo.end(),
                                  [&](const WrittenTo& to) { return to.path == path; });
  return found == kWrittenTo.end() ? nullptr : &*found;
}

std::optional<Refused> FindRefusal(const Asked& asked, const Door& door) {
  if (auto foreign = FindForeign(asked, door)) return foreign;
  const WrittenTo* to = FindWrittenTo(asked.path);
  if (to != nullptr && asked.method == "POST") return FindWrongWrite(asked, door, *to);
  if (to != nullptr && !(to->is_read && (asked.method == "GET" || asked.method == "HEAD")))
    return Refusal(405, "this address is only written to", asked.method, "use POST");
  if (asked.method != "GET" && asked.method != "HEAD") {
    return Refusal(405, "this address is only read", asked.method, "use GET");
  }
  if (HasBody(asked))
    return Refusal(400, "a request to read carries nothing", "", "leave the body out");
  return std::nullopt;
}

bool SameSecret(std::string_view a, std::string_view b) {
  if (a.size() != b.size() || b.empty()) return false;
  unsigned difference = 0;
  for (std::size_t i = 0; i < a.size(); ++i)
    difference |= static_cast<unsigned char>(a[i]) ^ static_cast<unsigned char>(b[i]);
  return difference == 0;
}

std::string MakeSecret() {
  std::random_device random;
  std::string secret;
  for (int i = 0; i < 4; ++i) secret += fmt::format("{:08x}", random());
  return secret;
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
