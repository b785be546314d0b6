#!/usr/bin/env bash
# Installs what is missing: the distribution's packages, and the page's own as web/package-lock.json pins them.
# Usage: scripts/install.sh build|test|deep
set -euo pipefail

build=(g++ cmake ninja-build ccache lld pkg-config libocct-data-exchange-dev libtbb-dev libfontconfig-dev
       libtomlplusplus-dev nlohmann-json3-dev libfmt-dev libeigen3-dev libcli11-dev libmimalloc-dev
       libcpp-httplib-dev libssl-dev libhwy-dev libsqlite3-dev)
test=(libgtest-dev libgmock-dev librapidcheck-dev libbenchmark-dev librsvg2-bin python3 chromium)
deep=(clang libclang-rt-14-dev clang-tidy clang-format python3-openturns python3-numpy)

wanted=("${build[@]}")
[ "${1:-build}" = test ] && wanted+=("${test[@]}")
[ "${1:-build}" = deep ] && wanted+=("${test[@]}" "${deep[@]}")

# Another source of node than the distribution's will do.
command -v node >/dev/null || wanted+=(nodejs)
command -v npm >/dev/null || wanted+=(npm)

missing=()
for package in "${wanted[@]}"; do
  dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q 'ok installed' || missing+=("$package")
done

if [ ${#missing[@]} -gt 0 ]; then
  as_root=()
  if [ "$(id -u)" -ne 0 ]; then as_root=(sudo); fi
  echo "Installing: ${missing[*]}" >&2
  export DEBIAN_FRONTEND=noninteractive
  "${as_root[@]}" apt-get update -qq >&2
  "${as_root[@]}" apt-get install -y -qq --no-install-recommends "${missing[@]}" >&2
fi

# The page's packages, once for each lock file; without them all but the page is built.
cd "$(dirname "$0")/../web"
stamp="node_modules/.fitwright-$(sha256sum package-lock.json | cut -c1-16)"
[ -f "$stamp" ] && exit 0
echo "Installing the page's packages" >&2
if npm ci --ignore-scripts --no-audit --no-fund >&2; then
  touch "$stamp"
else
  echo "They could not be had: the program is built without its page, and says so." >&2
  [ "${1:-build}" = build ]
fi
