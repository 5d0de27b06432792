#!/usr/bin/env bash
# bash tests/bench/run.sh [BUILD]
# Builds and runs every benchmark and prints the table of docs/performance.md; writes nothing beside the build tree.
# BUILD is a configured build tree with tests; build/ by default. Takes about a minute once built; the machine should
# be idle.
set -euo pipefail
cd "$(dirname "$0")/../.."
build=${1:-build}

[[ -f $build/build.ninja || $build != build ]] || cmake --preset release >/dev/null
cmake --build "$build" --target bench_engine bench_calls bench_streams bench_start bench_bare_echo coilwrightd coilwright >/dev/null

# engine <filter>: one line "median low high" per benchmark of the name, of processor time over nine repetitions.
engine() {
  "$build/tests/bench_engine" --benchmark_filter="^$1\$" --benchmark_format=csv --benchmark_min_time=0.05 \
    --benchmark_repetitions=9 2>/dev/null | tr -d '"' |
    awk -F, -v name="$1" '
      $1 !~ /_(median|mean|stddev|cv)$/ && $4 ~ /^[0-9.e+-]+$/ { if (!n++ || $4 < low) low = $4; if ($4 > high) high = $4 }
      $1 ~ /_median$/ { median = $4 }
      END { if (!n) { print "no benchmark " name > "/dev/stderr"; exit 1 } printf "%.3g %.3g %.3g\n", median, low, high }'
}
row() { # <what> <budget> <unit> <filter>
  local median low high
  read -r median low high < <(engine "$4")
  echo "| $1 | $2 | $median ($low to $high) $3 |"
}
over() { # <filter> <filter>: ratio of the medians
  awk -v a="$(engine "$1")" -v b="$(engine "$2")" 'BEGIN { split(a, x, " "); split(b, y, " "); printf "%.0f", x[1] / y[1] }'
}

echo "| what | budget | measured |"
echo "|---|---|---|"
"$build/tests/bench_calls" "$build/bin/coilwrightd" "$build/tests/bench_bare_echo" 2>/dev/null
"$build/tests/bench_streams" "$build/bin/coilwrightd" 2>/dev/null
row "the body of that call alone" "" µs LimitsBody
row "rewind plan without its strand search" "at most 1 ms" ms PlanWithoutSearch
row "rewind plan with its strand search" "at most 11 ms" ms PlanWithSearch
row "record check of a record that fails" "at most 50 ms" ms Check/12
row "the same, 720 slots and 120 poles" "at most 50 ms" ms Check/720
for slots in 36 72 144 360 720; do
  row "a changed winding without its strand search, $slots slots" "linear in slots" µs "Alter/$slots"
done
for slots in 36 72 144 360 720; do
  row "what the coils can serve without a rewind, $slots slots" "linear in slots" µs "Reconnect/$slots"
done
row "strand search, full catalogue" "at most 10 ms" ms Search/Catalogue
row "strand search, one reel of each size, tight slot" "at most 10 ms" ms Search/TightSlot
echo "| strand search over brute force: full catalogue, tight slot | at least 50 x faster |" \
  "$(over BruteForce/Catalogue/iterations:1 Search/Catalogue) x, $(over BruteForce/TightSlot/iterations:1 Search/TightSlot) x |"
row "layout in a core: coils, axes, field, factors and waves, 72 slots, harmonics to 100" "at most 100 µs" µs Layout/72/100
for size in 36/100 144/100 360/100 720/100 72/50 72/200 72/500 72/1000 720/1000; do
  row "the same, slots/harmonics $size" "linear" µs "Layout/$size"
done
row "connection list of 72 slots, made and followed end by end" "" µs Connections/72
row "the same, 720 slots" "" µs Connections/720
row "two layouts of 72 slots compared" "" µs Compare/72/4
row "the same, 720 slots and 120 poles" "" µs Compare/720/120
for words in 'wire show "AWG 18 heavy"' 'limits --volts 230' 'plan clients/demo/can-seamer-servo.json'; do
  eval "\"$build/tests/bench_start\" 40 \"$build/tests/bench_bare_echo\" \"$build/bin/coilwright\" $words"
done
