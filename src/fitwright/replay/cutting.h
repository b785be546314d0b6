// One cutting step on solids: sweep, rules, cut.
#pragma once

#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/replay/floor.h"
#include "fitwright/replay/setup_view.h"
#include "fitwright/solid/solid.h"

namespace fitwright::replay {

// What one path piece sweeps, with boxes in S.
struct Sweep {
  const PathPiece* piece = nullptr;
  std::vector<solid::Solid> cutters;
  std::vector<Box3> boxes;
};

// A removal smaller than this is the noise of surfaces that coincide, mm3.
double RemovalNoise_mm3(double volume_mm3);

// Sweeps the step's tool, judges it and cuts every piece that stands in its way. `floor` is left as
// the step leaves it. Errors: kKernel.
Status RunCut(const SetupView& view, const Step& step, const Tool& tool, Floor& floor,
              Findings& findings);

// ---- rules of single path pieces, before the cut
struct CutJob {
  const SetupView& view;
  const Step& step;
  const Tool& tool;
  const std::vector<Sweep>& sweeps;
};
// Start, pilot hole, reach, depth, centre cutting. `before` is the floor before the step.
Status CheckHoles(const CutJob& job, const Floor& before, Findings& findings);
// Taps: the hole is there, has walls and is deep enough; records the threads on the pieces.
Status RunTap(const CutJob& job, Floor& floor, Findings& findings);
// Records a thread on the piece; one that is there already, as deep or deeper, is said.
void KeepThread(const CutJob& job, const Thread& thread, Standing& s, Findings& findings);
// Threads and knurls on the outside: the blank is there and nothing is run into; records them.
Status RunThread(const CutJob& job, Floor& floor, Findings& findings);
// Records a honed bore on the piece whose wall it went over.
Status RunHone(const CutJob& job, Floor& floor);
// Keyways along bores: the bore takes the bar or bush, the tool is long and its bit high enough, the stroke
// runs out, the spindle stands. `before` is the floor before the step.
Status CheckStrokes(const CutJob& job, const Floor& before, Findings& findings);

// Work turned, threaded or parted far out of the jaws without a centre or steady, or too far from one.
Status CheckStickOut(const CutJob& job, const Floor& before, Findings& findings);

// ---- collisions of everything that is not the cutting edge
Status CheckFixturesClear(const CutJob& job, Findings& findings);
Status CheckShanks(const CutJob& job, const Floor& after, Findings& findings);

}  // namespace fitwright::replay
