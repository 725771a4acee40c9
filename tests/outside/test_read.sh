# portmuster read: exit status, text, JSON, where each complaint goes.
set -u
program=${PROGRAM:?} python=/usr/bin/python3
[ -x "$python" ] || python=python3
work=$(mktemp -d) || exit 2
trap 'rm -rf "$work"' EXIT
failed=0

# verdict NAME STATUS: the case holds when STATUS is 0
verdict() {
	if [ "$2" -eq 0 ]; then
		echo "ok $1"
	else
		echo "not ok $1"
		sed 's/^/# /' "$work/out" "$work/err"
		failed=1
	fi
}
# run WANTED ARG...: the exit status is as wanted
run() {
	wanted=$1
	shift
	"$program" read "$@" >"$work/out" 2>"$work/err"
	[ $? -eq "$wanted" ]
}
# json EXPRESSION: true of the output as `d`
json() {
	"$python" -c 'import json, sys
d = json.load(open(sys.argv[1]))
sys.exit(not eval("(" + sys.argv[2] + ")"))' "$work/out" "$1"
}

printf 'port1 00-00-5E-00-53-01\nmgmt 0000.5e00.5300\nSerial number: EG12-26-00417\n' >"$work/good.log"
printf 'port1 00-00-5E-00-53-01\nport2 mac 00-00-5E-00-53-0G\n' >"$work/bad.log"
printf 'nothing to see\n' >"$work/none.log"
printf 'port1 00-00-5E-00-53-01\nport1\033[31m\n  mac 00-00-5E-00-53-02\n' >"$work/twice.log"

run 0 "$work/good.log" && [ ! -s "$work/err" ] &&
	grep -q '^port1  *00-00-5E-00-53-01  5  *1$' "$work/out" &&
	grep -q '^mgmt  *00-00-5E-00-53-00  7  *2$' "$work/out" &&
	grep -q '^serial number EG12-26-00417, line 3$' "$work/out"
verdict 'text of a good log' $?

run 0 --json "$work/good.log" && [ ! -s "$work/err" ] &&
	json 'list(d) == ["readings", "serials", "problems", "as"]
		and [(r["interface"], r["address"], r["line"]) for r in d["readings"]]
			== [("port1", "00-00-5E-00-53-01", 1), ("mgmt", "00-00-5E-00-53-00", 2)]
		and d["serials"] == [{"value": "EG12-26-00417", "line": 3}] and d["problems"] == []
		and d["as"] == [{"kind": "console", "title": "console text"}]'
verdict 'JSON of a good log' $?

run 1 "$work/bad.log" && grep -q '^port1 ' "$work/out" &&
	grep -q "bad.log:2:27: .*\"00-00-5E-00-53-0G\"$" "$work/err"
verdict 'a problem goes to standard error with its place' $?

run 1 --json "$work/bad.log" &&
	json 'len(d["readings"]) == 1 and len(d["problems"]) == 1 and set(d["problems"][0]) >= {"line", "column", "reason", "text"}
		and (d["problems"][0]["line"], d["problems"][0]["column"], d["problems"][0]["text"]) == (2, 27, "00-00-5E-00-53-0G")'
verdict 'a problem in JSON' $?

run 1 --json "$work/twice.log" && json 'len(d["readings"]) == 2 and d["problems"][0]["line"] == 3' &&
	! LC_ALL=C grep -q "$(printf '\033')" "$work/out"
verdict 'two addresses for one interface' $?

run 1 "$work/none.log" && [ ! -s "$work/out" ] && grep -q 'no interface with an address; capture' "$work/err"
verdict 'no reading is a mismatch with a remedy' $?

run 1 --json "$work/none.log" && json '[d[k] for k in ("readings", "serials", "problems")] == [[], [], []]'
verdict 'no reading in JSON' $?

"$program" read --json - <"$work/good.log" >"$work/out" 2>"$work/err" && json 'len(d["readings"]) == 2'
verdict 'standard input' $?

run 2 "$work/no-such.log" && [ ! -s "$work/out" ] && grep -q 'no-such.log: not readable' "$work/err"
verdict 'a log that is not there' $?

run 2 "$work" && grep -q 'not readable' "$work/err"
verdict 'a folder is no log' $?

run 2 "$work/no-such.log" "$work/good.log" && grep -q '^port1 ' "$work/out"
verdict 'one of two cannot be read' $?

run 0 --json "$work/good.log" "$work/good.log" &&
	json 'len(d["readings"]) == 4 and all(r["file"].endswith("good.log") for r in d["readings"] + d["as"]) and len(d["as"]) == 2'
verdict 'several logs name their file' $?

run 2 && grep -q 'no log given' "$work/err"
verdict 'no log given' $?

run 2 --nonsense x
verdict 'an unknown option' $?

run 0 --help && grep -q -- '--gear' "$work/out"
verdict 'help' $?

run 2 --gear no-such-gear "$work/good.log" && [ ! -s "$work/out" ]
verdict 'gear that is not there' $?

gear=data/gear/eg-12.yaml
printf 'PORT 7 00-00-5E-00-53-07\n' >"$work/pair.log"
run 0 --json --gear "$gear" "$work/pair.log" && json 'd["readings"][0]["interface"] == "port7"'
verdict 'the roster names the interface' $?

for log in data/demo/*listing.log; do
	run 0 --json --gear "$gear" "$log" && json 'len(d["readings"]) == 13 and len(d["serials"]) == 1 and d["problems"] == []'
	verdict "all thirteen of $log" $?
done

# Open listings: each as what it is recognised, and what it is read as when that is said.
printf '<interfaces xmlns="urn:ietf:params:xml:ns:yang:ietf-interfaces">\n<interface><name>port1</name><phys-address>00:00:5e:00:53:01</phys-address></interface></interfaces>\n' >"$work/open.xml"
printf '{"ietf-interfaces:interfaces":{"interface":[\n{"name":"port1","phys-address":"00:00:5e:00:53:01"}]}}\n' >"$work/open.json"
printf 'IF-MIB::ifName.4 = STRING: port1\nIF-MIB::ifPhysAddress.4 = STRING: 0:0:5e:0:53:1\n' >"$work/open.walk"
printf '3: port1@port2: <UP> mtu 1500 state UP\n    link/ether 00:00:5e:00:53:01 brd ff:ff:ff:ff:ff:ff\n' >"$work/open.link"
printf '[\n{"ifname":"port1","link_type":"ether","address":"00:00:5e:00:53:01"}]\n' >"$work/open.link-json"
while read -r file kind; do
	run 0 --json "$work/$file" &&
		json '[(r["interface"], r["address"], r["line"]) for r in d["readings"]] == [("port1", "00-00-5E-00-53-01", 2)]
			and d["problems"] == [] and [a["kind"] for a in d["as"]] == ["'"$kind"'"]'
	verdict "recognised as $kind" $?
	run 0 "$work/$file" && grep -q "^port1  *00-00-5E-00-53-01  5  *2\$" "$work/out" && grep -q ": read as " "$work/err" &&
		[ "$(wc -l <"$work/err")" -eq 1 ]
	verdict "text of $kind says what it was read as" $?
	run 0 --json --as "$kind" "$work/$file" && json 'len(d["readings"]) == 1'
	verdict "read as $kind when told to" $?
done <<-LIST
	open.xml yang-xml
	open.json yang-json
	open.walk ifmib
	open.link ip-link
	open.link-json ip-link-json
	LIST
run 0 --json --as console "$work/open.link" && json 'd["as"][0]["kind"] == "console" and len(d["readings"]) == 1'
verdict 'an open listing as console text' $?
run 1 --as yang-json "$work/good.log" && grep -q 'no JSON object' "$work/err"
verdict 'a log as what it is not' $?
run 2 --as nonsense "$work/good.log" && grep -q 'unknown kind of listing "nonsense"; there are console, yang-json' "$work/err"
verdict 'an unknown kind' $?

# Logs joined to one file.
cat "$work/open.link" "$work/good.log" "$work/open.walk" >"$work/joined.log"
run 0 --json "$work/joined.log" &&
	json '[(r["interface"], r["address"], r["line"]) for r in d["readings"]]
			== [("port1", "00-00-5E-00-53-01", 2), ("mgmt", "00-00-5E-00-53-00", 4)] and len(d["serials"]) == 1
		and [(a["kind"], a["line"]) for a in d["as"]] == [("ip-link", 1), ("console", 3), ("ifmib", 6)] and d["problems"] == []'
verdict 'joined logs are read each by its own reader' $?
run 0 "$work/joined.log" &&
	grep -q 'joined.log: read as ip link as text (iproute2), from line 3 on also as console text, from line 6 on also as a walk' "$work/err"
verdict 'and that is said' $?
run 1 --as ip-link "$work/joined.log" && grep -q 'joined.log:3:1: text outside of the listing: "port1 00' "$work/err"
verdict 'lines that are nobody'"'"'s are a problem' $?

# A line that is too long.
"$python" -c 'print("port1 " + "x" * 4076 + " 0:0:5e:0:53:1f")
print("x" * 500000 + " port2 00-00-5E-00-53-02 " + "x" * 500)' >"$work/long.log"
run 1 --json "$work/long.log" &&
	json '[(r["interface"], r["address"], r["line"]) for r in d["readings"]] == [("port1", "00-00-5E-00-53-1F", 1), ("port2", "00-00-5E-00-53-02", 2)]
		and [(p["line"], p["reason"]) for p in d["problems"]] == [(n, "the line is too long and was read in pieces") for n in (1, 2)]'
verdict 'lines that are too long' $?

# No text.
"$python" -c 'import random, sys
random.seed(1)
sys.stdout.buffer.write(b"dry\n\xff" + random.randbytes(200000))' >"$work/noise.log"
printf '\377\376' >"$work/two.log"
run 1 --json "$work/noise.log" && json 'd["readings"] == [] and [(p["line"], p["reason"][:23]) for p in d["problems"]] == [(2, "bytes that are no text,")]' &&
	run 1 "$work/two.log" && grep -q 'two.log:1:1: bytes that are no text, 2 in all$' "$work/err"
verdict 'bytes that are no text' $?

# The patterns of a gear profile.
printf 'format: "1"\ngear: "eg-9"\ntitle: "practice"\nports:\n  - { name: "port1" }\nconsole:\n  interface-line: "^~~ leaf ([a-z0-9]+)"\n  address-line: "^ +true name (.*)$"\n' >"$work/eg-9.yaml"
printf '~~ leaf port1\n   pale 00-00-5E-00-53-81\n   true name 00-00-5E-00-53-01\n' >"$work/own.log"
run 0 --json --gear "$work/eg-9.yaml" "$work/own.log" && json '[(r["interface"], r["address"]) for r in d["readings"]] == [("port1", "00-00-5E-00-53-01")]'
verdict 'a log in words of the gear' $?
sed 's/(\.\*)/.*/' "$work/eg-9.yaml" >"$work/eg-8.yaml"
run 2 --gear "$work/eg-8.yaml" "$work/own.log" && grep -q 'eg-8.yaml:8:[0-9]*: address-line ".*" has no group; put round brackets' "$work/err"
verdict 'a pattern without a group' $?

"$program" read "$work/good.log" >/dev/full 2>"$work/err"
[ $? -eq 2 ]
verdict 'a result that cannot be written' $?
exit $failed
