// What limits a part's float in its joint's plane: spigots and screws, as they stand in W.
#pragma once

#include <array>
#include <vector>

#include "fitwright/variation/assembly.h"

namespace fitwright::variation {

struct LimitFrame {
  Vec3 origin_W = Vec3::Zero();
  Vec3 normal_W = Vec3::UnitZ();
  std::array<Vec3, 2> axes_W;
};

// The feature's datum and region with everything taken to W; holes' entries in W.
Datum DatumInW(const Machine& machine, const FeatureRef& ref);
Region RegionInW(const Machine& machine, const FeatureRef& ref);
std::vector<Vec3> HolesInW(const Machine& machine, const FeatureRef& ref);
Vec3 MiddleOfHoles(const Machine& machine, const FeatureRef& ref);
Pose PlaceOf(const Machine& machine, const PartId& part);

// The screws of the joint as they pass one part between: a joint of its own, from the part with the
// threads to it.
Joint PairWith(const Machine& machine, const Joint& joint, const FeatureRef& between);

// Adds the disc that a spigot keeps its part in, at the middle of what shaft and bore share, or at
// `at_W`.
void AddSpigotLimit(const AssemblyInput& input, const PlacedMap& placed, const Joint& joint,
                    const LimitFrame& frame, const std::vector<SourceIndex>& without,
                    const Vec3* at_W, FloatLimits& limits);

// Adds two planes for each screw of the joint: the joint face and the head's face. `screw` counts
// on. Errors: kNoPlan when the joint's holes were never made and only_threaded is false.
Status AddScrewLimits(const AssemblyInput& input, const PlacedMap& placed, const Joint& joint,
                      const LimitFrame& frame, const std::vector<SourceIndex>& without,
                      bool only_threaded, int& screw, FloatLimits& limits);

// How far the middle of hole i moves at p_W on its line, along a direction, the part's own move in
// `placed` with it. Nothing when the hole is not drilled.
bool AddHoleMoveInW(FormSum& sum, const AssemblyInput& input, const PlacedMap& placed,
                    const FeatureRef& ref, std::size_t i, const Vec3& p_W, const Vec3& dir_W,
                    double factor = 1);

// The conditions of the pins of a joint as they stand in `placed`: each pin's line in the one part
// against that in the other, at both ends of the hole that it is put through last; with the spigots
// between the two parts. A pin pressed in follows a hole that is off by a hundredth (opinion).
// Errors: kNoPlan when the holes were never made.
Result<FloatLimits> PinLimitsOf(const AssemblyInput& input, const PlacedMap& placed,
                                const Joint& joint, const std::vector<SourceIndex>& without);

}  // namespace fitwright::variation
