// Outcomes kept between plans of a search, and between runs.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <string_view>

namespace fitwright::variation {

// Safe from several threads; answers do not depend on what it holds.
class OutcomeMemo {
 public:
  OutcomeMemo();
  ~OutcomeMemo();
  OutcomeMemo(const OutcomeMemo&) = delete;
  OutcomeMemo& operator=(const OutcomeMemo&) = delete;
  // What was looked for or kept since it was made or read, to be read by another run of the same
  // program on the same kind of machine.
  std::string ToBytes() const;
  // Adds what the bytes hold. False, and nothing added, when they are not a whole memo's.
  bool AddBytes(std::string_view bytes);

 private:
  friend class OutcomeMemoAccess;
  struct Kept;
  std::unique_ptr<Kept> kept_;
};

}  // namespace fitwright::variation
