// A part sheet put together line by line.
#pragma once

#include <fmt/format.h>

#include <set>
#include <string>
#include <utility>
#include <vector>

namespace fitwright::testing {

class SheetWriter {
 public:
  SheetWriter(const std::string& material, const std::string& envelope) {
    text_ = fmt::format("format = \"fitwright-part/1\"\nmaterial = \"{}\"\nunit = \"mm\"\n\n[envelope]\n{}\n", material, envelope);
  }
  void Stock(const std::string& form, const std::string& lines) {
    text_ += fmt::format("\n[stock]\nform = \"{}\"\n{}\n", form, lines);
    words_.insert("stock " + form);
  }
  // Returns the feature's name, made from its word and a number.
  std::string Add(const std::string& kind, const std::string& lines) {
    const std::string name = fmt::format("{}_{}", kind, ++count_);
    AddNamed(name, kind, lines);
    return name;
  }
  void AddNamed(const std::string& name, const std::string& kind, const std::string& lines) {
    text_ += fmt::format("\n[[feature]]\nname = \"{}\"\nkind = \"{}\"\n{}\n", name, kind, lines);
    words_.insert(kind);
  }
  void Note(const std::string& word) { words_.insert(word); }
  const std::string& text() const { return text_; }
  const std::set<std::string>& words() const { return words_; }

 private:
  std::string text_;
  std::set<std::string> words_;
  int count_ = 0;
};

}  // namespace fitwright::testing
