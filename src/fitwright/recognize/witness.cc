#include "fitwright/recognize/witness.h"

#include <algorithm>
#include <cmath>

#include "fitwright/solid/believed_cut.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/measure.h"
#include "fitwright/solid/primitives.h"

namespace fitwright::recognize {
namespace {

using solid::Solid;

// Volume that crossing two solids with faces in common may leave.
constexpr double kCrossingNoise_mm3 = 1e-4;
// Share of the volume up to which two solids are one.
constexpr double kSameShare = 1e-6;
// So many faces without a name make a crowd: with more the kernel's crossings were seen to take
// minutes.
constexpr std::size_t kCrowd = 4;
// What two solids differ by is shared out by crossing them up to so many faces; by lines beyond.
constexpr std::size_t kPlain = 16;
// Counted in faces brought together, some 0.5 ms each on plain solids.
constexpr std::int64_t kDefaultBudget = 60'000;
// Meshes, and how thick a skin they may disagree by.
constexpr double kChord_mm = 0.003;
constexpr double kSkin_mm = 0.004;
constexpr int kLinesForFeature = 48;
constexpr int kLinesForWhole = 200;

double Apart(const Box3& a, const Box3& b) {
  const Vec3 gap = (a.min_mm - b.max_mm).cwiseMax(b.min_mm - a.max_mm).cwiseMax(0);
  return gap.norm();
}

// Each piece counts for the region that it lies nearest to.
void ShareOut(const Solid& rest, const std::vector<Box3>& regions, std::vector<double>& shares) {
  const Result<std::vector<Solid>> pieces = solid::SplitPieces(rest);
  if (!pieces) return;
  for (const Solid& piece : *pieces) {
    const Box3 box = solid::CalcBox(piece);
    const auto nearest = std::min_element(
        regions.begin(), regions.end(),
        [&](const Box3& a, const Box3& b) { return Apart(box, a) < Apart(box, b); });
    shares[static_cast<std::size_t>(nearest - regions.begin())] += solid::CalcVolume_mm3(piece);
  }
}

double AreaOf_mm2(const solid::SurfaceMesh& mesh) {
  double area = 0;
  for (const auto& t : mesh.triangles) area += 0.5 * (t[1] - t[0]).cross(t[2] - t[0]).norm();
  return area;
}

Box3 Around(const Box3& a, const Box3& b) {
  const Vec3 margin = Vec3::Constant(0.01);
  return {a.min_mm.cwiseMin(b.min_mm) - margin, a.max_mm.cwiseMax(b.max_mm) + margin};
}

}  // namespace

Result<Witness> Witness::Make(const Solid& solid_P, const PlacedGraph& graph, std::size_t crowd,
                              const std::vector<ModelledThread>& threads, const WorkOptions& work) {
  Witness made;
  made.solid_P_ = solid_P;
  made.faces_ = graph.faces.size();
  made.left_ = work.budget > 0 ? work.budget : kDefaultBudget;
  made.cancel_ = work.cancel;
  made.by_lines_ = crowd > kCrowd || !threads.empty();
  if (!made.by_lines_) made.volume_mm3_ = solid::CalcVolume_mm3(solid_P);
  made.probe_.emplace(solid_P);
  if (made.by_lines_) {
    auto mesh = solid::MakeSurfaceMesh(solid_P, kChord_mm);
    if (!mesh) return Unexpected(mesh.error());
    made.mesh_ = Meshed{solid_P, *std::move(mesh)};
  }
  for (const ModelledThread& thread : threads) {
    if (!thread.known) continue;
    const auto ring = solid::MakeRing(thread.axis_P, thread.span.from_mm, thread.span.to_mm,
                                      2 * thread.ring.to_mm, 2 * thread.ring.from_mm);
    if (!ring) continue;
    auto ring_mesh = solid::MakeSurfaceMesh(*ring, kChord_mm);
    if (ring_mesh) made.threads_.push_back(*std::move(ring_mesh));
  }
  return made;
}

bool Witness::TakesOnlyAir(const Part& part, const Feature& feature) {
  const Result<std::vector<Solid>> removed = solid::MakeFeatureCutters(part, feature);
  if (!removed || removed->empty()) return false;
  double metal_mm3 = 0;
  double allowed_mm3 = 0;
  for (const Solid& piece : *removed) {
    if (left_ <= 0 || (cancel_ != nullptr && cancel_->cancelled())) return false;
    const double met_mm3 = CalcMetal_mm3(piece);
    if (met_mm3 < 0) return false;
    metal_mm3 += met_mm3;
    allowed_mm3 += by_lines_ ? kSkin_mm * solid::CalcArea_mm2(piece)
                             : 1e-7 * solid::CalcVolume_mm3(piece);
    if (metal_mm3 > allowed_mm3 + (by_lines_ ? 0 : kCrossingNoise_mm3)) return false;
  }
  return true;
}

double Witness::CalcMetal_mm3(const Solid& piece) {
  const auto key = solid::MakeFingerprint(piece);
  const auto known = metal_mm3_.find(key);
  if (known != metal_mm3_.end()) return known->second;
  const double depth_mm = 0.5 * kCrossingNoise_mm3 / std::max(1.0, solid::CalcArea_mm2(piece));
  double& metal_mm3 = metal_mm3_[key] = 0;
  --left_;
  const solid::Meeting met = probe_->Meet(piece, depth_mm);
  if (met == solid::Meeting::kApart) return metal_mm3;
  if (by_lines_) return metal_mm3 = CalcMetalByLines_mm3(piece);
  left_ -= static_cast<std::int64_t>(faces_ + solid::CountFaces(piece));
  if (met == solid::Meeting::kOverlap) return metal_mm3 = -1;
  const Result<double> crossed_mm3 = solid::CalcCommonVolume_mm3(solid_P_, piece);
  return metal_mm3 = crossed_mm3 ? *crossed_mm3 : -1;
}

double Witness::CalcMetalByLines_mm3(const Solid& piece) const {
  const auto tool = solid::MakeSurfaceMesh(piece, kChord_mm);
  if (!tool) return -1;
  return solid::CompareByLines(*Mesh(), *tool, tool->box, kLinesForFeature, threads_).shared_mm3;
}

bool Witness::IsSeenInMetal(const Part& part, const Feature& feature) const {
  const Result<std::vector<Solid>> removed = solid::MakeFeatureCutters(part, feature);
  if (!removed || removed->empty()) return true;
  return std::any_of(removed->begin(), removed->end(), [&](const Solid& piece) {
    return probe_->Meet(piece, 0) == solid::Meeting::kOverlap;
  });
}

bool Witness::IsAirBetween(const Vec3& from_P_mm, const Vec3& to_P_mm) const {
  const Vec3 way = to_P_mm - from_P_mm;
  const double length = way.norm();
  if (length <= kSamePlace_mm) return true;
  if (solid::IsInside(solid_P_, from_P_mm + 0.5 * way)) return false;
  const Vec3 off = kSamePlace_mm / length * way;
  if (by_lines_) return !solid::CrossesBetween(*Mesh(), from_P_mm + off, to_P_mm - off);
  const auto crossings = solid::FindCrossings_mm(solid_P_, from_P_mm, way / length);
  if (!crossings) return false;
  return std::none_of(crossings->begin(), crossings->end(),
                      [&](double at) { return at > kSamePlace_mm && at < length - kSamePlace_mm; });
}

const solid::SurfaceMesh* Witness::Mesh() const {
  if (!mesh_) {
    mesh_ = Meshed{solid_P_, {}};
    if (auto mesh = solid::MakeSurfaceMesh(solid_P_, kChord_mm)) mesh_->mesh = *std::move(mesh);
  }
  return mesh_->mesh ? &*mesh_->mesh : nullptr;
}

const solid::SurfaceMesh* Witness::MeshOf(const Solid& rebuilt) const {
  if (!rebuilt_mesh_ || rebuilt_mesh_->of.shape() != rebuilt.shape()) {
    rebuilt_mesh_ = Meshed{rebuilt, {}};
    if (auto mesh = solid::MakeSurfaceMesh(rebuilt, kChord_mm)) rebuilt_mesh_->mesh = *std::move(mesh);
  }
  return rebuilt_mesh_->mesh ? &*rebuilt_mesh_->mesh : nullptr;
}

bool Witness::HasBoundaryOf(const Solid& rebuilt) const {
  if (by_lines_) return false;
  if (!boundary_) boundary_.emplace(solid_P_);
  return boundary_->IsOf(rebuilt);
}

std::optional<Witness::Difference> Witness::Compare(const Solid& rebuilt,
                                                    const std::vector<Box3>& regions) const {
  if (!by_lines_ && regions.empty()) {
    if (HasBoundaryOf(rebuilt)) return Difference{0, kSameShare * volume_mm3_, {}};
    // Two solids differ by no less than their volumes do; lines would see that too, if it is more than
    // their skin.
    const double least_mm3 = std::abs(solid::CalcVolume_mm3(rebuilt) - volume_mm3_);
    const double skin_mm3 = kSkin_mm * solid::CalcArea_mm2(rebuilt);
    if (least_mm3 > skin_mm3) return Difference{least_mm3, skin_mm3, {}};
    // Of one volume they are hardly two, and lines answer only where solids differ.
    if (least_mm3 <= kSameShare * volume_mm3_) {
      if (auto crossed = CompareSolids(rebuilt, regions)) return crossed;
    }
  }
  const bool shared_out_exactly = !by_lines_ && !regions.empty() && faces_ <= kPlain;
  if (shared_out_exactly || Mesh() == nullptr) return CompareSolids(rebuilt, regions);
  const std::optional<Difference> seen = CompareMeshes(rebuilt, regions);
  const bool certain =
      by_lines_ || !regions.empty() || (seen && seen->whole_mm3 > 0.25 * seen->same_mm3);
  return certain ? seen : CompareSolids(rebuilt, regions);
}

std::optional<Witness::Difference> Witness::CompareSolids(const Solid& rebuilt,
                                                          const std::vector<Box3>& regions) const {
  Difference found;
  found.same_mm3 = kSameShare * volume_mm3_;
  if (regions.empty()) {
    const Result<double> whole = solid::CalcSymmetricDifference_mm3(rebuilt, solid_P_);
    if (!whole) return std::nullopt;
    found.whole_mm3 = *whole;
    return found;
  }
  found.regions_mm3.assign(regions.size(), 0);
  const Result<Solid> more = solid::Cut(rebuilt, {solid_P_});
  const Result<Solid> less = solid::Cut(solid_P_, {rebuilt});
  if (more && !more->empty()) ShareOut(*more, regions, found.regions_mm3);
  if (less && !less->empty()) ShareOut(*less, regions, found.regions_mm3);
  return found;
}

std::optional<Witness::Difference> Witness::CompareMeshes(const Solid& rebuilt,
                                                          const std::vector<Box3>& regions) const {
  const solid::SurfaceMesh* mesh = MeshOf(rebuilt);
  if (mesh == nullptr) return std::nullopt;
  Difference found;
  const auto difference = [&](const Box3& box, int across) {
    const auto compared = solid::CompareByLines(*mesh, *Mesh(), box, across, threads_);
    return compared.only_a_mm3 + compared.only_b_mm3;
  };
  found.same_mm3 = kSkin_mm * AreaOf_mm2(*mesh);
  if (regions.empty())
    found.whole_mm3 = difference(Around(mesh->box, Mesh()->box), kLinesForWhole);
  for (const Box3& region : regions)
    found.regions_mm3.push_back(difference(Around(region, region), kLinesForFeature));
  return found;
}

}  // namespace fitwright::recognize
