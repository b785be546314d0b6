// The parts of the examples: built, read back, compared with their sheets.
#include <gtest/gtest.h>

#include <iostream>

#include "fitwright/files/project.h"
#include "tests/recognize/round_trip.h"

namespace fitwright::recognize_test {
namespace {

struct Share {
  int parts = 0;
  int same_solid = 0;
  int same_sheet = 0;
  std::size_t faces = 0;
  std::size_t explained = 0;
};

Share ReadExample(const std::string& name) {
  Share share;
  Diagnostics faults;
  const auto project = files::LoadProject(std::string(FITWRIGHT_SOURCE_DIR) + "/examples/" + name, {}, faults);
  EXPECT_TRUE(project);
  if (!project) return share;
  for (const Part& part : project->machine.parts) {
    ++share.parts;
    const auto trip = ReadBack(part);
    if (!trip) {
      ADD_FAILURE() << part.name.text() << " was not read";
      continue;
    }
    share.faces += trip->faces;
    share.explained += trip->explained;
    if (trip->difference_share <= 1e-6) ++share.same_solid;
    if (trip->sheets.Equal()) ++share.same_sheet;
    if (!trip->Same()) std::cout << part.name.text() << "\n" << trip->Words();
  }
  std::cout << fmt::format("{}: {} parts, {} solids the same, {} sheets the same, {} of {} faces explained\n", name, share.parts,
                           share.same_solid, share.same_sheet, share.explained, share.faces);
  return share;
}

TEST(ReadBackExamples, BushedBlock) {
  const Share share = ReadExample("bushed-block");
  EXPECT_EQ(share.same_solid, share.parts);
  EXPECT_EQ(share.same_sheet, share.parts);
  EXPECT_EQ(share.explained, share.faces);
}

TEST(ReadBackExamples, Compressor) {
  const Share share = ReadExample("airbrush-compressor");
  EXPECT_EQ(share.same_solid, share.parts);
  EXPECT_EQ(share.explained, share.faces);
  // The ring's gap is drawn as a slot with its ends in air, which the solid does not show.
  EXPECT_GE(share.same_sheet, share.parts - 1);
}

}  // namespace
}  // namespace fitwright::recognize_test
