"""How far the reading is, on standard error: only on a terminal, at most ten times a
second, never wider than the terminal. A git in front of the real one hands the files of
a revision out slowly."""
import concurrent.futures
import fcntl
import os
import pty
import re
import select
import shutil
import struct
import subprocess
import sys
import tempfile
import termios
import time

PROGRAM = os.path.abspath(os.environ.get('PROGRAM', 'build/bin/portmuster'))
JOBS = 240
SLOW = '''#!/usr/bin/python3
import os, subprocess, sys, time
if '--batch' not in sys.argv:
    os.execv(%r, ['git'] + sys.argv[1:])
real = subprocess.Popen([%r] + sys.argv[1:], stdout=subprocess.PIPE)
while True:
    some = os.read(real.stdout.fileno(), 300)
    if not some:
        break
    os.write(1, some)
    time.sleep(0.005)
'''
failures = 0


def report(name, wrong, count):
    global failures
    failures += bool(wrong) or count == 0
    print('%s %s (%d)' % ('not ok' if wrong or count == 0 else 'ok', name, count))
    for line in wrong[:5]:
        print('  ', line)


def make(scratch):
    fleet, tools = os.path.join(scratch, 'fleet'), os.path.join(scratch, 'tools')
    os.mkdir(fleet)
    os.mkdir(tools)
    for i in range(JOBS):
        with open(os.path.join(fleet, '%03d.yaml' % i), 'w', encoding='utf-8') as file:
            file.write('format: "1"\nplan: "router-swap"\ngear: "eg-12"\nsite:\n  code: "TB-%03d"\n# %s\nreadings: []\n' % (i, 'x' * 300))
    for arguments in (['init', '-q'], ['add', '.'], ['commit', '-q', '-m', 'begin']):
        subprocess.run(['git', '-c', 'user.name=lead 1', '-c', 'user.email=lead@example.invalid'] + arguments, cwd=fleet, check=True)
    git = shutil.which('git')
    with open(os.path.join(tools, 'git'), 'w', encoding='utf-8') as file:
        file.write(SLOW % (git, git))
    os.chmod(os.path.join(tools, 'git'), 0o700)
    return fleet, dict(os.environ, PATH=tools + ':' + os.environ['PATH'])


def shown(fleet, environment, columns):
    """What a terminal of so many columns was sent, and when."""
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack('HHHH', 24, columns, 0, 0))
    begun = time.monotonic()
    process = subprocess.Popen([PROGRAM, 'review', '--text', '--revision', 'HEAD', fleet], stdin=subprocess.DEVNULL,
                               stdout=subprocess.DEVNULL, stderr=theirs, env=environment)
    os.close(theirs)
    seen, first, last = b'', None, None
    while select.select([ours], [], [], 30)[0]:
        try:
            more = os.read(ours, 65536)
        except OSError:
            break
        if not more:
            break
        last = time.monotonic() - begun
        first = last if first is None else first
        seen += more
    status = process.wait(30)
    os.close(ours)
    return status, seen.decode('utf-8'), first, last


def frames(fleet, environment):
    wrong = []
    cases = ((80, True), (200, True), (40, True), (24, False), (12, False), (1, False), (0, True))
    # each mostly waits
    with concurrent.futures.ThreadPoolExecutor(len(cases)) as pool:
        results = list(pool.map(lambda case: shown(fleet, environment, case[0]), cases))
    for (columns, bar), (status, seen, first, last) in zip(cases, results):
        parts = seen.split('\r')
        pictures = [part for part in parts if part.startswith('reading'[:max(columns - 1, 0) or 7]) and part.strip()]
        room = columns - 1 if columns else 79
        if status != 0 or '\n' in seen or '\x1b' in seen:
            wrong.append((columns, status, seen[:200]))
        if columns > 1 and (not pictures or first < 0.45):
            wrong.append((columns, len(pictures), first))
        if pictures and len(pictures) > (last - first) * 10 + 2:
            wrong.append('%d columns: %d pictures in %.2f s' % (columns, len(pictures), last - first))
        wrong += ['%d columns: %d wide: %r' % (columns, len(part), part) for part in parts if len(part) > room]
        # the line is wiped at the end
        if pictures and (parts[-1] or parts[-2].strip() or len(parts[-2]) < len(pictures[-1])):
            wrong.append((columns, parts[-3:]))
        for picture in pictures if bar else []:
            found = re.fullmatch(r'reading \[(#*)(\.*)\] (\d+) of (\d+)', picture)
            if not found:
                wrong.append((columns, picture))
                continue
            full, empty, done, total = len(found.group(1)), len(found.group(2)), int(found.group(3)), int(found.group(4))
            if not 8 <= full + empty <= 40 or full != (full + empty) * done // total or done > total:
                wrong.append((columns, picture))
        if bar and pictures and pictures[0] == pictures[-1]:
            wrong.append((columns, 'it stands still'))
    report('the line on a terminal', wrong, len(cases))


def elsewhere(fleet, environment):
    done = subprocess.run([PROGRAM, 'review', '--text', '--revision', 'HEAD', fleet], stdin=subprocess.DEVNULL,
                          stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=environment)
    report('nothing elsewhere', [] if done.returncode == 0 and not done.stderr else [done.stderr], 1)


scratch = tempfile.mkdtemp()
try:
    place = make(scratch)
    for test in (frames, elsewhere):
        test(*place)
finally:
    shutil.rmtree(scratch, ignore_errors=True)
sys.exit(1 if failures else 0)
