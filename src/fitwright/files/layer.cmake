# The default shop goes into the library as text.
foreach(pair "default_shop.toml kDefaultShopText" "spreads.csv kSpreadsText")
  separate_arguments(pair)
  list(GET pair 0 file)
  list(GET pair 1 symbol)
  set(input ${CMAKE_SOURCE_DIR}/data/${file})
  set(output ${CMAKE_BINARY_DIR}/generated/${symbol}.cc)
  add_custom_command(OUTPUT ${output}
    COMMAND ${CMAKE_COMMAND} -DINPUT=${input} -DOUTPUT=${output} -DSYMBOL=${symbol}
            -P ${CMAKE_SOURCE_DIR}/cmake/embed_text.cmake
    DEPENDS ${input} ${CMAKE_SOURCE_DIR}/cmake/embed_text.cmake VERBATIM)
  set_source_files_properties(${output} PROPERTIES SKIP_UNITY_BUILD_INCLUSION ON)
  target_sources(fw_files PRIVATE ${output})
endforeach()
