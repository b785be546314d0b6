#include "fitwright/solid/cut.h"

#include <BRepBuilderAPI_MakeVertex.hxx>
#include <BRepCheck_Analyzer.hxx>
#include <BRepExtrema_DistShapeShape.hxx>
#include <TopExp_Explorer.hxx>
#include <TopLoc_Location.hxx>
#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

#include "fitwright/solid/crossing.h"
#include "fitwright/solid/kernel.h"
#include "fitwright/solid/measure.h"

namespace fitwright::solid {
namespace {

// Sum less what is shared, for two bodies.
std::optional<Solid> TryFusePair(const Solid& a, const Solid& b, double fuzzy_mm) {
  try {
    const Crossing crossing(a, {b}, fuzzy_mm);
    const std::optional<Solid> both = crossing.Get(SetOperation::kAll);
    const std::optional<Solid> shared = crossing.Get(SetOperation::kShared);
    if (!both || !shared) return std::nullopt;
    const auto sound = [&](auto volume_mm3) {
      return SameVolume(volume_mm3(*both) + volume_mm3(*shared), volume_mm3(a) + volume_mm3(b));
    };
    if (!sound(CalcQuickVolume_mm3) && !sound(CalcVolume_mm3)) return std::nullopt;
    return Unified(*both, CalcQuickVolume_mm3(*both));
  } catch (const Standard_Failure&) {
    return std::nullopt;
  }
}

// The two checks by volume: what is common plus what is left is the whole, on both sides.
std::optional<Solid> TryCommon(const Solid& a, const Solid& b, double fuzzy_mm) {
  try {
    const Crossing crossing(a, {b}, fuzzy_mm);
    const std::optional<Solid> shared = crossing.Get(SetOperation::kShared);
    const std::optional<Solid> left = crossing.Get(SetOperation::kBodyWithoutTools);
    if (!shared || !left) return std::nullopt;
    if (!AddUp(*shared, *left, a)) return std::nullopt;
    return Unified(*shared, CalcQuickVolume_mm3(*shared));
  } catch (const Standard_Failure&) {
    return std::nullopt;
  }
}

}  // namespace

Result<Solid> Cut(const Solid& body, const std::vector<Solid>& tools) {
  return Cut(body, tools, Believed{});
}

Result<Solid> Cut(const Solid& body, const std::vector<Solid>& tools, const Believed& believed) {
  return Guard("cut", [&]() -> Result<Solid> {
    if (body.empty()) return body;
    std::vector<Solid> near;
    for (const Solid& tool : tools) {
      if (!tool.empty() && !BoxesMiss(body, tool)) near.push_back(tool);
    }
    if (near.empty()) return body;
    std::optional<Solid> left = TryCut(body, near, 0, believed);
    if (!left) left = TryCut(body, near, kFuzzy_mm, believed);
    if (!left) left = TryCutOneByOne(body, near);
    if (!left) return Unexpected(NotBelieved("cut"));
    return *left;
  });
}

Result<Solid> CutOneByOne(const Solid& body, const std::vector<Solid>& tools) {
  return Guard("cut", [&]() -> Result<Solid> {
    if (body.empty()) return body;
    std::vector<Solid> solids;
    for (const Solid& tool : tools) {
      if (!tool.empty()) solids.push_back(tool);
    }
    const std::optional<Solid> left = TryCutOneByOne(body, solids);
    if (!left) return Unexpected(NotBelieved("cut"));
    return *left;
  });
}

Result<Solid> Fuse(const std::vector<Solid>& bodies) {
  return Guard("join", [&]() -> Result<Solid> {
    Solid joined;
    for (const Solid& body : bodies) {
      if (body.empty()) continue;
      if (joined.empty()) {
        joined = body;
        continue;
      }
      std::optional<Solid> both = TryFusePair(joined, body, 0);
      if (!both) both = TryFusePair(joined, body, kFuzzy_mm);
      if (!both) return Unexpected(NotBelieved("join"));
      joined = *both;
    }
    return joined;
  });
}

Result<Solid> Common(const Solid& a, const Solid& b) {
  return Guard("common part", [&]() -> Result<Solid> {
    if (a.empty() || b.empty() || BoxesMiss(a, b)) return Solid();
    std::optional<Solid> shared = TryCommon(a, b, 0);
    if (!shared) shared = TryCommon(a, b, kFuzzy_mm);
    if (!shared) return Unexpected(NotBelieved("common part"));
    return *shared;
  });
}

Solid Moved(const Solid& solid, const Pose& X_AB) {
  if (solid.empty() || X_AB.isApprox(Pose::Identity(), 0)) return solid;
  const Solid moved = Wrap(ShapeOf(solid).Moved(TopLoc_Location(ToTrsf(X_AB))));
  moved.shape()->volume_mm3.store(solid.shape()->volume_mm3.load());
  moved.shape()->quick_volume_mm3.store(solid.shape()->quick_volume_mm3.load());
  return moved;
}

Result<std::vector<Solid>> SplitPieces(const Solid& solid) {
  return Guard("pieces", [&]() -> Result<std::vector<Solid>> {
    struct Piece {
      Solid solid;
      double volume_mm3;
      Vec3 centroid_mm;
    };
    std::vector<Piece> pieces;
    if (solid.empty()) return std::vector<Solid>{};
    for (TopExp_Explorer it(ShapeOf(solid), TopAbs_SOLID); it.More(); it.Next()) {
      const Solid piece = Wrap(it.Current());
      pieces.push_back({piece, CalcVolume_mm3(piece), CalcCentroid_mm(piece)});
    }
    std::stable_sort(pieces.begin(), pieces.end(), [](const Piece& a, const Piece& b) {
      if (std::abs(a.volume_mm3 - b.volume_mm3) > 1e-6) return a.volume_mm3 > b.volume_mm3;
      for (int i = 0; i < 3; ++i) {
        if (std::abs(a.centroid_mm[i] - b.centroid_mm[i]) > 1e-6) {
          return a.centroid_mm[i] < b.centroid_mm[i];
        }
      }
      return false;
    });
    std::vector<Solid> sorted;
    for (const Piece& piece : pieces) sorted.push_back(piece.solid);
    return sorted;
  });
}

Result<Solid> KeepPieceAt(const Solid& solid, const Vec3& point_mm) {
  return Guard("keep piece", [&]() -> Result<Solid> {
    if (solid.empty() || CountPieces(solid) == 1) return solid;
    const Result<std::vector<Solid>> pieces = SplitPieces(solid);
    if (!pieces) return Unexpected(pieces.error());
    Solid nearest;
    double least_mm = std::numeric_limits<double>::infinity();
    const TopoDS_Shape point = BRepBuilderAPI_MakeVertex(ToPnt(point_mm)).Vertex();
    for (const Solid& piece : *pieces) {
      if (IsInside(piece, point_mm)) return piece;
      const BRepExtrema_DistShapeShape distance(point, ShapeOf(piece));
      if (!distance.IsDone() || distance.Value() >= least_mm) continue;
      least_mm = distance.Value();
      nearest = piece;
    }
    return nearest;
  });
}

bool IsValid(const Solid& solid) {
  if (solid.empty()) return false;
  try {
    const TopoDS_Shape& shape = ShapeOf(solid);
    if (!ShellsClosed(shape) || !BRepCheck_Analyzer(shape).IsValid()) return false;
    if (CountPieces(solid) == 1) return CalcQuickVolume_mm3(solid) > 0;
    for (TopExp_Explorer it(shape, TopAbs_SOLID); it.More(); it.Next()) {
      if (!(CalcQuickVolume_mm3(Wrap(it.Current())) > 0)) return false;
    }
    return true;
  } catch (const Standard_Failure&) {
    return false;
  }
}

}  // namespace fitwright::solid
