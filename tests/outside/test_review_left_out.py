"""What lies among the job files and is none: the demo fleet with plan, gear profile,
layout and answers beside its jobs is reviewed as without them, and they are named."""
import csv
import html
import io
import json
import os
import shutil
import subprocess
import sys
import tempfile

PROGRAM = os.environ.get('PROGRAM', 'build/bin/portmuster')
NOW = ['--now', '2026-10-08T09:00:00Z']
DEMO = 'data/demo/fleet'
OTHERS = ['data/demo/answers.yaml', 'data/gear/eg-12.yaml', 'data/plans/router-swap.yaml', 'data/sheets/tavrane-desk.yaml']
SAYS = 'left out, no job files: '
failures = 0


def report(name, wrong, count):
    global failures
    failures += bool(wrong)
    print('%s %s (%d)' % ('not ok' if wrong else 'ok', name, count))
    for line in wrong[:5]:
        print('  ', line)


def run(*arguments):
    done = subprocess.run([PROGRAM, 'review', *NOW, *arguments], stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                          stderr=subprocess.PIPE)
    return done.returncode, done.stdout.decode('utf-8'), done.stderr.decode('utf-8')


def forms(scratch, fleet, others):
    wrong = []
    shutil.copytree(DEMO, fleet)
    plain = {form: run(*form, fleet) for form in (('--text',), ('--json',), ('--csv',), ('--html', '-'))}
    for file in OTHERS:
        shutil.copy(file, fleet)
    for form, (status, data, errors) in plain.items():
        now = run(*form, fleet)
        if now[0] != status:
            wrong.append((form, now[0], status))
        if form == ('--json',):
            with_others, without = json.loads(now[1]), json.loads(data)
            if with_others['fleet'].pop('left_out') != others or without['fleet'].pop('left_out') != []:
                wrong.append('left_out')
            if with_others != without:
                wrong.append('the JSON differs otherwise')
        elif form == ('--csv',):
            # the values have no place for it
            if now[1] != data or errors or now[2] != 'portmuster: ' + SAYS + ', '.join(others) + '\n':
                wrong.append(now[2])
        else:
            said = SAYS if form == ('--text',) else SAYS.capitalize()
            whole = ' '.join(html.unescape(now[1]).split())
            if said + ', '.join(others) not in whole or said in data or now[2]:
                wrong.append((form, whole[-500:], now[2]))
            if any(len(line) > 80 for line in now[1].split('\n')) and form == ('--text',):
                wrong.append('a line is too wide')
    if len(list(csv.reader(io.StringIO(plain[('--csv',)][1])))) < 8:
        wrong.append('no rows')
    report('plans and the like beside the jobs', wrong, len(plain))


def calendar(scratch, fleet, others):
    wrong = []
    path = os.path.join(scratch, 'all.ics')
    for more, told in (([], True), (['--text'], False), (['--html', os.path.join(scratch, 'a.html')], False)):
        errors = run('--calendar', path, *more, fleet)[2]
        if (SAYS in errors) != told:
            wrong.append((more, errors))
    report('a calendar alone', wrong, 3)


def alone(scratch, fleet, others):
    """Nothing but such files, and such a file that was named itself."""
    wrong = []
    folder = os.path.join(scratch, 'alone')
    os.mkdir(folder)
    path = shutil.copy(OTHERS[0], folder)
    status, data, errors = run(folder)
    if status != 2 or data or 'there is no job file' not in errors or SAYS + path not in errors:
        wrong.append((status, data, errors))
    status, data, errors = run('--json', path)
    result = json.loads(data)
    message = 'no job file: it has neither site nor readings'
    if status != 1 or result['jobs'][0]['fault']['message'] != message or result['fleet']['left_out']:
        wrong.append((status, data))
    if message not in ' '.join(run(path)[1].split()) or message not in run('--csv', path)[1]:
        wrong.append('the other forms')
    report('nothing else', wrong, 3)


scratch = tempfile.mkdtemp()
try:
    place = os.path.join(scratch, 'fleet')
    beside = [os.path.join(place, os.path.basename(file)) for file in OTHERS]
    # in the order of their paths
    for test in (forms, calendar, alone):
        test(scratch, place, sorted(beside))
finally:
    shutil.rmtree(scratch, ignore_errors=True)
sys.exit(1 if failures else 0)
