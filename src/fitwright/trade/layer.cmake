# Tables: each file has rows and names of its own.
set_target_properties(fw_trade PROPERTIES UNITY_BUILD OFF)
