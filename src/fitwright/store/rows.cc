#include "fitwright/store/rows.h"

#include <fmt/format.h>

#include <bit>

#include "fitwright/base/hash.h"

namespace fitwright::store {
namespace {

constexpr const char* kEventColumns =
    "number, id, time_ms, build, revision, kind, part, step, value_mm, typed, instrument, "
    "measured_part, "
    "measured_feature, text, digest";

Error NotAsWritten(const Database& database, const char* row, std::int64_t number) {
  return {
      ErrorCode::kFileUnreadable,
      fmt::format(
          "the build log is damaged: {} {} is not as it was written; the file was left as it is",
          row, number),
      "",
      "put back a copy of it, or move it and what stands beside it (-wal, -shm) away to begin anew",
      {database.file(), 0, 0, ""}};
}

// Fields behind each other, each with its length, so that no two rows read alike.
class Fields {
 public:
  void Add(std::string_view text) { bytes_ += fmt::format("{}:{};", text.size(), text); }
  void Add(std::int64_t number) { bytes_ += fmt::format("{};", number); }
  void Add(double number) { bytes_ += fmt::format("{:x};", std::bit_cast<std::uint64_t>(number)); }
  std::string DigestAfter(std::string_view before) const {
    return fmt::format("{:016x}", StableHash(bytes_, StableHash(before)));
  }

 private:
  std::string bytes_;
};

std::string DigestOf(const PlanRevision& revision, std::string_view before) {
  Fields fields;
  fields.Add(std::int64_t{revision.number});
  fields.Add(revision.time_ms);
  fields.Add(revision.inputs_hash);
  fields.Add(revision.plan_json);
  return fields.DigestAfter(before);
}

std::string DigestOf(const LogEvent& event, std::string_view before) {
  Fields fields;
  fields.Add(event.number);
  fields.Add(event.id);
  fields.Add(event.time_ms);
  fields.Add(std::int64_t{event.build});
  fields.Add(std::int64_t{event.revision});
  fields.Add(WordOf(event.kind));
  fields.Add(event.part.text());
  fields.Add(event.step.text());
  if (event.reading) {
    fields.Add(event.reading->value_mm);
    fields.Add(event.reading->typed);
    fields.Add(event.reading->instrument.text());
    fields.Add(event.reading->feature.part.text());
    fields.Add(event.reading->feature.feature.text());
  }
  fields.Add(event.text);
  return fields.DigestAfter(before);
}

// Nothing when the row is no event.
std::optional<LogEvent> EventOf(const Statement& row) {
  LogEvent event;
  event.number = row.Integer(0);
  event.id = row.Text(1);
  event.time_ms = row.Integer(2);
  event.build = static_cast<int>(row.Integer(3));
  event.revision = static_cast<int>(row.Integer(4));
  const auto kind = EnumOf<LogKind>(row.Text(5));
  if (!kind) return std::nullopt;
  event.kind = *kind;
  event.part = PartId(row.Text(6));
  event.step = StepId(row.Text(7));
  if (!row.IsNull(8)) {
    event.reading = Reading{row.Real(8),
                            row.Text(9),
                            InstrumentId(row.Text(10)),
                            {PartId(row.Text(11)), FeatureId(row.Text(12))}};
  }
  event.text = row.Text(13);
  return event;
}

struct Last {
  std::int64_t number = 0;
  std::string digest;
};

Result<Last> LastOf(const Database& database, const char* table) {
  auto row = Statement::Make(
      database, fmt::format("SELECT number, digest FROM {} ORDER BY number DESC LIMIT 1", table));
  if (!row) return Unexpected(row.error());
  const auto found = row->Step();
  if (!found) return Unexpected(found.error());
  return *found ? Last{row->Integer(0), row->Text(1)} : Last{};
}

}  // namespace

Result<std::vector<PlanRevision>> ReadRevisions(const Database& database) {
  auto row = Statement::Make(
      database,
      "SELECT number, time_ms, inputs_hash, plan_json, digest FROM revision ORDER BY number");
  if (!row) return Unexpected(row.error());
  std::vector<PlanRevision> revisions;
  std::string before;
  while (true) {
    const auto found = row->Step();
    if (!found) return Unexpected(found.error());
    if (!*found) return revisions;
    revisions.push_back(
        {static_cast<int>(row->Integer(0)), row->Integer(1), row->Text(2), row->Text(3)});
    const std::string digest = row->Text(4);
    const bool next = revisions.back().number == static_cast<int>(revisions.size());
    if (!next || digest != DigestOf(revisions.back(), before)) {
      return Unexpected(NotAsWritten(database, "revision", row->Integer(0)));
    }
    before = digest;
  }
}

Result<std::vector<LogEvent>> ReadEvents(const Database& database) {
  auto row =
      Statement::Make(database, fmt::format("SELECT {} FROM event ORDER BY number", kEventColumns));
  if (!row) return Unexpected(row.error());
  std::vector<LogEvent> events;
  std::string before;
  while (true) {
    const auto found = row->Step();
    if (!found) return Unexpected(found.error());
    if (!*found) return events;
    auto event = EventOf(*row);
    const std::string digest = row->Text(14);
    const auto expected = static_cast<std::int64_t>(events.size()) + 1;
    if (!event || event->number != expected || digest != DigestOf(*event, before)) {
      return Unexpected(NotAsWritten(database, "event", row->Integer(0)));
    }
    events.push_back(*std::move(event));
    before = digest;
  }
}

Result<int> FindRevision(const Database& database, const std::string& plan_json) {
  auto row = Statement::Make(database, "SELECT number FROM revision WHERE plan_json = ?");
  if (!row) return Unexpected(row.error());
  row->Bind(0, plan_json);
  const auto found = row->Step();
  if (!found) return Unexpected(found.error());
  return *found ? static_cast<int>(row->Integer(0)) : 0;
}

Result<std::optional<LogEvent>> FindEvent(const Database& database, const std::string& id) {
  auto row =
      Statement::Make(database, fmt::format("SELECT {} FROM event WHERE id = ?", kEventColumns));
  if (!row) return Unexpected(row.error());
  row->Bind(0, id);
  const auto found = row->Step();
  if (!found) return Unexpected(found.error());
  return *found ? EventOf(*row) : std::nullopt;
}

Result<int> AddRevision(const Database& database, PlanRevision revision) {
  const auto last = LastOf(database, "revision");
  if (!last) return Unexpected(last.error());
  auto row = Statement::Make(database, "INSERT INTO revision VALUES (?, ?, ?, ?, ?)");
  if (!row) return Unexpected(row.error());
  revision.number = static_cast<int>(last->number) + 1;
  row->Bind(0, std::int64_t{revision.number});
  row->Bind(1, revision.time_ms);
  row->Bind(2, revision.inputs_hash);
  row->Bind(3, revision.plan_json);
  row->Bind(4, DigestOf(revision, last->digest));
  const auto added = row->Step();
  if (!added) return Unexpected(added.error());
  return revision.number;
}

Result<std::int64_t> AddEvent(const Database& database, LogEvent event) {
  const auto last = LastOf(database, "event");
  if (!last) return Unexpected(last.error());
  auto row = Statement::Make(
      database,
      fmt::format("INSERT INTO event ({}) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                  kEventColumns));
  if (!row) return Unexpected(row.error());
  event.number = last->number + 1;
  row->Bind(0, event.number);
  row->Bind(1, event.id);
  row->Bind(2, event.time_ms);
  row->Bind(3, std::int64_t{event.build});
  row->Bind(4, std::int64_t{event.revision});
  row->Bind(5, WordOf(event.kind));
  row->Bind(6, event.part.text());
  row->Bind(7, event.step.text());
  const Reading reading = event.reading.value_or(Reading{});
  if (event.reading) row->Bind(8, reading.value_mm);  // else NULL
  row->Bind(9, reading.typed);
  row->Bind(10, reading.instrument.text());
  row->Bind(11, reading.feature.part.text());
  row->Bind(12, reading.feature.feature.text());
  row->Bind(13, event.text);
  row->Bind(14, DigestOf(event, last->digest));
  const auto added = row->Step();
  if (!added) return Unexpected(added.error());
  return event.number;
}

}  // namespace fitwright::store
