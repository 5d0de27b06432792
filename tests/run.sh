#!/usr/bin/env bash
# bash tests/run.sh [--sanitizers]
# Installs what is missing, builds, and runs every test. With --sanitizers, or in CI, the tests that sanitizers serve run
# again under address and undefined-behaviour checks, and those with threads under thread checks. The last line is
# CTest's count.
set -euo pipefail
cd "$(dirname "$0")/.."

sanitizers=${CI:-false}
case "${1:-}" in
  --sanitizers) sanitizers=true ;;
  "") ;;
  *) echo "usage: bash tests/run.sh [--sanitizers]" >&2; exit 2 ;;
esac

# suite <preset>: configure, build, test; CTest's output is kept beside the build for the closing lines.
suite() {
  echo "== $1"
  cmake --preset "$1" -DCOILWRIGHT_TESTS=ON
  cmake --build --preset "$1"
  ctest --preset "$1" | tee "build/ctest-$1.log"
}

bash .ci/setup.sh tests
mkdir -p build
suite release
if [[ $sanitizers == true ]]; then
  suite asan
  suite tsan
  echo "== asan, tsan, release"
  grep -h 'tests passed' build/ctest-asan.log build/ctest-tsan.log build/ctest-release.log
fi
