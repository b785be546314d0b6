// Jaws, parallels, chucks, shanks, holders and the spindle's nose as solids.
#include <fmt/format.h>

#include <algorithm>

#include "fitwright/replay/cutting.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/cutters.h"
#include "fitwright/solid/measure.h"

namespace fitwright::replay {
namespace {

constexpr double kHit_mm3 = 2e-3;
constexpr double kNoseLength_mm = 150;

std::string RoleWords(FixtureRole role) {
  std::string words(WordOf(role));
  std::replace(words.begin(), words.end(), '_', ' ');
  return words;
}

struct Obstacle {
  const solid::Solid* solid = nullptr;
  Box3 box;
  std::string words;
  bool is_piece = false;
};

std::vector<Obstacle> ObstaclesOf(const SetupView& view, const Floor& floor) {
  std::vector<Obstacle> all;
  for (const Standing& s : floor) {
    if (s.present && !s.solid_S.empty()) all.push_back({&s.solid_S, s.box_S, s.part.text(), true});
  }
  for (const Fixture& f : view.fixtures) {
    all.push_back({&f.solid, f.box, "the " + RoleWords(f.spec->role), false});
  }
  return all;
}

// Level box that a round body hanging on the spindle passes through, from its lower end upward.
Box3 BodyBox(const PathPiece& piece, double diameter, double above_tip) {
  Box3 box{piece.points_S_mm.front(), piece.points_S_mm.front()};
  for (const Vec3& p : piece.points_S_mm) {
    box.min_mm = box.min_mm.cwiseMin(p);
    box.max_mm = box.max_mm.cwiseMax(p);
  }
  const Vec3 out(0.5 * diameter, 0.5 * diameter, 0);
  return {box.min_mm - out + Vec3(0, 0, above_tip), box.max_mm + out + Vec3(0, 0, 1e6)};
}

// The first obstacle that the body meets.
Result<const Obstacle*> FindHit(const std::vector<Obstacle>& obstacles, const Tool& body,
                                const PathPiece& piece, const Box3& reach, double* shared) {
  const Obstacle* none = nullptr;
  const bool near = std::any_of(obstacles.begin(), obstacles.end(), [&](const Obstacle& o) {
    return Overlap(o.box, reach, kGeometryNoise_mm);
  });
  if (!near) return none;
  const auto swept = solid::MakeSweptHolder(body, piece);
  if (!swept && swept.error().code == ErrorCode::kOutOfRange)
    return none;  // said of the cutter already
  if (!swept) return Unexpected(swept.error());
  for (const solid::Solid& part : *swept) {
    const Box3 box = solid::CalcBox(part);
    for (const Obstacle& o : obstacles) {
      if (!Overlap(o.box, box, kGeometryNoise_mm)) continue;
      const auto volume = solid::CalcCommonVolume_mm3(*o.solid, part);
      if (!volume) return Unexpected(volume.error());
      if (*volume <= kHit_mm3) continue;
      *shared = *volume;
      return &o;
    }
  }
  return none;
}

struct Body {
  Rule on_piece;
  Rule on_fixture;
  const char* words;
  Tool tool;  // only shank or only holder sizes set
  double diameter_mm = 0;
  double above_tip_mm = 0;
};

std::vector<Body> BodiesOf(const CutJob& job) {
  std::vector<Body> bodies;
  const Tool& tool = job.tool;
  Tool shank = tool;
  shank.holder_diameter_mm = 0;
  if (tool.shank_mm > 0) {
    bodies.push_back({Rule::kToolTooShort, Rule::kHolderCollision, "shank", shank, tool.shank_mm,
                      tool.flute_mm});
  }
  Tool holder = tool;
  holder.shank_mm = 0;
  if (tool.holder_diameter_mm > 0) {
    bodies.push_back({Rule::kHolderCollision, Rule::kHolderCollision, "holder", holder,
                      tool.holder_diameter_mm, std::max(tool.stick_out_mm, tool.flute_mm)});
  }
  const double nose =
      job.view.on_lathe() || job.view.on_bench() ? 0 : job.view.machine->nose_diameter_mm;
  if (nose > 0) {
    Tool spindle = holder;
    spindle.stick_out_mm = tool.stick_out_mm + tool.holder_length_mm;
    spindle.holder_diameter_mm = nose;
    spindle.holder_length_mm = kNoseLength_mm;
    bodies.push_back({Rule::kSpindleCollision, Rule::kSpindleCollision, "spindle nose", spindle,
                      nose, std::max(spindle.stick_out_mm, tool.flute_mm)});
  }
  return bodies;
}

}  // namespace

Status CheckFixturesClear(const CutJob& job, Findings& findings) {
  for (const Sweep& sweep : job.sweeps) {
    if (sweep.piece->kind == PathKind::kSaw)
      continue;  // the blade, not all beyond it, passes there
    for (const Fixture& fixture : job.view.fixtures) {
      double shared = 0;
      for (std::size_t i = 0; i < sweep.cutters.size(); ++i) {
        if (!Overlap(sweep.boxes[i], fixture.box, kGeometryNoise_mm)) continue;
        const auto volume = solid::CalcCommonVolume_mm3(fixture.solid, sweep.cutters[i]);
        if (!volume) return Unexpected(volume.error());
        shared = std::max(shared, *volume);
      }
      if (shared <= kHit_mm3) continue;
      findings.Add(job.step.id, Rule::kFixtureCut,
                   fmt::format("the {} cuts {:.2f} mm3 out of the {}", job.tool.words, shared,
                               RoleWords(fixture.spec->role)));
    }
  }
  return Ok{};
}

Status CheckShanks(const CutJob& job, const Floor& after, Findings& findings) {
  const std::vector<Obstacle> obstacles = ObstaclesOf(job.view, after);
  const std::vector<Body> bodies = BodiesOf(job);
  for (const Body& body : bodies) {
    for (const Sweep& sweep : job.sweeps) {
      const PathPiece& piece = *sweep.piece;
      if (piece.kind != PathKind::kPlunge && piece.kind != PathKind::kMill) continue;
      double shared = 0;
      const auto hit = FindHit(obstacles, body.tool, piece,
                               BodyBox(piece, body.diameter_mm, body.above_tip_mm), &shared);
      if (!hit) return Unexpected(hit.error());
      if (*hit == nullptr) continue;
      findings.Add(job.step.id, (*hit)->is_piece ? body.on_piece : body.on_fixture,
                   fmt::format("the {}'s {} runs {:.2f} mm3 into {}", job.tool.words, body.words,
                               shared, (*hit)->words));
      break;
    }
  }
  return Ok{};
}

void CheckStickOut(const CutJob& job, const Floor& before, Findings& findings) {
  constexpr double kRoom = 1e-3;
  if (!job.view.on_lathe() || job.tool.diameter_min_mm > 0 || before.empty()) return;
  double jaws = -std::numeric_limits<double>::infinity();
  bool centred = false;
  const bool between = job.view.setup->holding == HoldingKind::kBetweenCentres;
  for (const Fixture& f : job.view.fixtures) {
    const FixtureRole role = f.spec->role;
    if (role == FixtureRole::kSteady) return;
    centred |= role == FixtureRole::kTailstock;
    if (between && role == FixtureRole::kSpindleNose) jaws = f.box.max_mm.z();
    if (!between && f.spec->grips) jaws = std::max(jaws, f.box.max_mm.z());
  }
  for (const Sweep& sweep : job.sweeps) {
    const PathPiece& piece = *sweep.piece;
    if (piece.kind != PathKind::kTurn) continue;
    const auto [low, high] = HeightsOf(piece);
    // All that stands out is as stout as what the jaws hold; what is turned along, as slim as it is turned.
    double slim = job.view.setup->opening_mm;
    double least_x = slim;
    for (const Vec3& p : piece.points_S_mm) least_x = std::min(least_x, std::abs(p.x()));
    const double top = std::min(high, before.front().box_S.max_mm.z());
    const bool along = top - low > least_x;
    double out = (along ? top : std::min(low, top)) - jaws;
    if (along && (top - low) / (2 * least_x) > out / slim) {
      out = top - low;
      slim = 2 * least_x;
    }
    const double most = kMostStickOut_diameters * (!centred ? 1.0 : between ? kBetweenCentresLonger : kCentredLonger);
    if (slim <= 0 || out <= most * slim + kRoom) continue;
    findings.Add(job.step.id, Rule::kWorkTooSlender,
                 fmt::format("the {} works {} mm out of the jaws on {} mm {}", job.tool.words, Millimetres(out),
                             Millimetres(slim), centred ? "with no more than its centres" : "without support"));
    return;
  }
}

}  // namespace fitwright::replay
