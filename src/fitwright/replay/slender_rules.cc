// Long work in the lathe: how far out of the jaws it is cut, what carries its end, cones by the tailstock.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <optional>

#include "fitwright/model/faces.h"
#include "fitwright/replay/cutting.h"
#include "fitwright/replay/seating.h"
#include "fitwright/solid/measure.h"

namespace fitwright::replay {
namespace {

constexpr double kRoom = 1e-3;
constexpr double kAllRound = 0.97;       // of a band's surface that the fingers may pass over, opinion
constexpr double kShort_mm = 10;         // out of the jaws nothing is slender that far, opinion
constexpr int kSlices = 16;              // that what stands out is measured in
constexpr std::array<double, 3> kLooks_rad = {0.1, 2.2, 4.3};  // so that a flat or cross hole is not taken for all of it

const FixtureCylinder* SteadyRing(const Fixture& fixture) {
  return fixture.spec->role == FixtureRole::kSteady ? std::get_if<FixtureCylinder>(&fixture.spec->shape) : nullptr;
}

// What holds and carries the work along the spindle, in S.
struct Carried {
  double jaws = -std::numeric_limits<double>::infinity();
  bool centred = false;
  bool between = false;
  std::optional<double> steady;  // middle of its fingers
};

Carried CarriedBy(const SetupView& view) {
  Carried by;
  by.between = view.setup->holding == HoldingKind::kBetweenCentres;
  for (const Fixture& f : view.fixtures) {
    const FixtureRole role = f.spec->role;
    by.centred |= role == FixtureRole::kTailstock;
    if (const FixtureCylinder* ring = SteadyRing(f)) by.steady = 0.5 * (ring->from_mm + ring->to_mm);
    if (by.between && role == FixtureRole::kSpindleNose) by.jaws = f.box.max_mm.z();
    if (!by.between && f.spec->grips) by.jaws = std::max(by.jaws, f.box.max_mm.z());
  }
  return by;
}

// Outside of the piece at a height, as a diameter.
Result<double> DiameterAt(const Standing& s, double z) {
  const Vec3 far = s.box_S.min_mm.cwiseAbs().cwiseMax(s.box_S.max_mm.cwiseAbs());
  const double from = far.head<2>().norm() + 1;
  double radius = 0;
  for (const double angle : kLooks_rad) {
    const Vec3 out(std::cos(angle), std::sin(angle), 0);
    const auto crossings = solid::FindCrossings_mm(s.solid_S, Vec3(0, 0, z) + from * out, -out);
    if (!crossings) return Unexpected(crossings.error());
    if (!crossings->empty() && crossings->front() < from) radius = std::max(radius, from - crossings->front());
  }
  return 2 * radius;
}

// A bar of the slimmest diameter that springs as much under a load at `to`, hanging free out of `from`.
struct AsBar {
  double length_mm = 0;
  double slim_mm = 0;
};
Result<AsBar> CalcAsBar(const Standing& s, double from, double to) {
  AsBar bar;
  std::array<double, kSlices> d{};
  const double step = (to - from) / kSlices;
  bar.slim_mm = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < d.size(); ++i) {
    const auto at = DiameterAt(s, from + (static_cast<double>(i) + 0.5) * step);
    if (!at) return Unexpected(at.error());
    d[i] = *at;
    if (d[i] > 0) bar.slim_mm = std::min(bar.slim_mm, d[i]);
  }
  double spring = 0;  // three times the sum of the arm squared over the stiffness, the slimmest's as 1
  for (std::size_t i = 0; i < d.size(); ++i) {
    if (d[i] <= 0) continue;
    const double arm = (static_cast<double>(d.size() - i) - 0.5) * step;
    spring += 3 * arm * arm * step * std::pow(bar.slim_mm / d[i], 4);
  }
  bar.length_mm = std::cbrt(spring);
  return bar;
}

void SaySlender(const CutJob& job, double out, double slim, const std::string& how, Findings& findings) {
  findings.Add(job.step.id, Rule::kWorkTooSlender,
               fmt::format("the {} works {} mm out of the jaws on {} mm {}", job.tool.words, Millimetres(out), Millimetres(slim), how));
}

// Held fast in the jaws, resting in the steady `between` further on, cut `beyond` past it: it gives as a free
// bar of this length (beam with an overhang, tables of engineering handbooks, from memory).
double AsFree_mm(double between, double beyond) { return std::cbrt(beyond * beyond * (3 * between + 4 * beyond) / 4); }

Status CheckInSteady(const CutJob& job, const Standing& piece, const Carried& by, Findings& findings) {
  for (const Sweep& sweep : job.sweeps) {
    if (sweep.piece->kind != PathKind::kTurn) continue;
    const double at = std::min(HeightsOf(*sweep.piece).second, piece.box_S.max_mm.z());
    const double between = *by.steady - by.jaws;
    const auto bar = CalcAsBar(piece, by.jaws, std::max(at, *by.steady));
    if (!bar) return Unexpected(bar.error());
    const bool beyond = at > *by.steady;
    const double out = beyond ? AsFree_mm(between, at - *by.steady) : between;
    const double most = kMostStickOut_diameters * (beyond ? 1.0 : kCentredLonger);
    if (out <= most * bar->slim_mm + kRoom) continue;
    SaySlender(job, at - by.jaws, bar->slim_mm, fmt::format("with the steady {} mm from the jaws", Millimetres(between)), findings);
    return Ok{};
  }
  return Ok{};
}

// An end that is faced springs by all that stands out, however stout the jaws' end of it is.
Status CheckSteppedWork(const CutJob& job, const Standing& piece, const PathPiece& path, const Carried& by, Findings& findings) {
  const double at = std::min(HeightsOf(path).first, piece.box_S.max_mm.z());
  if (job.step.operation != Operation::kFace || by.centred || at - by.jaws < kShort_mm) return Ok{};
  const auto bar = CalcAsBar(piece, by.jaws, at);
  if (!bar) return Unexpected(bar.error());
  if (bar->length_mm > kMostStickOut_diameters * bar->slim_mm * (1 + kRoom)) {
    SaySlender(job, at - by.jaws, bar->slim_mm, "without support", findings);
  }
  return Ok{};
}

}  // namespace

Status CheckStickOut(const CutJob& job, const Floor& before, Findings& findings) {
  if (!job.view.on_lathe() || job.tool.diameter_min_mm > 0 || before.empty()) return Ok{};
  const Carried by = CarriedBy(job.view);
  if (by.steady) return CheckInSteady(job, before.front(), by, findings);
  for (const Sweep& sweep : job.sweeps) {
    const PathPiece& piece = *sweep.piece;
    if (piece.kind != PathKind::kTurn) continue;
    const auto [low, high] = HeightsOf(piece);
    // What is turned along is as slim as it is turned.
    double slim = job.view.setup->opening_mm;
    double least_x = slim;
    for (const Vec3& p : piece.points_S_mm) least_x = std::min(least_x, std::abs(p.x()));
    const double top = std::min(high, before.front().box_S.max_mm.z());
    const bool along = top - low > least_x;
    double out = (along ? top : std::min(low, top)) - by.jaws;
    if (along && (top - low) / (2 * least_x) > out / slim) {
      out = top - low;
      slim = 2 * least_x;
    }
    const double most = kMostStickOut_diameters * (!by.centred ? 1.0 : by.between ? kBetweenCentresLonger : kCentredLonger);
    if (slim > 0 && out > most * slim + kRoom) {
      SaySlender(job, out, slim, by.centred ? "with no more than its centres" : "without support", findings);
      return Ok{};
    }
    if (along) continue;
    if (const Status stepped = CheckSteppedWork(job, before.front(), piece, by, findings); !stepped) return stepped;
  }
  return Ok{};
}

Status CheckSteady(const SetupView& view, const Floor& floor, Findings& findings) {
  for (const Fixture& fixture : view.fixtures) {
    if (fixture.spec->role != FixtureRole::kSteady) continue;
    const FixtureCylinder* ring = SteadyRing(fixture);
    const auto& devices = view.shop->holding;
    const auto own = std::find_if(devices.begin(), devices.end(), [&](const HoldingDevice& d) {
      return d.kind == HoldingDeviceKind::kSteady && d.on == view.machine->name;
    });
    if (own == devices.end() || ring == nullptr) {
      findings.AddToSetup(Rule::kDeviceUnknown, fmt::format("{} has no fixed steady like that", view.machine->name.text()));
      continue;
    }
    if (ring->inner_mm < own->grip_min_mm - kMade_mm || ring->inner_mm > own->grip_max_mm + kMade_mm) {
      findings.AddToSetup(Rule::kCapacityExceeded, fmt::format("{} takes {} to {} mm, not {}", own->name.text(), Millimetres(own->grip_min_mm),
                                                               Millimetres(own->grip_max_mm), Millimetres(ring->inner_mm)));
    }
    const double wide = ring->to_mm - ring->from_mm;
    if (std::abs(wide - own->body_length_mm) > kMade_mm) {
      findings.AddToSetup(Rule::kFixtureDiffers, fmt::format("the steady is drawn {} mm wide, {} is {}", Millimetres(wide), own->name.text(),
                                                             Millimetres(own->body_length_mm)));
    }
    const auto touched = CalcTouchAllRound_mm2(floor, fixture);
    if (!touched) return Unexpected(touched.error());
    if (*touched < kAllRound * kPi * ring->inner_mm * wide) {
      findings.AddToSetup(Rule::kNotSupported, "the steady's fingers do not run on a round band all round");
    }
    const auto& contacts = view.setup->contacts;
    const auto runs = std::count_if(contacts.begin(), contacts.end(), [&](const Contact& c) {
      if (c.kind != ContactKind::kSteady || IsOnRaw(c)) return false;
      const Vec3 p = floor.front().X_PS.inverse() * c.point_P_mm;
      return p.z() > ring->from_mm - kTouch_mm && p.z() < ring->to_mm + kTouch_mm;
    });
    if (runs < 2) findings.AddToSetup(Rule::kNotSupported, "the steady's fingers run on no outside that is turned or supplied round");
  }
  return Ok{};
}

void CheckSetOver(const SetupView& view, const Floor& floor, Findings& findings) {
  constexpr double kLean = 1e-4;      // of the rise per mm
  constexpr double kAcross = 0.5;     // steeper than this the cross slide feeds, not the carriage
  if (!view.on_lathe() || floor.empty()) return;
  const double over = view.setup->tailstock_over_mm;
  if (std::abs(over) > view.machine->tailstock_over_mm + kMade_mm) {
    findings.AddToSetup(Rule::kCapacityExceeded, fmt::format("the tailstock {} mm over, {} moves it {}", Millimetres(std::abs(over)),
                                                             view.machine->name.text(), Millimetres(view.machine->tailstock_over_mm)));
  }
  const double length = floor.front().box_S.size_mm().z();
  const double lean = -std::tan(std::asin(std::clamp(over / length, -0.5, 0.5)));
  if (over != 0 && view.setup->holding != HoldingKind::kBetweenCentres) {
    findings.AddToSetup(Rule::kNotSupported, "the tailstock set over without a centre at both ends");
  }
  for (const Step& step : view.setup->steps) {
    const bool cuts = step.operation == Operation::kTurn;
    for (const PathPiece& path : step.path) {
      for (std::size_t i = 1; cuts && path.kind == PathKind::kTurn && i < path.points_S_mm.size(); ++i) {
        const Vec3 d = path.points_S_mm[i] - path.points_S_mm[i - 1];
        if (std::abs(d.z()) < kMade_mm || std::abs(d.x() / d.z()) > kAcross) continue;
        const double rise = d.x() / d.z();
        if (over != 0 && std::abs(rise - lean) > kLean) {
          findings.Add(step.id, Rule::kPathImpossible, fmt::format("with the tailstock set over the cut rises {:.4f} mm a mm, the path {:.4f}", lean, rise));
        } else if (over == 0 && std::abs(rise) > kLean && d.norm() > view.machine->top_slide_mm + kMade_mm) {
          findings.Add(step.id, Rule::kTravelExceeded, fmt::format("a cone {} mm long, the top slide travels {}", Millimetres(d.norm()),
                                                                   Millimetres(view.machine->top_slide_mm)));
        }
      }
    }
  }
}

}  // namespace fitwright::replay
