#!/usr/bin/env bash
# prefix.sh <cmake> <build folder> <work folder> <source folder>: cmake --install into a prefix of its own and below a
# DESTDIR; the programs there do their job, and settings that somebody wrote outlive a second installation.
set -euo pipefail
cmake=$1 build=$2 prefix=$3/prefix root=$3/destdir source=$4
fail() { echo "$*" >&2; exit 1; }

rm -rf "$prefix" "$root"
"$cmake" --install "$build" --prefix "$prefix" >/dev/null
for file in bin/coilwright bin/coilwrightd lib/coilwright/libcoilwright_canvas.so lib/systemd/system/coilwrightd.service \
  etc/coilwright/coilwrightd.flags share/man/man1/coilwright.1 share/man/man1/coilwright-plan.1 \
  share/man/man8/coilwrightd.8 share/bash-completion/completions/coilwright \
  share/bash-completion/completions/coilwrightd share/coilwright/proto/coilwright/v1/winding.proto \
  share/doc/coilwright/LICENSE share/doc/coilwright/docs/installing.md share/doc/coilwright/examples/can-seamer-servo.json; do
  [[ -f $prefix/$file ]] || fail "not installed: $file"
done
[[ -d $prefix/etc/coilwright/tls ]] || fail "not installed: etc/coilwright/tls"
[[ $(find "$prefix/share/coilwright/proto" -name '*.proto' | wc -l) == $(find "$source/proto" -name '*.proto' | wc -l) ]] ||
  fail "not every file of the contract is installed"

# Nothing of the build folder is needed: the library that draws is found beside the program, wherever that was moved to.
mv "$prefix" "$prefix.moved"
moved=$prefix.moved/bin/coilwright examples=$prefix.moved/share/doc/coilwright/examples
"$moved" plan "$examples/can-seamer-servo.json" >"$prefix.plan"
grep -qF '2 x 0.80 mm grade 2' "$prefix.plan" || fail "no plan from the installed program"
"$moved" sheet rewind "$examples/can-seamer-servo.json" --force --out "$prefix.pdf" >/dev/null
[[ $(head -c 5 "$prefix.pdf") == %PDF- ]] || fail "no document from the installed program"
readelf -d "$moved" "$prefix.moved/bin/coilwrightd" "$prefix.moved"/lib/coilwright/*.so | grep -E 'R(UN)?PATH' &&
  fail "a program looks for libraries where it was built"
mv "$prefix.moved" "$prefix"

# The server takes the file of flags that was installed; its archive is named there, and the last of two flags wins.
rm -f "$prefix.log"
touch "$prefix.log"
"$prefix/bin/coilwrightd" --flagfile="$prefix/etc/coilwright/coilwrightd.flags" --archive=none --port=0 >"$prefix.log" &
server=$!
trap 'kill $server 2>/dev/null || true' EXIT
for ((i = 0; i < 200; ++i)); do
  grep -q listening "$prefix.log" && break
  sleep 0.05
done
port=$(sed -n 's/^coilwrightd listening on 127.0.0.1://p' "$prefix.log")
"$prefix/bin/coilwright" limits --volts 230 --server "127.0.0.1:$port" | grep -F '1500 V ac' >/dev/null || fail "no answer of the server"
kill -TERM $server
wait $server || fail "the server did not end cleanly"

# Below /usr settings are in /etc, and what stands there stays.
DESTDIR=$root "$cmake" --install "$build" --prefix /usr >/dev/null
grep -qxF 'ExecStart=/usr/bin/coilwrightd --flagfile=/etc/coilwright/coilwrightd.flags' \
  "$root/usr/lib/systemd/system/coilwrightd.service" || fail "the unit names another program or file"
echo '--log=calls' >"$root/etc/coilwright/coilwrightd.flags"
DESTDIR=$root "$cmake" --install "$build" --prefix /usr >/dev/null
[[ $(<"$root/etc/coilwright/coilwrightd.flags") == --log=calls ]] || fail "an installation wrote over the settings"
rm -rf "$root"
