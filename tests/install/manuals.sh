#!/usr/bin/env bash
# manuals.sh <prefix>: the formatter has nothing to say about any page, each shows what it should, and none is missing.
set -euo pipefail
prefix=$1
fail() { echo "$*" >&2; exit 1; }

# page <file> <section headings>...: without a warning, and with these.
page() {
  local file=$1 shown
  shift
  shown=$(MANWIDTH=80 MANROFFOPT=-c man --warnings -E UTF-8 -l "$file" 2>"$prefix.warnings" | col -bx)
  [[ ! -s $prefix.warnings ]] || fail "$file: $(<"$prefix.warnings")"
  for heading in "$@"; do
    grep -qx "$heading" <<<"$shown" || fail "$file: no $heading"
  done
  printf '%s\n' "$shown" >"$prefix.page"
}

count=0
for file in "$prefix"/share/man/man1/coilwright-*.1; do
  page "$file" NAME SYNOPSIS CAUTIONS 'SEE ALSO'
  count=$((count + 1))
done
page "$prefix/share/man/man1/coilwright.1" NAME SYNOPSIS DESCRIPTION COMMANDS OPTIONS 'EXIT STATUS' FILES ENVIRONMENT \
  EXAMPLES CAUTIONS 'SEE ALSO'
# A page for every first word that the program knows; its help names each command in a line of its own.
words=$("$prefix/bin/coilwright" help | sed -n '/^usage/,/^Flags/p' | sed -n 's/^  \([a-z]\+\).*/\1/p' | grep -vx help | sort -u)
[[ $(wc -l <<<"$words") == "$count" ]] || fail "$count pages for the commands $words"
for word in $words; do
  [[ -f $prefix/share/man/man1/coilwright-$word.1 ]] || fail "no page for $word"
done

page "$prefix/share/man/man1/coilwright-archive.1" COMMANDS EXAMPLES
grep -q 'coilwright archive backup .*jsonl' "$prefix.page" || fail "the page of archive shows no backup"
page "$prefix/share/man/man1/coilwright-limits.1" OPTIONS EXAMPLES
grep -qF -- '--volts V' "$prefix.page" || fail "the page of limits does not name --volts"
page "$prefix/share/man/man8/coilwrightd.8" NAME SYNOPSIS DESCRIPTION OPTIONS SIGNALS 'EXIT STATUS' FILES ENVIRONMENT \
  EXAMPLES CAUTIONS 'SEE ALSO'
# Every flag of the server is on its page and in its file of flags, but for those of every program with Abseil's flags.
flags=$({ "$prefix/bin/coilwrightd" --help || true; } | sed -n 's/^ *--\([a-z_]\+\) (.*/\1/p' |
  grep -vxE 'flagfile|fromenv|tryfromenv|undefok')
[[ $(wc -w <<<"$flags") -ge 15 ]] || fail "flags of the server: $flags"
for flag in $flags; do
  grep -qE -- "^ +--$flag( |=|$)" "$prefix.page" || fail "the page of the server does not name --$flag"
  grep -qE -- "^#?--$flag(=|$)" "$prefix/etc/coilwright/coilwrightd.flags" || fail "the file of flags does not name --$flag"
done
echo "manual pages: $((count + 2))"
