#include "fitwright/recognize/carry_over.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>
#include <set>

#include "fitwright/model/material.h"
#include "fitwright/recognize/alike.h"
#include "fitwright/recognize/drawn_sizes.h"
#include "fitwright/recognize/moved_part.h"
#include "fitwright/units/length.h"

namespace fitwright::recognize {
namespace {

constexpr double kFarAway_mm = 1e9;

bool TakesNoMetal(const Feature& feature) {
  return std::holds_alternative<ExternalThread>(feature.shape) ||
         std::holds_alternative<Knurl>(feature.shape) ||
         std::holds_alternative<Marking>(feature.shape);
}

// Rows to columns at the least sum (shortest augmenting paths with potentials); rows <= columns.
std::vector<std::size_t> Assign(const std::vector<std::vector<double>>& cost) {
  const std::size_t rows = cost.size();
  const std::size_t columns = rows == 0 ? 0 : cost.front().size();
  std::vector<double> row_potential(rows + 1, 0), column_potential(columns + 1, 0);
  std::vector<std::size_t> row_of(columns + 1, 0), way(columns + 1, 0);
  for (std::size_t row = 1; row <= rows; ++row) {
    row_of[0] = row;
    std::size_t at = 0;
    std::vector<double> least(columns + 1, std::numeric_limits<double>::infinity());
    std::vector<bool> used(columns + 1, false);
    while (row_of[at] != 0) {
      used[at] = true;
      double step = std::numeric_limits<double>::infinity();
      std::size_t next = 0;
      for (std::size_t column = 1; column <= columns; ++column) {
        if (used[column]) continue;
        const double reduced = cost[row_of[at] - 1][column - 1] - row_potential[row_of[at]] -
                               column_potential[column];
        if (reduced < least[column]) {
          least[column] = reduced;
          way[column] = at;
        }
        if (least[column] < step) {
          step = least[column];
          next = column;
        }
      }
      for (std::size_t column = 0; column <= columns; ++column) {
        if (used[column]) {
          row_potential[row_of[column]] += step;
          column_potential[column] -= step;
        } else {
          least[column] -= step;
        }
      }
      at = next;
    }
    for (; at != 0; at = way[at]) row_of[at] = row_of[way[at]];
  }
  std::vector<std::size_t> column_of(rows, 0);
  for (std::size_t column = 1; column <= columns; ++column) {
    if (row_of[column] != 0) column_of[row_of[column] - 1] = column - 1;
  }
  return column_of;
}

// Turned work's features count along the confirmed axis, not against it.
struct TurnAlong {
  const Axis3& own;

  bool Against(const Axis3& axis) const { return axis.direction.dot(own.direction) < -0.5; }
  void Turn(Axis3& axis, double& from_mm, double& to_mm) const {
    const double shift_mm = (axis.point_mm - own.point_mm).dot(own.direction);
    const double from = shift_mm - to_mm;
    to_mm = shift_mm - from_mm;
    from_mm = from;
    axis = own;
  }
  void operator()(Taper& t) const {
    if (!Against(t.axis_P)) return;
    Turn(t.axis_P, t.from_mm, t.to_mm);
    std::swap(t.start_diameter, t.end_diameter);
  }
  void operator()(OuterDiameter& o) const { TurnOne(o); }
  void operator()(Groove& g) const { TurnOne(g); }
  void operator()(Flats& f) const { TurnOne(f); }
  void operator()(Keyway& k) const { TurnOne(k); }
  template <typename Round>
  void TurnOne(Round& round) const {
    if (Against(round.axis_P)) Turn(round.axis_P, round.from_mm, round.to_mm);
  }
  template <typename Other>
  void operator()(Other&) const {}
};

void LayAlong(const Axis3& own, Part& part) {
  if (part.envelope != EnvelopeKind::kTurned) return;
  const bool against = part.turning_axis_P.direction.dot(own.direction) < 0;
  const auto on_outer = [&](const FeatureId& name) {
    const Feature* on = part.Find(name);
    return on != nullptr && std::holds_alternative<OuterDiameter>(on->shape);
  };
  for (Feature& feature : part.features) {
    if (auto* rim = std::get_if<RoundChamfer>(&feature.shape)) {
      if (against && on_outer(rim->on)) rim->at_start = !rim->at_start;
    }
    std::visit(TurnAlong{own}, feature.shape);
  }
  part.turning_axis_P = own;
}

struct Match {
  Part read_A;                                    // what was read, in frame A
  Pose X_AB = Pose::Identity();
  std::vector<std::optional<std::size_t>> place;  // of each confirmed feature, among those read
  double cost_mm = kFarAway_mm;
  std::size_t matched = 0;
};

Match MatchIn(const Part& confirmed, const Part& nominal, const Part& read_B, const Pose& X_AB) {
  Match match{MovedPart(read_B, X_AB), X_AB, {}, 0, 0};
  LayAlong(confirmed.turning_axis_P, match.read_A);
  const double most_mm = 0.25 * CalcEnvelope(confirmed).size_mm().maxCoeff();
  const std::size_t rows = confirmed.features.size();
  const std::size_t columns = match.read_A.features.size();
  match.place.resize(rows);
  std::vector<std::vector<double>> cost(rows, std::vector<double>(columns + rows, most_mm));
  for (std::size_t i = 0; i < rows; ++i) {
    for (std::size_t k = 0; k < columns; ++k) {
      double mm = kFarAway_mm;
      for (const Part* part : {&confirmed, &nominal}) {
        const auto apart =
            FindDistance(*part, part->features[i], match.read_A, match.read_A.features[k]);
        if (apart) mm = std::min(mm, apart->sum_mm());
      }
      cost[i][k] = mm;
    }
  }
  const auto column_of = Assign(cost);
  for (std::size_t i = 0; i < rows; ++i) {
    if (TakesNoMetal(confirmed.features[i])) continue;
    match.cost_mm += std::min(cost[i][column_of[i]], most_mm);
    if (column_of[i] >= columns) continue;
    match.place[i] = column_of[i];
    ++match.matched;
  }
  return match;
}

std::vector<Pose> QuarterTurns(const Part& a, const Part& b) {
  std::vector<Pose> turns;
  const Box3 box_a = CalcEnvelope(a);
  const Box3 box_b = CalcEnvelope(b);
  std::array<int, 3> order{0, 1, 2};
  do {
    for (int signs = 0; signs < 8; ++signs) {
      Pose X_AB = Pose::Identity();
      X_AB.linear().setZero();
      for (int k = 0; k < 3; ++k)
        X_AB.linear()(order[static_cast<std::size_t>(k)], k) = (signs >> k & 1) != 0 ? -1 : 1;
      if (X_AB.linear().determinant() < 0) continue;
      X_AB.translation() = box_a.centre_mm() - X_AB.linear() * box_b.centre_mm();
      turns.push_back(X_AB);
    }
  } while (std::next_permutation(order.begin(), order.end()));
  std::stable_sort(turns.begin(), turns.end(), [](const Pose& one, const Pose& two) {
    return one.linear().trace() > two.linear().trace();
  });
  return turns;
}

std::optional<Match> BestMatch(const Part& confirmed, const Part& read_B,
                               const std::vector<Pose>& tried_X_AB) {
  const Part nominal = AtNominals(confirmed);
  std::optional<Match> best;
  std::vector<Pose> frames = tried_X_AB;
  const auto turns = QuarterTurns(confirmed, read_B);
  frames.insert(frames.end(), turns.begin(), turns.end());
  for (Pose& X_AB : frames) {
    if (!MakeRightAngled(X_AB)) continue;
    Match match = MatchIn(confirmed, nominal, read_B, X_AB);
    if (!best || match.cost_mm < best->cost_mm - kDrawnAlike_mm) best = std::move(match);
  }
  return best;
}

// A size of the new drawing with the deviations that were asked of the old one.
Size WithDeviations(const Size& confirmed, double nominal_mm) {
  Size size = confirmed;
  size.nominal_mm = nominal_mm;
  size.lower_mm = nominal_mm + confirmed.lower_mm - confirmed.nominal_mm;
  size.upper_mm = nominal_mm + confirmed.upper_mm - confirmed.nominal_mm;
  // The same letter of a fit has other limits at another size; these are the old ones.
  if (size.origin == LimitsOrigin::kFit) {
    size.origin = LimitsOrigin::kLimits;
    size.fit.clear();
  }
  return size;
}

bool IsDrawn(const Size& size, double mm) {
  return std::abs(size.nominal_mm - mm) < kDrawnAlike_mm ||
         std::abs(size.middle_mm() - mm) < kDrawnAlike_mm;
}

class Merger {
 public:
  Merger(const Part& confirmed, const PartReading& read, Match match,
         const std::vector<std::string>& gone)
      : confirmed_(confirmed), read_(read), match_(std::move(match)) {
    names_.insert(gone.begin(), gone.end());
    for (const Feature& feature : confirmed.features) names_.insert(feature.name.text());
  }

  CarriedPart Run() {
    GiveNames();
    Part part = match_.read_A;
    part.name = confirmed_.name;
    part.material = confirmed_.material;
    part.sheet_unit = confirmed_.sheet_unit;
    part.general_tolerance = confirmed_.general_tolerance;
    part.unread = read_.unread;
    part.features.clear();
    carried_.X_AB = match_.X_AB;
    for (std::size_t i = 0; i < confirmed_.features.size(); ++i) TakeConfirmed(i, part);
    TakeNew(part);
    DropWhatHangs(part);
    KeepStock(part);
    carried_.part = std::move(part);
    return std::move(carried_);
  }

 private:
  const Feature& Read(std::size_t place) const { return match_.read_A.features[place]; }

  void GiveNames() {
    for (std::size_t i = 0; i < match_.place.size(); ++i) {
      if (match_.place[i]) name_of_[Read(*match_.place[i]).name] = confirmed_.features[i].name;
    }
    for (const Feature& feature : match_.read_A.features) {
      if (name_of_.contains(feature.name)) continue;
      std::string name = feature.name.text();
      for (int n = 2; !names_.insert(name).second; ++n)
        name = fmt::format("{}_{}", feature.name.text(), n);
      name_of_[feature.name] = FeatureId(name);
    }
  }

  // References inside what was read, to the names that count.
  void Rename(Feature& feature) const {
    const auto now = [&](FeatureId& name) {
      const auto found = name_of_.find(name);
      if (found != name_of_.end()) name = found->second;
    };
    now(feature.name);
    if (auto* edge = std::get_if<EdgeChamfer>(&feature.shape)) {
      now(edge->face_a);
      now(edge->face_b);
    } else if (auto* rim = std::get_if<RoundChamfer>(&feature.shape)) {
      now(rim->on);
    } else if (auto* thread = std::get_if<ExternalThread>(&feature.shape)) {
      now(thread->on);
    }
  }

  void Change(ChangeKind kind, const FeatureId& name, std::string words) {
    carried_.changes.push_back({kind, name, std::move(words)});
  }

  void TakeConfirmed(std::size_t i, Part& part) {
    const Feature& known = confirmed_.features[i];
    if (TakesNoMetal(known)) {
      part.features.push_back(known);
      carried_.settled.push_back(known.name);
      return;
    }
    if (!match_.place[i] && StandsStill(known)) {
      part.features.push_back(known);
      carried_.settled.push_back(known.name);
      return;
    }
    if (!match_.place[i]) {
      Change(ChangeKind::kGone, known.name, "the file has nothing like it any more");
      return;
    }
    carried_.settled.push_back(known.name);
    const Feature& read = Read(*match_.place[i]);
    const Part nominal = AtNominals(confirmed_);
    FeatureDistance apart{kFarAway_mm, kFarAway_mm};
    for (const Part* one : {&confirmed_, &nominal}) {
      const auto mm = FindDistance(*one, one->features[i], match_.read_A, read);
      if (mm && mm->sum_mm() < apart.sum_mm()) apart = *mm;
    }
    part.features.push_back(apart.sum_mm() < kSame_mm ? known : Changed(known, read, apart));
  }

  // A face of turned work that only names the end of a diameter, which is still there.
  bool StandsStill(const Feature& known) const {
    const auto* face = std::get_if<PlanarFace>(&known.shape);
    if (face == nullptr || confirmed_.envelope != EnvelopeKind::kTurned) return false;
    return std::any_of(
        match_.read_A.features.begin(), match_.read_A.features.end(), [&](const Feature& f) {
          const auto* outer = std::get_if<OuterDiameter>(&f.shape);
          if (outer == nullptr) return false;
          const Vec3 from = outer->axis_P.point_mm + outer->from_mm * outer->axis_P.direction;
          const Vec3 to = outer->axis_P.point_mm + outer->to_mm * outer->axis_P.direction;
          return IsDrawn(face->at, face->normal_P.dot(from)) ||
                 IsDrawn(face->at, face->normal_P.dot(to));
        });
  }

  // The new shape under the old name, with what was asked of it.
  Feature Changed(const Feature& known, const Feature& read, const FeatureDistance& apart) {
    Feature feature = known;
    feature.shape = read.shape;
    Rename(feature);
    feature.name = known.name;
    const Size* before = SpokenSize(known);
    ForEachSize(feature.shape, [&](Size& size) {
      if (before == nullptr) return;
      size = IsDrawn(*before, size.nominal_mm) ? *before : WithDeviations(*before, size.nominal_mm);
    });
    std::string words;
    const Size* after = SpokenSize(read);
    const bool face = std::holds_alternative<PlanarFace>(known.shape);
    const bool resized = before != nullptr && after != nullptr && !face &&
                         !IsDrawn(*before, after->nominal_mm);
    if (resized) {
      words = fmt::format("{} mm is {} mm now", FormatTrimmed(before->nominal_mm, 3),
                          FormatTrimmed(after->nominal_mm, 3));
    } else if (apart.places_mm > kSame_mm) {
      words = fmt::format("it stands elsewhere, by {} mm", FormatTrimmed(apart.places_mm, 3));
    } else {
      words = fmt::format("it reaches otherwise, by {} mm", FormatTrimmed(apart.sizes_mm, 3));
    }
    KeepHole(known, resized, feature, words);
    Change(ChangeKind::kChanged, known.name, std::move(words));
    return feature;
  }

  static void KeepHole(const Feature& known, bool resized, Feature& feature, std::string& words) {
    const auto* before = std::get_if<Hole>(&known.shape);
    auto* hole = std::get_if<Hole>(&feature.shape);
    if (before == nullptr || hole == nullptr) return;
    hole->use = before->use;
    if (!before->thread) return;
    if (resized) {
      words += fmt::format("; its thread {} is left out", before->thread->designation);
      return;
    }
    hole->thread = before->thread;
    hole->thread->depth_mm = std::min(before->thread->depth_mm, hole->depth_mm);
  }

  void TakeNew(Part& part) {
    std::set<std::size_t> taken;
    for (const auto& place : match_.place) {
      if (place) taken.insert(*place);
    }
    for (std::size_t k = 0; k < match_.read_A.features.size(); ++k) {
      if (taken.contains(k)) continue;
      Feature feature = Read(k);
      Rename(feature);
      const Size* size = SpokenSize(feature);
      const bool face = std::holds_alternative<PlanarFace>(feature.shape);
      Change(ChangeKind::kNew, feature.name,
             size == nullptr || face ? "new" : fmt::format("new, {} mm", FormatTrimmed(size->nominal_mm, 3)));
      const std::string before = "features." + Read(k).name.text();
      for (const Inference& one : read_.inferred) {
        if (!one.where.starts_with(before + ".") && one.where != before) continue;
        carried_.inferred.push_back({"features." + feature.name.text() + one.where.substr(before.size()), one.words});
      }
      part.features.push_back(std::move(feature));
    }
    // A block's six faces stand first, as its sheet has them.
    if (part.envelope != EnvelopeKind::kBlock) return;
    std::stable_sort(part.features.begin(), part.features.end(), [](const Feature& a, const Feature& b) {
      return std::holds_alternative<PlanarFace>(a.shape) && !std::holds_alternative<PlanarFace>(b.shape);
    });
  }

  // What takes no metal goes with what bore it; geometric limits with their datum.
  void DropWhatHangs(Part& part) {
    const auto bearer = [](const Feature& feature) -> const FeatureId* {
      if (const auto* thread = std::get_if<ExternalThread>(&feature.shape)) return &thread->on;
      if (const auto* knurl = std::get_if<Knurl>(&feature.shape)) return &knurl->on;
      return nullptr;
    };
    std::vector<FeatureId> lost;
    for (const Feature& feature : part.features) {
      const FeatureId* on = bearer(feature);
      if (on != nullptr && part.Find(*on) == nullptr) lost.push_back(feature.name);
    }
    for (const FeatureId& name : lost) {
      std::erase_if(part.features, [&](const Feature& f) { return f.name == name; });
      std::erase(carried_.settled, name);
      Change(ChangeKind::kGone, name, "what bore it is gone");
    }
    for (Feature& feature : part.features) {
      std::erase_if(feature.geometric, [&](const GeometricLimit& limit) {
        return limit.datum && part.Find(*limit.datum) == nullptr;
      });
    }
  }

  // Stock that was stated stays while the part lies in it.
  void KeepStock(Part& part) const {
    if (confirmed_.stock.proposed) return;
    const Box3 now = CalcEnvelope(part);
    const Box3 before = CalcEnvelope(confirmed_);
    const bool inside = (now.min_mm.array() >= before.min_mm.array() - kDrawnAlike_mm).all() &&
                        (now.max_mm.array() <= before.max_mm.array() + kDrawnAlike_mm).all();
    if (inside) part.stock = confirmed_.stock;
  }

  static constexpr double kSame_mm = 10 * kDrawnAlike_mm;  // a sum over the marks of a feature

  const Part& confirmed_;
  const PartReading& read_;
  Match match_;
  std::set<std::string> names_;
  std::map<FeatureId, FeatureId> name_of_;  // as read, as it is called now
  CarriedPart carried_;
};

}  // namespace

std::optional<CarriedPart> CarryPart(const Part& confirmed, const PartReading& read,
                                     const std::vector<Pose>& tried_X_AB,
                                     const std::vector<std::string>& gone) {
  if (confirmed.envelope != read.part.envelope) return std::nullopt;
  auto match = BestMatch(confirmed, read.part, tried_X_AB);
  if (!match) return std::nullopt;
  const auto counting = static_cast<std::size_t>(
      std::count_if(confirmed.features.begin(), confirmed.features.end(),
                    [](const Feature& feature) { return !TakesNoMetal(feature); }));
  if (2 * match->matched < counting) return std::nullopt;
  return Merger(confirmed, read, *std::move(match), gone).Run();
}

}  // namespace fitwright::recognize
