#include "fitwright/recognize/assembly_reading.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "fitwright/model/material.h"
#include "fitwright/model/mirror.h"
#include "fitwright/recognize/alike.h"
#include "fitwright/recognize/bought_shapes.h"
#include "fitwright/recognize/fit_proposals.h"
#include "fitwright/recognize/standing.h"

namespace fitwright::recognize {
namespace {

// Solids of one shape, in the frame of the first.
struct Group {
  const PlacedReading* first = nullptr;
  std::vector<Pose> places_X_WP;
};

std::vector<Group> GroupAlike(const std::vector<PlacedReading>& placed) {
  std::vector<Group> groups;
  for (const PlacedReading& one : placed) {
    bool known = false;
    for (Group& group : groups) {
      const auto X_BA = FindMotion(group.first->reading.part, one.reading.part);
      if (!X_BA) continue;
      group.places_X_WP.push_back(one.X_WP * *X_BA);
      known = true;
      break;
    }
    if (!known) groups.push_back({&one, {one.X_WP}});
  }
  return groups;
}

class Assembler {
 public:
  explicit Assembler(AssemblyReading& reading) : reading_(reading), base_(reading.machine) {
    for (const Part& part : base_.parts) taken_.insert(part.name.text());
    for (const BoughtPart& bought : base_.bought) taken_.insert(bought.part.name.text());
  }

  void Take(const Group& group) {
    if (auto shape = FindBoughtShape(group.first->reading.part)) {
      TakeBought(*shape, group.places_X_WP);
    } else {
      TakeMade(group);
    }
  }
  // Rings that their grooves tell to be circlips.
  void TakeCirclips() {
    const Standing standing = StandUp(reading_.machine);
    for (const Shaft& shaft : standing.shafts) {
      for (const StandingGroove& groove : standing.grooves) {
        if (shaft.body == groove.body || !OnOneLine(shaft.axis_W, groove.axis_W)) continue;
        const double along_mm =
            (shaft.axis_W.point_mm + 0.5 * (shaft.from_mm + shaft.to_mm) * shaft.axis_W.direction -
             groove.axis_W.point_mm)
                .dot(groove.axis_W.direction);
        if (along_mm < groove.from_mm || along_mm > groove.to_mm) continue;
        const Body& body = standing.bodies[shaft.body];
        const auto shape = FindCirclip(*body.part, *groove.groove, groove.surface_mm);
        const bool ours = base_.FindPart(body.id) == nullptr && SheetIdOf(body.id) == body.id;
        if (shape && body.bought == nullptr && ours) circlips_.push_back({body.id, *shape});
      }
    }
    for (const auto& [part, shape] : circlips_) MoveToBought(part, shape);
  }
  const std::vector<PlacedScrew>& screws() const { return screws_; }

 private:
  std::string FreeName(const std::string& stem) {
    std::string name = stem;
    for (int n = 2; !taken_.insert(name).second; ++n) name = fmt::format("{}_{}", stem, n);
    return name;
  }

  static PartUse UseOf(const PartId& part, const std::vector<Pose>& places) {
    PartUse use{part, static_cast<int>(places.size()), places.front(), {}};
    use.copies_X_WP.assign(places.begin() + 1, places.end());
    return use;
  }

  void Say(std::string where, std::string words) {
    reading_.inferred.push_back({std::move(where), std::move(words)});
  }

  void AddScrews(const BoughtShape& shape, const std::vector<Pose>& places_X_WP) {
    for (const Pose& X_WP : places_X_WP) {
      if (!shape.screw) break;
      PlacedScrew screw = *shape.screw;
      screw.axis_W = {X_WP * shape.screw->axis_W.point_mm,
                      X_WP.linear() * shape.screw->axis_W.direction};
      screws_.push_back(std::move(screw));
    }
  }

  // The confirmed one that these are, by its words, or by its kind and every place.
  bool IsConfirmed(const BoughtPart& found, const std::vector<Pose>& places_X_WB) {
    for (const BoughtPart& known : base_.bought) {
      if (known.kind != found.kind || counted_.contains(known.part.name)) continue;
      const PartUse* use = known.placed ? base_.FindUse(known.part.name) : nullptr;
      const bool same = use == nullptr ? known.what == found.what : StandThere(*use, LengthOf(found), places_X_WB);
      if (!same) continue;
      counted_.insert(known.part.name);
      if (known.quantity != found.quantity && use == nullptr) {
        Say("bought." + known.part.name.text(),
            fmt::format("{} are listed, the file holds {}", known.quantity, found.quantity));
      }
      return true;
    }
    return false;
  }

  static double LengthOf(const BoughtPart& bought) {
    const Feature* end = bought.part.Find(FeatureId("high_end"));
    return end == nullptr ? 0 : std::get<PlanarFace>(end->shape).at.middle_mm();
  }

  // Each has one of the use's places, whichever end is called the low one.
  static bool StandThere(const PartUse& use, double length_mm,
                         const std::vector<Pose>& places_X_WB) {
    std::vector<Pose> known{use.X_WP};
    known.insert(known.end(), use.copies_X_WP.begin(), use.copies_X_WP.end());
    const Vec3 middle_B(0, 0, 0.5 * length_mm);
    return std::all_of(places_X_WB.begin(), places_X_WB.end(), [&](const Pose& place) {
      return std::any_of(known.begin(), known.end(), [&](const Pose& one) {
        const Vec3 across = one.linear().col(2).cross(place.linear().col(2));
        return across.norm() < kDrawnAlike_mm &&
               (place * middle_B - one * middle_B).norm() < kFoundAgain_mm;
      });
    });
  }

  void TakeBought(const BoughtShape& shape, const std::vector<Pose>& places_X_WP) {
    AddScrews(shape, places_X_WP);
    BoughtPart bought = shape.part;
    bought.quantity = static_cast<int>(places_X_WP.size());
    std::vector<Pose> places;
    for (const Pose& X_WP : places_X_WP) places.push_back(X_WP * shape.X_PB);
    if (IsConfirmed(bought, places)) return;
    bought.part.name = PartId(FreeName(shape.name));
    Say("bought." + bought.part.name.text(), shape.why);
    if (!bought.part.features.empty()) {
      bought.placed = true;
      reading_.machine.bought_uses.push_back(UseOf(bought.part.name, places));
    }
    reading_.machine.bought.push_back(std::move(bought));
  }

  void TakeMade(const Group& group) {
    Part part = group.first->reading.part;
    part.name = PartId(FreeName(part.name.text().empty() ? "part" : part.name.text()));
    std::vector<Inference> inferred = group.first->reading.inferred;
    const std::string where = "uses." + part.name.text();
    std::vector<Pose> places = group.places_X_WP;
    PartSource source{group.first->shape, group.first->reading.X_PF};
    if (places.size() > 1) Say(where, fmt::format("{} solids of one shape", places.size()));
    for (const Part& other : reading_.machine.parts) {
      const auto mirror = other.mirror_of ? std::nullopt : FindMirror(other, part);
      if (!mirror) continue;
      reading_.mirrors.push_back({part.name, other.name, mirror->axis});
      for (Pose& X_WP : places) X_WP = X_WP * mirror->X_BM;
      source.X_PF = mirror->X_BM.inverse() * source.X_PF;
      part = MirrorPart(other, part.name, mirror->axis);
      inferred.clear();  // the original says it
      Say(where, fmt::format("the mirror image of {}", other.name.text()));
      break;
    }
    reading_.machine.uses.push_back(UseOf(part.name, places));
    reading_.parts.push_back(std::move(inferred));
    reading_.sources.push_back(source);
    reading_.machine.parts.push_back(std::move(part));
  }

  void MoveToBought(const PartId& name, const BoughtShape& shape) {
    Machine& machine = reading_.machine;
    const auto use = std::find_if(machine.uses.begin(), machine.uses.end(),
                                  [&](const PartUse& u) { return u.part == name; });
    if (use == machine.uses.end()) return;  // moved already
    std::vector<Pose> places{use->X_WP};
    places.insert(places.end(), use->copies_X_WP.begin(), use->copies_X_WP.end());
    machine.uses.erase(use);
    const auto part = std::find_if(machine.parts.begin(), machine.parts.end(),
                                   [&](const Part& p) { return p.name == name; });
    reading_.parts.erase(reading_.parts.begin() + (part - machine.parts.begin()));
    reading_.sources.erase(reading_.sources.begin() + (part - machine.parts.begin()));
    machine.parts.erase(part);
    TakeBought(shape, places);
  }

  static constexpr double kFoundAgain_mm = 1e-3;

  AssemblyReading& reading_;
  const Machine base_;  // as confirmed
  std::set<std::string> taken_;
  std::set<PartId> counted_;  // confirmed bought parts that were found again
  std::vector<PlacedScrew> screws_;
  std::vector<std::pair<PartId, BoughtShape>> circlips_;
};

// A thread goes into its part, into what mirrors it, and into what it mirrors.
void TakeThread(const ProposedThread& proposed, AssemblyReading& reading) {
  const PartId sheet = SheetIdOf(proposed.hole.part);
  const Part* named = reading.machine.FindPart(sheet);
  const PartId original = named != nullptr && named->mirror_of ? *named->mirror_of : sheet;
  for (std::size_t i = 0; i < reading.machine.parts.size(); ++i) {
    Part& part = reading.machine.parts[i];
    if (part.name != original && part.mirror_of != original) continue;
    for (Feature& feature : part.features) {
      auto* hole = std::get_if<Hole>(&feature.shape);
      if (feature.name != proposed.hole.feature || hole == nullptr) continue;
      const bool flat = hole->bottom == HoleBottom::kFlat && !hole->through;
      hole->use = HoleUse::kHole;
      hole->thread = proposed.thread;
      if (flat) hole->bottom = HoleBottom::kPoint118;
      if (part.mirror_of) continue;
      const std::string words =
          proposed.why + (flat ? "; its end is drawn flat, the drill's point goes below it" : "");
      reading.parts[i].push_back({fmt::format("features.{}.thread", feature.name.text()), words});
    }
  }
}

// Proposals that touch something new, under names that are free.
class Proposals {
 public:
  Proposals(const AssemblyBase& base, AssemblyReading& reading) : base_(base), reading_(reading) {
    for (const Joint& joint : base.machine.joints) names_.insert("joints." + joint.name.text());
    for (const Requirement& one : base.machine.requirements)
      names_.insert("requirements." + one.name.text());
    for (const BoughtPart& one : reading.machine.bought)
      names_.insert("bought." + one.part.name.text());
  }

  void Take(JointReading found) {
    for (BoughtPart& belt : found.bought) TakeBelt(std::move(belt), found.joints);
    for (Joint& joint : found.joints) {
      if (Settled(joint.fixed) && Settled(joint.moving)) continue;
      joint.name = JointId(FreeName("joints.", joint.name.text()));
      reading_.machine.joints.push_back(std::move(joint));
    }
    for (Requirement& one : found.requirements) {
      const bool gaps = std::all_of(one.gaps.begin(), one.gaps.end(), [&](const auto& gap) {
        return Settled(gap.first) && Settled(gap.second);
      });
      if (one.gaps.empty() ? Settled(one.a) && Settled(one.b) : gaps) continue;
      one.name = RequirementId(FreeName("requirements.", one.name.text()));
      reading_.machine.requirements.push_back(std::move(one));
    }
    for (const ProposedThread& thread : found.threads) {
      if (!Settled(thread.hole)) TakeThread(thread, reading_);
    }
    for (Inference& one : found.inferred) {
      const auto name = given_.find(one.where);
      if (name != given_.end()) reading_.inferred.push_back({name->second, std::move(one.words)});
    }
  }

 private:
  bool Settled(const FeatureRef& ref) const {
    return base_.settled.contains({SheetIdOf(ref.part), ref.feature});
  }
  std::string FreeName(const std::string& kind, const std::string& stem) {
    std::string name = stem;
    for (int n = 2; !names_.insert(kind + name).second; ++n) name = fmt::format("{}_{}", stem, n);
    given_[kind + stem] = kind + name;
    return name;
  }
  void TakeBelt(BoughtPart belt, std::vector<Joint>& joints) {
    const PartId stem = belt.part.name;
    bool wanted = false;
    for (const Joint& joint : joints)
      wanted |= joint.belt == stem && !(Settled(joint.fixed) && Settled(joint.moving));
    if (!wanted) return;
    belt.part.name = PartId(FreeName("bought.", stem.text()));
    for (Joint& joint : joints) {
      if (joint.belt == stem) joint.belt = belt.part.name;
    }
    reading_.machine.bought.push_back(std::move(belt));
  }

  const AssemblyBase& base_;
  AssemblyReading& reading_;
  std::set<std::string> names_;
  std::map<std::string, std::string> given_;  // as proposed, as taken
};

}  // namespace

Result<AssemblyReading> ReadAssembly(const std::vector<PlacedReading>& placed,
                                     const std::string& name, const AssemblyBase& base) {
  if (placed.empty() && base.machine.parts.empty()) {
    return Unexpected(Error{ErrorCode::kOutOfRange,
                            "there is no solid to read",
                            name,
                            "write a file with at least one solid",
                            {}});
  }
  AssemblyReading reading;
  reading.machine = base.machine;
  reading.sources = base.sources;
  reading.parts.resize(base.machine.parts.size());
  if (reading.machine.name.empty()) reading.machine.name = name;
  Assembler assembler(reading);
  for (const Group& group : GroupAlike(placed)) assembler.Take(group);
  assembler.TakeCirclips();
  Proposals(base, reading).Take(ReadJoints(reading.machine, assembler.screws()));
  ProposeFits(base.settled, reading);
  return reading;
}

}  // namespace fitwright::recognize
