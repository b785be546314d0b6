// The house's own rules, read from cmake/layers.txt and held against every source file.
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

struct Layer {
  std::set<std::string> below;
  std::set<std::string> third_party;
};
using Layers = std::map<std::string, Layer>;

std::string Read(const fs::path& path) {
  std::ifstream in(path, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

Layers ReadLayers(const fs::path& file) {
  Layers layers;
  std::istringstream lines(Read(file));
  for (std::string line; std::getline(lines, line);) {
    const auto colon = line.find(':');
    if (line.empty() || line[0] == '#' || colon == std::string::npos) continue;
    Layer layer;
    std::istringstream words(line.substr(colon + 1));
    bool third = false;
    for (std::string word; words >> word;) {
      if (word == "|") {
        third = true;
      } else {
        (third ? layer.third_party : layer.below).insert(word);
      }
    }
    layers[line.substr(0, colon)] = layer;
  }
  return layers;
}

// "sheets" or "sheets_solid" for a path below src/fitwright.
std::string LayerOf(const std::string& path) {
  const auto first = path.find('/');
  const std::string name = path.substr(0, first);
  return path.compare(first, 7, "/solid/") == 0 ? name + "_solid" : name;
}

std::string ThirdPartyRoot(const std::string& header) {
  if (header.rfind("toml++/", 0) == 0) return "toml++";
  if (header.rfind("nlohmann/", 0) == 0) return "nlohmann";
  if (header.rfind("CLI/", 0) == 0) return "CLI";
  if (header == "httplib.h") return "httplib";
  if (header.rfind("hwy/", 0) == 0) return "hwy";
  if (header.rfind("openssl/", 0) == 0) return "openssl";
  if (header == "sqlite3.h") return "sqlite";
  static const std::regex kernel("[A-Za-z0-9]+(_[A-Za-z0-9]+)?\\.(hxx|lxx)");
  if (std::regex_match(header, kernel)) return "occt";
  return {};
}

std::vector<std::string> FindFaults(const fs::path& root, const Layers& layers) {
  static const std::regex include("^\\s*#include\\s+[<\"]([^>\"]+)[>\"]");
  std::vector<std::string> faults;
  for (const auto& entry : fs::recursive_directory_iterator(root)) {
    const std::string ext = entry.path().extension();
    if (ext != ".h" && ext != ".cc") continue;
    const std::string path = fs::relative(entry.path(), root).generic_string();
    const std::string layer = LayerOf(path);
    std::istringstream lines(Read(entry.path()));
    for (std::string line; std::getline(lines, line);) {
      std::smatch match;
      if (!std::regex_search(line, match, include)) continue;
      const std::string header = match[1];
      const std::string third = ThirdPartyRoot(header);
      if (layer == "app") {
        if (third == "toml++" || third == "nlohmann" || third == "occt" || third == "httplib" || third == "openssl" || third == "sqlite") faults.push_back(path + " includes " + header);
        continue;
      }
      const auto known = layers.find(layer);
      if (known == layers.end()) {
        faults.push_back(path + " is in no layer");
        break;
      }
      if (!third.empty() && known->second.third_party.count(third) == 0) faults.push_back(path + " includes " + header);
      if (header.rfind("fitwright/", 0) != 0) continue;
      const std::string other = LayerOf(header.substr(10));
      if (other != layer && known->second.below.count(other) == 0) faults.push_back(path + " includes " + header);
    }
  }
  return faults;
}

std::string Join(const std::vector<std::string>& lines) {
  std::string text;
  for (const std::string& line : lines) text += "\n  " + line;
  return text;
}

const fs::path kSource = FITWRIGHT_SOURCE_DIR;

TEST(Layers, EachIncludesOnlyWhatStandsBelowIt) {
  const Layers layers = ReadLayers(kSource / "cmake/layers.txt");
  ASSERT_GE(layers.size(), 15U);
  const auto faults = FindFaults(kSource / "src/fitwright", layers);
  EXPECT_TRUE(faults.empty()) << Join(faults);
}

TEST(Layers, TheProofSharesNothingWithThePlanner) {
  const Layers layers = ReadLayers(kSource / "cmake/layers.txt");
  EXPECT_EQ(layers.at("replay").below.count("planner"), 0U);
}

TEST(Layers, APlantedFaultIsFound) {
  const fs::path root = fs::path(::testing::TempDir()) / "planted_layers";
  fs::remove_all(root);
  fs::create_directories(root / "model");
  std::ofstream(root / "model/bad.h") << "#include \"fitwright/planner/planner.h\"\n#include <TopoDS_Shape.hxx>\n";
  const auto faults = FindFaults(root, ReadLayers(kSource / "cmake/layers.txt"));
  EXPECT_EQ(faults.size(), 2U) << Join(faults);
}

TEST(House, SourcesKeepTheHabits) {
  std::vector<std::string> faults;
  for (const auto& entry : fs::recursive_directory_iterator(kSource / "src")) {
    const std::string ext = entry.path().extension();
    if (ext != ".h" && ext != ".cc" && ext != ".inc") continue;
    const std::string path = fs::relative(entry.path(), kSource).generic_string();
    const std::string text = Read(entry.path());
    const auto lines = std::count(text.begin(), text.end(), '\n');
    if (lines > 800) faults.push_back(path + " has over 800 lines");
    if (ext == ".h" && text.rfind("//", 0) != 0) faults.push_back(path + " does not say what it is for");
    static const std::regex left_over("\\b(TO" "DO|FIX" "ME|XX" "X)\\b");
    if (std::regex_search(text, left_over)) faults.push_back(path + " has a left-over");
    for (const char c : text) {
      if (static_cast<unsigned char>(c) > 126) {
        faults.push_back(path + " has a character outside ASCII");
        break;
      }
    }
  }
  EXPECT_TRUE(faults.empty()) << Join(faults);
}

TEST(House, TheProofReadsTheDesignInOnePlaceOnly) {
  int places = 0;
  for (const auto& entry : fs::recursive_directory_iterator(kSource / "src/fitwright/replay")) {
    const std::string text = Read(entry.path());
    EXPECT_EQ(text.find("FeatureShape"), std::string::npos) << entry.path();
    if (text.find("MakeDesign(") != std::string::npos) ++places;
  }
  EXPECT_LE(places, 1);
}

}  // namespace
