#include "fitwright/service/solid/confirmed_project.h"

#include <fmt/format.h>

#include <algorithm>
#include <fstream>
#include <iterator>
#include <optional>

#include "fitwright/files/proposals_reader.h"
#include "fitwright/recognize/carry_over.h"
#include "fitwright/service/solid/known_solids.h"
#include "fitwright/units/length.h"

namespace fitwright::service {
namespace {

constexpr double kSamePlace_mm = 1e-4;
constexpr double kSameTurn = 1e-6;

bool SamePose(const Pose& a, const Pose& b) {
  return (a.translation() - b.translation()).norm() < kSamePlace_mm &&
         (a.linear() - b.linear()).norm() < kSameTurn;
}

std::vector<Pose> PlacesOf(const PartUse& use) {
  std::vector<Pose> places{use.X_WP};
  places.insert(places.end(), use.copies_X_WP.begin(), use.copies_X_WP.end());
  return places;
}

class Carrier {
 public:
  Carrier(const files::Project& confirmed, const solid::StepContents& contents,
          const ShapesRead& shapes, const WorkOptions& work)
      : project_(confirmed), machine_(confirmed.machine), contents_(contents), shapes_(shapes), work_(work) {}

  Result<CarriedProject> Run() {
    auto known = FindKnownSolids(machine_, project_.dir, contents_, shapes_, work_);
    if (!known) return Unexpected(known.error());
    for (const KnownSolid& one : *known) {
      found_[one.part].push_back({one.shape, one.X_PF});
      carried_.shapes.insert(one.shape);
    }
    StartMachine();
    for (const Part& part : machine_.parts) TakePart(part);
    TakeBought();
    TakeJoints();
    carried_.machine_remarks = files::ReadProposals(TextOf("machine.toml"));
    SayKept();
    return std::move(carried_);
  }

 private:
  Machine& base() { return carried_.base.machine; }
  void Say(const std::string& where, std::string words) {
    carried_.changes.push_back({where, std::move(words)});
  }
  std::string TextOf(const std::string& file) const {
    std::ifstream in(project_.dir / file, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
  }
  static std::string SheetOf(const PartId& part) { return "parts/" + part.text() + ".toml"; }

  void StartMachine() {
    base().name = machine_.name;
    base().display_unit = machine_.display_unit;
    base().cautions = machine_.cautions;
  }

  void TakePart(const Part& part) {
    const auto found = found_.find(part.name);
    if (found != found_.end()) return KeepPart(part, found->second);
    if (const auto shape = ShapeMeant(part)) {
      if (ChangePart(part, *shape)) return;
    }
    Say(part.name.text(), "gone: the file has no such part; its sheet is left where it is and machine.toml no longer names it");
  }

  // The mirror's own sheet cannot stay where its original changed.
  bool SheetStands(const Part& part) const {
    return !part.mirror_of || found_.contains(*part.mirror_of);
  }

  void KeepPart(Part part, const std::vector<recognize::PartSource>& sources) {
    CarriedSheet sheet;
    sheet.text = TextOf(SheetOf(part.name));
    sheet.remarks = files::ReadProposals(sheet.text);
    sheet.gone = files::ReadGoneNames(sheet.text);
    if (!SheetStands(part)) {
      sheet.text.clear();
      part.mirror_of.reset();
    }
    carried_.sheets[part.name] = sheet;
    for (const Feature& feature : part.features) carried_.base.settled.insert({part.name, feature.name});
    ++parts_kept_;
    Place(part.name, sources, machine_.uses, base().uses);
    base().parts.push_back(std::move(part));
    carried_.base.sources.push_back(sources.front());
  }

  // The use with its places as the file has them; those that stayed keep their number.
  void Place(const PartId& part, const std::vector<recognize::PartSource>& sources,
             const std::vector<PartUse>& uses, std::vector<PartUse>& placed) {
    const auto use = std::find_if(uses.begin(), uses.end(), [&](const PartUse& u) { return u.part == part; });
    if (use == uses.end()) return;
    std::vector<Pose> now;
    for (const solid::PlacedShape& one : contents_.placed) {
      for (const recognize::PartSource& source : sources) {
        if (source.shape == one.shape) now.push_back(one.X_WF * source.X_PF.inverse());
      }
    }
    const std::vector<Pose> before = PlacesOf(*use);
    std::vector<std::optional<Pose>> places(before.size());
    std::vector<Pose> elsewhere;
    for (const Pose& pose : now) {
      const auto same = std::find_if(before.begin(), before.end(), [&](const Pose& b) { return SamePose(b, pose); });
      if (same == before.end()) {
        elsewhere.push_back(pose);
      } else {
        places[static_cast<std::size_t>(same - before.begin())] = *same;
      }
    }
    SayMoves(part, before, places, elsewhere);
    std::vector<Pose> all;
    std::size_t next = 0;
    for (const auto& place : places) {
      if (place) all.push_back(*place);
      else if (next < elsewhere.size()) all.push_back(elsewhere[next++]);
    }
    all.insert(all.end(), elsewhere.begin() + static_cast<std::ptrdiff_t>(next), elsewhere.end());
    PartUse moved = *use;
    if (all.size() != before.size()) moved.quantity = static_cast<int>(all.size());
    moved.X_WP = all.front();
    moved.copies_X_WP.assign(all.begin() + 1, all.end());
    placed.push_back(std::move(moved));
  }

  void SayMoves(const PartId& part, const std::vector<Pose>& before,
                const std::vector<std::optional<Pose>>& places, const std::vector<Pose>& elsewhere) {
    const auto stayed = static_cast<std::size_t>(
        std::count_if(places.begin(), places.end(), [](const auto& place) { return place.has_value(); }));
    const std::size_t now = stayed + elsewhere.size();
    if (now != before.size()) Say(part.text(), fmt::format("{} stood in the machine, {} do now", before.size(), now));
    if (elsewhere.empty()) return;
    double by_mm = -1;
    for (std::size_t i = 0; i < places.size(); ++i) {
      if (places[i]) continue;
      const double mm = (before[i].translation() - elsewhere.front().translation()).norm();
      by_mm = by_mm < 0 ? mm : std::min(by_mm, mm);
    }
    if (by_mm < 0) return;
    Say(part.text(), by_mm < kSamePlace_mm ? std::string("turned where it stands")
                                           : fmt::format("moved {} mm in the machine", FormatTrimmed(by_mm, 3)));
  }

  // The solid that has the part's name and is no other part.
  std::optional<std::size_t> ShapeMeant(const Part& part) const {
    for (const auto& [index, shape] : shapes_) {
      if (!carried_.shapes.contains(index) && SheetName(shape.in_file) == part.name.text()) return index;
    }
    return ShapeInPlace(part);
  }

  // The solid that fills most of the part's box where the part stood, more than half of both.
  std::optional<std::size_t> ShapeInPlace(const Part& part) const {
    const PartUse* use = machine_.FindUse(part.name);
    if (use == nullptr) return std::nullopt;
    std::optional<std::size_t> best;
    double most = 0.5;
    for (const solid::PlacedShape& placed : contents_.placed) {
      if (carried_.shapes.contains(placed.shape) || !shapes_.contains(placed.shape)) continue;
      const double share = SharedBox(part, use->X_WP, contents_.shapes[placed.shape], placed.X_WF);
      if (share <= most) continue;
      most = share;
      best = placed.shape;
    }
    return best;
  }

  bool ChangePart(const Part& part, std::size_t shape) {
    const recognize::PartReading& reading = shapes_.at(shape).reading;
    std::vector<Pose> frames;
    if (const PartUse* use = machine_.FindUse(part.name)) {
      for (const solid::PlacedShape& placed : contents_.placed) {
        if (placed.shape != shape) continue;
        for (const Pose& X_WP : PlacesOf(*use)) frames.push_back(X_WP.inverse() * placed.X_WF * reading.X_PF.inverse());
      }
    }
    const std::string text = TextOf(SheetOf(part.name));
    CarriedSheet sheet;
    sheet.gone = files::ReadGoneNames(text);
    auto carried = recognize::CarryPart(part, reading, frames, sheet.gone);
    if (!carried) return false;
    carried->part.mirror_of.reset();
    for (const auto& change : carried->changes) {
      if (change.kind == recognize::ChangeKind::kGone) sheet.gone.push_back(change.name.text());
      const std::string word = change.kind == recognize::ChangeKind::kGone ? "gone: " : "";
      Say(part.name.text() + "." + change.name.text(), word + change.words);
    }
    for (const files::Remark& remark : files::ReadProposals(text)) {
      if (IsStillThere(remark, carried->part)) sheet.remarks.push_back(remark);
    }
    for (const auto& one : carried->inferred) sheet.remarks.push_back({one.where, one.words});
    for (const FeatureId& name : carried->settled) carried_.base.settled.insert({part.name, name});
    carried_.shapes.insert(shape);
    carried_.sheets[part.name] = std::move(sheet);
    const recognize::PartSource source{shape, carried->X_AB * reading.X_PF};
    Place(part.name, {source}, machine_.uses, base().uses);
    base().parts.push_back(std::move(carried->part));
    carried_.base.sources.push_back(source);
    ++parts_changed_;
    return true;
  }

  static bool IsStillThere(const files::Remark& remark, const Part& part) {
    constexpr std::string_view kFeatures = "features.";
    if (!remark.where.starts_with(kFeatures)) return true;
    const std::string rest = remark.where.substr(kFeatures.size());
    return part.Find(FeatureId(rest.substr(0, rest.find('.')))) != nullptr;
  }

  void TakeBought() {
    base().bought = machine_.bought;
    for (const PartUse& use : machine_.bought_uses) {
      const auto found = found_.find(use.part);
      if (found == found_.end()) {
        base().bought_uses.push_back(use);
      } else {
        Place(use.part, found->second, machine_.bought_uses, base().bought_uses);
      }
      const Part* part = machine_.FindPart(use.part);
      if (part == nullptr) continue;
      for (const Feature& feature : part->features) carried_.base.settled.insert({use.part, feature.name});
    }
  }

  bool Stands(const FeatureRef& ref) const {
    const Machine& machine = carried_.base.machine;
    return machine.Find(ref) != nullptr && machine.FindUse(ref.part) != nullptr;
  }

  void TakeJoints() {
    for (const Joint& joint : machine_.joints) {
      const bool stands = Stands(joint.fixed) && Stands(joint.moving) &&
                          std::all_of(joint.between.begin(), joint.between.end(), [&](const FeatureRef& r) { return Stands(r); });
      if (stands) base().joints.push_back(joint);
      else Say("joints." + joint.name.text(), "gone: a feature that it joins is");
    }
    for (const Requirement& one : machine_.requirements) {
      if (one.derived) continue;
      if (Stands(one)) base().requirements.push_back(one);
      else Say("requirements." + one.name.text(), "gone: what it is about is");
    }
  }

  bool Stands(const Requirement& one) const {
    const auto& joints = carried_.base.machine.joints;
    const auto stands = [&](const FeatureRef& ref) { return ref.part.text().empty() || Stands(ref); };
    const bool joint = !one.joint || std::any_of(joints.begin(), joints.end(), [&](const Joint& j) { return j.name == *one.joint; });
    bool all = joint && stands(one.a) && stands(one.b);
    for (const auto& [a, b] : one.gaps) all = all && stands(a) && stands(b);
    if (!one.formula) return all;
    for (const FormulaName& name : one.formula->names) all = all && stands(name.a) && (!name.b || stands(*name.b));
    return all;
  }

  void SayKept() {
    const auto say = [&](std::size_t count, const char* one, const char* many, const char* words) {
      if (count > 0) carried_.kept.push_back({fmt::format("{} {}", count, count == 1 ? one : many), words});
    };
    say(parts_kept_, "part", "parts", "as confirmed: the same solid, the sheet to the byte");
    say(parts_changed_, "part", "parts", "changed in the file: what was confirmed of each feature that is still there is kept");
    say(base().joints.size(), "joint", "joints", "kept");
    say(base().requirements.size(), "requirement", "requirements", "kept");
  }

  const files::Project& project_;
  const Machine& machine_;
  const solid::StepContents& contents_;
  const ShapesRead& shapes_;
  const WorkOptions& work_;
  std::map<PartId, std::vector<recognize::PartSource>> found_;
  std::size_t parts_kept_ = 0;
  std::size_t parts_changed_ = 0;
  CarriedProject carried_;
};

}  // namespace

Result<CarriedProject> CarryProject(const files::Project& confirmed, const solid::StepContents& contents,
                                    const ShapesRead& shapes, const WorkOptions& work) {
  return Carrier(confirmed, contents, shapes, work).Run();
}

}  // namespace fitwright::service
