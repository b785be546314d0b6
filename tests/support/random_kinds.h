// The two families of made-up parts; internal to random_part.cc. odd: with wishes that few shops grant.
#pragma once

#include "tests/support/dice.h"
#include "tests/support/sheet_writer.h"

namespace fitwright::testing {

void AddTurned(Dice& dice, SheetWriter& sheet, bool odd);

struct BlockSize {
  double x = 0;
  double y = 0;
  double z = 0;
};
void AddBlock(Dice& dice, SheetWriter& sheet, const BlockSize& size, bool odd);
void AddPlate(Dice& dice, SheetWriter& sheet, const BlockSize& size, bool odd);

}  // namespace fitwright::testing
