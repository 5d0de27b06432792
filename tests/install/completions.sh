#!/usr/bin/env bash
# completions.sh <prefix>: what bash offers for lines that are not finished yet.
set -euo pipefail
prefix=$1
fail() { echo "$*" >&2; exit 1; }
# As a terminal would have it, where a word that is not there is empty.
set +eu
source "$prefix/share/bash-completion/completions/coilwright"
source "$prefix/share/bash-completion/completions/coilwrightd"

# offers <words typed, the last one not finished> <offered>...: exactly these; "..." at the end for these among others.
offers() {
  local typed=$1 among=false function word
  shift
  read -ra COMP_WORDS <<<"$typed"
  [[ $typed == *' ' ]] && COMP_WORDS+=('')
  COMP_CWORD=$((${#COMP_WORDS[@]} - 1))
  function=$(complete -p "${COMP_WORDS[0]}" | sed 's/.*-F \([a-z_]*\).*/\1/')
  "$function"
  [[ ${*: -1} == ... ]] && among=true && set -- "${@:1:$#-1}"
  for word in "$@"; do
    [[ " ${COMPREPLY[*]} " == *" $word "* ]] || fail "\"$typed\": offers ${COMPREPLY[*]:-nothing}, wanted: $word"
  done
  $among || [[ ${#COMPREPLY[@]} == "$#" ]] || fail "\"$typed\": offers ${COMPREPLY[*]}, wanted: $*"
}

offers 'coilwright pl' plan
offers 'coilwright ' plan limits help version ...
offers 'coilwright sheet ' rewind label certificate
offers 'coilwright limits st' stage
offers 'coilwright limits --vo' --volts
offers 'coilwright limits --kind ' random-wound form-wound ...
offers 'coilwright limits --kind ran' random-wound
# What --flag=value is to bash.
offers 'coilwright limits --kind = ran' random-wound
offers 'coilwright limits stage --machine ' permanent-magnet induction ...
offers 'coilwright limits --units ' si shop
offers 'coilwright limits --volts '
offers 'coilwright limits --nothing'
offers 'coilwright sheet rewind --paper l' letter
offers 'coilwright archive find --ser' --server --server-name
offers 'coilwright call RuleService/' RuleService/ListRules RuleService/GetRule
offers 'coilwright help sh' sheet
offers 'coilwrightd --log' --log=
offers 'coilwrightd --log =' calls errors none
offers 'coilwrightd --log = c' calls
offers 'coilwrightd --plain' --plain_text_beyond_loopback

folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
cd "$folder"
touch motor.json 'motor two.json'
offers 'coilwright plan mot' motor.json ...
[[ ${#COMPREPLY[@]} == 2 && ${COMPREPLY[*]} == *'motor two.json'* ]] || fail "files: ${COMPREPLY[*]}"
offers 'coilwright limits stage --record motor.' motor.json
offers 'coilwright sheet rewind -o motor.' motor.json
offers 'coilwrightd --roles = motor.' motor.json

# A word that is offered is accepted.
for word in $(_coilwright_values 'limits --kind'); do
  "$prefix/bin/coilwright" limits --volts 230 --kind "$word" >/dev/null 2>"$prefix.refused" ||
    ! grep -q -- '--kind' "$prefix.refused" || fail "offered and refused: $(<"$prefix.refused")"
done
