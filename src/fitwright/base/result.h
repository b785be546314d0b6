// Result<T>: a value or an Error, with std::expected's member names.
#pragma once

#include <utility>
#include <variant>

#include "fitwright/base/check.h"
#include "fitwright/base/error.h"

namespace fitwright {

// Wraps an Error so that `return Unexpected(error)` converts to any Result<T>.
class Unexpected {
 public:
  explicit Unexpected(Error error) : error_(std::move(error)) {}
  const Error& error() const& { return error_; }
  Error&& error() && { return std::move(error_); }

 private:
  Error error_;
};

template <typename T>
class [[nodiscard]] Result {
 public:
  Result(T value) : state_(std::in_place_index<0>, std::move(value)) {}  // NOLINT: implicit by design
  Result(Unexpected e) : state_(std::in_place_index<1>, std::move(e).error()) {}  // NOLINT

  bool has_value() const { return state_.index() == 0; }
  explicit operator bool() const { return has_value(); }

  const T& value() const& {
    FW_CHECK(has_value(), Format(std::get<1>(state_)));
    return std::get<0>(state_);
  }
  T& value() & {
    FW_CHECK(has_value(), Format(std::get<1>(state_)));
    return std::get<0>(state_);
  }
  T&& value() && {
    FW_CHECK(has_value(), Format(std::get<1>(state_)));
    return std::get<0>(std::move(state_));
  }
  const T& operator*() const& { return value(); }
  T& operator*() & { return value(); }
  T&& operator*() && { return std::move(*this).value(); }
  const T* operator->() const { return &value(); }
  T* operator->() { return &value(); }

  const Error& error() const {
    FW_CHECK(!has_value(), "error() of a Result that holds a value");
    return std::get<1>(state_);
  }

 private:
  std::variant<T, Error> state_;
};

// Success without a value.
struct Ok {};
using Status = Result<Ok>;

}  // namespace fitwright
