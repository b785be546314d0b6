// The JSON Schemas know the same keys and words as the reader.
#include <gtest/gtest.h>

#include <fstream>
#include <nlohmann/json.hpp>
#include <set>

#include "fitwright/files/project.h"
#include "fitwright/model/known_words.h"
#include "tests/files/sample_project.h"

namespace fitwright::files_test {
namespace {

using nlohmann::json;
using Keys = std::set<std::string>;

json Schema(const std::string& name) {
  std::ifstream stream(std::string(FITWRIGHT_SOURCE_DIR) + "/schemas/" + name + ".schema.json");
  return json::parse(stream);
}

Keys PropertiesOf(const json& schema) {
  Keys keys;
  for (const auto& [key, value] : schema.at("properties").items()) keys.insert(key);
  return keys;
}

// The words of a "const" or an "enum".
Keys WordsIn(const json& schema) {
  if (schema.contains("const")) return {schema.at("const").get<std::string>()};
  return schema.at("enum").get<Keys>();
}

// The keys that the reader names beside an unknown one.
Keys KeysKnownTo(const Texts& texts) {
  const ProjectFolder folder(texts);
  Diagnostics faults;
  EXPECT_FALSE(files::LoadProject(folder.path(), {}, faults).has_value());
  for (const Error& fault : faults.errors()) {
    if (fault.code != ErrorCode::kUnknownKey || !fault.where.key.ends_with("zzz")) continue;
    const std::string mark = "known here: ";
    std::string list = fault.remedy.substr(fault.remedy.find(mark) + mark.size()) + ", ";
    Keys keys;
    for (std::size_t at = 0, end = 0; (end = list.find(", ", at)) != std::string::npos;
         at = end + 2) {
      keys.insert(list.substr(at, end - at));
    }
    return keys;
  }
  ADD_FAILURE() << "the unknown key was not found";
  return {};
}

Keys KeysWith(const std::string& file, const std::string& extra) {
  Texts texts = SampleProject();
  texts[file] += extra;
  return KeysKnownTo(texts);
}

TEST(Schemas, UnreadKeys) {
  const json unread = Schema("part").at("oneOf")[0].at("properties").at("unread").at("items");
  EXPECT_EQ(KeysWith("parts/block.toml", "\n[[unread]]\nzzz = 1\n"), PropertiesOf(unread));
}

TEST(Schemas, PartFeatureKeys) {
  const json defs = Schema("part").at("$defs");
  Keys kinds;
  for (const auto& [name, schema] : defs.items()) {
    if (!schema.contains("properties") || !schema.at("properties").contains("kind")) continue;
    for (const std::string& kind : WordsIn(schema.at("properties").at("kind"))) {
      SCOPED_TRACE(kind);
      kinds.insert(kind);
      std::string extra = "\n[[feature]]\nname = \"extra\"\nkind = \"" + kind + "\"\nzzz = 1\n";
      if (name == "edge_chamfer") extra += "between = [\"deck\", \"front\"]\n";
      if (name == "round_chamfer") extra += "on = \"bore\"\n";
      Keys known = KeysWith("parts/block.toml", extra);
      // What goes with a line is asked for where there is one.
      if (kind == "cutout" || kind == "outline") known.merge(KeysWith("parts/block.toml", extra + "from = \"+z\"\nline = [[-1, -1], [1, -1], [1, 1]]\n"));
      // The reader asks which of the two chamfers it is.
      if (name == "edge_chamfer") known.erase("on");
      if (name == "round_chamfer") known.erase("between");
      EXPECT_EQ(known, PropertiesOf(schema));
    }
  }
  EXPECT_EQ(kinds.size(), 23u);
}

TEST(Schemas, SheetKeys) {
  const json schema = Schema("part");
  EXPECT_EQ(KeysWith("parts/foot_right.toml", "zzz = 1\n").count("mirror_of"), 1u);
  Texts texts = SampleProject();
  texts["parts/foot.toml"] = Edited(texts["parts/foot.toml"], "[envelope]", "zzz = 1\n[envelope]");
  Keys known = KeysKnownTo(texts);
  known.erase("mirror_of");
  EXPECT_EQ(known, PropertiesOf(schema.at("oneOf")[0]));
  for (const auto& [form, which] :
       {std::pair{"flat", 0}, std::pair{"plate", 0}, std::pair{"round", 1}, std::pair{"tube", 2},
        std::pair{"hex", 3}, std::pair{"casting", 4}}) {
    Texts other = SampleProject();
    other["parts/block.toml"] =
        Edited(other["parts/block.toml"], "form = \"flat\"\nsize = [64, 55, 45]",
               std::string("zzz = 1\nform = \"") + form + "\"");
    EXPECT_EQ(KeysKnownTo(other),
              PropertiesOf(schema.at("oneOf")[0].at("properties").at("stock").at("oneOf")[which]));
  }
}

TEST(Schemas, MachineKeys) {
  const json schema = Schema("machine");
  const json& properties = schema.at("properties");
  Texts texts = SampleProject();
  texts["machine.toml"] = "zzz = 1\n" + texts["machine.toml"];
  EXPECT_EQ(KeysKnownTo(texts), PropertiesOf(schema));
  EXPECT_EQ(KeysWith("machine.toml", "\n[[part]]\nsheet = \"block\"\nzzz = 1\n"),
            PropertiesOf(properties.at("part").at("items")));
  Keys kinds;
  Keys bought;
  for (const json& one : properties.at("bought").at("items").at("oneOf")) {
    for (const std::string& kind : WordsIn(one.at("properties").at("kind"))) {
      SCOPED_TRACE(kind);
      bought.insert(kind);
      const std::string size = kind == "bearing" ? "size = [10, 26, 8]\n" : "";
      EXPECT_EQ(KeysWith("machine.toml", "\n[[bought]]\nname = \"extra\"\nkind = \"" + kind +
                                             "\"\n" + size + "zzz = 1\n"),
                PropertiesOf(one));
    }
  }
  for (const char* group : {"joint", "requirement"}) {
    for (const json& one : properties.at(group).at("items").at("oneOf")) {
      for (const std::string& kind : WordsIn(one.at("properties").at("kind"))) {
        SCOPED_TRACE(kind);
        kinds.insert(kind);
        Keys known = KeysWith("machine.toml", "\n[[" + std::string(group) +
                                                  "]]\nname = \"extra\"\nkind = \"" + kind +
                                                  "\"\nzzz = 1\n");
        // Asked for only to say that these kinds take two limits.
        static const Keys kTwoLimits{"clearance", "interference", "distance", "proud", "end_float"};
        if (kTwoLimits.contains(kind)) known.erase("within");
        EXPECT_EQ(known, PropertiesOf(one));
      }
    }
  }
  Keys all;
  for (const auto& word : WordList<JointKind>()) all.insert(word);
  for (const auto& word : WordList<RequirementKind>()) all.insert(word);
  EXPECT_EQ(kinds, all);
  const auto ready = WordList<BoughtKind>();
  EXPECT_EQ(bought, Keys(ready.begin(), ready.end()));
}

TEST(Schemas, ShopKeysAndWords) {
  const json schema = Schema("shop");
  const json& defs = schema.at("$defs");
  for (const char* group : {"machine", "holding", "tool", "instrument"}) {
    SCOPED_TRACE(group);
    EXPECT_EQ(
        KeysWith("shop.toml", "\n[[" + std::string(group) + "]]\nname = \"extra\"\nzzz = 1\n"),
        PropertiesOf(defs.at(group)));
  }
  EXPECT_EQ(KeysWith("shop.toml", "\n[spread.caliper]\nzzz = 1\n"),
            PropertiesOf(defs.at("spread")));
  EXPECT_EQ(KeysWith("shop.toml", "\n[[remedy]]\nfor_what = \"x\"\nzzz = 1\n"),
            PropertiesOf(defs.at("remedy")));
  Texts texts = SampleProject();
  texts["shop.toml"] += "zzz = 1\n";  // ends in [times]
  EXPECT_EQ(KeysKnownTo(texts), PropertiesOf(defs.at("times")));
  texts["shop.toml"] = "zzz = 1\n" + SampleProject()["shop.toml"];
  EXPECT_EQ(KeysKnownTo(texts), PropertiesOf(schema));

  const auto words = [&](const char* group) {
    return WordsIn(defs.at(group).at("properties").at("kind"));
  };
  const auto set = [](const std::vector<std::string>& list) {
    return Keys(list.begin(), list.end());
  };
  EXPECT_EQ(words("machine"), set(WordList<MachineToolKind>()));
  EXPECT_EQ(words("holding"), set(WordList<HoldingDeviceKind>()));
  EXPECT_EQ(words("tool"), set(WordList<ToolKind>()));
  EXPECT_EQ(words("instrument"), set(WordList<InstrumentKind>()));
}

TEST(Schemas, ChoicesKeysAndWords) {
  const json schema = Schema("choices");
  Keys kinds;
  for (const json& one : schema.at("properties").at("pin").at("items").at("oneOf")) {
    for (const std::string& kind : WordsIn(one.at("properties").at("kind"))) {
      SCOPED_TRACE(kind);
      kinds.insert(kind);
      EXPECT_EQ(KeysWith("choices.toml", "\n[[pin]]\nkind = \"" + kind + "\"\nzzz = 1\n"),
                PropertiesOf(one));
      if (kind != "technique") continue;
      Keys techniques;
      for (const auto& word : WordList<Technique>()) techniques.insert({word, "not " + word});
      EXPECT_EQ(WordsIn(one.at("properties").at("value")), techniques);
    }
  }
  Keys all;
  for (const auto& word : WordList<PinKind>()) all.insert(word);
  EXPECT_EQ(kinds, all);
}

}  // namespace
}  // namespace fitwright::files_test
