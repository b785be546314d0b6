#include "fitwright/server/server.h"

#include <fmt/format.h>
#include <httplib.h>
#include <sys/socket.h>

#include <algorithm>
#include <cctype>
#include <thread>

#include "fitwright/base/hash.h"
#include "fitwright/server/guard.h"
#include "fitwright/server/page_files.h"
#include "fitwright/server/routes.h"

namespace fitwright::server {
namespace {

constexpr const char* kLoopback = "127.0.0.1";
constexpr std::size_t kWorkers = 64;  // one waits for each drawing that is being made
constexpr std::size_t kMostBody = std::size_t{64} * 1024;
constexpr int kPatience_s = 5;

// No script, style or picture but this server's own files, and the page in no other page's frame.
constexpr const char* kContentPolicy =
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; "
    "connect-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'";
// A drawing is a picture and nothing else; its own lines need no script and no style sheet.
constexpr const char* kPicturePolicy = "default-src 'none'; frame-ancestors 'none'";

std::string LowerCase(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return text;
}

Asked AskedOf(const httplib::Request& request) {
  Asked asked{request.method, request.path, {}};
  for (const auto& [name, value] : request.headers) asked.headers.emplace(LowerCase(name), value);
  return asked;
}

void Put(const Answer& answer, httplib::Response& response) {
  response.status = answer.status;
  response.set_content(answer.body, answer.type.c_str());
}

void PutHeaders(httplib::Response& response) {
  const bool picture = response.get_header_value("Content-Type").rfind("image/svg", 0) == 0;
  response.set_header("Content-Security-Policy", picture ? kPicturePolicy : kContentPolicy);
  response.set_header("X-Content-Type-Options", "nosniff");
  response.set_header("Referrer-Policy", "no-referrer");
  response.set_header("Cross-Origin-Opener-Policy", "same-origin");
  response.set_header("Cross-Origin-Resource-Policy", "same-origin");
  if (!response.has_header("Cache-Control")) response.set_header("Cache-Control", "no-store");
}

std::string TagOf(const PageFile& file) {
  return fmt::format("\"{:016x}\"", StableHash(file.bytes));
}

void AddPageFile(const PageFile& file, httplib::Server& http) {
  const std::string tag = TagOf(file);
  http.Get(std::string(file.path), [file, tag](const httplib::Request& request,
                                               httplib::Response& response) {
    response.set_header("ETag", tag);
    response.set_header("Cache-Control", "no-cache");
    if (request.get_header_value("If-None-Match") == tag) {
      response.status = 304;
      return;
    }
    response.set_content(file.bytes.data(), file.bytes.size(), std::string(file.type).c_str());
  });
}

// What the library itself refuses (a request it cannot read, one that is too long) has no body yet.
Answer Refusal(int status) {
  const bool found = status != 404;
  return AnswerOf({found ? ErrorCode::kUsage : ErrorCode::kFileMissing,
                   found ? "the request cannot be answered" : "there is nothing at this address",
                   "",
                   "start from the page",
                   {}},
                  status);
}

}  // namespace

struct Server::Impl {
  explicit Impl(const ServerOptions& options) : routes(options, &cancel) {}

  CancelFlag cancel;
  Routes routes;
  httplib::Server http;
  int port = 0;
  std::thread listening;

  void SetUp() {
    http.new_task_queue = [] { return new httplib::ThreadPool(kWorkers); };
    http.set_payload_max_length(kMostBody);
    http.set_read_timeout(kPatience_s);
    http.set_write_timeout(kPatience_s);
    http.set_keep_alive_timeout(kPatience_s);
    http.set_tcp_nodelay(true);
    // Not shared with another server of this user's, as the library would have it.
    http.set_socket_options([](socket_t socket) {
      const int yes = 1;
      setsockopt(socket, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes);
    });
    http.set_pre_routing_handler(
        [this](const httplib::Request& request, httplib::Response& response) {
          const auto refused = FindRefusal(AskedOf(request), port);
          if (!refused) return httplib::Server::HandlerResponse::Unhandled;
          Put(AnswerOf(refused->error, refused->status), response);
          response.set_header("Connection", "close");
          if (refused->status == 405) response.set_header("Allow", "GET, HEAD");
          PutHeaders(response);
          return httplib::Server::HandlerResponse::Handled;
        });
    http.set_post_routing_handler(
        [](const httplib::Request&, httplib::Response& response) { PutHeaders(response); });
    http.set_error_handler([](const httplib::Request&, httplib::Response& response) {
      if (response.body.empty()) Put(Refusal(response.status), response);
      PutHeaders(response);
    });
    http.set_exception_handler(
        [](const httplib::Request&, httplib::Response& response, const std::exception_ptr&) {
          Put(AnswerOf({ErrorCode::kInternal,
                        "the server failed on this request; nothing was written",
                        "",
                        "",
                        {}}),
              response);
        });
    for (const PageFile& file : PageFiles()) AddPageFile(file, http);
    http.Get("/api/.*", [this](const httplib::Request& request, httplib::Response& response) {
      Put(routes.Ask(request.path, request.params), response);
    });
  }
};

Server::Server(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}

Server::~Server() {
  impl_->cancel.Cancel();
  impl_->http.stop();
  if (impl_->listening.joinable()) impl_->listening.join();
}

int Server::port() const { return impl_->port; }
std::string Server::Address() const { return fmt::format("http://{}:{}/", kLoopback, impl_->port); }

Result<std::unique_ptr<Server>> Server::Start(const ServerOptions& options) {
  std::error_code error;
  ServerOptions served = options;
  served.dir = std::filesystem::canonical(options.dir, error);
  if (error || !std::filesystem::is_directory(served.dir)) {
    return Unexpected(Error{ErrorCode::kFileMissing,
                            "there is no such folder",
                            options.dir.string(),
                            "name the project's folder",
                            {}});
  }
  auto impl = std::make_unique<Impl>(served);
  impl->SetUp();
  if (options.port == 0) {
    impl->port = impl->http.bind_to_any_port(kLoopback);
  } else if (impl->http.bind_to_port(kLoopback, options.port)) {
    impl->port = options.port;
  }
  if (impl->port <= 0) {
    return Unexpected(Error{ErrorCode::kUsage,
                            "the port is taken",
                            std::to_string(options.port),
                            "give another with --port, or leave it out",
                            {}});
  }
  Impl* running = impl.get();
  impl->listening = std::thread([running] { running->http.listen_after_bind(); });
  while (!impl->http.is_running()) std::this_thread::yield();
  return std::unique_ptr<Server>(new Server(std::move(impl)));
}

}  // namespace fitwright::server
