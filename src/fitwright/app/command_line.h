// The command line read into plain data. The only unit that knows how it is parsed.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "fitwright/planner/planner.h"
#include "fitwright/units/size.h"

namespace fitwright::app {

enum class Verb { kRead, kCheck, kPlan, kOdds, kReplay, kDraw, kExport, kReckon, kNext, kRecord, kLog, kChanges, kLessons, kTrials, kServe };

struct Request {
  Verb verb = Verb::kCheck;
  std::filesystem::path dir;
  bool json = false;
  std::optional<LengthUnit> unit;
  std::optional<std::filesystem::path> shop;
  std::int64_t builds = 20000;
  std::uint64_t seed = 1;
  int threads = 0;
  bool deep = false;
  double sure = 0;                  // plan: odds asked for, in 100
  int tries = 0;                    // plan: times that the search begins again
  bool quickest = false;
  bool fewest_setups = false;
  bool choices = false;
  std::string why;                  // plan: of what
  bool afresh = false;              // plan: from the sheets alone
  bool better = false;              // odds: what would lift them
  std::filesystem::path out;
  std::optional<std::string> part;
  std::optional<std::string> after;
  std::filesystem::path file;       // read: the CAD file
  std::string material;             // read: of every made part
  std::optional<int> port;          // serve
  bool lan = false;                 // serve
  std::optional<int> setup;         // draw: this one alone
  bool solids = false;              // draw: the solids of each setup, too
  std::string what;                 // reckon: which
  std::vector<std::string> values;  // reckon: NAME=VALUE
  // next, record, log
  int build = 0;  // 0: the first; of log all
  int copy = 0;
  std::string step;
  std::string value;
  std::string instrument;
  std::string note;
  std::string photo;
  std::string remade;
  std::string shop_change;
  bool done = false;
  bool undone = false;
  std::filesystem::path from;  // log
  std::vector<double> numbers; // trials: what was written down
  std::int64_t reading = 0;    // changes: its number in the log; 0: the last
  std::vector<std::string> what_if;  // odds: KEY=VALUE
};

// True when the verb works on solids.
bool NeedsSolids(const Request& request);

// plan: what is wanted most.
planner::Wish WishOf(const Request& request);

struct CommandLine {
  std::optional<Request> request;
  int exit_status = 0;  // without a request: help and version 0, a wrong line 2
  std::string out;      // for standard output
  std::string err;      // for standard error
};

// `arguments` without the program's name.
CommandLine ParseCommandLine(const std::vector<std::string>& arguments);

}  // namespace fitwright::app
