// Requests that are malformed, foreign or too large: only clear refusals, and the server goes on.
#include "fitwright/server/guard.h"

#include <arpa/inet.h>
#include <fmt/format.h>
#include <sys/socket.h>

#include <nlohmann/json.hpp>

#include "tests/server/served.h"

namespace fitwright::server {
namespace {

class Guard : public Served {
 protected:
  // What comes back for these bytes: all of it where they ask for the end of the connection, else
  // the head.
  std::string Send(const std::string& bytes) const {
    const int to = socket(AF_INET, SOCK_STREAM, 0);
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_port = htons(static_cast<std::uint16_t>(port()));
    inet_pton(AF_INET, "127.0.0.1", &address.sin_addr);
    if (connect(to, reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0)
      return "not connected";
    std::size_t sent = 0;
    while (sent < bytes.size()) {
      const ssize_t count = send(to, bytes.data() + sent, bytes.size() - sent, MSG_NOSIGNAL);
      if (count <= 0) break;
      sent += static_cast<std::size_t>(count);
    }
    const bool to_the_end = bytes.find("Connection: close") != std::string::npos;
    std::string answer;
    char buffer[4096];
    for (ssize_t count = 0; (count = recv(to, buffer, sizeof buffer, 0)) > 0;) {
      answer.append(buffer, static_cast<std::size_t>(count));
      if (!to_the_end && answer.find("\r\n\r\n") != std::string::npos) break;
    }
    close(to);
    return answer;
  }
  static int StatusOf(const std::string& answer) {
    return answer.rfind("HTTP/1.", 0) == 0 ? std::stoi(answer.substr(9, 3)) : 0;
  }
  std::string Host() const { return fmt::format("Host: 127.0.0.1:{}\r\n", port()); }
  int StatusWith(const std::string& headers,
                 const std::string& line = "GET /api/project HTTP/1.1") const {
    return StatusOf(Send(line + "\r\n" + headers + "Connection: close\r\n\r\n"));
  }
};

TEST_F(Guard, OnlyItsOwnNamesAreAnswered) {
  Serve();
  for (const char* name : {"127.0.0.1", "localhost", "[::1]"}) {
    EXPECT_EQ(StatusWith(fmt::format("Host: {}:{}\r\n", name, port())), 200) << name;
  }
  for (const std::string host : {"evil.example", "127.0.0.1", "127.0.0.1:1",
                                 "localhost.evil.example:80", "127.0.0.1 ", "0.0.0.0"}) {
    EXPECT_EQ(StatusWith("Host: " + host + "\r\n"), 403) << host;
  }
  EXPECT_EQ(StatusWith(""), 400);
  EXPECT_EQ(StatusWith("Host: \r\n"), 400);
  EXPECT_EQ(StatusWith(Host() + Host()), 400);
  EXPECT_EQ(StatusWith(Host() + "Host: evil.example\r\n"), 400);
}

TEST_F(Guard, AnotherPageIsRefused) {
  Serve();
  EXPECT_EQ(StatusWith(Host() + fmt::format("Origin: http://127.0.0.1:{}\r\n", port())), 200);
  for (const std::string origin :
       {"http://evil.example", "null", "https://127.0.0.1", "http://127.0.0.1"}) {
    EXPECT_EQ(StatusWith(Host() + "Origin: " + origin + "\r\n"), 403) << origin;
  }
  EXPECT_EQ(StatusWith(Host() + fmt::format("Origin: http://localhost:{}\r\n", port())), 403)
      << "two names of one server";
  EXPECT_EQ(StatusWith(Host() + "Sec-Fetch-Site: cross-site\r\nSec-Fetch-Mode: no-cors\r\n"), 403);
  EXPECT_EQ(StatusWith(Host() + "Sec-Fetch-Site: same-origin\r\n"), 200);
  EXPECT_EQ(StatusWith(Host() + "Sec-Fetch-Site: cross-site\r\nSec-Fetch-Mode: navigate\r\n",
                       "GET / HTTP/1.1"),
            200)
      << "a link that leads to the page";
}

TEST_F(Guard, ItIsOnlyRead) {
  Serve();
  for (const std::string method : {"PUT", "DELETE", "PATCH", "OPTIONS"}) {
    const std::string answer =
        Send(method + " /api/project HTTP/1.1\r\n" + Host() + "Connection: close\r\n\r\n");
    EXPECT_EQ(StatusOf(answer), 405) << method << answer;
    EXPECT_NE(answer.find("Allow: GET, HEAD"), std::string::npos) << method;
  }
  EXPECT_EQ(
      StatusOf(Send("POST /api/project HTTP/1.1\r\n" + Host() + "Content-Length: 2\r\n\r\n{}")),
      405);
  EXPECT_EQ(StatusWith(Host() + "Content-Length: 5\r\n"), 400);
  EXPECT_EQ(StatusWith(Host() + "Transfer-Encoding: chunked\r\n"), 400);
  const std::string head =
      Send("HEAD /api/project HTTP/1.1\r\n" + Host() + "Connection: close\r\n\r\n");
  EXPECT_EQ(StatusOf(head), 200);
  EXPECT_EQ(head.find("fitwright-project"), std::string::npos) << "no body";
}

TEST_F(Guard, WhatIsNoRequestIsRefusedAndTheServerGoesOn) {
  Serve();
  const std::string long_text(20000, 'a');
  const std::vector<std::string> malformed = {
      "GET\r\n\r\n",
      "GET / HTTP/9.9\r\n" + Host() + "\r\n",
      "BREW / HTTP/1.1\r\n" + Host() + "\r\n",
      "\r\n\r\n",
      std::string("\x00\x01\x02\x03\r\n\r\n", 8),
      std::string("\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03\r\n\r\n", 15),
      "GET /" + long_text + " HTTP/1.1\r\n" + Host() + "\r\n",
      "GET / HTTP/1.1\r\n" + Host() + "X: " + long_text + "\r\n\r\n",
      "GET /api/drawing?setup=" + std::string(4000, '9') + " HTTP/1.1\r\n" + Host() + "\r\n",
      "GET /%zz%00%ff HTTP/1.1\r\n" + Host() + "\r\n",
      "GET http://evil.example/ HTTP/1.1\r\n" + Host() + "\r\n",
      "GET /api/report?%6%&&==&unit HTTP/1.1\r\n" + Host() + "\r\n",
      "GET /api/project HTTP/1.1\r\n" + Host() + "Range: bytes=9-1,x\r\n\r\n",
      "POST / HTTP/1.1\r\n" + Host() + "Content-Length: 99999999999\r\n\r\n" + long_text,
      "POST / HTTP/1.1\r\n" + Host() + "Content-Length: -1\r\n\r\n",
      "POST /api/project HTTP/1.1\r\n" + Host() +
          "Transfer-Encoding: chunked\r\n\r\nffffffffffffffff\r\n"};
  for (const std::string& bytes : malformed) {
    const std::string answer = Send(bytes);
    const int status = StatusOf(answer);
    EXPECT_TRUE(answer.empty() || (status >= 400 && status < 500))
        << bytes.substr(0, 80) << "\n-> " << answer.substr(0, 200);
    const std::string policy = "Content-Security-Policy:";
    EXPECT_EQ(answer.find(policy), answer.rfind(policy)) << "said once, " << bytes.substr(0, 80);
    EXPECT_EQ(StatusWith(Host()), 200) << "after " << bytes.substr(0, 80);
  }
}

TEST_F(Guard, AHalfRequestHoldsNobodyUp) {
  Serve();
  const int idle = socket(AF_INET, SOCK_STREAM, 0);
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_port = htons(static_cast<std::uint16_t>(port()));
  inet_pton(AF_INET, "127.0.0.1", &address.sin_addr);
  ASSERT_EQ(connect(idle, reinterpret_cast<const sockaddr*>(&address), sizeof address), 0);
  ASSERT_EQ(send(idle, "GET / HT", 8, MSG_NOSIGNAL), 8);
  EXPECT_EQ(StatusWith(Host()), 200);
  close(idle);
}

TEST(FindRefusal, SaysWhatWasWrongInPlainCharacters) {
  const auto refused =
      FindRefusal({"GET", "/", {{"host", std::string("ev\x01il\xff") + std::string(500, 'x')}}},
                  LoopbackDoor(80, ""));
  ASSERT_TRUE(refused);
  EXPECT_EQ(refused->status, 403);
  EXPECT_EQ(refused->error.value.rfind("ev?il?xxx", 0), 0U);
  EXPECT_EQ(refused->error.value.size(), 64U);
}

}  // namespace
}  // namespace fitwright::server
