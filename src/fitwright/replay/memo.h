// Remembered steps and setups. What a setup leaves is found again by the hash of all that led to
// it.
#pragma once

#include <cstdint>
#include <filesystem>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <vector>

#include "fitwright/replay/floor.h"
#include "fitwright/replay/key.h"
#include "fitwright/replay/rules.h"

namespace fitwright::replay {

// A step's findings and the floor it leaves.
struct StepResult {
  std::vector<Finding> findings;
  Floor floor;
  bool near_jaws = false;  // something was cut where a jaw holds
};

struct Volumes {
  double design_mm3 = 0;
  double made_mm3 = 0;
  double difference_mm3 = 0;  // of what only one of the two fills
};

// Safe from several threads. In memory for the object's life; with a folder also on disk, where
// only what whole setups leave is kept.
class Memo {
 public:
  Memo() = default;
  Memo(std::filesystem::path folder, std::int64_t bytes_most);

  std::shared_ptr<const StepResult> FindStep(const Key& key) const;
  void KeepStep(const Key& key, std::shared_ptr<const StepResult> result);
  // From now on nothing new is kept in memory.
  void Freeze();

  // Judgements of finished pieces, and the solids of the design, in memory alone: one Memo serves
  // one machine.
  std::optional<ReplayPart> FindJudged(const Key& key) const;
  void KeepJudged(const Key& key, const ReplayPart& judged);

  std::optional<solid::Solid> FindDesign(const PartId& sheet) const;
  void KeepDesign(const PartId& sheet, const solid::Solid& design) const;

  // A whole setup's result from disk: all findings of seating and steps, and the floor at its end.
  // Nothing when absent, unreadable or cut short. `entering` is the floor as the setup begins.
  std::optional<StepResult> LoadSetup(const Key& key, const Floor& entering) const;
  // Failing to write is no error: the next run computes again.
  void SaveSetup(const Key& key, const StepResult& result) const;
  std::optional<Volumes> LoadVolumes(const Key& key) const;
  void SaveVolumes(const Key& key, const Volumes& volumes) const;
  // Oldest files go until the folder holds bytes_most at most.
  void Trim() const;

 private:
  std::optional<std::string> ReadPayload(const Key& key) const;
  void WritePayload(const Key& key, const std::string& payload) const;

  std::filesystem::path folder_;
  std::int64_t bytes_most_ = 0;
  mutable std::mutex mutex_;
  bool frozen_ = false;
  std::map<Key, std::shared_ptr<const StepResult>> steps_;
  std::map<Key, ReplayPart> judged_;
  mutable std::map<PartId, solid::Solid> designs_;
};

}  // namespace fitwright::replay
