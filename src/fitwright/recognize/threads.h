// Threads that a file models turn by turn: found by their helical faces, and taken for the cylinder
// that they are cut into.
#pragma once

#include <vector>

#include "fitwright/recognize/draft.h"

namespace fitwright::recognize {

struct ModelledThread {
  std::size_t face = 0;  // place in PlacedGraph::faces of the cylinder that stands for it
  Axis3 axis_P;
  Span span;    // along axis_P from its point
  Span radius;  // of its faces: from root to crest, or the other way round inside
  Span ring;    // where the thread's own shape lies: nothing is compared there
  double pitch_mm = 0;
  bool left_handed = false;
  bool internal = false;
  bool known = false;  // a row of the tables has it
};

// Takes the faces of each thread from the graph and puts one cylinder in their place: outside of
// its crests, inside of the crests too (the minor diameter), or of the tap drill where the tables
// know the thread.
std::vector<ModelledThread> TakeThreads(const solid::Solid& solid_P, PlacedGraph& graph);

// Names each on the feature that its cylinder became: size and pitch as the nearest of the tables.
// What no table has stays unread.
void NameThreads(const std::vector<ModelledThread>& threads, Draft& draft);

}  // namespace fitwright::recognize
