// How the height of a face over what stands opposite is brought in and measured.
#include "fitwright/planner/process_length.h"

#include <algorithm>
#include <optional>

#include "fitwright/planner/process_common.h"

namespace fitwright::planner {
namespace {

constexpr double kLeftHalf = 1.0 / 3;    // of what is left on: its own limits
constexpr double kPin_mm = 5;            // in a bore, with a caliper's jaw beside it
constexpr double kLeastHollow_mm = 15;   // of a bore that takes both (opinion)

// A made bore whose axis lies along the face: the wall between is measured where no face lies opposite.
const Feature* BoreBehind(const Job& job, const PlanarFace& face) {
  const Feature* best = nullptr;
  for (const Feature& f : job.part().features) {
    const auto* hole = std::get_if<Hole>(&f.shape);
    if (hole == nullptr || !job.IsMade(f.name) || hole->use != HoleUse::kBore ||
        std::abs(hole->into_P.dot(face.normal_P)) > kDirection || hole->diameter.middle_mm() < kLeastHollow_mm)
      continue;
    if (best == nullptr || hole->diameter.width_mm() < std::get<Hole>(best->shape).diameter.width_mm()) best = &f;
  }
  return best;
}

// What a face stands over: the finished face opposite, else the wall of a bore, else on the mill the raw
// side it rests on, so that what is taken from there later agrees with it.
struct Opposite {
  std::string from;     // "over the bottom", "from the wall of the bore"
  double size_mm = 0;   // from it to the face, metal left on counted in
  bool on_bed = false;  // the seat in the vise: measured from where the piece stands
  bool round = false;   // a bore's wall
};

// The bed shows past an end of the piece, so that a caliper's rod stands on it.
bool BedShows(const Job& job) {
  constexpr double kForTheRod_mm = 4;  // opinion
  if (!job.context.vise) return true;
  Box3 all = job.piece.piece_S;
  for (const PieceInSetup& piece : job.context.pieces) {
    all.min_mm = all.min_mm.cwiseMin(piece.piece_S.min_mm);
    all.max_mm = all.max_mm.cwiseMax(piece.piece_S.max_mm);
  }
  return all.min_mm.x() > job.context.vise->bed_from_mm + kForTheRod_mm || all.max_mm.x() < job.context.vise->bed_to_mm - kForTheRod_mm;
}

std::optional<Opposite> FindOpposite(const Job& job, const PlanarFace& face) {
  const double level = face.at.middle_mm() + job.request.leave_mm;
  for (const Feature& f : job.part().features) {
    const auto* other = std::get_if<PlanarFace>(&f.shape);
    if (other == nullptr || !job.IsMade(f.name) || other->normal_P.dot(face.normal_P) > -1 + kDirection) continue;
    const double size = level + other->at.middle_mm();
    if (size > 0) return Opposite{NameWords(f.name), size, job.context.holding == HoldingKind::kViseBedFirst && BedShows(job), false};
  }
  if (const Feature* bore = BoreBehind(job, face)) {
    const auto& hole = std::get<Hole>(bore->shape);
    const double wall = level - face.normal_P.dot(hole.entries_P_mm.front()) - hole.diameter.middle_mm() / 2;
    if (wall > 0) return Opposite{NameWords(bore->name), wall, false, true};
  }
  if (job.lathe() || job.part().envelope != EnvelopeKind::kBlock) return std::nullopt;
  const double over_raw = job.ToS(face.normal_P * level).z() - job.piece.piece_S.min_mm.z();
  return Opposite{"the raw side that it rests on", over_raw, false, false};
}

bool PinStandsOverJaws(const Job& job, const Opposite& from, double level_S) {
  constexpr double kForACaliperJaw_mm = 2;  // beside the vise's (opinion)
  return !job.context.vise || level_S - from.size_mm - kPin_mm > job.context.vise->jaws_mm + kForACaliperJaw_mm;
}

// Flat jaws stand on their edges in a hollow: over a pin, which touches along one line.
std::string SetByPinWords(const Job& job, const Instrument* instrument, const Opposite& from, double level_S) {
  const char* measures = instrument == nullptr ? "caliper" : instrument->words.c_str();
  std::string words = fmt::format(
      "{6}{0}, lay a {1:.0f} mm pin in {2} along the wall that is nearest to the {4}, and measure with the {3}, one jaw under the pin, the other on "
      "the {4} as it is, at its highest place (without the pin flat jaws stand on their edges in the hollow and read too much); when the tool touches "
      "there, set z to that less {5:.3f} mm.",
      job.lathe() ? "chucked" : "clamped", kPin_mm, from.from, measures, job.lathe() ? "free end" : "top", from.size_mm + kPin_mm - level_S, kBeforeHolding);
  if (!job.lathe() && job.request.leave_mm <= 0) {
    words += fmt::format(" Before the last level measure so again, {}: {:.3f} mm is wanted, take off what is more.",
                         PinStandsOverJaws(job, from, level_S) ? "the pin sticking out over a jaw"
                                                               : "the vise loosened and the piece lifted out for it, then set down as it was (x and y are found again before holes that count from them)",
                         from.size_mm + kPin_mm);
  }
  return words;
}

std::string SetByWords(const Job& job, const Instrument* instrument, const Opposite& from, double level_S) {
  if (from.round) return SetByPinWords(job, instrument, from, level_S);
  return fmt::format(
      "{}{}, measure with the {} over {} to the {} as it is, at its highest place; when the tool touches there, set z "
      "to that less {:.3f} mm.",
      kBeforeHolding, job.lathe() ? "chucked" : "clamped", instrument == nullptr ? "caliper" : instrument->words, from.from, job.lathe() ? "free end" : "top", from.size_mm - level_S);
}

}  // namespace

void MeasureThickness(Job& job, Step& step, const PlanarFace& face) {
  const std::optional<Opposite> from = FindOpposite(job, face);
  if (!from) return;
  const double leave = job.request.leave_mm;
  const auto& given = job.request.given_aim;
  const double half = leave > 0 ? kLeftHalf * leave : 0.5 * (given ? given->upper_mm - given->lower_mm : face.at.width_mm());
  const bool others_on = job.request.technique == Technique::kMachineTogether;
  const std::string before = others_on ? fmt::format("over {} up to it {}, and after the cut ", from->from, kBeforeOthers) : "";
  const std::string where =
      from->on_bed ? fmt::format("{}from the {} that {} sits on up to it, by the rod past the end of the piece, at all corners", before,
                                 job.context.clearance_below_mm > 0 ? "parallels" : "bed", from->from)
                   : "";
  std::vector<InstrumentKind> kinds = {InstrumentKind::kCaliper};
  if (from->on_bed) kinds.push_back(InstrumentKind::kDepthMicrometer);
  if (!from->on_bed && !from->round) kinds.push_back(InstrumentKind::kMicrometer);
  SetMeasure(job, step, {kinds, from->size_mm, from->size_mm - half, from->size_mm + half, where, leave > 0});
  if (from->on_bed || !step.measure) return;
  const double level_S = job.ToS(face.normal_P * face.at.middle_mm()).z() + leave;
  step.measure->words = SetByWords(job, job.shop().Find(step.measure->instrument), *from, level_S);
  step.measure->lower_mm = step.measure->upper_mm = 0;
}

namespace {

void SetByTheSum(const std::string& seat, bool seat_is_free, Step& step) {
  const std::string over = fmt::format(" over {} to the ", seat);
  const std::string set = "set z to that less ";
  for (std::string* words : {&step.words, step.measure ? &step.measure->words : nullptr}) {
    if (words == nullptr || words->find(over) == std::string::npos) continue;
    const std::size_t at = words->find(set, words->find(over));
    const std::size_t end = at == std::string::npos ? at : words->find(" mm", at);
    if (end == std::string::npos) continue;
    const std::size_t figure = at + set.size();
    words->replace(figure, end - figure, "the height that the sum gives, about " + words->substr(figure, end - figure));
    if (words != &step.words && step.levels_mm.size() > 1) {
      *words += seat_is_free ? fmt::format(" Before the last pass measure so again, {} stands free of the jaws: take off what is over the sum.", seat)
                             : " Before the last pass take it out, measure so again and seat it as it was: take off what is over the sum.";
    }
  }
}

// There is room for a micrometer's anvil between the jaws and the seat.
bool StandsFree(const Setup& setup, const Part& part, const FeatureId& seat) {
  constexpr double kForAnAnvil_mm = 7.5;  // its diameter is 6.5 (common practice), and a little
  const auto* face = std::get_if<PlanarFace>(&part.Find(seat)->shape);
  if (face == nullptr || setup.parts.empty()) return false;
  const double at_S = (setup.parts.front().X_PS.inverse() * Vec3(face->normal_P * face->at.middle_mm())).z();
  return std::all_of(setup.fixtures.begin(), setup.fixtures.end(), [&](const FixtureSolid& fixture) {
    const auto* ring = std::get_if<FixtureCylinder>(&fixture.shape);
    return ring == nullptr || fixture.role != FixtureRole::kChuckJaw || ring->to_mm + kForAnAnvil_mm < at_S;
  });
}

}  // namespace

void SetHeightByTheSum(const Machine& machine, const Subjects& subjects, const Strategy& strategy, const FeatureRef& ref, std::size_t from, Setup& setup) {
  for (const SuitPair& pair : subjects.suits) {
    if (!pair.faces || pair.closes || pair.shaft != ref || strategy.suits.at(pair.requirement) != Technique::kFitToMeasured) continue;
    for (const Joint& joint : machine.joints) {
      const auto carries = [&](const FeatureRef& end) { return std::find(pair.seats.begin(), pair.seats.end(), end) != pair.seats.end(); };
      const FeatureRef& own = carries(joint.fixed) ? joint.moving : joint.fixed;
      if (own.part != ref.part || (!carries(joint.fixed) && !carries(joint.moving))) continue;
      for (std::size_t i = from; i < setup.steps.size(); ++i) SetByTheSum(NameWords(own.feature), StandsFree(setup, *machine.FindPart(own.part), own.feature), setup.steps[i]);
    }
  }
}

}  // namespace fitwright::planner
