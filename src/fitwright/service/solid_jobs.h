// What the page asks of the program that works on solids: a CAD file read, the plan made. Each in a
// process of its own, so that a crash there costs the one who asked.
#pragma once

#include <filesystem>
#include <mutex>
#include <optional>
#include <string>
#include <string_view>
#include <thread>

#include "fitwright/base/progress.h"
#include "fitwright/base/result.h"

namespace fitwright::service {

struct JobOptions {
  std::filesystem::path program;                   // fitwright-solid
  std::filesystem::path dir;                       // the project's folder
  std::optional<std::filesystem::path> shop_file;  // instead of the project's own
  double seconds = 600;
  const CancelFlag* cancel = nullptr;
};

// A folder in which a project may be begun: nothing that one can see stands in it.
bool IsEmptyFolder(const std::filesystem::path& dir);

// Starts a project in the empty folder from the bytes of a STEP file; `name` is the file's, of
// which letters, digits, - and _ are kept. Errors: kUsage (the folder holds something, no bytes, a
// material that is no word), kKernel (it could not be read; value: the program's last line, which
// names the fault), kStopped, kFileUnwritable and those of RunProgram.
Status ReadIntoFolder(const JobOptions& options, std::string_view bytes, const std::string& name,
                      const std::string& material);

enum class PlanningState { kNone, kRunning, kDone, kFailed };

// The plan made anew while the page goes on. Safe to call from several threads.
class PlanningJob {
 public:
  explicit PlanningJob(JobOptions options) : options_(std::move(options)) {}
  ~PlanningJob();
  PlanningJob(const PlanningJob&) = delete;
  PlanningJob& operator=(const PlanningJob&) = delete;

  // Begins unless it runs already.
  void Start(std::int64_t now_ms);
  // {schema: fitwright-planning/1, state: none | running | done | failed, since_ms, say}.
  std::string ToJson() const;

 private:
  void Run();

  JobOptions options_;
  mutable std::mutex mutex_;
  std::thread thread_;
  PlanningState state_ = PlanningState::kNone;
  std::int64_t since_ms_ = 0;
  std::string say_;
};

}  // namespace fitwright::service
