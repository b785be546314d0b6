// Sources that are compiled together call nothing of their own by one name: two functions of it would be one set of overloads, of
// which a call may take the neighbour's without a word.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

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
  static const std::regex words(R"(//[^\n]*|R"(\w*)\([\s\S]*?\)\1"|"(?:\\.|[^"\\\n])*"|'(?:\\.|[^'\\])+')");
  return std::regex_replace(code, words, "_");
}

// What stands in namespaces without a name, bodies left out.
std::string OwnOutline(const std::string& bare) {
  static const std::regex begins(R"(namespace\s*\{)");
  std::string outline;
  for (auto at = std::sregex_iterator(bare.begin(), bare.end(), begins); at != std::sregex_iterator(); ++at) {
    int depth = 0;
    for (std::size_t i = static_cast<std::size_t>(at->position() + at->length()) - 1; i < bare.size(); ++i) {
      if (bare[i] == '}' && --depth == 0) break;
      if (depth == 1 && bare[i] != '{' && bare[i] != '}') outline += bare[i];
      if (bare[i] == '{' && ++depth == 2) outline += "{}";
    }
  }
  return outline;
}

std::set<std::string> OwnNames(const std::string& code) {
  static const std::vector<std::regex> kinds = {std::regex(R"((?:^|\n)\s*(?:struct|class|enum(?: class)?)\s+(\w+)[^;()]*\{)"),
                                                std::regex(R"((?:^|\n)[^;{}()\n]*[\w>&*]\s+[&*]*(\w+)\([^;{}]*\)\s*(?:const)?\s*\{)")};
  const std::string outline = OwnOutline(Bare(code));
  std::set<std::string> names;
  for (const std::regex& kind : kinds) {
    for (auto at = std::sregex_iterator(outline.begin(), outline.end(), kind); at != std::sregex_iterator(); ++at) names.insert((*at)[1]);
  }
  return names;
}

TEST(OwnNames, AreFoundInNamespacesWithoutAName) {
  EXPECT_THAT(OwnNames("void Outside(int) {\n}\nnamespace {\nstruct Row {\n  int Inside() { return 1; }\n};\nstd::string List(const int& a,\n  int b) {\n  // } int No() {\n  if (a) { b(\"}\"); }\n"
                       "}\ntemplate <typename T>\nbool Has(T) {\n  return true;\n}\n}\nint After() {\n}\n"),
              UnorderedElementsAre("Row", "List", "Has"));
}

TEST(OwnNames, AreNotSharedByWhatIsCompiledTogether) {
  static const std::regex included("#include \"([^\"]+\\.cc)\"");
  int together = 0;
  for (const fs::directory_entry& layer : fs::directory_iterator(fs::path(FITWRIGHT_BINARY_DIR) / "CMakeFiles")) {
    if (!fs::is_directory(layer.path() / "Unity")) continue;
    for (const fs::directory_entry& unit : fs::directory_iterator(layer.path() / "Unity")) {
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
