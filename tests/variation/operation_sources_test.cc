// The printed table of sources is the one that the code reads.
#include "fitwright/variation/operation_sources.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <sstream>

#include "fitwright/model/plan.h"
#include "tests/support/plan_builders.h"

namespace fitwright::variation {
namespace {

std::string UsesText(std::span<const SourceUse> uses, bool contact) {
  std::string text;
  for (const SourceUse& use : uses) {
    if (!text.empty()) text += "; ";
    text += contact ? fmt::format("`{}` ({})", GroupOf(use.spread), WordOfScope(use.scope))
                    : fmt::format("`{}`: {} ({})", GroupOf(use.spread), WordOfEffect(use.effect),
                                  WordOfScope(use.scope));
  }
  return text.empty() ? "none" : text;
}

std::string RowText(const OperationRow& row) {
  return fmt::format("| {} | {} | {} | {} |", WordOf(row.operation), WordOfWork(row.work),
                     UsesText(row.uses, false), row.note);
}

std::string RowText(const ContactRow& row) {
  return fmt::format("| {} | {} | {} |", WordOf(row.kind), UsesText(row.uses, true), row.note);
}

std::string DocText() {
  std::ifstream in(std::string(FITWRIGHT_SOURCE_DIR) + "/docs/operation-sources.md");
  std::stringstream text;
  text << in.rdbuf();
  return text.str();
}

TEST(OperationSources, DocumentPrintsTheTable) {
  const std::string doc = DocText();
  ASSERT_FALSE(doc.empty());
  for (const OperationRow& row : OperationTable())
    EXPECT_NE(doc.find(RowText(row)), std::string::npos) << RowText(row);
  for (const ContactRow& row : ContactTable())
    EXPECT_NE(doc.find(RowText(row)), std::string::npos) << RowText(row);
}

TEST(OperationSources, NoSourceTwiceInARow) {
  for (const OperationRow& row : OperationTable()) {
    for (std::size_t i = 0; i < row.uses.size(); ++i) {
      for (std::size_t j = 0; j < i; ++j) {
        EXPECT_FALSE(row.uses[i].spread == row.uses[j].spread &&
                     row.uses[i].effect == row.uses[j].effect)
            << WordOf(row.operation);
      }
    }
  }
}

TEST(OperationSources, EveryContactKindHasARow) {
  for (const auto& [kind, word] : WordsOf<ContactKind>::kAll) {
    EXPECT_TRUE(std::any_of(ContactTable().begin(), ContactTable().end(), [&kind = kind](const ContactRow& r) {
      return r.kind == kind;
    })) << word;
  }
}

// The shipped table has every spread that the model reads, in a unit that is known.
TEST(OperationSources, ShippedSpreadsAreAllThere) {
  const auto shipped = fitwright::testing::ShippedSpreads();
  ASSERT_FALSE(shipped.empty());
  for (std::size_t i = 0; i < kSpreadCount; ++i) {
    const auto id = static_cast<SpreadId>(i);
    if (IsOwnLimits(id)) continue;
    EXPECT_TRUE(shipped.contains(std::string(IdOf(id)))) << IdOf(id);
  }
  for (const auto& [id, spread] : shipped) {
    bool known = false;
    for (std::size_t i = 0; i < kSpreadCount; ++i) known |= IdOf(static_cast<SpreadId>(i)) == id;
    EXPECT_TRUE(known) << id;
  }
  EXPECT_DOUBLE_EQ(UnitFactor("mrad"), 1e-3);
  EXPECT_DOUBLE_EQ(UnitFactor("arcmin"), kPi / 180 / 60);
}

TEST(Spreads, DrawnShopsLieBetweenCarefulAndWorn) {
  const Shop shop = fitwright::testing::ShippedShop();
  const double careful = shop.spreads.at("edge_finder").careful.spread;
  const double worn = shop.spreads.at("edge_finder").worn.spread;
  int under = 0;
  for (std::uint64_t s = 0; s < 400; ++s) {
    const Figures f = DrawnFigures(shop, 3, s);
    const double drawn = f[Place(SpreadId::kEdgeFinder)].spread;
    EXPECT_GE(drawn, careful);
    EXPECT_LE(drawn, worn);
    under += drawn < 0.008 ? 1 : 0;
    // The rows of drill oversize move as one: below the usual figure together or above it together.
    const auto above = [&](SpreadId id) {
      return f[Place(id)].mean > shop.spreads.at(std::string(IdOf(id))).usual.mean;
    };
    EXPECT_EQ(above(SpreadId::kDrillOversize32), above(SpreadId::kDrillOversize64));
  }
  EXPECT_NEAR(under, 200, 60);
}

}  // namespace
}  // namespace fitwright::variation
