// The one thread pool of the program, behind one call.
#pragma once

#include <cstddef>
#include <functional>

namespace fitwright {

// Runs body(i) for i in [0, count), on up to `threads` threads (0: one a core), the caller's among them; calls inside
// of bodies share them. Returns when all are done. Bodies must not depend on each other; results must be written to
// slots keyed by i, so that the outcome is the same for any thread count.
void ParallelFor(std::size_t count, int threads, const std::function<void(std::size_t)>& body);

}  // namespace fitwright
