// Whether a program's answer is as its schema says.
#pragma once

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cstdlib>
#include <nlohmann/json.hpp>
#include <string>

#include "tests/store/samples.h"

namespace fitwright::workshop_test {

namespace fs = std::filesystem;

inline void ExpectValid(const std::string& schema, const std::string& text) {
  if (std::system("python3 -c 'import jsonschema' >/dev/null 2>&1") != 0) return;
  const store_test::TempFolder folder;
  store_test::WriteBytes(folder.path() / "one.json", text);
  const std::string program = fmt::format(
      "python3 -c 'import json, jsonschema\n"
      "schema = json.load(open(\"{}/schemas/{}.schema.json\"))\n"
      "jsonschema.Draft202012Validator.check_schema(schema)\n"
      "jsonschema.Draft202012Validator(schema).validate(json.load(open(\"{}\")))'",
      FITWRIGHT_SOURCE_DIR, schema, (folder.path() / "one.json").string());
  EXPECT_EQ(std::system(program.c_str()), 0) << text;
}

// Every key that the schema requires is in the document, and no other, as far down as the schema
// says.
inline void ExpectKeys(const nlohmann::json& schema, const nlohmann::json& value,
                       const std::string& at) {
  if (schema.contains("properties") && value.is_object()) {
    for (const nlohmann::json& key : schema.at("required"))
      EXPECT_TRUE(value.contains(key.get<std::string>())) << at << key;
    for (const auto& [key, member] : value.items()) {
      ASSERT_TRUE(schema.at("properties").contains(key)) << at << key;
      ExpectKeys(schema.at("properties").at(key), member, at + key + ".");
    }
  }
  if (schema.contains("items") && value.is_array()) {
    for (const nlohmann::json& one : value) ExpectKeys(schema.at("items"), one, at + "[].");
  }
}
inline void ExpectAsSchema(const std::string& name, const std::string& text) {
  const nlohmann::json schema = nlohmann::json::parse(
      store_test::BytesOf(fs::path(FITWRIGHT_SOURCE_DIR) / "schemas" / (name + ".schema.json")));
  const nlohmann::json value = nlohmann::json::parse(text, nullptr, false);
  ASSERT_FALSE(value.is_discarded()) << text;
  EXPECT_EQ(value.at("schema"), schema.at("properties").at("schema").at("const"));
  ExpectKeys(schema, value, "");
  ExpectValid(name, text);
}

}  // namespace fitwright::workshop_test
