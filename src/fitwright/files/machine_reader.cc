#include "fitwright/files/machine_reader.h"

#include <algorithm>
#include <cmath>

#include "fitwright/files/machine_sections.h"
#include "fitwright/files/part_reader.h"

namespace fitwright::files {
namespace {

// Turn about axis k; whole quarter turns are exact.
Eigen::Matrix3d Turn(int k, double angle_deg) {
  const double quarters = angle_deg / 90.0;
  double c = std::cos(angle_deg * kRadPerDeg);
  double s = std::sin(angle_deg * kRadPerDeg);
  if (quarters == std::floor(quarters)) {
    c = std::round(c);
    s = std::round(s);
  }
  Eigen::Matrix3d turn = Eigen::Matrix3d::Identity();
  const int a = (k + 1) % 3;
  const int b = (k + 2) % 3;
  turn(a, a) = c;
  turn(a, b) = -s;
  turn(b, a) = s;
  turn(b, b) = c;
  return turn;
}

Pose ReadPose(TableReader& table) {
  const auto at = table.Point_mm("at");
  const auto turn_deg = table.Angles_deg("turn", 3);
  Pose X_WP = Pose::Identity();
  if (at) X_WP.translation() = *at;
  if (turn_deg) {
    X_WP.linear() = Turn(2, (*turn_deg)[2]) * Turn(1, (*turn_deg)[1]) * Turn(0, (*turn_deg)[0]);
  }
  return X_WP;
}

void ReadUse(TableReader table, Machine& machine) {
  const auto sheet = table.Name("sheet");
  table.Require("sheet", "name the sheet: sheet = \"bush\" for parts/bush.toml");
  const Places places = ReadPlaces(table);
  table.Finish();
  if (!sheet) return;
  const PartId part(*sheet);
  if (machine.FindUse(part) != nullptr) {
    table.Fault(ErrorCode::kDuplicateName, "sheet", "the sheet is used twice",
                "write it once, with quantity = 2, and with places = [...] when both stand in the "
                "machine");
    return;
  }
  machine.uses.push_back({part, places.quantity, places.first, places.copies});
  table.Locate(fmt::format("uses.{}", *sheet));
}

void NoteJoints(const JointNotes& notes, ReadLog& log) {
  if (!notes.floats.empty()) {
    log.assumed.push_back(
        fmt::format("Joints whose float is not stated: what play they leave falls by chance: {}.",
                    ListOf(notes.floats, 100)));
  }
  if (!notes.apart.empty()) {
    log.assumed.push_back(
        fmt::format("Joints for which comes_apart is not stated: they are taken apart and put "
                    "together again: {}.",
                    ListOf(notes.apart, 100)));
  }
}

}  // namespace

Places ReadPlaces(TableReader& table) {
  constexpr std::size_t kMostPlaces = 1000;
  Places places;
  const auto quantity = table.Integer("quantity", 1, kMostPlaces);
  places.quantity = static_cast<int>(quantity.value_or(1));
  places.stated = table.Has("at") || table.Has("turn") || table.Has("places");
  places.first = ReadPose(table);
  if (!table.Has("places")) return places;
  if (!table.AtMostOne({"at", "places"}) || !table.AtMostOne({"turn", "places"})) return places;
  if (!table.HasList("places")) {
    table.Fault(ErrorCode::kWrongType, "places", "this is not a list of places",
                "write places = [{ at = [0, 0, 0] }, { at = [0, 0, 5] }]");
    return places;
  }
  std::vector<TableReader> rows = table.Tables("places");
  std::vector<Pose> poses;
  for (TableReader& row : rows) {
    poses.push_back(ReadPose(row));
    row.Finish();
  }
  if (poses.empty() || poses.size() > kMostPlaces) {
    table.Fault(ErrorCode::kWrongCount, "places", fmt::format("{} stand here", poses.size()),
                fmt::format("write 1 to {} places", kMostPlaces));
    return places;
  }
  places.first = poses.front();
  places.copies.assign(poses.begin() + 1, poses.end());
  if (!table.Has("quantity")) places.quantity = static_cast<int>(poses.size());
  if (quantity && static_cast<std::size_t>(*quantity) < poses.size()) {
    table.Fault(ErrorCode::kTooManyPlaces, "places",
                fmt::format("{} places for {} of them", poses.size(), *quantity),
                fmt::format("write quantity = {}, or take places out", poses.size()));
  }
  return places;
}

std::optional<FeatureRef> RefOf(TableReader& table, std::string_view key, const std::string& text) {
  const std::size_t dot = text.find('.');
  if (dot == std::string::npos || dot == 0 || dot + 1 == text.size() ||
      text.find('.', dot + 1) != std::string::npos) {
    table.Fault(ErrorCode::kBadName, key, "this does not name a feature of a part",
                "write \"part.feature\", with one point between");
    return std::nullopt;
  }
  return FeatureRef{PartId(text.substr(0, dot)), FeatureId(text.substr(dot + 1))};
}

std::optional<FeatureRef> ReadRef(TableReader& table, std::string_view key) {
  const auto text = table.String(key);
  table.Require(key, fmt::format("write {} = \"part.feature\"", key));
  if (!text) return std::nullopt;
  return RefOf(table, key, *text);
}

std::optional<std::string> ReadNewName(TableReader& table, const std::vector<std::string>& taken) {
  const auto name = table.Name("name");
  table.Require("name", "give it a name");
  if (!name || std::find(taken.begin(), taken.end(), *name) == taken.end()) return name;
  table.Fault(ErrorCode::kDuplicateName, "name", "the name is given twice",
              "names are given once: choose another");
  return std::nullopt;
}

Machine ReadMachine(const SourceFile& file, ReadLog& log) {
  TableReader table(file, file.table, "", LengthUnit::kMillimetre, log);
  Machine machine;
  ReadFormat(table, kMachineFormat);
  machine.name = table.String("name").value_or("");
  table.Require("name", "give the machine a name");
  machine.display_unit = ReadUnit(table, "units");
  table.set_unit(machine.display_unit);
  if (!table.Has("units")) {
    log.assumed.push_back(fmt::format("{}: no units are stated; taken as mm.", file.name));
  }
  machine.cautions = table.Strings("cautions").value_or(std::vector<std::string>());
  for (const TableReader& use : table.Tables("part")) ReadUse(use, machine);
  table.Require("part", "write a [[part]] with sheet = \"NAME\" for each part");
  for (const TableReader& bought : table.Tables("bought")) ReadBought(bought, machine);
  JointNotes notes;
  for (const TableReader& joint : table.Tables("joint")) ReadJoint(joint, machine, notes);
  for (const TableReader& r : table.Tables("requirement")) ReadRequirement(r, machine);
  table.Finish();
  NoteJoints(notes, log);
  return machine;
}

}  // namespace fitwright::files
