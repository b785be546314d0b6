// Private to this layer: one intersection of solids, and what is asked of it before it is believed.
#pragma once

#include <memory>
#include <optional>
#include <vector>

#include "fitwright/solid/believed_cut.h"
#include "fitwright/solid/kernel.h"
#include "fitwright/solid/solid.h"

namespace fitwright::solid {

// Two ways to the same volume may differ by this share of the larger one: above the quick
// quadrature's error (up to 2e-6 where bores cross) and below what a wrong cut leaves or takes.
inline constexpr double kVolumeCheck = 1e-5;
inline constexpr double kVolumeCheck_mm3 = 1e-3;
// Second try when the plain intersection fails: points this close are one. Ten times the kernel's
// own noise, a hundredth of what two drawn sizes may be alike.
inline constexpr double kFuzzy_mm = 1e-6;

enum class SetOperation { kBodyWithoutTools, kToolsWithoutBody, kShared, kAll };

// All operands crossed once; any set operation is then cheap.
class Crossing {
 public:
  Crossing(const Solid& body, const std::vector<Solid>& tools, double fuzzy_mm);
  ~Crossing();
  Crossing(const Crossing&) = delete;
  Crossing& operator=(const Crossing&) = delete;
  // Nothing when the kernel reports an error or leaves an open shell.
  std::optional<Solid> Get(SetOperation operation) const;

 private:
  struct Filler;
  Solid body_;
  std::vector<Solid> tools_;
  std::unique_ptr<Filler> filler_;
};

// The boxes lie apart: the solids share nothing.
bool BoxesMiss(const Solid& a, const Solid& b);
bool ShellsClosed(const TopoDS_Shape& shape);
bool SameVolume(double a_mm3, double b_mm3);
// a and b together are as much as the whole: by quick volumes, and where those disagree by exact ones
// (the quick ones are off by 0.1 mm3 where bores cross).
bool AddUp(const Solid& a, const Solid& b, const Solid& whole);
// Neighbouring faces of one surface joined; the solid as it was where that fails or changes it.
Solid Unified(const Solid& solid, double quick_volume_mm3);
Error NotBelieved(const char* what);

// body without tools, believed: volumes agree, new faces are sound, every tool's faces are where
// they should be. Nothing when not. The second also tries fuzzy, nudged and one tool after the
// other.
std::optional<Solid> TryCut(const Solid& body, const std::vector<Solid>& tools, double fuzzy_mm,
                            const Believed& believed = {});
std::optional<Solid> TryCutOneByOne(const Solid& body, const std::vector<Solid>& tools);

}  // namespace fitwright::solid
