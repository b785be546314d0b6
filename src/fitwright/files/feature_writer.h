// [[feature]] tables as text. Internal to files/.
#pragma once

#include <optional>

#include "fitwright/files/sheet_text.h"
#include "fitwright/model/part.h"

namespace fitwright::files {

// Whether the limits are those that the general tolerance gives a size.
bool IsGeneral(const Part& part, const Size& size);
// The block's bounds as the sheet says them: where its faces are drawn, not at the middle of their
// limits.
Box3 DrawnBlock(const Part& part);
// A face of the block itself, on one of its six sides.
bool IsBlockFace(const Part& part, const PlanarFace& face);
// Exists without being written: a block's face, or an end of turned work, with nothing said of it.
bool ExistsByItself(const Part& part, const Feature& feature);

// One feature of the part, with its table's header.
void WriteFeature(const Part& part, const Feature& feature, SheetText& text);
// Holes, bores and counterbores.
void WriteHole(const Part& part, const Feature& feature, const Hole& hole, SheetText& text);

// What several kinds share.
// The two coordinates on the plane across `out`, in x y z order.
std::vector<double> OnPlane(const Vec3& point, const Vec3& out);
// The coordinate of the entry plane, where it is not the first material met from `out`.
std::optional<double> EntryToState(const Part& part, const Vec3& out,
                                   const std::vector<Vec3>& points, double radius_mm);
// at: two coordinates, or all three where the entry plane must be said.
void WriteAt(const Part& part, const Vec3& out, const Vec3& place, double radius_mm,
             SheetText& text);
// The size under its own key, and its limits.
void WriteSize(const Part& part, std::string_view key, const Size& size, SheetText& text);

}  // namespace fitwright::files
