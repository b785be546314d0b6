// The reading of one part while it grows: features so far, and the faces each of them explains.
#pragma once

#include <functional>
#include <map>
#include <string>
#include <vector>

#include "fitwright/recognize/part_reading.h"
#include "fitwright/recognize/placed_graph.h"

namespace fitwright::recognize {

struct Draft {
  explicit Draft(const PlacedGraph& placed) : graph(placed), taken(placed.faces.size(), false) {}
  const PlacedGraph& graph;
  Part part;
  std::map<FeatureId, std::vector<std::size_t>> faces;
  std::vector<Inference> inferred;
  std::vector<bool> taken;                 // faces that a feature explains
  std::map<std::size_t, std::string> why;  // of faces that none does, where more is known than that
  std::map<std::string, int> numbers;      // names given so far

  bool IsFree(std::size_t face) const { return !taken[face]; }
  // Adds the feature under the word and its number. Faces that are taken already stay where they
  // are.
  FeatureId Add(const std::string& word, FeatureShape shape,
                const std::vector<std::size_t>& explained);
  FeatureId AddNamed(const std::string& name, FeatureShape shape,
                     const std::vector<std::size_t>& explained);
  void Explain(const FeatureId& feature, const std::vector<std::size_t>& explained);
  // The feature goes, with what stands on it (breaks of a hole's edge, a thread); its faces are
  // free again, for this reason if one is given. Nothing when it is gone already.
  void Drop(const FeatureId& feature, const std::string& because);
  void Say(const FeatureId& feature, const std::string& field, std::string words);
};

// A size whose limits the file does not say.
Size DrawnSize(double mm);

// True when no metal of the file's solid lies in the shape that the feature would take away. Costs
// a crossing of solids.
using TakesOnlyAir = std::function<bool(const Part& part, const Feature& feature)>;
// True when the straight way between the two points (frame P) holds no metal.
using IsAirBetween = std::function<bool(const Vec3& from_P_mm, const Vec3& to_P_mm)>;

}  // namespace fitwright::recognize
