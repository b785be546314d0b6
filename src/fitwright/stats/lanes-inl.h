// Mathematics on vectors of doubles, for the kernels of this layer alone; included once a target.
//
// Relative errors stand beside each function, measured against the C library's long double in
// tests/stats/lane_math_test.cc. Polynomials: interpolation at Chebyshev points in 50 digits, our
// own.

#if defined(FITWRIGHT_STATS_LANES_INL_H_) == defined(HWY_TARGET_TOGGLE)
#ifdef FITWRIGHT_STATS_LANES_INL_H_
#undef FITWRIGHT_STATS_LANES_INL_H_
#else
#define FITWRIGHT_STATS_LANES_INL_H_
#endif

#include <hwy/highway.h>

#include <cmath>
#include <cstddef>
#include <cstdint>

HWY_BEFORE_NAMESPACE();
namespace fitwright::stats::HWY_NAMESPACE {

namespace hn = hwy::HWY_NAMESPACE;

// a * b + c, rounded once whatever the width.
template <class V>
HWY_INLINE V Fma(V a, V b, V c) {
#if HWY_NATIVE_FMA
  return hn::MulAdd(a, b, c);
#else
  const hn::DFromV<V> d;
  constexpr std::size_t kMost = hn::MaxLanes(hn::DFromV<V>());
  HWY_ALIGN double x[kMost];
  HWY_ALIGN double y[kMost];
  HWY_ALIGN double z[kMost];
  hn::Store(a, d, x);
  hn::Store(b, d, y);
  hn::Store(c, d, z);
  for (std::size_t i = 0; i < hn::Lanes(d); ++i) x[i] = std::fma(x[i], y[i], z[i]);
  return hn::Load(d, x);
#endif
}

template <class D>
HWY_INLINE hn::Vec<D> Num(D d, double value) {
  return hn::Set(d, value);
}

// Horner's rule, c[0] the constant term.
template <class D, std::size_t N>
HWY_INLINE hn::Vec<D> Polynomial(D d, const double (&c)[N], hn::Vec<D> x) {
  hn::Vec<D> sum = Num(d, c[N - 1]);
  for (std::size_t i = N - 1; i-- > 0;) sum = Fma(sum, x, Num(d, c[i]));
  return sum;
}

constexpr double kLn2High = 0x1.62e42fefa39efp-1;
constexpr double kLn2Low = 0x1.abc9e3b39803fp-56;
// Added and taken away again it rounds to the nearest whole number, even when tied.
constexpr double kRounder = 0x1.8p52;

// Natural logarithm of a positive normal number; under 1 ulp.
template <class D>
HWY_INLINE hn::Vec<D> Log(D d, hn::Vec<D> x) {
  const hn::RebindToUnsigned<D> du;
  // x = 2^k m, sqrt(1/2) <= m < sqrt(2).
  const auto root_half = hn::Set(du, std::uint64_t{0x3FE6A09E667F3BCD});
  const auto shifted = hn::Add(hn::BitCast(du, x),
                               hn::Set(du, std::uint64_t{0x3FF0000000000000} - 0x3FE6A09E667F3BCD));
  const auto exponent =
      hn::Or(hn::ShiftRight<52>(shifted), hn::Set(du, std::uint64_t{0x4330000000000000}));
  const auto k = hn::Sub(hn::BitCast(d, exponent), Num(d, 0x1p52 + 1023));
  const auto m_bits =
      hn::Add(hn::And(shifted, hn::Set(du, std::uint64_t{0x000FFFFFFFFFFFFF})), root_half);
  const auto f = hn::Sub(hn::BitCast(d, m_bits), Num(d, 1));
  // log(1 + f) = f - (f^2/2 - s (f^2/2 + R)), s = f / (2 + f), 2 atanh(s) = 2 s + s R.
  constexpr double kOdd[] = {0x1.5555555555558p-1, 0x1.9999999995273p-2, 0x1.2492492dfd86cp-2,
                             0x1.c71c62d5e53e0p-3, 0x1.7462b91b8df65p-3, 0x1.39fdcceb4bb45p-3,
                             0x1.2b5f68a50d903p-3};
  const auto s = hn::Div(f, hn::Add(Num(d, 2), f));
  const auto z = hn::Mul(s, s);
  const auto R = hn::Mul(z, Polynomial(d, kOdd, z));
  const auto half = hn::Mul(Num(d, 0.5), hn::Mul(f, f));
  const auto small = Fma(k, Num(d, kLn2Low), hn::Mul(s, hn::Add(half, R)));
  return Fma(k, Num(d, kLn2High), hn::Sub(f, hn::Sub(half, small)));
}

// e^x for |x| <= 700, held to that; under 1 ulp.
template <class D>
HWY_INLINE hn::Vec<D> Exp(D d, hn::Vec<D> x) {
  const hn::RebindToUnsigned<D> du;
  constexpr double kRest[] = {0x1.0000000000001p-1,  0x1.5555555555556p-3,  0x1.5555555553d37p-5,
                              0x1.11111111109a6p-7,  0x1.6c16c1789d1d7p-10, 0x1.a01a01a7cebcdp-13,
                              0x1.a019b8ca26fcfp-16, 0x1.71de0d85293b8p-19, 0x1.2891d4ffbb0f9p-22,
                              0x1.af390ba7e6f47p-26};
  x = hn::Min(hn::Max(x, Num(d, -700)), Num(d, 700));
  const auto rounded = Fma(x, Num(d, 0x1.71547652b82fep+0), Num(d, kRounder));
  const auto n = hn::Sub(rounded, Num(d, kRounder));
  auto r = Fma(n, Num(d, -kLn2High), x);
  r = Fma(n, Num(d, -kLn2Low), r);
  const auto p = hn::Add(Num(d, 1), Fma(hn::Mul(r, r), Polynomial(d, kRest, r), r));
  return hn::BitCast(d, hn::Add(hn::BitCast(du, p), hn::ShiftLeft<52>(hn::BitCast(du, rounded))));
}

// Sine and cosine of 2 pi u for |u| <= 2^40; absolute error under 2.2e-16.
template <class D>
HWY_INLINE void SinCosOfTurns(D d, hn::Vec<D> u, hn::Vec<D>& sine, hn::Vec<D>& cosine) {
  const hn::RebindToUnsigned<D> du;
  constexpr double kSine[] = {0x1.921fb54442d18p+0,  -0x1.4abbce625be41p-1, 0x1.466bc677587e6p-4,
                              -0x1.32d2cce2e45acp-8, 0x1.50782fd8a398ep-13, -0x1.e3007048c4be0p-19,
                              0x1.e3f30116690b2p-25};
  constexpr double kCosine[] = {1,
                                -0x1.3bd3cc9be458bp+0,
                                0x1.03c1f081b0755p-2,
                                -0x1.55d3c7dbf9e21p-6,
                                0x1.e1f4fb5cbc7ccp-11,
                                -0x1.a6c9c012a5b9cp-16,
                                0x1.f3db33100bdddp-22};
  const auto quarters = hn::Mul(u, Num(d, 4));
  const auto rounded = hn::Add(quarters, Num(d, kRounder));
  const auto r = hn::Sub(quarters, hn::Sub(rounded, Num(d, kRounder)));
  const auto n = hn::BitCast(du, rounded);
  const auto z = hn::Mul(r, r);
  const auto S = hn::Mul(r, Polynomial(d, kSine, z));
  const auto C = Polynomial(d, kCosine, z);
  const auto odd = hn::RebindMask(d, hn::TestBit(n, hn::Set(du, std::uint64_t{1})));
  const auto two = hn::Set(du, std::uint64_t{2});
  const auto sine_sign = hn::ShiftLeft<62>(hn::And(n, two));
  const auto cosine_sign =
      hn::ShiftLeft<62>(hn::And(hn::Add(n, hn::Set(du, std::uint64_t{1})), two));
  sine = hn::Xor(hn::IfThenElse(odd, C, S), hn::BitCast(d, sine_sign));
  cosine = hn::Xor(hn::IfThenElse(odd, S, C), hn::BitCast(d, cosine_sign));
}

// Quantile of the standard normal for 0 < p < 1: the rational approximations of Wichura, Algorithm
// AS 241 (PPND16), Applied Statistics 37 (1988), each taken where it is good; about 1e-16 relative.
template <class D>
HWY_INLINE hn::Vec<D> QuantileOfNormal(D d, hn::Vec<D> p) {
  constexpr double kA[] = {3.3871328727963666080e0, 1.3314166789178437745e2,
                           1.9715909503065514427e3, 1.3731693765509461125e4,
                           4.5921953931549871457e4, 6.7265770927008700853e4,
                           3.3430575583588128105e4, 2.5090809287301226727e3};
  constexpr double kB[] = {1.0,
                           4.2313330701600911252e1,
                           6.8718700749205790830e2,
                           5.3941960214247511077e3,
                           2.1213794301586595867e4,
                           3.9307895800092710610e4,
                           2.8729085735721942674e4,
                           5.2264952788528545610e3};
  constexpr double kC[] = {1.42343711074968357734e0,  4.63033784615654529590e0,
                           5.76949722146069140550e0,  3.64784832476320460504e0,
                           1.27045825245236838258e0,  2.41780725177450611770e-1,
                           2.27238449892691845833e-2, 7.74545014278341407640e-4};
  constexpr double kD[] = {1.0,
                           2.05319162663775882187e0,
                           1.67638483018380384940e0,
                           6.89767334985100004550e-1,
                           1.48103976427480074590e-1,
                           1.51986665636164571966e-2,
                           5.47593808499534494600e-4,
                           1.05075007164441684324e-9};
  constexpr double kE[] = {6.65790464350110377720e0,  5.46378491116411436990e0,
                           1.78482653991729133580e0,  2.96560571828504891230e-1,
                           2.65321895265761230930e-2, 1.24266094738807843860e-3,
                           2.71155556874348757815e-5, 2.01033439929228813265e-7};
  constexpr double kF[] = {1.0,
                           5.99832206555887937690e-1,
                           1.36929880922735805310e-1,
                           1.48753612908506148525e-2,
                           7.86869131145613259100e-4,
                           1.84631831751005468180e-5,
                           1.42151175831644588870e-7,
                           2.04426310338993978564e-15};
  const auto q = hn::Sub(p, Num(d, 0.5));
  const auto central = hn::Le(hn::Abs(q), Num(d, 0.425));
  const auto r_centre = Fma(hn::Neg(q), q, Num(d, 0.425 * 0.425));
  auto above = hn::Mul(q, Polynomial(d, kA, r_centre));
  auto below = Polynomial(d, kB, r_centre);
  if (!hn::AllTrue(d, central)) {
    const auto tail = hn::Min(p, hn::Sub(Num(d, 1), p));
    const auto r = hn::Sqrt(hn::Neg(Log(d, tail)));
    const auto r_middle = hn::Sub(r, Num(d, 1.6));
    auto tail_above = Polynomial(d, kC, r_middle);
    auto tail_below = Polynomial(d, kD, r_middle);
    const auto far = hn::Gt(r, Num(d, 5));
    if (!hn::AllFalse(d, far)) {
      const auto r_far = hn::Sub(r, Num(d, 5));
      tail_above = hn::IfThenElse(far, Polynomial(d, kE, r_far), tail_above);
      tail_below = hn::IfThenElse(far, Polynomial(d, kF, r_far), tail_below);
    }
    above = hn::IfThenElse(central, above, hn::CopySign(tail_above, q));
    below = hn::IfThenElse(central, below, tail_below);
  }
  return hn::Div(above, below);
}

// The two 64-bit words of Philox4x32-10 (random.h) of the counters (index low, index high, lane,
// mark).
template <class DU>
struct PhiloxWords {
  hn::Vec<DU> first;
  hn::Vec<DU> second;
};

// Round keys, made once a stream.
template <class DU>
struct PhiloxKeys {
  hn::Vec<DU> first[10];
  hn::Vec<DU> second[10];
};

template <class DU>
HWY_INLINE void FillKeys(DU du, std::uint64_t key, PhiloxKeys<DU>& keys) {
  keys.first[0] = hn::Set(du, key);  // of which the low half counts
  keys.second[0] = hn::Set(du, key >> 32);
  for (std::size_t round = 1; round < 10; ++round) {
    keys.first[round] = hn::Add(keys.first[round - 1], hn::Set(du, std::uint64_t{0x9E3779B9}));
    keys.second[round] = hn::Add(keys.second[round - 1], hn::Set(du, std::uint64_t{0xBB67AE85}));
  }
}

// The low half of each 64-bit lane by a constant, as 64 bits.
template <class DU>
HWY_INLINE hn::Vec<DU> ProductOfLow(DU du, hn::Vec<DU> x, std::uint32_t factor) {
#if HWY_TARGET == HWY_SCALAR
  return hn::Set(du, (hn::GetLane(x) & 0xFFFFFFFFULL) * factor);
#else
  const hn::Repartition<std::uint32_t, DU> d32;
  return hn::MulEven(hn::BitCast(d32, x), hn::BitCast(d32, hn::Set(du, std::uint64_t{factor})));
#endif
}

// Only the low half of each lane counts between rounds: the upper half is left as it comes.
template <std::size_t kRounds = 10, class DU>
HWY_INLINE PhiloxWords<DU> Philox(DU du, hn::Vec<DU> index, std::uint32_t lane, std::uint32_t mark,
                                  const PhiloxKeys<DU>& keys) {
  auto c0 = index;
  auto c1 = hn::ShiftRight<32>(index);
  auto c2 = hn::Set(du, std::uint64_t{lane});
  auto c3 = hn::Set(du, std::uint64_t{mark});
  for (std::size_t round = 0; round < kRounds; ++round) {
    const auto product0 = ProductOfLow(du, c0, 0xD2511F53U);
    const auto product1 = ProductOfLow(du, c2, 0xCD9E8D57U);
    c0 = hn::Xor3(hn::ShiftRight<32>(product1), c1, keys.first[round]);
    c1 = product1;
    c2 = hn::Xor3(hn::ShiftRight<32>(product0), c3, keys.second[round]);
    c3 = product0;
  }
  const auto low = hn::Set(du, std::uint64_t{0xFFFFFFFF});
  return {hn::Or(hn::And(c0, low), hn::ShiftLeft<32>(c1)),
          hn::Or(hn::And(c2, low), hn::ShiftLeft<32>(c3))};
}

// Two vectors of counters side by side: each round of one fills the other's waiting.
template <std::size_t kRounds = 10, class DU>
HWY_INLINE void PhiloxTwice(DU du, hn::Vec<DU> index, hn::Vec<DU> other, std::uint32_t lane,
                            std::uint32_t mark, const PhiloxKeys<DU>& keys, PhiloxWords<DU>& words,
                            PhiloxWords<DU>& other_words) {
  auto c0 = index;
  auto c1 = hn::ShiftRight<32>(index);
  auto c2 = hn::Set(du, std::uint64_t{lane});
  auto c3 = hn::Set(du, std::uint64_t{mark});
  auto d0 = other;
  auto d1 = hn::ShiftRight<32>(other);
  auto d2 = c2;
  auto d3 = c3;
  for (std::size_t round = 0; round < kRounds; ++round) {
    const auto product0 = ProductOfLow(du, c0, 0xD2511F53U);
    const auto product1 = ProductOfLow(du, c2, 0xCD9E8D57U);
    const auto other0 = ProductOfLow(du, d0, 0xD2511F53U);
    const auto other1 = ProductOfLow(du, d2, 0xCD9E8D57U);
    c0 = hn::Xor3(hn::ShiftRight<32>(product1), c1, keys.first[round]);
    d0 = hn::Xor3(hn::ShiftRight<32>(other1), d1, keys.first[round]);
    c2 = hn::Xor3(hn::ShiftRight<32>(product0), c3, keys.second[round]);
    d2 = hn::Xor3(hn::ShiftRight<32>(other0), d3, keys.second[round]);
    c1 = product1;
    d1 = other1;
    c3 = product0;
    d3 = other0;
  }
  const auto low = hn::Set(du, std::uint64_t{0xFFFFFFFF});
  words = {hn::Or(hn::And(c0, low), hn::ShiftLeft<32>(c1)),
           hn::Or(hn::And(c2, low), hn::ShiftLeft<32>(c3))};
  other_words = {hn::Or(hn::And(d0, low), hn::ShiftLeft<32>(d1)),
                 hn::Or(hn::And(d2, low), hn::ShiftLeft<32>(d3))};
}

// In (0, 1): the middles of 2^52 equal cells, as Uniform of random.h.
template <class D, class VU>
HWY_INLINE hn::Vec<D> ToUniform(D d, VU word) {
  const hn::RebindToUnsigned<D> du;
  const auto bits =
      hn::Or(hn::ShiftRight<12>(word), hn::Set(du, std::uint64_t{0x3FF0000000000000}));
  return hn::Sub(hn::BitCast(d, bits), Num(d, 1 - 0x1p-53));
}

// NOLINTNEXTLINE(google-readability-namespace-comments)
}  // namespace fitwright::stats::HWY_NAMESPACE
HWY_AFTER_NAMESPACE();

#endif  // FITWRIGHT_STATS_LANES_INL_H_
