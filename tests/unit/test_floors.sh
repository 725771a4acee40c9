#!/bin/sh
# A file includes only from its own floor or a lower one; only the curses files
# know curses; no file is too long to read in one sitting.
set -u
tmp=$(mktemp -d) || exit 2
trap 'rm -rf "$tmp"' EXIT

# Which floors a floor may include from, itself included.
below() {
	case $1 in
	cmd) echo "cmd board walk report sheet screen capture store core" ;;
	board) echo "board report sheet screen capture store core" ;;
	walk) echo "walk report sheet screen capture store core" ;;
	report) echo "report core" ;;
	sheet) echo "sheet store core" ;;
	capture) echo "capture core" ;;
	store) echo "store core" ;;
	screen) echo "screen core" ;;
	core) echo "core" ;;
	esac
}

# Every include of the tree at $1 that breaks a rule, one a line.
wrong_includes() {
	for file in "$1"/src/*/*.[ch]; do
		[ -f "$file" ] || continue
		floor=$(basename "$(dirname "$file")")
		allowed=$(below "$floor")
		[ -n "$allowed" ] || { echo "$file: a floor that nobody knows"; continue; }
		sed -n 's/^[[:space:]]*#[[:space:]]*include[[:space:]]*\([<"][^>"]*[>"]\).*/\1/p' "$file" |
		while read -r header; do
			case $header in
			'"portmuster/'*) continue ;;
			'<'*curses*'>'|'<term.h>'|'<panel.h>')
				case $file in */src/screen/curses*.c) continue ;; esac ;;
			'<'*) continue ;;
			*)	of=${header#\"}
				case $of in
				*..*) of=outside ;;
				*/*) of=${of%%/*} ;;
				*) of=$floor ;;   # beside the file itself
				esac
				case " $allowed " in *" $of "*) continue ;; esac ;;
			esac
			echo "${file#"$1"/} includes $header"
		done
	done
	# The public headers stand on nothing but each other and the language.
	for file in "$1"/include/portmuster/*.h; do
		[ -f "$file" ] || continue
		sed -n 's/^[[:space:]]*#[[:space:]]*include[[:space:]]*\([<"][^>"]*[>"]\).*/\1/p' "$file" |
		while read -r header; do
			case $header in
			'"portmuster/'*|'<stdarg.h>'|'<stdbool.h>'|'<stddef.h>'|'<stdint.h>') ;;
			*) echo "${file#"$1"/} includes $header" ;;
			esac
		done
	done
}

# Every source, header or test script of more than 500 lines.
too_long() {
	find "$1/src" "$1/include" "$1/tests" -type f \( -name '*.[ch]' -o -name '*.sh' -o -name '*.py' \) 2>/dev/null |
	while read -r file; do
		lines=$(wc -l <"$file")
		[ "$lines" -le 500 ] || echo "${file#"$1"/} has $lines lines"
	done
}

failed=0
say() { # what was found (nothing is good), name
	if [ -z "$1" ]; then echo "ok $2"; else echo "not ok $2"; echo "$1"; failed=1; fi
}
# The reverse: a planted example must be found.
found() { if [ -n "$1" ]; then say "" "$2"; else say "it was not found" "$2"; fi; }

files=$(ls src/*/*.[ch] | wc -l)
[ "$files" -gt 20 ] && say "" "there are sources to look at" || say "only $files" "there are sources to look at"
say "$(wrong_includes .)" "every include is of the same floor or a lower one"
say "$(too_long .)" "no file is longer than 500 lines"

mkdir -p "$tmp/include/portmuster" "$tmp/tests"
plant() { # floor, file, include
	rm -rf "$tmp/src"
	mkdir -p "$tmp/src/$1"
	printf '#include <string.h>\n#include %s\n' "$3" >"$tmp/src/$1/$2"
}
while read -r floor file header; do
	plant "$floor" "$file" "$header"
	found "$(wrong_includes "$tmp")" "caught: src/$floor/$file with $header"
done <<'LIST'
core a.c "store/bind.h"
core a.h "screen/canvas.h"
core a.c <curses.h>
store a.c "walk/walk.h"
store a.c "screen/canvas.h"
capture a.c "store/save.h"
report a.c "store/save.h"
screen a.c "walk/walk.h"
screen canvas.c <ncurses.h>
walk curses.c <ncursesw/curses.h>
walk a.c "cmd/cmd.h"
report a.c "../store/save.h"
attic a.c "core/judge.h"
LIST
while read -r floor file header; do
	plant "$floor" "$file" "$header"
	say "$(wrong_includes "$tmp")" "allowed: src/$floor/$file with $header"
done <<'LIST'
core a.c "core/judge.h"
core a.c "judge.h"
store a.c "portmuster/job.h"
screen curses_keys.c <curses.h>
walk a.c "screen/canvas.h"
walk a.c "store/save.h"
cmd a.c "walk/walk.h"
LIST
rm -rf "$tmp/src"
mkdir -p "$tmp/src/core"
echo '#include <stdio.h>' >"$tmp/include/portmuster/a.h"
found "$(wrong_includes "$tmp")" "caught: a public header with <stdio.h>"
rm "$tmp/include/portmuster/a.h"
i=0
while [ $i -lt 500 ]; do echo "/* */"; i=$((i + 1)); done >"$tmp/src/core/long.c"
say "$(too_long "$tmp")" "allowed: 500 lines"
echo >>"$tmp/src/core/long.c"
found "$(too_long "$tmp")" "caught: 501 lines"

exit $failed
