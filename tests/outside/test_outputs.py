"""No result takes the place of what it was made from, and no name from outside reaches the screen raw."""
import os
import shutil
import subprocess
import sys
import tempfile

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
PROGRAM = os.path.join(ROOT, os.environ.get("PROGRAM", "build/bin/portmuster"))
DEMO = os.path.join(ROOT, "data", "demo", "fleet", "tb-11-pellarn-weir.yaml")
failed = False


def check(name, good, *details):
    global failed
    print("%s %s" % ("ok" if good else "not ok", name))
    if not good:
        failed = True
        for each in details:
            print("# " + repr(each)[:500])


def run(*args):
    result = subprocess.run([PROGRAM] + list(args), stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    return result.returncode, result.stdout, result.stderr


def read(path):
    with open(path, "rb") as file:
        return file.read()


def not_overwritten(folder):
    job, other, link = (os.path.join(folder, name) for name in ("tb-11.yaml", "job.txt", "link"))
    shutil.copy(DEMO, job)
    shutil.copy(DEMO, other)
    os.symlink(other, link)
    before = read(job)
    for target in (job, os.path.join(folder, "new.YML"), other, link):
        given = other if target in (other, link) else job
        for args in (["sheet", "--draft", "--out", target, given], ["packet", "--out", target, given], ["packet", "--html", target, given],
                     ["calendar", "--out", target, given], ["review", "--html", target, given], ["review", "--calendar", target, given]):
            status, said, err = run(*args)
            name = "%s %s into %s" % (args[0], args[-3], os.path.basename(target))
            check(name, status == 2 and b"nothing is written over" in err and read(job) == before and read(other) == before, status, said, err)
    check("nothing new either", sorted(os.listdir(folder)) == ["job.txt", "link", "tb-11.yaml"], os.listdir(folder))
    status, _, err = run("packet", "--out", os.path.join(folder, "page.txt"), job)
    check("another name is written to", status != 2 and os.path.getsize(os.path.join(folder, "page.txt")) > 1000, err)


def fleet_options(folder):
    """A shell's *.yaml takes the fleet's options along."""
    fleet = os.path.dirname(DEMO)
    every = sorted(os.path.join(fleet, name) for name in os.listdir(fleet) if name.endswith(".yaml"))
    options, jobs = os.path.join(fleet, "fleet.yaml"), [path for path in every if not path.endswith("fleet.yaml")]
    for args in (["calendar"], ["packet"], ["check", "--json"], ["sheet", "--draft"]):
        args += ["--now", "2026-10-08T09:00:00Z"]
        status, said, err = run(*args, *every)
        expected, without, _ = run(*args, *jobs)
        check("%s leaves the fleet's options out, and says so" % args[0], options in every and status == expected and said == without
              and err.count(b"fleet.yaml: holds for the jobs beside it") == 1, status, err)
    status, _, err = run("check", options)
    check("alone they are refused as a job", status == 2 and b"lacks the key plan" in err, status, err)


def names_made_visible(folder):
    path = os.path.join(folder, "e\x1b[31m\u009b\u202e.yaml")
    cases = [["new", "--code", "A", "--gear", "eg-12", path], ["check", path], ["packet", path], ["sheet", "--draft", path], ["seal", path],
             ["walk", path], ["walk", "--answers", path, path], ["read", path], ["review", path], ["calendar", path], ["merge", path, path, path],
             ["new", "--practice", path], ["new", "--list", path, "--gear", "eg-12", folder]]
    wrong, named = [], 0
    for args in cases:
        status, said, err = run(*args)
        text = (said + err).decode("utf-8", "replace")
        if any(ord(c) < 32 and c not in "\r\n\t" or 0x7f <= ord(c) < 0xa0 or c == "\u202e" for c in text):
            wrong.append((args[:2], text))
        named += "\\x1B" in text
    check("a path with control characters, in %d commands" % len(cases), not wrong and named >= 6, named, *wrong)


with tempfile.TemporaryDirectory() as top:
    for test in (not_overwritten, fleet_options, names_made_visible):
        inner = os.path.join(top, test.__name__)
        os.mkdir(inner)
        test(inner)
sys.exit(failed)
