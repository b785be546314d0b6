// Odds for the search against many builds, on plans: what a requirement takes and how far off it
// is, by law and by builds; whether they rank plans and shops alike; what one joint's change makes
// be reckoned again. On one thread, by the thread's own processor time.
// Usage: fast_odds_bench [--builds N] [--shops N] [--fast N] PROJECT_FOLDER ... (with plan.json).
// Every plan is read in the shop as it is and in shops drawn between careful and worn, with its
// screws' clearances as planned and closer.
#include <fmt/format.h>
#include <time.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "fitwright/files/plan_json.h"
#include "fitwright/files/project.h"
#include "fitwright/variation/fast_odds.h"
#include "fitwright/variation/met_counts.h"
#include "fitwright/variation/outcomes.h"
#include "fitwright/variation/what_if.h"

namespace {

using namespace fitwright;

constexpr double kPoint = 0.01;
constexpr std::array<double, 3> kEased_mm = {0, -0.15,
                                             -0.25};  // clearances of screws, as planned and closer

struct Wanted {
  std::int64_t builds = 1'000'000;
  int shops = 20;
  std::int64_t fast = variation::FastOptions{}.builds;
  std::vector<std::string> folders;
};

double ThreadSeconds() {
  timespec t{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
  return static_cast<double>(t.tv_sec) + 1e-9 * static_cast<double>(t.tv_nsec);
}

template <typename T>
T Need(Result<T> result) {
  if (result) return *std::move(result);
  fmt::print(stderr, "{}\n", Format(result.error()));
  std::exit(2);
}

// One requirement of one plan in one shop.
struct Tried {
  double fast = 0;
  double counted = 0;
};

// Times and differences of one kind of answer.
struct Tally {
  std::vector<double> seconds;
  double squares = 0;
  double worst = 0;
  int hard = 0;

  void Print(std::string_view what) {
    if (seconds.empty()) return;
    std::sort(seconds.begin(), seconds.end());
    fmt::print("{}: {} times, {:.2f} ms in the middle, {:.2f} most", what, seconds.size(),
               seconds[seconds.size() / 2] * 1e3, seconds.back() * 1e3);
    if (hard > 0)
      fmt::print("; off by {:.3f} points rms, {:.3f} worst in {}", 100 * std::sqrt(squares / hard),
                 100 * worst, hard);
    fmt::print("\n");
  }
  void Off(const Tried& one) {
    const double off = std::abs(one.fast - one.counted);
    squares += off * off;
    worst = std::max(worst, off);
    ++hard;
  }
};

class Bench {
 public:
  explicit Bench(Wanted wanted) : wanted_(std::move(wanted)) {}

  void Run() {
    for (const std::string& folder : wanted_.folders) {
      Diagnostics faults;
      const files::Project project = Need(files::LoadProject(folder, {}, faults));
      const variation::Project whole{
          project.machine, project.shop, Need(files::LoadPlan(folder)), {}};
      for (const double eased : kEased_mm) {
        variation::Project one = whole;
        for (const Joint& joint : one.machine.joints) {
          if (joint.screw) one.eased_mm[joint.name] = eased;
        }
        for (int shop = 0; shop <= wanted_.shops; ++shop) Try(one, shop);
      }
      Cones(whole);
    }
    by_law_.Print("one quantity, by law");
    screws_.Print("screws and pins, those of 30 to 70 in 100");
    others_.Print("others, those of 30 to 70 in 100");
    Rank();
  }

 private:
  void Try(const variation::Project& project, int shop) {
    const variation::Analysis analysis = Need(variation::AnalyseProject(project));
    const variation::Figures figures =
        shop == 0 ? analysis.figures
                  : variation::DrawnFigures(project.shop, 11, static_cast<std::uint64_t>(shop));
    variation::MetWanted many;
    many.builds = wanted_.builds;
    many.seed = 99;
    many.threads = 1;
    const auto counted = variation::CountMet(variation::BuildCompiler(analysis), figures, many);
    variation::FastOptions options;
    options.builds = wanted_.fast;
    options.threads = 1;
    for (std::size_t r = 0; r < analysis.requirements.size(); ++r) {
      variation::FastJudge judge(analysis, {r}, options, laws_);
      const double start = ThreadSeconds();
      const variation::FastOdds fast = Need(judge.Of({r}, figures)).front();
      const double took = ThreadSeconds() - start;
      Add(analysis.requirements[r], fast, took,
          static_cast<double>(counted->met[r]) / static_cast<double>(wanted_.builds));
    }
  }

  void Add(const variation::RequirementForms& r, const variation::FastOdds& fast, double took,
           double counted) {
    const Tried one{fast.odds, counted};
    tried_[r.name.text()].push_back(one);
    Tally& tally = fast.exact                               ? by_law_
                   : r.test == variation::TestKind::kScrews ? screws_
                                                            : others_;
    tally.seconds.push_back(took);
    if (fast.exact || (counted > 0.3 && counted < 0.7)) tally.Off(one);
  }

  // Pairs of plans and shops whose odds of a requirement differ by more than a point.
  void Rank() const {
    int pairs = 0;
    int swapped = 0;
    for (const auto& [name, all] : tried_) {
      for (const Tried& a : all) {
        for (const Tried& b : all) {
          if (a.counted - b.counted <= kPoint) continue;
          ++pairs;
          swapped += a.fast <= b.fast ? 1 : 0;
        }
      }
    }
    fmt::print("pairs more than a point apart: {}, ranked otherwise: {}\n", pairs, swapped);
  }

  // One joint's holes a little wider: what of the search's builds is done again.
  void Cones(const variation::Project& project) const {
    const variation::Analysis analysis = Need(variation::AnalyseProject(project));
    std::vector<std::size_t> every;
    for (std::size_t r = 0; r < analysis.requirements.size(); ++r) every.push_back(r);
    variation::BuildsWanted wanted;
    wanted.builds = 1024;
    wanted.draws = variation::Draws::kStratified;
    wanted.threads = 1;
    const auto seconds = [&](const variation::Analysis& one, variation::OutcomeMemo& memo) {
      const double start = ThreadSeconds();
      variation::Outcomes(one, memo).Of(every, wanted);
      return ThreadSeconds() - start;
    };
    double whole = 0;
    double again = 0;
    int joints = 0;
    for (const Joint& joint : project.machine.joints) {
      if (!joint.screw) continue;
      variation::Project eased = project;
      eased.eased_mm[joint.name] = 0.05;
      variation::OutcomeMemo memo;
      whole += seconds(analysis, memo);
      again += seconds(Need(variation::AnalyseProject(eased)), memo);
      ++joints;
    }
    if (joints > 0)
      fmt::print("one of {} screwed joints changed: {:.2f} of the time of all requirements\n",
                 joints, again / whole);
  }

  Wanted wanted_;
  variation::LawMemo laws_;
  Tally by_law_;
  Tally screws_;
  Tally others_;
  std::map<std::string, std::vector<Tried>> tried_;  // by requirement
};

Wanted WantedOf(int argc, char** argv) {
  Wanted wanted;
  for (int i = 1; i < argc; ++i) {
    const std::string_view word = argv[i];
    const auto number = [&] { return i + 1 < argc ? std::atoll(argv[++i]) : 0; };
    if (word == "--builds") {
      wanted.builds = number();
    } else if (word == "--shops") {
      wanted.shops = static_cast<int>(number());
    } else if (word == "--fast") {
      wanted.fast = number();
    } else {
      wanted.folders.emplace_back(word);
    }
  }
  return wanted;
}

}  // namespace

int main(int argc, char** argv) {
  const Wanted wanted = WantedOf(argc, argv);
  if (wanted.folders.empty() || wanted.builds < 1000 || wanted.fast < 100) {
    fmt::print(stderr,
               "usage: fast_odds_bench [--builds N] [--shops N] [--fast N] PROJECT_FOLDER ...\n");
    return 1;
  }
  Bench(wanted).Run();
  return 0;
}
