#!/usr/bin/env bash
# unit.sh <prefix>: systemd reads the unit without a complaint and finds little that the service could do beyond its job.
set -euo pipefail
unit=$1/lib/systemd/system/coilwrightd.service
# Of 10; what is left is the network and a user of its own.
greatest_exposure=1.5

said=$(systemd-analyze verify --man=no "$unit" 2>&1 | grep -F coilwrightd || true)
[[ -z $said ]] || { echo "$said" >&2; exit 1; }
report=$(systemd-analyze security --no-pager --offline=true "$unit")
exposure=$(sed -n 's/.*Overall exposure level for coilwrightd.service: \([0-9.]*\).*/\1/p' <<<"$report")
echo "exposure $exposure, accepted: at most $greatest_exposure"
awk -v found="$exposure" -v most="$greatest_exposure" 'BEGIN { exit !(found != "" && found <= most) }' ||
  { echo "$report" >&2; exit 1; }
