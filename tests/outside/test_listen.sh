#!/bin/sh
# The real program listens to a stand-in console over pseudo terminals, and over
# a pair of them that another program joins.
set -u
: "${PROGRAM:=build/bin/portmuster}" "${SHARE:=build/share/portmuster}"
case $PROGRAM in /*) ;; *) PROGRAM=$PWD/$PROGRAM ;; esac
case $SHARE in /*) ;; *) SHARE=$PWD/$SHARE ;; esac
export PORTMUSTER_DATA="$SHARE" PORTMUSTER_CACHE=no
tmp=$(mktemp -d) || exit 2
started=
# Only what was started here is ended.
end_started() {
	for id in $started; do kill "$id" 2>/dev/null; done
	for id in $started; do wait "$id" 2>/dev/null; done
	started=
}
trap 'end_started; rm -rf "$tmp"' EXIT
now=2026-09-14T09:30:00Z
python=/usr/bin/python3
[ -x "$python" ] || python=python3
failed=0

say() { # status of what was tried (0 is good), name
	if [ "$1" -eq 0 ]; then echo "ok $2"; else echo "not ok $2"; failed=1; show; fi
}
show() {
	for f in "$tmp/err" "$tmp/out" "$tmp/noise"; do
		if [ -s "$f" ]; then echo "--- ${f##*/}"; head -60 "$f"; fi
	done
}
is() { # got, wanted, name
	if [ "$1" = "$2" ]; then echo "ok $3"; else echo "not ok $3: \"$1\" and not \"$2\""; failed=1; show; fi
}
has() { # file, text, name
	grep -qF -- "$2" "$1"; say $? "$3"
}
# Wait for a command to succeed, at most so many tenths of a second.
until_true() { # tenths, command...
	left=$1; shift
	while ! "$@" 2>/dev/null; do
		left=$((left - 1)); [ "$left" -gt 0 ] || return 1
		sleep 0.1
	done
}
# A stand-in that plays at $tmp/console.
stand_in() { # options...
	rm -f "$tmp/console"
	"$PROGRAM" stand-in --link "$tmp/console" --seconds 120 --seed 7 --boot 1 "$@" >"$tmp/noise" 2>&1 &
	console=$!
	started="$started $console"
	until_true 50 test -e "$tmp/console" || say 1 "the stand-in is there"
}
listen() { # job, options...
	job=$1; shift
	"$PROGRAM" listen --now "$now" --by "tech 1" "$@" "$job" >"$tmp/out" 2>"$tmp/err" </dev/null
}
counts() { # job: expected held confirmed
	"$PROGRAM" check --json --now "$now" "$1" |
	"$python" -c 'import json, sys
a = json.load(sys.stdin)["jobs"][0]["addresses"]
print(a["expected"], a["held"], a["confirmed"])'
}
settings() { stty -a -F "$1"; }
# A line of another program to the console, far from raw and with a speed of its own;
# held open, so that its settings last. Without echo: what the console says while
# nobody has the line is not said to it.
join() {
	rm -f "$tmp/line"
	socat "PTY,link=$tmp/line,rawer" "OPEN:$tmp/console,rawer" 2>"$tmp/noise" &
	pair=$!
	started="$started $pair"
	until_true 50 test -e "$tmp/line" || say 1 "the pair is there: socat is needed: sh .ci/with-deps"
	exec 9<>"$tmp/line"
	stty 4800 icanon isig iexten icrnl ixon ixany brkint opost onlcr hupcl cstopb min 7 -echo -echoe <&9
	stty -a <&9 >"$tmp/before"
}
put_back() { # of what
	stty -a <&9 >"$tmp/after"
	cmp -s "$tmp/before" "$tmp/after"; say $? "$1: the line is set as it was"
}
is_raw() { stty -a <&9 | grep -q -- '-icanon'; }

# A practice site whose first two phases are closed and whose router is up; its
# label says what it is told to say.
make_site() { # folder, serial number on the label
	"$PROGRAM" new --practice "$tmp/$1" >/dev/null || exit 2
	sed -e '/step: "addresses"/,$d' -e "s/EG12-26-00417/$2/g" "$tmp/$1/answers.yaml" >"$tmp/$1/first.yaml"
	"$PROGRAM" walk --answers "$tmp/$1/first.yaml" "$tmp/$1/site.yaml" >"$tmp/out" 2>&1
	say $? "the practice site comes to its console"
}
fresh() { rm -rf "$tmp/$1"; cp -R "$tmp/made" "$tmp/$1"; }
has_finding() { "$PROGRAM" check --json --now "$now" "$1" | grep -q "\"$2\""; }

# --- a label that says something else than the console ---
make_site label EG12-00-00000
stand_in
listen "$tmp/label/site.yaml" --line "$tmp/console" --passes 1
is $? 1 "another serial number on the label: the exit"
has_finding "$tmp/label/site.yaml" serial-conflict
say $? "another serial number on the label: it is found"
serial=$("$PROGRAM" read --json --gear eg-12 "$tmp/label/evidence/"*.log | "$python" -c 'import json, sys; print(json.load(sys.stdin)["serials"][0]["value"])')
end_started
[ -n "$serial" ] || exit 1
make_site made "$serial"

# --- the whole roll, no typing ---
fresh whole
stand_in
settings "$tmp/console" >"$tmp/before"
listen "$tmp/whole/site.yaml" --line "$tmp/console"
is $? 0 "everything is confirmed, and the exit says so"
is "$(counts "$tmp/whole/site.yaml")" "13 13 13" "thirteen confirmed"
is "$(grep -c '^  pass 1  ' "$tmp/err") $(grep -c '^  pass 2  ' "$tmp/err")" "13 13" "each interface is told once a pass"
has "$tmp/err" "waits for a prompt" "it says what it waits for"
has "$tmp/out" "13 of 13 read, 13 confirmed" "the result is printed"
settings "$tmp/console" >"$tmp/after"
cmp -s "$tmp/before" "$tmp/after"; say $? "the line is set as it was"
is "$(ls "$tmp/whole/evidence" | wc -l)" 2 "two captures are kept"
is "$(cat "$tmp/whole/evidence/"*.log | grep -c '# portmuster capture 2026-09-14T09:3.*Z pass [12] /dev/.* 9600 8N1$')" 2 \
	"each says where it came from"
for f in "$tmp/whole/evidence/"*.log; do
	is "$(sha256sum <"$f" | cut -d' ' -f1).log" "${f##*/}" "it is named by its digest"
	is "$("$PROGRAM" read "$f" 2>/dev/null | grep -c '00-00-5E-00-53-')" 13 "read again, it has them all"
done
grep -q 'of: "router/serial"' "$tmp/whole/site.yaml" && grep -A3 'of: "router/serial"' "$tmp/whole/site.yaml" | grep -q '"console"'
say $? "the serial number is read off the console too"
! has_finding "$tmp/whole/site.yaml" serial-conflict
say $? "and agrees with the label"
# a second job on the same console, as soon as the first is done
fresh next
listen "$tmp/next/site.yaml" --line "$tmp/console" --passes 1
is $? 1 "one pass confirms nothing, and the exit says so"
is "$(counts "$tmp/next/site.yaml")" "13 13 0" "one pass holds thirteen"
end_started

# --- through another program, at nine hundred characters a second ---
fresh joined
stand_in
join
listen "$tmp/joined/site.yaml" --line "$tmp/line"
is $? 0 "through a joined pair: the exit"
is "$(counts "$tmp/joined/site.yaml")" "13 13 13" "through a joined pair: thirteen confirmed"
put_back "through a joined pair"
# with nothing open to speak to, no file and no line is spoken to instead
fresh joined
"$PROGRAM" listen --now "$now" --by "tech 1" --line "$tmp/line" "$tmp/joined/site.yaml" <&- >&- 2>&-
is $? 2 "no standard descriptors: the result cannot be told"
is "$(counts "$tmp/joined/site.yaml")" "13 13 13" "no standard descriptors: thirteen confirmed"
! grep -rqF -e 'listens to' -e 'waits for a prompt' "$tmp/joined"
say $? "no standard descriptors: nothing is said into a file"
! grep -rqF -e 'unknown' -e 'portmuster: ' "$tmp/joined/evidence"
say $? "no standard descriptors: nothing is said to the console"
put_back "no standard descriptors"
end_started

# --- ends in the middle ---
# A shell has its background commands ignore an interrupt; this one must not.
# It runs as a job of its own, which is told to end with this shell, and says when it stops.
heeding='import os, resource, signal, sys
for number in signal.SIGINT, signal.SIGQUIT, signal.SIGTSTP:
    signal.signal(number, signal.SIG_DFL)
resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
job = os.fork()
if job == 0:
    os.setpgid(0, 0)
    os.execv(sys.argv[2], sys.argv[2:])
signal.signal(signal.SIGTERM, lambda *_: (os.kill(job, signal.SIGKILL), os.kill(job, signal.SIGCONT)))
open(sys.argv[1] + "/job", "w").write(str(job))
while True:
    status = os.waitpid(job, os.WUNTRACED)[1]
    if not os.WIFSTOPPED(status):
        break
    open(sys.argv[1] + "/stopped", "w").write("yes")
if os.WIFSIGNALED(status):
    open(sys.argv[1] + "/killed", "w").write("yes")
sys.exit(os.WEXITSTATUS(status) if os.WIFEXITED(status) else 128 + os.WTERMSIG(status))'
# The sanitizers would report such a signal, and not be killed by it.
heed() {
	ASAN_OPTIONS="${ASAN_OPTIONS-}:handle_segv=0:handle_sigbus=0:handle_abort=0:handle_sigfpe=0" "$python" -c "$heeding" "$tmp" "$@"
}
begin() { # job, line: listen in the background, until five interfaces are read
	: >"$tmp/err"
	rm -f "$tmp/job" "$tmp/stopped" "$tmp/killed"
	heed "$PROGRAM" listen --now "$now" --by "tech 1" --line "$2" "$1" >"$tmp/out" 2>"$tmp/err" </dev/null 9>&- &
	listener=$!
	started="$started $listener"
	until_true 300 grep -q "${3-pass 1  port4}" "$tmp/err" || say 1 "five interfaces are read"
	heeder=$(cat "$tmp/job")
}
number_of() { "$python" -c 'import signal, sys; print(int(getattr(signal, "SIG" + sys.argv[1])))' "$1"; }
at_least_five() { # job, name
	set -- "$2" $(counts "$1")
	[ "$3" -ge 5 ] && [ "$3" -lt 13 ]; say $? "$1: what was read is kept ($3)"
}

fresh closed
stand_in
begin "$tmp/closed/site.yaml" "$tmp/console"
kill "$console"
wait "$listener"
is $? 1 "the line closes: the exit"
has "$tmp/err" "the line is gone" "the line closes: it says so"
has "$tmp/err" "nothing is lost" "the line closes: it says what is kept"
at_least_five "$tmp/closed/site.yaml" "the line closes"
is "$(cat "$tmp/closed/evidence/"*.log | grep -c '# portmuster capture .* pass 1 cut short ')" 1 "the line closes: the evidence says so"
end_started

for signal in INT TERM HUP QUIT; do
	fresh signal
	stand_in
	join
	begin "$tmp/signal/site.yaml" "$tmp/line"
	is_raw; say $? "SIG$signal: the line was raw before"
	kill -s "$signal" "$heeder"
	kill -s "$signal" "$heeder" 2>/dev/null   # again, while it puts things in order
	wait "$listener"
	is $? $((128 + $(number_of "$signal"))) "SIG$signal: the exit"
	! test -e "$tmp/killed"; say $? "SIG$signal: it ended by itself"
	has "$tmp/err" "keeps what was read" "SIG$signal: it says so"
	at_least_five "$tmp/signal/site.yaml" "SIG$signal"
	put_back "SIG$signal"
	end_started
done

# Those that nobody answers end it as ever, but for the line.
fresh deadly
stand_in
join
for signal in USR1 USR2 ALRM ABRT SEGV BUS XCPU RTMIN; do
	begin "$tmp/deadly/site.yaml" "$tmp/line" "waits for a prompt"
	is_raw; say $? "SIG$signal: the line was raw before"
	number=$(number_of "$signal")
	kill -s "$number" "$heeder"
	wait "$listener"
	is "$? $(cat "$tmp/killed")" "$((128 + number)) yes" "SIG$signal: it is killed by it"
	put_back "SIG$signal"
done
# nor may the next one be told that the line is in use
listen "$tmp/deadly/site.yaml" --line "$tmp/line" --passes 1
is "$(counts "$tmp/deadly/site.yaml")" "13 13 0" "after them all: thirteen read"
end_started

# --- stopped in the middle, and continued ---
suspend() { # job
	stand_in
	join
	begin "$1" "$tmp/line"
	kill -s TSTP "$heeder"
	until_true 50 test -e "$tmp/stopped"; say $? "suspended: it stops"
	put_back "suspended"
}
continue_it() {
	kill -s CONT "$heeder"
	wait "$listener"
	status=$?
}

fresh suspended
suspend "$tmp/suspended/site.yaml"
fresh other
listen "$tmp/other/site.yaml" --line "$tmp/line" --passes 1
is "$(counts "$tmp/other/site.yaml")" "13 13 0" "suspended: another one has the line meanwhile"
put_back "suspended, after the other"
kill -s CONT "$heeder"
until_true 50 is_raw; say $? "continued: the line is raw again"
wait "$listener"
is $? 0 "continued: the exit"
is "$(counts "$tmp/suspended/site.yaml")" "13 13 13" "continued: thirteen confirmed"
! grep -rq 'cut short' "$tmp/suspended/evidence"; say $? "continued: the pass began anew"
put_back "continued"
end_started

fresh suspended
suspend "$tmp/suspended/site.yaml"
fresh other
"$PROGRAM" listen --now "$now" --line "$tmp/line" --watch "$tmp/other/site.yaml" >/dev/null 2>"$tmp/noise" </dev/null &
started="$started $!"
until_true 50 grep -q 'listens to' "$tmp/noise" || say 1 "the other listens"
continue_it
is "$status" 1 "continued on a busy line: the exit"
has "$tmp/err" "another program uses this line" "continued on a busy line: it says so"
has "$tmp/err" "nothing is lost" "continued on a busy line: it says what is kept"
at_least_five "$tmp/suspended/site.yaml" "continued on a busy line"
is "$(cat "$tmp/suspended/evidence/"*.log | grep -c ' pass 1 cut short ')" 1 "continued on a busy line: the evidence says so"
end_started

fresh suspended
suspend "$tmp/suspended/site.yaml"
exec 9>&-
kill "$pair"
until_true 50 test ! -e "$tmp/line" || say 1 "the pair is gone"
continue_it
is "$status" 1 "continued without a line: the exit"
has "$tmp/err" "there is no such device" "continued without a line: it says so"
at_least_five "$tmp/suspended/site.yaml" "continued without a line"
end_started

fresh suspended
suspend "$tmp/suspended/site.yaml"
kill -s TERM "$heeder"
continue_it
is "$status" 143 "ended while suspended: the exit"
at_least_five "$tmp/suspended/site.yaml" "ended while suspended"
! grep -qF 'takes the line again' "$tmp/err"; say $? "ended while suspended: the line is left alone"
put_back "ended while suspended"
end_started

fresh timed
stand_in
listen "$tmp/timed/site.yaml" --line "$tmp/console" --watch --seconds 1
is $? 2 "nobody types: nothing to record"
has "$tmp/err" "the time is up" "the time is up"
is "$(counts "$tmp/timed/site.yaml")" "13 0 0" "nothing was recorded"
# a job that is held by another session
"$PROGRAM" listen --now "$now" --line "$tmp/console" --watch "$tmp/timed/site.yaml" >/dev/null 2>"$tmp/noise" </dev/null &
listener=$!
started="$started $listener"
until_true 50 grep -q 'listens to' "$tmp/noise" || say 1 "the first one listens"
fresh other
listen "$tmp/other/site.yaml" --line "$tmp/console"
is $? 2 "a busy line: the exit"
has "$tmp/err" "another program uses this line" "a busy line: it says so"
listen "$tmp/timed/site.yaml" --line "$tmp/console"
is $? 2 "a job that another session holds: the exit"
has "$tmp/err" "read-only" "a job that another session holds: it says so"
end_started

# --- noise: what is missing and what differs is said, and a restart once ---
fresh noisy
stand_in --noise 300 --reboot --seed 4 --serial "$serial"
listen "$tmp/noisy/site.yaml" --line "$tmp/console"
is $? 1 "passes that lack interfaces: the exit"
grep -q '^2 passes ended: .* of 13 read, missing: port' "$tmp/err"; say $? "a pass that lacks interfaces is not called complete"
grep -q '^recorded: [01] pass.* complete, [12] with interfaces missing, ' "$tmp/err"; say $? "nor is it in the sum"
is "$(grep -c 'started again' "$tmp/err")" 1 "one restart is told once"
end_started
fresh noisy
stand_in --boot 0 --speed 0 --noise 100 --seed 5 --serial "$serial"
listen "$tmp/noisy/site.yaml" --line "$tmp/console"
has_finding "$tmp/noisy/site.yaml" reading-conflict; say $? "two readings of one listing differ"
grep -q '^recorded: .* 1 interface IN CONFLICT: port11' "$tmp/err"; say $? "and the sum says so"
end_started

# --- what is refused before anything is opened ---
"$PROGRAM" new --practice "$tmp/new" >/dev/null
listen "$tmp/new/site.yaml" --line "$tmp/nowhere"
is $? 1 "a shut phase: the exit"
has "$tmp/err" "this phase is shut" "a shut phase: it says so"
listen "$tmp/whole/site.yaml" --line "$tmp/nowhere"
is $? 2 "no such device: the exit"
has "$tmp/err" "there is no such device" "no such device: it says so"
listen "$tmp/whole/site.yaml" --line /dev/null
has "$tmp/err" "not a serial line" "no serial line: it says so"
for wrong in "--passes 0" "--passes x" "--passes 10" "--seconds -1" "--nothing"; do
	# shellcheck disable=SC2086
	listen "$tmp/whole/site.yaml" $wrong
	is $? 2 "refused: $wrong"
done
"$PROGRAM" listen >/dev/null 2>&1
is $? 2 "refused: no job"
"$PROGRAM" listen --help | grep -q -- '--line DEVICE'
say $? "help names the line"

exit $failed
