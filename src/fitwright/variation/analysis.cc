#include "fitwright/variation/analysis.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <set>

#include "fitwright/base/hash.h"
#include "fitwright/variation/cut_reader.h"
#include "fitwright/variation/requirement_forms.h"
#include "fitwright/variation/stack_fit.h"

namespace fitwright::variation {
namespace {

// A printed check catches about two slips in three (shop-defaults' own note).
constexpr double kSlipsThroughCheck = 1.0 / 3;

// Parts are only tried together: nothing that a part made again would cost once more, nothing to be cut wrong.
bool IsTrial(const Setup& setup) {
  return std::any_of(setup.steps.begin(), setup.steps.end(),
                     [](const Step& step) { return step.operation == Operation::kTrial; });
}

void AddMinutes(const Plan& plan, const KnownSetups* known, Analysis& out) {
  for (std::size_t i = 0; i < plan.setups.size(); ++i) {
    const Setup& setup = plan.setups[i];
    if (setup.parts.empty() || IsTrial(WholeSetup(plan, known, i))) continue;
    const PartId& part = setup.parts.front().part;
    auto it = std::find_if(out.parts.begin(), out.parts.end(),
                           [&](const PartMinutes& p) { return p.part == part; });
    if (it == out.parts.end()) it = out.parts.insert(out.parts.end(), {part, 0});
    it->minutes += setup.time_min;
  }
}

double BlundersExpected(const Plan& plan, const Figures& figures) {
  double sum = 0;
  for (const Setup& setup : plan.setups) {
    if (IsTrial(setup)) continue;
    const bool checked = !setup.zero.witness.empty();
    sum += figures[Place(SpreadId::kBlunderPerSetup)].spread * (checked ? kSlipsThroughCheck : 1);
  }
  return sum;
}

// Parts stand one on another in the machine's order, each by its joints to those that stand
// already.
class Assembler {
 public:
  Assembler(const Machine& machine, const CutReader& reader, Analysis& out)
      : machine_(machine), joints_(PlacingJoints(machine)), reader_(reader), out_(out) {}

  Status Run() {
    std::vector<PartId> waiting;
    for (const std::vector<PartUse>* list : {&machine_.uses, &machine_.bought_uses}) {
      for (const PartUse& use : *list) {
        for (std::size_t n = 1; n <= use.copies_X_WP.size() + 1; ++n)
          waiting.push_back(CopyOf(use.part, n));
      }
    }
    while (!waiting.empty()) {
      // Joined to nothing that stands: the first starts a group of its own, where the drawing has
      // it.
      const std::size_t next = NextToStand(waiting).value_or(0);
      if (const Status s = Put(waiting[next]); !s) return s;
      waiting.erase(waiting.begin() + static_cast<std::ptrdiff_t>(next));
    }
    return Ok{};
  }

 private:
  // Bought parts go in as soon as there is a place for them: a shaft finds both its bearings.
  std::optional<std::size_t> NextToStand(const std::vector<PartId>& waiting) const {
    if (out_.placed_W.empty()) return std::nullopt;
    // A slider is guided by its bore and placed by what moves it.
    for (const bool by_slider : {false, true}) {
      for (const bool bought : {true, false}) {
        for (std::size_t i = 0; i < waiting.size(); ++i) {
          const bool ready = machine_.FindBought(SheetIdOf(waiting[i])) != nullptr;
          if (ready == bought && CanStand(waiting[i], by_slider)) return i;
        }
      }
    }
    return std::nullopt;
  }

  bool CanStand(const PartId& part, bool by_slider) const {
    return std::any_of(joints_.begin(), joints_.end(), [&](const Joint& j) {
      return (by_slider || j.kind != JointKind::kSliderInBore) && Joins(j, part) &&
             out_.placed_W.contains(OtherEnd(j, part).part);
    });
  }

  Status Put(const PartId& part) {
    for (const auto& [other, t] : out_.placed_W) {
      if (const auto rel = reader_.StillTogether(part, other)) {
        out_.placed_W[part] = Plus(t, *rel);
        return Ok{};
      }
    }
    PlaceRequest request;
    request.part = part;
    request.instance = 0x66696e616c;
    request.before = reader_.CutTogetherIn(part);
    for (const Joint& joint : joints_) {
      if (Joins(joint, part) && out_.placed_W.contains(OtherEnd(joint, part).part))
        request.joints.push_back(&joint);
    }
    const auto is_slider = [](const Joint* j) { return j->kind == JointKind::kSliderInBore; };
    if (!std::all_of(request.joints.begin(), request.joints.end(), is_slider)) std::erase_if(request.joints, is_slider);
    Result<PlaceResult> placed = PlacePart(reader_.assembly(), out_.placed_W, request);
    if (!placed) return Unexpected(placed.error());
    reader_.SetWhileWet(request, out_.placed_W, placed->t_W);
    out_.placed_W[part] = std::move(placed->t_W);
    for (Play& play : placed->plays) {
      play.at_the_end = true;
      out_.plays.push_back(std::move(play));
    }
    return Ok{};
  }

  const Machine& machine_;
  const std::vector<Joint> joints_;
  const CutReader& reader_;
  Analysis& out_;
};

bool IsAdjusted(const Play& play) {
  return !play.returns &&
         (play.kind == FloatKind::kAdjustedByEye || play.kind == FloatKind::kAdjustedByIndicator);
}

// What an adjusted float is adjusted for: the linear requirements that read it.
void AddTargets(Analysis& out) {
  for (Play& play : out.plays) {
    if (!IsAdjusted(play)) continue;
    for (const RequirementForms& r : out.requirements) {
      if (r.test != TestKind::kLinear) continue;
      const bool both = r.lower > -kUnlimited && r.upper < kUnlimited;
      const double aim = both              ? 0.5 * (r.lower + r.upper)
                         : r.upper < kUnlimited ? std::min(0.0, r.upper)
                                           : std::max(0.0, r.lower);
      const double tolerance = both ? std::max(0.5 * (r.upper - r.lower), 1e-6) : 1;
      for (const Form& form : r.linear) {
        const std::array<double, 3> factors = {FactorOf(form, play.tx), FactorOf(form, play.ty),
                                               play.theta ? FactorOf(form, *play.theta) : 0};
        if (factors[0] == 0 && factors[1] == 0 && factors[2] == 0) continue;
        Form rest = form;
        std::erase_if(rest.terms, [&](const Term& t) {
          return t.source == play.tx || t.source == play.ty ||
                 (play.theta && t.source == *play.theta);
        });
        // Plays of later parts are not known yet when this one is tightened.
        std::erase_if(rest.terms, [&](const Term& t) {
          return t.source > play.tx && out.sources[t.source].law == Law::kPlay;
        });
        rest.constant -= aim;
        play.targets.push_back({std::move(rest), tolerance});
        play.target_factors.push_back(factors);
      }
    }
  }
}

const Remedy* RemedyFor(const Shop& shop, const std::string& what) {
  for (const Remedy& remedy : shop.remedies) {
    if (remedy.for_what == what) return &remedy;
  }
  return nullptr;
}

double RemakeMinutes(const Analysis& out, const std::vector<PartId>& parts) {
  double least = 0;
  for (const PartId& part : parts) {
    for (const PartMinutes& p : out.parts) {
      if (p.part == part && (least == 0 || p.minutes < least)) least = p.minutes;
    }
  }
  return least;
}

void AddRemedy(const Shop& shop, const Analysis& out, RequirementForms& r) {
  const double remake = RemakeMinutes(out, r.parts);
  const Remedy* remedy = RemedyFor(shop, r.name.text());
  if (remedy == nullptr) remedy = RemedyFor(shop, std::string(WordOf(r.kind)));
  r.remake_min = remake;
  if (remedy == nullptr) return;
  r.mend_min = remedy->minutes;
  r.mends = remedy->mends;
}

void AddWorked(const Analysis& out, RequirementForms& r) {
  std::set<SourceIndex> worked;
  const auto look = [&](const Form& form) {
    for (const Term& t : form.terms) {
      if (out.sources[t.source].law == Law::kWorked) worked.insert(t.source);
    }
  };
  for (const Form& form : r.linear) look(form);
  for (const auto& pair : r.vectors) {
    look(pair[0]);
    look(pair[1]);
  }
  r.worked.assign(worked.begin(), worked.end());
}

void AddSettled(const Plan& plan, Analysis& out) {
  std::string names;
  for (const Setup& setup : plan.setups) {
    for (const Step& step : setup.steps) {
      if (step.settles) names += (names.empty() ? "" : ", ") + step.settles->requirement.text();
    }
  }
  if (!names.empty())
    out.assumed.push_back(fmt::format("{}: counted as set right where the plan has it looked at, to anywhere within what the look lets pass, as far as a joint's play reaches; what stands better by itself is left as it is.", names));
}

void AddAssumed(const Machine& machine, const Shop& shop, Analysis& out) {
  std::array<bool, kSpreadCount> read{};
  for (const Source& source : out.sources.all()) {
    read[Place(source.spread)] = true;
    if (source.law == Law::kLognormal) read[Place(source.spread_b)] = true;
  }
  std::vector<std::string> used;
  for (const SpreadId id : DefaultedSpreads(shop)) {
    if (!read[Place(id)]) continue;
    const std::string words = WordsOfSpread(shop, id);
    if (std::find(used.begin(), used.end(), words) == used.end()) used.push_back(words);
  }
  std::string list;
  for (const std::string& words : used) list += (list.empty() ? "" : "; ") + words;
  if (!list.empty())
    out.assumed.push_back(
        fmt::format("{} spreads of this shop are default figures: {}.", used.size(), list));
  std::string missing;
  for (std::size_t i = 0; i < kSpreadCount; ++i) {
    const auto id = static_cast<SpreadId>(i);
    if (!read[i] || IsOwnLimits(id)) continue;
    if (!shop.spreads.contains(std::string(IdOf(id))))
      missing += (missing.empty() ? "" : ", ") + std::string(IdOf(id));
  }
  if (!missing.empty())
    out.assumed.push_back(fmt::format("The shop has no figure for {}: counted as 0.", missing));
  for (const Joint& joint : machine.joints) {
    if (joint.float_assumed && joint.kind == JointKind::kScrewedPattern &&
        joint.float_kind == FloatKind::kChance) {
      out.assumed.push_back(
          fmt::format("{}: where its play comes to rest is left to chance.", joint.name.text()));
    }
  }
  for (const Joint& joint : machine.joints) {
    if (joint.kind != JointKind::kHubOnShaft || !joint.float_assumed) continue;
    out.assumed.push_back(
        fmt::format("{}: its screw pushes it over by all of its play, the same way in every build.",
                    joint.name.text()));
  }
  for (const PartUse& use : machine.uses) {
    const int stand = 1 + static_cast<int>(use.copies_X_WP.size());
    if (use.quantity <= stand) continue;
    out.assumed.push_back(fmt::format("{} is made {} times alike: the odds look at {} of them.",
                                      use.part.text(), use.quantity,
                                      stand == 1 ? "one" : std::to_string(stand)));
  }
  out.assumed.push_back(
      "Not in the odds: deflection while cutting, heat while cutting, distortion when stress is "
      "let go, slips of the "
      "builder. A spread for any of them can be given in the shop file.");
  out.assumed.push_back(
      "A size cut past its far limit is counted as it came out; the hours count the part made "
      "again.");
}

}  // namespace

double RemedyMinutes(const RequirementForms& r, double odds) {
  const double remake = r.remake_min / std::max(odds, 1 / kMostRemakes);
  if (!r.mend_min) return remake;
  const double mend = *r.mend_min + (1 - r.mends) * remake;
  return remake > 0 ? std::min(remake, mend) : mend;
}

Result<Analysis> Analyse(const Machine& machine, const Shop& shop, const Plan& plan, const KnownSetups* known) {
  Analysis out;
  out.figures = FiguresOf(shop);
  AddMinutes(plan, known, out);
  CutReader reader(machine, shop, plan, known, out);
  if (const Status s = reader.Run(); !s) return Unexpected(s.error());
  if (const Status s = Assembler(machine, reader, out).Run(); !s) return Unexpected(s.error());
  for (const Requirement& requirement : machine.requirements) {
    Result<RequirementForms> forms =
        MakeRequirementForms(reader.assembly(), out.placed_W, out.plays, requirement);
    if (!forms) return Unexpected(forms.error());
    out.requirements.push_back(std::move(*forms));
  }
  if (const Status s = ResolveStacks(out); !s) return Unexpected(s.error());
  for (RequirementForms& forms : out.requirements) {
    AddRemedy(shop, out, forms);
    AddWorked(out, forms);
  }
  AddTargets(out);
  if (known == nullptr) {
    out.blunders_expected = BlundersExpected(plan, out.figures);
    AddSettled(plan, out);
    AddAssumed(machine, shop, out);
  }
  return out;
}

}  // namespace fitwright::variation
