#include "fitwright/solid/solid_bytes.h"

#include <BinTools.hxx>
#include <Message_ProgressRange.hxx>
#include <sstream>

#include "fitwright/solid/kernel.h"

namespace fitwright::solid {

Result<std::string> ToBytes(const Solid& solid) {
  return Guard("saving a solid", [&]() -> Result<std::string> {
    if (solid.empty()) return std::string();
    std::ostringstream out(std::ios::binary);
    BinTools::Write(ShapeOf(solid), out, false, false, BinTools_FormatVersion_VERSION_4);
    if (!out) return Unexpected(KernelError("saving a solid", "no room"));
    return std::move(out).str();
  });
}

Result<Solid> FromBytes(std::string_view bytes) {
  return Guard("reading a solid", [&]() -> Result<Solid> {
    if (bytes.empty()) return Solid();
    // The kernel would complain of anything else on the terminal.
    if (!bytes.starts_with("\nOpen CASCADE Topology V4")) {
      return Unexpected(KernelError("reading a solid", "these bytes hold none"));
    }
    std::istringstream in(std::string(bytes), std::ios::binary);
    TopoDS_Shape shape;
    BinTools::Read(shape, in);
    const Solid solid = Wrap(shape);
    if (solid.empty()) return Unexpected(KernelError("reading a solid", "these bytes hold none"));
    return solid;
  });
}

}  // namespace fitwright::solid
