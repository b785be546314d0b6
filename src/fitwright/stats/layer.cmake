# Compiled once for each set of instructions, for which each reads itself again.
foreach(source patterns lane_math trials)
  set_source_files_properties(${folder}/${source}.cc PROPERTIES SKIP_UNITY_BUILD_INCLUSION ON)
endforeach()
