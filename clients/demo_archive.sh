#!/usr/bin/env bash
# bash clients/demo_archive.sh [FILE]
# Loads the invented archive of the Harbour Lane cannery (clients/demo/archive: 45 recorded windings, 15 jobs, nine years of
# readings) into FILE, a file in a temporary folder that is taken away again where none is given, and shows what it is for.
# Installs and builds what is missing first. COILWRIGHT names a program built elsewhere.
set -euo pipefail
cd "$(dirname "$0")/.."

if [[ -z ${COILWRIGHT:-} ]]; then
  bash .ci/setup.sh build
  [[ -f build/build.ninja ]] || cmake --preset release -DCOILWRIGHT_TESTS=OFF
  cmake --build build --target coilwright
  COILWRIGHT=build/bin/coilwright
fi
demo=clients/demo/archive
if [[ $# -gt 0 ]]; then
  archive=$1
  if [[ -e $archive ]]; then
    echo "demo: $archive is there already; give the name of a new file" >&2
    exit 1
  fi
else
  folder=$(mktemp -d)
  trap 'rm -rf "$folder"' EXIT
  archive=$folder/archive.db
fi

# A record that does not check is kept all the same, and the command says so with status 5.
keep() {
  local status=0
  "$COILWRIGHT" "$@" --archive "$archive" >/dev/null || status=$?
  if [[ $status -ne 0 && $status -ne 5 ]]; then
    echo "demo: coilwright $* ended with status $status" >&2
    exit 1
  fi
}
rows() { grep -v '^#' "$demo/$1" | tail -n +2; }

echo "demo: loading $(rows windings.tsv | wc -l) windings and $(rows jobs.tsv | wc -l) jobs"
while IFS=$'\t' read -r winding taken_down by _; do
  keep archive save "$demo/windings/$winding.json" --id "$winding" --taken-down "$taken_down" --by "$by" --request-id "demo-$winding"
done < <(rows windings.tsv)
while IFS=$'\t' read -r job winding title customer opened by; do
  keep job open --id "$job" --winding "$winding" --title "$title" --customer "$customer" --opened "$opened" --by "$by" --request-id "demo-$job"
done < <(rows jobs.tsv)
number=0
while IFS=$'\t' read -r job when stage readings by; do
  number=$((number + 1))
  at=()
  # shellcheck disable=SC2086  # the words of the command, as the list has them
  if [[ $stage == plan ]]; then
    keep job plan "$job" $readings --by "$by" --request-id "demo-step-$number"
  elif [[ $stage == sign-off ]]; then
    keep job sign-off "$job" --person "$by" --qualification "$readings" --request-id "demo-step-$number"
  elif [[ $readings == - ]]; then
    [[ $when == now ]] || at=(--time "$when")
    keep job stage "$job" "$stage" "${at[@]}" --by "$by" --request-id "demo-step-$number"
  else
    [[ $when == now ]] || at=(--taken "$when")
    keep job readings "$job" $readings --stage "$stage" "${at[@]}" --by "$by" --request-id "demo-step-$number"
  fi
done < <(rows steps.tsv)

show() {
  printf '\n$ coilwright %s\n' "$*"
  "$COILWRIGHT" "$@" --archive "$archive" || true
}
show archive find retort pump
show archive find --slots 36 --bore 95..105mm --kw 2..5
show archive near clients/demo/can-seamer-servo.json --most 3
show archive compare exhaust-fan-1 exhaust-fan-2
# The machine was rewound in 2016: only what was read since, in service, is one line.
show job trend retort-pump-1-rounds --stages in-service
show job trend sea-water-pump-rounds --stages in-service
show job trend lid-feeder-rounds --stages in-service
# One job from intake to release.
show job show exhaust-fan-2-rewind
show job history exhaust-fan-2-rewind
# Two of the records do not explain what was measured: one counted over two coils, one gauged over the film.
show archive find --verdict explained
show archive show effluent-pump
show archive show waste-auger
