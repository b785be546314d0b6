#include "fitwright/files/part_writer.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/files/feature_reader.h"
#include "fitwright/files/feature_writer.h"
#include "fitwright/files/part_reader.h"
#include "fitwright/files/stock_writer.h"
#include "fitwright/model/mirror.h"
#include "fitwright/model/shapes.h"

namespace fitwright::files {
namespace {

// Every direction that the format writes as a side.
struct Directions {
  std::vector<Vec3> operator()(const PlanarFace& f) const { return {f.normal_P}; }
  std::vector<Vec3> operator()(const Hole& h) const { return {h.into_P}; }
  std::vector<Vec3> operator()(const OuterDiameter& o) const { return {o.axis_P.direction}; }
  std::vector<Vec3> operator()(const Slot& s) const { return {s.into_P, s.along_P}; }
  std::vector<Vec3> operator()(const Pocket& p) const { return {p.into_P, p.along_P}; }
  std::vector<Vec3> operator()(const StepCut& s) const { return {s.into_P}; }
  std::vector<Vec3> operator()(const Groove& g) const { return {g.axis_P.direction}; }
  std::vector<Vec3> operator()(const Flats& f) const {
    return {f.axis_P.direction, f.first_normal_P};
  }
  std::vector<Vec3> operator()(const Taper& t) const { return {t.axis_P.direction}; }
  std::vector<Vec3> operator()(const Keyway& k) const { return {k.axis_P.direction, k.side_P}; }
  std::vector<Vec3> operator()(const Marking& m) const { return {m.into_P, m.along_P}; }
  std::vector<Vec3> operator()(const Outline& o) const { return {o.into_P}; }
  template <typename Other>
  std::vector<Vec3> operator()(const Other&) const {
    return {};
  }
};

struct TurnedAbout {
  std::optional<Axis3> operator()(const OuterDiameter& o) const { return o.axis_P; }
  std::optional<Axis3> operator()(const Groove& g) const { return g.axis_P; }
  std::optional<Axis3> operator()(const Flats& f) const { return f.axis_P; }
  std::optional<Axis3> operator()(const Taper& t) const { return t.axis_P; }
  std::optional<Axis3> operator()(const Keyway& k) const { return k.axis_P; }
  template <typename Other>
  std::optional<Axis3> operator()(const Other&) const {
    return std::nullopt;
  }
};

bool AlongAnAxis(const Vec3& direction) { return direction.cwiseAbs().maxCoeff() > 1 - 1e-9; }

bool AboutTurningAxis(const Part& part, const Axis3& axis) {
  const Axis3& own = part.turning_axis_P;
  return axis.direction.dot(own.direction) > 1 - 1e-9 &&
         (axis.point_mm - own.point_mm).cross(own.direction).norm() < kGeometryNoise_mm;
}

std::optional<Error> CannotSay(const Part& part) {
  const bool turned = part.envelope == EnvelopeKind::kTurned;
  const auto fault = [](const std::string& what, std::string message) {
    return Error{ErrorCode::kNotSquare,
                 std::move(message),
                 what,
                 "turn the part so that its sides lie along x, y and z",
                 {}};
  };
  if (turned && !AlongAnAxis(part.turning_axis_P.direction)) {
    return fault(part.name.text(), "the turning axis does not lie along x, y or z");
  }
  for (const Feature& feature : part.features) {
    for (const Vec3& direction : std::visit(Directions(), feature.shape)) {
      if (AlongAnAxis(direction)) continue;
      return fault(feature.name.text(),
                   "a sheet cannot say a direction that is not along x, y or z");
    }
    const auto axis = std::visit(TurnedAbout(), feature.shape);
    if (turned && axis && !AboutTurningAxis(part, *axis)) {
      return fault(feature.name.text(), "this is turned about another axis than its part");
    }
  }
  return std::nullopt;
}

void WriteEnvelope(const Part& part, SheetText& text) {
  text.Table("[envelope]", "envelope");
  if (part.envelope == EnvelopeKind::kTurned) {
    const Axis3& axis = part.turning_axis_P;
    text.Key("turned",
             fmt::format("{{ axis = \"{}\", through = {} }}", SideWord(axis.direction),
                         text.ListOf({axis.point_mm[0], axis.point_mm[1], axis.point_mm[2]})));
    return;
  }
  const Box3 drawn = DrawnBlock(part);
  const auto bounds = [&](int k) { return text.ListOf({drawn.min_mm[k], drawn.max_mm[k]}); };
  text.Key("block", fmt::format("{{ x = {}, y = {}, z = {} }}", bounds(0), bounds(1), bounds(2)));
}

void WriteUnread(const Part& part, SheetText& text) {
  for (std::size_t i = 0; i < part.unread.size(); ++i) {
    const UnreadRegion& region = part.unread[i];
    text.Table("[[unread]]", fmt::format("unread.{}", i + 1));
    std::vector<std::string> faces;
    for (const std::size_t face : region.faces) faces.push_back(std::to_string(face + 1));
    text.Key("faces", BracketList(faces));
    text.Key("area_mm2", fmt::format("{:.6g}", region.area_mm2));
    text.Key("volume_mm3", fmt::format("{:.6g}", region.volume_mm3));
    text.Text("why", region.why);
  }
}

}  // namespace

Result<std::string> WritePart(const Part& part, const std::vector<Remark>& remarks) {
  if (auto error = CannotSay(part)) return Unexpected(*std::move(error));
  SheetText text(part.sheet_unit, remarks);
  text.Text("format", kPartFormat);
  text.Text("material", part.material);
  text.Word("unit", part.sheet_unit == LengthUnit::kInch ? "inch" : "mm");
  text.Word("general_tolerance", part.general_tolerance);
  WriteEnvelope(part, text);
  WriteStock(part, text);
  for (const Feature& feature : part.features) {
    if (!ExistsByItself(part, feature)) WriteFeature(part, feature, text);
  }
  WriteUnread(part, text);
  return text.Finish();
}

std::string WriteMirror(const PartId& of, int axis) {
  const std::vector<Remark> none;
  SheetText text(LengthUnit::kMillimetre, none);
  text.Text("format", kPartFormat);
  text.Text("mirror_of", of.text());
  text.Text("mirror", std::string(1, static_cast<char>('x' + axis)));
  return text.Finish();
}

std::optional<int> FindMirrorAxis(const Part& original, const Part& mirrored) {
  const auto said = WritePart(mirrored);
  for (int axis = 0; said && axis < 3; ++axis) {
    const auto tried = WritePart(MirrorPart(original, mirrored.name, axis));
    if (tried && *tried == *said) return axis;
  }
  return std::nullopt;
}

}  // namespace fitwright::files
