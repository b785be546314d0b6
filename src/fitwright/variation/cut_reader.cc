#include "fitwright/variation/cut_reader.h"

#include <algorithm>
#include <cmath>

#include "fitwright/base/hash.h"
#include "fitwright/variation/joint_limits.h"
#include "fitwright/variation/supplied.h"

namespace fitwright::variation {
namespace {

Unexpected NoPlanAt(const Step& step, std::string message, std::string remedy) {
  return Unexpected(Error{ErrorCode::kNoPlan,
                          fmt::format("step {}: {}", step.id.text(), message),
                          {},
                          std::move(remedy),
                          {}});
}

constexpr double kSettingRight_min = 12;  // slacked, a shim, tight, x and y found again, looked at again (opinion)

// What a shaft may lean in its hole, both at the middle of their limits: the play over the length that the two share.
double PlayReach_rad(const Machine& machine, const Joint& joint) {
  const Feature* a = FindFeature(machine, joint.fixed);
  const Feature* b = FindFeature(machine, joint.moving);
  if (a == nullptr || b == nullptr) return 0;
  const Datum one = DatumOf(*a);
  const Datum two = DatumOf(*b);
  const double shared_mm = std::min(std::abs(one.to_mm - one.from_mm), std::abs(two.to_mm - two.from_mm));
  return shared_mm > 0 ? std::abs(one.diameter_mm - two.diameter_mm) / shared_mm : 0;
}

bool IsCut(Operation operation) {
  switch (operation) {
    case Operation::kAssemble:
    case Operation::kTakeApart:
    case Operation::kMeasure:
    case Operation::kDeburr:
    case Operation::kWash:
    case Operation::kBond:
    case Operation::kCure:
    case Operation::kTrial:
      return false;
    default:
      return true;
  }
}

}  // namespace

CutReader::CutReader(const Machine& machine, const Shop& shop, const Plan& plan, const KnownSetups* known, Analysis& out)
    : machine_(machine), shop_(shop), plan_(plan), known_(known), out_(out), joints_(PlacingJoints(machine)), wet_(SettledWhileWet(machine, plan, known)) {
  assembly_ = {&machine_, &out_.features, &out_.sources, shop_.spread_scale};
  for (std::size_t i = 0; i < plan_.setups.size(); ++i) {
    const Setup& setup = WholeSetup(plan_, known_, i);
    for (const PartPose& pose : setup.parts) named_.insert(pose.part);
    for (const Step& step : setup.steps) {
      if (IsCut(step.operation))
        listed_.insert(listed_.end(), step.features.begin(), step.features.end());
    }
  }
  std::sort(listed_.begin(), listed_.end());
}

Status CutReader::Run() {
  for (const std::vector<PartUse>* list : {&machine_.uses, &machine_.bought_uses}) {
    for (const PartUse& use : *list) {
      for (std::size_t n = 1; n <= use.copies_X_WP.size() + 1; ++n)
        AddSupplied(assembly_, CopyOf(use.part, n), out_.features);
    }
  }
  for (std::size_t i = 0; i < plan_.setups.size(); ++i) {
    out_.sources.ComeFrom(static_cast<int>(i));
    const std::uint64_t history = known_ != nullptr && i < known_->setups.size() ? known_->setups[i].history : 0;
    const Setup& setup = WholeSetup(plan_, known_, i);
    if (const Status s = ReadOrRecall(setup, history); !s) return s;
    if (const Status s = ReadForCopies(setup); !s) return s;
  }
  out_.sources.ComeFrom(-1);
  ShareWithCopies();
  for (const auto& [part, t] : last_seat_P_) {
    if (t != nullptr) out_.seats[part] = *t;
  }
  return Ok{};
}

namespace {

// The setup with the sheet's part put as its copy.
Setup ForCopy(Setup setup, const PartId& sheet, const PartId& copy) {
  const auto rename = [&](PartId& part) {
    if (part == sheet) part = copy;
  };
  for (PartPose& pose : setup.parts) rename(pose.part);
  for (Contact& contact : setup.contacts) rename(contact.surface.part);
  for (Step& step : setup.steps) {
    for (FeatureRef& ref : step.features) rename(ref.part);
    for (PartId& part : step.parts) rename(part);
    if (step.through) rename(step.through->part);
    if (step.aim && step.aim->mate) rename(step.aim->mate->part);
  }
  return setup;
}

}  // namespace

// A plan that makes a part several times alike lists its setups once: each copy that stands in the
// machine goes through them on its own. Setups that hold other parts too are not gone through
// again.
Status CutReader::ReadForCopies(const Setup& setup) {
  if (setup.parts.size() != 1) return Ok{};
  const PartId& sheet = setup.parts.front().part;
  const PartUse* use = machine_.FindUse(sheet);
  if (use == nullptr || use->part != sheet) return Ok{};
  for (std::size_t n = 2; n <= use->copies_X_WP.size() + 1; ++n) {
    const PartId copy = CopyOf(sheet, n);
    if (named_.contains(copy)) continue;
    const Setup own = ForCopy(setup, sheet, copy);
    if (const Status s = ReadSetup(own); !s) return s;
  }
  return Ok{};
}

// What the plan made of a part only together with others is taken to be alike on its copies.
void CutReader::ShareWithCopies() {
  for (const PartUse& use : machine_.uses) {
    const Part* part = machine_.FindPart(use.part);
    for (std::size_t n = 2; part != nullptr && n <= use.copies_X_WP.size() + 1; ++n) {
      for (const Feature& feature : part->features) {
        const auto made = out_.features.find({use.part, feature.name});
        FeatureForms& own = out_.features[{CopyOf(use.part, n), feature.name}];
        if (made != out_.features.end() && !own.made) own = made->second;
      }
    }
  }
}

Status CutReader::ReadSetup(const Setup& setup) {
  now_ = SetupState{};
  now_.setup = &setup;
  now_.machine = shop_.Find(setup.machine);
  if (setup.parts.empty()) return Ok{};
  for (const PartPose& pose : setup.parts) {
    if (FindSheet(machine_, pose.part) == nullptr) {
      return Unexpected(Error{
          ErrorCode::kUnknownPart,
          fmt::format("setup {} holds {}, which is no part", setup.id.text(), pose.part.text()),
          pose.part.text(),
          "name a part of the machine",
          {}});
    }
  }
  if (const Status s = SeatPiece(setup); !s) return s;
  for (const Step& step : setup.steps) {
    if (const Status s = ReadStep(step); !s) return s;
  }
  return Ok{};
}

// Same part, machine, device, way up and datums: the same seat, counted when it comes again.
std::uint64_t CutReader::SetupKey(const Setup& setup) {
  std::uint64_t key = StableHash(setup.parts.front().part.text());
  key = MixKeys(key, StableHash(setup.machine.text(), StableHash(setup.device.text())));
  key = MixKeys(key, static_cast<std::uint64_t>(setup.holding));
  const auto& R = setup.parts.front().X_PS.linear();
  for (int i = 0; i < 9; ++i)
    key = MixKeys(key, static_cast<std::uint64_t>(std::llround(R(i / 3, i % 3) * 1000) + 2000));
  for (const Contact& c : setup.contacts) {
    key = MixKeys(key, MixKeys(static_cast<std::uint64_t>(c.kind), KeyOf(c.surface)));
  }
  if (noted_ != nullptr) noted_->seats.push_back(key);
  return MixKeys(key, static_cast<std::uint64_t>(setup_counts_[key]++));
}

Status CutReader::SeatPiece(const Setup& setup) {
  const PartId& part = setup.parts.front().part;
  const bool bench = now_.machine == nullptr || now_.machine->kind == MachineToolKind::kBench ||
                     setup.holding == HoldingKind::kBench;
  if (setup.keeps_chucking && last_seat_P_.contains(part)) {
    now_.t_P = last_seat_P_[part];
    now_.key = last_setup_key_[part];
    return Ok{};
  }
  now_.key = SetupKey(setup);
  if (bench && setup.contacts.empty()) return Ok{};
  SeatInput input;
  input.machine = &machine_;
  input.shop = &shop_;
  input.setup = &setup;
  input.setup_key = now_.key;
  input.sources = &out_.sources;
  input.move = [this](FormSum& sum, const Contact& c, double factor) {
    const auto it = out_.features.find(c.surface);
    if (it == out_.features.end() || !it->second.made) return;
    const Feature* feature = FindFeature(machine_, c.surface);
    const auto* bore = feature == nullptr ? nullptr : std::get_if<Hole>(&feature->shape);
    const bool inside = c.kind == ContactKind::kMandrel || c.kind == ContactKind::kBoreCentred;
    if (inside && bore != nullptr && it->second.holes.size() == 1) {  // as deep as it is touched
      const double depth = bore->into_P.dot(c.point_P_mm - bore->entries_P_mm.front());
      AddHoleMove(sum, it->second.holes.front(), c.point_P_mm, depth, c.normal_P, factor);
    } else {
      AddFeatureMove(sum, it->second, c.point_P_mm, c.normal_P, factor);
    }
    const bool pushed_on = c.kind == ContactKind::kBed || c.kind == ContactKind::kFixedJaw ||
                           c.kind == ContactKind::kStop || c.kind == ContactKind::kTouchedOff;
    if (feature != nullptr && std::holds_alternative<OuterDiameter>(feature->shape) && pushed_on) {
      // The outside stands off its axis by half its size, against the contact's normal.
      sum.Add(it->second.size, -0.5 * factor);
      sum.Add(0.5 * factor * NominalSize_mm(*feature));
    }
  };
  const Result<Seat> seat = CalcSeat(input);
  if (!seat) return Unexpected(seat.error());
  if (const Status s = CheckFreedoms(input, *seat); !s) return s;
  Form6 t_P = Transformed(setup.parts.front().X_PS, seat->t_S);
  SetUnderSpindle(setup, t_P);
  now_.t_P = std::make_shared<const Form6>(std::move(t_P));
  last_seat_P_[part] = now_.t_P;
  last_setup_key_[part] = now_.key;
  return Ok{};
}

void CutReader::AddSetting(double minutes) {
  out_.setting_min += minutes;
  if (noted_ != nullptr) noted_->setting_min += minutes;
}

void CutReader::SetUnderSpindle(const Setup& setup, Form6& t_P) {
  for (const Step& step : setup.steps) {
    if (!step.settles || !IsCut(step.operation) || step.features.empty()) continue;
    const auto r = std::find_if(machine_.requirements.begin(), machine_.requirements.end(),
                                [&](const Requirement& q) { return q.name == step.settles->requirement; });
    if (r == machine_.requirements.end()) continue;
    const FeatureRef& own = step.features.front();
    const FeatureRef other{own.part, r->a.feature == own.feature ? r->b.feature : r->a.feature};
    const Feature* bore = FindFeature(machine_, own);
    const Feature* earlier = FindFeature(machine_, other);
    if (bore != nullptr && earlier != nullptr)
      AddSetting(kSettingRight_min *
                 SetBore(out_.sources, out_.figures, out_.features, {&*r, *step.settles}, *bore, other, *earlier, now_.key, t_P));
  }
}

void CutReader::SetWhileWet(const PlaceRequest& request, const PlacedMap& placed, Form6& t_W) const {
  const auto bonded = std::find_if(request.joints.begin(), request.joints.end(), [](const Joint* j) { return j->kind == JointKind::kBonded; });
  if (bonded == request.joints.end()) return;
  const WetJoint joint{DatumInW(machine_, EndOn(**bonded, request.part)).middle_P_mm(), PlayReach_rad(machine_, **bonded)};
  for (const SettledLean& settled : wet_)
    SetJoined(assembly_, out_.figures, placed, settled, request.part, joint, MixKeys(StableHash(request.part.text()), request.instance), t_W);
}

Pose CutReader::PoseInSetup(const PartId& part) const {
  for (const PartPose& pose : now_.setup->parts) {
    if (pose.part == part) return pose.X_PS;
  }
  return Pose::Identity();
}

std::shared_ptr<const Form6> CutReader::BaseOf(const PartId& part) {
  if (now_.t_P == nullptr) return nullptr;
  const auto it = now_.base.find(part);
  if (it != now_.base.end()) return it->second;
  const PartId& held = now_.setup->parts.front().part;
  std::shared_ptr<const Form6> base;
  if (part == held) {
    base = std::make_shared<const Form6>(Scaled(*now_.t_P, -1));
  } else {
    const Pose X_MP = PoseInSetup(part) * PoseInSetup(held).inverse();
    Form6 t = Transformed(X_MP, *now_.t_P);
    if (const auto rel_W = StillTogether(part, held)) {
      const Pose X_WP = FindPlace(machine_, part).value_or(Pose::Identity());
      t = Plus(t, Transformed(Pose(X_WP.inverse()), *rel_W));
    }
    base = std::make_shared<const Form6>(Scaled(t, -1));
  }
  now_.base[part] = base;
  return base;
}

Status CutReader::ReadStep(const Step& step) {
  if (step.operation == Operation::kAssemble) return Assemble(step);
  if (step.operation == Operation::kTakeApart) {
    TakeApart(step);
    return Ok{};
  }
  if (step.operation == Operation::kMeasure) {
    for (const FeatureRef& ref : step.features) {
      const auto it = out_.features.find(ref);
      if (noted_ != nullptr && it != out_.features.end()) noted_->features.insert(ref);
      if (it != out_.features.end() && step.measure)
        it->second.measured_with = step.measure->instrument;
    }
    return Ok{};
  }
  if (step.operation == Operation::kTrial && step.aim && step.measure)
    trials_[step.aim->closes] = step.measure->instrument;
  if (!IsCut(step.operation)) return Ok{};
  std::vector<PartId> cut;
  for (const FeatureRef& ref : step.features) {
    if (const Status s = Cut(step, ref); !s) return s;
    if (std::find(cut.begin(), cut.end(), ref.part) == cut.end()) cut.push_back(ref.part);
  }
  if (cut.size() < 2) return Ok{};
  for (const PartId& part : cut) {
    const auto play = current_play_.find(part);
    if (play != current_play_.end()) cut_together_[part] = play->second;
  }
  return Ok{};
}

Status CutReader::Cut(const Step& step, const FeatureRef& ref) {
  const Feature* feature = FindFeature(machine_, ref);
  if (feature == nullptr) {
    return Unexpected(
        Error{ErrorCode::kUnknownFeature,
              fmt::format("step {} cuts {}, which no sheet has", step.id.text(), ref.text()),
              ref.text(),
              "name a feature of the part",
              {}});
  }
  if (noted_ != nullptr) noted_->features.insert(ref);
  FeatureForms& forms = out_.features[ref];
  if (const auto* hole = std::get_if<Hole>(&feature->shape)) {
    const FeatureRef& lead = step.features.front();
    const Feature* upper = lead.part == ref.part ? nullptr : FindFeature(machine_, lead);
    const bool follows = upper != nullptr && std::holds_alternative<Hole>(upper->shape);
    if (const Status s = follows ? FollowHoles(step, lead, ref, *hole, forms)
                                 : CutHoles(step, ref, *hole, forms);
        !s)
      return s;
  } else if (const auto* face = std::get_if<PlanarFace>(&feature->shape)) {
    if (const Status s = CutFace(step, ref, *face, forms); !s) return s;
  } else if (std::holds_alternative<OuterDiameter>(feature->shape) ||
             std::holds_alternative<Groove>(feature->shape) ||
             std::holds_alternative<Taper>(feature->shape)) {
    CutRound(step, ref, *feature, forms);
  } else {
    CutShape(step, ref, *feature, forms);
  }
  if (step.measure) forms.measured_with = step.measure->instrument;
  return CutImplied(step, ref, *feature);
}

// Floors and shoulders that no step names are made by the cut that leaves them.
Status CutReader::CutImplied(const Step& step, const FeatureRef& ref, const Feature& feature) {
  if (std::holds_alternative<PlanarFace>(feature.shape) || step.operation == Operation::kSpot ||
      step.operation == Operation::kSpotThrough || step.operation == Operation::kTap) {
    return Ok{};
  }
  const Part* part = FindSheet(machine_, ref.part);
  for (const Feature& other : part->features) {
    if (!IsFloorOf(other, feature)) continue;
    const FeatureRef floor{ref.part, other.name};
    const FeatureRef listed{named_.contains(ref.part) ? ref.part : SheetIdOf(ref.part), other.name};
    if (std::binary_search(listed_.begin(), listed_.end(), listed)) continue;
    const auto& face = std::get<PlanarFace>(other.shape);
    if (noted_ != nullptr) noted_->features.insert(floor);
    if (const Status s = CutFace(step, floor, face, out_.features[floor]); !s) return s;
  }
  return Ok{};
}

Status CutReader::Assemble(const Step& step) {
  now_.base.clear();
  const PartId held = now_.setup->parts.front().part;
  if (!group_of_.contains(held)) {
    group_of_[held] = held;
    groups_[held][held] = Form6{};
  }
  std::vector<PartId> coming = step.parts;
  if (coming.empty()) {
    for (const PartPose& pose : now_.setup->parts) {
      if (pose.part != held) coming.push_back(pose.part);
    }
  }
  const PartId group = group_of_[held];
  for (const PartId& part : coming) {
    if (FindSheet(machine_, part) == nullptr)
      return NoPlanAt(step, part.text() + " is no part of the machine", "name one");
    groups_[group].erase(part);
    PlaceRequest request;
    request.part = part;
    request.instance = MixKeys(0x61736d, instances_[part]++);
    request.clamped_by_marks = true;
    for (const Joint& joint : joints_) {
      const bool asked = step.joints.empty() || std::find(step.joints.begin(), step.joints.end(),
                                                          joint.name) != step.joints.end();
      // A pin places nothing before its holes are there.
      const auto made = [&](const FeatureRef& ref) {
        const auto it = out_.features.find(ref);
        return it != out_.features.end() && it->second.made;
      };
      if (joint.kind == JointKind::kPinned && !(made(joint.fixed) && made(joint.moving))) continue;
      if (asked && Joins(joint, part) && groups_[group].contains(OtherEnd(joint, part).part))
        request.joints.push_back(&joint);
    }
    if (request.joints.empty()) {
      return NoPlanAt(step, fmt::format("no joint puts {} on {}", part.text(), held.text()),
                      "name the joint that holds it");
    }
    Result<PlaceResult> placed = PlacePart(assembly_, groups_[group], request);
    if (!placed) return Unexpected(placed.error());
    SetWhileWet(request, groups_[group], placed->t_W);
    groups_[group][part] = placed->t_W;
    group_of_[part] = group;
    current_play_.erase(part);
    for (Play& play : placed->plays) {
      if (play.theta) current_play_[part] = play;
      out_.plays.push_back(std::move(play));
    }
  }
  return Ok{};
}

void CutReader::TakeApart(const Step& step) {
  now_.base.clear();
  std::vector<PartId> going = step.parts;
  const PartId held = now_.setup->parts.front().part;
  if (going.empty()) {
    for (const PartPose& pose : now_.setup->parts) {
      if (pose.part != held) going.push_back(pose.part);
    }
  }
  for (const PartId& part : going) {
    const auto it = group_of_.find(part);
    if (it == group_of_.end()) continue;
    groups_[it->second].erase(part);
    group_of_.erase(it);
    current_play_.erase(part);
  }
}

std::optional<Form6> CutReader::StillTogether(const PartId& part, const PartId& to) const {
  const auto a = group_of_.find(part);
  const auto b = group_of_.find(to);
  if (a == group_of_.end() || b == group_of_.end() || a->second != b->second) return std::nullopt;
  const PlacedMap& group = groups_.at(a->second);
  return Plus(group.at(part), group.at(to), -1);
}

const Play* CutReader::CutTogetherIn(const PartId& part) const {
  const auto it = cut_together_.find(part);
  return it == cut_together_.end() ? nullptr : &it->second;
}

SourceIndex CutReader::Draw(SpreadId spread, Law law, std::uint64_t scope, double unit,
                            std::uint64_t salt, double extra) {
  Source source;
  source.key = MixKeys(MixKeys(StableHash(IdOf(spread)), scope), salt);
  source.size_key = scope;
  source.law = law;
  source.spread = spread;
  source.unit = unit;
  source.extra = extra;
  return out_.sources.Add(source);
}

// The first cut of its kind on a hole or feature keeps its numbers whatever else the plan does.
std::uint64_t CutReader::VisitKey(const Step& step, const FeatureRef& ref, std::size_t hole) {
  std::uint64_t key = MixKeys(KeyOf(ref), static_cast<std::uint64_t>(step.operation));
  key = MixKeys(key, hole);
  if (noted_ != nullptr) noted_->visits.push_back(key);
  return MixKeys(key, static_cast<std::uint64_t>(visit_counts_[key]++));
}

int CutReader::PartIndex(const PartId& part) {
  for (const PartId& id : {part, SheetIdOf(part)}) {
    for (std::size_t i = 0; i < out_.parts.size(); ++i) {
      if (out_.parts[i].part == id) return static_cast<int>(i);
    }
  }
  return -1;
}

}  // namespace fitwright::variation
