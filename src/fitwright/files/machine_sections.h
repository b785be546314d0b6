// The sections of machine.toml, one table each. Internal to files/.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fitwright/files/table_reader.h"
#include "fitwright/model/machine.h"

namespace fitwright::files {

// Joints for which a default was taken.
struct JointNotes {
  std::vector<std::string> floats;
  std::vector<std::string> apart;
};

// Where something stands in the machine: at and turn, or places for several alike.
struct Places {
  bool stated = false;
  Pose first = Pose::Identity();
  std::vector<Pose> copies;
  int quantity = 1;
};
// Also reads quantity; without it there are as many as there are places. Faults are reported, and
// what could be read is returned.
Places ReadPlaces(TableReader& table);

// Each appends to the machine what it could read; faults are reported.
void ReadBought(TableReader table, Machine& machine);
void ReadJoint(TableReader table, Machine& machine, JointNotes& notes);
void ReadRequirement(TableReader table, Machine& machine);

// "part.feature" of text; reported at key when it is not one.
std::optional<FeatureRef> RefOf(TableReader& table, std::string_view key, const std::string& text);
std::optional<FeatureRef> ReadRef(TableReader& table, std::string_view key);
// A name that none of taken has.
std::optional<std::string> ReadNewName(TableReader& table, const std::vector<std::string>& taken);

}  // namespace fitwright::files
