"""The review of two regions with a fleet.yaml each, read by json, csv and html.parser:
whose deadline holds for whom does not depend on the order of the folders, every day that
is shown is the one that is counted to, and every form means the same by "stopped"."""
import csv
import datetime
import html
import io
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile

PROGRAM = os.path.abspath(os.environ.get('PROGRAM', 'build/bin/portmuster'))
NOW = ['--now', '2026-10-08T12:00:00Z']
TODAY = datetime.date(2026, 10, 8)
DEMO = 'data/demo/fleet'
failures = 0


def report(name, wrong, count):
    global failures
    failures += bool(wrong) or count == 0
    print('%s %s (%d)' % ('not ok' if wrong or count == 0 else 'ok', name, count))
    for line in wrong[:5]:
        print('  ', line)


def run(*arguments, command='review', folder=None):
    done = subprocess.run([PROGRAM, command, *arguments], cwd=folder, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                          stderr=subprocess.PIPE)
    return done.returncode, done.stdout.decode('utf-8'), done.stderr.decode('utf-8')


def rows_of(*arguments):
    data = run(*NOW, '--csv', *arguments)[1]
    return {row['file']: row for row in csv.DictReader(io.StringIO(data, newline=''), strict=True)}


def fleet_of(*arguments):
    return json.loads(run(*NOW, '--json', *arguments)[1])['fleet']


def page_of(*arguments):
    return run(*NOW, '--html', '-', *arguments)[1]


def words(text):
    return ' '.join(html.unescape(re.sub('<[^>]*>', ' ', text)).split())


def write(folder, name, text):
    os.makedirs(folder, exist_ok=True)
    with open(os.path.join(folder, name), 'w', encoding='utf-8') as file:
        file.write(text)


def regions(scratch):
    """The demo fleet is the one; the other has jobs of other sites, one of them lower."""
    north, south = os.path.join(scratch, 'north'), os.path.join(scratch, 'south')
    shutil.copytree(DEMO, north)
    for number, name, due, folder in (('FL-01', 'one', '2026-12-21', south), ('FL-02', 'two', '2026-10-15', south),
                                      ('FL-03', 'three', '2026-12-21', os.path.join(south, 'isles'))):
        write(folder, name + '.yaml', 'format: "1"\nplan: "router-swap"\ngear: "eg-12"\nsite:\n  code: "%s"\n  live: "yes"\n'
              '  due: "%s"\nreadings: []\n' % (number, due))
    write(south, 'fleet.yaml', 'format: "1"\ndeadline: "2026-12-01"\ntravel:\n'
          '  - { from: "FL-01", to: "FL-02", minutes: "30" }\n  - { from: "FL-01", to: "FL-99", minutes: "30" }\n')
    write(os.path.join(south, 'isles'), 'fleet.yaml', 'format: "1"\ndeadline: "2026-10-31"\n')
    return north, south


def order(scratch, north, south):
    wrong = []
    one, other = rows_of(north, south), rows_of(south, north)
    alone = {**rows_of(north), **rows_of(south)}
    for file, row in one.items():
        for key in ('due', 'slack', 'slack to', 'state', 'severity', 'finding'):
            if row[key] != other[file][key] or row[key] != alone[file][key]:
                wrong.append((file, key, row[key], other[file][key], alone[file][key]))
    expected = {'one.yaml': '2026-12-01', 'two.yaml': '2026-10-15', 'three.yaml': '2026-10-31'}
    for name, day in expected.items():
        file = next(file for file in one if file.endswith('/' + name))
        if one[file]['slack to'] != day:
            wrong.append((file, one[file]['slack to'], day))
    a, b = fleet_of(north, south)['forecast'], fleet_of(south, north)['forecast']
    days = {(d['file'], d['deadline'], d['open']) for d in a['deadlines']}
    if days != {(north + '/fleet.yaml', '2026-11-13', 7), (south + '/fleet.yaml', '2026-12-01', 2),
                (south + '/isles/fleet.yaml', '2026-10-31', 1)} or days != {(d['file'], d['deadline'], d['open']) for d in b['deadlines']}:
        wrong.append(a['deadlines'])
    if a['deadline'] != '2026-10-31' or a['hits'] > min(d['hits'] for d in a['deadlines']):
        wrong.append((a['deadline'], a['hits']))
    for text in (' '.join(run(*NOW, '--text', north, south)[1].split()), words(page_of(north, south))):
        for d in a['deadlines']:
            # a path may be cut into two lines by the width
            if ('%s of %s in ' % (d['deadline'], d['file'])).replace(' ', '') not in text.replace(' ', ''):
                wrong.append((d, text[-400:]))
    report('the order of the folders', wrong, len(one))


def asked_for(scratch, north, south):
    wrong = []
    forecast = fleet_of('--deadline', '2026-10-12', north, south)['forecast']
    if forecast['deadline'] != '2026-10-12' or {d['deadline'] for d in forecast['deadlines']} != {'2026-10-12'}:
        wrong.append(forecast['deadlines'])
    for row in rows_of('--deadline', '2026-10-12', north, south).values():
        if row['slack to'] not in ('', '2026-10-12'):
            wrong.append(row)
    report('another deadline holds for every folder', wrong, 2)


def nowhere(scratch, north, south):
    """A way to a code that no job has: in every form that has a place for findings."""
    wrong = []
    said = 'south/fleet.yaml:5: the way from "FL-01" to "FL-99": no job that was read has the site code "FL-99"'
    found = [f for f in fleet_of(south, north)['findings'] if f['code'] == 'way-unknown']
    if len(found) != 1 or not found[0]['message'].endswith(said) or found[0]['severity'] != 'note' or found[0]['line'] != 5 or \
            found[0]['file'] != os.path.join(south, 'fleet.yaml') or found[0]['sites'] or found[0]['files']:
        wrong.append(found)
    if said.replace(' ', '') not in run(*NOW, '--text', south)[1].replace('\n', '').replace(' ', '') or said not in words(page_of(south)):
        wrong.append('not told')
    # a file alone does not show what else its folder has
    if any(f['code'] == 'way-unknown' for f in fleet_of(os.path.join(south, 'one.yaml'))['findings']):
        wrong.append('a single file')
    report('a way to nowhere', wrong, 4)


def days(scratch, north, south):
    """The day in the cell is the one that the days are counted to, and whose it is is said."""
    wrong = []
    count = 0
    page = page_of(north, south)
    rows = rows_of(north, south)
    for cell, file in ((re.search(r'data-label="due">(.*?)</td>', row, re.S), re.findall(r'<small>([^<]*\.yaml)</small>', row)[0])
                       for row in re.findall(r'<tr id="site-.*?</tr>', page, re.S)):
        text = words(cell.group(1))
        given = re.match(r'(\S+)( the deadline)? (\d+) d (left|late)', text)
        if not given:
            if rows[file]['slack']:
                wrong.append((file, text))
            continue
        count += 1
        day, left = datetime.date.fromisoformat(given.group(1)), int(given.group(3)) * (1 if given.group(4) == 'left' else -1)
        if (day - TODAY).days != left or given.group(1) != rows[file]['slack to'] or str(left) != rows[file]['slack']:
            wrong.append((file, text))
        own = rows[file]['due']
        if bool(given.group(2)) != (own != given.group(1)) or (own != given.group(1)) != ('the job itself: due ' + own in text):
            wrong.append((file, own, text))
    line = next(line for line in page.split('\n') if '>FL-01<' in line and '<text' in line)
    if 'due 2026-12-21, deadline 2026-12-01' not in words(line):
        wrong.append(words(line))
    # with one deadline it is named where it comes first
    line = next(line for line in page_of('--deadline', '2026-11-13', south).split('\n') if '>FL-01<' in line and '<text' in line)
    if 'due 2026-12-21, deadline 2026-11-13' not in words(line):
        wrong.append(words(line))
    report('the day that is shown', wrong, count)


def stopped(scratch, north, south):
    wrong = []
    rows = [row for row in rows_of(north).values() if row['practice'] == 'no']
    stops = [row['site'] for row in rows if row['severity'] == 'stop']
    counts = fleet_of(north)['counts']
    text, page = ' '.join(run(*NOW, '--text', north)[1].split()), words(page_of(north))
    if stops != ['TB-11', 'TB-12', 'TB-14', 'TB-18'] or counts['stopped'] != 4 or '4 stopped by a finding' not in text or \
            'stopped by a finding 4' not in page:
        wrong.append((stops, counts))
    if counts['ready'] != sum(row['state'] == 'ready' for row in rows) or '%d ready for' % counts['ready'] not in text:
        wrong.append(counts)
    wrong += [row for row in rows if row['state'] == 'ready' and row['severity'] == 'stop']
    # what blocks them tells of it
    blocks = text[text.index('what blocks'):text.index('findings across')]
    wrong += [site for site in stops if '(%s, ' % site not in blocks]
    if blocks.count('stop job-cloned: ') != 2:
        wrong.append(blocks)
    report('stopped is one thing', wrong, len(rows))


def who(scratch, north, south):
    """The check says of each job that it waits for the party that the review names."""
    wrong = []
    rows = rows_of(north)
    jobs = json.loads(run(*NOW, '--json', *rows, command='check')[1])['jobs']
    for job in jobs:
        unmet = [gate for gate in job['gates'] if not gate['met'] and gate['phase'] == job['phase']]
        if (unmet[0]['who'] if unmet else 'nobody') != rows[job['file']]['next move']:
            wrong.append((job['site'], unmet[:1], rows[job['file']]['next move']))
    told = {(gate['condition'], gate['who']) for job in jobs for gate in job['gates']
            if gate['phase'] == 'register' and not gate['met'] and gate['condition'] == 'steps-done'}
    if ('steps-done', 'technician') in told:
        wrong.append(told)
    report('who can supply it', wrong, len(jobs))


def deleted(scratch, north, south):
    """A file, and a folder, that were deleted since a revision are still in it."""
    wrong = []
    git = ['git', '-c', 'user.name=lead 1', '-c', 'user.email=lead@example.invalid']
    for arguments in (['init', '-q'], ['add', '.'], ['commit', '-q', '-m', 'begin'], ['rm', '-q', '-r', 'south/isles', 'south/one.yaml']):
        subprocess.run(git + arguments, cwd=scratch, check=True, stdout=subprocess.DEVNULL)
    for given, sites in (('south/one.yaml', ['FL-01']), ('south/isles', ['FL-03']), ('south', ['FL-03', 'FL-01', 'FL-02'])):
        for folder, path in ((scratch, given), (None, os.path.join(scratch, given))):
            status, data, errors = run(*NOW, '--json', '--revision', 'HEAD', path, folder=folder)
            if status != 0 or errors or [job['site'] for job in json.loads(data)['jobs']] != sites:
                wrong.append((given, status, data[:200], errors))
    status, data, errors = run(*NOW, '--revision', 'HEAD', os.path.join(scratch, 'never.yaml'))
    if status != 2 or data or 'no such file or folder at this revision' not in errors:
        wrong.append((status, errors))
    report('deleted since the revision', wrong, 7)


scratch = tempfile.mkdtemp()
try:
    given = regions(scratch)
    for test in (order, asked_for, nowhere, days, stopped, who, deleted):
        test(scratch, *given)
finally:
    shutil.rmtree(scratch, ignore_errors=True)
sys.exit(1 if failures else 0)
