// Many points asked of one solid.
#pragma once

#include <memory>

#include "fitwright/solid/solid.h"
#include "fitwright/units/geometry.h"

namespace fitwright::solid {

// Answers as IsInside (measure.h), its preparations made once. For one thread at a time.
class InsideProbe {
 public:
  explicit InsideProbe(const Solid& solid);
  ~InsideProbe();
  InsideProbe(const InsideProbe&) = delete;
  InsideProbe& operator=(const InsideProbe&) = delete;
  bool IsInside(const Vec3& point_mm) const;

 private:
  struct Bodies;
  std::unique_ptr<Bodies> bodies_;
};

}  // namespace fitwright::solid
