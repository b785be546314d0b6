#include "fitwright/stats/lane_math.h"

#include "fitwright/base/check.h"

#undef HWY_TARGET_INCLUDE
#define HWY_TARGET_INCLUDE "fitwright/stats/lane_math.cc"
#include <hwy/foreach_target.h>
#include <hwy/highway.h>

#include "fitwright/stats/lanes-inl.h"

HWY_BEFORE_NAMESPACE();
namespace fitwright::stats::HWY_NAMESPACE {

// The last vector is filled up with what is harmless and stored as far as it is asked for.
struct Ends {
  HWY_ALIGN double in[HWY_MAX_BYTES / sizeof(double)];
  HWY_ALIGN double out[HWY_MAX_BYTES / sizeof(double)];
};

#define FITWRIGHT_FOR_EACH_VECTOR(Function)                                            \
  const hn::ScalableTag<double> d;                                                     \
  const std::size_t N = hn::Lanes(d);                                                  \
  std::size_t i = 0;                                                                   \
  for (; i + N <= n; i += N) hn::StoreU(Function(d, hn::LoadU(d, x + i)), d, out + i); \
  if (i == n) return;                                                                  \
  Ends ends;                                                                           \
  for (std::size_t k = 0; k < N; ++k) ends.in[k] = i + k < n ? x[i + k] : 0.5;         \
  hn::Store(Function(d, hn::Load(d, ends.in)), d, ends.out);                           \
  for (std::size_t k = 0; i + k < n; ++k) out[i + k] = ends.out[k]

void LogKernel(const double* x, double* out, std::size_t n) { FITWRIGHT_FOR_EACH_VECTOR(Log); }
void ExpKernel(const double* x, double* out, std::size_t n) { FITWRIGHT_FOR_EACH_VECTOR(Exp); }
void QuantileKernel(const double* x, double* out, std::size_t n) {
  FITWRIGHT_FOR_EACH_VECTOR(QuantileOfNormal);
}

#undef FITWRIGHT_FOR_EACH_VECTOR

void SinCosKernel(const double* x, double* sines, double* cosines, std::size_t n) {
  const hn::ScalableTag<double> d;
  const std::size_t N = hn::Lanes(d);
  HWY_ALIGN double in[HWY_MAX_BYTES / sizeof(double)];
  for (std::size_t i = 0; i < n; i += N) {
    const std::size_t here = HWY_MIN(N, n - i);
    for (std::size_t k = 0; k < N; ++k) in[k] = k < here ? x[i + k] : 0;
    auto sine = hn::Zero(d);
    auto cosine = hn::Zero(d);
    SinCosOfTurns(d, hn::Load(d, in), sine, cosine);
    hn::Store(sine, d, in);
    for (std::size_t k = 0; k < here; ++k) sines[i + k] = in[k];
    hn::Store(cosine, d, in);
    for (std::size_t k = 0; k < here; ++k) cosines[i + k] = in[k];
  }
}

void UniformKernel(std::uint64_t key, std::uint64_t first, std::uint32_t lane, double* out,
                   std::size_t n) {
  using DU = hn::RebindToUnsigned<hn::ScalableTag<double>>;
  const hn::ScalableTag<double> d;
  const DU du;
  const std::size_t N = hn::Lanes(d);
  PhiloxKeys<DU> keys;
  FillKeys(du, key, keys);
  HWY_ALIGN double last[HWY_MAX_BYTES / sizeof(double)];
  for (std::size_t i = 0; i < n; i += N) {
    const auto u = ToUniform(d, Philox(du, hn::Iota(du, first + i), lane, 0, keys).first);
    if (i + N <= n) {
      hn::StoreU(u, d, out + i);
    } else {
      hn::Store(u, d, last);
      for (std::size_t k = 0; i + k < n; ++k) out[i + k] = last[k];
    }
  }
}

// NOLINTNEXTLINE(google-readability-namespace-comments)
}  // namespace fitwright::stats::HWY_NAMESPACE
HWY_AFTER_NAMESPACE();

#if HWY_ONCE
#include "fitwright/stats/lane_dispatch.h"

namespace fitwright::stats {

HWY_EXPORT(LogKernel);
HWY_EXPORT(ExpKernel);
HWY_EXPORT(QuantileKernel);
HWY_EXPORT(SinCosKernel);
HWY_EXPORT(UniformKernel);

void Logarithms(std::span<const double> x, std::span<double> out, Vectors vectors) {
  FW_CHECK(x.size() == out.size(), x.size(), out.size());
  Pick(HWY_DISPATCH_TABLE(LogKernel), vectors)(x.data(), out.data(), x.size());
}

void Exponentials(std::span<const double> x, std::span<double> out, Vectors vectors) {
  FW_CHECK(x.size() == out.size(), x.size(), out.size());
  Pick(HWY_DISPATCH_TABLE(ExpKernel), vectors)(x.data(), out.data(), x.size());
}

void NormalQuantiles(std::span<const double> p, std::span<double> out, Vectors vectors) {
  FW_CHECK(p.size() == out.size(), p.size(), out.size());
  Pick(HWY_DISPATCH_TABLE(QuantileKernel), vectors)(p.data(), out.data(), p.size());
}

void SinesAndCosinesOfTurns(std::span<const double> u, std::span<double> sines,
                            std::span<double> cosines, Vectors vectors) {
  FW_CHECK(u.size() == sines.size() && u.size() == cosines.size(), u.size());
  Pick(HWY_DISPATCH_TABLE(SinCosKernel), vectors)(u.data(), sines.data(), cosines.data(), u.size());
}

void UniformNumbers(std::uint64_t key, std::uint64_t first_index, std::uint32_t lane,
                    std::span<double> out, Vectors vectors) {
  Pick(HWY_DISPATCH_TABLE(UniformKernel), vectors)(key, first_index, lane, out.data(), out.size());
}

}  // namespace fitwright::stats
#endif  // HWY_ONCE
