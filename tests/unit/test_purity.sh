#!/bin/sh
# The core is pure: its archive asks the outside for nothing but memory, bytes
# and a digest. No file, clock, stream, locale or terminal can be reached from it.
set -u
: "${BUILD:?}" "${CC:=cc}"
archive=$BUILD/libportmuster.a
tmp=$(mktemp -d) || exit 2
trap 'rm -rf "$tmp"' EXIT

# Symbols that an archive or object needs and does not define, one a line.
needs() {
	nm "$1" 2>/dev/null | awk '
		NF == 2 && $1 == "U" { wanted[$2] = 1 }
		NF == 3 && $2 ~ /[A-TV-Z]/ { defined[$3] = 1 }
		END { for (s in wanted) if (!(s in defined)) print s }' | sort
}

# Those of them that a pure core may not ask for. A compiler may turn memcmp
# into bcmp and hardened builds call the _chk forms; sanitizers add their own.
impure() {
	needs "$1" | while read -r symbol; do
		case $symbol in
		memcpy|memset|memmove|memcmp|memchr|bcmp|strlen|strcmp|strncmp|strchr) ;;
		__memcpy_chk|__memset_chk|__memmove_chk) ;;
		malloc|free|calloc|realloc) ;;
		crypto_hash_sha256|crypto_hash_sha256_init|crypto_hash_sha256_update|crypto_hash_sha256_final) ;;
		__stack_chk_fail|_GLOBAL_OFFSET_TABLE_) ;;
		__asan_*|__ubsan_*|__tsan_*|__msan_*|__sanitizer_*|__start_*|__stop_*|__llvm_*|__gcov_*) ;;
		*) echo "$symbol" ;;
		esac
	done
}

say() { # condition name
	if [ "$1" -eq 0 ]; then echo "ok $2"; else echo "not ok $2"; failed=1; fi
}
failed=0

objects=$(ar t "$archive" 2>/dev/null | grep -c '\.o$')
sources=$(ls src/core/*.c | wc -l)
[ "$objects" -gt 0 ] && [ "$objects" -eq "$sources" ]
say $? "the archive holds every source of the core"

found=$(impure "$archive")
[ -z "$found" ]
say $? "the core imports only what is pure"
[ -z "$found" ] || echo "imported:" $found

# Memory comes from one place only.
allocators=$(nm -A "$archive" 2>/dev/null | awk '$2 == "U" && $3 ~ /^(malloc|calloc|realloc|free)$/ { n = split($1, p, ":"); print p[2] }' | sort -u)
[ "$allocators" = "arena.o" ]
say $? "only the arena allocates"

# No writable data: a second check can't see what a first one left. The one
# byte at which an empty text starts is never written.
writable() {
	nm -f sysv "$1" 2>/dev/null | awk -F'|' '
		{ gsub(/ /, "", $1); gsub(/ /, "", $7) }
		$7 ~ /^(\.bss|\.tbss|\.tdata|\*COM\*)/ || ($7 ~ /^\.data/ && $7 !~ /^\.data\.rel\.ro/) {
			if ($1 !~ /^(pm_text_grow\.)?nothing(\.[0-9]+)?$/) print $1 }'
}
if needs "$archive" | grep -q -e '^__asan_' -e '^__ubsan_'; then
	echo "# writable data is not looked at in a sanitizer build: it has its own"
else
	found=$(writable "$archive")
	[ -z "$found" ]
	say $? "the core has no writable data"
	[ -z "$found" ] || echo "writable:" $found
fi
printf 'int count(void);\nint count(void) { static int n; return ++n; }\n' >"$tmp/state.c"
$CC -std=c11 -c "$tmp/state.c" -o "$tmp/state.o" && [ -n "$(writable "$tmp/state.o")" ]
say $? "an object that counts its calls is caught"

# The same look at an object that is not pure must find it so.
for body in 'printf("x")' 'fopen("x", "r")' 'open("x", 0)' 'time(0)' 'setlocale(0, "")' 'getenv("x")' 'strtol("1", 0, 10)' 'exit(1)' 'errno = 1'; do
	cat >"$tmp/impure.c" <<-C
	#include <errno.h>
	#include <fcntl.h>
	#include <locale.h>
	#include <stdio.h>
	#include <stdlib.h>
	#include <time.h>
	void impure(void);
	void impure(void) { (void)($body); }
	C
	$CC -std=c11 -D_GNU_SOURCE -c "$tmp/impure.c" -o "$tmp/impure.o" 2>"$tmp/log" || cat "$tmp/log"
	[ -s "$tmp/impure.o" ] && [ -n "$(impure "$tmp/impure.o")" ]
	say $? "an object with $body is caught"
	rm -f "$tmp/impure.o"
done
printf '#include <string.h>\nunsigned long pure(const char *s);\nunsigned long pure(const char *s) { return strlen(s); }\n' >"$tmp/pure.c"
$CC -std=c11 -O0 -c "$tmp/pure.c" -o "$tmp/pure.o" && [ -z "$(impure "$tmp/pure.o")" ]
say $? "an object with strlen is not"

exit $failed
