// The text of a STEP file (ISO 10303-21) put otherwise with the same meaning, or spoilt.
#pragma once

#include <algorithm>
#include <cctype>
#include <map>
#include <numeric>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "tests/support/dice.h"

namespace fitwright::testing {

// The file's data in pieces "#12=...;", with what stands before and after.
struct StepText {
  std::string head;
  std::vector<std::string> entities;
  std::string tail;
};

inline StepText SplitStep(const std::string& text) {
  StepText step;
  const std::size_t data = text.find("DATA;") + 5;
  const std::size_t end = text.find("ENDSEC;", data);
  step.head = text.substr(0, data) + "\n";
  step.tail = text.substr(end);
  bool quoted = false;
  std::string entity;
  for (const char c : text.substr(data, end - data)) {
    quoted ^= c == '\'';
    if (!quoted && std::isspace(static_cast<unsigned char>(c)) != 0) continue;
    entity += c;
    if (quoted || c != ';') continue;
    step.entities.push_back(entity);
    entity.clear();
  }
  return step;
}

// Calls on_reference(number) for each #number outside texts and puts what it gives in its place.
template <typename OnReference>
std::string WithReferences(const std::string& entity, OnReference on_reference) {
  std::string out;
  bool quoted = false;
  for (std::size_t i = 0; i < entity.size(); ++i) {
    quoted ^= entity[i] == '\'';
    out += entity[i];
    if (quoted || entity[i] != '#') continue;
    std::size_t end = i + 1;
    while (end < entity.size() && std::isdigit(static_cast<unsigned char>(entity[end])) != 0) ++end;
    out += on_reference(entity.substr(i + 1, end - i - 1));
    i = end - 1;
  }
  return out;
}

template <typename T>
void Shuffle(Dice& dice, std::vector<T>& list) {
  for (std::size_t i = list.size(); i > 1; --i) std::swap(list[i - 1], list[dice.Below(i)]);
}

// The entities in another order under other numbers.
inline std::string Shuffled(const std::string& text, Dice& dice) {
  StepText step = SplitStep(text);
  std::vector<std::size_t> numbers(step.entities.size());
  std::iota(numbers.begin(), numbers.end(), std::size_t{1});
  Shuffle(dice, numbers);
  std::map<std::string, std::string> renamed;
  for (std::size_t i = 0; i < step.entities.size(); ++i) {
    const std::string& entity = step.entities[i];
    renamed[entity.substr(1, entity.find('=') - 1)] = std::to_string(3 * numbers[i] + 7);
  }
  Shuffle(dice, step.entities);
  std::string out = step.head;
  for (const std::string& entity : step.entities) {
    out += WithReferences(entity,
                          [&](const std::string& number) {
                            return renamed.count(number) != 0 ? renamed[number] : number;
                          }) +
           "\n";
  }
  return out + step.tail;
}

// A reference to another entity, a number changed, an entity lost, doubled or of another kind,
// bytes lost or changed.
inline void SpoilOnce(StepText& step, Dice& dice) {
  if (step.entities.empty()) return;
  std::string& entity = step.entities[dice.Below(step.entities.size())];
  const std::string& other = step.entities[dice.Below(step.entities.size())];
  if (entity.empty() || other.empty()) return;  // lost already
  const std::string other_number = other.substr(1, other.find('=') - 1);
  switch (dice.Below(8)) {
    case 0: {
      int left = static_cast<int>(dice.Below(4));
      const std::string own = entity.substr(1, entity.find('=') - 1);
      entity = WithReferences(entity, [&](const std::string& number) {
        return number != own && left-- == 0 ? other_number : number;
      });
      break;
    }
    case 1: {
      const std::size_t digit = entity.find_first_of("0123456789", entity.find('('));
      if (digit != std::string::npos)
        entity.replace(digit, 1, dice.Of({"0", "-1", "1E30", "9", "1E-9", "NAN", "$", "*"}));
      break;
    }
    case 2:
      entity.clear();
      break;
    case 3:
      entity = other;
      break;
    case 4: {
      const std::size_t open = entity.find('(');
      const std::size_t is = entity.find('=');
      const std::size_t other_is = other.find('=');
      if (open != std::string::npos && other_is != std::string::npos)
        entity = entity.substr(0, is + 1) +
                 other.substr(other_is + 1, other.find('(') - other_is - 1) + entity.substr(open);
      break;
    }
    case 5: {
      const std::size_t comma = entity.find(',', dice.Below(entity.size() + 1));
      if (comma != std::string::npos) entity.erase(comma, 1 + dice.Below(6));
      break;
    }
    case 6:
      if (!entity.empty()) entity[dice.Below(entity.size())] = static_cast<char>(dice.Below(256));
      break;
    default: {
      const std::size_t flag = entity.find(".T.");
      if (flag != std::string::npos) entity.replace(flag, 3, dice.Of({".F.", ".U.", "$"}));
    }
  }
}

// One to four such faults, and now and then the end cut off.
inline std::string Spoilt(const std::string& text, Dice& dice) {
  StepText step = SplitStep(text);
  for (std::size_t faults = 1 + dice.Below(4); faults > 0; --faults) SpoilOnce(step, dice);
  std::string out = step.head;
  for (const std::string& entity : step.entities) out += entity + "\n";
  out += step.tail;
  if (dice.Chance(0.05)) out.resize(dice.Below(out.size()));
  return out;
}

}  // namespace fitwright::testing
