#include "fitwright/solid/cut.h"

#include <BOPAlgo_BOP.hxx>
#include <BOPAlgo_PaveFiller.hxx>
#include <BRepBndLib.hxx>
#include <BRepBuilderAPI_MakeVertex.hxx>
#include <BRepCheck_Analyzer.hxx>
#include <BRepExtrema_DistShapeShape.hxx>
#include <BRepGProp.hxx>
#include <BRep_Tool.hxx>
#include <Bnd_Box.hxx>
#include <GProp_GProps.hxx>
#include <ShapeUpgrade_UnifySameDomain.hxx>
#include <TopExp_Explorer.hxx>
#include <TopLoc_Location.hxx>
#include <TopTools_ListOfShape.hxx>
#include <TopoDS.hxx>
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <memory>
#include <optional>

#include "fitwright/solid/kernel.h"
#include "fitwright/solid/measure.h"
#include "fitwright/solid/probe.h"

namespace fitwright::solid {
namespace {

// Two ways to the same volume may differ by this share of the larger one: above the quick
// quadrature's error (up to 2e-6 where bores cross) and below what a wrong cut leaves or takes.
constexpr double kVolumeCheck = 1e-5;
constexpr double kVolumeCheck_mm3 = 1e-3;
// Rounding of CalcVolume_mm3 as a share of the volume, with room.
constexpr double kVolumeNoise = 1e-8;
// Second try when the plain intersection fails: points this close are one. A hundred times the
// kernel's own noise, a hundredth of what two drawn sizes may be alike.
constexpr double kFuzzy_mm = 1e-6;
// For comparing two solids only, and never alone: see CalcMomentDifference_mm3.
constexpr std::array<double, 3> kCoarse_mm = {1e-5, 1e-4, 1e-3};

Bnd_Box RoughBox(const TopoDS_Shape& shape) {
  Bnd_Box box;
  BRepBndLib::Add(shape, box, false);
  return box;
}

bool BoxesMiss(const Solid& a, const Solid& b) {
  return RoughBox(ShapeOf(a)).IsOut(RoughBox(ShapeOf(b)));
}

bool ShellsClosed(const TopoDS_Shape& shape) {
  for (TopExp_Explorer it(shape, TopAbs_SHELL); it.More(); it.Next()) {
    if (!BRep_Tool::IsClosed(it.Current())) return false;
  }
  return true;
}

bool SameVolume(double a_mm3, double b_mm3) {
  return std::abs(a_mm3 - b_mm3) <=
         kVolumeCheck_mm3 + kVolumeCheck * std::max(std::abs(a_mm3), std::abs(b_mm3));
}

// One intersection of all operands; any set operation is then cheap.
class Intersection {
 public:
  Intersection(const Solid& body, const std::vector<Solid>& tools, double fuzzy_mm)
      : body_(body), tools_(tools) {
    TopTools_ListOfShape all;
    all.Append(ShapeOf(body_));
    for (const Solid& tool : tools_) all.Append(ShapeOf(tool));
    filler_.SetArguments(all);
    filler_.SetNonDestructive(true);
    filler_.SetRunParallel(false);
    if (fuzzy_mm > 0) filler_.SetFuzzyValue(fuzzy_mm);
    filler_.Perform();
  }
  bool ok() const { return !filler_.HasErrors(); }
  // Nothing when the kernel reports an error or leaves an open shell.
  std::optional<Solid> Get(BOPAlgo_Operation operation) const {
    BOPAlgo_BOP bop;
    bop.AddArgument(ShapeOf(body_));
    for (const Solid& tool : tools_) bop.AddTool(ShapeOf(tool));
    bop.SetOperation(operation);
    bop.SetNonDestructive(true);
    bop.SetRunParallel(false);
    bop.PerformWithFiller(filler_);
    if (bop.HasErrors() || !ShellsClosed(bop.Shape())) return std::nullopt;
    return Wrap(bop.Shape());
  }

 private:
  Solid body_;
  std::vector<Solid> tools_;
  BOPAlgo_PaveFiller filler_;
};

// Neighbouring faces of one surface joined; the shape as it was where that fails or changes it.
Solid Unified(const Solid& solid, double volume_mm3) {
  if (solid.empty()) return solid;
  try {
    ShapeUpgrade_UnifySameDomain unify(ShapeOf(solid), true, true, false);
    unify.SetSafeInputMode(true);
    unify.Build();
    const Solid joined = Wrap(unify.Shape());
    if (joined.empty() || !ShellsClosed(ShapeOf(joined))) return solid;
    const bool same = CountPieces(joined) == CountPieces(solid) &&
                      SameVolume(CalcQuickVolume_mm3(joined), volume_mm3);
    return same ? joined : solid;
  } catch (const Standard_Failure&) {
    return solid;
  }
}

// What is left must be what was there less what was shared; else the cut is not believed.
std::optional<Solid> TryCut(const Solid& body, const std::vector<Solid>& tools, double fuzzy_mm) {
  try {
    const Intersection crossing(body, tools, fuzzy_mm);
    if (!crossing.ok()) return std::nullopt;
    const std::optional<Solid> left = crossing.Get(BOPAlgo_CUT);
    const std::optional<Solid> taken = crossing.Get(BOPAlgo_COMMON);
    if (!left || !taken) return std::nullopt;
    const double left_mm3 = CalcQuickVolume_mm3(*left);
    if (!SameVolume(CalcQuickVolume_mm3(body), left_mm3 + CalcQuickVolume_mm3(*taken)))
      return std::nullopt;
    const Solid unified = Unified(*left, left_mm3);
    return IsCutSound(body, tools, unified) ? std::optional<Solid>(unified) : std::nullopt;
  } catch (const Standard_Failure&) {
    return std::nullopt;
  }
}

std::optional<Solid> TryCutOneByOne(const Solid& body, const std::vector<Solid>& tools) {
  Solid left = body;
  for (const Solid& tool : tools) {
    if (left.empty()) return left;
    if (BoxesMiss(left, tool)) continue;
    std::optional<Solid> next;
    for (const double fuzzy_mm : {0.0, kFuzzy_mm, 10 * kFuzzy_mm}) {
      next = TryCut(left, {tool}, fuzzy_mm);
      if (next) break;
    }
    if (!next) return std::nullopt;
    left = *next;
  }
  return left;
}

// Sum less what is shared, for two bodies.
std::optional<Solid> TryFusePair(const Solid& a, const Solid& b, double fuzzy_mm) {
  try {
    const Intersection crossing(a, {b}, fuzzy_mm);
    if (!crossing.ok()) return std::nullopt;
    const std::optional<Solid> both = crossing.Get(BOPAlgo_FUSE);
    const std::optional<Solid> shared = crossing.Get(BOPAlgo_COMMON);
    if (!both || !shared) return std::nullopt;
    const double both_mm3 = CalcQuickVolume_mm3(*both);
    const double sum_mm3 =
        CalcQuickVolume_mm3(a) + CalcQuickVolume_mm3(b) - CalcQuickVolume_mm3(*shared);
    if (!SameVolume(both_mm3, sum_mm3)) return std::nullopt;
    return Unified(*both, both_mm3);
  } catch (const Standard_Failure&) {
    return std::nullopt;
  }
}

// The two checks by volume: what is common plus what is left is the whole, on both sides.
std::optional<Solid> TryCommon(const Solid& a, const Solid& b, double fuzzy_mm) {
  try {
    const Intersection crossing(a, {b}, fuzzy_mm);
    if (!crossing.ok()) return std::nullopt;
    const std::optional<Solid> shared = crossing.Get(BOPAlgo_COMMON);
    const std::optional<Solid> left = crossing.Get(BOPAlgo_CUT);
    if (!shared || !left) return std::nullopt;
    const double shared_mm3 = CalcQuickVolume_mm3(*shared);
    if (!SameVolume(CalcQuickVolume_mm3(a), shared_mm3 + CalcQuickVolume_mm3(*left)))
      return std::nullopt;
    return Unified(*shared, shared_mm3);
  } catch (const Standard_Failure&) {
    return std::nullopt;
  }
}

// Only the volume: nothing is joined up, and an empty answer is not believed against plain
// evidence.
std::optional<double> TryCommonVolume(const Solid& a, const Solid& b, double fuzzy_mm) {
  try {
    const Intersection crossing(a, {b}, fuzzy_mm);
    if (!crossing.ok()) return std::nullopt;
    const std::optional<Solid> shared = crossing.Get(BOPAlgo_COMMON);
    if (!shared) return std::nullopt;
    const double volume_mm3 = CalcVolume_mm3(*shared);
    if (volume_mm3 < kVolumeCheck_mm3 && (SeenToOverlap(a, b) || SeenToOverlap(b, a))) {
      return std::nullopt;
    }
    return volume_mm3;
  } catch (const Standard_Failure&) {
    return std::nullopt;
  }
}

// What is left of either without the other, and what that hides at most by the whole volumes.
std::optional<double> TryDifference(const Solid& a, const Solid& b, double fuzzy_mm) {
  try {
    const Intersection crossing(a, {b}, fuzzy_mm);
    if (!crossing.ok()) return std::nullopt;
    const std::optional<Solid> a_only = crossing.Get(BOPAlgo_CUT);
    const std::optional<Solid> b_only = crossing.Get(BOPAlgo_CUT21);
    if (!a_only || !b_only) return std::nullopt;
    const double whole_a_mm3 = CalcVolume_mm3(a);
    const double whole_b_mm3 = CalcVolume_mm3(b);
    const double a_mm3 = std::abs(CalcVolume_mm3(*a_only));
    const double b_mm3 = std::abs(CalcVolume_mm3(*b_only));
    // Both shared volumes, whole less rest, must be one: a rest that the kernel lost shows here.
    const double lost_mm3 = std::abs((whole_a_mm3 - a_mm3) - (whole_b_mm3 - b_mm3));
    if (lost_mm3 > kVolumeCheck_mm3 + kVolumeCheck * whole_a_mm3) return std::nullopt;
    return a_mm3 + b_mm3 + (lost_mm3 > kVolumeNoise * whole_a_mm3 ? lost_mm3 : 0.0);
  } catch (const Standard_Failure&) {
    return std::nullopt;
  }
}

// Second witness where faces differ by the kernel's own approximation of crossing curves: both
// solids' volume, first and second moments. Each bounds the difference from below: a moment about
// the common middle differs by at most (reach ^ order) times the difference.
double CalcMomentDifference_mm3(const Solid& a, const Solid& b) {
  const gp_Pnt middle = ToPnt(CalcBox(a).centre_mm());
  const double reach_mm = 0.5 * CalcBox(a).size_mm().norm();
  GProp_GProps of_a(middle);
  GProp_GProps of_b(middle);
  BRepGProp::VolumeProperties(ShapeOf(a), of_a, kQuadrature, false, false);
  BRepGProp::VolumeProperties(ShapeOf(b), of_b, kQuadrature, false, false);
  double most_mm3 = std::abs(of_a.Mass() - of_b.Mass());
  const gp_XYZ first = of_a.CentreOfMass().XYZ() * of_a.Mass() -
                       of_b.CentreOfMass().XYZ() * of_b.Mass() -
                       middle.XYZ() * (of_a.Mass() - of_b.Mass());
  most_mm3 = std::max(most_mm3, first.Modulus() / reach_mm);
  const gp_Mat second = of_a.MatrixOfInertia() - of_b.MatrixOfInertia();
  for (int row = 1; row <= 3; ++row) {
    for (int column = 1; column <= 3; ++column) {
      const double share = std::abs(second(row, column)) / (reach_mm * reach_mm);
      most_mm3 = std::max(most_mm3, share);
    }
  }
  return most_mm3;
}

Error Failed(const char* what) {
  return KernelError(what, "no way of cutting gave a closed solid of the right volume");
}

}  // namespace

Result<Solid> Cut(const Solid& body, const std::vector<Solid>& tools) {
  return Guard("cut", [&]() -> Result<Solid> {
    if (body.empty()) return body;
    std::vector<Solid> near;
    for (const Solid& tool : tools) {
      if (!tool.empty() && !BoxesMiss(body, tool)) near.push_back(tool);
    }
    if (near.empty()) return body;
    std::optional<Solid> left = TryCut(body, near, 0);
    if (!left) left = TryCut(body, near, kFuzzy_mm);
    if (!left) left = TryCutOneByOne(body, near);
    if (!left) return Unexpected(Failed("cut"));
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
    if (!left) return Unexpected(Failed("cut"));
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
      if (!both) return Unexpected(Failed("join"));
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
    if (!shared) return Unexpected(Failed("common part"));
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

Result<double> CalcSymmetricDifference_mm3(const Solid& a, const Solid& b) {
  return Guard("difference", [&]() -> Result<double> {
    if (a.empty() || b.empty() || BoxesMiss(a, b)) return CalcVolume_mm3(a) + CalcVolume_mm3(b);
    if (ShapeOf(a).IsEqual(ShapeOf(b))) return 0.0;
    std::optional<double> difference = TryDifference(a, b, 0);
    if (!difference) difference = TryDifference(a, b, kFuzzy_mm);
    if (difference) return *difference;
    for (const double fuzzy_mm : kCoarse_mm) {
      difference = TryDifference(a, b, fuzzy_mm);
      if (difference) return std::max(*difference, CalcMomentDifference_mm3(a, b));
    }
    return Unexpected(Failed("difference"));
  });
}

Result<double> CalcCommonVolume_mm3(const Solid& a, const Solid& b) {
  return Guard("common volume", [&]() -> Result<double> {
    if (a.empty() || b.empty() || BoxesMiss(a, b)) return 0.0;
    std::optional<double> volume = TryCommonVolume(a, b, 0);
    if (!volume) volume = TryCommonVolume(a, b, kFuzzy_mm);
    // A kernel that cannot cross the two may still cut one by the other.
    if (!volume) {
      const std::optional<Solid> left = TryCutOneByOne(a, {b});
      if (left) volume = std::max(0.0, CalcVolume_mm3(a) - CalcVolume_mm3(*left));
    }
    if (!volume) return Unexpected(Failed("common volume"));
    return *volume;
  });
}

Result<bool> Collides(const Solid& a, const Solid& b, double allowed_mm3) {
  const Result<double> shared_mm3 = CalcCommonVolume_mm3(a, b);
  if (!shared_mm3) return Unexpected(shared_mm3.error());
  return *shared_mm3 > allowed_mm3;
}

bool IsValid(const Solid& solid) {
  if (solid.empty()) return false;
  try {
    const TopoDS_Shape& shape = ShapeOf(solid);
    if (!ShellsClosed(shape) || !BRepCheck_Analyzer(shape).IsValid()) return false;
    const Result<std::vector<Solid>> pieces = SplitPieces(solid);
    return pieces.has_value() && std::all_of(pieces->begin(), pieces->end(),
                                             [](const Solid& s) { return CalcVolume_mm3(s) > 0; });
  } catch (const Standard_Failure&) {
    return false;
  }
}

}  // namespace fitwright::solid
