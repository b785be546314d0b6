// Solids seen to share nothing without crossing them.
#pragma once

#include <memory>
#include <vector>

#include "fitwright/solid/solid.h"

namespace fitwright::solid {

enum class Meeting { kApart, kOverlap, kUnknown };

// One solid of which many are asked. For one thread at a time.
class ApartProbe {
 public:
  explicit ApartProbe(const Solid& body);
  ~ApartProbe();
  ApartProbe(ApartProbe&&) noexcept;
  ApartProbe& operator=(ApartProbe&&) noexcept;

  // kApart: no face of the body lies deeper than depth_mm in the tool (each lies on the tool's own
  // surface, or a plane or cylinder parts the two) and a point of each piece of the tool is air, so
  // that at most depth_mm times the tool's area is shared. kOverlap: a point a hair inside the tool
  // lies in the body (as SeenToOverlap). kUnknown proves nothing; only crossing the two would.
  // Cost: some microseconds for each face of the body near the tool, and few points in it.
  Meeting Meet(const Solid& tool, double depth_mm) const;

 private:
  struct Body;
  std::unique_ptr<Body> body_;
};

// Volume, number of faces and every corner: the same for solids made in the same way, and for
// others only where all of that agrees to the last bit.
std::vector<double> MakeFingerprint(const Solid& solid);

}  // namespace fitwright::solid
