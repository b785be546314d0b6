// The tables behind fasteners.h, ascending by size.
#pragma once

#include "fitwright/trade/fasteners.h"

namespace fitwright::trade {

std::span<const ScrewHead> MetricHeads(HeadKind kind);
std::span<const SetScrew> MetricSetScrews();
std::span<const HexNut> MetricNuts();
std::span<const Washer> MetricWashers();
std::span<const double> MetricScrewLengths_mm();

std::span<const ScrewHead> InchHeads(HeadKind kind);
std::span<const SetScrew> InchSetScrews();
std::span<const HexNut> InchNuts();
std::span<const Washer> InchWashers();
std::span<const double> InchScrewLengths_mm();

}  // namespace fitwright::trade
