#include "fitwright/replay/design_check.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/base/check.h"
#include "fitwright/solid/build.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/measure.h"
#include "fitwright/solid/solid_bytes.h"
#include "fitwright/trade/threads.h"

namespace fitwright::replay {
namespace {

constexpr double kPlace_mm = 0.02;  // a thread's mouth may lie on a counterbore's floor: along the
                                    // axis anything is allowed, across it this
constexpr double kThreadDepth_mm = 0.02;
constexpr double kHoned_mm = 0.02;

double Rounded(double value) { return std::round(value * 1e6) / 1e6; }

double AcrossAxis(const Vec3& p, const Vec3& on_axis, const Vec3& direction) {
  const Vec3 off = p - on_axis;
  return (off - off.dot(direction) * direction).norm();
}

Result<Volumes> Measure(const solid::Solid& made, const solid::Solid& design) {
  Volumes volumes;
  volumes.design_mm3 = solid::CalcVolume_mm3(design);
  volumes.difference_mm3 = volumes.design_mm3;
  if (made.empty()) return volumes;
  volumes.made_mm3 = solid::CalcVolume_mm3(made);
  const auto difference = solid::CalcSymmetricDifference_mm3(made, design);
  if (!difference) return Unexpected(difference.error());
  volumes.difference_mm3 = *difference;
  return volumes;
}

Result<Key> KeyOf(const solid::DesignCut& cut, const Key& made) {
  KeyMaker key;
  key.Add("volumes").Add(made);
  std::vector<solid::Solid> solids = cut.removed;
  solids.push_back(cut.envelope);
  for (const solid::Solid& solid : solids) {
    const auto bytes = solid::ToBytes(solid);
    if (!bytes) return Unexpected(bytes.error());
    key.Add(std::string_view(*bytes));
  }
  return key.Get();
}

Result<Volumes> MeasureAgainstDesign(const Part& part, const Piece& piece, const Memo* memo) {
  if (memo == nullptr) {
    const auto design = solid::MakeDesign(part);
    return design ? Measure(piece.solid_P, *design) : Unexpected(design.error());
  }
  if (const auto design = memo->FindDesign(part.name)) return Measure(piece.solid_P, *design);
  const auto cut = solid::MakeDesignCut(part);
  if (!cut) return Unexpected(cut.error());
  const auto key = KeyOf(*cut, piece.key);
  if (!key) return Unexpected(key.error());
  if (const auto known = memo->LoadVolumes(*key)) return *known;
  const auto design = solid::MakeDesign(part, *cut);
  if (!design) return Unexpected(design.error());
  memo->KeepDesign(part.name, *design);
  const auto volumes = Measure(piece.solid_P, *design);
  if (volumes) memo->SaveVolumes(*key, *volumes);
  return volumes;
}

double AngleOf(const std::string& designation) {
  const trade::ThreadRow* row = trade::FindThread(designation);
  FW_CHECK(row != nullptr, designation);
  return trade::IncludedAngle_deg(*row);
}

bool IsTapped(const Piece& piece, const Hole& hole, const Vec3& entry_P) {
  return std::any_of(piece.threads.begin(), piece.threads.end(), [&](const Thread& t) {
    const bool turned = t.designation == PointThreadName(true, 0, hole.thread->pitch_mm, AngleOf(hole.thread->designation));
    if ((t.designation != hole.thread->designation && !turned) || t.into_P.dot(hole.into_P) < 1 - 1e-6)
      return false;
    if (AcrossAxis(t.entry_P_mm, entry_P, hole.into_P) > kPlace_mm) return false;
    const double from = (t.entry_P_mm - entry_P).dot(hole.into_P);
    return from + t.depth_mm >= hole.thread->depth_mm - kThreadDepth_mm;
  });
}

// What was threaded or knurled there covers the length, from whichever end it was cut.
bool IsRolled(const Piece& piece, const std::vector<std::string>& names, const Vec3& a_P, const Vec3& b_P) {
  const Vec3 along = (b_P - a_P).normalized();
  return std::any_of(piece.threads.begin(), piece.threads.end(), [&](const Thread& t) {
    if (std::find(names.begin(), names.end(), t.designation) == names.end()) return false;
    if (AcrossAxis(t.entry_P_mm, a_P, along) > kPlace_mm || std::abs(t.into_P.dot(along)) < 1 - 1e-6) return false;
    const auto [low, high] = std::minmax({along.dot(t.entry_P_mm), along.dot(t.entry_P_mm + t.depth_mm * t.into_P)});
    return low <= along.dot(a_P) + kThreadDepth_mm && high >= along.dot(b_P) - kThreadDepth_mm;
  });
}

void CheckOutside(const Part& part, const Feature& f, const Piece& piece, const PartId& name, ReplayPart& report) {
  const auto outer_of = [&](const FeatureId& id) {
    const Feature* on = part.Find(id);
    return on == nullptr ? nullptr : std::get_if<OuterDiameter>(&on->shape);
  };
  const auto at = [](const OuterDiameter& o, double along) { return Vec3(o.axis_P.point_mm + along * o.axis_P.direction); };
  if (const auto* thread = std::get_if<ExternalThread>(&f.shape)) {
    const OuterDiameter* o = outer_of(thread->on);
    const double end = o == nullptr ? 0 : thread->at_start ? o->from_mm : o->to_mm;
    const double inward = o != nullptr && (o->to_mm > o->from_mm) == thread->at_start ? 1 : -1;
    // By single point it goes by the blank that it is cut on, which may stand a little under the thread's size.
    const double blank_mm = o == nullptr ? thread->major_mm : std::round(100 * o->diameter.middle_mm()) / 100;
    const double angle_deg = AngleOf(thread->designation);
    const std::vector<std::string> names = {"outside " + thread->designation,
                                            PointThreadName(false, thread->major_mm, thread->pitch_mm, angle_deg),
                                            PointThreadName(false, blank_mm, thread->pitch_mm, angle_deg)};
    if (o != nullptr && IsRolled(piece, names, at(*o, end), at(*o, end + inward * thread->length_mm))) return;
    report.violations.push_back({StepId(), std::string(WordOf(Rule::kNotThreaded)),
                                 fmt::format("{}.{} is not threaded {} over {:g} mm", name.text(), f.name.text(),
                                             thread->designation, thread->length_mm)});
  } else if (const auto* knurl = std::get_if<Knurl>(&f.shape)) {
    const OuterDiameter* o = outer_of(knurl->on);
    if (o != nullptr && IsRolled(piece, {fmt::format("knurl {:g}", knurl->pitch_mm)}, at(*o, knurl->from_mm), at(*o, knurl->to_mm))) return;
    report.violations.push_back({StepId(), std::string(WordOf(Rule::kNotKnurled)),
                                 fmt::format("{}.{} is not knurled", name.text(), f.name.text())});
  }
}

bool IsHoned(const Piece& piece, const Hole& hole, const Vec3& entry_P) {
  return std::any_of(piece.honed.begin(), piece.honed.end(), [&](const Honed& h) {
    return std::abs(h.into_P.dot(hole.into_P)) > 1 - 1e-6 &&
           AcrossAxis(h.point_P_mm, entry_P, hole.into_P) <= kPlace_mm &&
           std::abs(h.diameter_mm - hole.diameter.middle_mm()) <= kHoned_mm;
  });
}

// Threads leave no trace in the solids, and a honed bore is the same solid as a bored one: they are
// compared by place and size.
void CheckHandWork(const Part& part, const Piece& piece, const PartId& name, ReplayPart& report) {
  for (const Feature& f : part.features) {
    if (f.finish == Finish::kAsSupplied) continue;  // made before the plan begins
    CheckOutside(part, f, piece, name, report);
    const auto* hole = std::get_if<Hole>(&f.shape);
    if (hole == nullptr) continue;
    for (std::size_t i = 0; i < hole->entries_P_mm.size(); ++i) {
      const Vec3& entry = hole->entries_P_mm[i];
      if (hole->thread && !IsTapped(piece, *hole, entry)) {
        report.violations.push_back(
            {StepId(), std::string(WordOf(Rule::kNotTapped)),
             fmt::format("{}.{} hole {} is not tapped {} to {:g} mm", name.text(), f.name.text(),
                         i + 1, hole->thread->designation, hole->thread->depth_mm)});
      }
      if (f.finish == Finish::kHoned && !IsHoned(piece, *hole, entry)) {
        report.violations.push_back(
            {StepId(), std::string(WordOf(Rule::kNotHoned)),
             fmt::format("{}.{} is not honed", name.text(), f.name.text())});
      }
    }
  }
}

}  // namespace

Result<ReplayPart> JudgePart(const Part& part, const PartId& name, const Piece& piece,
                             const Memo* memo) {
  ReplayPart report;
  report.name = name;
  report.steps = piece.steps;
  const auto volumes = MeasureAgainstDesign(part, piece, memo);
  if (!volumes) return Unexpected(volumes.error());
  report.design_volume_mm3 = Rounded(volumes->design_mm3);
  report.made_volume_mm3 = Rounded(volumes->made_mm3);
  report.difference_mm3 = Rounded(volumes->difference_mm3);
  if (volumes->difference_mm3 >= std::min(kMade_mm3, kMadeRelative * volumes->design_mm3)) {
    report.violations.push_back(
        {StepId(), std::string(WordOf(Rule::kNotMade)),
         fmt::format("what was made of {} differs from the design by {:.4f} mm3 (made {:.3f}, "
                     "design {:.3f})",
                     name.text(), volumes->difference_mm3, report.made_volume_mm3, report.design_volume_mm3)});
  }
  CheckHandWork(part, piece, name, report);
  return report;
}

}  // namespace fitwright::replay
