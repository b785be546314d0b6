#!/usr/bin/env bash
# Runs each fuzzer for the given seconds from its corpus. Usage: scripts/fuzz.sh SECONDS
set -euo pipefail
cd "$(dirname "$0")/.."
seconds="${1:-60}"
cmake --preset asan >/dev/null
ninja -C build/asan fuzzers >/dev/null
for fuzzer in build/asan/*_fuzz; do
  name=$(basename "$fuzzer")
  mkdir -p "build/asan/corpus/$name"
  # A CAD file may keep its reader until the time that it has is over, and a solid takes the kernel seconds.
  timeout=10
  case "$name" in graph_fuzz | step_fuzz) timeout=120 ;; esac
  "$fuzzer" -max_total_time="$seconds" -timeout="$timeout" -rss_limit_mb=2048 -close_fd_mask=1 "build/asan/corpus/$name" "fuzz/corpus/$name"
done
