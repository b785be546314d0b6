#!/usr/bin/env bash
# Runs each fuzzer for the given seconds from its corpus. Usage: scripts/fuzz.sh SECONDS
set -euo pipefail
cd "$(dirname "$0")/.."
seconds="${1:-60}"
cmake --preset asan >/dev/null
ninja -C build/asan fuzzers >/dev/null
export LSAN_OPTIONS="suppressions=$PWD/scripts/lsan.supp"
# A finding ends the run; readers of foreign files that the kernel took down with it leave what they read there too.
mkdir -p build/asan/found
for fuzzer in build/asan/*_fuzz; do
  name=$(basename "$fuzzer")
  mkdir -p "build/asan/corpus/$name"
  # A CAD file may keep its reader until the time that it has is over, and a solid takes the kernel seconds.
  timeout=10
  case "$name" in graph_fuzz | step_fuzz) timeout=120 ;; esac
  "$fuzzer" -max_total_time="$seconds" -timeout="$timeout" -rss_limit_mb=2048 -close_fd_mask=1 -artifact_prefix="build/asan/found/$name-" "build/asan/corpus/$name" "fuzz/corpus/$name"
done
