#!/usr/bin/env bash
# certificates.sh FOLDER [SECONDS]: what the suites of the clients in other languages secure a coilwrightd with, anew for
# each run. Each NAME is a NAME.pem and a NAME.key in the folder:
#   authority   signs the others; stranger signs intruder alone, and nobody trusts it
#   server      of the service at 127.0.0.1 or localhost; elsewhere is of one at another name
#   office, bench-3, foreman   clients that roles.json gives the roles to read, to record and to sign off
#   visitor     a client that it does not list; expired was bench-3 until an hour ago
#   fading      as server, until SECONDS from now (5): a coilwrightd does not start with one that is out of date
# The suites in C++ make theirs in memory (tests/calls/authority.h).
set -euo pipefail
if [[ $# -lt 1 || $# -gt 2 || ! -d ${1:-} ]]; then
  echo "usage: certificates.sh FOLDER [SECONDS]" >&2
  exit 2
fi
cd "$1"
umask 077
exec >openssl.log 2>&1
trap 'cat openssl.log >/dev/stderr' ERR

key=(-newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes)
for authority in authority stranger; do
  openssl req -x509 "${key[@]}" -days 2 -subj "/CN=$authority" -keyout $authority.key -out $authority.pem
done

# `openssl x509` counts in days; `openssl ca` takes a time to the second, and keeps books that nobody reads.
cat >ca.conf <<'END'
[ca]
default_ca = books
[books]
database = books.txt
new_certs_dir = .
rand_serial = yes
default_md = sha256
policy = names
[names]
commonName = supplied
END

# issue NAME AUTHORITY COMMON_NAME BEGIN END EXTENSIONS
issue() {
  openssl req "${key[@]}" -subj "/CN=$3" -keyout "$1.key" -out "$1.csr"
  : >books.txt
  printf '%s\n' "$6" >extensions
  openssl ca -batch -config ca.conf -notext -in "$1.csr" -cert "$2.pem" -keyfile "$2.key" -extfile extensions \
    -startdate "$(date -u -d "$4" +%Y%m%d%H%M%SZ)" -enddate "$(date -u -d "$5" +%Y%m%d%H%M%SZ)" -out "$1.pem"
}

server=$'extendedKeyUsage=serverAuth\nsubjectAltName='
client=extendedKeyUsage=clientAuth
issue server authority server '1 hour ago' 'tomorrow' "${server}IP:127.0.0.1,DNS:localhost"
issue elsewhere authority server '1 hour ago' 'tomorrow' "${server}DNS:winding.harbour-lane.example"
for name in office bench-3 foreman visitor; do
  issue $name authority $name '1 hour ago' 'tomorrow' $client
done
issue expired authority bench-3 '2 hours ago' '1 hour ago' $client
issue intruder stranger bench-3 '1 hour ago' 'tomorrow' $client
cat >roles.json <<'END'
{
  "clients": [
    { "common_name": "office", "role": "ACCESS_ROLE_READ" },
    { "common_name": "bench-3", "role": "ACCESS_ROLE_RECORD" },
    { "common_name": "foreman", "role": "ACCESS_ROLE_SIGN_OFF" }
  ]
}
END
issue fading authority server '1 hour ago' "${2:-5} seconds" "${server}IP:127.0.0.1"
