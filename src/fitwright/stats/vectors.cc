#include "fitwright/stats/vectors.h"

#include "fitwright/stats/lane_dispatch.h"

namespace fitwright::stats {
namespace {

std::int64_t Supported() {
  static const std::int64_t kSupported = hwy::SupportedTargets();  // asking the processor is slow
  return kSupported;
}

}  // namespace

std::int64_t TargetsOf(Vectors vectors) {
  switch (vectors) {
    case Vectors::kPortable:
      return HWY_STATIC_TARGET;
    case Vectors::k256:
      return HWY_AVX2;
    case Vectors::k512:
      return HWY_AVX3;
    case Vectors::kWidest:
      break;
  }
  return Supported();
}

std::vector<Vectors> VectorsHere() {
  std::vector<Vectors> here = {Vectors::kPortable};
  if ((Supported() & HWY_TARGETS & HWY_AVX2) != 0) here.push_back(Vectors::k256);
  if ((Supported() & HWY_TARGETS & HWY_AVX3) != 0) here.push_back(Vectors::k512);
  return here;
}

}  // namespace fitwright::stats
