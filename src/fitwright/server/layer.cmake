# The page goes into the library as text: bundled from web/ by node, else a line that says what is missing.
set(web ${CMAKE_SOURCE_DIR}/web)
set(page ${CMAKE_BINARY_DIR}/generated/page_files.cc)
find_program(FITWRIGHT_NODE NAMES node nodejs)
file(GLOB_RECURSE page_sources CONFIGURE_DEPENDS ${web}/core/* ${web}/drawing/* ${web}/features/* ${web}/app/*)
if(FITWRIGHT_NODE AND EXISTS ${web}/node_modules/esbuild)
  add_custom_command(OUTPUT ${page}
    COMMAND ${FITWRIGHT_NODE} ${web}/build.mjs ${page}
    DEPENDS ${page_sources} ${web}/build.mjs ${web}/package-lock.json ${web}/tsconfig.json VERBATIM)
else()
  message(WARNING "The page is left out: it needs node and what web/package-lock.json names. "
                  "scripts/install.sh brings both; then configure again. All else is built.")
  configure_file(${web}/page_left_out.cc.in ${page} COPYONLY)
endif()
set_source_files_properties(${page} PROPERTIES SKIP_UNITY_BUILD_INCLUSION ON)
target_sources(fw_server PRIVATE ${page})
