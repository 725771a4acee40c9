#!/bin/sh
# Ratios against yardsticks in the same run. Absolute times are noise; nothing
# here fails a build on time.
set -eu
out=$BUILD/bench
mkdir -p "$out"
flags='-std=c11 -O2 -D_POSIX_C_SOURCE=200809L -D_XOPEN_SOURCE=700 -D_DEFAULT_SOURCE -Iinclude -Isrc'
libs='-lncursesw -ltinfo -lyaml -ljansson -lsodium'
python=/usr/bin/python3
[ -x "$python" ] || python=python3
# shellcheck disable=SC2086
{
	$CC $flags tests/bench/pair.c -o "$out/pair"
	$CC $flags -Wl,--no-as-needed tests/bench/empty.c $libs -o "$out/empty"
	$CC $flags tests/bench/eui48.c "$BUILD/libportmuster.a" -lsodium -o "$out/eui48"
	$CC $flags tests/bench/growth.c "$BUILD/libpm-store.a" "$BUILD/libportmuster.a" -lyaml -lsodium -o "$out/growth"
}
export PORTMUSTER_DATA="$SHARE"
rm -rf "$out/site"
"$PROGRAM" new --practice "$out/site" >/dev/null
"$PROGRAM" walk --answers "$out/site/answers.yaml" "$out/site/site.yaml" </dev/null >/dev/null

"$out/pair" 200 'check of one job, against an empty program' "$PROGRAM" check --now 2026-09-14T12:00:00Z "$out/site/site.yaml" -- "$out/empty"
"$out/pair" 200 'lookup of one address, against the same' "$PROGRAM" lookup 00-00-5E-00-53-01 -- "$out/empty"
ours=$("$out/eui48" 2>/dev/null)
theirs=$("$python" tests/bench/netaddr_rate.py)
awk -v a="$ours" -v b="$theirs" 'BEGIN { printf "%-44s ratio %6.0f   (%.0f against %.0f a second)\n",
	"addresses read and written, against netaddr", a / b, a, b }'
"$out/growth" "$out/site/site.yaml"
sh tests/bench/fleet.sh
sh tests/bench/log.sh
