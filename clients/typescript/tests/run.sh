#!/usr/bin/env bash
# run.sh <coilwrightd>: the tests of this client, as CTest runs them. What npm installs stays beside the sources, ignored by git.
set -euo pipefail
cd "$(dirname "$0")/.."
if ! cmp -s package-lock.json node_modules/installed.json; then
  if ! npm ci --ignore-scripts; then
    echo "typescript: npm could not install what package-lock.json names; is the npm registry reachable?" >&2
    exit 1
  fi
  cp package-lock.json node_modules/installed.json
fi
COILWRIGHTD=$1 npm test
