#!/usr/bin/env bash
# clang-tidy over the sources; exits 1 on any finding.
set -uo pipefail
cd "$(dirname "$0")/.."
cmake --preset dev >/dev/null || exit 3
find src -name '*.cc' | sort | xargs -P2 -n4 clang-tidy --quiet -p build/dev 2>/dev/null
