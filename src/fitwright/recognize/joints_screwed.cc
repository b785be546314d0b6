// Screwed patterns: a thread under clearance holes on the same lines.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "fitwright/recognize/joint_proposals.h"
#include "fitwright/trade/fasteners.h"
#include "fitwright/trade/screw_holes.h"
#include "fitwright/trade/threads.h"
#include "fitwright/units/length.h"

namespace fitwright::recognize {
namespace {

// Between the end of one hole and the beginning of the next: a gasket that is not drawn, at most.
constexpr double kGapOnTheWay_mm = 2;
// A tap drill as drawn may be the thread's minor diameter or the drill of another hand.
constexpr double kTapDrillOff_mm = 0.1;

struct HolePattern {
  std::size_t body = 0;
  FeatureRef ref;
  const Hole* hole = nullptr;
  std::vector<const Bore*> places;
};

std::vector<HolePattern> PatternsOf(const Standing& standing) {
  std::vector<HolePattern> patterns;
  for (const Bore& bore : standing.bores) {
    if (bore.place == 0) patterns.push_back({bore.body, bore.ref, bore.hole, {}});
    patterns.back().places.push_back(&bore);
  }
  return patterns;
}

struct Tapped {
  const trade::ThreadRow* row = nullptr;
  bool stated = false;  // else by the tap drill's size
};

std::optional<Tapped> ThreadIn(const Hole& hole, LengthUnit unit) {
  if (hole.thread) {
    const auto* row = trade::FindThread(hole.thread->designation);
    return row == nullptr ? std::nullopt : std::optional(Tapped{row, true});
  }
  const auto thread = ThreadByDrill(hole, unit);
  if (!thread) return std::nullopt;
  return Tapped{trade::FindThread(thread->designation), false};
}

// A pattern that the screws of a thread pass, counted outwards from the thread's entry.
struct OnTheWay {
  const HolePattern* pattern = nullptr;
  double from_mm = 0;
  double to_mm = 0;
};

bool Covers(const HolePattern& tapped, const HolePattern& other) {
  if (other.places.size() != tapped.places.size()) return false;
  return std::all_of(tapped.places.begin(), tapped.places.end(), [&](const Bore* one) {
    return std::any_of(other.places.begin(), other.places.end(),
                       [&](const Bore* two) { return OnOneLine(one->axis_W, two->axis_W); });
  });
}

OnTheWay Along(const HolePattern& tapped, const HolePattern& other) {
  const Axis3& into = tapped.places[0]->axis_W;
  const auto partner = std::find_if(other.places.begin(), other.places.end(),
                                    [&](const Bore* two) { return OnOneLine(into, two->axis_W); });
  const Bore& bore = **partner;
  const double entry_mm = (into.point_mm - bore.axis_W.point_mm).dot(into.direction);
  const double end_mm = entry_mm - bore.depth_mm * bore.axis_W.direction.dot(into.direction);
  return {&other, std::min(entry_mm, end_mm), std::max(entry_mm, end_mm)};
}

// The hole must clear the screw and not by more than what a hand-punched hole has: half as much
// again.
bool Clears(const trade::ThreadRow& row, const Hole& hole) {
  constexpr double kWidest = 1.5;
  const double mm = hole.diameter.middle_mm();
  return !hole.thread && mm > row.major_mm - 0.01 && mm < kWidest * row.major_mm;
}

// Clearance holes from the thread outwards, one behind the other.
std::vector<OnTheWay> WayOut(const std::vector<HolePattern>& patterns, const HolePattern& tapped,
                             const trade::ThreadRow& row) {
  std::vector<OnTheWay> all;
  for (const HolePattern& other : patterns) {
    if (other.body == tapped.body || !Clears(row, *other.hole) || !Covers(tapped, other)) continue;
    all.push_back(Along(tapped, other));
  }
  std::stable_sort(all.begin(), all.end(),
                   [](const OnTheWay& a, const OnTheWay& b) { return a.from_mm < b.from_mm; });
  std::vector<OnTheWay> way;
  double reached_mm = 0;
  for (const OnTheWay& next : all) {
    if (next.to_mm < kMeant_mm) continue;  // on the thread's own side
    if (next.from_mm < reached_mm - kMeant_mm) continue;
    if (next.from_mm > reached_mm + kGapOnTheWay_mm) break;
    way.push_back(next);
    reached_mm = next.to_mm;
  }
  return way;
}

// A screw of the file whose head seats at the way's end.
const PlacedScrew* ScrewThere(const std::vector<PlacedScrew>& screws, const HolePattern& tapped) {
  for (const PlacedScrew& screw : screws) {
    if (OnOneLine(screw.axis_W, tapped.places[0]->axis_W)) return &screw;
  }
  return nullptr;
}

// The longest that is sold and does not reach beyond the full thread; no more of it than two and a
// half diameters, beyond which nothing is gained (common practice).
double LengthFor(const trade::ThreadRow& row, const Hole& hole, double through_mm) {
  constexpr double kMostInMesh = 2.5;
  double thread_mm = hole.depth_mm;
  if (hole.thread) {
    thread_mm = hole.thread->depth_mm;
  } else if (!hole.through) {
    thread_mm -= trade::kPlugTapLead_pitches * row.pitch_mm;
  }
  const double longest_mm = through_mm + std::min(thread_mm, kMostInMesh * row.major_mm + 2);
  return trade::ScrewLengthAtOrBelow_mm(row.series, longest_mm + kMeant_mm)
      .value_or(std::max(1.0, std::floor(longest_mm)));
}

std::string FitWords(const trade::ThreadRow& row, double hole_mm) {
  for (const auto fit :
       {trade::ClearanceFit::kClose, trade::ClearanceFit::kNormal, trade::ClearanceFit::kLoose}) {
    const auto standard_mm = trade::ClearanceHole_mm(row, fit);
    if (!standard_mm || std::abs(*standard_mm - hole_mm) > 0.05) continue;
    return fmt::format(", a {} clearance hole ({})", WordOf(fit),
                       trade::IsMetric(row.series) ? "ISO 273" : "ASME B18.2.8");
  }
  return "";
}

void Propose(const HolePattern& tapped, const Tapped& thread, const std::vector<OnTheWay>& way,
             Findings& found) {
  const HolePattern& head = *way.back().pattern;
  Proposal proposal;
  proposal.fixed = tapped.body;
  proposal.moving = head.body;
  Joint& joint = proposal.joint;
  joint.kind = JointKind::kScrewedPattern;
  joint.fixed = tapped.ref;
  joint.moving = head.ref;
  for (std::size_t i = way.size() - 1; i > 0; --i) joint.between.push_back(way[i - 1].pattern->ref);
  const trade::ThreadRow& row = *thread.row;
  const PlacedScrew* screw = ScrewThere(found.screws, tapped);
  const double length_mm =
      screw != nullptr ? screw->length_mm : LengthFor(row, *tapped.hole, way.back().to_mm);
  joint.screw = Screw{std::string(row.designation), length_mm, row.major_mm, row.pitch_mm};
  const double clear_mm = head.hole->diameter.middle_mm();
  proposal.why = fmt::format(
      "{} of {} over {} of {} on the same lines{}; {} ({}) {}, {} long {}", MmWords(clear_mm),
      head.ref.text(), MmWords(tapped.hole->diameter.middle_mm()), tapped.ref.text(),
      FitWords(row, clear_mm), row.designation, trade::StandardOf(row.series),
      thread.stated ? "as the hole is tapped" : "by the size of its tap drill", MmWords(length_mm),
      screw != nullptr ? "as the file's " + screw->what : "as sold, inside the thread");
  if (!thread.stated) {
    const LengthUnit unit = found.standing.bodies[tapped.body].part->sheet_unit;
    found.threads.push_back(
        {tapped.ref, *ThreadByDrill(*tapped.hole, unit),
         "screws of this size pass the clearance holes over it, and it has the tap drill's size"});
  }
  found.screwed.insert(tapped.ref);
  for (const OnTheWay& one : way) {
    found.screwed.insert(one.pattern->ref);
    found.screwed_together.insert(PairOf(tapped.body, one.pattern->body));
    found.screwed_together.insert(PairOf(head.body, one.pattern->body));
    if (one.pattern == &head) continue;
    // Sheet between two faces that are drawn together is there to seal (opinion: up to 1 mm).
    constexpr double kSheet_mm = 1;
    if (tapped.places.size() > 1 && one.to_mm - one.from_mm <= kSheet_mm)
      found.gaskets.insert(one.pattern->body);
  }
  found.proposals.push_back(std::move(proposal));
}

}  // namespace

std::string MmWords(double mm) { return FormatTrimmed(mm, 3) + " mm"; }

std::optional<InternalThread> ThreadByDrill(const Hole& hole, LengthUnit unit) {
  // Models often end a tap drill's hole flat, which reads as a bore.
  if (hole.thread || hole.use == HoleUse::kCounterbore) return std::nullopt;
  const auto series =
      unit == LengthUnit::kInch ? trade::ThreadSeries::kUnc : trade::ThreadSeries::kIsoCoarse;
  const trade::ThreadRow* nearest = nullptr;
  double least_mm = kTapDrillOff_mm;
  for (const trade::ThreadRow* row : trade::AllThreads()) {
    const double off_mm = std::abs(row->tap_drill_mm - hole.diameter.middle_mm());
    if (row->series != series || off_mm >= least_mm - 1e-9) continue;
    least_mm = off_mm;
    nearest = row;
  }
  if (nearest == nullptr) return std::nullopt;
  const double lead_mm = hole.through ? 0 : trade::kPlugTapLead_pitches * nearest->pitch_mm;
  if (hole.depth_mm <= lead_mm) return std::nullopt;
  return InternalThread{std::string(nearest->designation), nearest->major_mm, nearest->pitch_mm,
                        hole.depth_mm - lead_mm};
}

void FindScrews(Findings& found) {
  const auto patterns = PatternsOf(found.standing);
  // Threads that are stated first: what their screws pass is no tap drill.
  for (const bool stated : {true, false}) {
    for (const HolePattern& tapped : patterns) {
      const auto thread =
          ThreadIn(*tapped.hole, found.standing.bodies[tapped.body].part->sheet_unit);
      if (!thread || thread->stated != stated || (!stated && found.screwed.contains(tapped.ref)))
        continue;
      const auto way = WayOut(patterns, tapped, *thread->row);
      const bool used = std::any_of(way.begin(), way.end(), [&](const OnTheWay& one) {
        return found.screwed.contains(one.pattern->ref);
      });
      if (!way.empty() && (stated || !used)) Propose(tapped, *thread, way, found);
    }
  }
}

}  // namespace fitwright::recognize
