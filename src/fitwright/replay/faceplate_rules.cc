// Work clamped to the faceplate: straps on both sides of the spindle, each over what carries the piece, their
// bolts on the plate, all of it inside the lathe's swing; packing that the shop has, of the height on the sheet.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "fitwright/replay/seating.h"

namespace fitwright::replay {
namespace {


double FarRadius(const Box3& box) { return box.min_mm.cwiseAbs().cwiseMax(box.max_mm.cwiseAbs()).head<2>().norm(); }

void CheckPlateSize(const SetupView& view, const Fixture& plate, Findings& findings) {
  const Vec3 size = plate.box.size_mm();
  if (std::abs(size.x() - view.device->body_diameter_mm) <= kMade_mm && std::abs(size.z() - view.device->body_length_mm) <= kMade_mm) return;
  findings.AddToSetup(Rule::kFixtureDiffers, fmt::format("the faceplate is drawn {} by {}, {} is {} by {}", Millimetres(size.x()), Millimetres(size.z()),
                                                         view.device->name.text(), Millimetres(view.device->body_diameter_mm),
                                                         Millimetres(view.device->body_length_mm)));
}

void CheckStrap(const SetupView& view, const Fixture& strap, double plate_top, Findings& findings) {
  const double r = FarRadius(strap.box);
  if (r > view.device->body_diameter_mm / 2 + kMade_mm) {
    findings.AddToSetup(Rule::kCapacityExceeded, fmt::format("a strap reaches {} mm from the spindle, its bolt stands beyond {}", Millimetres(r),
                                                             view.device->name.text()));
  }
  if (view.machine->swing_mm > 0 && 2 * r > view.machine->swing_mm + kMade_mm) {
    findings.AddToSetup(Rule::kSwingExceeded, fmt::format("a strap does not turn within {} mm", Millimetres(view.machine->swing_mm)));
  }
  const double height = strap.box.min_mm.z() - plate_top;
  if (std::abs(height - view.setup->opening_mm) > kSheet_mm) {
    findings.AddToSetup(Rule::kHoldingDisagrees, fmt::format("the sheet says straps {} mm above the plate, they stand {}",
                                                             Millimetres(view.setup->opening_mm), Millimetres(height)));
  }
  const Box3 below{Vec3(strap.box.min_mm.x(), strap.box.min_mm.y(), plate_top), strap.box.max_mm};
  const bool carried = std::any_of(view.fixtures.begin(), view.fixtures.end(), [&](const Fixture& s) {
    return s.spec->supports && Overlap(below, Grown(s.box, kTouch_mm));
  });
  if (!carried) findings.AddToSetup(Rule::kNotSupported, "a strap presses where nothing is under the piece");
}

// Wherever one looks from the spindle, a strap stands on that side: pulled from one side only the piece walks.
bool StandAllRound(const std::vector<Vec2>& places) {
  return std::all_of(places.begin(), places.end(), [&](const Vec2& p) {
    return std::any_of(places.begin(), places.end(), [&](const Vec2& q) { return p.dot(q) < 0; });
  });
}

void CheckPacking(const SetupView& view, double plate_top, Findings& findings) {
  double height = 0;
  for (const Fixture& f : view.fixtures) {
    if (f.spec->role != FixtureRole::kParallel) continue;
    height = f.box.size_mm().z();
    const bool stands = std::abs(f.box.min_mm.z() - plate_top) <= kMade_mm;
    if (!stands) findings.AddToSetup(Rule::kNotSupported, "packing that does not stand on the faceplate");
    const auto& own = view.device->parallels_mm;
    if (std::none_of(own.begin(), own.end(), [&](double h) { return std::abs(h - height) <= kMade_mm; })) {
      findings.AddToSetup(Rule::kParallelsMissing, fmt::format("no packing of {} mm for {}", Millimetres(height), view.device->name.text()));
    }
  }
  if (std::abs(height - view.setup->parallels_mm) > kSheet_mm) {
    findings.AddToSetup(Rule::kHoldingDisagrees, fmt::format("the sheet says packing {} mm high, it stands {}", Millimetres(view.setup->parallels_mm),
                                                             Millimetres(height)));
  }
}

}  // namespace

Status CheckFaceplate(const SetupView& view, const Floor& floor, Findings& findings) {
  const auto plate = std::find_if(view.fixtures.begin(), view.fixtures.end(), [](const Fixture& f) { return f.spec->role == FixtureRole::kFaceplate; });
  if (plate == view.fixtures.end()) {
    findings.AddToSetup(Rule::kNotSupported, "no faceplate behind the piece");
    return Ok{};
  }
  const double top = plate->box.max_mm.z();
  CheckPlateSize(view, *plate, findings);
  CheckPacking(view, top, findings);
  std::vector<Vec2> places;
  for (const Fixture& f : view.fixtures) {
    if (f.spec->role != FixtureRole::kClamp) continue;
    CheckStrap(view, f, top, findings);
    places.emplace_back(f.box.centre_mm().head<2>());
  }
  if (places.size() < 2 || !StandAllRound(places)) findings.AddToSetup(Rule::kGripMissing, "straps on one side of the spindle only");
  for (const Fixture& f : view.fixtures) {
    if (!f.spec->supports) continue;
    const auto bears = Bears(floor, f);
    if (!bears) return Unexpected(bears.error());
    if (!*bears) findings.AddToSetup(Rule::kNotSupported, "the piece does not lie on all that is to carry it");
  }
  return Ok{};
}

}  // namespace fitwright::replay
