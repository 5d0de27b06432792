#!/usr/bin/env bash
# format.sh <clang-format>: every C++ file of the tree stands as .clang-format says.
set -euo pipefail
cd "$(dirname "$0")/../.."
mapfile -d '' files < <(find service clients tests \( -name '*.h' -o -name '*.cc' \) -not -path '*/node_modules/*' -print0)
"$1" --dry-run -Werror "${files[@]}"
echo "format: ${#files[@]} files"
