// Private to this layer: the units that a foreign file is written in, what it refers to, and whether its
// sizes look right.
#pragma once

#include <Interface_InterfaceModel.hxx>
#include <TopoDS_Shape.hxx>
#include <string>
#include <vector>

namespace fitwright::solid {

struct FileUnits {
  std::string name = "millimetres";  // of the one most contexts of the file use
  double mm = 1;
  bool inch = false;                 // inches or feet
  std::vector<std::string> notes;
};
FileUnits FindUnits(const Handle(Interface_InterfaceModel) & model);

// A note for each STEP file that the model refers to and that does not lie beside the file at `path`.
void NoteMissingFiles(const Handle(Interface_InterfaceModel) & model, const std::string& path,
                      std::vector<std::string>& notes);

// A note when the largest body would be likelier 25.4 or 1000 times larger or smaller.
void NoteOddSizes(const std::vector<TopoDS_Shape>& bodies, const FileUnits& units,
                  std::vector<std::string>& notes);

}  // namespace fitwright::solid
