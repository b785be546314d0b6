#include "fitwright/variation/assembly.h"

#include <algorithm>
#include <cmath>

#include "fitwright/base/hash.h"
#include "fitwright/variation/joint_limits.h"
#include "fitwright/variation/locate.h"

namespace fitwright::variation {
namespace {

// A frame at the joint: origin and axes in W.
struct JointFrame {
  Vec3 origin_W = Vec3::Zero();
  Vec3 normal_W = Vec3::UnitZ();
  std::array<Vec3, 2> axes_W;
};

std::uint64_t InstanceKey(const PlaceRequest& request, std::uint64_t salt) {
  return MixKeys(MixKeys(StableHash(request.part.text()), request.instance), salt);
}

const Joint* FirstOf(const PlaceRequest& request, JointKind kind) {
  for (const Joint* joint : request.joints) {
    if (joint->kind == kind) return joint;
  }
  return nullptr;
}

const Joint* FirstRound(const PlaceRequest& request) {
  for (const Joint* joint : request.joints) {
    if (IsRoundJoint(joint->kind)) return joint;
  }
  return nullptr;
}

const Joint* FirstFace(const PlaceRequest& request) {
  for (const Joint* joint : request.joints) {
    if (IsFaceJoint(joint->kind)) return joint;
  }
  return nullptr;
}

// What two features on one line share of it, from `on` along `z`; what `own` covers where they
// share less than a millimetre.
std::pair<double, double> SharedStretch(const Datum& own, const Datum& other, const Vec3& z) {
  const auto span = [&](const Datum& d) {
    const double a = z.dot(d.point_P_mm + d.from_mm * d.direction_P);
    const double b = z.dot(d.point_P_mm + d.to_mm * d.direction_P);
    return std::pair(std::min(a, b), std::max(a, b));
  };
  const auto [a0, a1] = span(own);
  const auto [b0, b1] = span(other);
  const double low = std::max(a0, b0);
  const double high = std::min(a1, b1);
  return high - low < 1 ? std::pair(a0, a1) : std::pair(low, high);
}

// A grub screw pushes a hub over by all of its play; nobody says which way: along the first axis.
FloatKind KindOfFloat(const Joint& joint) {
  const bool grub = joint.kind == JointKind::kHubOnShaft && joint.float_assumed;
  return grub ? FloatKind::kPushed : joint.float_kind;
}

class Placer {
 public:
  Placer(const AssemblyInput& input, const PlacedMap& placed, const PlaceRequest& request)
      : input_(input), placed_(placed), request_(request) {}

  Result<PlaceResult> Run() {
    if (request_.joints.empty()) return PlaceResult{};
    anchor_ = OtherEnd(*request_.joints.front(), request_.part).part;
    FindFrame();
    if (const auto ends = LineOfTwo()) {
      AddRoundEnd(*ends->first.joint, ends->first.at_W, 0);
      AddRoundEnd(*ends->second.joint, ends->second.at_W, 1);
      AddFaces();
    } else {
      AddFaces();
      if (!rows_.empty()) {
        if (!AddDowels()) AddInPlane();
      } else if (const Joint* round = FirstRound(request_)) {
        AddLongSpigot(*round);
      }
    }
    AddPins();
    AddRings();
    StayWithAnchor();
    const Result<Located> located = Locate(rows_);
    if (!located) return Unexpected(located.error());
    Pose X_WJ = Pose::Identity();
    X_WJ.translation() = frame_.origin_W;
    result_.t_W = Transformed(X_WJ, located->t);
    PlacedMap placed;
    if (!result_.plays.empty()) {
      placed = placed_;
      placed[request_.part] = result_.t_W;
    }
    for (std::size_t i = 0; i < result_.plays.size(); ++i) {
      Play& play = result_.plays[i];
      play.part = request_.part;
      play.anchor = anchor_;
      if (play_joints_[i] != nullptr) play.anchor = OtherEnd(*play_joints_[i], request_.part).part;
      if (const Status s = FillLimits(placed, play, play_joints_[i]); !s) return Unexpected(s.error());
    }
    return std::move(result_);
  }

 private:
  // Origin on the spigot's axis, else the middle of the holes, else of the face.
  void FindFrame() {
    const Joint* face = FirstFace(request_);
    const Joint* round = FirstRound(request_);
    const Joint* screws = FirstOf(request_, JointKind::kScrewedPattern);
    const Joint* leading = face != nullptr ? face : round != nullptr ? round : screws;
    if (leading == nullptr) leading = request_.joints.front();
    const FeatureRef& on_anchor = OtherEnd(*leading, request_.part);
    const Datum lead = DatumInW(*input_.machine, on_anchor);
    frame_.normal_W = lead.direction_P;
    frame_.origin_W = lead.kind == DatumKind::kAxis ? lead.middle_P_mm() : lead.point_P_mm;
    if (face != nullptr && round != nullptr) {
      const Datum axis = DatumInW(*input_.machine, OtherEnd(*round, request_.part));
      frame_.origin_W = axis.point_P_mm;
    } else if (face != nullptr && screws != nullptr) {
      frame_.origin_W = MiddleOfHoles(*input_.machine, OtherEnd(*screws, request_.part));
    }
    if (face != nullptr) {
      const Vec3& n = frame_.normal_W;
      frame_.origin_W += n * n.dot(lead.point_P_mm - frame_.origin_W);
    }
    frame_.axes_W = SquareTo(frame_.normal_W);
  }

  void AddFaces() {
    for (const Joint* joint : request_.joints) {
      if (!IsFaceJoint(joint->kind)) continue;
      const FeatureRef& own = EndOn(*joint, request_.part);
      const FeatureRef& other = OtherEnd(*joint, request_.part);
      const Region on_other = RegionInW(*input_.machine, other);
      const Region on_own = RegionInW(*input_.machine, own);
      std::uint64_t place = 0;
      for (const Vec3& p : TouchPoints(on_other, on_own)) {
        FormSum sum;
        AddMoveInW(sum, input_, placed_, other, p, on_other.normal);
        AddOwnMove(sum, own, p, on_other.normal, -1);
        Source burr;
        burr.key = MixKeys(InstanceKey(request_, StableHash(joint->name.text())), 0x6275 + place++);
        burr.law = Law::kHalfNormal;
        burr.spread = SpreadId::kBurrAtJoint;
        sum.Add(input_.sources->Add(burr), 1);
        AddRow(p, on_other.normal, sum.Take(), false);
      }
    }
  }

  // The own part's feature against its own frame, in W.
  void AddOwnMove(FormSum& sum, const FeatureRef& own, const Vec3& p, const Vec3& n,
                  double factor) const {
    PlacedMap still;
    AddMoveInW(sum, input_, still, own, p, n, factor);
  }

  void AddRow(const Vec3& p_W, const Vec3& n_W, Form move, bool turn) {
    LocatingRow row;
    row.point = p_W - frame_.origin_W;
    row.normal = n_W;
    row.move = std::move(move);
    row.turn = turn;
    row.may_repeat = true;
    rows_.push_back(std::move(row));
  }

  Form AnchorMove(const Vec3& p_W, const Vec3& n_W) const { return MoveOf(anchor_, p_W, n_W); }
  Form MoveOf(const PartId& part, const Vec3& p_W, const Vec3& n_W) const {
    const auto it = placed_.find(part);
    return it == placed_.end() ? Form{} : MoveAlong(it->second, p_W, n_W);
  }
  Form AnchorTurn(const Vec3& n_W) const {
    const auto it = placed_.find(anchor_);
    return it == placed_.end() ? Form{} : TurnAbout(it->second, n_W);
  }

  SourceIndex PlaySource(std::uint64_t salt) const {
    Source source;
    source.key = InstanceKey(request_, salt);
    source.law = Law::kPlay;
    source.spread = SpreadId::kJointPlay;
    return input_.sources->Add(source);
  }

  SourceIndex Residual(SpreadId spread, std::uint64_t salt, double unit) const {
    Source source;
    source.key = MixKeys(InstanceKey(request_, salt), StableHash(IdOf(spread)));
    source.law = Law::kNormal;
    source.spread = spread;
    source.unit = unit;
    return input_.sources->Add(source);
  }

  const Joint& FloatJoint() const {
    const Joint* screws = FirstOf(request_, JointKind::kScrewedPattern);
    const Joint* round = FirstRound(request_);
    return screws != nullptr ? *screws : round != nullptr ? *round : *request_.joints.front();
  }

  double PatternRadius() const {
    const Joint* screws = FirstOf(request_, JointKind::kScrewedPattern);
    double radius = 10;
    if (screws == nullptr) return radius;
    for (const Vec3& p : HolesInW(*input_.machine, OtherEnd(*screws, request_.part))) {
      radius = std::max(radius, (p - frame_.origin_W).norm());
    }
    return radius;
  }

  // Two moves and a turn in the face's plane, as far as the rows so far leave them.
  void AddInPlane() {
    const bool anything =
        FirstRound(request_) != nullptr || FirstOf(request_, JointKind::kScrewedPattern) != nullptr;
    if (!anything && !request_.clamped_by_marks) return;
    Play play;
    play.key = InstanceKey(request_, 0x706c6179);
    const Joint& joint = FloatJoint();
    play.kind = KindOfFloat(joint);
    play.words = joint.name.text();
    play.tx = PlaySource(1);
    play.ty = PlaySource(2);
    const bool pinned = FirstOf(request_, JointKind::kPinned) != nullptr;
    if (!pinned) play.theta = PlaySource(3);
    play.within.origin_W = frame_.origin_W;
    SetResidual(play);
    if (play.kind == FloatKind::kPushed) play.push = PushOf(joint);
    if (request_.before != nullptr) SetReturn(play);
    const Vec3& o = frame_.origin_W;
    AddRow(o, frame_.axes_W[0], Plus(AnchorMove(o, frame_.axes_W[0]), FormOf(play.tx)), false);
    AddRow(o, frame_.axes_W[1], Plus(AnchorMove(o, frame_.axes_W[1]), FormOf(play.ty)), false);
    if (!pinned)
      AddRow(o, frame_.normal_W, Plus(AnchorTurn(frame_.normal_W), FormOf(*play.theta)), true);
    result_.plays.push_back(std::move(play));
    play_joints_.push_back(nullptr);
  }

  // Unit, in the frame's axes; zero when the push stands square to them.
  Vec2 PushOf(const Joint& joint) const {
    if (joint.float_assumed) return Vec2::UnitX();
    const Vec2 push(joint.push_W.dot(frame_.axes_W[0]), joint.push_W.dot(frame_.axes_W[1]));
    return push.norm() > 1e-9 ? Vec2(push.normalized()) : Vec2(Vec2::Zero());
  }

  void SetResidual(Play& play) const {
    const bool adjusted =
        play.kind == FloatKind::kAdjustedByEye || play.kind == FloatKind::kAdjustedByIndicator;
    if (!adjusted && !request_.clamped_by_marks) return;
    const SpreadId spread =
        play.kind == FloatKind::kAdjustedByIndicator && !request_.clamped_by_marks
            ? SpreadId::kAdjustByIndicator
            : SpreadId::kAdjustByEye;
    play.has_residual = true;
    play.residual = {Residual(spread, 11, 1), Residual(spread, 12, 1),
                     Residual(spread, 13, 1 / PatternRadius())};
  }

  void SetReturn(Play& play) const {
    play.returns = true;
    play.before = {request_.before->tx, request_.before->ty, request_.before->theta.value_or(0)};
    play.before_turns = request_.before->theta.has_value();
    play.has_residual = true;
    const SpreadId spread = SpreadId::kReassemblyScrewed;
    play.residual = {Residual(spread, 21, 1), Residual(spread, 22, 1),
                     Residual(spread, 23, 1 / PatternRadius())};
  }

  // A shaft in a bore with no face to stand on: held at both ends of what they share.
  void AddLongSpigot(const Joint& joint) {
    const Datum own = DatumInW(*input_.machine, EndOn(joint, request_.part));
    const Datum other = DatumInW(*input_.machine, OtherEnd(joint, request_.part));
    const Vec3 z = other.direction_P;
    const auto [low, high] = SharedStretch(own, other, z);
    const double on_axis = z.dot(other.point_P_mm);
    AddRoundEnd(joint, other.point_P_mm + (low - on_axis) * z, 0);
    AddRoundEnd(joint, other.point_P_mm + (high - on_axis) * z, 1);
  }

  // Two contacts square to the axis, at `at_W`, with a play of their own.
  void AddRoundEnd(const Joint& joint, const Vec3& at_W, std::uint64_t end) {
    const PartId& on = OtherEnd(joint, request_.part).part;
    Play play;
    play.key = InstanceKey(request_, 0x656e6400 + end);
    play.kind = KindOfFloat(joint);
    play.words = joint.name.text();
    play.tx = PlaySource(31 + 2 * end);
    play.ty = PlaySource(32 + 2 * end);
    if (play.kind == FloatKind::kPushed) play.push = PushOf(joint);
    play.within.origin_W = at_W;
    AddRow(at_W, frame_.axes_W[0], Plus(MoveOf(on, at_W, frame_.axes_W[0]), FormOf(play.tx)),
           false);
    AddRow(at_W, frame_.axes_W[1], Plus(MoveOf(on, at_W, frame_.axes_W[1]), FormOf(play.ty)),
           false);
    result_.plays.push_back(std::move(play));
    play_joints_.push_back(&joint);
  }

  struct RoundEnd {
    const Joint* joint = nullptr;
    Vec3 at_W = Vec3::Zero();
  };
  // The two round joints furthest apart on one line, when they are to govern the direction.
  std::optional<std::pair<RoundEnd, RoundEnd>> LineOfTwo() const {
    std::vector<RoundEnd> ends;
    for (const Joint* joint : request_.joints) {
      if (!IsRoundJoint(joint->kind)) continue;
      const Datum own = DatumInW(*input_.machine, EndOn(*joint, request_.part));
      const Datum other = DatumInW(*input_.machine, OtherEnd(*joint, request_.part));
      if (std::abs(other.direction_P.dot(frame_.normal_W)) < 1 - 1e-6) continue;
      const Vec3 z = other.direction_P;
      const auto [low, high] = SharedStretch(own, other, z);
      ends.push_back(
          {joint, other.point_P_mm + (0.5 * (low + high) - z.dot(other.point_P_mm)) * z});
    }
    std::optional<std::pair<RoundEnd, RoundEnd>> best;
    double widest = FirstFace(request_) == nullptr ? 0 : FaceWidth(*FirstFace(request_));
    for (std::size_t i = 0; i < ends.size(); ++i) {
      for (std::size_t k = 0; k < i; ++k) {
        const Vec3 r = ends[i].at_W - ends[k].at_W;
        const double along = std::abs(r.dot(frame_.normal_W));
        const double aside = (r - frame_.normal_W * frame_.normal_W.dot(r)).norm();
        if (aside > 1 || along <= std::max(widest, 1.0)) continue;
        widest = along;
        best = std::pair(ends[k], ends[i]);
      }
    }
    return best;
  }

  // How wide the two faces touch. Of a bearing that carries the part only the inner ring touches:
  // about a third of its section (opinion).
  double FaceWidth(const Joint& joint) const {
    constexpr double kInnerRing = 0.3;
    const BoughtPart* bearing =
        input_.machine->FindBought(SheetIdOf(OtherEnd(joint, request_.part).part));
    const Feature* bore = bearing == nullptr ? nullptr : bearing->part.Find(FeatureId("bore"));
    const Feature* outside =
        bearing == nullptr ? nullptr : bearing->part.Find(FeatureId("outside"));
    if (bore != nullptr && outside != nullptr && bearing->kind == BoughtKind::kBearing) {
      return NominalSize_mm(*bore) +
             kInnerRing * (NominalSize_mm(*outside) - NominalSize_mm(*bore));
    }
    const Region own = RegionInW(*input_.machine, EndOn(joint, request_.part));
    const Region other = RegionInW(*input_.machine, OtherEnd(joint, request_.part));
    return 2 * std::min(std::max(own.half_u, own.half_v), std::max(other.half_u, other.half_v));
  }

  // Two dowels or more, square to the face: one holds the place in it, the one furthest off the turn.
  bool AddDowels() {
    for (const Joint* joint : request_.joints) {
      if (joint->kind != JointKind::kPinned) continue;
      const FeatureRef& own = EndOn(*joint, request_.part);
      const FeatureRef& other = OtherEnd(*joint, request_.part);
      const std::vector<Vec3> holes = HolesInW(*input_.machine, other);
      const Vec3 line = DatumInW(*input_.machine, other).direction_P;
      if (holes.size() < 2 || std::abs(line.dot(frame_.normal_W)) < 1 - 1e-6) continue;
      const auto apart = [&](const Vec3& p) { return (p - holes.front()).norm(); };
      const auto far = std::max_element(holes.begin(), holes.end(), [&](const Vec3& a, const Vec3& b) { return apart(a) < apart(b); });
      const Vec3 span = *far - holes.front();
      const Vec3 aside = frame_.normal_W.cross(span).normalized();
      bool placed = true;
      for (const Vec3& n : frame_.axes_W) placed = placed && AddDowelRow(own, other, holes.front(), n);
      if (placed && AddDowelRow(own, other, *far, aside)) return true;
    }
    return false;
  }

  // Read where the dowel passes the joint's face.
  bool AddDowelRow(const FeatureRef& own, const FeatureRef& other, const Vec3& hole_W, const Vec3& n) {
    const Vec3 p = hole_W + frame_.normal_W * frame_.normal_W.dot(frame_.origin_W - hole_W);
    FormSum sum;
    const bool there = AddHoleMoveInW(sum, input_, placed_, other, HoleAt(other, p), p, n, 1) &&
                       AddHoleMoveInW(sum, input_, {}, own, HoleAt(own, p), p, n, -1);
    if (there) AddRow(p, n, sum.Take(), false);
    return there;
  }

  std::size_t HoleAt(const FeatureRef& ref, const Vec3& p_W) const {
    const std::vector<Vec3> holes = HolesInW(*input_.machine, ref);
    const auto aside = [&](const Vec3& hole) {
      const Vec3 r = hole - p_W;
      return (r - frame_.normal_W * frame_.normal_W.dot(r)).norm();
    };
    const auto nearest = std::min_element(holes.begin(), holes.end(), [&](const Vec3& a, const Vec3& b) { return aside(a) < aside(b); });
    return static_cast<std::size_t>(nearest - holes.begin());
  }

  // A pin stands in both parts' holes: square to it they do not move against each other.
  void AddPins() {
    for (const Joint* joint : request_.joints) {
      if (joint->kind != JointKind::kPinned) continue;
      const FeatureRef& own = EndOn(*joint, request_.part);
      const FeatureRef& other = OtherEnd(*joint, request_.part);
      if (HolesInW(*input_.machine, own).size() > 1) continue;
      const Datum line = DatumInW(*input_.machine, own);
      for (const double at : {line.from_mm, line.to_mm}) {
        const Vec3 p = line.point_P_mm + at * line.direction_P;
        for (const Vec3& n : SquareTo(line.direction_P)) {
          FormSum sum;
          AddMoveInW(sum, input_, placed_, other, p, n);
          AddOwnMove(sum, own, p, n, -1);
          AddRow(p, n, sum.Take(), false);
        }
      }
    }
  }

  // A ring lies anywhere along its groove.
  void AddRings() {
    for (const Joint* joint : request_.joints) {
      if (joint->kind != JointKind::kRingInGroove) continue;
      const FeatureRef& own = EndOn(*joint, request_.part);
      const FeatureRef& other = OtherEnd(*joint, request_.part);
      const Datum ring = DatumInW(*input_.machine, own);
      const Datum groove = DatumInW(*input_.machine, other);
      const Vec3 p = ring.middle_P_mm();
      FormSum sum;
      AddMoveInW(sum, input_, placed_, other, p, groove.direction_P);
      AddOwnMove(sum, own, p, groove.direction_P, -1);
      const double room =
          std::abs(groove.to_mm - groove.from_mm) - std::abs(ring.to_mm - ring.from_mm);
      if (room > 0) {
        Source along;
        along.key = InstanceKey(request_, MixKeys(StableHash(joint->name.text()), 0x72696e67));
        along.law = Law::kUniform;
        along.spread = SpreadId::kJointPlay;
        along.unit = 0.5 * room * input_.spread_scale;
        sum.Add(input_.sources->Add(along), 1);
      }
      AddRow(p, groove.direction_P, sum.Take(), false);
    }
  }

  void StayWithAnchor() {
    const Vec3& o = frame_.origin_W;
    const std::array<Vec3, 3> axes = {frame_.axes_W[0], frame_.axes_W[1], frame_.normal_W};
    for (const Vec3& n : axes) AddRow(o, n, AnchorTurn(n), true);
    for (const Vec3& n : axes) AddRow(o, n, AnchorMove(o, n), false);
  }

  // placed: with the part itself. only: the round joint whose end the play is; none = all that limit the plane.
  Status FillLimits(const PlacedMap& placed, Play& play, const Joint* only) {
    std::vector<SourceIndex> without = {play.tx, play.ty};
    if (play.theta) without.push_back(*play.theta);
    FloatLimits& all = play.within;
    const Vec3 at = play.theta ? frame_.origin_W : all.origin_W;
    const bool whole_plane = only == nullptr && play.theta;
    all.origin_W = at;
    all.normal_W = frame_.normal_W;
    all.axes_W = frame_.axes_W;
    const LimitFrame in{at, frame_.normal_W, frame_.axes_W};
    int screws = 0;
    for (const Joint* listed : request_.joints) {
      if (only != nullptr && listed != only) continue;
      Joint joint = *listed;  // seen from the part that is placed
      if (joint.moving.part != request_.part) std::swap(joint.moving, joint.fixed);
      if (IsRoundJoint(joint.kind))
        AddSpigotLimit(input_, placed, joint, in, without, whole_plane ? nullptr : &at, all);
      if (joint.kind != JointKind::kScrewedPattern || !request_.screws_in || !whole_plane) continue;
      if (const Status s = AddScrewLimits(input_, placed, joint, in, without, true, screws, all);
          !s)
        return s;
    }
    return Ok{};
  }

  const AssemblyInput& input_;
  const PlacedMap& placed_;
  const PlaceRequest& request_;
  PartId anchor_;
  JointFrame frame_;
  std::vector<LocatingRow> rows_;
  PlaceResult result_;
  std::vector<const Joint*> play_joints_;  // beside result_.plays
};

}  // namespace

const FeatureRef& EndOn(const Joint& joint, const PartId& part) {
  return joint.fixed.part == part ? joint.fixed : joint.moving;
}
const FeatureRef& OtherEnd(const Joint& joint, const PartId& part) {
  return joint.fixed.part == part ? joint.moving : joint.fixed;
}
bool Joins(const Joint& joint, const PartId& part) {
  return joint.fixed.part == part || joint.moving.part == part;
}

std::vector<Joint> PlacingJoints(const Machine& machine) {
  std::vector<Joint> joints;
  for (const Joint& joint : machine.joints) {
    if (joint.kind == JointKind::kBelt) continue;
    joints.push_back(joint);
    for (const FeatureRef& ref : joint.between) joints.push_back(PairWith(machine, joint, ref));
  }
  return joints;
}

Result<PlaceResult> PlacePart(const AssemblyInput& input, const PlacedMap& placed,
                              const PlaceRequest& request) {
  return Placer(input, placed, request).Run();
}

}  // namespace fitwright::variation
