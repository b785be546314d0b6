#include "fitwright/app/command_line.h"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <map>

#include "fitwright/base/error.h"
#include "fitwright/model/build_log.h"

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
constexpr double kLeastSure = 0.1;
constexpr int kMostTries = 1000;  // what is judged is kept: some hundreds of megabytes
constexpr double kMostSure = 99.99;
constexpr int kLeastPort = 1024;
constexpr int kMostPort = 65535;

class Line {
 public:
  Line() : app_(kAbout, "fitwright") {
    app_.footer(kEnding);
    app_.set_version_flag("--version", "fitwright " FITWRIGHT_VERSION, "Print the version");
    app_.set_help_flag("-h,--help", "Print this help");
    app_.require_subcommand(1);
    AddRead();
    AddCheck();
    AddPlan();
    AddOdds();
    AddReplay();
    AddDraw();
    AddExport();
    AddNext();
    AddRecord();
    AddLog();
    AddChanges();
    AddLessons();
    AddTrials();
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
    request_.file = file_;
    request_.out = out_;
    request_.from = from_;
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

  void AddRead() {
    CLI::App* sub = app_.add_subcommand("read", "Start a project from a CAD file: parts, features, joints, with what is in doubt");
    sub->set_help_flag("-h,--help", "Print this help");
    sub->add_option("FILE", file_, "The STEP file")->required()->type_name("FILE.step");
    sub->add_option("--into", dir_, "The project's folder: made, or brought up to the file with what was confirmed kept")
        ->required()
        ->type_name("DIR");
    sub->add_option("--confirm-from", from_, "A project whose confirmed values are carried over")->type_name("DIR");
    sub->add_option("--material", request_.material, "Material of every made part, to be mended in the sheets");
    AddUnits(sub);
    AddJson(sub);
    sub->callback([this] { request_.verb = Verb::kRead; });
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
    auto* sure = sub->add_option("--sure", request_.sure, "The quickest plan that is right so often in 100")
                     ->check(CLI::Range(kLeastSure, kMostSure))
                     ->type_name("N");
    auto* quickest = sub->add_flag("--quickest", request_.quickest, "The quickest plan if all goes well");
    auto* fewest = sub->add_flag("--fewest-setups", request_.fewest_setups, "The plan with the fewest setups");
    sure->excludes(quickest)->excludes(fewest);
    quickest->excludes(fewest);
    sub->add_option("--tries", request_.tries, "Begin the search again so often from a shaken plan, and keep what comes out better")
        ->check(CLI::Range(0, kMostTries))
        ->type_name("N");
    auto* choices = sub->add_flag("--choices", request_.choices, "Also the plans worth having instead, each proved, with what differs");
    sub->add_option("--why", request_.why, "Only say why the plan has it so: a setup's number, part, part.+z, joint, requirement, order")
        ->excludes(choices)
        ->type_name("SUBJECT");
    sub->add_flag("--afresh", request_.afresh, "From the sheets alone, whatever is done; else only what is left is planned, and --why goes by what was read");
    AddBuild(sub, "Of several machines made to this plan, whose log says what is done; else the first");
    AddSampling(sub);
    AddUnits(sub);
    AddThreads(sub);
    AddJson(sub);
  }
  void AddOdds() {
    CLI::App* sub = AddVerb("odds", "Odds and causes of the saved plan, what would lessen the misses, and what if",
                            Verb::kOdds);
    AddSampling(sub);
    sub->add_option("--what-if", request_.what_if,
                    "One number otherwise, before and after: edge_finder=x0.5 (a spread of the shop), "
                    "REQUIREMENT.upper=0.5, JOINT.clearance=0.6, PART.FEATURE.aim=40.02; may be given again")
        ->type_name("KEY=VALUE")
        ->allow_extra_args(false);
    sub->add_option("--svg", out_, "Folder for a drawing of each requirement")->type_name("FOLDER");
    sub->add_flag("--afresh", request_.afresh, "As planned, whatever was read; else by the readings so far");
    AddBuild(sub, "Of several machines made to this plan, whose readings count; else the first");
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
    sub->add_flag("--solids", request_.solids,
                  "Beside them the solids of each setup, as the page turns them (JSON)");
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

  void AddBuild(CLI::App* sub, const char* about) {
    sub->add_option("--build", request_.build, about)
        ->check(CLI::Range(1, kHighestBuild))
        ->type_name("N");
  }
  void AddNext() {
    CLI::App* sub =
        AddVerb("next", "What to do now, by the saved plan and the build log", Verb::kNext);
    AddBuild(sub, "Of several machines made to this plan, which; else the first");
    AddUnits(sub);
    AddJson(sub);
  }
  void AddRecord() {
    CLI::App* sub =
        AddVerb("record", "Keep what was measured or done in the build log", Verb::kRecord);
    sub->add_option("STEP", request_.step, "A step as the book has it (7.3), or PART.FEATURE");
    sub->add_option("VALUE", request_.value, "What was read: 40.03, 1.576in");
    sub->add_option("--instrument,--with", request_.instrument,
                    "What it was read with, else what the step names")
        ->type_name("NAME");
    sub->add_flag("--done", request_.done, "The step is done; of a setup's number: all its steps");
    sub->add_flag("--undone", request_.undone, "The step is not done after all")
        ->excludes("--done");
    sub->add_option("--note", request_.note, "Words to keep")->type_name("TEXT");
    sub->add_option("--photo", request_.photo, "A picture's file, by its name")->type_name("FILE");
    sub->add_option("--remade", request_.remade, "This part is begun anew")->type_name("PART");
    sub->add_option("--shop-change", request_.shop_change,
                    "What is different in the shop from now on")
        ->type_name("TEXT");
    sub->add_option("--copy", request_.copy, "Of several pieces alike, which")
        ->check(CLI::PositiveNumber)
        ->type_name("N");
    AddBuild(sub, "Of several machines made to this plan, which; else the first");
    AddUnits(sub);
    AddJson(sub);
  }
  void AddLog() {
    CLI::App* sub =
        AddVerb("log", "What was done and measured, in the order it was kept", Verb::kLog);
    AddBuild(sub, "Of one machine only; else of all");
    sub->add_option("--out", out_, "Write the whole log to one file, plans and all")
        ->type_name("FILE.json");
    sub->add_option("--from", from_, "Add what such a file has and the log has not")
        ->excludes("--out")
        ->type_name("FILE.json");
    AddUnits(sub);
    AddJson(sub);
  }

  void AddChanges() {
    CLI::App* sub = AddVerb(
        "changes", "What a reading changed: odds, sizes still to be cut, other features",
        Verb::kChanges);
    sub->add_option("--reading", request_.reading, "Its number in the log, else the last")
        ->check(CLI::PositiveNumber)
        ->type_name("N");
    AddBuild(sub, "Of several machines made to this plan, which; else the first");
    AddUnits(sub);
    AddJson(sub);
  }

  void AddLessons() {
    CLI::App* sub = AddVerb(
        "lessons", "What the readings teach about the shop, and whether what was said came true",
        Verb::kLessons);
    AddBuild(sub, "Of several machines made to this plan, which; else the first");
    AddUnits(sub);
    AddJson(sub);
  }
  void AddTrials() {
    CLI::App* sub = AddVerb(
        "trials", "A dozen tests of what the shop holds, to print; with what was written down, the figure",
        Verb::kTrials);
    sub->add_option("NAME", request_.what, "Which test");
    sub->add_option("NUMBER", request_.numbers, "What was written down");
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
    sub->add_option("--shop", shop_, "speed: take steps and power of this shop's lathe or mill")->type_name("FILE");
    sub->add_option("--draw", out_, "Write its drawing as SVG too")->type_name("FILE.svg");
    AddJson(sub);
    sub->callback([this] { request_.verb = Verb::kReckon; });
  }

  void AddServe() {
    CLI::App* sub = AddVerb("serve", "Show the project as a page in the browser of this machine", Verb::kServe);
    sub->add_option("--port", port_, "Port of the page's address, else 8137 or one that is free")
        ->check(CLI::Range(kLeastPort, kMostPort))
        ->type_name("N");
    sub->add_flag("--lan", request_.lan,
                  "For other devices of the network too: encrypted, each paired once by a code");
    AddUnits(sub);
  }

  CLI::App app_;
  Request request_;
  std::string dir_;
  std::string file_;
  std::string shop_;
  std::string unit_;
  std::string out_;
  std::string from_;
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
    case Verb::kServe:
    case Verb::kNext:
    case Verb::kRecord:
    case Verb::kLog:
    case Verb::kChanges:
    case Verb::kLessons:
    case Verb::kTrials: return false;
    case Verb::kPlan: return request.why.empty();
    case Verb::kRead:
    case Verb::kReplay:
    case Verb::kDraw:
    case Verb::kExport: return true;
  }
  return true;
}

CommandLine ParseCommandLine(const std::vector<std::string>& arguments) {
  return Line().Parse(arguments);
}

planner::Wish WishOf(const Request& request) {
  if (request.sure > 0) return planner::Wish::kSure;
  if (request.quickest) return planner::Wish::kQuickest;
  return request.fewest_setups ? planner::Wish::kFewestSetups : planner::Wish::kLeastHours;
}

}  // namespace fitwright::app
