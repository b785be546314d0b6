// Grip and support. Contact is where faces lie on each other, or what a holding solid shares when
// it is pressed kTouch_mm into the piece; drawn back as far it must share nothing.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "fitwright/replay/seating.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/cutters.h"
#include "fitwright/solid/measure.h"

namespace fitwright::replay {
namespace {

constexpr double kLeastTouch_mm3 = 1e-5;
constexpr double kLeastOverlap_mm3 = 0.5;  // rough seats of sawn stock rest within this, opinion
constexpr double kVisePrint_mm = kSheet_mm;
constexpr double kChuckPrint_mm = 1.0;  // chamfers at the ends of the gripped land, opinion
constexpr double kInCentre = 0.5;       // of a centre's thickness, that deep it stands at least, opinion

// Contact of a holding solid: its area and how far it reaches along z.
struct Touch {
  double area_mm2 = 0;
  double depth_mm = 0;
  bool touches() const { return area_mm2 * kTouch_mm > kLeastTouch_mm3; }
};

struct Shared {
  double volume_mm3 = 0;
  Box3 box;
};

// The solid moved by by_mm towards the piece (negative: away from it).
FixtureSolid Pressed(const FixtureSolid& spec, const Vec3& towards, double by_mm) {
  FixtureSolid moved = spec;
  if (auto* box = std::get_if<FixtureBox>(&moved.shape)) {
    box->X_SF.pretranslate(towards * by_mm);
    return moved;
  }
  auto& ring = std::get<FixtureCylinder>(moved.shape);
  if (towards.norm() > 0.5) {
    ring.axis_S.point_mm += towards * by_mm;
  } else if (ring.inner_mm > 0) {
    ring.inner_mm = std::max(0.0, ring.inner_mm - 2 * by_mm);
  } else {
    ring.outer_mm += 2 * by_mm;
  }
  return moved;
}

Vec3 TowardsPiece(const FixtureSolid& spec) {
  if (spec.grips) return spec.grip_normal_S.value_or(Vec3::Zero());
  return Vec3::UnitZ();
}

Result<Shared> CalcShared(const Standing& s, const FixtureSolid& spec) {
  Shared shared;
  if (s.solid_S.empty() || !Overlap(s.box_S, BoxOf(spec))) return shared;
  const auto body = solid::MakeFixture(spec);
  if (!body) return Unexpected(body.error());
  const auto common = solid::Common(s.solid_S, *body);
  if (!common) return Unexpected(common.error());
  if (common->empty()) return shared;
  shared.volume_mm3 = solid::CalcVolume_mm3(*common);
  shared.box = solid::CalcBox(*common);
  return shared;
}

// Faces that lie on each other; where there are none, what the pressed solid shares (a line of
// contact).
Result<Touch> CalcTouch(const Standing& s, const Fixture& fixture, const Vec3& towards) {
  if (s.solid_S.empty() || !Overlap(Grown(s.box_S, kTouch_mm), fixture.box)) return Touch{};
  solid::ContactOptions options;
  options.gap_mm = kTouch_mm;
  if (towards.norm() > 0.5) options.normal = towards.normalized();
  // What is gripped all round may stand against a shoulder besides: that grips nothing.
  options.round_only = fixture.spec->grips && towards.norm() < 0.5;
  const auto patch = solid::CalcContact(s.solid_S, fixture.solid, Vec3::UnitZ(), options);
  if (!patch) return Unexpected(patch.error());
  if (patch->area_mm2 > 0) return Touch{patch->area_mm2, patch->to_mm - patch->from_mm};
  const auto shared = CalcShared(s, Pressed(*fixture.spec, towards, kTouch_mm));
  if (!shared) return Unexpected(shared.error());
  return Touch{shared->volume_mm3 / kTouch_mm, shared->box.size_mm().z()};
}

std::string RoleWords(const FixtureSolid& spec) {
  std::string words(WordOf(spec.role));
  std::replace(words.begin(), words.end(), '_', ' ');
  return words;
}

bool IsVise(const SetupView& view) {
  return view.device != nullptr && view.device->kind == HoldingDeviceKind::kVise;
}

// What grips: of a rotary table the chuck that is put on it.
const HoldingDevice& Gripping(const SetupView& view) {
  if (view.device->kind != HoldingDeviceKind::kRotaryTable) return *view.device;
  for (const HoldingDevice& d : view.shop->holding) {
    if (d.kind == HoldingDeviceKind::kThreeJaw && d.on == view.device->on) return d;
  }
  return *view.device;
}

bool IsAnglePlate(const SetupView& view) {
  return view.device != nullptr && view.device->kind == HoldingDeviceKind::kAnglePlate;
}

bool IsVeeBlock(const SetupView& view) {
  return view.device != nullptr && view.device->kind == HoldingDeviceKind::kVBlock;
}

// Greatest n . p over a box, in S.
double FaceAlong(const FixtureSolid& spec, const Vec3& n) {
  const auto& box = std::get<FixtureBox>(spec.shape);
  const Vec3 local = box.X_SF.linear().transpose() * n;
  double reach = n.dot(box.X_SF.translation());
  for (int i = 0; i < 3; ++i)
    reach += std::max(local[i] * box.box_F.min_mm[i], local[i] * box.box_F.max_mm[i]);
  return reach;
}

bool IsCentre(const FixtureSolid& spec) {
  return spec.role == FixtureRole::kTailstock || spec.role == FixtureRole::kSpindleNose;
}

// Distance between opposed jaws, or the gripped diameter.
std::optional<double> OpeningOf(const SetupView& view) {
  const FixtureSolid* first = nullptr;
  if (view.device == nullptr) return std::nullopt;
  for (const Fixture& fixture : view.fixtures) {
    const FixtureSolid& spec = *fixture.spec;
    if (!spec.grips) continue;
    if (const auto* ring = std::get_if<FixtureCylinder>(&spec.shape)) {
      return ring->inner_mm > 0 ? ring->inner_mm : ring->outer_mm;
    }
    if (!spec.grip_normal_S) continue;
    const bool pairs =
        IsVise(view) || IsAnglePlate(view) || view.device->kind == HoldingDeviceKind::kFourJaw;
    if (!pairs) return std::abs(2 * FaceAlong(spec, *spec.grip_normal_S));
    if (first == nullptr) {
      first = &spec;
    } else if (first->grip_normal_S->dot(*spec.grip_normal_S) < -0.9) {
      return std::abs(FaceAlong(*first, *first->grip_normal_S) +
                      FaceAlong(spec, *spec.grip_normal_S));
    }
  }
  return std::nullopt;
}

// Clamps reach so high above the table.
void CheckClampHeight(const SetupView& view, Findings& findings) {
  std::optional<double> table;
  for (const Fixture& f : view.fixtures) {
    if (f.spec->role == FixtureRole::kTable) table = f.box.max_mm.z();
  }
  for (const Fixture& f : view.fixtures) {
    if (f.spec->role != FixtureRole::kClamp || !table) continue;
    const double height = f.box.min_mm.z() - *table;
    if (std::abs(height - view.setup->opening_mm) > kSheet_mm) {
      findings.AddToSetup(Rule::kHoldingDisagrees, fmt::format("the sheet says clamps {} mm above the table, they stand {}",
                                                               Millimetres(view.setup->opening_mm), Millimetres(height)));
    }
    if (view.device->opening_mm > 0 && height > view.device->opening_mm) {
      findings.AddToSetup(Rule::kCapacityExceeded, fmt::format("clamped {} mm above the table, {} reaches {}", Millimetres(height),
                                                               view.device->name.text(), Millimetres(view.device->opening_mm)));
    }
    const Box3 below{f.box.min_mm - Vec3(0, 0, height), f.box.max_mm};
    const bool carried = std::any_of(view.fixtures.begin(), view.fixtures.end(), [&](const Fixture& s) {
      return s.spec->supports && Overlap(below, s.box);
    });
    if (!carried) findings.AddToSetup(Rule::kNotSupported, "a clamp presses where nothing is under the piece");
  }
}

void CheckOpening(const SetupView& view, Findings& findings) {
  if (view.device != nullptr && view.device->kind == HoldingDeviceKind::kClamps) return CheckClampHeight(view, findings);
  if (IsVeeBlock(view) || view.setup->holding == HoldingKind::kFaceplate) return;
  const auto opening = OpeningOf(view);
  if (!opening || view.device == nullptr) return;
  const HoldingDevice& device = Gripping(view);
  if (std::abs(*opening - view.setup->opening_mm) > kSheet_mm) {
    findings.AddToSetup(Rule::kHoldingDisagrees,
                        fmt::format("the sheet says {} mm between the jaws, they stand at {}",
                                    Millimetres(view.setup->opening_mm), Millimetres(*opening)));
  }
  if (IsVise(view) && device.opening_mm > 0 && *opening > device.opening_mm + kGeometryNoise_mm) {
    findings.AddToSetup(Rule::kOpeningExceeded,
                        fmt::format("{} mm wide, {} opens {}", Millimetres(*opening),
                                    device.name.text(), Millimetres(device.opening_mm)));
  }
  const bool too_small = *opening < device.grip_min_mm - kGeometryNoise_mm;
  const bool too_large =
      device.grip_max_mm > 0 && *opening > device.grip_max_mm + kGeometryNoise_mm;
  if (!IsVise(view) && (too_small || too_large)) {
    findings.AddToSetup(Rule::kCapacityExceeded,
                        fmt::format("{} grips {} to {} mm, not {}", device.name.text(),
                                    Millimetres(device.grip_min_mm),
                                    Millimetres(device.grip_max_mm), Millimetres(*opening)));
  }
}

struct JawGrip {
  const Fixture* jaw = nullptr;
  Touch touch;
};

void CheckOneGrip(const SetupView& view, const JawGrip& grip, const StepId& step,
                  Findings& findings) {
  const FixtureSolid& spec = *grip.jaw->spec;
  if (!grip.touch.touches()) {
    findings.Add(step, Rule::kGripMissing, fmt::format("the {} touches nothing", RoleWords(spec)));
    return;
  }
  const bool downwards = spec.grip_normal_S && std::abs(spec.grip_normal_S->z()) > 0.9;
  const double depth = grip.touch.depth_mm;
  const double area = grip.touch.area_mm2;
  const bool shallow = !downwards && depth < kLeastGripDepth_mm;
  const bool small = IsVise(view) && area < kLeastJawArea_mm2;
  if (!shallow && !small) return;
  findings.Add(step, Rule::kGripTooSmall,
               fmt::format("the {} grips {} mm deep over {:.1f} mm2; it needs {:g} mm and {:g} mm2",
                           RoleWords(spec), Millimetres(depth), area, kLeastGripDepth_mm,
                           IsVise(view) ? kLeastJawArea_mm2 : 0.0));
}

void CheckOpposed(const std::vector<JawGrip>& grips, const StepId& step, Findings& findings) {
  Vec3 sum = Vec3::Zero();
  int pressing = 0;
  for (const JawGrip& grip : grips) {
    if (!grip.jaw->spec->grip_normal_S || !grip.touch.touches()) continue;
    const Vec3 normal = grip.jaw->spec->grip_normal_S->normalized();
    if (normal.z() < -0.9) continue;  // a clamp presses against what is below
    sum += normal;
    ++pressing;
  }
  if (pressing == 0 || sum.norm() < 0.1) return;
  findings.Add(step, Rule::kGripMissing,
               "nothing presses against a jaw: the jaws do not face each other");
}

void CheckGripPrinted(const SetupView& view, const std::vector<JawGrip>& grips,
                      Findings& findings) {
  double deepest = 0;  // a step in the piece may leave one jaw less
  for (const JawGrip& grip : grips) deepest = std::max(deepest, grip.touch.depth_mm);
  const double tolerance = IsVise(view) ? kVisePrint_mm : kChuckPrint_mm;
  if (grips.empty() || std::abs(deepest - view.setup->grip_depth_mm) <= tolerance) return;
  findings.AddToSetup(Rule::kHoldingDisagrees,
                      fmt::format("the sheet says {} mm in the jaws, {} are",
                                  Millimetres(view.setup->grip_depth_mm), Millimetres(deepest)));
}

Result<std::vector<JawGrip>> CalcGrips(const SetupView& view, const Floor& floor) {
  std::vector<JawGrip> grips;
  for (const Fixture& fixture : view.fixtures) {
    if (!fixture.spec->grips) continue;
    JawGrip grip{&fixture, {}};
    for (const Standing& s : floor) {
      if (!s.present) continue;
      const auto touch = CalcTouch(s, fixture, TowardsPiece(*fixture.spec));
      if (!touch) return Unexpected(touch.error());
      if (touch->area_mm2 > grip.touch.area_mm2) grip.touch = *touch;
    }
    grips.push_back(grip);
  }
  return grips;
}

Status CheckSupport(const SetupView& view, const Floor& floor, Findings& findings) {
  bool listed = false;
  for (const Fixture& fixture : view.fixtures) {
    if (!fixture.spec->supports || IsCentre(*fixture.spec) || fixture.spec->role == FixtureRole::kSteady) continue;
    listed = true;
    const auto bears = Bears(floor, fixture);
    if (!bears) return Unexpected(bears.error());
    if (*bears) return Ok{};
  }
  if (listed) {
    findings.AddToSetup(Rule::kNotSupported, "nothing of the piece rests on what should carry it");
  } else if (!view.on_lathe() && !(view.device != nullptr && Gripping(view).jaw_reach_mm > 0)) {
    findings.AddToSetup(Rule::kNotSupported, "nothing carries the piece");
  }
  return Ok{};
}

// Points stand in centres of the piece, and the shop has one for the tailstock; between centres it takes two.
Status CheckCentres(const SetupView& view, const Floor& floor, Findings& findings) {
  int points = 0;
  for (const Fixture& fixture : view.fixtures) {
    if (!fixture.spec->supports || !IsCentre(*fixture.spec)) continue;
    const auto& devices = view.shop->holding;
    const bool owned = std::any_of(devices.begin(), devices.end(), [&](const HoldingDevice& d) {
      return d.kind == HoldingDeviceKind::kTailstockCentre && d.on == view.machine->name;
    });
    if (!owned) findings.AddToSetup(Rule::kDeviceUnknown, fmt::format("{} has no centre for its tailstock", view.machine->name.text()));
    ++points;
    bool stands = false;
    for (const Standing& s : floor) {
      if (!s.present) continue;
      const auto touch = CalcTouch(s, fixture, Vec3::Zero());
      if (!touch) return Unexpected(touch.error());
      const auto* point = std::get_if<FixtureCylinder>(&fixture.spec->shape);
      const double least = point == nullptr ? 0 : kInCentre * point->outer_mm;
      stands |= touch->touches() && touch->depth_mm >= least;
    }
    if (!stands) {
      findings.AddToSetup(Rule::kNotSupported, fmt::format("the {}'s point stands in no centre of the piece", RoleWords(*fixture.spec)));
    }
  }
  if (view.setup->holding == HoldingKind::kBetweenCentres && points < 2) {
    findings.AddToSetup(Rule::kNotSupported, fmt::format("between centres with {} of them", points));
  }
  return Ok{};
}

void CheckJawSize(const SetupView& view, const FixtureSolid& spec, Findings& findings) {
  const auto* box = std::get_if<FixtureBox>(&spec.shape);
  if (box == nullptr) return;
  const Vec3 size = box->box_F.size_mm();
  const HoldingDevice& d = *view.device;
  const bool jaw = spec.role == FixtureRole::kFixedJaw || spec.role == FixtureRole::kMovingJaw;
  if (!jaw) return;
  const Vec3 own(d.jaw_width_mm, d.jaw_thickness_mm, d.jaw_height_mm);
  if ((size - own).cwiseAbs().maxCoeff() <= kMade_mm) return;
  findings.AddToSetup(
      Rule::kFixtureDiffers,
      fmt::format("the {} is drawn {} x {} x {}, {}'s own is {} x {} x {}", RoleWords(spec),
                  Millimetres(size.x()), Millimetres(size.y()), Millimetres(size.z()),
                  d.name.text(), Millimetres(own.x()), Millimetres(own.y()), Millimetres(own.z())));
}

// Heights in a vise: jaws and parallels stand on one bed, the parallels are the shop's own and as
// printed.
void CheckViseHeights(const SetupView& view, Findings& findings) {
  std::optional<double> bed;
  for (const Fixture& f : view.fixtures) {
    if (f.spec->role == FixtureRole::kFixedJaw) bed = f.box.min_mm.z();
  }
  const std::vector<double>& own = view.device->parallels_mm;
  bool any = false;
  for (const Fixture& f : view.fixtures) {
    if (f.spec->role == FixtureRole::kMovingJaw && bed &&
        std::abs(f.box.min_mm.z() - *bed) > kMade_mm) {
      findings.AddToSetup(Rule::kFixtureDiffers, "the jaws do not stand on one bed");
    }
    if (f.spec->role != FixtureRole::kParallel) continue;
    any = true;
    const double height = f.box.size_mm().z();
    if (std::none_of(own.begin(), own.end(),
                     [&](double h) { return std::abs(h - height) <= kMade_mm; })) {
      findings.AddToSetup(Rule::kParallelsMissing,
                          fmt::format("the shop has no parallels {} mm high", Millimetres(height)));
    }
    if (bed && std::abs(f.box.min_mm.z() - *bed) > kMade_mm) {
      findings.AddToSetup(Rule::kFixtureDiffers, fmt::format("a parallel hangs {} mm above the bed",
                                                             Millimetres(f.box.min_mm.z() - *bed)));
    }
    if (std::abs(height - view.setup->parallels_mm) > kMade_mm) {
      findings.AddToSetup(Rule::kHoldingDisagrees,
                          fmt::format("the sheet says {} mm parallels, {} mm ones stand there",
                                      Millimetres(view.setup->parallels_mm), Millimetres(height)));
    }
  }
  if (!any && view.setup->parallels_mm > kMade_mm) {
    findings.AddToSetup(Rule::kHoldingDisagrees,
                        fmt::format("the sheet says {} mm parallels, none stand there",
                                    Millimetres(view.setup->parallels_mm)));
  }
}

// An angle plate is the shop's own, stands on the table and carries nothing above itself.
void CheckPlate(const SetupView& view, Findings& findings) {
  std::optional<double> table;
  for (const Fixture& f : view.fixtures) {
    if (f.spec->role == FixtureRole::kTable) table = f.box.max_mm.z();
  }
  for (const Fixture& f : view.fixtures) {
    const Vec3 size = f.box.size_mm();
    if (f.spec->role == FixtureRole::kParallel && std::abs(size.z() - view.setup->parallels_mm) > kMade_mm) {
      findings.AddToSetup(Rule::kHoldingDisagrees, fmt::format("the sheet says {} mm packing, {} mm stands there", Millimetres(view.setup->parallels_mm),
                                                               Millimetres(size.z())));
    }
    if (f.spec->role != FixtureRole::kFixedJaw) continue;
    const HoldingDevice& d = *view.device;
    const Vec3 own(d.jaw_width_mm, d.jaw_thickness_mm, d.jaw_height_mm);
    if ((size - own).cwiseAbs().maxCoeff() > kMade_mm) {
      findings.AddToSetup(Rule::kFixtureDiffers, fmt::format("{} is drawn {} x {} mm, its own face is {} x {}", d.name.text(), Millimetres(size.x()),
                                                             Millimetres(size.z()), Millimetres(own.x()), Millimetres(own.z())));
    }
    if (table && std::abs(f.box.min_mm.z() - *table) > kMade_mm) {
      findings.AddToSetup(Rule::kFixtureDiffers, fmt::format("{} does not stand on the table", d.name.text()));
    }
  }
}

void CheckDeviceSolids(const SetupView& view, Findings& findings) {
  if (view.device == nullptr) return;
  for (const Fixture& f : view.fixtures) {
    if (IsVise(view)) CheckJawSize(view, *f.spec, findings);
    const bool inside = f.spec->role == FixtureRole::kMandrel;  // an expanding mandrel's sleeve
    const bool jaw = (f.spec->role == FixtureRole::kChuckJaw || inside) && f.spec->grips;
    const double reach = Gripping(view).jaw_reach_mm;
    if (!IsVise(view) && jaw && reach > 0 && f.box.size_mm().z() > reach + kMade_mm) {
      findings.AddToSetup(Rule::kFixtureDiffers,
                          fmt::format("jaws drawn {} mm long, {}'s own stand out {}",
                                      Millimetres(f.box.size_mm().z()), Gripping(view).name.text(),
                                      Millimetres(reach)));
    }
  }
  if (IsVise(view)) CheckViseHeights(view, findings);
  if (IsAnglePlate(view)) CheckPlate(view, findings);
}

void JudgeGrip(const SetupView& view, const std::vector<JawGrip>& grips, const StepId& step,
               Findings& findings) {
  if (grips.empty()) findings.Add(step, Rule::kGripMissing, "nothing grips the piece");
  for (const JawGrip& grip : grips) CheckOneGrip(view, grip, step, findings);
  CheckOpposed(grips, step, findings);
}

}  // namespace

Result<bool> Bears(const Floor& floor, const Fixture& fixture) {
  for (const Standing& s : floor) {
    if (!s.present) continue;
    const auto touch = CalcTouch(s, fixture, Vec3::UnitZ());
    if (!touch) return Unexpected(touch.error());
    if (touch->touches()) return true;
  }
  return false;
}

Result<double> CalcTouchAllRound_mm2(const Floor& floor, const Fixture& fixture) {
  double most = 0;
  for (const Standing& s : floor) {
    if (!s.present) continue;
    const auto touch = CalcTouch(s, fixture, Vec3::Zero());
    if (!touch) return Unexpected(touch.error());
    most = std::max(most, touch->area_mm2);
  }
  return most;
}

Status CheckGrip(const SetupView& view, const Floor& floor, const StepId& step,
                 Findings& findings) {
  if (view.on_bench()) return Ok{};
  const auto grips = CalcGrips(view, floor);
  if (!grips) return Unexpected(grips.error());
  JudgeGrip(view, *grips, step, findings);
  return Ok{};
}

Status CheckClearOfHolding(const SetupView& view, const Standing& piece, const StepId& step,
                           Findings& findings) {
  for (const Fixture& fixture : view.fixtures) {
    const FixtureSolid& spec = *fixture.spec;
    const bool touches = spec.grips || spec.supports;
    const FixtureSolid away = touches ? Pressed(spec, TowardsPiece(spec), -kTouch_mm) : spec;
    if (!Overlap(piece.box_S, BoxOf(away), kTouch_mm)) continue;
    const auto shared = CalcShared(piece, away);
    if (!shared) return Unexpected(shared.error());
    if (shared->volume_mm3 <= kLeastOverlap_mm3) continue;
    findings.Add(piece.part, step, Rule::kFixtureOverlapsPart,
                 fmt::format("the {} stands {:.1f} mm3 inside {}", RoleWords(spec),
                             shared->volume_mm3, piece.part.text()));
  }
  return Ok{};
}

Status CheckHolding(const SetupView& view, const Floor& floor, Findings& findings) {
  if (view.on_bench()) return Ok{};
  const StepId at(view.setup->id.text());
  CheckDeviceSolids(view, findings);
  CheckOpening(view, findings);
  for (const Standing& s : floor) {
    if (!s.present) continue;
    Status clear = CheckClearOfHolding(view, s, at, findings);
    if (!clear) return clear;
  }
  const auto grips = CalcGrips(view, floor);
  if (!grips) return Unexpected(grips.error());
  JudgeGrip(view, *grips, at, findings);
  CheckGripPrinted(view, *grips, findings);
  if (const Status centre = CheckCentres(view, floor, findings); !centre) return centre;
  if (const Status steady = CheckSteady(view, floor, findings); !steady) return steady;
  if (view.setup->holding == HoldingKind::kFaceplate) {
    if (const Status plate = CheckFaceplate(view, floor, findings); !plate) return plate;
  }
  if (IsVeeBlock(view)) {
    Status vee = CheckVeeBlocks(view, floor, findings);
    if (!vee) return vee;
  }
  return CheckSupport(view, floor, findings);
}

}  // namespace fitwright::replay
