#!/usr/bin/env bash
# tidy.sh <run-clang-tidy> <build directory>: the rooms and the clients pass .clang-tidy; generated code and tests are
# left out. Clang does not read what the compiler of the build precompiled, so every file is seen with what it includes.
set -euo pipefail
root=$(cd "$(dirname "$0")/../.." && pwd)
log=$2/tidy.log
mkdir -p "$2/tidy"
sed -E 's/-Winvalid-pch -include [^ ]+//' "$2/compile_commands.json" >"$2/tidy/compile_commands.json"
if ! "$1" -quiet -j 2 -p "$2/tidy" "^$root/(service|clients)/" >"$log" 2>&1; then
  sed -i 's/\x1b\[[0-9;]*m//g' "$log"
  grep -E '(warning|error|note):' "$log" | sort -u || cat "$log"
  exit 1
fi
count=$(grep -c '^clang-tidy' "$log")
echo "tidy: $count files"
