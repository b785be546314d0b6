// schemas/plan.schema.json against the model's closed lists and against plans drawn at random.
#include <fmt/format.h>
#include <gtest/gtest.h>
#include <stdlib.h>

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <regex>
#include <set>

#include "fitwright/files/plan_json.h"
#include "tests/files_json/random_plan.h"

namespace fitwright::files {
namespace {

using fitwright::testing::RandomPlan;
using nlohmann::json;

json LoadSchema() {
  std::ifstream file(std::string(FITWRIGHT_SOURCE_DIR) + "/schemas/plan.schema.json");
  return json::parse(file);
}

// The keywords of JSON Schema 2020-12 that the schema uses; a keyword not known here is a failure.
class Validator {
 public:
  explicit Validator(const json& root) : root_(root) {}

  // Empty when valid; else what is wrong first.
  std::string Check(const json& value, const json& schema, const std::string& at = "") const {
    for (const auto& [keyword, rule] : schema.items()) {
      const std::string fault = CheckKeyword(keyword, rule, value, schema, at);
      if (!fault.empty()) return fault;
    }
    return "";
  }

 private:
  bool Valid(const json& value, const json& schema) const { return Check(value, schema).empty(); }

  static bool HasType(const json& value, const std::string& type) {
    if (type == "object") return value.is_object();
    if (type == "array") return value.is_array();
    if (type == "string") return value.is_string();
    if (type == "integer") return value.is_number_integer();
    if (type == "number") return value.is_number();
    if (type == "boolean") return value.is_boolean();
    return type == "null" && value.is_null();
  }

  std::string CheckKeyword(const std::string& keyword, const json& rule, const json& value,
                           const json& schema, const std::string& at) const {
    static const std::set<std::string> kNotes = {"$schema", "$id", "$defs", "title", "description"};
    if (kNotes.count(keyword) > 0) return "";
    bool good = false;
    if (keyword == "$ref") {
      return Check(value, root_.at(json::json_pointer(rule.get<std::string>().substr(1))), at);
    } else if (keyword == "type") {
      good = HasType(value, rule.get<std::string>());
    } else if (keyword == "const") {
      good = value == rule;
    } else if (keyword == "enum") {
      good = std::find(rule.begin(), rule.end(), value) != rule.end();
    } else if (keyword == "minimum") {
      good = !value.is_number() || value >= rule;
    } else if (keyword == "maximum") {
      good = !value.is_number() || value <= rule;
    } else if (keyword == "minItems") {
      good = !value.is_array() || value.size() >= rule.get<std::size_t>();
    } else if (keyword == "maxItems") {
      good = !value.is_array() || value.size() <= rule.get<std::size_t>();
    } else if (keyword == "pattern") {
      good = !value.is_string() ||
             std::regex_search(value.get<std::string>(), std::regex(rule.get<std::string>()));
    } else if (keyword == "not") {
      good = !Valid(value, rule);
    } else if (keyword == "anyOf" || keyword == "oneOf") {
      const auto count = std::count_if(rule.begin(), rule.end(),
                                       [&](const json& one) { return Valid(value, one); });
      good = keyword == "oneOf" ? count == 1 : count >= 1;
    } else {
      return CheckMembers(keyword, rule, value, schema, at);
    }
    return good ? "" : fmt::format("{}: {} {}: {}", at, keyword, rule.dump(), value.dump());
  }

  std::string CheckMembers(const std::string& keyword, const json& rule, const json& value,
                           const json& schema, const std::string& at) const {
    if (keyword == "items") {
      for (const json& item : value) {
        const std::string fault = Check(item, rule, at + "[]");
        if (!fault.empty()) return fault;
      }
    } else if (keyword == "required") {
      for (const json& key : rule) {
        if (!value.contains(key.get<std::string>())) return at + ": missing " + key.dump();
      }
    } else if (keyword == "properties") {
      for (const auto& [key, inner] : rule.items()) {
        if (!value.contains(key)) continue;
        const std::string fault = Check(value.at(key), inner, at + "." + key);
        if (!fault.empty()) return fault;
      }
    } else if (keyword == "additionalProperties") {
      for (const auto& [key, member] : value.items()) {
        if (!schema.at("properties").contains(key)) return at + ": added " + key;
      }
    } else {
      return "keyword not known to this test: " + keyword;
    }
    return "";
  }

  const json& root_;
};

template <typename E>
void ExpectSameWords(const json& schema, const char* name) {
  json words = json::array();
  for (const auto& entry : WordsOf<E>::kAll) words.push_back(std::string(entry.word));
  EXPECT_EQ(schema.at("$defs").at(name).at("enum"), words) << name;
}

TEST(PlanSchema, ClosedListsAreTheModels) {
  const json schema = LoadSchema();
  ExpectSameWords<Operation>(schema, "operation");
  ExpectSameWords<Technique>(schema, "technique");
  ExpectSameWords<HoldingKind>(schema, "holding");
  ExpectSameWords<JointKind>(schema, "joint_kind");
  ExpectSameWords<RequirementKind>(schema, "requirement_kind");
  ExpectSameWords<ContactKind>(schema, "contact_kind");
  ExpectSameWords<FixtureRole>(schema, "fixture_role");
  ExpectSameWords<PathKind>(schema, "path_kind");
  ExpectSameWords<AimKind>(schema, "aim_kind");
  ExpectSameWords<PinKind>(schema, "pin_kind");
}

TEST(PlanSchema, EveryRandomPlanIsValid) {
  const json schema = LoadSchema();
  const Validator validator(schema);
  for (std::uint64_t seed = 1; seed <= 100; ++seed) {
    const Plan plan = RandomPlan(seed).Draw<Plan>();
    EXPECT_EQ(validator.Check(json::parse(PlanToJson(plan)), schema), "") << seed;
  }
}

// Every required key taken away, and a key added, in every object of a plan.
TEST(PlanSchema, RefusesMissingAndAddedKeys) {
  const json schema = LoadSchema();
  const Validator validator(schema);
  const json plan = json::parse(PlanToJson(RandomPlan(3).Draw<Plan>()));
  for (const json& key : schema.at("required")) {
    json less = plan;
    less.erase(key.get<std::string>());
    EXPECT_NE(validator.Check(less, schema), "") << key;
  }
  json more = plan;
  more["colour"] = 1;
  EXPECT_NE(validator.Check(more, schema), "");
  json word = plan;
  word["joints"] = json::parse(R"([{"name":"a","kind":"screwed_pattern","parts":[],
      "technique":"by_coordinates","alternatives":[]}])");
  EXPECT_EQ(validator.Check(word, schema), "");
  word["joints"][0]["technique"] = "by_guess";
  EXPECT_NE(validator.Check(word, schema), "");
}

TEST(PlanSchema, AgreesWithAnIndependentValidator) {
  if (std::system("python3 -c 'import jsonschema' >/dev/null 2>&1") != 0) {
    GTEST_SKIP() << "python3 with its package jsonschema is not here";
  }
  std::string folder = (std::filesystem::temp_directory_path() / "plan_schema_XXXXXX").string();
  ASSERT_NE(mkdtemp(folder.data()), nullptr);
  for (std::uint64_t seed = 1; seed <= 10; ++seed) {
    std::ofstream(fmt::format("{}/{}.json", folder, seed))
        << PlanToJson(RandomPlan(seed).Draw<Plan>());
  }
  const std::string program = fmt::format(
      "python3 -c 'import json, glob, jsonschema\n"
      "schema = json.load(open(\"{0}/schemas/plan.schema.json\"))\n"
      "checker = jsonschema.Draft202012Validator(schema)\n"
      "checker.check_schema(schema)\n"
      "names = glob.glob(\"{1}/*.json\")\n"
      "assert len(names) == 10\n"
      "for name in names: checker.validate(json.load(open(name)))'",
      FITWRIGHT_SOURCE_DIR, folder);
  EXPECT_EQ(std::system(program.c_str()), 0);
  std::filesystem::remove_all(folder);
}

}  // namespace
}  // namespace fitwright::files
