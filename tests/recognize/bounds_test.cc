// What reading a part may cost, and what it takes back.
#include <gtest/gtest.h>

#include "fitwright/recognize/part_reading.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/line_compare.h"
#include "fitwright/solid/primitives.h"

namespace fitwright::recognize_test {
namespace {

solid::Solid BlockWithPocket() {
  const auto block = solid::MakeBox({{0, 0, 0}, {40, 30, 20}});
  const auto pocket = solid::MakeBox({{10, 8, 12}, {30, 22, 21}});
  return *solid::Cut(*block, {*pocket});
}

Result<recognize::PartReading> Read(const solid::Solid& body, const WorkOptions& work) {
  const auto graphs = solid::MakeFaceGraphs(body);
  recognize::PartReadingSettings settings{PartId("block"), "steel", work};
  return recognize::ReadPart(graphs->front(), body, settings);
}

TEST(ReadPartBounds, WhatTheBudgetDoesNotReachStaysUnreadAndIsSaid) {
  const auto second = solid::MakeBox({{3, 2, 15}, {9, 6, 21}});
  const auto body = solid::Cut(BlockWithPocket(), {*second});
  ASSERT_TRUE(body);
  const auto whole = Read(*body, {});
  ASSERT_TRUE(whole);
  EXPECT_TRUE(whole->unread.empty());
  WorkOptions work;
  work.budget = 1;
  const auto cut_short = Read(*body, work);
  ASSERT_TRUE(cut_short);
  EXPECT_FALSE(cut_short->unread.empty());
  const auto says = [](const recognize::Inference& i) { return i.words.find("was spent") != std::string::npos; };
  EXPECT_TRUE(std::any_of(cut_short->inferred.begin(), cut_short->inferred.end(), says));
}

TEST(ReadPartBounds, StopsWhenCancelled) {
  CancelFlag cancel;
  cancel.Cancel();
  WorkOptions work;
  work.cancel = &cancel;
  const auto reading = Read(BlockWithPocket(), work);
  ASSERT_FALSE(reading);
  EXPECT_EQ(reading.error().code, ErrorCode::kStopped);
}

TEST(ReadPartBounds, SharpPocketIsReadAndItsCornersAreSaid) {
  const auto reading = Read(BlockWithPocket(), {});
  ASSERT_TRUE(reading);
  const auto says = [](const recognize::Inference& i) { return i.words.find("round cutter") != std::string::npos; };
  EXPECT_TRUE(std::any_of(reading->inferred.begin(), reading->inferred.end(), says));
}

// An arc cut into a side whose middle lies outside: a sheet's hole cannot stand there, a cutout can.
TEST(ReadPartBounds, ArcAboutAnAxisBesideThePartIsNoHole) {
  const auto block = solid::MakeBox({{0, 0, 0}, {40, 30, 20}});
  const auto round = solid::MakeCylinder({{20, -6, 0}, Vec3::UnitZ()}, -1, 21, 20);
  const auto body = solid::Cut(*block, {*round});
  ASSERT_TRUE(body);
  const auto reading = Read(*body, {});
  ASSERT_TRUE(reading);
  for (const Feature& feature : reading->part.features) EXPECT_FALSE(std::holds_alternative<Hole>(feature.shape)) << feature.name.text();
  EXPECT_TRUE(reading->unread.empty());
  const auto is_arc = [](const Feature& feature) {
    const auto* outline = std::get_if<Outline>(&feature.shape);
    return outline != nullptr && outline->within && std::abs(std::abs(RadiusOf(outline->line, 0)) - 10) < 1e-6;
  };
  EXPECT_TRUE(std::any_of(reading->part.features.begin(), reading->part.features.end(), is_arc));
}

TEST(CompareByLines, FindsWhatOneHasAndTheOtherHasNot) {
  const auto block = solid::MakeBox({{0, 0, 0}, {20, 20, 10}});
  const auto pin = solid::MakeCylinder({{10, 10, 0}, Vec3::UnitZ()}, -5, 10, 8);
  const auto a = solid::MakeSurfaceMesh(*block);
  const auto b = solid::MakeSurfaceMesh(*pin);
  ASSERT_TRUE(a && b);
  const Box3 all{{-1, -1, -6}, {21, 21, 11}};
  const auto compared = solid::CompareByLines(*a, *b, all, 150);
  const double under_mm3 = kPi * 16 * 5;
  EXPECT_NEAR(compared.only_b_mm3, under_mm3, 0.02 * under_mm3);
  EXPECT_NEAR(compared.shared_mm3, 2 * under_mm3, 0.04 * under_mm3);
  EXPECT_NEAR(compared.only_a_mm3, 4000 - 2 * under_mm3, 0.01 * 4000);
  const auto hidden = solid::CompareByLines(*a, *b, all, 150, {*b});
  EXPECT_EQ(hidden.only_b_mm3, 0);
  EXPECT_TRUE(solid::CrossesBetween(*a, {10, 10, 5}, {10, 10, 15}));
  EXPECT_FALSE(solid::CrossesBetween(*a, {10, 10, 2}, {11, 12, 8}));
}

}  // namespace
}  // namespace fitwright::recognize_test
