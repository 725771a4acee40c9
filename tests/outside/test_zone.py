"""Zones, held against Python's zoneinfo: every installed zone, at its changes and at random instants and wall
times from 1970 to 2100. Then what the program makes of them."""
import datetime
import json
import os
import random
import shlex
import struct
import subprocess
import sys
import tempfile
import zoneinfo

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
BUILD = os.path.join(ROOT, os.environ.get("BUILD", "build"))
CC = shlex.split(os.environ.get("CC") or "cc")
DATA = "/usr/share/zoneinfo"
EPOCH = datetime.datetime(1970, 1, 1)
UTC = datetime.timezone.utc
FIRST, LAST = 0, int((datetime.datetime(2100, 1, 1) - EPOCH).total_seconds())
failures = 0


def report(name, wrong, count):
    global failures
    if wrong or count == 0:
        failures += 1
        print("not ok %s: %d wrong of %d" % (name, len(wrong), count))
        for line in wrong[:5]:
            print("  ", line)
    else:
        print("ok %s (%d)" % (name, count))


def build(folder):
    out = os.path.join(folder, "driver")
    base = CC + ["-std=c11", "-D_DEFAULT_SOURCE", "-I" + os.path.join(ROOT, "include"), os.path.join(HERE, "zone_ask.c"),
                 os.path.join(BUILD, "libportmuster.a"), "-lsodium", "-o", out]
    # An archive that was built with sanitizers needs them here as well.
    for extra in ([], ["-fsanitize=address,undefined"]):
        result = subprocess.run(base + extra, capture_output=True, text=True)
        if result.returncode == 0:
            return out
    sys.exit("the driver does not build:\n" + result.stderr[-3000:])


def ask(driver, lines):
    result = subprocess.run([driver], input="".join(line + "\n" for line in lines), capture_output=True, text=True)
    answers = result.stdout.splitlines()
    if result.returncode != 0 or len(answers) != len(lines):
        sys.exit("the driver failed: " + result.stderr[-3000:])
    return answers


def load(name, path):
    with open(path, "rb") as file:
        return zoneinfo.ZoneInfo.from_file(file, key=name)


def installed(below=""):
    names = []
    for folder, _, files in os.walk(os.path.join(DATA, below)):
        for file in files:
            path = os.path.join(folder, file)
            name = os.path.relpath(path, DATA)
            if not below and name.split("/")[0] in ("posix", "right"):
                continue
            with open(path, "rb") as opened:
                if opened.read(4) == b"TZif":
                    names.append(name)
    return sorted(names)


def at(zone, second):
    local = datetime.datetime.fromtimestamp(second, UTC).astimezone(zone)
    summer = local.dst()
    return "%d %d %s" % (local.utcoffset().total_seconds(), bool(summer), local.tzname())


def wall(zone, second):
    """Each fold's offset gives an instant; it counts when the clock shows the wall time then."""
    local = EPOCH + datetime.timedelta(seconds=second)
    found = []
    for fold in (0, 1):
        offset = local.replace(tzinfo=zone, fold=fold).utcoffset()
        instant = second - int(offset.total_seconds())
        shown = datetime.datetime.fromtimestamp(instant, UTC).astimezone(zone).replace(tzinfo=None)
        if shown == local and instant not in found:
            found.append(instant)
    if not found:
        # RFC 5545 section 3.3.5: the offset before the gap, which fold 0 stands for (PEP 495)
        offset = local.replace(tzinfo=zone, fold=0).utcoffset()
        return "0 %d" % (second - int(offset.total_seconds()))
    return "%d %s" % (len(found), " ".join(str(instant) for instant in sorted(found)))


def changes(zone):
    """Instants at which the offset changes, found by looking every ten days."""
    found = []
    step = 10 * 86400
    def offset(second):
        return datetime.datetime.fromtimestamp(second, UTC).astimezone(zone).utcoffset()
    before = offset(FIRST)
    for second in range(FIRST + step, LAST, step):
        after = offset(second)
        if after != before:
            low, high = second - step, second
            while high - low > 1:
                middle = (low + high) // 2
                if offset(middle) == before:
                    low = middle
                else:
                    high = middle
            found.append(high)
        before = after
    return found


def hold_against(driver, names, folder=DATA):
    """Questions and both answers, for zones by name. An abbreviation is compared too; whether it is summer
    time only where Python can tell: its dst() is a guess from the neighbours of a change."""
    lines, expected = [], []
    chance = random.Random(9636)
    counts = {"at": 0, "wall": 0, "gaps": 0, "twice": 0}
    for name in names:
        zone = load(name, os.path.join(folder, name))
        lines.append("zone %s %s" % (name, os.path.join(folder, name)))
        expected.append("ok")
        seconds = [chance.randrange(FIRST, LAST) for _ in range(60)]
        walls = [chance.randrange(FIRST + 86400, LAST) for _ in range(60)]
        for change in changes(zone):
            seconds += [change - 1, change]
            for offset in (int(at(zone, change - 1).split()[0]), int(at(zone, change).split()[0])):
                walls += [change + offset + delta for delta in (-1, 0, 1, 1799)]
        for second in seconds:
            lines.append("at %d" % second)
            expected.append(at(zone, second))
            counts["at"] += 1
        for second in walls:
            lines.append("wall %d" % second)
            expected.append(wall(zone, second))
            counts["wall"] += 1
            counts["gaps"] += expected[-1][0] == "0"
            counts["twice"] += expected[-1][0] == "2"
    wrong, name = [], ""
    for line, want, got in zip(lines, expected, ask(driver, lines)):
        name = line.split()[1] if line.startswith("zone") else name
        if line.startswith("at"):
            want, got = want.split(), got.split()
            want, got = (want[0], want[2]), (got[0], got[2])
        if want != got:
            wrong.append("%s %s: %s, here %s" % (name, line, want, got))
    return wrong, counts


def all_zones(driver):
    names = installed()
    with open(os.path.join(DATA, "zone1970.tab"), encoding="utf-8") as table:
        listed = {line.split("\t")[2].strip() for line in table if not line.startswith("#")}
    wrong, counts = hold_against(driver, names)
    wrong += ["zone1970.tab has %s, which was not asked" % name for name in listed - set(names)]
    report("every installed zone as Python reads it", wrong, counts["at"] + counts["wall"])
    print("# figure zones: %d zones, %d instants, %d wall times (%d in a gap, %d twice)" %
          (len(names), counts["at"], counts["wall"], counts["gaps"], counts["twice"]))
    report("gaps and repeated hours were among them", [] if counts["gaps"] > 1000 and counts["twice"] > 1000 else [counts], len(names))


def other_forms(driver, work):
    """The same zones as the compiler writes them today, with a footer instead of a list of changes, and as
    version 1, which has no footer at all."""
    names = [name for name in installed() if "/" in name][::4]
    slim, old = os.path.join(work, "slim"), os.path.join(work, "old")
    zic = next((path for path in ("/usr/sbin/zic", "/usr/bin/zic") if os.path.exists(path)), None)
    if zic:
        subprocess.run([zic, "-b", "slim", "-d", slim, os.path.join(DATA, "tzdata.zi")], check=True, stderr=subprocess.DEVNULL)
        there = [name for name in names if os.path.exists(os.path.join(slim, name))]
        wrong, counts = hold_against(driver, there, slim)
        report("zones that zic writes without the repeated changes", wrong, counts["at"] + counts["wall"])
    for name in names:
        with open(os.path.join(DATA, name), "rb") as file:
            data = file.read()
        ut, standard, leaps, changes_, kinds, letters = struct.unpack(">6L", data[20:44])
        size = 44 + changes_ * 5 + kinds * 6 + letters + leaps * 8 + standard + ut
        os.makedirs(os.path.dirname(os.path.join(old, name)), exist_ok=True)
        with open(os.path.join(old, name), "wb") as file:
            file.write(data[:4] + b"\0" + data[5:size])
    wrong, counts = hold_against(driver, names, old)
    report("zones of version 1", wrong, counts["at"] + counts["wall"])


def leap_seconds(driver):
    names = installed("right")
    answers = ask(driver, ["zone %s %s" % (name, os.path.join(DATA, name)) for name in names])
    wrong = [(name, answer) for name, answer in zip(names, answers) if "leap seconds" not in answer]
    if names:
        report("zones that count leap seconds are refused", wrong, len(names))


# --- what the program makes of them -----------------------------------------

PROGRAM = os.path.join(ROOT, os.environ.get("PROGRAM", "build/bin/portmuster"))
BOOKED = "2026-10-13T08:00:00Z/2026-10-13T12:00:00Z"   # in the job of the practice fleet that is used here
NOW = ["--now", "2026-10-08T09:00:00Z"]


def run(*args, folder=None):
    environment = dict(os.environ)
    environment.pop("TZDIR", None)
    if folder:
        environment["TZDIR"] = folder
    result = subprocess.run([PROGRAM] + list(args), env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    return result.returncode, result.stdout.decode(), result.stderr.decode()


def check(name, good, *details):
    global failures
    print("%s %s" % ("ok" if good else "not ok", name))
    if not good:
        failures += 1
        for each in details:
            print("# " + str(each)[:700].replace("\n", "\n# "))


def new_jobs(work):
    path = os.path.join(work, "new.yaml")
    base = ["new", "--code", "TB-90", "--gear", "eg-12"]
    status, said, err = run(*base, "--zone", "Nowhere/Zone", path)
    check("new refuses a zone that is none", status == 2 and 'no such time zone: "Nowhere/Zone"' in err and not os.path.exists(path), err)
    status, said, err = run(*base, "--zone", "EST5ETD", path)
    check("and names the one that was meant", status == 2 and "EST5EDT" in err and not os.path.exists(path), err)
    for name in ("../../etc/passwd", "/etc/passwd", "Etc", "zone.tab", "right/WET", "Etc/U\x1b[2JTC"):
        status, said, err = run(*base, "--zone", name, path)
        check("new refuses %r" % name, status == 2 and "no such time zone" in err and "\x1b" not in err and not os.path.exists(path), err)
    status, said, err = run(*base, "--zone", "EST5EDT", path)
    check("new takes one that there is, and says nothing more", status == 0 and err == "" and os.path.exists(path), err)
    sites = os.path.join(work, "sites.csv")
    with open(sites, "w") as file:
        file.write("code,zone\nTB-91,EST5EDT\nTB-92,\nTB-93,EST5EDX\n")
    status, said, err = run("new", "--list", sites, "--gear", "eg-12", os.path.join(work, "jobs"))
    check("a list with an unknown zone makes nothing, and tells the line", status == 2 and "sites.csv:4:7:" in err and "EST5EDT" in err
          and not os.path.exists(os.path.join(work, "jobs")), err)
    status, said, err = run("new", "--list", sites, "--gear", "eg-12", os.path.join(work, "jobs"), folder="/nonexistent")
    check("without the data it is made, and said once that nobody looked", status == 0 and len(said.split()) == 3
          and err.count("was not looked up: the time zone data is not installed") == 1, said, err)


def job_of(work, name, zone, window):
    """The job of the practice fleet that is booked, in another zone and another window."""
    with open(os.path.join(ROOT, "data/demo/fleet/tb-15-tolvane-narrows.yaml"), encoding="utf-8") as file:
        text = file.read()
    assert 'zone: "Etc/UTC"' in text and BOOKED in text
    path = os.path.join(work, name)
    with open(path, "w", encoding="utf-8") as file:
        file.write(text.replace('zone: "Etc/UTC"', 'zone: "%s"' % zone).replace(BOOKED, window or BOOKED))
    return path


def judged(path, folder=None):
    _, said, err = run("check", "--json", *NOW, path, folder=folder)
    job = json.loads(said)["jobs"][0]
    return job, {finding["code"]: finding for finding in job["findings"]}


def checks(work):
    job, found = judged(job_of(work, "wet.yaml", "WET", None))
    check("a window in UTC is shown on the site's clocks", job["appointment"] == {
        "from": "2026-10-13T08:00:00Z", "until": "2026-10-13T12:00:00Z", "zone": "WET",
        "from-there": "2026-10-13T09:00:00+01:00", "until-there": "2026-10-13T13:00:00+01:00"}, job["appointment"])
    # UTC is the winter time there
    check("and is asked about where the site has UTC in winter", found["offset-unusual"]["suggestion"] ==
          "2026-10-13T08:00:00+01:00/2026-10-13T12:00:00+01:00", found)
    job, found = judged(job_of(work, "cet.yaml", "CET", None))
    check("where it never has, it is not", "offset-unusual" not in found and "zone-unchecked" not in found, found)
    job, found = judged(job_of(work, "slip.yaml", "CET", "2026-10-26T09:00:00+02:00/2026-10-26T11:00:00+02:00"))
    check("the offset of summer for a day in winter is found", found["offset-unusual"]["severity"] == "warn" and
          found["offset-unusual"]["suggestion"] == "2026-10-26T09:00:00+01:00/2026-10-26T11:00:00+01:00", found)
    path = job_of(work, "unknown.yaml", "EST5EDX", None)
    job, found = judged(path)
    check("a zone that is none is found, with its line", found["zone-unknown"]["suggestion"] == "EST5EDT" and
          found["zone-unknown"]["severity"] == "warn" and found["zone-unknown"]["line"] > 1, found)
    job, found = judged(path, "/nonexistent")
    check("without the data that is said instead", "zone-unknown" not in found and found["zone-unchecked"]["severity"] == "note" and
          job["appointment"]["from-there"] is None, found)
    path = os.path.join(work, "cet.yaml")
    shown = "2026-10-13 10:00 to 14:00 +02:00 CEST, CET (08:00 to 12:00 UTC)"
    for name, arguments in (("check", ["check", *NOW, path]), ("packet", ["packet", *NOW, path])):
        _, said, err = run(*arguments)
        flat = " ".join(said.split())
        where = shown if name == "packet" else "2026-10-13 10:00 +02:00 CEST, CET (08:00 UTC)"
        check("%s shows the window on the site's clocks" % name, where in flat, said)
        _, said, err = run(*arguments, folder="/nonexistent")
        check("%s without the data as it was written" % name, "2026-10-13T08:00:00Z" in said and "CEST" not in said, said)
    _, said, err = run("packet", "--html", os.path.join(work, "page.html"), *NOW, path)
    with open(os.path.join(work, "page.html"), encoding="utf-8") as file:
        check("and so does the packet's page", shown in file.read(), err)
    _, said, _ = run("calendar", *NOW, path)
    check("the calendar stays in UTC", "DTSTART:20261013T080000Z" in said, said)


def reviewed(work):
    fleet = os.path.join(work, "fleet")
    os.mkdir(fleet)
    for i, (zone, window) in enumerate([("CET", "2026-10-26T09:00:00+02:00/2026-10-26T11:00:00+02:00"), ("CET", None),
                                        ("EST5EDX", None)] * 20):
        job_of(fleet, "%d.yaml" % i, zone, window)
    _, said, _ = run("review", "--json", *NOW, fleet)
    codes = [[finding["code"] for finding in job["findings"]] for job in json.loads(said)["jobs"]]
    check("the review finds the same in many jobs", sum("offset-unusual" in job for job in codes) == 20 and
          sum("zone-unknown" in job for job in codes) == 20 and len(codes) == 60, len(codes))


def walked(work):
    """The practice site in another zone: its booking is answered with a wall time."""
    site = os.path.join(work, "site")
    run("new", "--practice", site)
    job, answers = os.path.join(site, "site.yaml"), os.path.join(site, "answers.yaml")
    def change(path, old, new):
        with open(path, encoding="utf-8") as file:
            text = file.read()
        assert old in text, (path, old)
        with open(path, "w", encoding="utf-8") as file:
            file.write(text.replace(old, new))
    change(job, '"Etc/UTC"', '"CET"')
    change(answers, "2026-09-14T10:00:00Z/2026-09-14T14:00:00Z", "2026-09-14 12:00 to 16:00")
    status, said, err = run("walk", "--answers", answers, job)
    with open(job, encoding="utf-8") as file:
        text = file.read()
    check("walk --answers takes a wall time and records its offset", "2026-09-14T12:00:00+02:00/2026-09-14T16:00:00+02:00" in text and
          "2026-09-14 12:00 to 16:00 +02:00 CEST, CET (10:00 to 14:00 UTC)" in said and status == 0, said[-1500:], err)


with tempfile.TemporaryDirectory() as work:
    if not os.path.exists(os.path.join(DATA, "zone1970.tab")):
        print("not ok the time zone data is not installed (Debian package tzdata)")
        sys.exit(1)
    program = build(work)
    all_zones(program)
    other_forms(program, work)
    leap_seconds(program)
    new_jobs(work)
    checks(work)
    reviewed(work)
    walked(work)
sys.exit(failures > 0)
