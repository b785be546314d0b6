// What an outcome depends on, as one number: sources, floats and requirements that are drawn and
// tested alike have the same fingerprint, whatever plan and table they stand in.
#pragma once

#include <compare>
#include <cstdint>
#include <vector>

#include "fitwright/variation/analysis.h"

namespace fitwright::variation {

// 128 bits: among a million different outcomes the chance that two are taken for one is 1e-27.
struct Fingerprint {
  std::uint64_t a = 0;
  std::uint64_t b = 0;
  friend auto operator<=>(const Fingerprint&, const Fingerprint&) = default;
};

class Fingerprints {
 public:
  explicit Fingerprints(const Analysis& analysis);
  // Of a worked size: its cutting and reading too. Of a float: all that decides where it rests.
  const Fingerprint& OfSource(SourceIndex source) const { return sources_[source]; }
  // Without name, remedy and parts: what is tested, not what it is called or costs.
  Fingerprint OfRequirement(const RequirementForms& requirement) const;
  // Terms by fingerprint: the same sum to the last bit for the same form out of any table.
  void Arrange(Form& form) const;
  void Arrange(FloatLimits& limits) const;
  void Arrange(Play& play) const;
  void Arrange(RequirementForms& requirement) const;

 private:
  class Mixer;
  std::vector<Fingerprint> sources_;
};

// The figures, the seed, how many builds and of which kind: the rest that an outcome depends on.
Fingerprint OfDraws(const Figures& figures, std::uint64_t seed, std::uint64_t kind,
                    std::int64_t builds);
Fingerprint Joined(const Fingerprint& one, const Fingerprint& other);

}  // namespace fitwright::variation
