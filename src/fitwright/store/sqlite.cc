#include "fitwright/store/sqlite.h"

#include <fmt/format.h>

#include "fitwright/base/check.h"

namespace fitwright::store {
namespace {

Error At(const std::string& file, ErrorCode code, std::string message, std::string remedy) {
  return {code, std::move(message), "", std::move(remedy), {file, 0, 0, ""}};
}

}  // namespace

Error ErrorOf(int code, const std::string& file) {
  constexpr const char* kMakeRoom = "make room on the disk, then do it again";
  switch (code & 0xFF) {
    case SQLITE_NOTADB:
    case SQLITE_CORRUPT:
    case SQLITE_ERROR:  // the statements are sound, so the tables are not what they were made
      return At(
          file, ErrorCode::kFileUnreadable,
          fmt::format("the build log is damaged ({}); it was left as it is", sqlite3_errstr(code)),
          "put back a copy of it, or move it and what stands beside it (-wal, -shm) away to "
          "begin anew");
    case SQLITE_FULL:
      return At(file, ErrorCode::kFileUnwritable, "the disk is full; nothing of this was kept",
                kMakeRoom);
    case SQLITE_READONLY:
    case SQLITE_CANTOPEN:
    case SQLITE_PERM:
    case SQLITE_AUTH:
      return At(file, ErrorCode::kFileUnwritable,
                "the build log cannot be opened or written here; nothing of this was kept",
                "see that the folder and the file may be written");
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
    case SQLITE_PROTOCOL:
      return At(file, ErrorCode::kFileUnwritable,
                "another program holds the build log; nothing of this was kept",
                "end the other program, then do it again");
    case SQLITE_NOMEM:
      return At(file, ErrorCode::kInternal, "there is no memory left; nothing of this was kept",
                "close other programs");
    default:
      break;
  }
  return At(
      file, ErrorCode::kFileUnwritable,
      fmt::format("the build log could not be read or written ({}); nothing of this is sure to be "
                  "kept",
                  sqlite3_errstr(code)),
      "look at the disk, then at the log");
}

Result<Database> Database::Open(const std::string& name, int flags, const std::string& vfs,
                                const std::string& file) {
  Database database;
  database.file_ = file;
  sqlite3* handle = nullptr;
  const int code =
      sqlite3_open_v2(name.c_str(), &handle, flags, vfs.empty() ? nullptr : vfs.c_str());
  database.handle_.reset(handle);
  if (code != SQLITE_OK) return Unexpected(ErrorOf(code, file));
  sqlite3_extended_result_codes(handle, 1);
  return database;
}

Error Database::LastError() const {
  const int code = sqlite3_extended_errcode(handle_.get());
  const int primary = code & 0xFF;
  was_held_ = primary == SQLITE_BUSY || primary == SQLITE_LOCKED || primary == SQLITE_PROTOCOL;
  return ErrorOf(code, file_);
}

Status Database::Run(const char* sql) {
  if (sqlite3_exec(handle_.get(), sql, nullptr, nullptr, nullptr) != SQLITE_OK) {
    return Unexpected(LastError());
  }
  return Ok{};
}

Result<Statement> Statement::Make(const Database& database, std::string_view sql) {
  Statement statement;
  statement.database_ = &database;
  sqlite3_stmt* handle = nullptr;
  const int code = sqlite3_prepare_v2(database.get(), sql.data(), static_cast<int>(sql.size()),
                                      &handle, nullptr);
  statement.handle_.reset(handle);
  if (code != SQLITE_OK) return Unexpected(database.LastError());
  return statement;
}

// Binding fails only for a wrong index or a text beyond SQLite's greatest.
void Statement::Bind(int at, std::int64_t value) {
  const int code = sqlite3_bind_int64(handle_.get(), at + 1, value);
  FW_CHECK(code == SQLITE_OK, at, code);
}
void Statement::Bind(int at, double value) {
  const int code = sqlite3_bind_double(handle_.get(), at + 1, value);
  FW_CHECK(code == SQLITE_OK, at, code);
}
void Statement::Bind(int at, std::string_view text) {
  const char* data = text.data() == nullptr ? "" : text.data();  // nullptr would be NULL
  const int code =
      sqlite3_bind_text64(handle_.get(), at + 1, data, text.size(), SQLITE_TRANSIENT, SQLITE_UTF8);
  FW_CHECK(code == SQLITE_OK, at, code);
}

Result<bool> Statement::Step() {
  const int code = sqlite3_step(handle_.get());
  if (code == SQLITE_ROW) return true;
  if (code == SQLITE_DONE) return false;
  return Unexpected(database_->LastError());
}

std::int64_t Statement::Integer(int column) const {
  return sqlite3_column_int64(handle_.get(), column);
}
double Statement::Real(int column) const { return sqlite3_column_double(handle_.get(), column); }
std::string Statement::Text(int column) const {
  const auto* text = reinterpret_cast<const char*>(sqlite3_column_text(handle_.get(), column));
  if (text == nullptr) return {};
  return {text, static_cast<std::size_t>(sqlite3_column_bytes(handle_.get(), column))};
}
bool Statement::IsNull(int column) const {
  return sqlite3_column_type(handle_.get(), column) == SQLITE_NULL;
}

namespace {

Result<Statement> FirstRow(const Database& database, std::string_view sql) {
  auto statement = Statement::Make(database, sql);
  if (!statement) return statement;
  const auto row = statement->Step();
  if (!row) return Unexpected(row.error());
  if (!*row) return Unexpected(ErrorOf(SQLITE_CORRUPT, database.file()));
  return statement;
}

}  // namespace

Result<std::int64_t> AskInteger(const Database& database, std::string_view sql) {
  const auto row = FirstRow(database, sql);
  if (!row) return Unexpected(row.error());
  return row->Integer(0);
}

Result<std::string> AskText(const Database& database, std::string_view sql) {
  const auto row = FirstRow(database, sql);
  if (!row) return Unexpected(row.error());
  return row->Text(0);
}

}  // namespace fitwright::store
