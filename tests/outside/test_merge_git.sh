# portmuster merge, alone and as git's merge driver: no reading lost, conflicts
# named, and a file that is whole whatever happens.
set -u
program=${PROGRAM:?} python=/usr/bin/python3
case $program in /*) ;; *) program=$PWD/$program ;; esac
[ -x "$python" ] || python=python3
demo=$PWD/data/demo/fleet job=tb-12-vintrow-ford.yaml
work=$(mktemp -d) || exit 2
trap 'chmod -R u+w "$work"; rm -rf "$work"' EXIT
failed=0
# git knows nothing but this folder
export HOME="$work" XDG_CONFIG_HOME="$work" GIT_CONFIG_NOSYSTEM=1 GIT_CONFIG_GLOBAL="$work/gitconfig"
export GIT_AUTHOR_DATE=2026-10-01T00:00:00Z GIT_COMMITTER_DATE=2026-10-01T00:00:00Z

# verdict NAME STATUS: the case holds when STATUS is 0
verdict() {
	if [ "$2" -eq 0 ]; then
		echo "ok $1"
	else
		echo "not ok $1"
		sed 's/^/# /' "$work/out" "$work/err" 2>/dev/null
		failed=1
	fi
}
# read_in FILE OF VALUE BY MINUTE [SOURCE]: add a reading at the end, as a save does
read_in() {
	printf '  - of: "%s"\n    value: "%s"\n    source: "%s"\n    by: "%s"\n    at: "2026-10-01T10:%s:00Z"\n' \
		"$2" "$3" "${6:-typed}" "$4" "$5" >>"$1"
}
# holds FILE EXPRESSION: true of the file as YAML `d`, with its readings as `r`
# and what tells them apart as `t`
holds() {
	"$python" -c 'import sys, yaml
d = yaml.safe_load(open(sys.argv[1]))
r = [(e["of"], e["value"], e["by"]) for e in d.get("readings", [])]
t = [str(sorted(e.items())) for e in d.get("readings", [])]
sys.exit(not eval("(" + sys.argv[2] + ")"))' "$1" "$2" 2>>"$work/err"
}
# all_of FILE FILE...: the first has every reading of the others
all_of() {
	"$python" -c 'import sys, yaml
def readings(name): return [sorted(e.items()) for e in yaml.safe_load(open(name)).get("readings", [])]
have = readings(sys.argv[1])
sys.exit(any(e not in have for name in sys.argv[2:] for e in readings(name)))' "$@" 2>>"$work/err"
}
# run WANTED ARG...: the exit status is as wanted
run() {
	wanted=$1
	shift
	"$program" merge "$@" >"$work/out" 2>"$work/err"
	[ $? -eq "$wanted" ]
}

# --- the command alone ---

base=$demo/$job
fresh() {
	cp "$base" "$work/mine.yaml"
	cp "$base" "$work/theirs.yaml"
	chmod u+w "$work/mine.yaml" "$work/theirs.yaml"
}
fresh
read_in "$work/mine.yaml" step/a good 'tech 1' 01
read_in "$work/theirs.yaml" step/b good 'tech 2' 02
cp "$work/mine.yaml" "$work/before.yaml"
run 0 "$base" "$work/mine.yaml" "$work/theirs.yaml" && [ ! -s "$work/err" ] &&
	grep -q '^1 taken from THEIRS, 0 in conflict$' "$work/out" &&
	all_of "$work/mine.yaml" "$base" "$work/before.yaml" "$work/theirs.yaml" &&
	[ "$(find "$work" -name '.*.lock' | wc -l)" -eq 0 ]
verdict 'the result is written over MINE' $?

cp "$work/before.yaml" "$work/mine.yaml"
"$program" merge --out - "$base" "$work/mine.yaml" "$work/theirs.yaml" >"$work/out.yaml" 2>"$work/err" &&
	cmp -s "$work/mine.yaml" "$work/before.yaml" && all_of "$work/out.yaml" "$work/mine.yaml" "$work/theirs.yaml" &&
	grep -q '^1 taken' "$work/err"
verdict 'the result on standard output' $?

"$program" merge --out "$work/new.yaml" - "$work/mine.yaml" "$work/theirs.yaml" <"$base" >"$work/out" 2>"$work/err" &&
	cmp -s "$work/new.yaml" "$work/out.yaml"
verdict 'the base from standard input, the result in a new file' $?

run 0 --out "$work/new.yaml" /dev/null "$work/mine.yaml" "$work/theirs.yaml"
[ $? -ne 0 ] && [ -s "$work/err" ] && "$program" merge --out "$work/new.yaml" - "$work/mine.yaml" "$work/theirs.yaml" </dev/null >"$work/out" 2>"$work/err" &&
	all_of "$work/new.yaml" "$work/mine.yaml" "$work/theirs.yaml"
verdict 'no base at all' $?

fresh
read_in "$work/mine.yaml" port/port3 00-00-5E-00-53-01 'tech 1' 01
read_in "$work/theirs.yaml" port/port3 00-00-5E-00-53-02 "$(printf 'tech\0332')" 02 2>/dev/null
sed -i 's/\x1b/\\e/' "$work/theirs.yaml"
cp "$work/mine.yaml" "$work/before.yaml"
run 1 --json --name 'fleet/x.yaml' "$base" "$work/mine.yaml" "$work/theirs.yaml" && [ ! -s "$work/err" ] &&
	"$python" -c 'import json, sys
d = json.load(open(sys.argv[1]))
c = d["conflicts"][0]
sys.exit(not (d["name"] == "fleet/x.yaml" and d["merged"] == 1 and len(d["conflicts"]) == 1 and d["notes"] == []
	and c["key"] == "port/port3" and c["kind"] == "reading"
	and (c["mine"], c["theirs"]) == ("00-00-5E-00-53-01", "00-00-5E-00-53-02")
	and (c["mine-by"], c["theirs-by"]) == ("tech 1", "tech\x1b2") and c["mine-source"] == "typed"
	and c["mine-line"] == c["theirs-line"] > 20))' "$work/out" &&
	all_of "$work/mine.yaml" "$work/before.yaml" "$work/theirs.yaml"
verdict 'a conflict as JSON, the result written all the same' $?

cp "$work/before.yaml" "$work/mine.yaml"
line=$(($(wc -l <"$base") + 1))
run 1 --name 'fleet/x.yaml' "$base" "$work/mine.yaml" "$work/theirs.yaml" &&
	grep -qF "fleet/x.yaml: port/port3: in conflict: \"00-00-5E-00-53-01\" in MINE by tech 1 at line $line; \"00-00-5E-00-53-02\" in THEIRS by tech\\x1B2 at line $line; both stay" "$work/out" &&
	! LC_ALL=C grep -q "$(printf '\033')" "$work/out"
verdict 'a conflict as text, without a control character' $?

"$program" check --json --now 2026-10-08T09:00:00Z "$work/mine.yaml" >"$work/check.json" 2>"$work/err"
[ $? -eq 1 ] && grep -q '"reading-conflict"' "$work/check.json"
verdict 'the check finds the two readings' $?

printf 'attached:\n  - {kind: camera, name: spare, serial: "T%s"}\n' 1 >"$work/one.in"
sed 's/T1/T2/' "$work/one.in" >"$work/two.in"
grep -v '^ *#' "$base" | sed '/^attached:/,/^[^ ]/{/^attached:/d; /^ /d}' >"$work/base.yaml"
cat "$work/base.yaml" "$work/one.in" >"$work/mine.yaml"
cat "$work/base.yaml" "$work/two.in" >"$work/theirs.yaml"
run 1 "$work/base.yaml" "$work/mine.yaml" "$work/theirs.yaml" && holds "$work/mine.yaml" '[e["serial"] for e in d["attached"]] == ["T1", "T2"]' &&
	grep -q '^attached.spare.serial: in conflict: "T1" in MINE at line [0-9]*; "T2" in THEIRS at line [0-9]*; both stay$' "$work/out"
verdict 'two devices of one name, added by two people' $?

# --- what is no job ---

other_files() {
	printf 'a: 1\nb: 2\nc: 3\nd: 4\ne: 5\n' >"$work/base.yaml"
	sed 's/a: 1/a: 6/' "$work/base.yaml" >"$work/mine.yaml"
	sed "s/$1/" "$work/base.yaml" >"$work/theirs.yaml"
	cp "$work/mine.yaml" "$work/before.yaml"
}
other_files 'e: 5/e: 7'
run 0 "$work/base.yaml" "$work/mine.yaml" "$work/theirs.yaml" && [ ! -s "$work/err" ] &&
	grep -qx 'no job file: merged as text, 0 in conflict' "$work/out" && tr '\n' ' ' <"$work/mine.yaml" | grep -qx 'a: 6 b: 2 c: 3 d: 4 e: 7 '
verdict 'other files are merged as text' $?
cp "$work/before.yaml" "$work/mine.yaml"
mkdir "$work/tmp"
TMPDIR=$work/tmp "$program" merge --out - - "$work/mine.yaml" "$work/theirs.yaml" <"$work/base.yaml" >"$work/out" 2>"$work/err" &&
	cmp -s "$work/mine.yaml" "$work/before.yaml" && tr '\n' ' ' <"$work/out" | grep -qx 'a: 6 b: 2 c: 3 d: 4 e: 7 ' && rmdir "$work/tmp"
verdict 'the same from standard input and to standard output' $?
other_files 'a: 1/a: 8'
run 1 --json "$work/base.yaml" "$work/mine.yaml" "$work/theirs.yaml" && [ "$(head -1 "$work/mine.yaml")" = '<<<<<<< MINE' ] && "$python" -c 'import json, sys
d = json.load(open(sys.argv[1]))
sys.exit(d != {"name": None, "as": "text", "merged": 0, "notes": [], "conflicts": [{"key": None, "kind": "text", "line": 1}]})' "$work/out"
verdict 'their conflicts as JSON' $?
other_files 'e: 5/e: \&x 7'
run 0 "$work/base.yaml" "$work/mine.yaml" "$work/theirs.yaml" && grep -qx 'e: &x 7' "$work/mine.yaml" && grep -qx 'a: 6' "$work/mine.yaml"
verdict 'YAML that no job file may be is merged as text too' $?
other_files 'e: 5/e: 7'
PATH=$work/none "$program" merge "$work/base.yaml" "$work/mine.yaml" "$work/theirs.yaml" >"$work/out" 2>"$work/err"
[ $? -eq 2 ] && grep -q "no job file, and git can't be run to merge it as text; install git" "$work/err" &&
	[ ! -s "$work/out" ] && cmp -s "$work/mine.yaml" "$work/before.yaml"
verdict 'without git they are left alone' $?
printf 'a\0b\n' >"$work/theirs.yaml"
run 2 "$work/base.yaml" "$work/mine.yaml" "$work/theirs.yaml" && grep -q 'git does not merge it as text' "$work/err" && cmp -s "$work/mine.yaml" "$work/before.yaml"
verdict 'what git does not merge is left alone' $?

# unable ARG...: exit 2, a complaint, and MINE as it was
unable() {
	run 2 "$@" && [ -s "$work/err" ] && [ ! -s "$work/out" ] && cmp -s "$work/mine.yaml" "$work/before.yaml"
}
fresh
read_in "$work/theirs.yaml" step/b good 'tech 2' 02
cp "$work/mine.yaml" "$work/before.yaml"
unable "$base" "$work/mine.yaml" "$demo/tb-13-dunvorrel-lock.yaml" && grep -q 'not two copies of one job' "$work/err"
verdict 'two sites are refused' $?
printf '<<<<<<< ours\n' >>"$work/theirs.yaml"
unable --name fleet/x.yaml "$base" "$work/mine.yaml" "$work/theirs.yaml" &&
	grep -q "^portmuster: fleet/x.yaml (THEIRS):$((line + 5)):1: a conflict marker" "$work/err"
verdict 'conflict markers are refused with their line' $?
unable "$work/none" "$work/mine.yaml" "$work/theirs.yaml" && unable "$base" "$work/mine.yaml" &&
	unable --json --out - "$base" "$work/mine.yaml" "$work/mine.yaml" && unable --colour "$base" "$work/mine.yaml" "$work/mine.yaml"
verdict 'usage and missing files' $?
printf 'id: x\nphases: []\n' >"$work/plan.yaml"
printf 'id: y\n"site" : &x {}\n' >"$work/slip.yaml"
unable "$work/plan.yaml" "$work/mine.yaml" "$work/plan.yaml" && unable "$base" "$work/mine.yaml" "$work/plan.yaml" &&
	cp "$work/plan.yaml" "$work/mine.yaml" && cp "$work/plan.yaml" "$work/before.yaml" &&
	unable "$work/plan.yaml" "$work/mine.yaml" "$base" && unable "$work/plan.yaml" "$work/mine.yaml" "$work/slip.yaml"
verdict 'a job is never merged as text' $?

fresh
read_in "$work/theirs.yaml" step/b good 'tech 2' 02
cp "$work/mine.yaml" "$work/before.yaml"
# a file that may not grow stands for a disk without room
(trap '' XFSZ; ulimit -f 1; exec "$program" merge "$base" "$work/mine.yaml" "$work/theirs.yaml" >/dev/null 2>&1)
[ $? -eq 2 ] && cmp -s "$work/mine.yaml" "$work/before.yaml" && [ "$(find "$work" -name '.*.tmp' | wc -l)" -eq 0 ]
verdict 'no room: MINE is as it was' $?
"$program" merge --out - "$base" "$work/mine.yaml" "$work/theirs.yaml" >/dev/full 2>"$work/err"
[ $? -eq 2 ] && [ -s "$work/err" ]
verdict 'no room on standard output' $?
(flock -n 9 && exec "$program" merge "$base" "$work/mine.yaml" "$work/theirs.yaml" >"$work/out" 2>"$work/err") 9>"$work/.mine.yaml.lock"
[ $? -eq 2 ] && grep -q 'held by' "$work/err" && cmp -s "$work/mine.yaml" "$work/before.yaml"
verdict 'a job that a session holds is left alone' $?
rm -f "$work/.mine.yaml.lock"

# --- as git's driver ---

# block WORD: the indented lines of the page on git that follow the line with WORD
block() {
	awk -v word="$1" 'seen && /^    / { print substr($0, 5); shown = 1 } shown && !/^    / { exit }
		index($0, word) && !/^    / { seen = 1 }' docs/git.md
}
mkdir "$work/bin" && ln -s "$program" "$work/bin/portmuster" && PATH=$work/bin:$PATH
block 'Once on every computer' >"$work/settings"
git config --global user.name 'tech 0' && git config --global user.email tech@example.invalid &&
	git config --global init.defaultBranch main && git config --global advice.detachedHead false &&
	[ "$(grep -c '^git config' "$work/settings")" -eq 2 ] && sh -e "$work/settings" &&
	git config merge.portmuster.driver | grep -q '^portmuster merge '
verdict "git is there, with the page's settings of a computer" $?

# in_git CLONE ARG...
in_git() {
	clone=$1
	shift
	git -C "$work/$clone" "$@" >>"$work/out" 2>>"$work/err"
}
commit() {
	in_git "$1" add -A && in_git "$1" commit -qm "$2"
}
mkdir -p "$work/origin/plans" "$work/origin/gear" "$work/origin/sheets" "$work/origin/evidence" "$work/origin/north"
cp "$demo"/tb-1[123]*.yaml "$demo/fleet.yaml" "$work/origin" && cp "$demo"/evidence/*.log "$work/origin/evidence"
cp "$demo/tb-15-tolvane-narrows.yaml" "$work/origin/north/tb-15.yml"
for folder in plans gear sheets; do
	cp "data/$folder"/*.yaml "$work/origin/$folder"
done
chmod -R u+w "$work/origin"
block '`.gitattributes` that is committed' >"$work/origin/.gitattributes"
block '`.gitignore`' >"$work/origin/.gitignore"
grep -v '^#' "$work/origin/.gitattributes" >"$work/out"
[ "$(wc -l <"$work/out")" -eq 3 ] && [ "$(wc -l <"$work/origin/.gitignore")" -eq 2 ] &&
	in_git origin init -q && commit origin 'the fleet'
verdict "the page's settings of a repository" $?

# clones: two technicians' copies of the fleet as it is
clones() {
	rm -rf "$work/one" "$work/two"
	: >"$work/out"
	: >"$work/err"
	git clone -q "$work/origin" "$work/one" 2>>"$work/err" && git clone -q "$work/origin" "$work/two" 2>>"$work/err"
}
# meet: `one` brings in what `two` committed
meet() {
	cp "$work/one/$job" "$work/one.yaml" && cp "$work/two/$job" "$work/two.yaml" &&
		in_git one fetch -q "$work/two" main && in_git one merge -q -m 'both' FETCH_HEAD
}

clones
read_in "$work/one/$job" step/a good 'tech 1' 01
read_in "$work/one/$job" port/port1 00-00-5E-00-53-41 'tech 1' 03
read_in "$work/two/$job" step/b good 'tech 2' 02
read_in "$work/two/$job" step/c good 'tech 2' 04
echo one >"$work/one/evidence/$(echo one | sha256sum | cut -c 1-64).log"
echo two >"$work/two/evidence/$(echo two | sha256sum | cut -c 1-64).log"
commit one 'a morning' && commit two 'another' && meet && all_of "$work/one/$job" "$work/one.yaml" "$work/two.yaml" &&
	holds "$work/one/$job" '[x[0] for x in r[-4:]] == ["step/a", "step/b", "port/port1", "step/c"]' &&
	[ -z "$(git -C "$work/one" status --porcelain)" ] && ls "$work/one/evidence" | wc -l | grep -qx 14
verdict 'two technicians, one job' $?

# the same without the driver is what the driver is for
in_git one reset -q --hard HEAD^ && mv "$work/gitconfig" "$work/kept" &&
	git config --global user.name x && git config --global user.email x@example.invalid
in_git one merge -q -m both FETCH_HEAD
[ $? -ne 0 ] && grep -q '^<<<<<<<' "$work/one/$job"
verdict 'without the driver git gives up on it' $?
mv "$work/kept" "$work/gitconfig"

clones
read_in "$work/one/$job" port/port3 00-00-5E-00-53-01 'tech 1' 01
read_in "$work/two/$job" port/port3 00-00-5E-00-53-02 'tech 2' 02
commit one 'a' && commit two 'b'
meet
[ $? -eq 1 ] && grep -q "^$job: port/port3: in conflict: \"00-00-5E-00-53-01\" in MINE by tech 1" "$work/out" &&
	[ "$(git -C "$work/one" diff --name-only --diff-filter=U)" = "$job" ] && ! grep -q '^<<<<<<<' "$work/one/$job" &&
	all_of "$work/one/$job" "$work/one.yaml" "$work/two.yaml"
verdict 'a conflict: git says so, the file is whole' $?
read_in "$work/one/$job" port/port3 00-00-5E-00-53-02 'tech 1' 09 withdrawn
commit one 'settled' && [ -z "$(git -C "$work/one" status --porcelain)" ]
verdict 'it is settled with one more entry' $?

# harmless edits of everything that is no job: at the top of it, and at its end
clones
others='plans/router-swap.yaml gear/eg-12.yaml sheets/tavrane-desk.yaml fleet.yaml'
for file in $others; do
	sed -i '1i # of one' "$work/one/$file"
	echo '# of two' >>"$work/two/$file"
done
commit one 'a' && commit two 'b' && meet && [ -z "$(git -C "$work/one" status --porcelain)" ] &&
	[ "$(grep -c ': no job file: merged as text, 0 in conflict$' "$work/out")" -eq 4 ]
merged=$?
for file in $others; do
	(echo '# of one' && cat "$work/origin/$file" && echo '# of two') | cmp -s - "$work/one/$file" || merged=1
done
verdict 'plans, gear profiles, layouts and fleet.yaml are merged as text' "$merged"

clones
echo '# one' >>"$work/one/fleet.yaml"
echo '# two' >>"$work/two/fleet.yaml"
commit one 'a' && commit two 'b'
meet
[ $? -eq 1 ] && [ "$(git -C "$work/one" diff --name-only --diff-filter=U)" = fleet.yaml ] &&
	tail -5 "$work/one/fleet.yaml" | tr '\n' ' ' | grep -qx '<<<<<<< MINE # one ======= # two >>>>>>> THEIRS ' &&
	grep -q '^fleet.yaml: no job file: merged as text, 1 in conflict$' "$work/out" && ! grep -q '^portmuster:' "$work/err"
verdict 'where they meet, both stay between marks' $?

clones
read_in "$work/one/north/tb-15.yml" step/a good 'tech 1' 01
read_in "$work/two/north/tb-15.yml" step/b good 'tech 2' 02
cp "$work/one/north/tb-15.yml" "$work/mine.yaml"
commit one 'a' && commit two 'b' && meet &&
	all_of "$work/one/north/tb-15.yml" "$work/mine.yaml" "$work/two/north/tb-15.yml" && grep -q '^north/tb-15.yml: 1 taken' "$work/out"
verdict 'a job below the top, with the other ending' $?

clones
sed -i 's/due: "[^"]*"/due: "2026-11-01"/' "$work/one/$job"
sed -i 's/due: "[^"]*"/due: "2026-12-01"/' "$work/two/$job"
commit one 'a' && commit two 'b'
meet
[ $? -eq 1 ] && holds "$work/one/$job" 'd["site"]["due"] == "2026-11-01"' &&
	grep -qx '  # in conflict: due is "2026-12-01" in THEIRS' "$work/one/$job"
verdict 'a date of the head set twice' $?

clones
read_in "$work/one/$job" step/a good 'tech 1' 05
commit one 'a'
read_in "$work/one/$job" step/b good 'tech 1' 07
commit one 'b'
read_in "$work/two/$job" step/c good 'tech 2' 06
commit two 'c'
cp "$work/one/$job" "$work/one.yaml"
cp "$work/two/$job" "$work/two.yaml"
in_git one fetch -q "$work/two" main && in_git one rebase -q FETCH_HEAD &&
	all_of "$work/one/$job" "$work/one.yaml" "$work/two.yaml" && holds "$work/one/$job" 'len(t) == len(set(t))'
verdict 'a rebase' $?

# each merges an earlier state of the other: git makes a base out of two
clones
read_in "$work/one/$job" step/a good 'tech 1' 01
read_in "$work/two/$job" step/b good 'tech 2' 02
commit one 'a' && commit two 'b' && in_git one branch old && in_git two branch old &&
	in_git one fetch -q "$work/two" old && in_git one merge -q -m x FETCH_HEAD &&
	in_git two fetch -q "$work/one" old && in_git two merge -q -m y FETCH_HEAD
crossed=$?
read_in "$work/one/$job" step/c good 'tech 1' 03
read_in "$work/two/$job" step/d good 'tech 2' 04
[ "$crossed" -eq 0 ] && commit one 'c' && commit two 'd' && meet && all_of "$work/one/$job" "$work/one.yaml" "$work/two.yaml" &&
	holds "$work/one/$job" 'len([x for x in r if x[0] in ("step/a", "step/b", "step/c", "step/d")]) == 4'
verdict 'merges that crossed' $?

clones
cp "$demo/tb-14-quarrend-mill.yaml" "$work/one"
cp "$demo/tb-14-quarrend-mill.yaml" "$work/two"
chmod u+w "$work"/*/tb-14*.yaml
job=tb-14-quarrend-mill.yaml
read_in "$work/one/$job" step/a good 'tech 1' 01
read_in "$work/two/$job" step/b good 'tech 2' 02
commit one 'a' && commit two 'b' && meet && all_of "$work/one/$job" "$work/one.yaml" "$work/two.yaml" &&
	holds "$work/one/$job" 'len(t) == len(set(t))'
verdict 'a job that both added' $?

exit "$failed"
