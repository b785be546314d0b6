// What a build of a whole plan costs: the compiled program at each vector width, a plain loop over
// the same draws, rows and floats, and where the time goes; causes and the band of shops against
// the odds themselves; growth with the number of parts. All in one run, on one thread, by the
// thread's own processor time. Prints ratios. Usage: odds_bench PROJECT_FOLDER (with its plan.json)
// [--program FILE]: also writes the program for bench/odds_beside_library.py.
#include <fmt/format.h>
#include <time.h>

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <limits>
#include <string>
#include <vector>

#include "fitwright/files/plan_json.h"
#include "fitwright/files/project.h"
#include "fitwright/stats/random.h"
#include "fitwright/stats/trial_margin.h"
#include "fitwright/stats/trials.h"
#include "fitwright/variation/compiled_builds.h"
#include "fitwright/variation/lessen.h"
#include "fitwright/variation/odds.h"
#include "tests/support/part_stack.h"

namespace {

using namespace fitwright;
using stats::DrawLaw;
using stats::TrialProgram;
using stats::Vectors;

constexpr int kRounds = 3;

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
    const bool wide = draw.law == DrawLaw::kRound || draw.law == DrawLaw::kFolded ||
                      draw.law == DrawLaw::kDisc || draw.law == DrawLaw::kLognormal;
    if (kept_.empty()) kept_.resize(program_.draws.size());
    Kept& kept = kept_[d];
    const auto pick = [&](const stats::Pair& p) { return fresh ? p.first : p.second; };
    if (fresh) {
      kept.own = stats::UniformPair(keys_[d].first, trial / 2);
      if (wide) kept.length = stats::UniformPair(keys_[d].second, trial / 2, 1);
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
      case DrawLaw::kFolded:
      case DrawLaw::kDisc: {
        const double l = pick(kept.length);
        const double length = draw.law == DrawLaw::kFolded ? std::fabs(l)
                              : draw.law == DrawLaw::kDisc ? std::sqrt(l)
                                                           : std::sqrt(-2 * std::log(l));
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

  bool AddRows(std::size_t from, std::size_t to) {
    bool met = true;
    for (std::size_t r = from; r < to; ++r) {
      const stats::TrialRow& row = program_.rows[r];
      if (!row.kept && !row.outcome) continue;
      double sum = row.constant;
      for (std::uint32_t t = 0; t < row.terms; ++t) {
        const stats::TrialTerm& term = program_.terms[row.first_term + t];
        sum += term.factor * columns_[term.column];
      }
      rows_[r] = sum;
      if (row.outcome && !(sum >= row.low && sum <= row.high)) met = false;
    }
    return met;
  }

  bool AllMet() {
    bool met = true;
    std::size_t done = 0;
    for (const stats::TrialStage& stage : program_.stages) {
      met &= AddRows(done, stage.before_row);
      done = stage.before_row;
      for (const stats::TrialRest& rest : stage.rests) {
        const double room = std::max(0.0, rows_[rest.room]);
        double* out = columns_.data() + rest.column;
        out[0] = room * (rest.disc ? columns_[*rest.disc] : rest.at_x) - rows_[rest.x];
        out[1] = room * (rest.disc ? columns_[*rest.disc + 1] : rest.at_y) - rows_[rest.y];
      }
    }
    met &= AddRows(done, program_.rows.size());
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
double Nanoseconds(const TrialProgram& program, Vectors vectors, std::int64_t trials = 1 << 14) {
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

// The outcomes that take no step: draws, rows, rests in discs, limits.
TrialProgram WithoutSteps(const TrialProgram& program) {
  std::vector<std::uint32_t> outcomes;
  for (std::uint32_t o = 0; o < program.outcomes; ++o) {
    if (stats::HasMargin(program, o)) outcomes.push_back(o);
  }
  return stats::OnlyOutcomes(program, outcomes);
}

// The whole program, only that no step is taken.
TrialProgram StepsLeftOut(TrialProgram program) {
  for (stats::TrialStage& stage : program.stages) stage.steps.clear();
  return program;
}

std::size_t FactorsOf(const TrialProgram& program) {
  std::size_t factors = 0;
  for (const stats::TrialRow& row : program.rows) {
    if (row.kept || row.outcome) factors += row.terms;
  }
  return factors;
}

struct Prices {
  double draw = 0;
  double factor = 0;
};

Prices PricesOf(Vectors vectors) {
  constexpr std::uint32_t kCount = 32;
  Prices prices;
  prices.draw = Nanoseconds(Made(kCount, 0, 0), vectors) / kCount;
  const double narrow = Nanoseconds(Made(kCount, 64, 8), vectors);
  const double wide = Nanoseconds(Made(kCount, 64, 32), vectors);
  prices.factor = (wide - narrow) / (64 * 24);
  return prices;
}

void PrintDraws(const TrialProgram& program, Vectors vectors) {
  const std::array<std::pair<DrawLaw, const char*>, 10> laws = {
      {{DrawLaw::kNormal, "normals"},
       {DrawLaw::kHalfNormal, "half normals"},
       {DrawLaw::kUniform, "uniforms"},
       {DrawLaw::kFromZero, "uniforms from zero"},
       {DrawLaw::kRound, "vectors"},
       {DrawLaw::kFolded, "folded vectors"},
       {DrawLaw::kDisc, "points of a disc"},
       {DrawLaw::kLognormal, "lognormals"},
       {DrawLaw::kEvent, "events"},
       {DrawLaw::kWorked, "worked sizes"}}};
  for (const auto& [law, words] : laws) {
    const TrialProgram only = OnlyDraws(program, law);
    if (only.draws.empty()) continue;
    const double share = Nanoseconds(only, vectors);
    fmt::print("  {:20s} {:4d}  {:7.1f} ns  ({:.2f} each)\n", words, only.draws.size(), share,
               share / static_cast<double>(only.draws.size()));
  }
}

void PrintWhere(const TrialProgram& program, Vectors vectors) {
  const Prices prices = PricesOf(vectors);
  const double whole = Nanoseconds(program, vectors);
  const double stepless = Nanoseconds(StepsLeftOut(program), vectors);
  fmt::print("{}: a normal {:.2f} ns, a factor {:.4f} ns; the plan {:.1f} ns a build, of which\n",
             NameOf(vectors), prices.draw, prices.factor, whole);
  PrintDraws(program, vectors);
  TrialProgram drawn = program;
  drawn.rows.clear();
  drawn.stages.clear();
  drawn.conditions.clear();
  fmt::print("  rows, discs and limits     {:7.1f} ns  ({} factors in {} rows)\n",
             stepless - Nanoseconds(drawn, vectors), FactorsOf(program), program.rows.size());
  fmt::print("  patterns and formulas      {:7.1f} ns\n", whole - stepless);
  const double limit = static_cast<double>(program.draws.size()) * prices.draw +
                       static_cast<double>(FactorsOf(program)) * prices.factor + whole - stepless;
  fmt::print("  whole over draws x normal + factors x factor + patterns: {:.2f}\n", whole / limit);
}

// Every requirement, causes and the band of shops, as the program gives them.
void PrintCauses(const files::Project& project, const Plan& plan) {
  constexpr std::int64_t kBuilds = 100'000;
  variation::OddsOptions options;
  options.builds = kBuilds;
  options.threads = 1;
  options.values = options.seldom = false;
  const auto took = [&](bool causes, bool band) {
    options.causes = causes;
    options.shop_band = band;
    return Least([&] { Need(variation::CalcOdds(project.machine, project.shop, plan, options)); },
                 3);
  };
  const double odds = took(false, false);
  fmt::print(
      "odds of {} builds {:.3f} s of one thread; causes {:.2f} times that, band of shops {:.2f}"
      " times\n",
      kBuilds, odds, (took(true, false) - odds) / odds, (took(false, true) - odds) / odds);
  const variation::Project whole{project.machine, project.shop, plan, {}};
  variation::LessenOptions lessen;
  lessen.threads = 1;
  const double sensitivities = Least([&] { Need(variation::FindLessenings(whole, lessen)); });
  fmt::print("each spread, clearance, aim and limit changed: {:.2f} times\n", sensitivities / odds);
}

void PrintGrowth() {
  double first = 0;
  for (const int parts : {10, 100, 1000}) {
    const variation::Analysis analysis = testing::MakePartStack(parts);
    variation::CompiledBuilds compiled;
    const double compiling =
        Seconds([&] { compiled = variation::CompileBuilds(analysis, analysis.figures); });
    const TrialProgram& program = compiled.program;
    const double one = Nanoseconds(program, Vectors::kWidest, 1 << 12);
    const auto factors = static_cast<double>(FactorsOf(program));
    if (parts == 10) first = one / factors;
    const double bytes = static_cast<double>(program.columns + program.rows.size()) *
                         stats::kTrialsAtOnce * sizeof(double);
    fmt::print(
        "{:4d} parts: {} draws, {} factors, compiled in {:.1f} ms; {:.0f} ns a build, {:.2f} times "
        "per factor; {:.1f} MB a thread\n",
        parts, program.draws.size(), FactorsOf(program), compiling * 1e3, one,
        one / factors / first, bytes * 1e-6);
  }
}

// Draws, rows, discs and limits in plain words, a line each.
void WriteProgram(const TrialProgram& program, const std::filesystem::path& path) {
  std::ofstream out(path);
  out << fmt::format("columns {} outcomes {}\n", program.columns, program.outcomes);
  for (const stats::TrialDraw& d : program.draws) {
    const stats::WorkedDraw w =
        d.law == DrawLaw::kWorked ? program.worked[d.worked] : stats::WorkedDraw{};
    out << fmt::format("draw {} {} {} {} {} {} {} {} {} {} {} {}\n", static_cast<int>(d.law),
                       d.column, d.key, d.length_key, d.a, d.b, d.c, w.cut, w.reading, w.low,
                       w.high, w.safe_sign);
  }
  std::size_t done = 0;
  const auto rows_to = [&](std::size_t to) {
    for (; done < to; ++done) {
      const stats::TrialRow& row = program.rows[done];
      out << fmt::format("row {} {} {} {}", row.kept || row.outcome ? 1 : 0, row.constant,
                         row.outcome ? row.low : -1e300, row.outcome ? row.high : 1e300);
      for (std::uint32_t t = row.first_term; t < row.first_term + row.terms; ++t)
        out << fmt::format(" {} {}", program.terms[t].column, program.terms[t].factor);
      out << "\n";
    }
  };
  for (const stats::TrialStage& stage : program.stages) {
    rows_to(stage.before_row);
    for (const stats::TrialRest& r : stage.rests)
      out << fmt::format("rest {} {} {} {} {} {} {}\n", r.column, r.x, r.y, r.room,
                         r.disc ? static_cast<int>(*r.disc) : -1, r.at_x, r.at_y);
  }
  rows_to(program.rows.size());
  for (const stats::TrialCondition& c : program.conditions)
    out << fmt::format("length {} {} {} {} {} {}\n", c.row ? static_cast<int>(*c.row) : -1, c.x,
                       c.y, c.factor, c.low, c.high);
}

// What needs no step, against the plain loop over the same.
void PrintBesidePlainLoop(const TrialProgram& program) {
  const TrialProgram linear = WithoutSteps(program);
  constexpr std::int64_t kPlain = 1 << 14;
  std::int64_t good = 0;
  const double plain = Least([&] { good = PlainLoop(linear, 1).Count(kPlain); }) * 1e9 / kPlain;
  fmt::print("without steps: {} draws, {} factors; all met: plain loop {:.4f}, compiled {:.4f}\n",
             linear.draws.size(), FactorsOf(linear), static_cast<double>(good) / kPlain,
             static_cast<double>(AllMet(stats::RunTrials(linear, RunOf(1 << 18, Vectors::kWidest)),
                                        linear.outcomes)) /
                 (1 << 18));
  for (const Vectors vectors : stats::VectorsHere()) {
    const double ours = Nanoseconds(linear, vectors);
    fmt::print("{:9s} {:7.1f} ns a build, {:.2f} times as fast as the plain loop\n",
               NameOf(vectors), ours, plain / ours);
  }
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 2 && !(argc == 4 && std::string(argv[2]) == "--program")) {
    fmt::print(stderr, "usage: odds_bench PROJECT_FOLDER [--program FILE]\n");
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
      "{} requirements compiled in {:.2f} ms: {} sources and {} factors become {} draws, {} rows, "
      "{} factors\n",
      compiled.requirements.size(), compiling * 1e3, compiled.sources_read, compiled.factors_read,
      program.draws.size(), program.rows.size(), FactorsOf(program));
  if (argc == 4) {
    const TrialProgram linear = WithoutSteps(program);
    WriteProgram(linear, argv[3]);
    fmt::print("{:.2f} ns a build\n", Nanoseconds(linear, Vectors::kWidest));
    return 0;
  }
  PrintBesidePlainLoop(program);
  for (const Vectors vectors : stats::VectorsHere()) PrintWhere(program, vectors);
  PrintCauses(project, plan);
  PrintGrowth();
  return 0;
}
