// Whole plans of turned parts: each is made from its bar to nothing but its design, and no rule of the
// replay is broken on the way.
#include <gtest/gtest.h>

#include "tests/support/lathe_parts.h"

namespace fitwright {
namespace {

using namespace lathe_parts;  // NOLINT: test helpers

TEST(LatheParts, GudgeonPin) {
  const Made made = MakeAndReplay(GudgeonPin(), files::DefaultShop());
  EXPECT_TRUE(made.ok) << made.text;
}

TEST(LatheParts, Crankpin) {
  const Made made = MakeAndReplay(Crankpin(), files::DefaultShop());
  EXPECT_TRUE(made.ok) << made.text;
}

TEST(LatheParts, Ring) {
  const Made made = MakeAndReplay(Ring(), files::DefaultShop(), 2);
  EXPECT_TRUE(made.ok) << made.text;
}

TEST(LatheParts, DrivenPulley) {
  const Made made = MakeAndReplay(DrivenPulley(), files::DefaultShop());
  EXPECT_TRUE(made.ok) << made.text;
}

}  // namespace
}  // namespace fitwright
