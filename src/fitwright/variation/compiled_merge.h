// Independent normals that rows read, merged into fewer with the same joint distribution over the
// rows.
#pragma once

#include <cstdint>
#include <span>
#include <utility>
#include <vector>

#include "fitwright/stats/trials.h"

namespace fitwright::variation {

// One normal: the rows that read it, ascending, with its factor there before its own size.
struct NormalColumn {
  std::uint64_t key = 0;
  std::vector<std::pair<std::uint32_t, double>> rows;
};

// How normals merge; decided without their sizes, so that a change of figures changes factors
// alone, never what is drawn. Normals whose factors are in proportion over all rows are one class,
// exactly. Classes that reach each other through rows form a group: where it takes fewer draws and
// factors for their price (a draw costs as much as 45 factors, docs/MEASURED.md), its rows are
// orthogonalised one after the other instead, each adding one draw at most; exact to 1e-11 of a
// row's own sigma.
class MergedNormals {
 public:
  // row_keys: of every row; they name the draws that rows add.
  MergedNormals(const std::vector<NormalColumn>& normals,
                const std::vector<std::uint64_t>& row_keys);

  // Adds the draws to the program, for normals of these sizes in their order; terms[row] receives
  // the factors of each row.
  void Emit(std::span<const double> sizes, stats::TrialProgram& program,
            std::vector<std::vector<stats::TrialTerm>>& terms) const;

 private:
  struct Class {
    std::uint64_t key = 0;  // the least of its normals'
    std::vector<std::pair<std::uint32_t, double>> rows;
    std::vector<std::pair<std::size_t, double>> normals;  // with their share of the factors
  };
  struct Group {
    std::vector<std::size_t> classes;
    std::vector<std::uint32_t> rows;
    bool orthogonal = false;
  };

  void MakeGroups();
  void EmitClasses(const Group& group, std::span<const double> sigmas, stats::TrialProgram& program,
                   std::vector<std::vector<stats::TrialTerm>>& terms) const;
  void EmitRows(const Group& group, std::span<const double> sigmas, stats::TrialProgram& program,
                std::vector<std::vector<stats::TrialTerm>>& terms) const;

  std::vector<std::uint64_t> row_keys_;
  std::vector<Class> classes_;
  std::vector<Group> groups_;
};

}  // namespace fitwright::variation
