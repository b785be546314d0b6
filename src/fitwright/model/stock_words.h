// A piece of stock in the words one buys it by.
#pragma once

#include <functional>
#include <string>

#include "fitwright/model/part.h"

namespace fitwright {

// "round bar 60.0, 70.0 long", "tube 30.0, bored 20.0, 45.0 long", "hex bar 17.0 across flats, 40.0
// long", "flat bar 55.0 x 60.0 x 92.0", "sheet 60.0 x 60.0 x 0.3", "casting 50.0 x 40.0 x 20.0";
// each length as `length` writes it from mm.
std::string StockWords(const Stock& stock, const std::function<std::string(double)>& length);

}  // namespace fitwright
