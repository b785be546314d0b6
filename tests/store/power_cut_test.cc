// The power goes at any moment of writing: what was acknowledged is there afterwards, once each.
#include "tests/store/faulty_disk.h"
#include "tests/store/samples.h"

namespace fitwright::store_test {
namespace {

struct Said {
  std::map<std::string, std::string> acknowledged;  // id -> the event, spelt
  std::set<std::string> tried;
};

std::string NewId(std::mt19937_64& chance) { return fmt::format("{:016x}{:016x}", chance(), chance()); }

// Writes until the power goes or enough is written; what is acknowledged is noted.
void WriteOn(FaultyDisk& disk, std::mt19937_64& chance, Said& said) {
  while (!disk.is_off()) {
    auto log = BuildLogStore::Open("build.db", {0, disk.name()});
    if (!log) return;
    const std::uint64_t count = 1 + chance() % 12;
    for (std::uint64_t i = 0; i < count && !disk.is_off(); ++i) {
      std::vector<LogEvent> events = {ReadingOf("s01.1", 1e-3 * static_cast<double>(chance() % 100000), "typed")};
      if (chance() % 3 == 0) events.push_back(Event(LogKind::kStepDone, "s01.1", std::string(chance() % 3000, 't')));
      for (LogEvent& event : events) event.id = NewId(chance);
      for (const LogEvent& event : events) said.tried.insert(event.id);
      const std::string plan = fmt::format("plan {} {}", chance() % 4, std::string(20000, 'p'));
      const auto kept = log->Append(events, PlanOf(plan));
      if (!kept) break;
      for (const LogEvent& event : *kept) said.acknowledged[event.id] = Spelt(event);
    }
  }
}

void ExpectAllThere(FaultyDisk& disk, const Said& said, const std::string& what) {
  const auto log = BuildLogStore::Open("build.db", {0, disk.name()});  // looks the whole file through
  ASSERT_TRUE(log) << what << Format(log.error());
  const auto read = log->Read();
  ASSERT_TRUE(read) << what << Format(read.error());
  std::map<std::string, std::string> there;
  for (const LogEvent& event : read->events) {
    EXPECT_TRUE(there.emplace(event.id, Spelt(event)).second) << what << "twice: " << event.id;
    EXPECT_EQ(said.tried.count(event.id), 1U) << what << "never said: " << event.id;
    ASSERT_LE(event.revision, static_cast<int>(read->revisions.size())) << what;
  }
  for (const auto& [id, spelt] : said.acknowledged) EXPECT_EQ(there[id], spelt) << what;
}

TEST(PowerCut, WhatWasAcknowledgedStands) {
  const int cuts = IsDeep() ? 1000 : 50;
  std::size_t acknowledged = 0;
  int done = 0;
  for (std::uint64_t seed = 1; done < cuts; ++seed) {
    FaultyDisk disk("power_cut");
    std::mt19937_64 chance(seed);
    Said said;
    for (int life = 0; life < 4 && done < cuts; ++life, ++done) {
      disk.CutAfter(static_cast<std::int64_t>(chance() % (life == 0 ? 60 : 400)));
      WriteOn(disk, chance, said);
      disk.PowerUp(chance);
      ExpectAllThere(disk, said, fmt::format("seed {} life {}: ", seed, life));
      if (HasFatalFailure() || HasNonfatalFailure()) return;
    }
    acknowledged += said.acknowledged.size();
  }
  EXPECT_GT(acknowledged, static_cast<std::size_t>(cuts));  // the cuts do not all come before the first
}

// The cut at every single action of beginning a log and of the first appends.
TEST(PowerCut, AtEachActionOfTheBeginning) {
  std::int64_t whole = 0;
  for (std::int64_t at = 0; at <= whole; ++at) {
    FaultyDisk disk("power_cut_begin");
    std::mt19937_64 chance(static_cast<std::uint64_t>(at));
    Said said;
    disk.CutAfter(at == 0 ? -1 : at);  // first round: how many actions there are
    {
      auto log = BuildLogStore::Open("build.db", {0, disk.name()});
      for (int i = 0; i < 3 && log; ++i) {
        LogEvent event = ReadingOf("s01.1", i, "typed");
        event.id = NewId(chance);
        said.tried.insert(event.id);
        const auto kept = log->Append({event}, PlanOf("plan"));
        if (kept) said.acknowledged[event.id] = Spelt(kept->front());
      }
    }
    if (at == 0) {
      whole = disk.actions();
      ASSERT_EQ(said.acknowledged.size(), 3U);
      ASSERT_GT(whole, 20);
    }
    disk.PowerUp(chance);
    ExpectAllThere(disk, said, fmt::format("action {}: ", at));
  }
}

}  // namespace
}  // namespace fitwright::store_test
