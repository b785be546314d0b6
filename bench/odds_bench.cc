// What a million builds of a plan's linear requirements cost: the compiled map at each vector
// width, the blocks of builds that the odds come from now, and a plain loop over the same compiled
// map, all on one thread in one run, by the thread's own processor time. Prints ratios and where
// the time goes. Usage: odds_bench PROJECT_FOLDER (with its plan.json)
#include <fmt/format.h>
#include <time.h>

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <limits>
#include <string>
#include <vector>

#include "fitwright/files/plan_json.h"
#include "fitwright/files/project.h"
#include "fitwright/stats/random.h"
#include "fitwright/stats/trials.h"
#include "fitwright/variation/compiled_builds.h"
#include "fitwright/variation/outcomes.h"

namespace {

using namespace fitwright;
using stats::DrawLaw;
using stats::TrialProgram;
using stats::Vectors;

constexpr int kRounds = 7;

double ThreadSeconds() {
  timespec t{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
  return static_cast<double>(t.tv_sec) + 1e-9 * static_cast<double>(t.tv_nsec);
}

template <typename Work>
double Seconds(const Work& work) {
  const double start = ThreadSeconds();
  work();
  return ThreadSeconds() - start;
}

// The least of several rounds: other work on the machine only ever adds.
template <typename Work>
double Least(const Work& work, int rounds = kRounds) {
  double least = std::numeric_limits<double>::infinity();
  for (int k = 0; k < rounds; ++k) least = std::min(least, Seconds(work));
  return least;
}

template <typename T>
T Need(Result<T> result) {
  if (result) return *std::move(result);
  fmt::print(stderr, "{}\n", Format(result.error()));
  std::exit(2);
}

// One trial after the other with the C library's functions: the same draws, rows and limits.
class PlainLoop {
 public:
  PlainLoop(const TrialProgram& program, std::uint64_t seed)
      : program_(program), columns_(program.columns), rows_(program.rows.size()) {
    for (const stats::TrialDraw& draw : program.draws)
      keys_.push_back({stats::StreamKey(seed, draw.key), stats::StreamKey(seed, draw.length_key)});
  }

  // Trials that meet everything.
  std::int64_t Count(std::int64_t trials) {
    std::int64_t good = 0;
    for (std::int64_t i = 0; i < trials; ++i) {
      for (std::size_t d = 0; d < program_.draws.size(); ++d)
        Draw(d, static_cast<std::uint64_t>(i));
      good += AllMet() ? 1 : 0;
    }
    return good;
  }

 private:
  // Both numbers of a counter are used: every second trial takes the second.
  struct Kept {
    stats::Pair own;
    stats::Pair length;
  };

  static stats::Pair Normals(const stats::Pair& u) {
    const double length = std::sqrt(-2 * std::log(u.first));
    const double angle = 2 * 3.14159265358979323846 * u.second;
    return {length * std::cos(angle), length * std::sin(angle)};
  }

  void Draw(std::size_t d, std::uint64_t trial) {
    const stats::TrialDraw& draw = program_.draws[d];
    double* out = columns_.data() + draw.column;
    const bool fresh = trial % 2 == 0;
    if (kept_.empty()) kept_.resize(program_.draws.size());
    Kept& kept = kept_[d];
    const auto pick = [&](const stats::Pair& p) { return fresh ? p.first : p.second; };
    if (fresh) {
      kept.own = stats::UniformPair(keys_[d].first, trial / 2);
      if (draw.law == DrawLaw::kRound || draw.law == DrawLaw::kFolded ||
          draw.law == DrawLaw::kLognormal)
        kept.length = stats::UniformPair(keys_[d].second, trial / 2, 1);
      if (draw.law == DrawLaw::kNormal || draw.law == DrawLaw::kHalfNormal ||
          draw.law == DrawLaw::kLognormal || draw.law == DrawLaw::kWorked)
        kept.own = Normals(kept.own);
      if (draw.law == DrawLaw::kFolded || draw.law == DrawLaw::kLognormal)
        kept.length = Normals(kept.length);
    }
    const double x = pick(kept.own);
    switch (draw.law) {
      case DrawLaw::kNormal:
      case DrawLaw::kFromZero:
        *out = x;
        break;
      case DrawLaw::kHalfNormal:
        *out = std::fabs(x);
        break;
      case DrawLaw::kUniform:
        *out = 2 * x - 1;
        break;
      case DrawLaw::kRound:
      case DrawLaw::kFolded: {
        const double l = pick(kept.length);
        const double length =
            draw.law == DrawLaw::kFolded ? std::fabs(l) : std::sqrt(-2 * std::log(l));
        const double angle = 2 * 3.14159265358979323846 * x;
        out[0] = length * std::cos(angle);
        out[1] = length * std::sin(angle);
        break;
      }
      case DrawLaw::kLognormal:
        *out = std::exp(draw.a * (draw.b * pick(kept.length) + draw.c * x));
        break;
      case DrawLaw::kEvent:
        *out = x < draw.a ? draw.b + (draw.c - draw.b) * x / draw.a : 0;
        break;
      case DrawLaw::kWorked:
        *out = Worked(program_.worked[draw.worked], x, keys_[d].first, trial);
        break;
    }
  }

  static double Worked(const stats::WorkedDraw& size, double first_reading, std::uint64_t key,
                       std::uint64_t trial) {
    double before = size.reading * first_reading;
    for (int again = 0;; ++again) {
      const stats::Pair n =
          Normals(stats::UniformPair(key, trial, 2 + static_cast<std::uint32_t>(again)));
      const double value = size.cut * n.first - before;
      before = size.reading * n.second;
      const double seen = value + before;
      const bool spare = size.safe_sign > 0 ? seen > size.high : seen < size.low;
      if (!spare || again == stats::kMostRecuts) return value;
    }
  }

  bool AllMet() {
    bool met = true;
    for (std::size_t r = 0; r < program_.rows.size(); ++r) {
      const stats::TrialRow& row = program_.rows[r];
      double sum = row.constant;
      for (std::uint32_t t = 0; t < row.terms; ++t) {
        const stats::TrialTerm& term = program_.terms[row.first_term + t];
        sum += term.factor * columns_[term.column];
      }
      rows_[r] = sum;
      if (row.outcome && !(sum >= row.low && sum <= row.high)) met = false;
    }
    for (const stats::TrialCondition& c : program_.conditions) {
      const double base = c.row ? rows_[*c.row] : 0;
      const double v =
          base + c.factor * std::sqrt(rows_[c.x] * rows_[c.x] + rows_[c.y] * rows_[c.y]);
      if (!(v >= c.low && v <= c.high)) met = false;
    }
    return met;
  }

  const TrialProgram& program_;
  std::vector<std::pair<std::uint64_t, std::uint64_t>> keys_;
  std::vector<Kept> kept_;
  std::vector<double> columns_;
  std::vector<double> rows_;
};

stats::TrialRun RunOf(std::int64_t trials, Vectors vectors) {
  stats::TrialRun run;
  run.trials = trials;
  run.threads = 1;
  run.vectors = vectors;
  return run;
}

// Nanoseconds a trial.
double Nanoseconds(const TrialProgram& program, Vectors vectors, std::int64_t trials = 1 << 16) {
  return Least([&] { stats::RunTrials(program, RunOf(trials, vectors)); }) * 1e9 /
         static_cast<double>(trials);
}

TrialProgram OnlyDraws(const TrialProgram& program, DrawLaw law) {
  TrialProgram only;
  only.columns = program.columns;
  only.worked = program.worked;
  for (const stats::TrialDraw& draw : program.draws) {
    if (draw.law == law) only.draws.push_back(draw);
  }
  return only;
}

// `count` normals; rows of `width` factors each over them.
TrialProgram Made(std::uint32_t count, std::uint32_t rows, std::uint32_t width) {
  TrialProgram program;
  program.columns = count;
  for (std::uint32_t c = 0; c < count; ++c)
    program.draws.push_back({.law = DrawLaw::kNormal, .key = c + 1, .column = c});
  for (std::uint32_t r = 0; r < rows; ++r) {
    program.rows.push_back(
        {.first_term = r * width, .terms = width, .low = -1e300, .high = 1e300, .outcome = 0});
    for (std::uint32_t k = 0; k < width; ++k) program.terms.push_back({(r + k) % count, 0.1});
  }
  program.outcomes = 1;
  return program;
}

std::string NameOf(Vectors vectors) {
  switch (vectors) {
    case Vectors::k256:
      return "256 bits";
    case Vectors::k512:
      return "512 bits";
    default:
      return "portable";
  }
}

std::int64_t AllMet(const std::vector<std::uint64_t>& words, std::size_t outcomes) {
  const std::size_t each = words.size() / outcomes;
  std::int64_t good = 0;
  for (std::size_t w = 0; w < each; ++w) {
    std::uint64_t all = ~std::uint64_t{0};
    for (std::size_t o = 0; o < outcomes; ++o) all &= words[o * each + w];
    good += std::popcount(all);
  }
  return good;
}

void PrintWhere(const TrialProgram& program, Vectors vectors) {
  constexpr std::uint32_t kCount = 32;
  const double t_draw = Nanoseconds(Made(kCount, 0, 0), vectors) / kCount;
  const double narrow = Nanoseconds(Made(kCount, 64, 8), vectors);
  const double wide = Nanoseconds(Made(kCount, 64, 32), vectors);
  const double t_factor = (wide - narrow) / (64 * 24);
  const double whole = Nanoseconds(program, vectors);
  fmt::print("{}: a normal {:.2f} ns, a factor {:.4f} ns; the plan {:.1f} ns a build, of which\n",
             NameOf(vectors), t_draw, t_factor, whole);
  const std::array<std::pair<DrawLaw, const char*>, 9> laws = {
      {{DrawLaw::kNormal, "normals"},
       {DrawLaw::kHalfNormal, "half normals"},
       {DrawLaw::kUniform, "uniforms"},
       {DrawLaw::kFromZero, "uniforms from zero"},
       {DrawLaw::kRound, "vectors"},
       {DrawLaw::kFolded, "folded vectors"},
       {DrawLaw::kLognormal, "lognormals"},
       {DrawLaw::kEvent, "events"},
       {DrawLaw::kWorked, "worked sizes"}}};
  double rest = whole;
  for (const auto& [law, words] : laws) {
    const TrialProgram only = OnlyDraws(program, law);
    if (only.draws.empty()) continue;
    const double share = Nanoseconds(only, vectors);
    rest -= share;
    fmt::print("  {:20s} {:3d}  {:7.1f} ns  ({:.2f} each)\n", words, only.draws.size(), share,
               share / static_cast<double>(only.draws.size()));
  }
  fmt::print("  rows and limits           {:7.1f} ns  ({} factors in {} rows, {} conditions)\n",
             rest, program.terms.size(), program.rows.size(), program.conditions.size());
  const double limit = static_cast<double>(program.draws.size()) * t_draw +
                       static_cast<double>(program.terms.size()) * t_factor;
  fmt::print("  whole over draws x normal + factors x factor: {:.2f}\n", whole / limit);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 2) {
    fmt::print(stderr, "usage: odds_bench PROJECT_FOLDER\n");
    return 1;
  }
  const std::filesystem::path folder = argv[1];
  Diagnostics faults;
  const files::Project project = Need(files::LoadProject(folder, {}, faults));
  const Plan plan = Need(files::LoadPlan(folder));
  const variation::Analysis analysis =
      Need(variation::Analyse(project.machine, project.shop, plan));

  variation::CompiledBuilds compiled;
  const double compiling =
      Seconds([&] { compiled = variation::CompileBuilds(analysis, analysis.figures); });
  const TrialProgram& program = compiled.program;
  fmt::print(
      "{} of {} requirements compiled in {:.2f} ms: {} sources and {} factors become {} draws, {} "
      "rows, {} factors\n",
      compiled.requirements.size(), analysis.requirements.size(), compiling * 1e3,
      compiled.sources_read, compiled.factors_read, program.draws.size(), program.rows.size(),
      program.terms.size());

  constexpr std::int64_t kNow = 1 << 13;
  const double now =
      Least([&] {
        variation::OutcomeMemo memo;
        variation::BuildsWanted wanted;
        wanted.builds = kNow;
        wanted.threads = 1;
        variation::Outcomes(analysis, memo).Of({{analysis.figures, compiled.requirements}}, wanted);
      }) *
      1e9 / kNow;
  constexpr std::int64_t kPlain = 1 << 15;
  std::int64_t good = 0;
  const double plain = Least([&] { good = PlainLoop(program, 1).Count(kPlain); }) * 1e9 / kPlain;
  fmt::print("all of them met: plain loop {:.4f}, compiled {:.4f}\n",
             static_cast<double>(good) / kPlain,
             static_cast<double>(AllMet(stats::RunTrials(program, RunOf(1 << 20, Vectors::kWidest)),
                                        program.outcomes)) /
                 (1 << 20));
  fmt::print("blocks as now {:.0f} ns a build, plain loop {:.0f} ns\n", now, plain);
  for (const Vectors vectors : stats::VectorsHere()) {
    const double ours = Nanoseconds(program, vectors);
    fmt::print(
        "{:9s} {:7.1f} ns a build, {:6.2f} million a second; {:.1f} times the blocks, {:.2f} times "
        "the plain loop\n",
        NameOf(vectors), ours, 1e3 / ours, now / ours, plain / ours);
  }
  for (const Vectors vectors : stats::VectorsHere()) PrintWhere(program, vectors);
  return 0;
}
