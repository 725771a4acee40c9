"""What portmuster writes, PyYAML reads: identical text, of type str, whatever the value."""
import os
import random
import shlex
import shutil
import subprocess
import sys
import tempfile

import yaml

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
BUILD = os.path.join(ROOT, os.environ.get("BUILD", "build"))
CC = shlex.split(os.environ.get("CC") or "cc")

# Values that some YAML reader takes for something else when they stand unquoted.
NASTY = [
    "52:54:00:12:34:56", "00-00-5E-00-53-01", "12:30", "190:20:30", "NO", "no", "Yes", "on", "OFF", "true", "False",
    "y", "0123456", "0o17", "0x1F", "1.10", "1_000", "12E456", "1e3", ".inf", "-.INF", ".NaN", "~", "null", "Null",
    "2026-03-01", "2026-03-01T09:00:00Z", "=", "<<", "- x", "-", "---", "...", "? x", "?", ": x", ":", "key: value",
    "key:", "# x", "x # y", " leading", "trailing ", "   ", "%YAML 1.1", "%", "@x", "`x", "!x", "!!int 1", "&a", "*a",
    "|", ">", "|\\", "[a", "]", "{a", "}", "a, b", ",", "'", "''", "it's", '"', '""', 'say "so"', "\\", "\\n", "a\\",
    "\\x41", "\\\"", "caf\u00e9", "\u6c34\u4f4d", "\u0645\u0631\u062d\u0628\u0627", "\U0001F4A7",
    "\U0001F468\u200D\U0001F527", "e\u0301", "\u00a0", "\u2028", "\u2029", "a\u2028b", "\u200b", "\u202eabc",
    "\ufeff", "a\ufeffb", "\ufffd", "\ufffe", "\uffff", "\ue000", "\U0010ffff", "\ud7ff", "x" * 2000,
    "word " * 400, "\u6c34" * 2000, "\"\\" * 1000, "a" * 79 + " " + "b" * 79,
]
# Refused, and the file stays as it is.
CONTROL = ["a\nb", "a\rb", "a\tb", "\x1b[2J", "\x7f", "\x85", "a\x85b", "\x9b", "\x01"]

LAYOUTS = {
    "short": b"format: 1\nplan: p\ngear: g\nsite:\n  code: a\n",
    "full": b"# top\nformat: 1\nplan: p # which\ngear: g\ngear-digest: old\nsite:\n    code: a\n    name: |\n      one\n      two\n"
            b"    # of the site\nunknown: {a: [1, 2], b: ~}\nreadings:\n- {of: a, value: b, source: typed, by: c, at: d}\n"
            b"# between\nwaivers: []\n# end\n",
    "flow": b'{"format": 1, "plan": "p", "gear": "g", "site": {"code": "a"}}\n',
    "crlf": b"\xef\xbb\xbfformat: 1\r\nplan: p\r\ngear: g\r\nsite:\r\n  code: \xc3\xa9\xf0\x9f\x92\xa7\r\n  name:\r\nreadings:\r\nwaivers: ~",
}


def build(folder):
    out = os.path.join(folder, "driver")
    base = CC + ["-std=c11", "-D_DEFAULT_SOURCE", "-D_POSIX_C_SOURCE=200809L", "-I" + os.path.join(ROOT, "include"),
                 "-I" + os.path.join(ROOT, "src"), os.path.join(HERE, "yaml_roundtrip.c"),
                 os.path.join(BUILD, "libpm-store.a"), os.path.join(BUILD, "libportmuster.a"), "-lyaml", "-lsodium", "-o", out]
    # Archives that were built with sanitizers need them here as well.
    for extra in ([], ["-fsanitize=address,undefined"]):
        result = subprocess.run(base + extra, capture_output=True, text=True)
        if result.returncode == 0:
            return out
    sys.exit("the driver does not build:\n" + result.stderr[-3000:])


def drive(driver, rows):
    text = "".join("%s %s\n" % (path, value.encode("utf-8", "surrogatepass").hex()) for path, value in rows)
    result = subprocess.run([driver], input=text, capture_output=True, text=True)
    if result.returncode != 0:
        sys.exit("the driver failed: " + result.stderr[-3000:])
    return result.stdout.splitlines()


def read(path):
    with open(path, "rb") as file:
        return file.read()


def judge(path, value):
    """What is wrong with the file, or None."""
    with open(path, "rb") as file:
        job = yaml.safe_load(file)
    found = {
        "value": job["readings"][-1]["value"], "by": job["readings"][-1]["by"], "reason": job["waivers"][-1]["reason"],
        "note": job["readings"][-1]["note"], "name": job["site"]["name"], "crew": job["site"]["crew"],
        "gear-digest": job["gear-digest"],
    }
    for key, text in found.items():
        if type(text) is not str or text != value:
            return "%s is %r, not %r" % (key, text, value)
    return None


def random_values():
    """Nasty pieces put together, the same ones every time."""
    dice = random.Random(20260301)
    pieces = [" ", ":", "#", "-", "'", '"', "\\", ",", "[", "]", "{", "}", "&", "*", "!", "|", ">", "%", "@", "`", "?",
              "a", "0", "e", "N", "~", "\u00e9", "\u2028", "\U0001F4A7", "\u200d", "\ufeff", "/", "=", "<", "\u00a0"]
    return ["".join(dice.choice(pieces) for _ in range(dice.randint(1, 30))) for _ in range(150)]


def check(driver, folder, name, source, group, values):
    """`values` through one layout; a layout of None is composed anew."""
    rows = []
    for number, value in enumerate(values):
        path = os.path.join(folder, "%s-%s-%d.yaml" % (name, group, number))
        if source is not None:
            with open(path, "wb") as file:
                file.write(source)
        rows.append((path, value))
    answers = drive(driver, rows)
    wrong = []
    if len(answers) != len(rows):
        wrong.append("%d answers to %d values" % (len(answers), len(rows)))
    for (path, value), answer in zip(rows, answers):
        problem = answer if answer != "ok" else judge(path, value)
        if problem:
            wrong.append("%r: %s" % (value, problem))
    return wrong


def check_refused(driver, folder):
    wrong = []
    source = LAYOUTS["full"]
    path = os.path.join(folder, "refused.yaml")
    for value in CONTROL:
        with open(path, "wb") as file:
            file.write(source)
        answer = drive(driver, [(path, value)])
        if len(answer) != 1 or not answer[0].startswith("refused value: a control character"):
            wrong.append("%r: %s" % (value, answer))
        if read(path) != source:
            wrong.append("%r changed the file" % value)
    return wrong


def main():
    failed = False

    def say(name, wrong):
        nonlocal failed
        print("%s %s" % ("not ok" if wrong else "ok", name))
        for line in wrong[:10]:
            print("# " + line[:300])
        failed = failed or bool(wrong)

    folder = tempfile.mkdtemp()
    try:
        driver = build(folder)
        for name, source in list(LAYOUTS.items()) + [("composed", None)]:
            say("nasty values, " + name, check(driver, folder, name, source, "nasty", NASTY))
            say("random values, " + name, check(driver, folder, name, source, "random", random_values()))
        say("control characters are refused", check_refused(driver, folder))
    finally:
        shutil.rmtree(folder)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
