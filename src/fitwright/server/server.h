// The page's server: HTTP on this machine's loopback address and, where that is wanted, TLS on its
// network.
#pragma once

#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

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
  double job_seconds = 7200;  // reading a file, planning
  // Other devices of the network, too: over TLS on the next port, each paired once.
  bool lan = false;
  std::filesystem::path lan_folder;  // the certificate is kept there
  std::function<void()> paired;      // a device was; from a thread of the server's
};

// What another device needs.
struct NetworkAccess {
  std::vector<std::string> addresses;  // "https://192.168.1.20:8138/"
  std::string code;                    // for one pairing
  std::string fingerprint;             // of the certificate, SHA-256
};

// GET (and HEAD):
//   /                        the page, and the files it is made of
//   /api/project?unit=U      fitwright-project/1
//   /api/check               fitwright-check/1
//   /api/plan                plan.json as saved
//   /api/report?unit=U       fitwright-book/1
//   /api/drawing?setup=N&kind=K&unit=U   SVG; K is setup (as when left out), holes or cuts
//   /api/solids?setup=N      fitwright-solids/1: the setup's solids, to be turned
//   /api/knobs?unit=U, /api/lessen?unit=U  what may be asked by "what if", what would lessen misses
//   /api/build?build=N&unit=U            fitwright-build/1: what was done and measured, what comes
//                                        next
//   /api/live                            a stream of server-sent events: a sign each time that the
//                                        log, the plan or the sheets have changed
//   /api/token                           fitwright-token/1: what a page shows to write
// POST, with that token as the header Fitwright-Token:
//   /api/edit                fitwright-edit/1 changes a line of a sheet; fitwright-project/1
//   /api/add                 fitwright-addition/1 begins sheets and adds tables to them
//   /api/what-if, /api/spread  fitwright-asked/1: odds, or one requirement's spread, with numbers
//                            changed; writes nothing
//   /api/read?name=F&material=M  a STEP file begins a project in an empty folder
//   /api/planning            makes the plan anew; GET says how that stands
//   /api/events?build=N&unit=U           fitwright-events/1 is added to build.db; fitwright-build/1
// U is mm or inch. Every answer that is no page, JSON or drawing is fitwright-errors/1 with the
// status that its code has. A request whose Host is not this server's loopback name and port, or
// whose Origin is not this server, is refused (403); one with a body, an unknown, repeated or
// malformed value is refused (400), as is a write without the token (403), of another type (415),
// without its length (411) or too long (413), and too many at once (429); another method is refused
// (405). What was read is read anew when a file has changed; nothing is written but build.db and
// drawings into the cache folder.
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
  // Nothing where this machine alone is served.
  std::optional<NetworkAccess> FindNetworkAccess();

 private:
  struct Impl;
  explicit Server(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

}  // namespace fitwright::server
