#include "fitwright/recognize/assembly_reading.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "fitwright/model/material.h"
#include "fitwright/model/mirror.h"
#include "fitwright/recognize/alike.h"
#include "fitwright/recognize/bought_shapes.h"
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
  explicit Assembler(AssemblyReading& reading) : reading_(reading) {}

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
      for (const Ring& groove : standing.grooves) {
        if (shaft.body == groove.body || !OnOneLine(shaft.axis_W, groove.axis_W)) continue;
        const double along_mm =
            (shaft.axis_W.point_mm + 0.5 * (shaft.from_mm + shaft.to_mm) * shaft.axis_W.direction -
             groove.axis_W.point_mm)
                .dot(groove.axis_W.direction);
        if (along_mm < groove.from_mm || along_mm > groove.to_mm) continue;
        const Body& body = standing.bodies[shaft.body];
        const auto shape = FindCirclip(*body.part, *groove.groove, groove.surface_mm);
        if (shape && body.bought == nullptr && SheetIdOf(body.id) == body.id)
          circlips_.push_back({body.id, *shape});
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

  void TakeBought(const BoughtShape& shape, const std::vector<Pose>& places_X_WP) {
    BoughtPart bought = shape.part;
    bought.part.name = PartId(FreeName(shape.name));
    bought.quantity = static_cast<int>(places_X_WP.size());
    Say("bought." + bought.part.name.text(), shape.why);
    if (!bought.part.features.empty()) {
      std::vector<Pose> places;
      for (const Pose& X_WP : places_X_WP) places.push_back(X_WP * shape.X_PB);
      bought.placed = true;
      reading_.machine.bought_uses.push_back(UseOf(bought.part.name, places));
    }
    for (const Pose& X_WP : places_X_WP) {
      if (!shape.screw) break;
      PlacedScrew screw = *shape.screw;
      screw.axis_W = {X_WP * shape.screw->axis_W.point_mm,
                      X_WP.linear() * shape.screw->axis_W.direction};
      screws_.push_back(std::move(screw));
    }
    reading_.machine.bought.push_back(std::move(bought));
  }

  void TakeMade(const Group& group) {
    Part part = group.first->reading.part;
    part.name = PartId(FreeName(part.name.text().empty() ? "part" : part.name.text()));
    std::vector<Inference> inferred = group.first->reading.inferred;
    const std::string where = "uses." + part.name.text();
    std::vector<Pose> places = group.places_X_WP;
    if (places.size() > 1) Say(where, fmt::format("{} solids of one shape", places.size()));
    for (const Part& other : reading_.machine.parts) {
      const auto mirror = other.mirror_of ? std::nullopt : FindMirror(other, part);
      if (!mirror) continue;
      reading_.mirrors.push_back({part.name, other.name, mirror->axis});
      for (Pose& X_WP : places) X_WP = X_WP * mirror->X_BM;
      part = MirrorPart(other, part.name, mirror->axis);
      inferred.clear();  // the original says it
      Say(where, fmt::format("the mirror image of {}", other.name.text()));
      break;
    }
    reading_.machine.uses.push_back(UseOf(part.name, places));
    reading_.parts.push_back(std::move(inferred));
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
    machine.parts.erase(part);
    TakeBought(shape, places);
  }

  AssemblyReading& reading_;
  std::set<std::string> taken_;
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
      hole->thread = proposed.thread;
      if (part.mirror_of) continue;
      reading.parts[i].push_back(
          {fmt::format("features.{}.thread", feature.name.text()), proposed.why});
    }
  }
}

}  // namespace

Result<AssemblyReading> ReadAssembly(const std::vector<PlacedReading>& placed,
                                     const std::string& name) {
  if (placed.empty()) {
    return Unexpected(Error{ErrorCode::kOutOfRange,
                            "there is no solid to read",
                            name,
                            "write a file with at least one solid",
                            {}});
  }
  AssemblyReading reading;
  reading.machine.name = name;
  Assembler assembler(reading);
  for (const Group& group : GroupAlike(placed)) assembler.Take(group);
  assembler.TakeCirclips();
  JointReading joints = ReadJoints(reading.machine, assembler.screws());
  reading.machine.joints = std::move(joints.joints);
  reading.machine.requirements = std::move(joints.requirements);
  for (const ProposedThread& thread : joints.threads) TakeThread(thread, reading);
  for (BoughtPart& belt : joints.bought) reading.machine.bought.push_back(std::move(belt));
  reading.inferred.insert(reading.inferred.end(), joints.inferred.begin(), joints.inferred.end());
  return reading;
}

}  // namespace fitwright::recognize
