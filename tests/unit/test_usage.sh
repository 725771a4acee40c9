#!/bin/sh
# Every command tells how it is used and its version, on standard output.
set -u
: "${PROGRAM:=build/bin/portmuster}"
tmp=$(mktemp -d) || exit 2
trap 'rm -rf "$tmp"' EXIT
failed=0

is() { # got, wanted, name
	if [ "$1" = "$2" ]; then echo "ok $3"; else echo "not ok $3: \"$1\" and not \"$2\""; failed=1; fi
}
# The exit status, and whether there was something on the two outputs.
try() {
	"$PROGRAM" "$@" >"$tmp/out" 2>"$tmp/err" </dev/null
	echo "$? $([ -s "$tmp/out" ] && echo out) $([ -s "$tmp/err" ] && echo err)"
}

is "$(try --help)" "0 out " "--help"
commands=$(sed -n 's/^  \([a-z][a-z-]*\)  *[^ ].*/\1/p' "$tmp/out")
is "$(try --version)" "0 out " "--version"
version=$(cat "$tmp/out")
is "$(printf '%s\n' "$version" | grep -cx 'portmuster [0-9][0-9.]*')" 1 "the version is one"
is "$(echo "$commands" | grep -cx -e walk -e listen -e sheet -e review -e merge)" 5 "the commands are found"

for command in $commands; do
	is "$(try "$command" --help)" "0 out " "$command --help"
	is "$(head -1 "$tmp/out" | cut -d' ' -f1-2)" "portmuster $command" "$command --help is about it"
	is "$(try "$command" -h)" "0 out " "$command -h"
	is "$(try "$command" --version)" "0 out " "$command --version"
	is "$(cat "$tmp/out")" "$version" "$command has the program's version"
	is "$(try "$command" --version=1)" "2  err" "$command --version=1"
	is "$(try "$command" --no-such-option)" "2  err" "$command --no-such-option"
done

# An output that takes nothing is no success.
"$PROGRAM" walk --version >/dev/full 2>"$tmp/err"
is $? 2 "a full output"
"$PROGRAM" walk --version >&- 2>"$tmp/err"
is $? 2 "a closed output"
"$PROGRAM" walk --help >&- 2>&- <&-
is $? 2 "nothing is open"
exit $failed
