// A handle to zero or more bounded solids. Cheap to copy, immutable, safe to share between threads.
#pragma once

#include <memory>

namespace fitwright::solid {

struct KernelShape;  // kernel.h; seen by this layer's sources only

// The set of points of some closed solids, in a frame the holder knows, mm. May be empty.
class Solid {
 public:
  Solid() = default;
  explicit Solid(std::shared_ptr<const KernelShape> shape) : shape_(std::move(shape)) {}
  bool empty() const { return shape_ == nullptr; }
  const std::shared_ptr<const KernelShape>& shape() const { return shape_; }

 private:
  std::shared_ptr<const KernelShape> shape_;
};

}  // namespace fitwright::solid
