#!/usr/bin/env bash
# proto_lint.sh <build directory>: buf lint over proto/, with buf installed into the build directory.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
work=$1/lint
mkdir -p "$work"
if ! cmp -s "$here/package-lock.json" "$work/node_modules/installed.json"; then
  cp "$here/package.json" "$here/package-lock.json" "$here/.npmrc" "$work"
  if ! (cd "$work" && npm ci); then
    echo "proto lint: npm could not install buf; is the npm registry reachable?" >&2
    exit 1
  fi
  cp "$here/package-lock.json" "$work/node_modules/installed.json"
fi
cd "$here/../../proto"
"$work/node_modules/.bin/buf" lint
echo "proto lint: clean"
