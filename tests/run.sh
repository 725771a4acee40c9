#!/bin/sh
# Run every test program and script given, then print the totals. Exit 1 when
# one failed. A cmocka program counts each of its cases; a script prints one
# line "ok NAME" or "not ok NAME" a case, and may print anything else beside.
set -u
# Who was started with a signal ignored, as nohup does, hands that on; the tests
# send these signals and expect an answer.
if [ -z "${PM_SIGNALS-}" ]; then
	exec env --default-signal=HUP,INT,QUIT,TERM,PIPE,TSTP PM_SIGNALS=default sh "$0" "$@"
fi
unset PM_SIGNALS
passed=0 failed=0 broken=
out=$(mktemp) || exit 2
cache=$(mktemp -d) || exit 2
trap 'rm -rf "$out" "$cache"' EXIT
export XDG_CACHE_HOME="$cache"
export LC_ALL=C.UTF-8 TZ=UTC PYTHONDONTWRITEBYTECODE=1
# The system's own Python is the one that has Debian's modules.
python=/usr/bin/python3
[ -x "$python" ] || python=python3

for t in "$@"; do
	case $t in
	*.sh) sh "$t" >"$out" 2>&1; status=$? ;;
	*.py) "$python" "$t" >"$out" 2>&1; status=$? ;;
	*)    CMOCKA_MESSAGE_OUTPUT=TAP "$t" >"$out" 2>&1; status=$? ;;
	esac
	good=$(grep -c '^ok ' "$out")
	bad=$(grep -c '^not ok ' "$out")
	# A test that dies, or that checks nothing, has failed.
	if [ "$status" -ne 0 ] && [ "$bad" -eq 0 ]; then bad=1; fi
	if [ "$good" -eq 0 ] && [ "$bad" -eq 0 ]; then bad=1; echo "$t ran no case" >>"$out"; fi
	passed=$((passed + good)) failed=$((failed + bad))
	if [ "$bad" -gt 0 ]; then
		broken="$broken $t"
		printf 'FAILED %s (exit %s)\n' "$t" "$status"
		grep -v '^ok ' "$out" | tail -60
	else
		printf '%5d ok  %s\n' "$good" "${t#"${BUILD:-build}"/}"
		grep '^# figure' "$out"
	fi
done
[ -z "$broken" ] || printf 'failed in:%s\n' "$broken"
printf '%d passed, %d failed\n' "$passed" "$failed"
[ "$failed" -eq 0 ]
