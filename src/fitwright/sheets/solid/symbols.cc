#include "fitwright/sheets/solid/symbols.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "fitwright/sheets/hole_labels.h"
#include "fitwright/sheets/words.h"

namespace fitwright::sheets {
namespace {

constexpr double kZeroRadius_mm = 2.2;
constexpr double kArrow_mm = 10;
constexpr double kLetterBox_mm = 5;
constexpr double kClearOfZero_mm = 19;

Vec2 Turned(const Vec2& v) { return {-v.y(), v.x()}; }

// Middle of the letters at an arrow's tip.
Vec2 LettersOf(const Vec2& from, const Vec2& direction) { return from + (kArrow_mm + 3.2) * direction; }

void Arrow(const Vec2& from, const Vec2& direction, const std::string& text, Svg& svg) {
  const Vec2 tip = from + kArrow_mm * direction;
  svg.Line(from, tip, Stroke::kVisible);
  svg.Polygon({tip, tip - 3 * direction + 1 * Turned(direction),
               tip - 3 * direction - 1 * Turned(direction)},
              true);
  const Vec2 at = LettersOf(from, direction) + Vec2(0, 1.25);
  const double width = TextWidth_mm(text, 2.5, true) + 0.6;
  svg.Blank(at - Vec2(0.5 * width, 3), {width, 3.5});
  svg.Text(at, 2.5, text, Anchor::kMiddle, true);
}

void Quadrant(const Vec2& centre, double from_deg, Svg& svg) {
  std::vector<Vec2> points = {centre};
  for (int i = 0; i <= 6; ++i) {
    const double a = (from_deg + 15 * i) * kRadPerDeg;
    points.push_back(centre + kZeroRadius_mm * Vec2(std::cos(a), std::sin(a)));
  }
  svg.Polygon(points, true);
}

// Axes that the view shows, as the dials count up.
std::vector<std::pair<Vec2, std::string>> AxesOnPaper(const Setup& setup, const MachineTool* machine, const ViewFrame& frame) {
  static const char* const kNames[3] = {"X+", "Y+", "Z+"};
  const bool lathe = machine != nullptr && machine->kind == MachineToolKind::kLathe;
  const int senses[3] = {machine != nullptr ? machine->x_sense : 1, machine != nullptr ? machine->y_sense : 1,
                         machine != nullptr ? machine->z_sense : 1};
  std::vector<std::pair<Vec2, std::string>> axes;
  for (int axis = 0; axis < 3 && !setup.contacts.empty(); ++axis) {
    if (lathe && axis == 1) continue;
    const Vec2 direction = frame.Direction(Vec3(senses[axis] * Vec3::Unit(axis)));
    if (direction.norm() > 0) axes.emplace_back(direction, kNames[axis]);
  }
  return axes;
}

Vec3 PointOf(const Setup& setup, const Contact& contact) {
  for (const PartPose& p : setup.parts) {
    if (p.part == contact.surface.part) return p.X_PS.inverse() * contact.point_P_mm;
  }
  return setup.parts.front().X_PS.inverse() * contact.point_P_mm;
}

Vec3 OutOf(const Setup& setup, const Contact& contact) {
  for (const PartPose& p : setup.parts) {
    if (p.part == contact.surface.part) return p.X_PS.linear().transpose() * -contact.normal_P;
  }
  return -contact.normal_P;
}

bool InChuck(HoldingKind holding) {
  switch (holding) {
    case HoldingKind::kThreeJaw:
    case HoldingKind::kThreeJawShort:
    case HoldingKind::kFourJaw:
    case HoldingKind::kCollet:
    case HoldingKind::kFaceplate:
    case HoldingKind::kStubMandrel:
    case HoldingKind::kBetweenCentres: return true;
    default: return false;
  }
}

// A surface carries one letter, however often it is touched; raw stock one for each of its sides, and a
// raw bar one all round.
bool SameSurface(const DatumMark& mark, const Contact& contact, const Vec3& out_S, bool chuck) {
  if (mark.surface != contact.surface) return false;
  if (!contact.surface.feature.empty() || mark.out_S.dot(out_S) > 0.9) return true;
  return chuck && std::abs(mark.out_S.z()) < 0.3 && std::abs(out_S.z()) < 0.3;
}

// In a chuck a raw contact beside finished ones only says which way round the piece happens to sit.
bool IsIdle(const Setup& setup, const Contact& contact) {
  return contact.surface.feature.empty() && InChuck(setup.holding) &&
         std::any_of(setup.contacts.begin(), setup.contacts.end(),
                     [](const Contact& c) { return !c.surface.feature.empty(); });
}

// On a round surface the letter stands where the surface is seen edge on: at its limb.
Vec3 LimbPoint(const SetupPicture& picture, const Contact& contact, const Vec3& point_S,
               const Vec3& out_S) {
  const Feature* feature = picture.machine.Find(contact.surface);
  const auto* round = feature == nullptr ? nullptr : std::get_if<OuterDiameter>(&feature->shape);
  if (round == nullptr) return point_S;
  for (const PartPose& p : picture.setup.parts) {
    if (p.part != contact.surface.part) continue;
    const Pose X_SP = p.X_PS.inverse();
    const Vec3 axis = X_SP.linear() * round->axis_P.direction;
    const Vec3 centre = X_SP * round->axis_P.point_mm;
    if (std::abs(axis.dot(out_S)) > 0.1) return point_S;
    return centre + axis * axis.dot(point_S - centre) + 0.5 * round->diameter.middle_mm() * out_S;
  }
  return point_S;
}

// A hole that the piece is centred or turned by is seen from its end as a circle.
void StandAtWall(const SetupPicture& picture, DatumMark& mark) {
  const Feature* feature = picture.machine.Find(mark.surface);
  const auto* hole = feature == nullptr ? nullptr : std::get_if<Hole>(&feature->shape);
  if (hole == nullptr || hole->entries_P_mm.size() != 1) return;
  for (const PartPose& p : picture.setup.parts) {
    if (p.part != mark.surface.part) continue;
    const Pose X_SP = p.X_PS.inverse();
    mark.bore_S = Axis3{X_SP * hole->entries_P_mm.front(), X_SP.linear() * hole->into_P};
    mark.radius_mm = 0.5 * hole->diameter.middle_mm();
  }
}

std::vector<Vec3> PlungePoints(const Step& step) {
  std::vector<Vec3> points;
  for (const PathPiece& piece : step.path) {
    if (piece.kind != PathKind::kPlunge) continue;
    points.insert(points.end(), piece.points_S_mm.begin(), piece.points_S_mm.end());
  }
  return points;
}

double RadiusOf(const SetupPicture& picture, const PlaceGroup& group) {
  double radius_mm = 0;
  for (const Step* step : group.steps) {
    const Tool* tool = picture.shop.Find(step->tool);
    if (tool != nullptr && tool->kind == ToolKind::kDrill) {
      radius_mm = std::max(radius_mm, 0.5 * tool->diameter_mm);
    }
    for (const FeatureRef& ref : step->features) {
      const Feature* feature = picture.machine.Find(ref);
      const auto* hole = feature == nullptr ? nullptr : std::get_if<Hole>(&feature->shape);
      if (hole != nullptr) radius_mm = std::max(radius_mm, 0.5 * hole->diameter.middle_mm());
    }
  }
  return radius_mm;
}

// What sets the turn is felt by a square, a stylus or a pin: the setup's words say which.
std::string ContactText(ContactKind kind) { return kind == ContactKind::kSetBySquare ? "sets the turn" : NameText(WordOf(kind)); }

}  // namespace

std::vector<DatumMark> FindDatums(const SetupPicture& picture) {
  const Setup& setup = picture.setup;
  std::vector<DatumMark> marks;
  std::vector<int> counts;
  for (const Contact& contact : setup.contacts) {
    // Nothing is counted from a stop where the cuts run right across: none is set then.
    const bool no_stop = contact.kind == ContactKind::kStop && !InChuck(setup.holding) && setup.zero.x_from.part.empty();
    if (no_stop || contact.surface.part.empty() || IsIdle(setup, contact)) continue;
    const Vec3 out_S = OutOf(setup, contact);
    const Vec3 point_S = LimbPoint(picture, contact, PointOf(setup, contact), out_S);
    const auto same = std::find_if(marks.begin(), marks.end(), [&](const DatumMark& m) {
      return SameSurface(m, contact, out_S, InChuck(setup.holding));
    });
    if (same == marks.end()) {
      marks.push_back({static_cast<char>('A' + marks.size()), contact.surface,
                       ContactText(contact.kind), point_S, out_S});
      StandAtWall(picture, marks.back());
      counts.push_back(1);
      continue;
    }
    int& count = counts[static_cast<std::size_t>(same - marks.begin())];
    if (same->out_S.dot(out_S) > 0.99) {  // round surfaces keep the first point
      same->point_S_mm = (same->point_S_mm * count + point_S) / (count + 1);
      ++count;
    }
    const std::string by = ContactText(contact.kind);
    if (same->by.find(by) == std::string::npos) same->by += ", " + by;
  }
  return marks;
}

namespace {

struct DatumPlace {
  char letter = 'A';
  Vec2 on = Vec2::Zero();    // the surface
  Vec2 out = Vec2::Zero();
  Vec2 base = Vec2::Zero();  // the triangle's tip
  Vec2 box = Vec2::Zero();   // middle of the letter's frame
};

std::optional<DatumPlace> PlaceOf(const DatumMark& mark, const ViewFrame& frame, double clear_of_zero_mm = kClearOfZero_mm) {
  const Vec3 sight = frame.view().to_eye.normalized();
  if (std::abs(mark.out_S.dot(sight)) > 0.2) return std::nullopt;
  DatumPlace place;
  place.letter = mark.letter;
  place.out = frame.Direction(mark.out_S);
  place.on = frame.ToPaper(mark.point_S_mm);
  const Vec2 from_zero = place.on - frame.ToPaper(Vec3(Vec3::Zero()));
  if (from_zero.norm() < clear_of_zero_mm) {
    const double side = from_zero.dot(Turned(place.out)) < 0 ? -1 : 1;
    place.on += side * (clear_of_zero_mm - from_zero.norm()) * Turned(place.out);
  }
  place.base = place.on + 2.6 * place.out;
  place.box = place.base + (1.6 + 0.5 * kLetterBox_mm) * place.out;
  return place;
}

// Round the wall of a bore seen from its end, where it first stands clear of what is there.
std::optional<DatumPlace> AtWall(const DatumMark& mark, const ViewFrame& frame, const std::vector<Vec2>& taken) {
  constexpr double kClear_mm = kLetterBox_mm + 1.5;
  if (!mark.bore_S || std::abs(mark.bore_S->direction.dot(frame.view().to_eye.normalized())) < 0.99) return std::nullopt;
  for (const double turn_deg : {45.0, -45.0, 135.0, -135.0, 0.0, 90.0, -90.0, 180.0}) {  // between the axes' arrows first
    DatumMark turned = mark;
    turned.out_S = Eigen::AngleAxisd(turn_deg * kRadPerDeg, mark.bore_S->direction) * mark.out_S;
    turned.point_S_mm = mark.bore_S->point_mm + mark.radius_mm * turned.out_S;
    auto place = PlaceOf(turned, frame, 0);
    if (!place) continue;
    const bool clear = std::all_of(taken.begin(), taken.end(),
                                   [&](const Vec2& t) { return (place->box - t).cwiseAbs().maxCoeff() >= kClear_mm - 1e-9; });
    if (clear) return place;
  }
  return std::nullopt;
}

// Slid along its surface until it stands clear of what is there.
DatumPlace Slid(DatumPlace place, const std::vector<Vec2>& taken) {
  constexpr double kClear_mm = kLetterBox_mm + 1.5;
  for (const double slide : {0.0, 1.0, -1.0, 2.0, -2.0, 3.0, -3.0}) {
    const Vec2 by = slide * kClear_mm * Turned(place.out);
    const bool clear = std::all_of(taken.begin(), taken.end(),
                                   [&](const Vec2& t) { return (place.box + by - t).cwiseAbs().maxCoeff() >= kClear_mm - 1e-9; });
    if (!clear) continue;
    for (Vec2* p : {&place.on, &place.base, &place.box}) *p += by;
    return place;
  }
  return place;
}

std::vector<Vec2> AxisLetters(const SetupPicture& picture, const ViewFrame& frame) {
  std::vector<Vec2> places;
  const MachineTool* machine = picture.shop.Find(picture.setup.machine);
  for (const auto& [direction, name] : AxesOnPaper(picture.setup, machine, frame))
    places.push_back(LettersOf(frame.ToPaper(Vec3(Vec3::Zero())), direction));
  return places;
}

std::vector<DatumPlace> DatumPlaces(const SetupPicture& picture, const ViewFrame& frame) {
  std::vector<Vec2> taken = AxisLetters(picture, frame);
  std::vector<DatumPlace> places;
  for (const DatumMark& mark : FindDatums(picture)) {
    const auto place = PlaceOf(mark, frame);
    if (!place) continue;
    places.push_back(AtWall(mark, frame, taken).value_or(Slid(*place, taken)));
    taken.push_back(places.back().box);
  }
  return places;
}

}  // namespace

std::vector<Vec2> MarkPlaces(const SetupPicture& picture, const ViewFrame& frame) {
  std::vector<Vec2> places = AxisLetters(picture, frame);
  for (const DatumPlace& place : DatumPlaces(picture, frame)) places.push_back(place.box);
  return places;
}

void DrawDatums(const SetupPicture& picture, const ViewFrame& frame, Svg& svg) {
  for (const auto& [letter, on, out, base, box] : DatumPlaces(picture, frame)) {
    svg.Polygon({on + 1.5 * Turned(out), on - 1.5 * Turned(out), base}, true);
    svg.Line(base, box, Stroke::kThin);
    const Vec2 half(0.5 * kLetterBox_mm, 0.5 * kLetterBox_mm);
    svg.Blank(box - half, 2 * half);
    svg.Box(box - half, 2 * half, Stroke::kThin);
    svg.Text(box + Vec2(0, 1.25), 2.5, std::string(1, letter), Anchor::kMiddle, true);
  }
}

void DrawZero(const Setup& setup, const MachineTool* machine, const ViewFrame& frame, Svg& svg) {
  if (setup.contacts.empty()) return;
  const Vec2 at = frame.ToPaper(Vec3(Vec3::Zero()));
  for (const auto& [direction, name] : AxesOnPaper(setup, machine, frame)) Arrow(at, direction, name, svg);
  svg.Disc(at, kZeroRadius_mm);
  Quadrant(at, 0, svg);
  Quadrant(at, 180, svg);
}

std::vector<HoleMark> FindHoles(const SetupPicture& picture) {
  std::vector<HoleMark> holes;
  for (const PlaceGroup& group : FindPlaceGroups(picture.setup)) {
    if (!IsHoleGroup(group)) continue;
    const std::vector<Vec3> points = PlungePoints(*group.steps.front());
    if (points.size() != group.labels.size()) continue;
    const double radius_mm = RadiusOf(picture, group);
    for (std::size_t i = 0; i < points.size(); ++i) {
      const auto same = std::find_if(holes.begin(), holes.end(), [&](const HoleMark& h) {
        return h.label == group.labels[i];
      });
      if (same != holes.end()) {
        same->radius_mm = std::max(same->radius_mm, radius_mm);
        continue;
      }
      holes.push_back({group.labels[i], points[i], radius_mm});
    }
  }
  return holes;
}

namespace {

// Eight ways out from the hole, near it and farther out; the first with room enough wins, else the one
// farthest from every other hole and number.
Vec2 LabelPlace(const std::vector<Vec2>& taken, const Vec2& at, double reach_mm, double enough_mm) {
  Vec2 best = at;
  double best_room = -1;
  for (int i = 0; i < 24 && best_room < enough_mm; ++i) {
    const double a = (45 * i - 45) * kRadPerDeg;
    const int ring = i / 8;
    const Vec2 place = at + (1 + 0.6 * ring) * reach_mm * Vec2(std::cos(a), std::sin(a));
    double room = 1e9;
    for (const Vec2& t : taken) room = std::min(room, (t - place).norm());
    if (room > best_room + 0.01) {
      best_room = room;
      best = place;
    }
  }
  return best;
}

}  // namespace

void DrawHoles(const std::vector<HoleMark>& holes, const ViewFrame& frame, double size_mm, std::vector<Vec2> taken, Svg& svg) {
  for (const HoleMark& hole : holes) taken.push_back(frame.ToPaper(hole.at_S_mm));
  taken.push_back(frame.ToPaper(Vec3(Vec3::Zero())));
  for (const HoleMark& hole : holes) {
    const Vec2 at = frame.ToPaper(hole.at_S_mm);
    const double radius = hole.radius_mm * frame.scale();
    const double cross = radius + 2;
    svg.Line(at - Vec2(cross, 0), at + Vec2(cross, 0), Stroke::kCentre);
    svg.Line(at - Vec2(0, cross), at + Vec2(0, cross), Stroke::kCentre);
    const double half = std::max(size_mm, 0.5 * TextWidth_mm(hole.label, size_mm) + 0.6);
    const double reach = std::min(radius, 6.0) + half + 2.2;
    const Vec2 place = LabelPlace(taken, at, reach, 2 * half + 1.5);
    const Vec2 way = (place - at).normalized();
    svg.Line(at + std::min(radius, reach) * way, place - half * way, Stroke::kThin);
    svg.Disc(place, half);
    svg.Text(place + Vec2(0, 0.5 * size_mm), size_mm, hole.label, Anchor::kMiddle, true);
    taken.push_back(place);
  }
}

}  // namespace fitwright::sheets
