// Which piece stands in the way of which when it is moved straight. Private to this layer.
#pragma once

#include <algorithm>
#include <vector>

#include "fitwright/review/metal.h"

namespace fitwright::review {

using Indices = std::vector<std::size_t>;  // into the pieces, ascending
inline bool Has(const Indices& list, std::size_t piece) { return std::find(list.begin(), list.end(), piece) != list.end(); }

// Parts that touch may be drawn this far inside each other.
inline constexpr double kTouch_mm = 0.1;
inline constexpr double kSameDirection = 1e-6;

bool Joins(const Joint& joint, const PartId& a, const PartId& b);
// `ring` is a piston ring or a circlip and springs into a groove of `holder`.
bool Springs(const Machine& machine, const Piece& ring, const Piece& holder);

class Blocking {
 public:
  Blocking(const Machine& machine, const std::vector<Piece>& pieces);

  // World frame, unit. ways()[2 k] is a direction and ways()[2 k + 1] its opposite: the machine's axes and
  // the axes and face normals of its joints.
  const std::vector<Vec3>& ways() const { return ways_; }
  // What `piece` would run into, of all that there is.
  const Indices& Ahead(std::size_t way, std::size_t piece) const { return ahead_[way][piece]; }
  // What `start` takes along when it moves, of those that are `left`. whole: and what was bonded, pressed
  // or sprung together beforehand.
  Indices Closure(const Indices& start, std::size_t way, const std::vector<bool>& left,
                  bool whole) const;

 private:
  struct Span {
    std::size_t piece = 0;
    Vec2 low = Vec2::Zero();
    Vec2 high = Vec2::Zero();
  };

  void Look(std::size_t way);
  std::vector<Span> SpansAcross(const Vec3& u, const Vec3& v) const;
  void LookAlong(const Vec3& way, const Vec3& p_W, double b, const std::vector<Span>& near,
                 std::vector<int>& lines) const;
  void KeepToTheLead(const Machine& machine);
  void KeepToTheNearEnd(const Machine& machine);
  std::size_t IndexOf(const PartId& id) const;  // as many as there are: none

  const std::vector<Piece>& pieces_;
  std::vector<Vec3> ways_;
  std::size_t count_;
  std::vector<std::vector<Indices>> ahead_;  // way, piece: what it would run into
  std::vector<Indices> together_;
};

}  // namespace fitwright::review
