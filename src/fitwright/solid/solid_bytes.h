// A solid as bytes and back, for memoising between runs of the same program. Not an exchange
// format.
#pragma once

#include <string>
#include <string_view>

#include "fitwright/base/result.h"
#include "fitwright/solid/solid.h"

namespace fitwright::solid {

// Exact: the solid read back has the same faces and, to the last bit, the same numbers. The empty
// solid gives an empty string. Errors: kKernel.
Result<std::string> ToBytes(const Solid& solid);

// Bytes that ToBytes made: the caller guards them with a hash, for damaged ones are not all
// noticed. Errors: kKernel when they are no solid.
Result<Solid> FromBytes(std::string_view bytes);

}  // namespace fitwright::solid
