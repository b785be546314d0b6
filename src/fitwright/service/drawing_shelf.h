// Drawings of the saved plan as the page asks for them, made by the program that works on solids
// and kept in a folder: a crash there costs the one who asked, and nobody else.
#pragma once

#include <condition_variable>
#include <filesystem>
#include <mutex>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "fitwright/base/progress.h"
#include "fitwright/base/result.h"
#include "fitwright/units/size.h"

namespace fitwright::service {

enum class DrawingKind { kSetup, kHoles, kCuts };
std::optional<DrawingKind> DrawingKindOf(std::string_view word);  // "setup", "holes", "cuts"

struct DrawingUse {
  int setup = 0;
  DrawingKind kind = DrawingKind::kSetup;
  LengthUnit unit = LengthUnit::kMillimetre;
  int sheet = 1;  // of several of a kind
};
// One that there is.
struct DrawingName {
  DrawingKind kind = DrawingKind::kSetup;
  int sheet = 1;
  auto operator<=>(const DrawingName&) const = default;
};
std::string_view WordOf(DrawingKind kind);

struct ShelfOptions {
  std::filesystem::path program;                   // fitwright-solid
  std::filesystem::path dir;                       // the project's folder
  std::optional<std::filesystem::path> shop_file;  // instead of the project's own
  std::filesystem::path folder;                    // where drawings are kept; made when absent
  double seconds = 600;                            // for the drawings of a setup
  const CancelFlag* cancel = nullptr;
};

// Safe to use from several threads: drawings of a setup are made once, and the others wait.
class DrawingShelf {
 public:
  explicit DrawingShelf(ShelfOptions options);

  // The SVG. `drawn_from` is all that the drawings depend on, as text: where it changes they are
  // made anew, and the older ones are taken off the shelf. Errors: kFileMissing (no such drawing of
  // this setup), kKernel (the program ended badly), kStopped, and those of RunProgram.
  Result<std::string> Get(const std::string& drawn_from, const DrawingUse& use);
  // The setup's solids as JSON (sheets/solid/solid_view.h). Errors as Get.
  Result<std::string> GetSolids(const std::string& drawn_from, const DrawingUse& use);
  // All that there are of the setup, in the order of their kinds. Errors as Get, without the first.
  Result<std::vector<DrawingName>> List(const std::string& drawn_from, const DrawingUse& use);

 private:
  Result<std::filesystem::path> FolderOf(const std::string& drawn_from, const DrawingUse& use);
  Status Draw(const std::filesystem::path& folder, const DrawingUse& use) const;
  void TakeOffOlder(const std::string& kept) const;

  ShelfOptions options_;
  std::mutex mutex_;
  std::condition_variable drawn_;
  std::set<std::string> being_drawn_;
};

}  // namespace fitwright::service
