// What hands, styluses and thrust ask of a holding: parallels that do not stand in each other, a drill's
// thrust between them, surfaces that show a turn or a centre left free.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "fitwright/replay/machine_rules.h"
#include "fitwright/replay/seating.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/measure.h"

namespace fitwright::replay {
namespace {

constexpr double kShared_mm3 = 1;         // two holding solids that only touch share less
constexpr double kBesideStrip_mm = 0.5;   // thrust may fall so far beside a parallel's edge
constexpr double kGripPerBeside = 2;      // and beside it where the jaws hold over so many times as much, opinion
constexpr double kBlade_mm = 15;          // of a pin, a blade or a stylus's stem that shows, opinion
constexpr double kThin_mm = 0.5;          // half its thickness
constexpr double kStylus_mm = 1;          // radius of an indicator's ball, common practice
constexpr double kFlat_mm = 0.4;          // of a keyway's walls to either side, opinion
constexpr double kAlike_mm = 0.01;        // its walls stand as far apart there
constexpr double kStraight_mm = 1.5;      // of a wall at least, for a blade or a stylus, opinion
constexpr int kRound = 24;                // directions tried about a normal, places round a diameter

// The point lies within margin_mm of the holding solid.
bool IsHeldBy(const FixtureSolid& spec, const Vec3& p_S, double margin_mm) {
  if (const auto* box = std::get_if<FixtureBox>(&spec.shape)) {
    const Vec3 p_F = box->X_SF.inverse() * p_S;
    return ((p_F - box->box_F.min_mm).array() > -margin_mm).all() && ((box->box_F.max_mm - p_F).array() > -margin_mm).all();
  }
  const auto& ring = std::get<FixtureCylinder>(spec.shape);
  const Vec3 from = p_S - ring.axis_S.point_mm;
  const double along = ring.axis_S.direction.dot(from);
  const double r = (from - ring.axis_S.direction * along).norm();
  return along > ring.from_mm - margin_mm && along < ring.to_mm + margin_mm && r < ring.outer_mm / 2 + margin_mm &&
         r > ring.inner_mm / 2 - margin_mm;
}

bool IsFree(const SetupView& view, const Vec3& p_S, double margin_mm) {
  return std::none_of(view.fixtures.begin(), view.fixtures.end(),
                      [&](const Fixture& f) { return IsHeldBy(*f.spec, p_S, margin_mm); });
}

// A thin straight thing stands out from the point that way and shows.
Result<bool> StandsOut(const SetupView& view, const Floor& floor, const Vec3& from_S, const Vec3& way) {
  for (double out = 0; out <= kBlade_mm; out += kThin_mm) {
    if (!IsFree(view, from_S + out * way, kThin_mm)) return false;
  }
  for (const Standing& s : floor) {
    if (!s.present || s.solid_S.empty()) continue;
    if (solid::IsInside(s.solid_S, from_S)) continue;  // a pin that is in for good is itself what shows
    const auto crossings = solid::FindCrossings_mm(s.solid_S, from_S, way);
    if (!crossings) return Unexpected(crossings.error());
    if (!crossings->empty()) return false;
  }
  return true;
}

// From beside the surface, across its normal or straight off it.
Result<bool> IsReached(const SetupView& view, const Floor& floor, const Vec3& p_S, const Vec3& n_S) {
  const Vec3 u = n_S.unitOrthogonal();
  const Vec3 v = n_S.cross(u);
  const Vec3 beside = p_S - kThin_mm * n_S;
  std::vector<Vec3> ways = {-n_S};
  for (int i = 0; i < kRound; ++i) {
    const double angle = 2 * kPi * i / kRound;
    ways.push_back(std::cos(angle) * u + std::sin(angle) * v);
  }
  for (const Vec3& way : ways) {
    const auto out = StandsOut(view, floor, beside, way);
    if (!out || *out) return out;
  }
  return false;
}

// A wall of the piece stands there; the turn of round work that is alike all round is free, and its contact none.
bool IsWall(const Standing& s, const Vec3& p_S, const Vec3& n_S) {
  return solid::IsInside(s.solid_S, p_S + kDatum_mm * n_S) && !solid::IsInside(s.solid_S, p_S - kDatum_mm * n_S);
}

bool IsRoundWork(const Setup& setup) {
  return std::any_of(setup.contacts.begin(), setup.contacts.end(), [](const Contact& c) {
    return c.kind == ContactKind::kOuterCentred || c.kind == ContactKind::kChuckGrip || c.kind == ContactKind::kCollet;
  });
}

// About this axis the round work is turned: square to two of the ways it is held round.
std::optional<Vec3> TurningAxis(const Setup& setup, const Standing& s) {
  std::optional<Vec3> first;
  for (const Contact& c : setup.contacts) {
    const bool round = c.kind == ContactKind::kOuterCentred || c.kind == ContactKind::kChuckGrip || c.kind == ContactKind::kCollet || c.kind == ContactKind::kBed;
    if (!round) continue;
    const Vec3 n = s.X_PS.linear().transpose() * c.normal_P;
    if (!first) first = n;
    const Vec3 axis = first->cross(n);
    if (axis.norm() > 0.5) return axis.normalized();
  }
  return std::nullopt;
}

// A pin stands in it: round about a middle that lies off the point by half of what is free across.
Result<bool> IsRoundHole(const Standing& s, const Vec3& p_S, const Vec3& n_S) {
  const auto across = solid::FindCrossings_mm(s.solid_S, p_S - kDatum_mm * n_S, -n_S);
  if (!across) return Unexpected(across.error());
  if (across->empty()) return false;
  const double half = 0.5 * (across->front() + kDatum_mm);
  const Vec3 middle = p_S - half * n_S;
  const Vec3 u = n_S.unitOrthogonal();
  for (const Vec3& way : {u, Vec3(n_S.cross(u))}) {
    bool round = true;
    for (const double sign : {-1.0, 1.0}) {
      const auto out = solid::FindCrossings_mm(s.solid_S, middle, sign * way);
      if (!out) return Unexpected(out.error());
      round = round && !out->empty() && std::abs(out->front() - half) < kDatum_mm;
    }
    if (round) return true;
  }
  return false;
}

// Straight through the point over kStraight_mm, square to the axis that it is to be turned about: or else along what stands out of it.
bool IsStraight(const Standing& s, const Vec3& p_S, const Vec3& n_S, const Vec3& axis) {
  const Vec3 along = n_S.cross(axis);
  if (along.norm() < 0.5) return false;
  const Vec3 t = along.normalized();
  for (double first = -kStraight_mm; first <= 1e-9; first += kThin_mm) {
    bool all = true;
    for (double at = first; all && at <= first + kStraight_mm + 1e-9; at += kThin_mm) all = IsWall(s, p_S + at * t, n_S);
    if (all) return true;
  }
  return false;
}

// What is free both ways along n_S from the point; nothing where it is open.
Result<std::optional<double>> WidthAt(const Standing& s, const Vec3& p_S, const Vec3& n_S) {
  double width = 0;
  for (const double sign : {-1.0, 1.0}) {
    const auto out = solid::FindCrossings_mm(s.solid_S, p_S, sign * n_S);
    if (!out) return Unexpected(out.error());
    if (out->empty()) return std::optional<double>();
    width += out->front();
  }
  return std::optional<double>(width);
}

// A key stands in it, between two flat walls that run straight along the axis, and shows the turn outside.
Result<bool> IsKeyway(const Standing& s, const Vec3& p_S, const Vec3& n_S, const Vec3& axis) {
  if (std::abs(n_S.dot(axis)) > kDatum_mm) return false;
  const auto across = solid::FindCrossings_mm(s.solid_S, p_S - kDatum_mm * n_S, -n_S);
  if (!across) return Unexpected(across.error());
  if (across->empty()) return false;
  const double width = across->front() + kDatum_mm;
  for (const double aside : {-kFlat_mm, kFlat_mm}) {
    const auto there = WidthAt(s, p_S - 0.5 * width * n_S + aside * n_S.cross(axis), n_S);
    if (!there) return Unexpected(there.error());
    if (!*there || std::abs(**there - width) > kAlike_mm) return false;
  }
  for (double first = -kStraight_mm; first <= 1e-9; first += kThin_mm) {
    bool all = true;
    for (double at = first; all && at <= first + kStraight_mm + 1e-9; at += kThin_mm)
      all = IsWall(s, p_S + at * axis, n_S) && IsWall(s, p_S - width * n_S + at * axis, -n_S);
    if (all) return true;
  }
  return false;
}

Result<bool> ShowsTheTurn(const Standing& s, const Vec3& p_S, const Vec3& n_S, const std::optional<Vec3>& axis) {
  if (!axis || IsStraight(s, p_S, n_S, *axis)) return true;
  const auto pin = IsRoundHole(s, p_S, n_S);
  if (!pin || *pin) return pin;
  return IsKeyway(s, p_S, n_S, *axis);
}

// Round work is turned about its axis by a surface that a pin, a key, a square or an indicator still gets at.
Status CheckClock(const SetupView& view, const Floor& floor, Findings& findings) {
  if (!IsRoundWork(*view.setup)) return Ok{};
  for (const Contact& contact : view.setup->contacts) {
    if (contact.kind != ContactKind::kSetBySquare) continue;
    const auto at = std::find_if(floor.begin(), floor.end(), [&](const Standing& s) { return s.part == contact.surface.part; });
    if (at == floor.end() || !at->present) continue;
    const Vec3 p_S = at->X_PS.inverse() * contact.point_P_mm;
    const Vec3 n_S = at->X_PS.linear().transpose() * contact.normal_P;
    if (!IsWall(*at, p_S, n_S)) continue;
    const auto shows = ShowsTheTurn(*at, p_S, n_S, TurningAxis(*view.setup, *at));
    if (!shows) return Unexpected(shows.error());
    if (!*shows) {
      findings.AddToSetup(Rule::kDatumCovered,
                          fmt::format("at ({}, {}, {}) of {} stands neither a hole for a pin, a keyway nor a straight wall that shows how it is turned",
                                      Millimetres(contact.point_P_mm.x()), Millimetres(contact.point_P_mm.y()), Millimetres(contact.point_P_mm.z()),
                                      contact.surface.part.text()));
      continue;
    }
    const auto reached = IsReached(view, floor, p_S, n_S);
    if (!reached) return Unexpected(reached.error());
    if (*reached) continue;
    findings.AddToSetup(Rule::kDatumCovered,
                        fmt::format("what shows how {} is turned, at ({}, {}, {}) of it, is not to be got at by pin, square or indicator as it is held",
                                    contact.surface.part.text(), Millimetres(contact.point_P_mm.x()), Millimetres(contact.point_P_mm.y()),
                                    Millimetres(contact.point_P_mm.z())));
  }
  return Ok{};
}

// Farthest material from the z axis through p that way.
Result<std::optional<double>> OutsideFrom(const Standing& s, const Vec3& p_S, const Vec3& way) {
  const auto crossings = solid::FindCrossings_mm(s.solid_S, p_S, way);
  if (!crossings) return Unexpected(crossings.error());
  if (crossings->empty()) return std::optional<double>{};
  return std::optional<double>{crossings->back()};
}

// An outside in an upright chuck is centred by an indicator that goes right round it.
Status CheckCentring(const SetupView& view, const Floor& floor, Findings& findings) {
  if (view.on_lathe() || view.device == nullptr) return Ok{};
  std::vector<const Contact*> centred;
  for (const Contact& c : view.setup->contacts) {
    if (c.kind == ContactKind::kOuterCentred) centred.push_back(&c);
  }
  const bool upright = std::any_of(view.setup->contacts.begin(), view.setup->contacts.end(), [](const Contact& c) {
    return c.kind == ContactKind::kChuckGrip || c.kind == ContactKind::kCollet;
  });
  if (!upright || centred.size() < 2) return Ok{};
  const auto at = std::find_if(floor.begin(), floor.end(), [&](const Standing& s) { return s.part == centred.front()->surface.part; });
  if (at == floor.end() || !at->present) return Ok{};
  const Vec3 middle = at->X_PS.inverse() * centred.front()->point_P_mm;
  for (int i = 0; i < kRound; ++i) {
    const double angle = 2 * kPi * i / kRound;
    const Vec3 way(std::cos(angle), std::sin(angle), 0);
    const auto outside = OutsideFrom(*at, middle, way);
    if (!outside) return Unexpected(outside.error());
    if (!*outside || IsFree(view, middle + (**outside + kStylus_mm) * way, kStylus_mm - kTouch_mm)) continue;
    findings.AddToSetup(Rule::kDatumCovered, fmt::format("{} is to be centred by an indicator that runs into the holding as it goes round",
                                                         centred.front()->surface.part.text()));
    return Ok{};
  }
  return Ok{};
}

bool Thrusts(const Step& step) {
  switch (step.operation) {
    case Operation::kSpot:
    case Operation::kDrill:
    case Operation::kReam:
    case Operation::kCounterbore:
    case Operation::kTap:
      return true;
    default:
      return false;
  }
}

// What a drill presses on lies between the parallels: beside them the piece tips.
Status CheckThrust(const SetupView& view, const Floor& floor, Findings& findings) {
  if (view.device == nullptr || view.device->kind != HoldingDeviceKind::kVise) return Ok{};
  double low = 1e9;
  double high = -1e9;
  for (const Fixture& f : view.fixtures) {
    if (!f.spec->supports) continue;
    if (f.spec->role != FixtureRole::kParallel) return Ok{};
    const auto bears = Bears(floor, f);
    if (!bears) return Unexpected(bears.error());
    if (!*bears) continue;
    low = std::min(low, f.box.min_mm.y());
    high = std::max(high, f.box.max_mm.y());
  }
  if (low > high) return Ok{};
  for (const Step& step : view.setup->steps) {
    if (!Thrusts(step)) continue;
    for (const PathPiece& piece : step.path) {
      for (const Vec3& p : piece.points_S_mm) {
        const double beside = std::max(low - p.y(), p.y() - high);
        if (beside <= kBesideStrip_mm || kGripPerBeside * beside <= view.setup->grip_depth_mm) continue;
        findings.Add(step.id, Rule::kThrustUnsupported,
                     fmt::format("it presses {} mm beside what carries the piece, and the jaws hold it over {} mm: it tips", Millimetres(beside),
                                 Millimetres(view.setup->grip_depth_mm)));
      }
    }
  }
  return Ok{};
}

// A parallel or packing piece has its own place.
Status CheckFixturesApart(const SetupView& view, Findings& findings) {
  for (std::size_t i = 0; i < view.fixtures.size(); ++i) {
    const Fixture& a = view.fixtures[i];
    if (a.spec->role != FixtureRole::kParallel) continue;
    for (std::size_t j = 0; j < view.fixtures.size(); ++j) {
      const Fixture& b = view.fixtures[j];
      const bool seen = b.spec->role == FixtureRole::kParallel && j <= i;
      if (j == i || seen || !Overlap(a.box, b.box, kTouch_mm)) continue;
      const auto shared = solid::Common(a.solid, b.solid);
      if (!shared) return Unexpected(shared.error());
      if (shared->empty() || solid::CalcVolume_mm3(*shared) <= kShared_mm3) continue;
      findings.AddToSetup(Rule::kFixturesOverlap, fmt::format("a parallel and a {} stand in the same place", WordOf(b.spec->role)));
    }
  }
  return Ok{};
}

}  // namespace

Status CheckReach(const SetupView& view, const Floor& floor, Findings& findings) {
  if (view.on_bench()) return Ok{};
  if (const Status s = CheckFixturesApart(view, findings); !s) return s;
  if (const Status s = CheckThrust(view, floor, findings); !s) return s;
  if (const Status s = CheckClock(view, floor, findings); !s) return s;
  return CheckCentring(view, floor, findings);
}

}  // namespace fitwright::replay
