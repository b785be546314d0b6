// Speeds reckoned on the machines of a shop file.
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>

#include "fitwright/service/reckon.h"

namespace fitwright::service {
namespace {

std::string SpeedIn(const std::string& shop_text, std::vector<std::string> values) {
  const auto file = std::filesystem::path(::testing::TempDir()) / "reckon_shop.toml";
  std::ofstream(file) << "format = \"fitwright-shop/1\"\n" << shop_text;
  const auto answer = Reckon({"speed", std::move(values), LengthUnit::kMillimetre, file}, {});
  std::filesystem::remove(file);
  return answer ? answer->json : Format(answer.error());
}

TEST(ReckonInShop, TakesTheLathesOwnSteps) {
  const std::string json = SpeedIn("[[machine]]\nname = \"lathe\"\nspeeds_rpm = [77, 333]\n", {"material=steel", "cut=turn", "diameter=25"});
  EXPECT_NE(json.find("333"), std::string::npos) << json;
}

TEST(ReckonInShop, TheMillsForAMillsCut) {
  const std::string json = SpeedIn("[[machine]]\nname = \"mill\"\nspeeds_rpm = [88, 444]\n", {"material=steel", "cut=mill_side", "diameter=16"});
  EXPECT_NE(json.find("444"), std::string::npos) << json;
}

TEST(ReckonInShop, WhatIsGivenWins) {
  const std::string json = SpeedIn("[[machine]]\nname = \"lathe\"\nspeeds_rpm = [77, 333]\n", {"material=steel", "diameter=25", "steps=299"});
  EXPECT_NE(json.find("299"), std::string::npos) << json;
  EXPECT_EQ(json.find("333"), std::string::npos) << json;
}

}  // namespace
}  // namespace fitwright::service
