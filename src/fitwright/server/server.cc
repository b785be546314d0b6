#include "fitwright/server/server.h"

#include <fmt/format.h>
#include <httplib.h>
#include <sys/socket.h>

#include <algorithm>
#include <atomic>
#include <cctype>
#include <chrono>
#include <thread>

#include "fitwright/base/hash.h"
#include "fitwright/base/system.h"
#include "fitwright/server/certificate.h"
#include "fitwright/server/guard.h"
#include "fitwright/server/page_files.h"
#include "fitwright/server/pairing.h"
#include "fitwright/server/rate_limit.h"
#include "fitwright/server/routes.h"

namespace fitwright::server {
namespace {

constexpr const char* kLoopback = "127.0.0.1";
constexpr const char* kEveryAddress = "0.0.0.0";
constexpr std::string_view kDeviceCookie = "fitwright-device";
constexpr int kDeviceStays_s = 30 * 24 * 3600;
constexpr std::size_t kWorkers = 64;  // one waits for each drawing that is being made
constexpr std::size_t kMostBody = std::size_t{64} << 20;  // the guard says how much of it where
constexpr std::size_t kMostLive = 24;                     // pages that are told of changes at once
constexpr std::chrono::seconds kLongestSilence{10};
constexpr double kWritesAtOnce = 200;
constexpr double kWritesASecond = 50;
constexpr int kPatience_s = 5;

// No script, style or picture but this server's own files, and the page in no other page's frame.
constexpr const char* kContentPolicy =
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; "
    "connect-src 'self'; manifest-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'";
// A drawing is a picture and nothing else; its own lines need no script and no style sheet.
constexpr const char* kPicturePolicy = "default-src 'none'; frame-ancestors 'none'";

std::string LowerCase(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return text;
}

// The library packs for whoever takes it by brotli at its slowest: a second of processor for a book.
// Its request is no constant.
void PackByGzip(const httplib::Request& request) {
  auto& headers = const_cast<httplib::Request&>(request).headers;
  const bool gzip = request.get_header_value("Accept-Encoding").find("gzip") != std::string::npos;
  headers.erase("Accept-Encoding");
  if (gzip) headers.emplace("Accept-Encoding", "gzip");
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
  if (response.has_header("X-Content-Type-Options")) return;  // the library asks again when it turns an answer into a refusal
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

// Tells open pages that something changed, each in a stream of its own (server-sent events).
class LiveStreams {
 public:
  LiveStreams(service::BuildDesk& desk, const CancelFlag& cancel) : desk_(desk), cancel_(cancel) {}

  void Serve(httplib::Response& response) {
    if (open_.fetch_add(1) >= kMostLive) {
      --open_;
      Put(AnswerOf({ErrorCode::kUsage, "too many pages are open", "", "close some", {}}, 503),
          response);
      return;
    }
    auto seen = std::make_shared<std::string>();
    response.set_chunked_content_provider(
        "text/event-stream",
        [this, seen](std::size_t, httplib::DataSink& sink) { return Tell(*seen, sink); },
        [this](bool) { --open_; });
  }

 private:
  bool Tell(std::string& seen, httplib::DataSink& sink) {
    const std::string sign = desk_.WaitForChange(seen, kLongestSilence, cancel_);
    if (cancel_.cancelled()) {
      sink.done();
      return true;
    }
    const std::string text =
        sign == seen ? std::string(":\n\n") : fmt::format("data: {}\n\n", sign);
    seen = sign;
    return sink.write(text.data(), text.size());
  }

  service::BuildDesk& desk_;
  const CancelFlag& cancel_;
  std::atomic<std::size_t> open_{0};
};

}  // namespace

struct Server::Impl {
  explicit Impl(const ServerOptions& options)
      : routes(options, &cancel), live(routes.desk(), cancel), token(MakeSecret()) {}

  CancelFlag cancel;
  Routes routes;
  LiveStreams live;
  RateLimit writes{kWritesAtOnce, kWritesASecond};
  std::string token;
  Pairing pairing{std::chrono::steady_clock::now()};
  std::function<void()> paired;
  // This machine's, and the network's where that is wanted: doors stay where they are.
  struct Listener {
    std::unique_ptr<httplib::Server> http;
    Door door;
    int port = 0;
    std::thread listening;
  };
  Listener own;
  Listener network;
  Certificate certificate;
  std::vector<std::string> addresses;

  bool IsStranger(const httplib::Request& request, const Door& door) const {
    if (!door.by_pairing || request.path.rfind("/api/", 0) != 0 || request.path == kPairPath)
      return false;
    return !pairing.Knows(FindCookie(request.get_header_value("Cookie"), kDeviceCookie));
  }

  std::optional<Refused> FindRefused(const httplib::Request& request, const Door& door) {
    if (auto refused = FindRefusal(AskedOf(request), door)) return refused;
    if (IsStranger(request, door)) {
      return Refused{401,
                     {ErrorCode::kUsage,
                      "this device is not paired with the program",
                      "",
                      "key in the code that stands on the terminal",
                      {}}};
    }
    if (request.method != "POST" ||
        writes.Take(request.remote_addr, std::chrono::steady_clock::now()))
      return std::nullopt;
    return Refused{429, {ErrorCode::kUsage, "too much is sent at once", "", "wait a second", {}}};
  }

  static void SetLimits(httplib::Server& http) {
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
  }

  void SetHandlers(httplib::Server& http, const Door& door) {
    http.set_pre_routing_handler(
        [this, &door](const httplib::Request& request, httplib::Response& response) {
          PackByGzip(request);
          const auto refused = FindRefused(request, door);
          if (!refused) return httplib::Server::HandlerResponse::Unhandled;
          Put(AnswerOf(refused->error, refused->status), response);
          response.set_header("Connection", "close");
          const bool written = FindWrittenTo(request.path) != nullptr;
          if (refused->status == 405) response.set_header("Allow", written ? "POST" : "GET, HEAD");
          PutHeaders(response);
          return httplib::Server::HandlerResponse::Handled;
        });
    http.set_post_routing_handler(
        [](const httplib::Request&, httplib::Response& response) { PutHeaders(response); });
    http.set_error_handler([](const httplib::Request& request, httplib::Response& response) {
      // The library would cut the words by the ranges that it could read; its request is no constant.
      const_cast<httplib::Request&>(request).ranges.clear();
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
  }

  void Pair(const httplib::Request& request, httplib::Response& response) {
    const auto device = pairing.Redeem(request.body, std::chrono::steady_clock::now());
    if (!device) {
      Put(AnswerOf({ErrorCode::kUsage,
                    "this is not the code",
                    "",
                    "look at the terminal: it may have another one by now",
                    {}},
                   403),
          response);
      return;
    }
    response.set_header("Set-Cookie",
                        fmt::format("{}={}; Path=/; Secure; HttpOnly; SameSite=Strict; Max-Age={}",
                                    kDeviceCookie, *device, kDeviceStays_s));
    Put({200, "application/json", "{\"schema\":\"fitwright-paired/1\"}\n"}, response);
    if (paired) paired();
  }

  void SetAddresses(httplib::Server& http, const Door& door) {
    for (const PageFile& file : PageFiles()) AddPageFile(file, http);
    http.Get("/api/token", [this](const httplib::Request&, httplib::Response& response) {
      Put({200, "application/json",
           fmt::format("{{\"schema\":\"fitwright-token/1\",\"token\":\"{}\"}}\n", token)},
          response);
    });
    http.Get("/api/live", [this](const httplib::Request& request, httplib::Response& response) {
      if (request.method == "GET") live.Serve(response);
    });
    http.Get("/api/.*", [this](const httplib::Request& request, httplib::Response& response) {
      Put(routes.Ask(request.path, request.params), response);
    });
    if (door.by_pairing) {
      http.Post(std::string(kPairPath),
                [this](const httplib::Request& request, httplib::Response& response) {
                  Pair(request, response);
                });
    }
    http.Post("/api/.*", [this](const httplib::Request& request, httplib::Response& response) {
      Put(routes.Tell(request.path, request.params, request.body), response);
    });
  }

  void SetUp(Listener& listener) {
    SetLimits(*listener.http);
    SetHandlers(*listener.http, listener.door);
    SetAddresses(*listener.http, listener.door);
  }

  Status Bind(Listener& listener, const char* host, int port) const {
    listener.port = 0;
    if (port == 0) {
      listener.port = listener.http->bind_to_any_port(host);
    } else if (listener.http->bind_to_port(host, port)) {
      listener.port = port;
    }
    if (listener.port > 0) return Ok{};
    return Unexpected(Error{ErrorCode::kUsage,
                            "the port is taken",
                            std::to_string(port),
                            "give another with --port, or leave it out",
                            {}});
  }

  static void Listen(Listener& listener) {
    httplib::Server* http = listener.http.get();
    listener.listening = std::thread([http] { http->listen_after_bind(); });
    while (!http->is_running()) std::this_thread::yield();
  }

  // The network's listener, bound.
  Status PrepareNetwork(const ServerOptions& options) {
    addresses = NetworkAddresses();
    if (addresses.empty()) {
      return Unexpected(Error{ErrorCode::kUsage,
                              "this machine is on no network",
                              "--lan",
                              "leave --lan out, or join a network",
                              {}});
    }
    auto made = LoadOrMakeCertificate(options.lan_folder, addresses);
    if (!made) return Unexpected(made.error());
    certificate = *std::move(made);
    network.http =
        std::make_unique<httplib::SSLServer>(certificate.certificate.get(), certificate.key.get());
    if (!network.http->is_valid())
      return Unexpected(
          Error{ErrorCode::kInternal, "no encrypted server could be set up", "", "", {}});
    SetUp(network);
    const int port = options.port == 0 ? 0 : options.port + 1;
    if (Status bound = Bind(network, kEveryAddress, port); !bound) return bound;
    network.door = NetworkDoor(addresses, network.port, token);
    paired = options.paired;
    return Ok{};
  }

  static void Stop(Listener& listener) {
    if (!listener.http) return;
    listener.http->stop();
    if (listener.listening.joinable()) listener.listening.join();
  }
};

Server::Server(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}

Server::~Server() {
  impl_->cancel.Cancel();
  Impl::Stop(impl_->network);
  Impl::Stop(impl_->own);
}

int Server::port() const { return impl_->own.port; }
std::string Server::Address() const {
  return fmt::format("http://{}:{}/", kLoopback, impl_->own.port);
}

std::optional<NetworkAccess> Server::FindNetworkAccess() {
  if (impl_->addresses.empty()) return std::nullopt;
  NetworkAccess access;
  for (const std::string& address : impl_->addresses)
    access.addresses.push_back(fmt::format("https://{}:{}/", address, impl_->network.port));
  access.code = impl_->pairing.GetCode(std::chrono::steady_clock::now());
  access.fingerprint = impl_->certificate.Fingerprint();
  return access;
}

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
  impl->own.http = std::make_unique<httplib::Server>();
  impl->SetUp(impl->own);
  if (const Status bound = impl->Bind(impl->own, kLoopback, options.port); !bound)
    return Unexpected(bound.error());
  impl->own.door = LoopbackDoor(impl->own.port, impl->token);
  if (options.lan) {
    impl->network.door.by_pairing = true;
    if (const Status ready = impl->PrepareNetwork(options); !ready)
      return Unexpected(ready.error());
    Impl::Listen(impl->network);
  }
  Impl::Listen(impl->own);
  return std::unique_ptr<Server>(new Server(std::move(impl)));
}

}  // namespace fitwright::server
