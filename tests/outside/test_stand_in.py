"""The practice console as a person meets it: a device to open, words to type,
options that do what they say, and nothing left behind."""
import os
import re
import select
import signal
import subprocess
import tempfile
import time

PROGRAM = os.environ["PROGRAM"]
GEAR = "data/gear/eg-12.yaml"
failed = False


def case(name, good, more=""):
    global failed
    print(("ok " if good else "not ok ") + name)
    if not good:
        failed = True
        print(more)


class Console:
    def __init__(self, folder, *options):
        self.link = os.path.join(folder, "console")
        self.player = subprocess.Popen(
            [PROGRAM, "stand-in", "--gear", GEAR, "--link", self.link, "--boot", "0", "--speed", "0", *options],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
            # a shell has its background commands ignore an interrupt; this one must not
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL))
        self.said = self.player.stdout.readline().rstrip("\n")
        self.line = os.open(self.link, os.O_RDWR | os.O_NOCTTY)
        self.text("\r", "eg-12> ")

    def text(self, typed, until):
        os.write(self.line, typed.encode())
        out, end = b"", time.monotonic() + 20
        while not out.decode(errors="replace").endswith(until) and time.monotonic() < end:
            if select.select([self.line], [], [], 0.2)[0]:
                out += os.read(self.line, 4096)
        return out.decode(errors="replace")

    def roll(self):
        out = self.text("roll\r", "-- space for more --")
        while not out.endswith("eg-12> "):
            more = ""
            os.write(self.line, b" ")
            end = time.monotonic() + 20
            while not more.endswith(("eg-12> ", "-- space for more --")) and time.monotonic() < end:
                if select.select([self.line], [], [], 0.2)[0]:
                    more += os.read(self.line, 4096).decode(errors="replace")
            out += more
            if time.monotonic() >= end:
                break
        return out

    def end(self, number=signal.SIGTERM):
        os.close(self.line)
        self.player.send_signal(number)
        rest, errors = self.player.communicate(timeout=20)
        return self.player.returncode, rest + errors


def addresses(text):
    return re.findall(r"(?:[0-9a-f]{2}:){5}[0-9a-f]{2}", text)


with tempfile.TemporaryDirectory() as folder:
    rolls = {}
    for name, options in {"plain": ["--seed", "5"], "again": ["--seed", "5"], "other": ["--seed", "6"],
                          "wrong": ["--seed", "5", "--wrong", "port4"]}.items():
        console = Console(folder, *options)
        rolls[name] = addresses(console.roll())
        linked = os.path.islink(console.link)
        status, rest = console.end()
        if name == "plain":
            case("it prints the name to open, and that is a link", console.said == console.link and linked, console.said)
            case("thirteen documentation addresses in a row",  # RFC 9542 2.1.4
                 len(rolls[name]) == 13 and all(a.startswith("00:00:5e:00:53:") for a in rolls[name])
                 and [int(a[-2:], 16) - int(rolls[name][0][-2:], 16) for a in rolls[name]] == list(range(13)),
                 rolls[name])
            case("ended by a signal it exits 0 and takes its link away",
                 status == 0 and not os.path.lexists(console.link) and rest == "", (status, rest))
    case("the same seed lists the same", rolls["again"] == rolls["plain"], rolls)
    case("another seed lists others", rolls["other"] != rolls["plain"], rolls)
    differ = [i for i, (a, b) in enumerate(zip(rolls["wrong"], rolls["plain"])) if a != b]
    case("--wrong changes one digit of that interface only",
         differ == [4] and sum(a != b for a, b in zip(rolls["wrong"][4], rolls["plain"][4])) == 1, rolls)

    for style, mark in (("stanza", "    address    00:"), ("rows", "port1: no cable, address 00:"),
                        ("table", "interface  panel")):
        console = Console(folder, "--seed", "1", "--style", style)
        text = console.roll()
        case("--style " + style, mark in text and len(addresses(text)) == 13, text)
        console.end(signal.SIGINT)

    console = Console(folder, "--seed", "1", "--noise", "20")
    text = console.roll()
    case("--noise spoils the listing", len(set(addresses(text))) < 13, text)
    console.end()

    began = time.monotonic()
    done = subprocess.run([PROGRAM, "stand-in", "--gear", GEAR, "--seconds", "1"], capture_output=True, text=True, timeout=20)
    case("--seconds ends it", done.returncode == 0 and 0.9 < time.monotonic() - began < 15
         and done.stdout.startswith("/dev/"), done)

    keep = os.path.join(folder, "file")
    with open(keep, "w") as file:
        file.write("kept")
    done = subprocess.run([PROGRAM, "stand-in", "--gear", GEAR, "--link", keep], capture_output=True, text=True, timeout=20)
    with open(keep) as file:
        case("a file in the link's place is not touched",
             done.returncode == 2 and file.read() == "kept" and done.stdout == "", done)
    stale = os.path.join(folder, "stale")
    os.symlink("/dev/pts/none", stale)
    done = subprocess.run([PROGRAM, "stand-in", "--gear", GEAR, "--link", stale, "--seconds", "1"], capture_output=True,
                          text=True, timeout=20)
    case("a link that leads nowhere is replaced", done.returncode == 0 and not os.path.lexists(stale), done)

    for what, options in {"a seed": ["--seed", "-1"], "a style": ["--style", "poem"], "a noise": ["--noise", "1e3"],
                          "an interface": ["--wrong", "port99"], "a word": ["now"], "an option": ["--loud"],
                          "a gear": ["--gear", folder + "/none.yaml"], "a time": ["--boot", "99999999"]}.items():
        done = subprocess.run([PROGRAM, "stand-in", *(["--gear", GEAR] if what != "a gear" else []), *options],
                              capture_output=True, text=True, timeout=20)
        case("refused: " + what + " that makes no sense",
             done.returncode == 2 and done.stdout == "" and done.stderr.count("\n") == 1, done)

raise SystemExit(failed)
