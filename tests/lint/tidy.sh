#!/usr/bin/env bash
# tidy.sh <run-clang-tidy> <build directory>: the rooms and the clients pass .clang-tidy; generated code and tests are
# left out. Several files of a room are read as one: nearly all the time goes into what they include.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
log=$2/tidy.log
count=$(/usr/bin/python3 "$here/together.py" "$2/compile_commands.json" "$2/tidy")
if ! "$1" -quiet -j 2 -p "$2/tidy" >"$log" 2>&1; then
  sed -i 's/\x1b\[[0-9;]*m//g' "$log"
  grep -E '(warning|error|note):' "$log" | sort -u || cat "$log"
  exit 1
fi
echo "tidy: $count files"
