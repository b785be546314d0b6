// Replays of spoiled plans; included by corrupt.h.
#pragma once

#include <cstdlib>
#include <map>
#include <optional>

#include "fitwright/base/parallel.h"
#include "fitwright/base/result.h"
#include "fitwright/replay/memo.h"
#include "fitwright/replay/shop_run.h"
#include "fitwright/solid/cut.h"
#include "tests/support/corrupt.h"
#include "tests/support/sanitized.h"

namespace fitwright::corrupt {
namespace detail {

// What a sound plan makes may differ from what another makes of the same drawing by both their
// doubts.
inline constexpr double kSame_mm3 = 2 * replay::kMade_mm3;

inline bool SamePieces(const replay::Pieces& a, const replay::Pieces& b) {
  if (a.size() != b.size()) return false;
  for (const auto& [part, piece] : a) {
    const auto at = b.find(part);
    if (at == b.end()) return false;
    if (at->second.key == piece.key) continue;
    const auto off = solid::CalcSymmetricDifference_mm3(piece.solid_P, at->second.solid_P);
    if (!off || *off > kSame_mm3) return false;
    if (piece.threads.size() != at->second.threads.size()) return false;
    if (piece.honed.size() != at->second.honed.size()) return false;
  }
  return true;
}

inline CorruptionResult RunOne(const Machine& machine, const Corruption& c,
                               const replay::Pieces& sound, replay::Memo& memo) {
  CorruptionResult result;
  result.fault = c.fault;
  result.where = c.where;
  result.must_be_caught = c.must_be_caught;
  replay::ShopRunOptions options;
  options.memo = &memo;
  options.stop_at_first = true;
  replay::Pieces made;
  const auto report = replay::RunAndJudge(machine, c.shop, c.plan, options, &made);
  if (!report) {
    result.say = Format(report.error());
    return result;  // an error is not an answer: neither caught nor harmless
  }
  for (const ReplayPart& part : report->parts) {
    if (part.violations.empty() || result.caught) continue;
    result.caught = true;
    result.rule = part.violations.front().rule;
    result.say = part.violations.front().say;
  }
  if (result.caught) return result;
  result.harmless = report->ok && SamePieces(made, sound);
  return result;
}

}  // namespace detail

struct RunCorruptionsOptions {
  int threads = 0;
  std::string only;       // one fault; empty = all
  std::size_t shard = 0;  // this one of `shards` equal shares
  std::size_t shards = 1;
};

// A sanitizer makes each replay ten times as long: there a tenth of the faults stands for all. FITWRIGHT_DEEP=1 in the
// environment: all of them, else every second.
inline std::size_t ShardsHere(std::size_t shards) {
#ifdef FITWRIGHT_SANITIZED
  return shards * 10;
#else
  return std::getenv("FITWRIGHT_DEEP") != nullptr ? shards : shards * 2;
#endif
}
inline bool AllFaultsRun() { return ShardsHere(1) == 1; }

// Every spoiled plan replayed. The sound plan must itself be sound.
inline Result<std::vector<CorruptionResult>> RunCorruptions(
    const Machine& machine, const Shop& shop, const Plan& plan,
    const RunCorruptionsOptions& wanted = {}) {
  replay::Memo memo;
  replay::ShopRunOptions options;
  options.memo = &memo;
  replay::Pieces sound;
  const auto report = replay::RunAndJudge(machine, shop, plan, options, &sound);
  if (!report) return Unexpected(report.error());
  if (!report->ok)
    return Unexpected(Error{ErrorCode::kNoPlan, "the sound plan breaks a rule itself", {}, {}, {}});
  memo.Freeze();
  std::vector<CorruptionResult> results;
  std::vector<Corruption> batch;
  const auto flush = [&] {
    const std::size_t from = results.size();
    results.resize(from + batch.size());
    ParallelFor(batch.size(), wanted.threads, [&](std::size_t i) {
      results[from + i] = detail::RunOne(machine, batch[i], sound, memo);
    });
    batch.clear();
  };
  std::size_t made = 0;
  MakeCorruptions(shop, plan, [&](Corruption c) {
    if (!wanted.only.empty() && c.fault != wanted.only) return;
    if (made++ % ShardsHere(wanted.shards) != wanted.shard) return;
    batch.push_back(std::move(c));
    if (batch.size() == 64) flush();
  });
  flush();
  return results;
}

// "swap_steps s02.3: survived" lines of what was not sound, and a count by fault.
inline std::string Summary(const std::vector<CorruptionResult>& results, bool with_survivors) {
  struct Count {
    int made = 0;
    int caught = 0;
    int harmless = 0;
  };
  std::map<std::string, Count> counts;
  std::string text;
  for (const CorruptionResult& r : results) {
    Count& count = counts[r.fault];
    ++count.made;
    count.caught += r.caught ? 1 : 0;
    count.harmless += !r.caught && r.harmless ? 1 : 0;
    if (!r.sound())
      text += fmt::format("NOT SOUND {} {}: {}\n", r.fault, r.where,
                          r.say.empty() ? "survived" : r.say);
    if (with_survivors && r.sound() && !r.caught)
      text += fmt::format("harmless {} {}\n", r.fault, r.where);
  }
  for (const auto& [fault, count] : counts) {
    text += fmt::format("{:24} made {:4} caught {:4} harmless {:4}\n", fault, count.made,
                        count.caught, count.harmless);
  }
  return text;
}

}  // namespace fitwright::corrupt
