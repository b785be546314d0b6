// How this layer has cuts replayed; private to it.
#pragma once

#include "fitwright/base/progress.h"
#include "fitwright/replay/replay.h"

namespace fitwright::service {

// Pieces are kept between runs in the user's cache folder, when there is one.
replay::ReplayOptions ReplayOptionsOf(int threads, const WorkOptions& work);

}  // namespace fitwright::service
