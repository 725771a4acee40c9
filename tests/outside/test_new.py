"""Job files that `new` makes, read back by PyYAML: what the site list or the command line said, and nothing else."""
import csv
import os
import resource
import subprocess
import sys
import tempfile

import yaml

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
PROGRAM = os.path.join(ROOT, os.environ.get("PROGRAM", "build/bin/portmuster"))
COLUMNS = ["code", "name", "zone", "unit", "parent", "crew", "old-serial", "due"]
# What YAML readers, shells and spreadsheets take for something else.
NASTY = ["NO", "12E456", "0012", "52:54:00:12:34:56", "12:30", "1.10", "~", "a: b", "- x", "# y", "\"", "'", "{", "caf\u00e9", "\U0001F4A7", "=1+1", " x"]
failed = False


# Without time zone data a zone is taken as it stands: any text can be tried.
ENVIRONMENT = dict(os.environ, TZDIR="/nonexistent")


def run(*args, **more):
    result = subprocess.run([PROGRAM, "new"] + list(args), env=dict(ENVIRONMENT, **more), stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    return result.returncode, result.stdout.decode(), result.stderr.decode()


def check(name, good, *details):
    global failed
    print("%s %s" % ("ok" if good else "not ok", name))
    if not good:
        failed = True
        for each in details:
            print("# " + str(each)[:500].replace("\n", "\n# "))


def read(path):
    with open(path, encoding="utf-8") as file:
        return yaml.load(file, Loader=yaml.BaseLoader)


def write_list(path, header, rows):
    with open(path, "w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows([header] + rows)
    return path


def check_list(folder):
    rows = [["TB-%02d" % i] + [NASTY[(i + k) % len(NASTY)] for k in range(6)] + ["2026-03-02", ["yes", "no", ""][i % 3]] for i in range(len(NASTY))]
    site_list = write_list(os.path.join(folder, "sites.csv"), COLUMNS + ["live"], rows)
    jobs = os.path.join(folder, "jobs")
    status, said, err = run("--list", site_list, "--gear", "eg-12", jobs + "/")
    paths = ["%s/tb-%02d.yaml" % (jobs, i) for i in range(len(rows))]
    check("a site list makes its folder and a job a row", status == 0 and said.split() == paths and sorted(os.listdir(jobs)) == [os.path.basename(p) for p in paths], said, err)
    wrong = []
    for path, row in zip(paths, rows):
        job = read(path)
        wanted = {key: value for key, value in zip(COLUMNS, row) if value}
        found = dict(job["site"])
        wanted["live"] = "yes" if row[-1] == "yes" else "no"
        found["live"] = found.get("live", "no")
        if found != wanted or job["format"] != "1" or job["gear"] != "eg-12" or job["plan"] != "router-swap" or job.get("readings"):
            wrong.append((path, found, wanted))
    check("PyYAML reads every value back as its text", not wrong, *wrong)
    before = {path: open(path, "rb").read() for path in paths}
    status, said, err = run("--list", site_list, "--gear", "eg-12", jobs)
    check("a job file that exists is not overwritten", status == 2 and "exists already" in err and before == {path: open(path, "rb").read() for path in paths}, err)


def check_refused(folder):
    cases = [
        ("two rows of one file", ["code"], [["A b"], ["a-b"]], ":3", "the same file"),
        ("a row without a code", ["code", "name"], [["A", "x"], ["", "y"]], ":3", "without a site code"),
        ("a column that is none", ["code", "nmae"], [["A", "x"]], ":1", "unknown column \"nmae\""),
        ("a short row", ["code", "name"], [["A"]], ":2", "1 fields where the header has 2"),
        ("live is neither", ["code", "live"], [["A", "maybe"]], ":2", "yes or no"),
    ]
    for name, header, rows, place, says in cases:
        path, out = write_list(os.path.join(folder, "bad.csv"), header, rows), os.path.join(folder, "none")
        status, said, err = run("--list", path, "--gear", "eg-12", out)
        check("%s: nothing is made" % name, status == 2 and not said and says in err and "bad.csv" + place in err and not os.path.exists(out), said, err)
    path = write_list(os.path.join(folder, "good.csv"), ["code"], [["A"]])
    status, _, err = run("--list", path, "--gear", "eg-12", path)
    check("a file where the folder should be", status == 2 and "no folder" in err, err)
    status, _, err = run("--list", path, "--gear", "eg-12", os.path.join(folder, "no", "such"))
    check("a folder below one that is not there", status == 2 and "no such file or folder" in err, err)
    status, _, err = run("--list", path, "--gear", "no-such", os.path.join(folder, "none"))
    check("a gear profile that is not there", status == 2 and "no-such" in err and not os.path.exists(os.path.join(folder, "none")), err)


SHORT_PLAN = """format: "1"
plan: "short"
title: "one step"
phases:
  - { phase: "only", title: "Only", steps: [{ step: "look", title: "Look", ask: "text" }] }
"""
PLAIN_GEAR = """format: "1"
gear: "plain"
title: "a box"
ports:
  - { name: "port1" }
"""


def check_many(folder):
    """Every row is held against all before it, in a folder whose name is long: four times as many rows may take
    eight times as long, half of what they take when the paths are compared one by one."""
    for kind, name, text in (("plans", "short", SHORT_PLAN), ("gear", "plain", PLAIN_GEAR)):
        os.makedirs(os.path.join(folder, kind))
        with open(os.path.join(folder, kind, name + ".yaml"), "w", encoding="utf-8") as file:
            file.write(text)
    out = os.path.join(folder, *["d" * 200] * 10)
    took = []
    for count in (2000, 8000):
        # the last row is none, so that nothing is written
        path = write_list(os.path.join(folder, "many.csv"), ["code"], [["S%d" % i] for i in range(count)] + [[""]])
        before = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime
        status, said, err = run("--list", path, "--plan", "short", "--gear", "plain", out, PORTMUSTER_DATA=folder)
        took.append(resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime - before)
        check("%d rows are read to the last" % count, status == 2 and "many.csv:%d:1: a row without a site code" % (count + 2) in err, said, err)
    check("many rows take no longer than as many times one row", took[1] < 8 * took[0] + 0.1, took)
    path = write_list(os.path.join(folder, "many.csv"), ["code"], [["S%d" % i] for i in range(2000)] + [["s-1"], ["s 1"], ["S1999"]])
    status, said, err = run("--list", path, "--plan", "short", "--gear", "plain", os.path.join(folder, "none"), PORTMUSTER_DATA=folder)
    check("of many rows the two that make one file are found", status == 2 and "many.csv:2003" in err and "the same file" in err and "s-1.yaml" in err, said, err)


def check_single(folder):
    path = os.path.join(folder, "one.yaml")
    status, said, err = run("--code", "TB-77", "--name", "A: \"b\"", "--gear", "eg-12", "--live", path)
    check("one job by its options", status == 0 and path in said and read(path)["site"] == {"code": "TB-77", "name": "A: \"b\"", "live": "yes"}, said, err)
    status, _, err = run("--code", "TB-77", "--gear", "eg-12", "--name", "a\nb", os.path.join(folder, "two.yaml"))
    check("a line break in a name is refused", status == 2 and not os.path.exists(os.path.join(folder, "two.yaml")), err)
    practice = os.path.join(folder, "practice")
    status, said, err = run("--practice", practice + "/")
    check("a practice site", status == 0 and "walk %s/site.yaml" % practice in said and read(practice + "/site.yaml")["site"]["code"] == "TB-00", said, err)
    # the job's path would still fit into PATH_MAX (limits.h), its layout's would not
    deep = os.path.join(folder, "d" * 200)
    while len(deep) < 3800:
        deep += "/" + "d" * 200
    deep += "/" + "e" * (4095 - len("/sheets/tavrane-desk.yaml") - len(deep))
    os.makedirs(os.path.dirname(deep))
    status, said, err = run("--practice", deep)
    check("one whose paths are too long is not said to be there", status == 2 and "too long" in err and said == "", status, said[-200:], err[-300:])


with tempfile.TemporaryDirectory() as top:
    check_list(top)
    check_refused(top)
    check_many(os.path.join(top, "many"))
    check_single(top)
sys.exit(failed)
