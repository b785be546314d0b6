#include "fitwright/base/check.h"

#include <cstdio>
#include <cstdlib>

namespace fitwright {

void FailCheck(const char* condition, const char* file, int line, const std::string& values) {
  std::fputs(fmt::format("{}:{}: broken invariant: {} {}\n", file, line, condition, values).c_str(),
             stderr);
  std::abort();
}

}  // namespace fitwright
