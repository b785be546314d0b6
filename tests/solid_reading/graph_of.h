#pragma once

#include <gtest/gtest.h>

#include "fitwright/solid/face_graph.h"

namespace fitwright::solid {

inline FaceGraph GraphOf(const Solid& solid) {
  const auto graphs = MakeFaceGraphs(solid);
  EXPECT_TRUE(graphs.has_value()) << Format(graphs.error());
  EXPECT_EQ(graphs->size(), 1u);
  return graphs->front();
}

}  // namespace fitwright::solid
