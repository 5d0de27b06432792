#!/usr/bin/env bash
# Run by debian_root.sh inside the fresh root: installs the packages, does the main job with each, removes them.
set -euo pipefail
fail() { echo "$*" >&2; exit 1; }
step() { echo "$SECONDS s: $*"; }
quietly() { "$@" >/tmp/said 2>&1 || { cat /tmp/said >&2; fail "failed: $*"; }; }
examples=/usr/share/doc/coilwright/examples
cd /tmp

quietly apt-get -q update
step "apt installs the command line alone"
quietly apt-get -q -y --no-install-recommends install /packages/coilwright_*.deb
[[ ! -e /usr/bin/coilwrightd ]] || fail "the command line brought the server"
coilwright plan $examples/can-seamer-servo.json | grep -F '2 x 0.80 mm grade 2' >/dev/null || fail "no plan"
coilwright sheet label $examples/can-seamer-servo.json --out label.pdf >/dev/null
[[ $(head -c 5 label.pdf) == %PDF- ]] || fail "no label"

step "apt installs the server"
quietly apt-get -q -y --no-install-recommends install /packages/coilwright-server_*.deb
[[ -L /etc/systemd/system/multi-user.target.wants/coilwrightd.service ]] || fail "the service is not enabled"
[[ $(stat -c %U:%a /var/lib/coilwright) == coilwright:750 ]] || fail "the folder of the archive"
[[ $(stat -c %U:%G:%a /etc/coilwright/tls) == root:coilwright:750 ]] || fail "the folder of certificates"
gzip -t /usr/share/man/man1/coilwright.1.gz /usr/share/man/man1/coilwright-plan.1.gz /usr/share/man/man8/coilwrightd.8.gz
quietly bash /packages/completions.sh /usr

# As the unit starts it: its user, its command line; on a free port, since this root shares the network of its host.
sed -i 's/^#--port=.*/--port=0/' /etc/coilwright/coilwrightd.flags
command=$(sed -n 's/^ExecStart=//p' /usr/lib/systemd/system/coilwrightd.service)
touch server.log
setpriv --reuid=coilwright --regid=coilwright --init-groups $command >server.log 2>&1 &
server=$!
for ((i = 0; i < 200; ++i)); do
  ! grep -q listening server.log || break
  sleep 0.05
done
address=$(sed -n 's/^coilwrightd listening on //p' server.log)
[[ $address == 127.0.0.1:* ]] || fail "not on loopback: $(<server.log)"
step "the server listens on $address"
coilwright plan $examples/can-seamer-servo.json --server "$address" | grep -F '2 x 0.80 mm grade 2' >/dev/null || fail "no plan from it"
coilwright limits --volts 230 --kw 0.4 --server "$address" | grep -F '1500 V ac' >/dev/null || fail "no limits from it"
coilwright sheet rewind $examples/can-seamer-servo.json --out sheet.pdf --server "$address" >/dev/null
coilwright sheet certificate $examples/can-seamer-readings.json --out certificate.pdf --server "$address" >/dev/null
for document in sheet.pdf certificate.pdf; do
  [[ $(head -c 5 $document) == %PDF- && $(stat -c %s $document) -gt 10000 ]] || fail "no $document"
done
coilwright archive save $examples/can-seamer-servo.json --by Ana --server "$address" >/dev/null
coilwright archive find --server "$address" | grep 'Harbour Lane' >/dev/null || fail "the archive does not find what it keeps"
coilwright archive backup backup.jsonl --server "$address" >/dev/null
kill -TERM $server
wait $server || fail "the server did not end cleanly: $(<server.log)"
[[ $(stat -c %U /var/lib/coilwright/archive.db) == coilwright ]] || fail "the archive belongs to somebody else"

step "remove, install again, purge"
echo a key >/etc/coilwright/tls/server.key
quietly apt-get -q -y remove coilwright-server
[[ ! -e /usr/bin/coilwrightd ]] || fail "still there"
[[ -s /var/lib/coilwright/archive.db ]] || fail "removing took the archive"
quietly apt-get -q -y --no-install-recommends install /packages/coilwright-server_*.deb
grep -qx -- --port=0 /etc/coilwright/coilwrightd.flags || fail "removing and installing took the settings"
coilwright archive find --archive /var/lib/coilwright/archive.db | grep 'Harbour Lane' >/dev/null || fail "the archive was not kept"
quietly apt-get -q -y purge coilwright-server
for gone in /var/lib/coilwright /etc/coilwright/coilwrightd.flags \
  /etc/systemd/system/multi-user.target.wants/coilwrightd.service; do
  [[ ! -e $gone && ! -L $gone ]] || fail "purging left $gone"
done
[[ -s /etc/coilwright/tls/server.key ]] || fail "purging took a key that was no part of the package"
# The backup is all that is left of it, and all that is needed.
coilwright archive restore backup.jsonl --archive restored.db >/dev/null
coilwright archive find --archive restored.db | grep 'Harbour Lane' >/dev/null || fail "the backup does not hold it"
quietly apt-get -q -y purge coilwright
[[ ! -e /usr/bin/coilwright && ! -e /usr/lib/coilwright && ! -e /usr/share/doc/coilwright ]] || fail "purging left files"
step "done"
