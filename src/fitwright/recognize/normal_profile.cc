#include "fitwright/recognize/normal_profile.h"

#include <algorithm>
#include <cmath>
#include <optional>

namespace fitwright::recognize {
namespace {

constexpr double kSame_mm = 1e-4;

bool ReachesOver(const ProfilePiece& piece, double at_mm) { return piece.from_mm < at_mm && at_mm < piece.to_mm; }

double Slope(const ProfilePiece& piece) {
  return (piece.end_radius_mm - piece.start_radius_mm) / (piece.to_mm - piece.from_mm);
}

std::vector<double> Breaks(const std::vector<ProfilePiece>& pieces) {
  std::vector<double> at;
  for (const ProfilePiece& p : pieces) {
    at.push_back(p.from_mm);
    at.push_back(p.to_mm);
    for (const ProfilePiece& q : pieces) {
      const double turn = Slope(p) - Slope(q);
      if (std::abs(turn) < 1e-9) continue;
      const double cross = (q.RadiusAt(0) - p.RadiusAt(0)) / turn;
      if (ReachesOver(p, cross) && ReachesOver(q, cross)) at.push_back(cross);
    }
  }
  std::sort(at.begin(), at.end());
  const auto same = [](double a, double b) { return b - a < kSame_mm; };
  at.erase(std::unique(at.begin(), at.end(), same), at.end());
  return at;
}

// One straight line through the end of one and the start of the next.
bool GoesOn(const ProfilePiece& a, const ProfilePiece& b) {
  return std::abs(a.to_mm - b.from_mm) < kSame_mm && std::abs(a.end_radius_mm - b.start_radius_mm) < kSame_mm &&
         std::abs(Slope(a) - Slope(b)) < 1e-4;
}

std::vector<ProfilePiece> Joined(const std::vector<ProfilePiece>& pieces) {
  std::vector<ProfilePiece> joined;
  for (const ProfilePiece& piece : pieces) {
    if (joined.empty() || !GoesOn(joined.back(), piece)) {
      joined.push_back(piece);
      continue;
    }
    joined.back().to_mm = piece.to_mm;
    joined.back().end_radius_mm = piece.end_radius_mm;
    joined.back().open_to = piece.open_to;
  }
  return joined;
}

template <typename Pick>
std::vector<ProfilePiece> Cover(const std::vector<double>& breaks, Pick pick) {
  std::vector<ProfilePiece> pieces;
  for (std::size_t i = 0; i + 1 < breaks.size(); ++i) {
    const std::optional<ProfilePiece> from = pick(0.5 * (breaks[i] + breaks[i + 1]));
    if (!from) continue;
    ProfilePiece piece;
    piece.from_mm = breaks[i];
    piece.to_mm = breaks[i + 1];
    piece.start_radius_mm = from->RadiusAt(breaks[i]);
    piece.end_radius_mm = from->RadiusAt(breaks[i + 1]);
    piece.open_from = from->open_from && std::abs(from->from_mm - breaks[i]) < kSame_mm;
    piece.open_to = from->open_to && std::abs(from->to_mm - breaks[i + 1]) < kSame_mm;
    pieces.push_back(piece);
  }
  return Joined(pieces);
}

}  // namespace

double ProfilePiece::RadiusAt(double at_mm) const { return start_radius_mm + Slope(*this) * (at_mm - from_mm); }

std::vector<ProfilePiece> Widest(const std::vector<ProfilePiece>& pieces) {
  return Cover(Breaks(pieces), [&](double at_mm) {
    std::optional<ProfilePiece> widest;
    for (const ProfilePiece& piece : pieces) {
      if (!ReachesOver(piece, at_mm)) continue;
      if (!widest || piece.RadiusAt(at_mm) > widest->RadiusAt(at_mm)) widest = piece;
    }
    return widest;
  });
}

std::vector<ProfilePiece> CutDown(const std::vector<ProfilePiece>& profile, const std::vector<ProfilePiece>& cutters) {
  std::vector<ProfilePiece> all = profile;
  all.insert(all.end(), cutters.begin(), cutters.end());
  return Cover(Breaks(all), [&](double at_mm) {
    std::optional<ProfilePiece> left;
    for (const ProfilePiece& piece : profile) {
      if (ReachesOver(piece, at_mm)) left = piece;
    }
    for (const ProfilePiece& cutter : cutters) {
      if (left && ReachesOver(cutter, at_mm) && cutter.RadiusAt(at_mm) < left->RadiusAt(at_mm)) left = cutter;
    }
    return left;
  });
}

}  // namespace fitwright::recognize
