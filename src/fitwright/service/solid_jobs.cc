#include "fitwright/service/solid_jobs.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <random>
#include <vector>

#include "fitwright/base/atomic_file.h"
#include "fitwright/base/program.h"
#include "fitwright/service/json_text.h"

namespace fitwright::service {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t kMostName = 60;
constexpr int kNoPlan = 1;  // the honest answer, or a plan with a broken rule

bool IsPlain(unsigned char c) { return std::isalnum(c) != 0 || c == '_' || c == '-'; }

std::string PlainName(const std::string& name) {
  std::string plain;
  for (const char c : fs::path(name).stem().string())
    plain += IsPlain(static_cast<unsigned char>(c)) ? c : '_';
  if (plain.size() > kMostName) plain.resize(kMostName);
  return plain.empty() ? "machine" : plain;
}

// Gone in the end, with all that is in it.
class OwnFolder {
 public:
  OwnFolder() {
    std::random_device random;
    path_ =
        fs::temp_directory_path() / fmt::format("fitwright-read-{:08x}{:08x}", random(), random());
    std::error_code ignored;
    fs::create_directory(path_, ignored);
    fs::permissions(path_, fs::perms::owner_all, ignored);
  }
  ~OwnFolder() {
    std::error_code ignored;
    fs::remove_all(path_, ignored);
  }
  OwnFolder(const OwnFolder&) = delete;
  OwnFolder& operator=(const OwnFolder&) = delete;
  const fs::path& path() const { return path_; }

 private:
  fs::path path_;
};

std::string LastLine(std::string said) {
  while (!said.empty() && said.back() == '\n') said.pop_back();
  const std::size_t at = said.rfind('\n');
  return at == std::string::npos ? said : said.substr(at + 1);
}

// Nothing where it ended well.
std::optional<Error> FindBadEnd(const ProgramEnd& end, const std::string& what, int most_status) {
  if (end.cancelled) return Error{ErrorCode::kStopped, "stopped", "", "", {}};
  if (end.out_of_time)
    return Error{ErrorCode::kKernel, what + " took too long", "", "try it at the terminal", {}};
  if (end.exit_status >= 128) {
    return Error{ErrorCode::kKernel,
                 fmt::format("the program ended badly on this: signal {}", end.exit_status - 128),
                 "",
                 "nothing was written; write the file anew in another way",
                 {}};
  }
  if (end.exit_status <= most_status) return std::nullopt;
  return Error{ErrorCode::kKernel, what + " did not come to an end", LastLine(end.err), "", {}};
}

Error Wrong(std::string message, std::string value, std::string remedy) {
  return {ErrorCode::kUsage, std::move(message), std::move(value), std::move(remedy), {}};
}

}  // namespace

bool IsEmptyFolder(const fs::path& dir) {
  std::error_code failed;
  for (fs::directory_iterator at(dir, failed), end; !failed && at != end; at.increment(failed)) {
    if (!at->path().filename().string().starts_with('.')) return false;
  }
  return !failed;
}

Status ReadIntoFolder(const JobOptions& options, std::string_view bytes, const std::string& name,
                      const std::string& material) {
  if (!IsEmptyFolder(options.dir)) {
    return Unexpected(Wrong("this folder holds something already", options.dir.string(),
                            "serve an empty folder to begin a project in it"));
  }
  if (bytes.empty()) return Unexpected(Wrong("the file is empty", name, "bring another"));
  if (material.starts_with('-') ||
      !std::all_of(material.begin(), material.end(),
                   [](unsigned char c) { return IsPlain(c) || c == ' ' || c == '.'; })) {
    return Unexpected(Wrong("a material is a word", material, "such as aluminium"));
  }
  const OwnFolder own;
  const fs::path file = own.path() / (PlainName(name) + ".step");
  if (const Status written = WriteFileAtomically(file, bytes); !written) return written;
  std::vector<std::string> arguments = {"read", file.string(), "--into", options.dir.string()};
  if (!material.empty()) arguments.insert(arguments.end(), {"--material", material});
  const auto end = RunProgram(options.program, arguments, {options.seconds, options.cancel});
  if (!end) return Unexpected(end.error());
  if (auto bad = FindBadEnd(*end, "reading the file", 0)) return Unexpected(*std::move(bad));
  return Ok{};
}

PlanningJob::~PlanningJob() {
  if (thread_.joinable()) thread_.join();
}

void PlanningJob::Start(std::int64_t now_ms) {
  const std::lock_guard lock(mutex_);
  if (state_ == PlanningState::kRunning) return;
  if (thread_.joinable()) thread_.join();
  state_ = PlanningState::kRunning;
  since_ms_ = now_ms;
  say_.clear();
  thread_ = std::thread([this] { Run(); });
}

void PlanningJob::Run() {
  std::vector<std::string> arguments = {"plan", options_.dir.string()};
  if (options_.shop_file)
    arguments.insert(arguments.end(), {"--shop", options_.shop_file->string()});
  const auto end = RunProgram(options_.program, arguments, {options_.seconds, options_.cancel});
  std::optional<Error> bad;
  if (!end)
    bad = end.error();
  else
    bad = FindBadEnd(*end, "planning", kNoPlan);
  const bool none = !bad && end->exit_status == kNoPlan && !end->err.empty();
  const std::lock_guard lock(mutex_);
  state_ = bad || none ? PlanningState::kFailed : PlanningState::kDone;
  if (bad) say_ = bad->value.empty() ? bad->message : bad->message + ": " + bad->value;
  if (none) say_ = LastLine(end->err);
}

std::string PlanningJob::ToJson() const {
  static constexpr std::string_view kWords[] = {"none", "running", "done", "failed"};
  const std::lock_guard lock(mutex_);
  return fmt::format(R"({{"schema":"fitwright-planning/1","state":"{}","since_ms":{},"say":{}}})",
                     kWords[static_cast<std::size_t>(state_)], since_ms_, JsonString(say_)) +
         "\n";
}

}  // namespace fitwright::service
