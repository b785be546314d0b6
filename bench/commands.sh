#!/usr/bin/env bash
# Wall times of the commands on the compressor: nothing remembered, again, and after one value of one sheet changed.
# Usage: bench/commands.sh [ROUNDS] (after ./demo, which builds). Prints seconds, and each as a share of the plan with nothing remembered.
set -euo pipefail
cd "$(dirname "$0")/.."
rounds="${1:-3}"
fitwright="$PWD/build/release/fitwright"
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

measure() {  # name command...
  local name="$1" start=$EPOCHREALTIME
  shift
  "$@" >"$work/out" 2>&1 || { cat "$work/out"; exit 1; }
  python3 -c "print('$name', $EPOCHREALTIME - $start, sep='\t')" >>"$work/times"
}

# sheet, what stands there, what it becomes
changes=(
  "front_housing|diameter = 22.5|diameter = 22.6"
  "body|depth = 14|depth = 14.5"
  "liner|diameter = 24|diameter = 24.1"
  "piston|depth = 2.7|depth = 2.8"
  "foot_left|diameter = 4.5|diameter = 4.6"
)

for ((round = 0; round < rounds; ++round)); do
  export XDG_CACHE_HOME="$work/cache$round"
  rm -rf "$work/machine"
  cp -r examples/compressor-core "$work/machine"
  rm -f "$work/machine/plan.json"
  measure "fitwright --version" "$fitwright" --version
  measure "check" "$fitwright" check "$work/machine"
  measure "plan, nothing remembered" "$fitwright" plan "$work/machine"
  measure "plan, again" "$fitwright" plan "$work/machine"
  measure "replay, again" "$fitwright" replay "$work/machine"
  measure "odds" "$fitwright" odds "$work/machine"
  measure "draw" "$fitwright" draw "$work/machine" --out "$work/drawings"
  for change in "${changes[@]}"; do
    IFS='|' read -r sheet from to <<<"$change"
    cp "$work/machine/parts/$sheet.toml" "$work/kept"
    sed -i "0,/^$from\\b/s//$to/" "$work/machine/parts/$sheet.toml"
    cmp -s "$work/kept" "$work/machine/parts/$sheet.toml" && { echo "no '$from' in $sheet"; exit 1; }
    measure "plan, $sheet: $to" "$fitwright" plan "$work/machine"
    cp "$work/kept" "$work/machine/parts/$sheet.toml"
  done
done

python3 - "$work/times" <<'PY'
import statistics, sys
times = {}
for line in open(sys.argv[1]):
    name, seconds = line.rstrip("\n").split("\t")
    times.setdefault(name, []).append(float(seconds))
cold = statistics.median(times["plan, nothing remembered"])
for name, seconds in times.items():
    s = statistics.median(seconds)
    print(f"{name:44s} {s:8.3f} s  ({min(seconds):.3f} to {max(seconds):.3f})  {s / cold:6.3f}")
PY
