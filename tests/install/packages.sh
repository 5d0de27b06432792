#!/usr/bin/env bash
# packages.sh <cpack> <build folder> <work folder>: the two Debian packages, with what they need and hold.
set -euo pipefail
cpack=$1 build=$2 packages=$3/packages
fail() { echo "$*" >&2; exit 1; }

rm -rf "$packages"
mkdir -p "$packages"
"$cpack" --config "$build/CPackConfig.cmake" -B "$packages" >"$packages.log" || { cat "$packages.log" >&2; exit 1; }
client=$(echo "$packages"/coilwright_*.deb) server=$(echo "$packages"/coilwright-server_*.deb)
for package in "$client" "$server"; do
  [[ -f $package ]] || fail "no $package"
  dpkg-deb --field "$package" Package Version Depends
done
needs=$(dpkg-deb --field "$client" Depends)
# The last three belong to the library that is loaded by name, and to what it draws with.
for package in libc6 libgrpc++ libpangocairo-1.0-0 libharfbuzz-subset0 fonts-dejavu-core; do
  [[ $needs == *"$package"* ]] || fail "coilwright does not depend on $package: $needs"
done
version=$(dpkg-deb --field "$client" Version)
[[ $(dpkg-deb --field "$server" Depends) == *"coilwright (= $version)"* ]] || fail "coilwright-server goes with any coilwright"
[[ $(dpkg-deb --info "$server" conffiles) == /etc/coilwright/coilwrightd.flags ]] || fail "settings are no conffile"
# Everything belongs to root, and nobody else may write to it.
for package in "$client" "$server"; do
  dpkg-deb --contents "$package" | awk '$2 != "root/root" || $1 ~ /^.....w|^........w/ { print; bad = 1 } END { exit bad }' ||
    fail "$package: owners or modes"
done
