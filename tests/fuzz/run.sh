#!/bin/sh
# Build every fuzz_NAME.c with the floors that read text from outside and run
# each for FUZZ_SECONDS on a copy of its seeds (seeds/NAME/*), with NAME.dict
# where there is one. One line "ok NAME" or "not ok NAME" each; what made one
# fail is kept in $BUILD/NAME/.
#     sh tests/fuzz/run.sh           all of them
#     sh tests/fuzz/run.sh eui48     one
set -u
cd "$(dirname "$0")/../.." || exit 2
BUILD=${BUILD:-build/fuzz}
FUZZ_SECONDS=${FUZZ_SECONDS:-20}
FUZZ_CC=${FUZZ_CC:-clang}
FLOORS='core store capture sheet report'
LIBS='-lyaml -ljansson -lsodium -lzip -lxml2'
FLAGS="-std=c11 -D_POSIX_C_SOURCE=200809L -D_XOPEN_SOURCE=700 -D_DEFAULT_SOURCE -DPM_VERSION=\"fuzz\"
	-Iinclude -Isrc -isystem /usr/include/libxml2 -Itests -g -O1 -fno-omit-frame-pointer
	-fsanitize=address,undefined -fno-sanitize-recover=undefined"
mkdir -p "$BUILD/obj" || exit 2

echo 'int LLVMFuzzerTestOneInput(const unsigned char *d, unsigned long n);
int LLVMFuzzerTestOneInput(const unsigned char *d, unsigned long n) { return d == 0 && n; }' >"$BUILD/probe.c"
if ! "$FUZZ_CC" -fsanitize=fuzzer,address,undefined "$BUILD/probe.c" -o "$BUILD/probe" 2>"$BUILD/probe.log"; then
	echo "not ok no fuzzer: $FUZZ_CC cannot link -fsanitize=fuzzer (Debian packages clang and libclang-rt-14-dev)"
	exit 2
fi

# One archive of all floors, coverage included; only what is out of date is compiled.
newest_header=$(find include src tests -name '*.h' -exec ls -t {} + | head -1)
objects=
for floor in $FLOORS; do
	for source in src/"$floor"/*.c; do
		[ -f "$source" ] || continue
		object=$BUILD/obj/$floor-$(basename "$source" .c).o
		objects="$objects $object"
		if [ -f "$object" ] && [ "$object" -nt "$source" ] && [ "$object" -nt "$newest_header" ]; then
			continue
		fi
		# shellcheck disable=SC2086
		"$FUZZ_CC" $FLAGS -fsanitize=fuzzer-no-link -c "$source" -o "$object" || exit 2
	done
done
rm -f "$BUILD/floors.a"
# shellcheck disable=SC2086
ar rcs "$BUILD/floors.a" $objects || exit 2

status=0 ran=0
for source in tests/fuzz/fuzz_*.c; do
	name=$(basename "$source" .c)
	name=${name#fuzz_}
	if [ $# -gt 0 ]; then
		case " $* " in *" $name "*) ;; *) continue ;; esac
	fi
	ran=$((ran + 1))
	work=$BUILD/$name
	rm -rf "$work/corpus"
	mkdir -p "$work/corpus"
	cp tests/fuzz/seeds/"$name"/* "$work/corpus/" 2>/dev/null || echo "no seeds for $name"
	# shellcheck disable=SC2086
	if ! "$FUZZ_CC" $FLAGS -fsanitize=fuzzer "$source" "$BUILD/floors.a" $LIBS -o "$work/fuzz"; then
		echo "not ok $name: does not build"
		status=1
		continue
	fi
	set_dict=
	[ -f "tests/fuzz/$name.dict" ] && set_dict=-dict=tests/fuzz/$name.dict
	# shellcheck disable=SC2086
	if "$work/fuzz" -max_total_time="$FUZZ_SECONDS" -timeout=10 -rss_limit_mb=2048 -print_final_stats=1 \
	    -artifact_prefix="$work/" $set_dict "$work/corpus" >"$work/log" 2>&1; then
		echo "ok $name"
		echo "# figure fuzz $name: $(sed -n 's/^stat::number_of_executed_units: *//p' "$work/log") inputs in $FUZZ_SECONDS s"
	else
		echo "not ok $name: see $work/log"
		tail -30 "$work/log"
		status=1
	fi
done
if [ "$ran" -eq 0 ]; then
	echo 'not ok no such fuzzer'
	exit 2
fi
exit $status
