// Setups that were read before in another plan: what they left is put in its place again.
#include <algorithm>

#include "fitwright/base/check.h"
#include "fitwright/variation/cut_reader.h"

namespace fitwright::variation {
namespace {

constexpr SourceIndex kNone = ~SourceIndex{0};

void Renumber(Form& form, const std::vector<SourceIndex>& numbers) {
  for (Term& term : form.terms) term.source = numbers[term.source];
  const auto before = [](const Term& a, const Term& b) { return a.source < b.source; };
  if (!std::is_sorted(form.terms.begin(), form.terms.end(), before)) std::sort(form.terms.begin(), form.terms.end(), before);
}

// Displacements that several features share stay shared.
class Bases {
 public:
  template <typename Change>
  std::shared_ptr<const Form6> Of(const std::shared_ptr<const Form6>& base, Change&& change) {
    if (base == nullptr) return nullptr;
    for (const auto& [from, to] : known_) {
      if (from == base.get()) return to;
    }
    Form6 own = *base;
    for (Form& form : own.w) change(form);
    for (Form& form : own.d) change(form);
    known_.emplace_back(base.get(), std::make_shared<const Form6>(std::move(own)));
    return known_.back().second;
  }

 private:
  std::vector<std::pair<const Form6*, std::shared_ptr<const Form6>>> known_;
};

// Nothing of another part bears on what the step does but the size that it is made to suit.
bool ConcernsOnly(const PartId& part, const Step& step) {
  switch (step.operation) {
    case Operation::kAssemble:
    case Operation::kTakeApart:
    case Operation::kTrial:
      return false;
    default:
      break;
  }
  if (step.through || (step.aim && !step.aim->closes.empty())) return false;
  return std::all_of(step.features.begin(), step.features.end(), [&](const FeatureRef& ref) { return ref.part == part; });
}

}  // namespace

bool CutReader::StandsAlone(const Setup& setup) const {
  if (setup.parts.size() != 1) return false;
  const PartId& part = setup.parts.front().part;
  if (group_of_.contains(part) || mixed_.contains(part)) return false;
  return std::all_of(setup.contacts.begin(), setup.contacts.end(), [&](const Contact& c) { return c.surface.part.empty() || c.surface.part == part; }) &&
         std::all_of(setup.steps.begin(), setup.steps.end(), [&](const Step& step) {
           if (!ConcernsOnly(part, step)) return false;
           const PartId& mate = step.aim && step.aim->mate ? step.aim->mate->part : part;
           return mate == SheetIdOf(mate) && !mixed_.contains(mate);  // copies are read by themselves
         });
}

// What is read of a setup hangs on its history, on how its part and what it is made to suit were left, and on which floors
// later steps of its part name.
std::uint64_t CutReader::ReadingKey(const Setup& setup, std::uint64_t history) {
  const PartId& part = setup.parts.front().part;
  const auto [listed, is_new] = listed_keys_.try_emplace(part, 0);
  if (is_new) {
    for (const FeatureRef& ref : listed_) {
      if (ref.part == part) listed->second = MixKeys(listed->second, KeyOf(ref));
    }
  }
  std::uint64_t key = MixKeys(MixKeys(history, listed->second), left_as_[part]);
  for (const Step& step : setup.steps) {
    if (step.aim && step.aim->mate) key = MixKeys(key, MixKeys(KeyOf(*step.aim->mate), left_as_[step.aim->mate->part]));
  }
  return key;
}

Status CutReader::ReadOrRecall(const Setup& setup, std::uint64_t history) {
  if (setup.parts.empty()) return ReadSetup(setup);
  if (known_ == nullptr || history == 0 || !StandsAlone(setup)) {
    for (const PartPose& pose : setup.parts) mixed_.insert(pose.part);
    return ReadSetup(setup);
  }
  const std::uint64_t key = ReadingKey(setup, history);
  left_as_[setup.parts.front().part] = key;
  bool worth_keeping = false;
  if (const auto known = known_->readings->Find(key, worth_keeping)) {
    Recall(setup, *known);
    return Ok{};
  }
  if (!worth_keeping) return ReadSetup(setup);
  Noted noted;
  noted_ = &noted;
  out_.sources.Note(&noted.sources);
  const Status read = ReadSetup(setup);
  noted_ = nullptr;
  out_.sources.Note(nullptr);
  if (read) known_->readings->Keep(key, ReadingOf(setup, noted));
  return read;
}

SetupReading CutReader::ReadingOf(const Setup& setup, const Noted& noted) const {
  SetupReading reading;
  std::vector<SourceIndex> places(out_.sources.size(), kNone);
  const auto name = [&](SourceIndex source, bool brought_in) {
    if (places[source] != kNone) return;
    places[source] = static_cast<SourceIndex>(reading.sources.size());
    SetupReading::Named named{out_.sources[source]};
    named.brought_in = brought_in;
    if (const int worked = named.source.worked; worked >= 0) {
      named.worked = out_.sources.worked()[static_cast<std::size_t>(worked)];
      if (named.worked->part >= 0) named.part = out_.parts[static_cast<std::size_t>(named.worked->part)].part;
    }
    reading.sources.push_back(named);
  };
  const auto renumber = [&](Form& form) {
    for (const Term& term : form.terms) name(term.source, false);
    Renumber(form, places);
  };
  for (const SourceIndex source : noted.sources) name(source, true);
  Bases bases;
  const PartId& part = setup.parts.front().part;
  for (const FeatureRef& ref : noted.features) {
    FeatureForms forms = out_.features.at(ref);
    EachForm(forms, renumber, [&](std::shared_ptr<const Form6>& base) { base = bases.Of(base, renumber); });
    reading.features.emplace_back(ref, std::move(forms));
  }
  const auto seat = last_seat_P_.find(part);
  if (seat != last_seat_P_.end()) {
    reading.seat_P = bases.Of(seat->second, renumber);
    reading.setup_key = last_setup_key_.at(part);
  }
  reading.seats = noted.seats;
  reading.visits = noted.visits;
  reading.setting_min = noted.setting_min;
  return reading;
}

void CutReader::Recall(const Setup& setup, const SetupReading& reading) {
  std::vector<SourceIndex> numbers;
  numbers.reserve(reading.sources.size());
  for (const SetupReading::Named& named : reading.sources) {
    if (!named.brought_in) {
      const auto at = out_.sources.Find(named.source);
      FW_CHECK(at.has_value(), setup.id.text());
      numbers.push_back(*at);
    } else if (named.worked) {
      WorkedSize worked = *named.worked;
      worked.part = named.part.empty() ? -1 : PartIndex(named.part);
      numbers.push_back(out_.sources.AddWorked(named.source, worked));
    } else {
      numbers.push_back(out_.sources.Add(named.source));
    }
  }
  const auto renumber = [&](Form& form) { Renumber(form, numbers); };
  Bases bases;
  for (const auto& [ref, kept] : reading.features) {
    FeatureForms& forms = out_.features[ref];
    forms = kept;
    EachForm(forms, renumber, [&](std::shared_ptr<const Form6>& base) { base = bases.Of(base, renumber); });
  }
  const PartId& part = setup.parts.front().part;
  if (reading.seat_P != nullptr) {
    last_seat_P_[part] = bases.Of(reading.seat_P, renumber);
    last_setup_key_[part] = reading.setup_key;
  }
  for (const std::uint64_t seat : reading.seats) ++setup_counts_[seat];
  for (const std::uint64_t visit : reading.visits) ++visit_counts_[visit];
  out_.setting_min += reading.setting_min;
}

}  // namespace fitwright::variation
