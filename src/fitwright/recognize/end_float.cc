// End float: how far a shaft with what it carries moves along itself between what stands still.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/recognize/joint_proposals.h"

namespace fitwright::recognize {
namespace {

// A body on the shaft's line, between the outermost of its faces across it.
struct Piece {
  std::size_t body = 0;
  const Face* low = nullptr;  // looks against the axis
  const Face* high = nullptr;
  double from_mm = 0;
  double to_mm = 0;
  bool stands = false;  // held by another body than the shaft
};

// A bearing whose outside is in a bore.
bool Stands(const Findings& found, std::size_t body) {
  const BoughtPart* bought = found.standing.bodies[body].bought;
  return bought != nullptr && bought->kind == BoughtKind::kBearing &&
         std::any_of(found.rounds.begin(), found.rounds.end(),
                     [&](const RoundPair& pair) { return pair.shaft->body == body; });
}

std::optional<Piece> PieceOf(const Findings& found, std::size_t body, const Axis3& axis) {
  Piece piece;
  piece.body = body;
  for (const Face& face : found.standing.faces) {
    const double along = face.normal_W.dot(axis.direction);
    if (face.body != body || std::abs(along) < 1 - kSameWay) continue;
    const double at_mm = along * face.at_mm - axis.direction.dot(axis.point_mm);
    if (along > 0 && (piece.high == nullptr || at_mm > piece.to_mm)) {
      piece.high = &face;
      piece.to_mm = at_mm;
    } else if (along < 0 && (piece.low == nullptr || at_mm < piece.from_mm)) {
      piece.low = &face;
      piece.from_mm = at_mm;
    }
  }
  if (piece.low == nullptr || piece.high == nullptr) return std::nullopt;
  piece.stands = Stands(found, body);
  return piece;
}

// What the shaft carries, along it.
std::vector<Piece> PiecesOn(const Findings& found, const Shaft& shaft) {
  std::vector<Piece> pieces;
  for (const RoundPair& pair : found.rounds) {
    if (pair.shaft->body != shaft.body || !OnOneLine(pair.shaft->axis_W, shaft.axis_W)) continue;
    if (const auto piece = PieceOf(found, pair.bore->body, shaft.axis_W)) pieces.push_back(*piece);
  }
  std::stable_sort(pieces.begin(), pieces.end(),
                   [](const Piece& a, const Piece& b) { return a.from_mm < b.from_mm; });
  return pieces;
}

}  // namespace

void ProposeEndFloat(const Findings& found, std::vector<RequirementProposal>& proposals) {
  constexpr double kMostFloat_mm = 1;
  std::set<std::size_t> done;
  for (const RoundPair& one : found.rounds) {
    if (!done.insert(one.shaft->body).second) continue;
    const auto pieces = PiecesOn(found, *one.shaft);
    RequirementProposal proposal;
    double float_mm = 0;
    bool kept_low = false;
    bool kept_high = false;
    for (std::size_t i = 0; i + 1 < pieces.size(); ++i) {
      const Piece& a = pieces[i];
      const Piece& b = pieces[i + 1];
      const double gap_mm = b.from_mm - a.to_mm;
      if ((a.stands && b.stands) || gap_mm < -kMeant_mm || gap_mm > kMostFloat_mm) continue;
      proposal.requirement.gaps.emplace_back(a.high->ref, b.low->ref);
      float_mm += gap_mm;
      kept_high |= b.stands;
      kept_low |= a.stands;
    }
    if (!kept_low || !kept_high || float_mm < 2 * kMeant_mm || float_mm > kMostFloat_mm)
      continue;
    proposal.requirement.kind = RequirementKind::kEndFloat;
    proposal.requirement.a.part = one.shaft->ref.part;
    proposal.requirement.lower = float_mm * 2 / 3;
    proposal.requirement.upper = float_mm * 4 / 3;
    proposal.stem = "end_float";
    proposal.why = fmt::format(
        "{} of float is drawn between what it carries and the bearings: a third of it either way",
        MmWords(float_mm));
    proposals.push_back(std::move(proposal));
  }
}

}  // namespace fitwright::recognize
