#include "fitwright/sheets/solid/solid_view.h"

#include <fmt/format.h>

#include <cmath>
#include <string_view>

#include "fitwright/sheets/solid/view_paper.h"
#include "fitwright/solid/mesh.h"

namespace fitwright::sheets {
namespace {

constexpr double kHundredths = 100;

void AddNumber(double value, std::string& out) {
  if (!out.empty() && out.back() != '[') out += ',';
  const double rounded = std::round(value * kHundredths) / kHundredths;
  out += fmt::format("{}", rounded == 0 ? 0.0 : rounded);
}

void AddPoint(const Vec3& p, std::string& out) {
  for (const double v : {p.x(), p.y(), p.z()}) AddNumber(v, out);
}

std::string BodyJson(std::string_view role, const solid::Mesh& mesh) {
  std::string points = "[";
  for (const Vec3& p : mesh.points_mm) AddPoint(p, points);
  std::string triangles = "[";
  for (const auto& t : mesh.triangles)
    triangles += fmt::format("{}{},{},{}", triangles.size() > 1 ? "," : "", t[0], t[1], t[2]);
  std::string edges = "[";
  for (const auto& edge : mesh.edges_mm) {
    std::string line = "[";
    for (const Vec3& p : edge) AddPoint(p, line);
    edges += (edges.size() > 1 ? "," : "") + line + "]";
  }
  return fmt::format(R"({{"role":"{}","points":{}],"triangles":{}],"edges":{}]}})", role, points,
                     triangles, edges);
}

Status AddBodies(std::string_view role, const std::vector<solid::Solid>& solids, std::string& out) {
  for (const solid::Solid& body : solids) {
    if (body.empty()) continue;
    const auto mesh = solid::MakeMesh(body);
    if (!mesh) return Unexpected(mesh.error());
    out += (out.empty() ? "" : ",") + BodyJson(role, *mesh);
  }
  return Ok{};
}

}  // namespace

Result<std::string> SolidsOfSetup(const SetupPicture& picture) {
  const auto solids = MakeStandingSolids(picture, false);
  if (!solids) return Unexpected(solids.error());
  std::string bodies;
  for (const auto& [role, list] : {std::pair{"before", &solids->before},
                                   {"after", &solids->after},
                                   {"holding", &solids->holding}}) {
    if (const Status added = AddBodies(role, *list, bodies); !added)
      return Unexpected(added.error());
  }
  const MachineTool* tool = picture.shop.Find(picture.setup.machine);
  const bool lathe = tool != nullptr && tool->kind == MachineToolKind::kLathe;
  return fmt::format(R"({{"schema":"fitwright-solids/1","lathe":{},"bodies":[{}]}})", lathe,
                     bodies) +
         "\n";
}

}  // namespace fitwright::sheets
