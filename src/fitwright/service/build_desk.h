// The build log for pages that are open beside the machine: what stands, what is added, and waiting
// for more. Safe to call from several threads.
#pragma once

#include <chrono>
#include <condition_variable>
#include <cstdint>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <stop_token>
#include <string>
#include <string_view>
#include <thread>
#include <vector>

#include "fitwright/base/progress.h"
#include "fitwright/service/build_desk_json.h"
#include "fitwright/service/build_use.h"
#include "fitwright/service/folder_stamp.h"
#include "fitwright/service/rework_use.h"

namespace fitwright::store {
class BuildLogStore;
}
namespace fitwright::files {
struct PageEvent;
}

namespace fitwright::service {

struct DeskUse {
  int build = 1;
  std::optional<LengthUnit> unit;
  std::int64_t now_ms = 0;
};

class BuildDesk {
 public:
  explicit BuildDesk(OpenOptions open);
  ~BuildDesk();

  // fitwright-build/1, as build_desk_json.h says. Errors: as EnterWorkshop, kOutOfRange for the
  // build.
  Result<std::string> GetState(const DeskUse& use);

  // Adds what a page sent (fitwright-events/1) and answers as GetState, with what became of each
  // event. A reading within its limits says that its step is done, as service::Record has it. An
  // event of a plan that neither stands here nor was recorded to, and one of a step that its plan
  // has not, is kept as a note in words. Errors: those of files::PageEventsFromJson, EnterWorkshop
  // and store::BuildLogStore; what was kept before one is known by its id when it is sent again. A size is answered with
  // what follows from it; what follows from a tick is reckoned after the answer, and told by another sign.
  Result<std::string> Record(std::string_view events_json, const DeskUse& use);

  // A sign that changes with every event and every change of the sheets or the plan. Returns at
  // once where it is not `seen`, else after `most`, or when cancelled.
  std::string WaitForChange(const std::string& seen, std::chrono::milliseconds most,
                            const CancelFlag& cancel);

 private:
  Status Enter();
  Status EnterFolder();
  Status EnterLog();
  Status OpenStoreToWrite();
  Status Append(std::vector<LogEvent> events, bool of_current_plan, std::int64_t now_ms);
  Status Keep(std::vector<files::PageEvent> sent, const DeskUse& use, std::vector<KeptEvent>& kept);
  std::string CalcSign() const;
  std::string ConsequencesKey(int build) const;
  // Remembered until something changes. Reckoned while `lock`, of mutex_, is given up, so that others
  // are answered meanwhile; without `fresh`, those of before are taken where there are such, and new ones asked for.
  Consequences ConsequencesOf(const DeskUse& use, bool fresh, std::unique_lock<std::mutex>& lock);
  // What is asked for without anybody waiting for it.
  void ReckonWhatIsAsked(const std::stop_token& stop);
  // Brings reckoned_ to what stands now.
  void CopyToReckon();
  Consequences Reckon(int build);

  OpenOptions open_;
  std::mutex mutex_;
  std::condition_variable added_;
  std::unique_ptr<store::BuildLogStore> store_;  // once there is a log
  std::int64_t foreign_ = 0;                     // its count of what others wrote, when last read
  std::optional<Workshop> workshop_;
  int entry_ = 0;  // counts how often the folder was read
  FolderStamp folder_;
  std::string log_file_;  // its identity
  // States as they were told since the sign was this, by build and unit.
  struct Told {
    std::int64_t made_ms = 0;
    std::string state;
  };
  std::string told_sign_;
  std::map<std::string, Told> told_;
  std::string consequences_key_;
  Consequences consequences_;
  bool told_earlier_ = false;  // somebody was told what was reckoned before
  int told_again_ = 0;

  // Locked before mutex_, never while it is held.
  std::mutex reckoning_;
  std::optional<Workshop> reckoned_;  // a copy of workshop_
  int reckoned_entry_ = 0;  // of the workshop that it is a copy of
  ReworkKept rework_;  // of reckoned_

  std::condition_variable_any asked_for_;
  std::optional<DeskUse> asked_;
  std::jthread reckoner_;  // the last, so that it ends before all that it uses
};

}  // namespace fitwright::service
