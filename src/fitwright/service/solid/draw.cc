// Drawings of the saved plan.
#include <fmt/format.h>

#include <algorithm>
#include <fstream>
#include <optional>

#include "fitwright/base/parallel.h"
#include "fitwright/replay/in_process.h"
#include "fitwright/service/solid/replay_options.h"
#include "fitwright/service/solid/use_cases.h"
#include "fitwright/sheets/solid/picture.h"
#include "fitwright/sheets/solid/solid_view.h"

namespace fitwright::service {
namespace {

struct Drawing {
  std::string name;
  Result<std::string> svg = std::string();
};

// "front_housing" -> "setup-07-front-housing.svg".
std::string FileName(const Setup& setup, const std::string& kind, std::string_view end = ".svg") {
  std::string part = setup.parts.empty() ? "bench" : setup.parts.front().part.text();
  for (char& c : part) {
    if (c == '_' || c == '#') c = '-';
  }
  return fmt::format("setup-{:02}-{}{}{}", setup.number, part, kind, end);
}

Status WriteText(const std::filesystem::path& path, const std::string& text) {
  std::ofstream out(path, std::ios::binary);
  out.write(text.data(), static_cast<std::streamsize>(text.size()));
  out.close();
  if (out) return Ok{};
  return Unexpected(Error{ErrorCode::kFileUnwritable,
                          "the drawing cannot be written",
                          path.string(),
                          "choose a folder that can be written to",
                          {}});
}

Status MakeFolder(const std::filesystem::path& folder) {
  std::error_code error;
  std::filesystem::create_directories(folder, error);
  if (!error) return Ok{};
  return Unexpected(Error{ErrorCode::kFileUnwritable,
                          "the folder cannot be made: " + error.message(),
                          folder.string(),
                          "choose a folder that can be written to",
                          {}});
}

bool HasSetup(const Plan& plan, int number) {
  return std::any_of(plan.setups.begin(), plan.setups.end(),
                     [&](const Setup& s) { return s.number == number; });
}

Error NoSuchSetup(int number) {
  return {ErrorCode::kUnknownFeature,
          "the plan has no such setup",
          std::to_string(number),
          "take a number from the order of work",
          {}};
}

solid::Solid SolidOf(const std::vector<replay::InProcessPiece>& pieces, const PartId& part) {
  for (const replay::InProcessPiece& piece : pieces) {
    if (piece.part == part) return piece.solid_P;
  }
  return {};
}

sheets::SetupPicture PictureOf(const Opened& opened, const Plan& plan, const Setup& setup,
                               const replay::SetupPieces& pieces) {
  sheets::SetupPicture picture{
      opened.project.machine, opened.project.shop, plan, setup, {}, {}, opened.unit};
  for (const PartPose& p : setup.parts) {
    picture.before_P.push_back(SolidOf(pieces.before, p.part));
    picture.after_P.push_back(SolidOf(pieces.after, p.part));
  }
  return picture;
}

}  // namespace

Result<std::vector<std::filesystem::path>> DrawPlan(const Opened& opened, const DrawUse& use,
                                                    const WorkOptions& work) {
  auto saved = LoadSavedPlan(opened);
  if (!saved) return Unexpected(saved.error());
  const Plan& plan = saved->plan;
  if (use.setup && !HasSetup(plan, *use.setup)) return Unexpected(NoSuchSetup(*use.setup));
  auto pieces = replay::MakeSetupPieces(opened.project.machine, opened.project.shop, plan,
                                        ReplayOptionsOf(0, work));
  if (!pieces) return Unexpected(pieces.error());
  std::vector<std::vector<Drawing>> drawings(plan.setups.size());
  work.Report("drawing", 0);
  ParallelFor(plan.setups.size(), 0, [&](std::size_t i) {
    const Setup& setup = plan.setups[i];
    if (setup.parts.empty() || setup.number != use.setup.value_or(setup.number) || work.cancelled())
      return;
    const auto picture = PictureOf(opened, plan, setup, (*pieces)[i]);
    drawings[i].push_back({FileName(setup, ""), sheets::DrawSetup(picture)});
    if (use.solids)
      drawings[i].push_back({FileName(setup, "-solids", ".json"), sheets::SolidsOfSetup(picture)});
    drawings[i].push_back({FileName(setup, "-holes"), sheets::DrawHolePlan(picture)});
    int page = 0;
    for (std::string& cuts : sheets::DrawCuts(picture)) {
      ++page;
      drawings[i].push_back(
          {FileName(setup, page == 1 ? "-cuts" : fmt::format("-cuts-{}", page)), std::move(cuts)});
    }
  });
  if (work.cancelled()) {
    return Unexpected(Error{ErrorCode::kStopped, "stopped while drawing", "", "", {}});
  }
  if (auto status = MakeFolder(use.folder); !status) return Unexpected(status.error());
  std::vector<std::filesystem::path> files;
  for (const std::vector<Drawing>& of_setup : drawings) {
    for (const Drawing& drawing : of_setup) {
      if (!drawing.svg) return Unexpected(drawing.svg.error());
      if (drawing.svg->empty()) continue;
      if (auto status = WriteText(use.folder / drawing.name, *drawing.svg); !status) {
        return Unexpected(status.error());
      }
      files.push_back(use.folder / drawing.name);
    }
  }
  return files;
}

}  // namespace fitwright::service
