// What a machine of these joints usually has to keep: proposed with limits of the general tables,
// never more than a place to begin.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/recognize/joint_proposals.h"
#include "fitwright/trade/general_tolerance.h"

namespace fitwright::recognize {
namespace {

// ISO 2768-2, class H, the finest: what a careful machine part keeps without a word.
constexpr std::string_view kForm = "H";
constexpr double kFlush_mm = 0.1;  // a step that a finger feels (opinion)

double FormOver(trade::GeneralForm form, double length_mm) {
  const auto zone_mm = trade::GeneralForm_mm(form, std::max(length_mm, 1.0), kForm);
  return zone_mm ? *zone_mm : 0.5;
}

// A round feature that holds something or is held: what its place matters for.
struct Seat {
  std::size_t body = 0;
  FeatureRef ref;
  Axis3 axis_W;  // from its begin along its length
  double length_mm = 0;
};

void AddSeat(std::vector<Seat>& seats, const Seat& seat) {
  const bool known =
      std::any_of(seats.begin(), seats.end(), [&](const Seat& s) { return s.ref == seat.ref; });
  if (!known) seats.push_back(seat);
}

std::vector<Seat> SeatsOf(const Findings& found) {
  std::vector<Seat> seats;
  for (const RoundPair& pair : found.rounds) {
    if (found.in_grooves.contains(pair.shaft->body)) continue;
    AddSeat(seats, {pair.bore->body, pair.bore->ref, pair.bore->axis_W, pair.bore->depth_mm});
    const Axis3& axis = pair.shaft->axis_W;
    AddSeat(seats, {pair.shaft->body,
                    pair.shaft->ref,
                    {axis.point_mm + pair.shaft->from_mm * axis.direction, axis.direction},
                    pair.shaft->to_mm - pair.shaft->from_mm});
  }
  return seats;
}

RequirementProposal Make(RequirementKind kind, const FeatureRef& a, const FeatureRef& b,
                         std::string why) {
  RequirementProposal proposal;
  proposal.requirement.kind = kind;
  proposal.requirement.a = a;
  proposal.requirement.b = b;
  proposal.stem = fmt::format("{}_{}", a.feature.text(), WordOf(kind));
  proposal.why = std::move(why);
  return proposal;
}

// Distance of two lines, and whether their lengths pass each other there.
std::optional<double> Crossing(const Seat& a, const Seat& b) {
  const Vec3 across = a.axis_W.direction.cross(b.axis_W.direction);
  if (across.norm() < kSameWay) return std::nullopt;
  const Vec3 apart = b.axis_W.point_mm - a.axis_W.point_mm;
  return std::abs(apart.dot(across.normalized()));
}

std::string FormWords(double zone_mm, double over_mm) {
  return fmt::format("{} over {}, ISO 2768-2 class {}", MmWords(zone_mm), MmWords(over_mm), kForm);
}

void ProposeAxesOfOnePart(const Seat& a, const Seat& b,
                          std::vector<RequirementProposal>& proposals) {
  const double length_mm = std::min(a.length_mm, b.length_mm);
  if (const auto apart_mm = Crossing(a, b)) {
    if (std::abs(a.axis_W.direction.dot(b.axis_W.direction)) > kSameWay) return;
    const double zone_mm = FormOver(trade::GeneralForm::kPerpendicularity, length_mm);
    auto square = Make(
        RequirementKind::kSquare, a.ref, b.ref,
        fmt::format("both hold something and are drawn square; {}", FormWords(zone_mm, length_mm)));
    square.requirement.upper = zone_mm / length_mm;
    proposals.push_back(square);
    if (*apart_mm > kMeant_mm) return;
    auto meet = Make(
        RequirementKind::kAxesMeet, a.ref, b.ref,
        fmt::format("both hold something and their axes are drawn to meet; {} is a place to begin",
                    MmWords(kFlush_mm)));
    meet.requirement.upper = kFlush_mm;
    proposals.push_back(meet);
    return;
  }
  if (OnOneLine(a.axis_W, b.axis_W)) {
    const double run_out_mm = FormOver(trade::GeneralForm::kRunOut, length_mm);
    auto run_out =
        Make(RequirementKind::kRunOut, a.ref, b.ref,
             fmt::format("both hold something about one line; {} full reading, ISO 2768-2 class {}",
                         MmWords(run_out_mm), kForm));
    run_out.requirement.upper = run_out_mm;
    proposals.push_back(run_out);
    return;
  }
  const double zone_mm = FormOver(trade::GeneralForm::kPerpendicularity, length_mm);
  auto parallel = Make(
      RequirementKind::kParallel, a.ref, b.ref,
      fmt::format("both hold something and are drawn parallel; {}", FormWords(zone_mm, length_mm)));
  parallel.requirement.upper = zone_mm / length_mm;
  proposals.push_back(parallel);
}

bool IsMade(const Findings& found, std::size_t body) {
  return found.standing.bodies[body].bought == nullptr;
}

// Copies stand for what their sheet says already.
bool IsCopy(const PartId& id) { return SheetIdOf(id) != id; }

void ProposeAxes(const Findings& found, std::vector<RequirementProposal>& proposals) {
  const auto seats = SeatsOf(found);
  for (std::size_t i = 0; i < seats.size(); ++i) {
    for (std::size_t k = i + 1; k < seats.size(); ++k) {
      if (seats[i].body != seats[k].body || !IsMade(found, seats[i].body) ||
          IsCopy(seats[i].ref.part))
        continue;
      ProposeAxesOfOnePart(seats[i], seats[k], proposals);
    }
  }
}

// What is fixed in two parallel bores of one part runs parallel.
void ProposeShaftsInOnePart(const Findings& found, std::vector<RequirementProposal>& proposals) {
  for (std::size_t i = 0; i < found.rounds.size(); ++i) {
    for (std::size_t k = i + 1; k < found.rounds.size(); ++k) {
      const RoundPair& a = found.rounds[i];
      const RoundPair& b = found.rounds[k];
      if (a.bore->body != b.bore->body || a.shaft->body == b.shaft->body ||
          OnOneLine(a.shaft->axis_W, b.shaft->axis_W))
        continue;
      if (!AreParallel(a.shaft->axis_W.direction, b.shaft->axis_W.direction) ||
          !IsMade(found, a.bore->body))
        continue;
      const double length_mm =
          std::min(a.shaft->to_mm - a.shaft->from_mm, b.shaft->to_mm - b.shaft->from_mm);
      const double zone_mm = FormOver(trade::GeneralForm::kPerpendicularity, length_mm);
      auto parallel = Make(RequirementKind::kParallel, a.shaft->ref, b.shaft->ref,
                           fmt::format("both stand in {} and are drawn parallel; {}",
                                       a.bore->ref.part.text(), FormWords(zone_mm, length_mm)));
      parallel.requirement.upper = zone_mm / length_mm;
      proposals.push_back(parallel);
    }
  }
}

// The groove of a belt turns about the shaft that its part sits on.
void ProposeBeltsRunTrue(const Findings& found, std::vector<RequirementProposal>& proposals) {
  for (const Proposal& one : found.proposals) {
    if (one.joint.kind != JointKind::kBelt) continue;
    for (const auto& [groove, body] :
         {std::pair{one.joint.fixed, one.fixed}, std::pair{one.joint.moving, one.moving}}) {
      for (const RoundPair& pair : found.rounds) {
        if (pair.bore->body != body) continue;
        const double run_out_mm = FormOver(trade::GeneralForm::kRunOut, 0);
        auto proposal =
            Make(RequirementKind::kRunOut, groove, pair.shaft->ref,
                 fmt::format(
                     "a belt runs in it as the shaft turns; {} full reading, ISO 2768-2 class {}",
                     MmWords(run_out_mm), kForm));
        proposal.requirement.upper = run_out_mm;
        proposals.push_back(proposal);
      }
    }
  }
}

const Contact* ContactOf(const Findings& found, std::size_t a, std::size_t b) {
  const auto meets =
      std::find_if(found.contacts.begin(), found.contacts.end(), [&](const Contact& contact) {
        return PairOf(contact.a->body, contact.b->body) == PairOf(a, b);
      });
  return meets == found.contacts.end() ? nullptr : &*meets;
}

// Faces of touching parts that look the same way in one plane, or a little apart.
void ProposeFlush(const Findings& found, std::vector<RequirementProposal>& proposals) {
  constexpr double kSmallStep_mm = 0.1;
  const auto& faces = found.standing.faces;
  for (std::size_t i = 0; i < faces.size(); ++i) {
    for (std::size_t k = i + 1; k < faces.size(); ++k) {
      const Face& a = faces[i];
      const Face& b = faces[k];
      if (a.body == b.body || a.normal_W.dot(b.normal_W) < 1 - kSameWay || !IsMade(found, a.body) ||
          !IsMade(found, b.body))
        continue;
      if (found.gaskets.contains(a.body) || found.gaskets.contains(b.body)) continue;
      const double step_mm = a.at_mm - b.at_mm;
      const Contact* contact = ContactOf(found, a.body, b.body);
      if (contact == nullptr || std::abs(step_mm) > kSmallStep_mm) continue;
      if (std::abs(step_mm) < kMeant_mm) {
        if (std::abs(contact->a->normal_W.dot(a.normal_W)) > kSameWay) continue;
        auto flush = Make(
            RequirementKind::kFlush, a.ref, b.ref,
            fmt::format(
                "they look the same way in one plane on parts that touch; {} is a place to begin",
                MmWords(kFlush_mm)));
        flush.requirement.upper = kFlush_mm;
        proposals.push_back(flush);
        continue;
      }
      const Face& above = step_mm > 0 ? a : b;
      const Face& below = step_mm > 0 ? b : a;
      auto proud =
          Make(RequirementKind::kDistance, above.ref, below.ref,
               fmt::format(
                   "a step of {} is drawn between touching parts: meant; a third of it either way",
                   MmWords(std::abs(step_mm))));
      proud.requirement.lower = std::abs(step_mm) * 2 / 3;
      proud.requirement.upper = std::abs(step_mm) * 4 / 3;
      proposals.push_back(proud);
    }
  }
}

bool IsInEndFloat(const std::vector<RequirementProposal>& proposals, const Face& a, const Face& b) {
  return std::any_of(proposals.begin(), proposals.end(), [&](const RequirementProposal& one) {
    const auto& gaps = one.requirement.gaps;
    return std::any_of(gaps.begin(), gaps.end(), [&](const auto& gap) {
      return (gap.first == a.ref && gap.second == b.ref) ||
             (gap.first == b.ref && gap.second == a.ref);
    });
  });
}

// How far off its middle a bought part's face may stand: a gap that small is not drawn, it comes of
// showing the part at the middle of its maker's limits.
double MakersDoubt_mm(const Findings& found, const Face& face) {
  const Body& body = found.standing.bodies[face.body];
  if (body.bought == nullptr) return 0;
  const Feature* feature = body.part->Find(face.ref.feature);
  const auto* plane = feature == nullptr ? nullptr : std::get_if<PlanarFace>(&feature->shape);
  return plane == nullptr ? 0 : 0.5 * plane->at.width_mm() + kMeant_mm;
}

// Faces that look at each other a little apart, with nothing between most of them.
void ProposeGaps(const Findings& found, std::vector<RequirementProposal>& proposals) {
  constexpr double kSmallGap_mm = 1;
  constexpr double kLeastArea_mm2 = 10;
  const auto& faces = found.standing.faces;
  for (std::size_t i = 0; i < faces.size(); ++i) {
    for (std::size_t k = i + 1; k < faces.size(); ++k) {
      const Face& a = faces[i];
      const Face& b = faces[k];
      if (a.body == b.body || a.normal_W.dot(b.normal_W) > -1 + kSameWay) continue;
      const double gap_mm = GapBetween_mm(a, b);
      if (gap_mm < 2 * kMeant_mm || gap_mm > kSmallGap_mm || IsInEndFloat(proposals, a, b)) {
        continue;
      }
      if (gap_mm <= MakersDoubt_mm(found, a) + MakersDoubt_mm(found, b)) continue;
      const double free_mm2 = FacingArea_mm2(found.standing, a, b, true);
      if (free_mm2 < kLeastArea_mm2 || free_mm2 < 0.5 * FacingArea_mm2(found.standing, a, b)) {
        continue;
      }
      auto gap =
          Make(RequirementKind::kDistance, a.ref, b.ref,
               fmt::format("a gap of {} is drawn between them: meant; a third of it either way",
                           MmWords(gap_mm)));
      // Counted along b's outward normal, where a stands before it.
      gap.requirement.lower = gap_mm * 2 / 3;
      gap.requirement.upper = gap_mm * 4 / 3;
      proposals.push_back(gap);
    }
  }
}

}  // namespace

std::vector<RequirementProposal> ProposeRequirements(const Findings& found) {
  std::vector<RequirementProposal> proposals;
  ProposeAxes(found, proposals);
  ProposeShaftsInOnePart(found, proposals);
  ProposeBeltsRunTrue(found, proposals);
  ProposeEndFloat(found, proposals);
  ProposeFlush(found, proposals);
  ProposeGaps(found, proposals);
  return proposals;
}

}  // namespace fitwright::recognize
