#!/bin/sh
# A fleet reviewed, against a bare loop over libyaml's events on one thread that reads
# the same files; in turn, the best of three each. PM_BENCH_SITES=1000 shortens it.
set -eu
out=$BUILD/bench
sites=${PM_BENCH_SITES:-10000}
few=$((sites / 10))
flags='-std=c11 -O2 -D_POSIX_C_SOURCE=200809L -D_XOPEN_SOURCE=700 -D_DEFAULT_SOURCE -Iinclude -Isrc'
mkdir -p "$out"
# shellcheck disable=SC2086
{
	$CC $flags tests/bench/many_jobs.c -o "$out/many_jobs"
	$CC $flags tests/bench/yaml_events.c -lyaml -o "$out/yaml_events"
	$CC $flags tests/bench/fleet.c "$BUILD/libpm-board.a" "$BUILD/libpm-store.a" "$BUILD/libportmuster.a" \
	    -lyaml -lsodium -lpthread -o "$out/fleet"
}
export PORTMUSTER_DATA="$SHARE"
rm -rf "$out/fleet-$few" "$out/fleet-$sites"
"$out/many_jobs" "$out/fleet-$few" "$few" >/dev/null
made=$("$out/many_jobs" "$out/fleet-$sites" "$sites")
find "$out/fleet-$sites" -name '*.yaml' | sort >"$out/fleet.list"

: >"$out/fleet.times"
for run in 1 2 3; do
	echo "$("$out/fleet" "$out/fleet-$sites") $("$out/yaml_events" <"$out/fleet.list")" >>"$out/fleet.times"
done
# the first rows, all, how many, KiB; and the yardstick's time
small=$("$out/fleet" "$out/fleet-$few")
echo "$made"
echo "$small" | cat - "$out/fleet.times" | awk '
	NR == 1 { few = $3; least = $4; next }
	NR == 2 || $1 < first { first = $1 }
	NR == 2 || $2 < all { all = $2 }
	NR == 2 || $4 < most { most = $4 }
	NR == 2 || $5 < bare { bare = $5 }
	{ many = $3 }
	END {
		printf "%-44s ratio %6.2f   (%.0f ms against %.0f ms, best of 3 in turn)\n", many " jobs reviewed, against libyaml events alone", all / bare, all, bare
		printf "%-44s ratio %6.2f   (%.0f ms)\n", "the first rows of them, against all", first / all, first
		printf "%-44s %.1f KiB a site\n", "memory from " few " to " many " sites", (most - least) / (many - few)
	}'

# the same as a whole program
start=$(date +%s%N)
"$PROGRAM" review --json --now 2026-10-11T12:00:00Z "$out/fleet-$sites" >"$out/fleet.json" || [ $? -eq 1 ]
end=$(date +%s%N)
awk -v ms=$(((end - start) / 1000000)) -v bytes="$(wc -c <"$out/fleet.json")" -v sites="$sites" \
	'BEGIN { printf "%-44s %.0f ms, %.1f MB of JSON\n", sites " jobs by review --json", ms, bytes / 1e6 }'
rm -f "$out/fleet.json"
