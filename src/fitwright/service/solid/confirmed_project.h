// An earlier project of the same machine, found again among the solids of a file. Internal to service/.
#pragma once

#include <map>
#include <set>
#include <string>
#include <vector>

#include "fitwright/files/project.h"
#include "fitwright/files/remark.h"
#include "fitwright/recognize/assembly_reading.h"
#include "fitwright/service/solid/read_file.h"
#include "fitwright/solid/step_reading.h"

namespace fitwright::service {

// One distinct solid of the file.
struct ShapeRead {
  recognize::PartReading reading;
  std::string in_file;  // the product's name there, may be empty
  std::vector<double> face_areas_mm2;
  double volume_mm3 = 0;
};
using ShapesRead = std::map<std::size_t, ShapeRead>;  // by place in StepContents::shapes

// A name that the sheets may carry, after the file's own.
std::string SheetName(const std::string& in_file);

// A part's sheet as it goes into the new project.
struct CarriedSheet {
  std::string text;                      // to the byte, where nothing of it changed
  std::vector<files::Remark> remarks;    // what stands in it as proposed
  std::vector<std::string> gone;         // names that are never given again
};

struct CarriedProject {
  recognize::AssemblyBase base;
  std::set<std::size_t> shapes;          // solids that the base's parts and bought parts are
  std::map<PartId, CarriedSheet> sheets;
  std::vector<files::Remark> machine_remarks;
  std::vector<Doubt> kept;
  std::vector<Doubt> changes;            // what moved, is new, is gone
};

// A part is found again where its solid, at the middle of its limits or at its names, is the file's:
// then its sheet stays to the byte. Else by its name or its place, feature by feature
// (recognize/carry_over.h). Bought parts stay whether the file shows them or not. Errors: kStopped.
Result<CarriedProject> CarryProject(const files::Project& confirmed,
                                    const solid::StepContents& contents, const ShapesRead& shapes,
                                    const WorkOptions& work);

}  // namespace fitwright::service
