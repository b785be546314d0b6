// The file's solid, as readers of features ask about it. Bounded: solids with many unnamed faces
// (modelled threads) are never crossed with others but compared along straight lines; of the
// others' crossings the work is counted, and what comes after the budget is not believed. Solids
// that differ are seen to by lines too: crossing two that nearly agree is the kernel's slowest
// work.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <vector>

#include "fitwright/base/progress.h"
#include "fitwright/recognize/draft.h"
#include "fitwright/recognize/threads.h"
#include "fitwright/solid/apart.h"
#include "fitwright/solid/line_compare.h"
#include "fitwright/solid/same_boundary.h"

namespace fitwright::recognize {

class Witness {
 public:
  // `crowd`: how many of its faces have no elementary surface. Errors: kKernel.
  static Result<Witness> Make(const solid::Solid& solid_P, const PlacedGraph& graph,
                              std::size_t crowd, const std::vector<ModelledThread>& threads,
                              const WorkOptions& work);

  // No metal lies in what the feature would take away.
  bool TakesOnlyAir(const Part& part, const Feature& feature);
  // Some point of it is seen to lie in metal; false proves nothing. Costs no budget.
  bool IsSeenInMetal(const Part& part, const Feature& feature) const;
  bool IsAirBetween(const Vec3& from_P_mm, const Vec3& to_P_mm) const;

  struct Difference {
    double whole_mm3 = 0;             // outside modelled threads
    double same_mm3 = 0;              // up to which the two solids are one
    std::vector<double> regions_mm3;  // of each region's share
  };
  // Between the file's solid and a rebuilt one; with regions, what lies in or nearest to each.
  std::optional<Difference> Compare(const solid::Solid& rebuilt,
                                    const std::vector<Box3>& regions) const;
  // Whether the two have the same faces, without crossing them; false proves nothing.
  bool HasBoundaryOf(const solid::Solid& rebuilt) const;

  bool by_lines() const { return by_lines_; }
  bool spent() const { return left_ <= 0; }
  const solid::Solid& solid_P() const { return solid_P_; }

 private:
  // What a piece that a feature takes away meets, asked once for each piece. Below 0: not known.
  double CalcMetal_mm3(const solid::Solid& piece);
  double CalcMetalByLines_mm3(const solid::Solid& piece) const;
  // None where the kernel makes none.
  const solid::SurfaceMesh* Mesh() const;
  const solid::SurfaceMesh* MeshOf(const solid::Solid& rebuilt) const;
  std::optional<Difference> CompareSolids(const solid::Solid& rebuilt,
                                          const std::vector<Box3>& regions) const;
  std::optional<Difference> CompareMeshes(const solid::Solid& rebuilt,
                                          const std::vector<Box3>& regions) const;

  // Made when first wanted.
  struct Meshed {
    solid::Solid of;
    std::optional<solid::SurfaceMesh> mesh;
  };
  solid::Solid solid_P_;
  std::size_t faces_ = 0;
  double volume_mm3_ = 0;
  std::int64_t left_ = 0;
  const CancelFlag* cancel_ = nullptr;
  bool by_lines_ = false;
  std::optional<solid::ApartProbe> probe_;
  std::map<std::vector<double>, double> metal_mm3_;  // by the piece's fingerprint
  mutable std::optional<solid::KnownBoundary> boundary_;
  mutable std::optional<Meshed> mesh_;
  mutable std::optional<Meshed> rebuilt_mesh_;       // the last one asked for
  std::vector<solid::SurfaceMesh> threads_;          // the rings that known threads lie in
};

}  // namespace fitwright::recognize
