// Private to the normal form: profiles about one axis, of straight pieces.
#pragma once

#include <vector>

namespace fitwright::recognize {

// Radius over place along an axis, straight from one end to the other.
struct ProfilePiece {
  double from_mm = 0;
  double to_mm = 0;
  double start_radius_mm = 0;
  double end_radius_mm = 0;
  bool open_from = false;  // the end lies in air, no matter where
  bool open_to = false;
  double RadiusAt(double at_mm) const;
};

// The greatest radius at every place; pieces that go on in one line are one. Gaps stay gaps.
std::vector<ProfilePiece> Widest(const std::vector<ProfilePiece>& pieces);
// `profile` cut down to the cutters' radius where they stand.
std::vector<ProfilePiece> CutDown(const std::vector<ProfilePiece>& profile, const std::vector<ProfilePiece>& cutters);

}  // namespace fitwright::recognize
