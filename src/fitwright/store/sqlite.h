// SQLite with owners and Results. Private to this layer: the only header that includes sqlite3.h.
#pragma once

#include <sqlite3.h>

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "fitwright/base/result.h"

namespace fitwright::store {

// What a SQLite code means to the reader; `file` as errors show it. Errors: kFileUnreadable
// (damaged, no database), kFileUnwritable (full, read-only, held by another program, the disk
// fails).
Error ErrorOf(int code, const std::string& file);

class Database {
 public:
  // `flags` as of sqlite3_open_v2, `name` a path or an address of a file; vfs empty: the system's.
  static Result<Database> Open(const std::string& name, int flags, const std::string& vfs,
                               const std::string& file);
  sqlite3* get() const { return handle_.get(); }
  const std::string& file() const { return file_; }
  // What the last call that failed met.
  Error LastError() const;
  // True when that was another program's hold, so that it is worth trying again.
  bool was_held() const { return was_held_; }
  void ForgetHold() const { was_held_ = false; }
  // Statements without results.
  Status Run(const char* sql);

 private:
  struct Close {
    void operator()(sqlite3* handle) const { sqlite3_close_v2(handle); }
  };
  std::unique_ptr<sqlite3, Close> handle_;
  std::string file_;
  mutable bool was_held_ = false;
};

// One statement; parameters and columns from 0.
class Statement {
 public:
  static Result<Statement> Make(const Database& database, std::string_view sql);
  void Bind(int at, std::int64_t value);
  void Bind(int at, double value);
  void Bind(int at, std::string_view text);  // copied
  // True while there is a row.
  Result<bool> Step();
  std::int64_t Integer(int column) const;
  double Real(int column) const;
  std::string Text(int column) const;
  bool IsNull(int column) const;

 private:
  struct Finalize {
    void operator()(sqlite3_stmt* statement) const { sqlite3_finalize(statement); }
  };
  const Database* database_ = nullptr;
  std::unique_ptr<sqlite3_stmt, Finalize> handle_;
};

// The first column of the first row. Errors: as ErrorOf; kFileUnreadable without a row.
Result<std::int64_t> AskInteger(const Database& database, std::string_view sql);
Result<std::string> AskText(const Database& database, std::string_view sql);

}  // namespace fitwright::store
