// Good practice weighed: what the planner chose set against the alternative, on the same machine and
// shop, judged by the same virtual builds. Shared by the tests and by the study that prints the curves.
#pragma once

#include <algorithm>
#include <optional>
#include <string>
#include <vector>

#include "fitwright/planner/search.h"

namespace fitwright::testing {

struct Weighed {
  planner::Judged good;   // the practice followed
  planner::Judged other;  // everything as in good, but not this
};

inline std::optional<std::size_t> SetupThatCuts(const planner::Route& route, const FeatureId& id) {
  for (std::size_t i = 0; i < route.setups.size(); ++i) {
    const auto& cuts = route.setups[i].cuts;
    if (std::find(cuts.begin(), cuts.end(), id) != cuts.end()) return i;
  }
  return std::nullopt;
}

// Outward normal of the face that a vise setup locates on first.
inline Vec3 PrimaryNormal(const planner::SetupSketch& sketch) {
  return sketch.holding == HoldingKind::kViseJawFirst ? sketch.jaw_P : Vec3(-sketch.up_P);
}

inline planner::PieceState PieceBefore(const Part& part, const planner::Route& route, std::size_t setup) {
  planner::PieceState piece = planner::RawPiece(part);
  for (std::size_t i = 0; i < setup; ++i) {
    for (const FeatureId& id : route.setups[i].cuts) {
      const auto leave = route.setups[i].leave_mm.find(id);
      planner::ApplyCut(piece, *part.Find(id), route.setups[i].up_P, leave == route.setups[i].leave_mm.end() ? 0 : leave->second);
    }
  }
  return piece;
}

// What one decision is worth, everything else as `chosen`.
class Weigher {
 public:
  Weigher(const Machine& machine, const Shop& shop, planner::PlannerOptions options = {})
      : machine_(machine), shop_(shop), search_(machine_, shop_, choices_, options) {}

  bool Plan() {
    const auto plain = search_.Plain();
    if (!plain) {
      why_ = plain.error().message;
      return false;
    }
    chosen_ = search_.Improve(*plain);
    return true;
  }
  const planner::Strategy& chosen() const { return chosen_; }
  planner::Search& search() { return search_; }
  const std::string& why() const { return why_; }

  std::optional<Weighed> Pattern(const JointId& joint) {
    const planner::PatternChoice coordinates{Technique::kByCoordinates, 0};
    std::optional<planner::Judged> best;
    for (const int first : {0, 1, 2}) {
      const auto spotted = Look(search_.WithPattern(chosen_, joint, {Technique::kSpotThrough, first}));
      if (spotted && (!best || spotted->expected_min < best->expected_min)) best = spotted;
    }
    return Both(best, Look(search_.WithPattern(chosen_, joint, coordinates)));
  }
  std::optional<Weighed> Flush(const std::vector<RequirementId>& requirements) {
    return Both(Look(AllFlush(requirements, Technique::kMachineTogether)), Look(AllFlush(requirements, Technique::kByCoordinates)));
  }
  std::optional<Weighed> Suit(const RequirementId& requirement, Technique otherwise) {
    std::optional<planner::Judged> best;
    for (const double share : {0.2, 0.35, 0.5, 0.65, 0.8}) {
      auto fitted = search_.WithSuit(chosen_, requirement, Technique::kFitToMeasured);
      if (fitted) fitted->aim_share[requirement] = share;
      const auto judged = Look(fitted);
      if (judged && (!best || judged->expected_min < best->expected_min)) best = judged;
    }
    return Both(best, Look(search_.WithSuit(chosen_, requirement, otherwise)));
  }
  // A bore and the face of its setup in one chucking, against the bore in a chucking of its own.
  std::optional<Weighed> OneChucking(const FeatureRef& bore) {
    const auto setup = SetupThatCuts(chosen_.routes.at(bore.part), bore.feature);
    if (!setup) return std::nullopt;
    return Both(Look(chosen_), Look(search_.WithBoresApart(chosen_, bore.part, *setup)));
  }
  // Two bores of one part: the setup of the later one located first on the face that was cut with the
  // earlier one, against the best location that is not.
  std::optional<Weighed> SeatedOnFirstBoresFace(const FeatureRef& a, const FeatureRef& b) {
    const Part& part = *machine_.FindPart(a.part);
    const planner::Route& route = chosen_.routes.at(a.part);
    const auto at_a = SetupThatCuts(route, a.feature);
    const auto at_b = SetupThatCuts(route, b.feature);
    if (!at_a || !at_b) return std::nullopt;
    const std::size_t first = std::min(*at_a, *at_b);
    const std::size_t later = std::max(*at_a, *at_b);
    const Vec3 face_normal = route.setups[first].up_P;
    const planner::PieceState piece = PieceBefore(part, route, later);
    std::optional<planner::Judged> on;
    std::optional<planner::Judged> off;
    for (const planner::SetupSketch& variant : planner::Variants(route.setups[later], piece, shop_)) {
      planner::Strategy other = chosen_;
      other.routes.at(a.part).setups[later] = variant;
      const auto judged = Look(other);
      auto& best = PrimaryNormal(variant).dot(face_normal) > 1 - 1e-9 ? on : off;
      if (judged && (!best || judged->expected_min < best->expected_min)) best = judged;
    }
    return Both(on, off);
  }

 private:
  std::optional<planner::Judged> Look(const std::optional<planner::Strategy>& strategy) {
    return strategy ? search_.Look(*strategy) : std::nullopt;
  }
  std::optional<planner::Strategy> AllFlush(const std::vector<RequirementId>& requirements, Technique technique) {
    std::optional<planner::Strategy> all = chosen_;
    for (const RequirementId& id : requirements) {
      if (all) all = search_.WithFlush(*all, id, technique);
    }
    return all;
  }
  static std::optional<Weighed> Both(const std::optional<planner::Judged>& good, const std::optional<planner::Judged>& other) {
    if (!good || !other) return std::nullopt;
    return Weighed{*good, *other};
  }

  Machine machine_;
  Shop shop_;
  Choices choices_;
  planner::Search search_;
  planner::Strategy chosen_;
  std::string why_;
};

// The spreads that a practice guards against set to nothing.
inline Shop Without(Shop shop, const std::vector<std::string>& spreads) {
  for (const std::string& id : spreads) {
    Spread& row = shop.spreads.at(id);
    row.careful = row.usual = row.worn = {};
  }
  return shop;
}
inline Shop Scaled(Shop shop, double scale) {
  shop.spread_scale = scale;
  return shop;
}
inline Hole& HoleOf(Machine& machine, const FeatureRef& ref) {
  for (Part& part : machine.parts) {
    for (Feature& feature : part.features) {
      if (part.name == ref.part && feature.name == ref.feature) return std::get<Hole>(feature.shape);
    }
  }
  FailCheck("hole exists", __FILE__, __LINE__, ref.text());
}
inline Requirement& RequirementOf(Machine& machine, const RequirementId& id) {
  for (Requirement& r : machine.requirements) {
    if (r.name == id) return r;
  }
  FailCheck("requirement exists", __FILE__, __LINE__, id.text());
}

}  // namespace fitwright::testing
