// A part built from its sheet, read back from the solid's faces, and both compared.
#pragma once

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <optional>
#include <string>

#include "fitwright/recognize/normal_form.h"
#include "fitwright/recognize/part_reading.h"
#include "fitwright/solid/build.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/measure.h"

namespace fitwright::recognize_test {

struct RoundTrip {
  recognize::PartReading reading;
  recognize::NormalDifference sheets;
  double difference_share = 1;  // of the volume, between the solid and the one rebuilt
  std::size_t faces = 0;
  std::size_t explained = 0;
  bool Same() const { return sheets.Equal() && difference_share <= 1e-6 && explained == faces; }
  std::string Words() const;
};

inline std::string RoundTrip::Words() const {
  std::string text = fmt::format("  {} items alike, {} of {} faces explained, difference {:.2g} of the volume\n", sheets.shared, explained,
                                 faces, difference_share);
  for (const recognize::NormalItem& item : sheets.only_a) text += "  sheet only: " + recognize::Format(item) + "\n";
  for (const recognize::NormalItem& item : sheets.only_b) text += "  read only:  " + recognize::Format(item) + "\n";
  for (const recognize::UnreadRegion& region : reading.unread) {
    text += fmt::format("  unread: {} faces, {:.4g} mm2, {:.4g} mm3: {}\n", region.faces.size(), region.area_mm2, region.volume_mm3, region.why);
  }
  return text;
}

// Each face of the graph in one feature or in one unread region.
inline void ExpectEachFaceOnce(const recognize::PartReading& reading, std::size_t faces) {
  std::vector<int> seen(faces, 0);
  for (const auto& [name, list] : reading.faces) {
    for (const std::size_t f : list) ++seen.at(f);
  }
  for (const auto& region : reading.unread) {
    for (const std::size_t f : region.faces) ++seen.at(f);
  }
  for (std::size_t f = 0; f < faces; ++f) EXPECT_EQ(seen[f], 1) << "face " << f;
}

// `moved` is the solid's own frame F seen from the part's frame P of the sheet.
inline std::optional<RoundTrip> ReadBack(const Part& part, const Pose& X_FP = Pose::Identity()) {
  const auto built = solid::MakeDesign(part);
  if (!built) return std::nullopt;
  const solid::Solid solid_F = solid::Moved(*built, X_FP);
  const auto graphs = solid::MakeFaceGraphs(solid_F);
  if (!graphs || graphs->size() != 1) return std::nullopt;
  auto reading = recognize::ReadPart(graphs->front(), solid_F, {PartId("read"), part.material});
  if (!reading) return std::nullopt;
  RoundTrip trip;
  trip.faces = graphs->front().faces.size();
  ExpectEachFaceOnce(*reading, trip.faces);
  for (const auto& [name, list] : reading->faces) trip.explained += list.size();
  const Pose X_PR = (reading->X_PF * X_FP).inverse();  // from the frame read to the sheet's
  trip.sheets = recognize::CompareNormalForms(recognize::MakeNormalForm(part), recognize::MakeNormalForm(reading->part, X_PR));
  const auto rebuilt = solid::MakeDesign(reading->part);
  if (rebuilt) {
    const auto difference = solid::CalcSymmetricDifference_mm3(solid::Moved(*rebuilt, X_PR), *built);
    if (difference) trip.difference_share = *difference / solid::CalcVolume_mm3(*built);
  }
  trip.reading = *std::move(reading);
  return trip;
}

}  // namespace fitwright::recognize_test
