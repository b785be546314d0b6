// The page's server: HTTP on this machine's loopback address.
#pragma once

#include <filesystem>
#include <memory>
#include <optional>
#include <string>

#include "fitwright/base/result.h"
#include "fitwright/units/size.h"

namespace fitwright::server {

struct ServerOptions {
  std::filesystem::path dir;                       // the project's folder
  std::optional<std::filesystem::path> shop_file;  // instead of the project's own
  std::optional<LengthUnit> unit;                  // where a request names none; else the machine's
  int port = 0;                                    // 0: one that is free
  std::string version;                             // of the program, shown on the page
  std::filesystem::path solid_program;             // fitwright-solid
  std::filesystem::path cache_folder;              // drawings are kept below it
  double drawing_seconds = 600;
};

// GET (and HEAD) alone:
//   /                        the page, and the files it is made of
//   /api/project?unit=U      fitwright-project/1
//   /api/check               fitwright-check/1
//   /api/plan                plan.json as saved
//   /api/report?unit=U       fitwright-book/1
//   /api/drawing?setup=N&kind=K&unit=U   SVG; K is setup (as when left out), holes or cuts
// U is mm or inch. Every answer that is no page, JSON or drawing is fitwright-errors/1 with the
// status that its code has. A request whose Host is not this server's loopback name and port, or
// whose Origin is not this server, is refused (403); one with a body, an unknown, repeated or
// malformed value is refused (400); another method is refused (405). The project is read anew for
// each request; nothing is written but drawings into the cache folder.
class Server {
 public:
  // Bound and listening when it returns. Errors: kFileMissing (no such folder), kUsage (the port is
  // taken).
  static Result<std::unique_ptr<Server>> Start(const ServerOptions& options);
  // Stops taking requests, lets those under way finish (a drawing that is being made is ended), and
  // returns.
  ~Server();
  Server(const Server&) = delete;
  Server& operator=(const Server&) = delete;

  int port() const;
  // "http://127.0.0.1:8137/"
  std::string Address() const;

 private:
  struct Impl;
  explicit Server(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

}  // namespace fitwright::server
