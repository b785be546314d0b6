// A project started from a CAD file: read, recognised, written as sheets beside the solids they came from.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "fitwright/base/progress.h"
#include "fitwright/base/result.h"
#include "fitwright/model/machine.h"
#include "fitwright/sheets/report.h"
#include "fitwright/solid/step_reading.h"

namespace fitwright::service {

struct ReadUse {
  std::filesystem::path file;
  std::filesystem::path into;   // made here; absent, an empty folder, or a project to bring up to the file
  std::string material;         // of every made part; proposed where empty
  WorkOptions work;
  std::filesystem::path confirm_from = {};  // a project whose confirmed values are carried over
  solid::StepReadingLimits limits = {};
};

// One made part as it was read.
struct PartRead {
  PartId name;
  std::string in_file;       // the product's name there, may be empty
  int quantity = 1;
  bool turned = false;
  Vec3 size_mm = Vec3::Zero();
  std::size_t features = 0;
  std::size_t faces = 0;
  std::size_t unread_faces = 0;
  double unread_share = 0;   // of the solid's volume, that the features do not rebuild
};

// Something that the file does not say, or that was not understood.
struct Doubt {
  std::string where;         // "housing.features.hole_1.thread", "joints.front_screws", "housing"
  std::string words;
};

struct FileRead {
  Machine machine;
  std::vector<PartRead> parts;
  std::vector<Doubt> proposed;
  std::vector<Doubt> unread;
  std::vector<Doubt> kept;      // of what a person had confirmed
  std::vector<Doubt> changes;   // against that: what moved, is new, is gone
  std::vector<std::string> notes;   // of the file itself
  std::string schema;
  std::vector<std::filesystem::path> written;  // below `into`
};

// Reads the file in a child process of bounded time and memory, and writes the whole project or nothing.
// Where `into` is a project already, what was confirmed there is kept (service/solid/confirmed_project.h)
// and nothing but its sheets, machine.toml and the STEP files beside them is replaced.
// Errors: those of solid::ReadStep; kFileUnwritable (`into` holds something else, or cannot be made);
// those of files::LoadProject for the project that is carried over;
// kStopped; kInternal where what was written cannot be read again, which is then taken away.
Result<FileRead> ReadFile(const ReadUse& use);

std::string ReadReport(const FileRead& read, const sheets::ReportOptions& options);
// {schema: fitwright-read/1, all_read, file_schema, parts:[...], bought, joints, requirements, proposed, unread, kept, changes, notes, written}.
std::string ReadToJson(const FileRead& read);

}  // namespace fitwright::service
