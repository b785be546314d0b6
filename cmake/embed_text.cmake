# cmake -DINPUT=... -DOUTPUT=... -DSYMBOL=... -P embed_text.cmake
# Writes a .cc that holds the text file as fitwright::files::SYMBOL.
file(READ "${INPUT}" text)
string(FIND "${text}" ")fw_text\"" clash)
if(NOT clash EQUAL -1)
  message(FATAL_ERROR "${INPUT} holds the end mark of its own literal")
endif()
file(WRITE "${OUTPUT}" "#include <string_view>\n\nnamespace fitwright::files {\n"
     "extern const std::string_view ${SYMBOL};\n"
     "const std::string_view ${SYMBOL} = R\"fw_text(${text})fw_text\";\n"
     "}  // namespace fitwright::files\n")
