// Whole plans of turned parts: each is made from its bar to nothing but its design, and no rule of the
// replay is broken on the way.
#include <gtest/gtest.h>

#include "tests/support/corrupt.h"
#include "tests/support/lathe_parts.h"

namespace fitwright {
namespace {

using namespace lathe_parts;  // NOLINT: test helpers

void ExpectMade(const Part& part, int quantity = 1) {
  const Made made = MakeAndReplay(part, files::DefaultShop(), quantity);
  EXPECT_TRUE(made.ok) << made.text;
}

TEST(LatheParts, GudgeonPin) { ExpectMade(GudgeonPin()); }
TEST(LatheParts, Crankpin) { ExpectMade(Crankpin()); }
TEST(LatheParts, Ring) { ExpectMade(Ring(), 2); }
TEST(LatheParts, DrivenPulley) { ExpectMade(DrivenPulley()); }
TEST(LatheParts, Crankshaft) { ExpectMade(Crankshaft()); }
TEST(LatheParts, CrankDisc) { ExpectMade(CrankDisc()); }
TEST(LatheParts, SpacerTube) { ExpectMade(SpacerTube()); }
TEST(LatheParts, Spacer) { ExpectMade(Spacer()); }
TEST(LatheParts, Washer) { ExpectMade(Washer()); }
TEST(LatheParts, RearCover) { ExpectMade(RearCover()); }
TEST(LatheParts, TaperPlug) { ExpectMade(TaperPlug()); }
TEST(LatheParts, Knob) { ExpectMade(Knob()); }
TEST(LatheParts, Spindle) { ExpectMade(Spindle()); }


// Spoiled at every step: each fault is caught and named, or shown harmless.
void ExpectSpoiledCaught(const Part& part, std::size_t shards = 1, std::optional<HoldingKind> held = std::nullopt) {
  const Shop shop = files::DefaultShop();
  const Made made = MakeAndReplay(part, shop, 1, held);
  ASSERT_TRUE(made.ok) << made.text;
  corrupt::RunCorruptionsOptions options;
  options.shards = shards;
  const auto results = corrupt::RunCorruptions(MachineOf(part), shop, made.plan, options);
  ASSERT_TRUE(results) << Format(results.error());
  EXPECT_GT(results->size(), 20U / corrupt::ShardsHere(1));
  for (const corrupt::CorruptionResult& r : *results) EXPECT_TRUE(r.sound()) << r.fault << " at " << r.where << ": " << r.say;
}

TEST(LathePartsSpoiled, Crankshaft) { ExpectSpoiledCaught(Crankshaft()); }
TEST(LathePartsSpoiled, Knob) { ExpectSpoiledCaught(Knob(), 5); }
TEST(LathePartsSpoiled, Spacer) { ExpectSpoiledCaught(Spacer()); }
TEST(LathePartsSpoiled, StepShaft) { ExpectSpoiledCaught(StepShaft(), 1, HoldingKind::kBetweenCentres); }
TEST(LathePartsSpoiled, Spindle) { ExpectSpoiledCaught(Spindle()); }

}  // namespace
}  // namespace fitwright
