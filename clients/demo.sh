#!/usr/bin/env bash
# bash clients/demo.sh
# Plans the rewind of a can seamer's servo motor through a server on a free loopback port. Installs and builds what is
# missing first; the second run takes seconds.
set -euo pipefail
cd "$(dirname "$0")/.."

bash .ci/setup.sh build
# A build tree that also has the tests serves as it is; the objects are the same.
[[ -f build/build.ninja ]] || cmake --preset release -DCOILWRIGHT_TESTS=OFF
cmake --build build --target coilwright coilwrightd

log=$(mktemp)
build/bin/coilwrightd --port=0 --archive=none >"$log" &
server=$!
trap 'kill "$server" 2>/dev/null || true; rm -f "$log"' EXIT

address=""
for _ in $(seq 100); do
  address=$(sed -n 's/^coilwrightd listening on //p' "$log")
  if [[ -n $address ]] || ! kill -0 "$server" 2>/dev/null; then break; fi
  sleep 0.1
done
if [[ -z $address ]]; then
  echo "demo: coilwrightd did not say where it listens" >&2
  exit 1
fi

echo "demo: coilwright plan --server $address clients/demo/can-seamer-servo.json"
build/bin/coilwright plan --server "$address" clients/demo/can-seamer-servo.json

kill -TERM "$server"
status=0
wait "$server" || status=$?
if [[ $status -ne 0 ]]; then
  echo "demo: coilwrightd ended with status $status after SIGTERM" >&2
  exit 1
fi
echo "demo: the server has stopped cleanly"
