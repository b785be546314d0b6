#include "fitwright/planner/set_beside.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <vector>

#include "fitwright/model/faces.h"
#include "fitwright/model/material.h"
#include "fitwright/planner/process_common.h"

namespace fitwright::planner {
namespace {

// What the caliper or a straightedge tells from flush.
constexpr double kFlush_mm = 0.05;

const PlanarFace* FaceOf(const Machine& machine, const FeatureRef& ref) {
  const Feature* feature = machine.Find(ref);
  return feature == nullptr ? nullptr : std::get_if<PlanarFace>(&feature->shape);
}

// The way in the flush plane along the faces that touch.
std::optional<Vec3> Sideways_W(const Machine& machine, const FlushPair& pair) {
  const PlanarFace* flush = FaceOf(machine, pair.main_face);
  const auto place = machine.FindPlace(pair.main_face.part);
  if (flush == nullptr || !place) return std::nullopt;
  for (const JointId& name : pair.joints) {
    for (const Joint& joint : machine.joints) {
      if (joint.name != name) continue;
      const FeatureRef& own = joint.fixed.part == pair.main_face.part ? joint.fixed : joint.moving;
      const PlanarFace* seat = FaceOf(machine, own);
      if (seat == nullptr) continue;
      const Vec3 side = place->linear() * flush->normal_P.cross(seat->normal_P);
      if (side.norm() > 0.99) return side.normalized();
    }
  }
  return std::nullopt;
}

struct End {
  std::string name;
  double at_mm = 0;  // along the way
};
std::optional<End> EndOf(const Machine& machine, const PartId& part, const Vec3& way_W) {
  const auto place = machine.FindPlace(part);
  const Part* sheet = machine.FindPart(part);
  if (!place || sheet == nullptr) return std::nullopt;
  const Vec3 way_P = place->linear().transpose() * way_W;
  const Feature* face = OutermostFace(*sheet, way_P);
  if (face == nullptr) return std::nullopt;
  return End{NameWords(face->name),
             std::get<PlanarFace>(face->shape).at.middle_mm() + way_W.dot(place->translation())};
}

// How the mate's end stands to the part's; empty where a face is missing.
std::string EndWords(const Machine& machine, const FlushPair& pair, const Vec3& way_W) {
  const auto own = EndOf(machine, pair.main_face.part, way_W);
  const auto mate = EndOf(machine, pair.face.part, way_W);
  if (!own || !mate) return {};
  const double past = mate->at_mm - own->at_mm;
  if (std::abs(past) < kFlush_mm) {
    return fmt::format("its {} flush with {} of {}", mate->name, own->name, pair.main_face.part.text());
  }
  return fmt::format("its {} {} mm {} {} of {}", mate->name, Num(std::abs(past)), past > 0 ? "past" : "in from",
                     own->name, pair.main_face.part.text());
}

// Faces of the part across the way, where they stand along it.
struct Across {
  std::string name;
  double at_mm = 0;
  bool with_way = false;  // looks along it
};
std::vector<Across> FacesAcross(const Machine& machine, const PartId& id, const Vec3& way_W) {
  std::vector<Across> faces;
  const auto place = machine.FindPlace(id);
  const Part* part = machine.FindPart(id);
  if (!place || part == nullptr) return faces;
  for (const Feature& feature : part->features) {
    const auto* face = std::get_if<PlanarFace>(&feature.shape);
    if (face == nullptr) continue;
    const double along = way_W.dot(place->linear() * face->normal_P);
    if (std::abs(along) < 1 - 1e-6) continue;
    faces.push_back({NameWords(feature.name), along * face->at.middle_mm() + way_W.dot(place->translation()), along > 0});
  }
  return faces;
}

struct Pairing {
  Across inner;
  Across outer;
  double off_mm = 0;  // inner's end past the outer's face, seen the way both look
  bool stop = false;  // they look at each other and touch
};
std::optional<Pairing> NearestFaces(const std::vector<Across>& inner, const std::vector<Across>& outer) {
  std::optional<Pairing> best;
  for (const Across& a : inner) {
    for (const Across& b : outer) {
      Pairing pair{a, b, (a.with_way ? 1 : -1) * (a.at_mm - b.at_mm), a.with_way != b.with_way};
      if (pair.stop && std::abs(pair.off_mm) > kFlush_mm) continue;
      const bool nearer = !best || (pair.stop && !best->stop) || (pair.stop == best->stop && std::abs(pair.off_mm) < std::abs(best->off_mm) - kFlush_mm);
      if (nearer) best = pair;
    }
  }
  return best;
}

}  // namespace

namespace {

// How the face of the outer lies that the inner's end comes flush with.
std::string LiesWords(const Machine& machine, const Pairing& pair, const PartId& inner, const PartId& outer, const Vec3& way_W, std::set<PartId> on) {
  constexpr double kOver_mm = 2;  // parallels clear of what hangs between them
  const Vec3 out_W = pair.outer.with_way ? way_W : Vec3(-way_W);
  const double face_mm = (pair.outer.with_way ? 1 : -1) * pair.outer.at_mm;
  on.insert(outer);
  on.erase(inner);
  double most = 0;
  PartId through;
  for (const PartId& part : on) {
    const auto X_WP = machine.FindPlace(part);
    const Part* sheet = machine.FindPart(part);
    if (!X_WP || sheet == nullptr) continue;
    const Box3 box = CalcEnvelope(*sheet);
    const Vec3 out_P = X_WP->linear().transpose() * out_W;
    const double reach = out_W.dot(*X_WP * box.centre_mm()) + 0.5 * out_P.cwiseAbs().dot(box.size_mm()) - face_mm;
    if (reach <= most + kFlush_mm) continue;
    most = reach;
    through = part;
  }
  if (most <= kFlush_mm) return fmt::format(", by a plate that {} lies on, waxed there so that what comes out does not bond it", pair.outer.name);
  return fmt::format(": {} down on two parallels higher than {} mm, or on the open jaws of a bench vise with as much free below them, the {} hanging between them, one of them under the {} "
                     "as its stop, waxed there",
                     pair.outer.name, Num(std::ceil(most + kOver_mm)), through == outer ? "rest" : NameWords(FeatureId(through.text())),
                     NameWords(FeatureId(inner.text())));
}

}  // namespace

std::string HomeWords(const Machine& machine, const FeatureRef& inner, const FeatureRef& outer, const Vec3& into_P, const std::set<PartId>& on) {
  const auto place = machine.FindPlace(outer.part);
  const auto pair = !place ? std::nullopt
                           : NearestFaces(FacesAcross(machine, inner.part, place->linear() * into_P),
                                          FacesAcross(machine, outer.part, place->linear() * into_P));
  if (!pair) return "to where the drawing has it";
  if (pair->stop) return fmt::format("until its {} is against {}", pair->inner.name, pair->outer.name);
  if (std::abs(pair->off_mm) < kFlush_mm) {
    return fmt::format("until its {} is flush with {}{}", pair->inner.name, pair->outer.name,
                       LiesWords(machine, *pair, inner.part, outer.part, place->linear() * into_P, on));
  }
  return fmt::format("until its {} stands {} mm {} {}, by the depth rod", pair->inner.name, Num(std::abs(pair->off_mm)),
                     pair->off_mm > 0 ? "out of" : "in from", pair->outer.name);
}

std::string SidewaysWords(const Machine& machine, const FlushPair& pair) {
  const auto way = Sideways_W(machine, pair);
  const std::string one = way ? EndWords(machine, pair, *way) : "";
  if (!one.empty()) return one;
  const std::string other = way ? EndWords(machine, pair, -*way) : "";
  return other.empty() ? "its sides where the drawing has them" : other;
}

}  // namespace fitwright::planner
