#include "fitwright/variation/fingerprint.h"

#include <algorithm>
#include <bit>

#include "fitwright/base/hash.h"

namespace fitwright::variation {
namespace {

// Goes up whenever the same forms are drawn or tested otherwise: kept outcomes are stale then.
constexpr std::uint64_t kOutcomeVersion = 2;

// Finalizer of MurmurHash3 (public domain constants).
std::uint64_t Stirred(std::uint64_t h) {
  h ^= h >> 33;
  h *= 0xff51afd7ed558ccdULL;
  h ^= h >> 33;
  h *= 0xc4ceb9fe1a85ec53ULL;
  return h ^ (h >> 33);
}

}  // namespace

class Fingerprints::Mixer {
 public:
  explicit Mixer(const std::vector<Fingerprint>& sources) : sources_(sources) {}

  void Word(std::uint64_t word) {
    print_.a = Stirred(print_.a * 0x9e3779b97f4a7c15ULL + word);
    print_.b = Stirred((print_.b ^ word) * 0xd6e8feb86659fd93ULL + 0x2545f4914f6cdd1dULL);
  }
  void Number(double value) { Word(std::bit_cast<std::uint64_t>(value == 0 ? 0.0 : value)); }
  void Print(const Fingerprint& print) {
    Word(print.a);
    Word(print.b);
  }
  // Whatever the order of its terms.
  void Sum(const Form& form) {
    std::uint64_t a = 0;
    std::uint64_t b = 0;
    for (const Term& term : form.terms) {
      const std::uint64_t factor = std::bit_cast<std::uint64_t>(term.factor);
      const Fingerprint& source = sources_[term.source];
      a += Stirred(source.a + factor * 0x9e3779b97f4a7c15ULL);
      b += Stirred((source.b ^ factor) * 0xd6e8feb86659fd93ULL);
    }
    Number(form.constant);
    Word(a);
    Word(b);
  }
  void Limits(const FloatLimits& limits) {
    Number(limits.engagement_mm);
    Word(limits.limits.size());
    for (const FloatLimit& limit : limits.limits) {
      Sum(limit.offset[0]);
      Sum(limit.offset[1]);
      Sum(limit.room);
      Number(limit.q.x());
      Number(limit.q.y());
      Word(static_cast<std::uint64_t>(limit.screw) + 1);
      Number(limit.rock_arm_mm);
    }
  }
  void Of(const Source& s) {
    Word(s.key);
    Word(s.size_key);
    Word(static_cast<std::uint64_t>(s.law));
    Word(static_cast<std::uint64_t>(s.spread));
    Word(static_cast<std::uint64_t>(s.spread_b));
    Number(static_cast<double>(s.blend));
    Number(s.unit);
    Number(s.extra);
  }
  void Of(const WorkedSize& w) {
    Word(static_cast<std::uint64_t>(w.cut));
    Word(static_cast<std::uint64_t>(w.reading));
    Number(w.low);
    Number(w.high);
    Number(w.safe_sign);
  }
  void Of(const Play& play) {
    Word(play.key);
    Word(static_cast<std::uint64_t>(play.kind));
    Number(play.push.x());
    Number(play.push.y());
    Word((play.theta ? 1U : 0U) + (play.has_residual ? 2U : 0U) + (play.returns ? 4U : 0U) +
         (play.before_turns ? 8U : 0U));
    Limits(play.within);
    Word(play.targets.size());
    for (std::size_t i = 0; i < play.targets.size(); ++i) {
      Sum(play.targets[i].first);
      Number(play.targets[i].second);
      for (const double factor : play.target_factors[i]) Number(factor);
    }
    for (std::size_t i = 0; i < 3; ++i) {
      if (play.has_residual) Print(sources_[play.residual[i]]);
      if (play.returns && (i < 2 || play.before_turns)) Print(sources_[play.before[i]]);
    }
  }
  const Fingerprint& print() const { return print_; }

 private:
  const std::vector<Fingerprint>& sources_;
  Fingerprint print_;
};

Fingerprints::Fingerprints(const Analysis& analysis) : sources_(analysis.sources.size()) {
  for (std::size_t s = 0; s < sources_.size(); ++s) {
    const Source& source = analysis.sources[static_cast<SourceIndex>(s)];
    Mixer mixer(sources_);
    mixer.Of(source);
    if (source.law == Law::kWorked)
      mixer.Of(analysis.sources.worked()[static_cast<std::size_t>(source.worked)]);
    sources_[s] = mixer.print();
  }
  // A later float may rest on an earlier one, never the other way round.
  for (const Play& play : analysis.plays) {
    Mixer mixer(sources_);
    mixer.Of(play);
    const auto name = [&](SourceIndex source, std::uint64_t way) {
      Mixer one = mixer;
      one.Word(way);
      sources_[source] = one.print();
    };
    name(play.tx, 1);
    name(play.ty, 2);
    if (play.theta) name(*play.theta, 3);
  }
}

Fingerprint Fingerprints::OfRequirement(const RequirementForms& r) const {
  Mixer mixer(sources_);
  mixer.Word(static_cast<std::uint64_t>(r.test));
  mixer.Number(r.lower);
  mixer.Number(r.upper);
  mixer.Number(r.tilt_length_mm);
  mixer.Word(r.linear.size());
  for (const Form& form : r.linear) mixer.Sum(form);
  mixer.Word(r.vectors.size());
  for (const auto& pair : r.vectors) {
    mixer.Sum(pair[0]);
    mixer.Sum(pair[1]);
  }
  if (r.test == TestKind::kScrews) {
    mixer.Limits(r.screws);
    mixer.Word(r.stack.size());
    for (const FloatLimits& limits : r.stack) mixer.Limits(limits);
  }
  if (r.formula) mixer.Word(StableHash(r.formula_text));
  return mixer.print();
}

void Fingerprints::Arrange(Form& form) const {
  std::sort(form.terms.begin(), form.terms.end(),
            [&](const Term& x, const Term& y) { return sources_[x.source] < sources_[y.source]; });
}

void Fingerprints::Arrange(FloatLimits& limits) const {
  for (FloatLimit& limit : limits.limits) {
    Arrange(limit.offset[0]);
    Arrange(limit.offset[1]);
    Arrange(limit.room);
  }
}

void Fingerprints::Arrange(Play& play) const {
  Arrange(play.within);
  for (auto& [form, tolerance] : play.targets) Arrange(form);
}

void Fingerprints::Arrange(RequirementForms& r) const {
  for (Form& form : r.linear) Arrange(form);
  for (auto& pair : r.vectors) {
    Arrange(pair[0]);
    Arrange(pair[1]);
  }
  Arrange(r.screws);
  for (FloatLimits& limits : r.stack) Arrange(limits);
}

Fingerprint OfDraws(const Figures& figures, std::uint64_t seed, std::uint64_t kind,
                    std::int64_t builds) {
  Fingerprint print{kOutcomeVersion, kOutcomeVersion};
  const auto word = [&](std::uint64_t w) { print = Joined(print, {w, Stirred(w + 1)}); };
  word(seed);
  word(kind);
  word(static_cast<std::uint64_t>(builds));
  for (const SpreadFigure& figure : figures) {
    word(std::bit_cast<std::uint64_t>(figure.mean));
    word(std::bit_cast<std::uint64_t>(figure.spread));
  }
  return print;
}

Fingerprint Joined(const Fingerprint& one, const Fingerprint& other) {
  return {Stirred(one.a * 0x9e3779b97f4a7c15ULL + other.a),
          Stirred((one.b ^ other.b) * 0xd6e8feb86659fd93ULL + 0x2545f4914f6cdd1dULL)};
}

}  // namespace fitwright::variation
