#!/usr/bin/env bash
# Installs what is missing of the distribution's packages. Usage: scripts/install.sh build|test|deep
set -euo pipefail

build=(g++ cmake ninja-build ccache lld pkg-config libocct-data-exchange-dev libtbb-dev libfontconfig-dev
       libtomlplusplus-dev nlohmann-json3-dev libfmt-dev libeigen3-dev libcli11-dev libmimalloc-dev
       libsqlite3-dev)
test=(libgtest-dev libgmock-dev librapidcheck-dev libbenchmark-dev librsvg2-bin python3)
deep=(clang libclang-rt-14-dev clang-tidy clang-format python3-openturns python3-numpy)

wanted=("${build[@]}")
[ "${1:-build}" = test ] && wanted+=("${test[@]}")
[ "${1:-build}" = deep ] && wanted+=("${test[@]}" "${deep[@]}")

missing=()
for package in "${wanted[@]}"; do
  dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q 'ok installed' || missing+=("$package")
done
[ ${#missing[@]} -eq 0 ] && exit 0

as_root=()
if [ "$(id -u)" -ne 0 ]; then as_root=(sudo); fi
echo "Installing: ${missing[*]}" >&2
export DEBIAN_FRONTEND=noninteractive
"${as_root[@]}" apt-get update -qq >&2
"${as_root[@]}" apt-get install -y -qq --no-install-recommends "${missing[@]}" >&2
