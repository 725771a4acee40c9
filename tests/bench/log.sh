#!/bin/sh
# A long console log read, against ripgrep finding the same addresses in it, and
# against only reading the file. PM_BENCH_MIB=16 shortens it.
set -eu
out=$BUILD/bench
mib=${PM_BENCH_MIB:-256}
flags='-std=c11 -O2 -D_POSIX_C_SOURCE=200809L -D_XOPEN_SOURCE=700 -D_DEFAULT_SOURCE'
mkdir -p "$out"
# shellcheck disable=SC2086
{
	$CC $flags tests/bench/big_log.c -o "$out/big_log"
	$CC $flags tests/bench/race.c -o "$out/race"
}
if ! command -v rg >/dev/null; then
	echo "no rg (Debian package ripgrep): reading a long log was not measured"
	exit 0
fi
export PORTMUSTER_DATA="$SHARE"
two='[0-9a-f]{2}' four='[0-9a-f]{4}'
any="$two(?:[-:]$two){5}|$four\\.$four\\.$four"

# The distinct addresses on standard input as twelve digits each.
distinct() { tr -d '.:-' | tr a-f A-F | sort -u; }

race() {
	"$out/race" 5 "$1" "$2 read" "$PROGRAM" read --json "$1" \
	    -- "$2, its addresses found by ripgrep" rg -o -N -i "$any" "$1"
}

"$out/big_log" "$mib" >"$out/big.log"
"$out/big_log" "$mib" --bare >"$out/bare.log"
"$out/big_log" 16 >"$out/small.log"
"$PROGRAM" read --json "$out/big.log" 2>/dev/null | sed -n 's/.*"address": "\([^"]*\)".*/\1/p' | distinct >"$out/ours" || true
rg -o -N -i "$any" "$out/big.log" | distinct >"$out/theirs"
cmp "$out/ours" "$out/theirs" || { echo "log: not the same addresses as ripgrep finds" >&2; exit 2; }

echo "a log of $mib MiB with $(wc -l <"$out/theirs" | tr -d ' ') addresses:"
race "$out/big.log" 'a long log'
race "$out/bare.log" 'one without log lines'
"$out/race" 5 "$out/big.log" 'a long log read' "$PROGRAM" read --json "$out/big.log" \
    -- 'the file only read, 64 KiB at once' dd if="$out/big.log" of=/dev/null bs=64k
"$out/race" 1 "$out/small.log" 'and one of 16 MiB, for the memory' "$PROGRAM" read --json "$out/small.log"
rm -f "$out/big.log" "$out/bare.log" "$out/small.log"
