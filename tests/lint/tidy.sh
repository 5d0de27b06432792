#!/usr/bin/env bash
# tidy.sh <run-clang-tidy> <build directory>: the rooms and the clients pass .clang-tidy; generated code and tests are
# left out.
set -euo pipefail
root=$(cd "$(dirname "$0")/../.." && pwd)
log=$2/tidy.log
if ! "$1" -quiet -j 2 -p "$2" "^$root/(service|clients)/" >"$log" 2>&1; then
  sed -i 's/\x1b\[[0-9;]*m//g' "$log"
  grep -E '(warning|error|note):' "$log" | sort -u || cat "$log"
  exit 1
fi
count=$(grep -c '^clang-tidy' "$log")
echo "tidy: $count files"
