// Private to the reading of stacks: the pieces of one stack along its axis.
#pragma once

#include <vector>

#include "fitwright/recognize/draft.h"

namespace fitwright::recognize {

// What is beyond an end of a hollow cylinder.
enum class RingEnd { kOpen, kFlat, kPoint118, kPoint135 };

// Breaks a ring's edge.
struct MouthBreak {
  double axial_mm = 0;
  double radial_mm = 0;
  bool rounded = false;
  std::vector<std::size_t> faces;
};

struct Ring {
  double radius_mm = 0;
  Span span;  // along the axis of P, from P's origin
  RingEnd low = RingEnd::kOpen;
  RingEnd high = RingEnd::kOpen;
  std::vector<std::size_t> faces;
  std::vector<MouthBreak> low_break;   // none or one
  std::vector<MouthBreak> high_break;
};

struct Cone {
  Span span;
  double low_radius_mm = 0;
  double high_radius_mm = 0;
  std::vector<std::size_t> faces;
};

struct Recess {  // a square groove inside
  double radius_mm = 0;
  Span span;
  bool undercut = false;
  std::vector<std::size_t> faces;
};

struct Stack {
  int axis = 2;                    // of P
  Vec3 point_P_mm = Vec3::Zero();  // on it, its coordinate along it 0
  std::vector<Ring> rings;         // by place
  std::vector<Cone> cones;         // that open no mouth: tapers
  std::vector<Recess> recesses;
};

std::vector<Stack> FindStacks(const Draft& draft, const IsAirBetween& is_air);

// How far a hollow cylinder reaches towards one of its ends, through all that it runs out into there.
double OpenEndAt(const PlacedGraph& graph, std::size_t face, bool high);

}  // namespace fitwright::recognize
