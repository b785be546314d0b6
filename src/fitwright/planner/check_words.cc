#include "fitwright/planner/check_words.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/planner/holding_words.h"
#include "fitwright/planner/process_common.h"

namespace fitwright::planner {
namespace {

constexpr double kSpan_mm = 20;     // over which the indicator reads
constexpr double kLook_min = 6;     // the indicator in, run along, now and then a shim and the zero found again (opinion)
constexpr double kPaperOver_mm = 40;  // from the foot to the top of a jaw, about
constexpr double kLevel = 0.1;      // cosine; less is square to

// A stylus down the one reaches the wall of the other.
bool Cross(const Hole& a, const Hole& b) {
  const Vec3 across = a.into_P.cross(b.into_P);
  if (across.norm() < 0.5) return false;
  const double apart = std::abs((a.entries_P_mm.front() - b.entries_P_mm.front()).dot(across.normalized()));
  return apart < b.diameter.middle_mm() / 2;
}

// The jaw sets how upright the piece stands along its own normal, where it is the first to be seated.
bool JawSetsLean(const Setup& setup, const Vec3& along_S) {
  const bool jaw_first = setup.holding == HoldingKind::kViseJawFirst || setup.holding == HoldingKind::kAnglePlate;
  return jaw_first && std::abs(along_S.y()) > 1 - kLevel;
}

// Faces cut before in this setup, which are only as square to the bore as the piece was then: those whose last
// level can wait, or those that cannot.
std::string FacesBefore(const Setup& setup, std::size_t until, bool can_wait) {
  std::string names;
  for (std::size_t i = 0; i < until; ++i) {
    const Step& step = setup.steps[i];
    if (step.operation != Operation::kFace || (step.levels_mm.size() > 1) != can_wait) continue;
    for (const FeatureRef& ref : step.features) names += (names.empty() ? "" : " and ") + NameWords(ref.feature);
  }
  return names;
}

// What the look may tilt is not finished before it.
void KeepLastLevels(Setup& setup, std::size_t until, const std::string& requirement) {
  for (std::size_t i = 0; i < until; ++i) {
    Step& step = setup.steps[i];
    if (step.operation != Operation::kFace || step.levels_mm.size() < 2) continue;
    const double left = step.levels_mm.back() - step.levels_mm[step.levels_mm.size() - 2];
    step.words += fmt::format(" Keep the last level until {} has been looked at below; until then a tool that touches the top stands at Z {:.3f}.", requirement, left);
  }
}

std::string MendWords(const Setup& setup, std::size_t until, const std::string& seat, double lean_rad, const Vec3& along_S) {
  std::string words =
      JawSetsLean(setup, along_S)
          ? fmt::format(" More: slack off, put a strip of shim or paper between {} and the fixed jaw, along the jaw's top edge or along its foot, whichever "
                        "brings the needle back; {:.2f} mm thick turns the piece by what is allowed, twice that by twice as much. A shim under the piece would change nothing.",
                        seat.empty() ? "the piece" : seat, lean_rad * kPaperOver_mm)
          : " More: a shim under the piece at the end that is too low, as thick as what it leans over the look, times the piece's own length over that; where it then does not come down tight on what it lies on, the fixed jaw holds it: a strip between that and the piece instead.";
  words += " Tight again, look again, until it is right. Then find x, y and z again";
  if (const std::string cut = FacesBefore(setup, until, false); !cut.empty()) words += fmt::format(", take a light cut over {} again", cut);
  words += " and bore with what is left.";
  return words;
}

std::string LastLevelWords(const Setup& setup, std::size_t until) {
  const std::string kept = FacesBefore(setup, until, true);
  return kept.empty() ? "" : fmt::format(" When it is right take the last level of {}, measured again as it was there: ________.", kept);
}

// The bore goes where the spindle points, and with the piece in nothing can be swept. The look that follows is read by the
// table's way: what the piece lies on must lie true to that too.
void SayHeadSquare(Setup& setup) {
  const bool vise = setup.holding == HoldingKind::kViseBedFirst || setup.holding == HoldingKind::kViseJawFirst;
  std::string& words = setup.hold_words;
  const std::string said = fmt::format("Before the piece goes in sweep the head over {}: the bore goes where the spindle points. ",
                                       vise ? "the bare table, then run the indicator by the table's way along two like parallels on the vise's bed, x and y, alike within 0.01 mm over their length (else a "
                                              "shim under the vise)"
                                            : "the table");
  if (words.find(said) == std::string::npos) words = said + words;
}

// What the vise is eased for comes before the look: eased after it the piece could move. Said there in the place of the holding.
std::string TakeEasing(const FeatureRef& bore, Setup& setup) {
  const std::string easing = EasingWords(bore.feature);
  const std::size_t at = setup.hold_words.find(easing);
  if (at == std::string::npos) return "";
  setup.hold_words.erase(at, easing.size());
  return "first ease the vise, nip it up again no tighter than the last cut wants (what is round between hard jaws is oval free), tap the piece down and find x, y and z "
         "again, and do not touch the vise any more until the bore is made; then ";
}

void AddLook(Setup& setup, std::size_t place, std::string words, double minutes) {
  Step step;
  step.operation = Operation::kMeasure;
  step.words = std::move(words);
  step.time_min = minutes;
  setup.steps.insert(setup.steps.begin() + static_cast<std::ptrdiff_t>(place), std::move(step));
}

std::size_t LastCutOf(const Setup& setup, std::size_t from) {
  std::size_t last = from;
  for (std::size_t i = from; i < setup.steps.size(); ++i) {
    if (setup.steps[i].operation == Operation::kBore || setup.steps[i].operation == Operation::kHone) last = i;
  }
  return last;
}

// The last cut but one that opens the bore, else the last: the place where something is left to mend with.
std::size_t StepToLookAfter(const Setup& setup, std::size_t from) {
  std::size_t last = setup.steps.size();
  for (std::size_t i = setup.steps.size(); i-- > from;) {
    if (setup.steps[i].operation != Operation::kBore) continue;
    if (last == setup.steps.size() && !setup.steps[i].aim) continue;
    last = i;
    if (!setup.steps[i].aim) break;
  }
  return last;
}

}  // namespace

bool HasIndicator(const Shop& shop) {
  return std::any_of(shop.instruments.begin(), shop.instruments.end(), [](const Instrument& i) { return i.kind == InstrumentKind::kIndicator; });
}

void SayBoresSquare(const Machine& machine, const Shop& shop, const PieceState& piece, const FeatureRef& ref, std::size_t from, Setup& setup) {
  if (!HasIndicator(shop)) return;
  const auto* bore = std::get_if<Hole>(&machine.Find(ref)->shape);
  if (bore == nullptr) return;
  for (const Requirement& r : machine.requirements) {
    if (r.kind != RequirementKind::kSquare || !r.upper || (r.a != ref && r.b != ref)) continue;
    const FeatureRef& other = r.a == ref ? r.b : r.a;
    const Feature* mate = other.part == ref.part ? machine.Find(other) : nullptr;
    const auto* earlier = mate == nullptr ? nullptr : std::get_if<Hole>(&mate->shape);
    if (earlier == nullptr || !piece.IsMade(other.feature) || !Cross(*bore, *earlier)) continue;
    const std::size_t at = StepToLookAfter(setup, from);
    if (at == setup.steps.size()) continue;
    const Pose& X_PS = setup.parts.front().X_PS;
    const Vec3 along_S = X_PS.linear().transpose() * earlier->into_P;
    const auto jaw = std::find_if(setup.contacts.begin(), setup.contacts.end(), [](const Contact& c) { return c.kind == ContactKind::kFixedJaw; });
    const std::string seat = jaw == setup.contacts.end() || jaw->surface.feature.empty() ? "" : NameWords(jaw->surface.feature);
    const double within_rad = kHeldShare * *r.upper;
    setup.steps[at].settles = Settling{r.name, within_rad, kSpan_mm};
    // Between jaws the mouth is covered; else the stylus goes in from the side, further than through this bore.
    const char* where = JawSetsLean(setup, along_S) ? "its stylus down this bore in" : "beside the piece, its stylus in the mouth of";
    const std::string how = fmt::format("indicator in the spindle, {} {} (on its floor or its roof, whichever the jaws leave free; not its sides, they tell another squareness), the table moved "
                                        "along that one as far as it reaches",
                                        where, NameWords(other.feature));
    SayHeadSquare(setup);
    const std::string look = fmt::format("look at {}: {}{}: at most {:.3f} mm in {:.0f} mm, less in proportion over less.{}", r.name.text(), TakeEasing(ref, setup), how, within_rad * kSpan_mm, kSpan_mm,
                                         MendWords(setup, at, seat, within_rad, along_S));
    const std::string last_levels = LastLevelWords(setup, at);
    KeepLastLevels(setup, at, r.name.text());
    if (setup.steps[at].aim) {
      setup.steps[at].words.append(" Before the last cut ").append(look).append(last_levels);
      setup.steps[at].time_min += kLook_min;
    } else {
      AddLook(setup, at + 1, "When it is open so far and before it is bored on " + look, kLook_min);
      if (!last_levels.empty()) AddLook(setup, at + 2, last_levels.substr(1), 0);
    }
    AddLook(setup, LastCutOf(setup, from) + 1,
            fmt::format("Before anything is loosened read {} on the bored part: {}. It may be {:.3f} mm in {:.0f} mm.", r.name.text(), how, *r.upper * kSpan_mm, kSpan_mm),
            shop.times.measure);
  }
}

}  // namespace fitwright::planner
