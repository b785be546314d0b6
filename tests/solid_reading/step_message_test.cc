#include "fitwright/solid/step_message.h"

#include <gtest/gtest.h>

namespace fitwright::solid {
namespace {

StepMessage MakeMessage() {
  StepMessage message;
  message.shapes = {std::string("a\0b", 3), "second"};
  message.face_labels = {{"top", ""}, {}};
  PlacedShape placed;
  placed.name = "foot";
  placed.path = {"machine", "base"};
  placed.shape = 1;
  placed.mirrored = true;
  placed.X_WF.translation() = Vec3(1, -2, 3.5);
  placed.X_WF.linear() = Eigen::AngleAxisd(0.3, Vec3::UnitY()).toRotationMatrix();
  message.placed = {placed};
  message.written_in = LengthUnit::kInch;
  message.notes = {"a note"};
  StatedLimit limit;
  limit.shape = 1;
  limit.faces = {4, 7};
  limit.diameter = Size{10, 10.01, 10.04, LimitsOrigin::kPlusMinus, ""};
  limit.kind = GeometricKind::kSquare;
  limit.within_mm = 0.02;
  limit.datums = 2;
  limit.datum_faces = {3};
  limit.words = "a limit";
  message.limits = {limit};
  return message;
}

TEST(StepMessages, ComeOverWhole) {
  const StepMessage sent = MakeMessage();
  const Result<StepMessage> got = FromText(ToText(sent));
  ASSERT_TRUE(got.has_value());
  EXPECT_EQ(got->shapes, sent.shapes);
  EXPECT_EQ(got->face_labels, sent.face_labels);
  ASSERT_EQ(got->placed.size(), 1u);
  EXPECT_EQ(got->placed[0].name, "foot");
  EXPECT_EQ(got->placed[0].path, sent.placed[0].path);
  EXPECT_EQ(got->placed[0].shape, 1u);
  EXPECT_TRUE(got->placed[0].mirrored);
  EXPECT_EQ(got->placed[0].X_WF.matrix(), sent.placed[0].X_WF.matrix());
  EXPECT_EQ(got->written_in, LengthUnit::kInch);
  EXPECT_EQ(got->notes, sent.notes);
  ASSERT_EQ(got->limits.size(), 1u);
  const StatedLimit& limit = got->limits[0];
  EXPECT_EQ(limit.shape, 1u);
  EXPECT_EQ(limit.faces, sent.limits[0].faces);
  ASSERT_TRUE(limit.diameter.has_value());
  EXPECT_EQ(limit.diameter->upper_mm, 10.04);
  EXPECT_EQ(limit.kind, GeometricKind::kSquare);
  EXPECT_EQ(limit.within_mm, 0.02);
  EXPECT_EQ(limit.datums, 2);
  EXPECT_EQ(limit.datum_faces, sent.limits[0].datum_faces);
  EXPECT_EQ(limit.words, "a limit");
}

TEST(StepMessages, BringErrors) {
  Error error{ErrorCode::kFileUnreadable, "what", "value", "remedy", {}};
  const Result<StepMessage> got = FromText(ToText(Unexpected(error)));
  ASSERT_FALSE(got.has_value());
  EXPECT_EQ(got.error().code, ErrorCode::kFileUnreadable);
  EXPECT_EQ(got.error().message, "what");
  EXPECT_EQ(got.error().remedy, "remedy");
}

TEST(StepMessages, AreNotBelievedWhenCutOrChanged) {
  const std::string text = ToText(MakeMessage());
  for (std::size_t i = 0; i < text.size(); ++i) {
    const Result<StepMessage> cut = FromText(text.substr(0, i));
    ASSERT_FALSE(cut.has_value()) << i;
    EXPECT_EQ(cut.error().code, ErrorCode::kKernel);
    std::string changed = text;
    changed[i] = static_cast<char>(changed[i] ^ 1);
    EXPECT_FALSE(FromText(changed).has_value()) << i;
  }
  EXPECT_FALSE(FromText(text + "x").has_value());
}

TEST(StepMessages, AreNotBelievedWhenTheyContradictThemselves) {
  StepMessage without = MakeMessage();
  without.placed[0].shape = 2;
  EXPECT_FALSE(FromText(ToText(without)).has_value());
  StepMessage mirrored = MakeMessage();
  mirrored.placed[0].X_WF.linear().col(0) *= -1;
  EXPECT_FALSE(FromText(ToText(mirrored)).has_value());
  StepMessage crossed = MakeMessage();
  std::swap(crossed.limits[0].diameter->lower_mm, crossed.limits[0].diameter->upper_mm);
  EXPECT_FALSE(FromText(ToText(crossed)).has_value());
  StepMessage uneven = MakeMessage();
  uneven.face_labels.pop_back();
  EXPECT_FALSE(FromText(ToText(uneven)).has_value());
}

}  // namespace
}  // namespace fitwright::solid
