// What the readings of a build change: asked for after each reading, by the terminal and the page.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "fitwright/rework/changes.h"
#include "fitwright/rework/rescue.h"
#include "fitwright/service/build_desk_json.h"
#include "fitwright/service/build_use.h"

namespace fitwright::service {

// Points into the workshop that it was reckoned from.
struct ReworkAnswer {
  int build = 1;
  std::vector<PlacedReading> readings;  // up to the one asked for, which is the last
  rework::Standing standing;
  rework::Changes changes;
  std::optional<rework::PastLimits> past;  // the reading is outside its limits
  std::vector<rework::Rescue> rescues;     // then: what can be done, cheapest first
};
// Machine, shop, plan, what is done and read in the build. Points into the workshop. Errors:
// kFileMissing without a plan; kFileUnreadable where the sheets cannot be read.
Result<rework::Standing> StandingOf(const Workshop& workshop, int build);

// What the reading with this number in the log changed, by those before it; 0: the last of the
// build. The workshop must outlive the answer. Errors: kFileMissing without a plan, kNoPlan where
// there is no such reading, and those of rework::CalcChanges; what stopped the sheets from being
// read, where they cannot.
Result<ReworkAnswer> AskChanges(const Workshop& workshop, int build, std::int64_t event = 0);

// Answers as AskChanges, one reading after another: what a plan's readings have in common is kept.
class ReworkKept {
 public:
  // The workshop's machine, shop and plan must stay where and as they are until Forget.
  Result<ReworkAnswer> Ask(const Workshop& workshop, int build, std::int64_t event = 0);
  void Forget() { changes_.reset(); }

 private:
  std::optional<rework::ChangesKept> changes_;
};

inline constexpr std::string_view kChangesSchemaId = "fitwright-changes/1";

// What the reading that was just kept changed; nullopt where none was kept, or what it changes
// cannot be reckoned (no plan, sheets that cannot be read). The record must outlive the answer.
std::optional<ReworkAnswer> ChangesOf(const RecordAnswer& record);

// One way out, in a sentence.
std::string RescueText(const Workshop& workshop, const ReworkAnswer& answer,
                       const rework::Rescue& rescue);
// What the readings say of the step that comes next: the size to bring it to, where that is not the
// plan's, and sizes that are worth reading before. Nothing where nothing can be reckoned.
void AddNews(NextAnswer& answer);

// What is said of a reading that is kept where what it changes cannot be reckoned.
std::string UnreckonedWords(const Error& error);
// The answer as sentences, most important first; lengths in the workshop's unit.
std::vector<std::string> ChangesWords(const Workshop& workshop, const ReworkAnswer& answer);
// The same for a page: what is to be chosen apart from what is said.
Consequences FindConsequences(const Workshop& workshop, const ReworkAnswer& answer);
std::string ChangesText(const Workshop& workshop, const ReworkAnswer& answer,
                        const sheets::ReportOptions& options);
// See schemas/changes.schema.json.
std::string ChangesToJson(const Workshop& workshop, const ReworkAnswer& answer);

// The JSON for one reading that was kept, for whoever keeps one. Errors as AskChanges.
Result<std::string> AnswerReading(const Workshop& workshop, const LogEvent& event);

}  // namespace fitwright::service
