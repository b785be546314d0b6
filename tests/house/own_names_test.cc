// Sources that are compiled together call nothing of their own by one name: two functions of it would be one set of overloads, of
// which a call may take the neighbour's without a word.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cctype>
#include <filesystem>
#include <fstream>
#include <map>
#include <regex>
#include <set>
#include <sstream>
#include <string>
#include <vector>

namespace {

namespace fs = std::filesystem;
using ::testing::UnorderedElementsAre;

std::string TextOf(const fs::path& path) {
  std::ifstream in(path, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

// Without comments and texts, in which braces mean nothing.
std::string Bare(const std::string& code) {
  std::string bare;
  for (std::size_t i = 0; i < code.size(); ++i) {
    if (code.compare(i, 2, "//") == 0) {
      i = std::min(code.find('\n', i), code.size() - 1);
    } else if (code.compare(i, 2, "R\"") == 0) {
      const std::size_t open = code.find('(', i);
      const std::string end = ")" + code.substr(i + 2, open - i - 2) + "\"";
      i = code.find(end, open) + end.size() - 1;
    } else if (code[i] == '"' || (code[i] == '\'' && (i == 0 || std::isdigit(static_cast<unsigned char>(code[i - 1])) == 0))) {
      const char quote = code[i];
      for (++i; i < code.size() && code[i] != quote; ++i) i += code[i] == '\\' ? 1 : 0;
    } else {
      bare += code[i];
      continue;
    }
    bare += ' ';
  }
  return bare;
}

std::string LastWord(const std::string& text) {
  std::size_t from = text.size();
  const auto is_word = [](char c) { return std::isalnum(static_cast<unsigned char>(c)) != 0 || c == '_'; };
  while (from > 0 && is_word(text[from - 1])) --from;
  return text.substr(from);
}

// What a definition that stands before a brace defines: a type, or a function; empty otherwise.
std::string Defined(const std::string& head) {
  static const std::string kernels = "Handle(";  // a type of the solid kernel
  const std::size_t handle = head.find(kernels);
  const std::size_t open = head.find('(', handle == std::string::npos ? 0 : handle + kernels.size());
  if (open != std::string::npos) {
    const std::string name = LastWord(head.substr(0, open));
    const bool of_a_type = open > name.size() + 2 && head.compare(open - name.size() - 2, 2, "::") == 0;
    return of_a_type || head.find('=') < open ? "" : name;
  }
  std::istringstream words(head);
  for (std::string word; words >> word;) {
    if (word != "struct" && word != "class" && word != "enum") continue;
    words >> word;
    if (word == "class") words >> word;
    return word;
  }
  return "";
}

std::set<std::string> OwnNames(const std::string& code) {
  const std::string bare = Bare(code);
  static const std::string begins = "namespace {";
  std::set<std::string> names;
  for (std::size_t at = bare.find(begins); at != std::string::npos; at = bare.find(begins, at + 1)) {
    int depth = 0;
    std::string head;
    for (std::size_t i = at + begins.size() - 1; i < bare.size(); ++i) {
      if (bare[i] == '}' && --depth == 0) break;
      if (bare[i] == '{' && ++depth == 2) names.insert(Defined(head));
      if (bare[i] == ';' || bare[i] == '{' || bare[i] == '}') head.clear();
      else if (depth == 1) head += bare[i];
    }
  }
  names.erase("");
  return names;
}

TEST(OwnNames, AreFoundInNamespacesWithoutAName) {
  EXPECT_THAT(OwnNames("void Outside(int) {\n}\nnamespace {\nstruct Row {\n  int Inside() { return 1; }\n};\nstd::string List(const int& a,\n  int b) {\n  // } int No() {\n  if (a) { b(\"}\"); }\n"
                       "}\ntemplate <typename T>\nbool Has(T) {\n  return true;\n}\n}\nint After() {\n}\n"),
              UnorderedElementsAre("Row", "List", "Has"));
}

TEST(OwnNames, AreNotSharedByWhatIsCompiledTogether) {
  static const std::regex included("#include \"([^\"]+\\.cc)\"");
  const std::string commands = TextOf(fs::path(FITWRIGHT_BINARY_DIR) / "compile_commands.json");  // older lists may lie about
  int together = 0;
  for (const fs::directory_entry& layer : fs::directory_iterator(fs::path(FITWRIGHT_BINARY_DIR) / "CMakeFiles")) {
    if (!fs::is_directory(layer.path() / "Unity")) continue;
    for (const fs::directory_entry& unit : fs::directory_iterator(layer.path() / "Unity")) {
      if (commands.find(unit.path().string()) == std::string::npos) continue;
      const std::string text = TextOf(unit.path());
      std::map<std::string, std::string> taken;  // name, by which source
      for (auto at = std::sregex_iterator(text.begin(), text.end(), included); at != std::sregex_iterator(); ++at) {
        const std::string source = (*at)[1];
        ++together;
        for (const std::string& name : OwnNames(TextOf(source))) {
          const auto [known, is_new] = taken.try_emplace(name, source);
          EXPECT_TRUE(is_new) << name << " is an own name of " << known->second << " and of " << source << ", which are compiled together: say one of them otherwise, or share it";
        }
      }
    }
  }
  if (together == 0) GTEST_SKIP() << "sources are compiled by themselves here";
}

}  // namespace
