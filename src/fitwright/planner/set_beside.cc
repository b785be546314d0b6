#include "fitwright/planner/set_beside.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "fitwright/model/faces.h"
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

}  // namespace

std::string SidewaysWords(const Machine& machine, const FlushPair& pair) {
  const auto way = Sideways_W(machine, pair);
  const std::string one = way ? EndWords(machine, pair, *way) : "";
  if (!one.empty()) return one;
  const std::string other = way ? EndWords(machine, pair, -*way) : "";
  return other.empty() ? "sideways where the drawing has it" : other;
}

}  // namespace fitwright::planner
