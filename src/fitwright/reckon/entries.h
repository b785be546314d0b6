// The catalogue's pages, by subject. Only catalogue.cc reads them together.
#pragma once

#include <vector>

#include "fitwright/reckon/catalogue.h"

namespace fitwright::reckon {

std::vector<Reckoning> LayoutEntries();
std::vector<Reckoning> AngleEntries();
std::vector<Reckoning> FitEntries();
std::vector<Reckoning> ThreadEntries();
std::vector<Reckoning> ScrewEntries();
std::vector<Reckoning> CuttingEntries();
std::vector<Reckoning> DividingEntries();
std::vector<Reckoning> DriveEntries();
std::vector<Reckoning> BenchEntries();

using Entries = std::vector<Reckoning> (*)();
inline std::vector<Entries> AllEntries() {
  return {LayoutEntries,  AngleEntries,    FitEntries,   ThreadEntries, ScrewEntries,
          CuttingEntries, DividingEntries, DriveEntries, BenchEntries};
}

}  // namespace fitwright::reckon
