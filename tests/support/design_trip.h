// A sheet built, written as STEP, read back from the bytes and compared.
#pragma once

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <optional>
#include <sstream>
#include <string>
#include <vector>

#include "fitwright/files/part_writer.h"
#include "fitwright/files/project.h"
#include "fitwright/recognize/normal_form.h"
#include "fitwright/recognize/part_reading.h"
#include "fitwright/solid/build.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/measure.h"
#include "fitwright/solid/step_io.h"
#include "fitwright/solid/step_reading.h"

namespace fitwright::testing {

// A folder of this process alone, gone with the object.
class TripFolder {
 public:
  TripFolder()
      : path_(std::filesystem::temp_directory_path() /
              fmt::format("fitwright_trip_{}", ::getpid())) {
    std::filesystem::create_directories(path_ / "parts");
  }
  ~TripFolder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  TripFolder(const TripFolder&) = delete;
  TripFolder& operator=(const TripFolder&) = delete;
  std::string PathOf(const std::string& name) const { return (path_ / name).string(); }
  void Write(const std::string& name, const std::string& text) const {
    std::ofstream(path_ / name, std::ios::binary) << text;
  }
  std::string Read(const std::string& name) const {
    std::ostringstream all;
    all << std::ifstream(path_ / name, std::ios::binary).rdbuf();
    return all.str();
  }
  const std::filesystem::path& path() const { return path_; }

 private:
  std::filesystem::path path_;
};

// The part of a sheet; none, and why, when the sheet is refused.
inline std::optional<Part> LoadDesign(const TripFolder& folder, const std::string& sheet,
                                      std::string& why) {
  folder.Write("machine.toml",
               "format = \"fitwright-machine/1\"\nname = \"design\"\nunits = "
               "\"mm\"\n\n[[part]]\nsheet = \"design\"\n");
  folder.Write("parts/design.toml", sheet);
  Diagnostics faults;
  const auto project = files::LoadProject(folder.path(), {}, faults);
  for (const Error& fault : faults.errors()) why += Format(fault) + "\n";
  if (!project) return std::nullopt;
  return project->machine.parts.front();
}

// One solid in one piece, in its part's frame; none where the features leave no such thing.
inline std::optional<solid::Solid> BuildDesign(const Part& part) {
  const auto built = solid::MakeDesign(part);
  if (!built) return std::nullopt;
  const auto pieces = solid::SplitPieces(*built);
  if (!pieces || pieces->size() != 1) return std::nullopt;
  return *built;
}

inline std::string StepBytes(const TripFolder& folder, const solid::Solid& solid_F,
                             LengthUnit unit = LengthUnit::kMillimetre) {
  const Status written =
      solid::WriteStep({{"design", solid_F, Pose::Identity()}}, folder.PathOf("design.step"),
                       {.assembly_name = "designs", .unit = unit});
  return written ? folder.Read("design.step") : std::string();
}

struct Reading {
  recognize::PartReading part;
  std::size_t faces = 0;
  std::size_t explained = 0;
  double seconds = 0;  // of the processor, after the file was read
};

inline std::optional<Reading> ReadBytes(const TripFolder& folder, const std::string& bytes,
                                        std::string& why, double most_seconds = 120) {
  folder.Write("again.step", bytes);
  const auto contents = solid::ReadStep(folder.PathOf("again.step"), {.seconds = most_seconds});
  if (!contents || contents->shapes.size() != 1) {
    why = contents ? fmt::format("{} solids", contents->shapes.size()) : Format(contents.error());
    return std::nullopt;
  }
  const std::clock_t start = std::clock();
  const auto graphs = solid::MakeFaceGraphs(contents->shapes.front());
  if (!graphs || graphs->size() != 1) {
    why = graphs ? "several bodies" : Format(graphs.error());
    return std::nullopt;
  }
  auto read =
      recognize::ReadPart(graphs->front(), contents->shapes.front(), {PartId("design"), "steel"});
  if (!read) {
    why = Format(read.error());
    return std::nullopt;
  }
  Reading reading;
  reading.faces = graphs->front().faces.size();
  for (const auto& [name, list] : read->faces) reading.explained += list.size();
  reading.part = *std::move(read);
  reading.seconds = static_cast<double>(std::clock() - start) / CLOCKS_PER_SEC;
  return reading;
}

struct Trip {
  Reading reading;
  recognize::NormalDifference sheets;  // only_a: of the sheet written, only_b: of the one read
  double difference_share = 1;  // of the volume, between the solid written and the one rebuilt
  std::string refused;          // why the sheet read cannot be loaded as one
  bool SameSolid() const { return difference_share <= 1e-6; }
  bool SameSheet() const {
    return sheets.Equal() && reading.explained == reading.faces && refused.empty();
  }
};

// The sheet read, as text and loaded again; why not where it cannot be.
inline std::optional<Part> SaidAgain(const TripFolder& folder, const Part& read, std::string& why) {
  const auto text = files::WritePart(read);
  if (text) return LoadDesign(folder, *text, why);
  why = Format(text.error());
  return std::nullopt;
}

// `built` in the part's own frame, which is the file's too.
inline Trip Compare(const TripFolder& folder, const Part& part, const solid::Solid& built,
                    Reading reading) {
  Trip trip;
  const Pose X_PR = reading.part.X_PF.inverse();  // from the frame read to the sheet's
  const Part read = SaidAgain(folder, reading.part.part, trip.refused).value_or(reading.part.part);
  const auto written = recognize::MakeNormalForm(part);
  const auto again = recognize::MakeNormalForm(read, X_PR);
  trip.sheets = recognize::CompareNormalForms(written, again);
  // What is equal stays so when less is said of it.
  if (!trip.sheets.Equal())
    trip.sheets = recognize::CompareNormalForms(recognize::WhatShows(written, built),
                                                recognize::WhatShows(again, built));
  const auto rebuilt = solid::MakeDesign(read);
  if (rebuilt) {
    const solid::Solid moved = solid::Moved(*rebuilt, X_PR);
    const auto difference = solid::HaveSameBoundary(moved, built)
                                ? Result<double>(0.0)
                                : solid::CalcSymmetricDifference_mm3(moved, built);
    if (difference) trip.difference_share = *difference / solid::CalcVolume_mm3(built);
  }
  trip.reading = std::move(reading);
  return trip;
}

// Both readings, and what was left.
inline std::string Words(const Trip& trip) {
  std::string text = fmt::format(
      "  {} items alike, {} of {} faces explained, difference {:.2g} of the volume\n",
      trip.sheets.shared, trip.reading.explained, trip.reading.faces, trip.difference_share);
  if (!trip.refused.empty()) text += "  the sheet read is refused: " + trip.refused;
  for (const recognize::NormalItem& item : trip.sheets.only_a)
    text += "  written: " + recognize::Format(item) + "\n";
  for (const recognize::NormalItem& item : trip.sheets.only_b)
    text += "  read:    " + recognize::Format(item) + "\n";
  for (const recognize::UnreadRegion& region : trip.reading.part.unread) {
    text += fmt::format("  unread:  {} faces, {:.4g} mm2, {:.4g} mm3: {}\n", region.faces.size(),
                        region.area_mm2, region.volume_mm3, region.why);
  }
  return text;
}

}  // namespace fitwright::testing
