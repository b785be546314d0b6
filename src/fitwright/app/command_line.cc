#include "fitwright/app/command_line.h"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <map>

#include "fitwright/base/error.h"

namespace fitwright::app {
namespace {

constexpr const char* kAbout =
    "Plans how to make a small machine's parts on a manual lathe and mill, and says beforehand whether "
    "they will fit.";
constexpr const char* kEnding =
    "Exit status: 0 yes; 1 the honest answer is no; 2 the project cannot be read; 3 internal; "
    "130 stopped.";
constexpr std::int64_t kLeastBuilds = 100;
constexpr std::int64_t kMostBuilds = 100'000'000;
constexpr int kMostThreads = 256;
constexpr int kLeastPort = 1024;
constexpr int kMostPort = 65535;

class Line {
 public:
  Line() : app_(kAbout, "fitwright") {
    app_.footer(kEnding);
    app_.set_version_flag("--version", "fitwright " FITWRIGHT_VERSION, "Print the version");
    app_.set_help_flag("-h,--help", "Print this help");
    app_.require_subcommand(1);
    AddCheck();
    AddPlan();
    AddOdds();
    AddReplay();
    AddDraw();
    AddExport();
    AddReckon();
    AddServe();
  }

  CommandLine Parse(std::vector<std::string> arguments) {
    std::reverse(arguments.begin(), arguments.end());
    CommandLine line;
    try {
      app_.parse(arguments);
    } catch (const CLI::CallForHelp&) {
      const auto subcommands = app_.get_subcommands();
      line.out = subcommands.empty() ? app_.help() : subcommands.front()->help();
      return line;
    } catch (const CLI::CallForVersion&) {
      line.out = "fitwright " FITWRIGHT_VERSION "\n";
      return line;
    } catch (const CLI::ParseError& error) {
      line.exit_status = ExitStatusOf(ErrorCode::kUsage);
      line.err = Format({ErrorCode::kUsage, error.what(), "", "see fitwright --help", {}}) + "\n";
      return line;
    }
    line.request = Finished();
    return line;
  }

 private:
  Request Finished() {
    if (!shop_.empty()) request_.shop = shop_;
    if (!part_.empty()) request_.part = part_;
    if (!after_.empty()) request_.after = after_;
    if (port_ > 0) request_.port = port_;
    if (setup_ > 0) request_.setup = setup_;
    if (!unit_.empty()) {
      request_.unit = unit_ == "inch" || unit_ == "in" ? LengthUnit::kInch : LengthUnit::kMillimetre;
    }
    request_.dir = dir_;
    request_.out = out_;
    return request_;
  }

  CLI::App* AddVerb(const char* name, const char* about, Verb verb) {
    CLI::App* sub = app_.add_subcommand(name, about);
    sub->set_help_flag("-h,--help", "Print this help");
    sub->add_option("DIR", dir_, "The project's folder")->required();
    sub->add_option("--shop", shop_, "A shop file to use instead of the project's own")
        ->type_name("FILE");
    sub->callback([this, verb] { request_.verb = verb; });
    return sub;
  }
  void AddJson(CLI::App* sub) {
    sub->add_flag("--json", request_.json, "One JSON document on standard output");
  }
  void AddUnits(CLI::App* sub) {
    sub->add_option("--units", unit_, "Unit of lengths, else the machine's")
        ->check(CLI::IsMember({"mm", "inch"}));
  }
  void AddSampling(CLI::App* sub) {
    sub->add_option("--builds", request_.builds, "Builds on paper that the odds are drawn from")
        ->check(CLI::Range(kLeastBuilds, kMostBuilds))
        ->type_name("N");
    sub->add_option("--seed", request_.seed, "Same seed, same answer")->type_name("N");
  }
  void AddThreads(CLI::App* sub) {
    sub->add_option("--threads", request_.threads, "Threads, 0 for one a core; the answer is the same")
        ->check(CLI::Range(0, kMostThreads))
        ->type_name("N");
  }

  void AddCheck() {
    CLI::App* sub = AddVerb(
        "check", "Say what is missing, contradictory or unclear in the sheets", Verb::kCheck);
    sub->add_flag("--deep", request_.deep, "Look at the solids too");
    AddUnits(sub);
    AddJson(sub);
  }
  void AddPlan() {
    CLI::App* sub = AddVerb("plan", "Make the plan, prove it, and save it as plan.json", Verb::kPlan);
    AddSampling(sub);
    AddUnits(sub);
    AddThreads(sub);
    AddJson(sub);
  }
  void AddOdds() {
    CLI::App* sub = AddVerb("odds", "Odds and causes of the saved plan", Verb::kOdds);
    AddSampling(sub);
    AddUnits(sub);
    AddThreads(sub);
    AddJson(sub);
  }
  void AddReplay() {
    CLI::App* sub = AddVerb("replay", "Prove the saved plan on solids, step by step", Verb::kReplay);
    AddUnits(sub);
    AddThreads(sub);
    AddJson(sub);
  }
  void AddDraw() {
    CLI::App* sub = AddVerb("draw", "Draw the setups and hole plans of the saved plan as SVG",
                            Verb::kDraw);
    sub->add_option("--out", out_, "Folder for the drawings")->required()->type_name("FOLDER");
    sub->add_option("--setup", setup_, "This setup alone, by its number")
        ->check(CLI::PositiveNumber)
        ->type_name("N");
    AddUnits(sub);
  }
  void AddExport() {
    CLI::App* sub = AddVerb("export", "Write the assembly, a part or a piece in work as STEP",
                            Verb::kExport);
    sub->add_option("--out", out_, "The file to write")->required()->type_name("FILE.step");
    sub->add_option("--part", part_, "One part, in its own frame");
    sub->add_option("--after", after_, "The piece as it stands after this step of the saved plan")
        ->type_name("STEP")
        ->needs("--part");
    AddUnits(sub);
  }

  void AddReckon() {
    CLI::App* sub = app_.add_subcommand(
        "reckon", "One of the trade's reckonings; without WHAT, a list of them");
    sub->set_help_flag("-h,--help", "Print this help");
    sub->add_option("WHAT", request_.what, "Which one; alone, it says what it needs");
    sub->add_option("VALUES", request_.values, "What it starts from")->type_name("NAME=VALUE");
    sub->add_option("--unit,--units", unit_, "Unit of bare numbers and of what is printed")
        ->check(CLI::IsMember({"mm", "in", "inch"}));
    sub->add_option("--draw", out_, "Write its drawing as SVG too")->type_name("FILE.svg");
    AddJson(sub);
    sub->callback([this] { request_.verb = Verb::kReckon; });
  }

  void AddServe() {
    CLI::App* sub = AddVerb("serve", "Show the project as a page in the browser of this machine", Verb::kServe);
    sub->add_option("--port", port_, "Port of the page's address, else 8137 or one that is free")
        ->check(CLI::Range(kLeastPort, kMostPort))
        ->type_name("N");
    AddUnits(sub);
  }

  CLI::App app_;
  Request request_;
  std::string dir_;
  std::string shop_;
  std::string unit_;
  std::string out_;
  std::string part_;
  std::string after_;
  int port_ = 0;
  int setup_ = 0;
};

}  // namespace

bool NeedsSolids(const Request& request) {
  switch (request.verb) {
    case Verb::kCheck: return request.deep;
    case Verb::kOdds:
    case Verb::kReckon:
    case Verb::kServe: return false;
    case Verb::kPlan:
    case Verb::kReplay:
    case Verb::kDraw:
    case Verb::kExport: return true;
  }
  return true;
}

CommandLine ParseCommandLine(const std::vector<std::string>& arguments) {
  return Line().Parse(arguments);
}

}  // namespace fitwright::app
