// Private to this layer: the kernel's reader at work on a foreign file, in the process that may die of
// it. Never called but from there.
#pragma once

#include <TopoDS_Shape.hxx>
#include <string>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/solid/step_message.h"

namespace fitwright::solid {

// `text` is the file's, clean of a byte order mark; `path` says where files that it refers to lie;
// `limits`: what it demands of faces is read too. Errors: kFileUnreadable. Throws std::bad_alloc
// when memory runs out.
Result<StepMessage> TransferStep(const std::string& path, const std::string& text, bool limits);

// step_bodies.cc
// The closed bodies of a product's shape, each a TopoDS_Solid with its place in the product as its
// location: solids, and skins that close. What encloses nothing is left out; `notes` says so, in
// sentences that begin with the product's name.
std::vector<TopoDS_Shape> FindBodies(const TopoDS_Shape& shape, const std::string& name,
                                     std::vector<std::string>& notes);

}  // namespace fitwright::solid
