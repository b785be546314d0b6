// Views of solids laid on the paper; private to this layer.
#pragma once

#include <string>
#include <vector>

#include "fitwright/sheets/solid/picture.h"
#include "fitwright/sheets/svg.h"
#include "fitwright/solid/views.h"

namespace fitwright::sheets {

// A window on the paper that shows one view. Paper mm, y down.
class ViewFrame {
 public:
  // The greatest scale at which the shown box (view coordinates, mm) fits in the window with a rim.
  ViewFrame(const solid::ViewDirection& view, const Vec2& corner, const Vec2& size,
            const Vec2& least, const Vec2& most);
  Vec2 ToPaper(const Vec2& view_mm) const;
  Vec2 ToPaper(const Vec3& point_S_mm) const;
  // Direction on the paper, unit; zero when it runs along the line of sight.
  Vec2 Direction(const Vec3& direction_S) const;
  const solid::ViewDirection& view() const { return view_; }
  const Vec2& corner() const { return corner_; }
  const Vec2& size() const { return size_; }
  double scale() const { return scale_; }
  std::string ScaleText() const;  // "2:1"

 private:
  solid::ViewDirection view_;
  Vec2 corner_;
  Vec2 size_;
  Vec2 middle_;
  double scale_ = 1;
};

// The solids of a setup in S.
struct StandingSolids {
  std::vector<solid::Solid> before;
  std::vector<solid::Solid> after;
  std::vector<solid::Solid> removed;  // what the setup's cuts take away; may overlap
  std::vector<solid::Solid> holding;  // jaws, parallels, chuck; not table and spindle
};
// Without what is removed, `removed` stays empty, which saves most of the time.
Result<StandingSolids> MakeStandingSolids(const SetupPicture& picture, bool with_removed);

// Box of the pieces before the cut, in the view's coordinates, with the zero when it is near.
struct ShownBox {
  Vec2 least;
  Vec2 most;
};
ShownBox CalcShownBox(const StandingSolids& solids, const solid::ViewDirection& view);

struct ViewContents {
  bool hidden = false;    // hidden edges of the piece
  bool holding = true;
  bool hatch = true;      // what is removed, by its shadow
  bool section = false;   // lathe: hatch what is removed in the plane through the spindle axis
};
Status DrawView(const StandingSolids& solids, const ViewFrame& frame, const ViewContents& contents,
                Svg& svg);

}  // namespace fitwright::sheets
