"""The review of a folder, read by general-purpose readers: json, csv, html.parser
and python3-icalendar; the demo fleet's figures are held against its job files."""
import csv
import html.parser
import io
import json
import os
import pty
import re
import select
import shutil
import signal
import subprocess
import sys
import tempfile

import icalendar
import yaml

PROGRAM = os.environ.get('PROGRAM', 'build/bin/portmuster')
DEMO = 'data/demo/fleet'
NOW = ['--now', '2026-10-08T09:00:00Z']
failures = 0


def report(name, wrong, count):
    global failures
    if wrong or count == 0:
        failures += 1
        print('not ok %s: %d wrong of %d' % (name, len(wrong), count))
        for line in wrong[:5]:
            print('  ', line)
    else:
        print('ok %s (%d)' % (name, count))


def run(*arguments, command='review'):
    done = subprocess.run([PROGRAM, command] + list(arguments), stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                          stderr=subprocess.PIPE)
    return done.returncode, done.stdout, done.stderr.decode('utf-8')


def rows_of(data):
    return list(csv.DictReader(io.StringIO(data.decode('utf-8'), newline=''), strict=True))


class Page(html.parser.HTMLParser):
    """Elements must nest, nothing may be fetched or run, and what stands in the
    board and the counts is kept."""
    VOID = {'meta', 'br', 'path', 'rect', 'line'}

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.open, self.wrong, self.rows, self.counts, self.text = [], [], [], {}, []
        self.ids, self.links, self.term = set(), set(), None
        self.feed(text)
        self.close()
        if self.open:
            self.wrong.append('left open: %r' % self.open)
        if self.links - self.ids:
            self.wrong.append('links to nowhere: %r' % (self.links - self.ids))

    def handle_starttag(self, tag, attributes):
        given = dict(attributes)
        if tag in ('script', 'link', 'img', 'iframe', 'object', 'embed', 'base', 'form', 'image', 'use', 'video', 'audio'):
            self.wrong.append('<%s>' % tag)
        for key, value in given.items():
            if key.startswith('on') or key in ('src', 'srcset', 'action', 'style', 'data', 'background', 'poster'):
                self.wrong.append('%s=%r' % (key, value))
            if key.endswith('href') and not value.startswith('#'):
                self.wrong.append('%s=%r' % (key, value))
        if tag == 'a':
            self.links.add(given['href'][1:])
        if 'id' in given:
            self.ids.add(given['id'])
        if tag == 'tr' and given.get('id', '').startswith('site-'):
            self.rows.append('')
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attributes):
        self.handle_starttag(tag, attributes)
        if tag not in self.VOID:
            self.open.pop()

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.wrong.append('</%s>' % tag)

    def handle_data(self, data):
        if self.open and self.open[-1] == 'style':
            if re.search(r'url\(|@import|https?:', data):
                self.wrong.append('the style fetches')
            return
        self.text.append(data)
        if 'table' in self.open and self.rows and 'tr' in self.open:
            self.rows[-1] += data
        if self.open[-1:] == ['dt']:
            self.term = data
        if self.open[-1:] == ['dd']:
            self.counts[self.term] = int(data)


def page_of(folder, *arguments):
    path = os.path.join(folder, 'page.html')
    status, data, errors = run(*arguments, '--html', path)
    with open(path, encoding='utf-8') as file:
        return status, Page(file.read()), errors


# --- the demo fleet --------------------------------------------------------------

def job_files(folder):
    return sorted(os.path.join(folder, name) for name in os.listdir(folder)
                  if name.endswith('.yaml') and name != 'fleet.yaml')


def demo_json():
    """The keys of design and check, and that each job says what check says."""
    wrong = []
    status, data, errors = run(*NOW, '--json', DEMO)
    review = json.loads(data)
    files = job_files(DEMO)
    alone = json.loads(run(*NOW, '--json', *files, command='check')[1])['jobs']
    if status != 1 or errors or list(review) != ['jobs', 'fleet']:
        wrong.append((status, errors, list(review)))
    if [job['file'] for job in review['jobs']] != files:
        wrong.append([job['file'] for job in review['jobs']])
    for job, check in zip(review['jobs'], alone):
        check['gates'] = [gate for gate in check['gates'] if not gate['met']]
        if job != check:
            wrong.append((job['site'], 'differs from check'))
    fleet = review['fleet']
    if set(fleet) < {'findings', 'counts', 'forecast'}:
        wrong.append(list(fleet))
    for finding in fleet['findings']:
        if list(finding) != ['code', 'severity', 'files', 'sites', 'message', 'remedy']:
            wrong.append(list(finding))
        if any(file not in files for file in finding['files']) or len(finding['files']) != len(finding['sites']):
            wrong.append(finding)
    # docs/job.md: TB-18 is a copy of TB-11 that was not cleared
    copied = [f for f in fleet['findings'] if f['code'] == 'serial-elsewhere']
    if len(copied) != 1 or copied[0]['sites'] != ['TB-11', 'TB-18'] or not all(f in copied[0]['message'] for f in copied[0]['files']):
        wrong.append(copied)
    states = {job['site']: (job['phase'], job['ready']) for job in review['jobs']}
    expected = {'TB-11': ('register', True), 'TB-12': ('muster', False), 'TB-13': ('register', True), 'TB-15': ('cutover', False),
                'TB-16': ('book', True), 'TB-17': ('closed', True)}
    wrong += ['%s: %r' % (site, states[site]) for site in expected if states[site] != expected[site]]
    forecast = fleet['forecast']
    with open(os.path.join(DEMO, 'fleet.yaml'), encoding='utf-8') as file:
        deadline = yaml.safe_load(file)['deadline']
    if forecast['deadline'] != deadline or forecast['open'] != len(forecast['sites']) or forecast['open'] != 7:
        wrong.append(forecast)
    report('demo as JSON', wrong, len(review['jobs']))


def same_everywhere(folder):
    """The counts, sites and findings of the four forms agree."""
    wrong = []
    for folders in ([DEMO], [folder, DEMO]):
        arguments = NOW + folders
        review = json.loads(run(*arguments, '--json')[1])
        rows = rows_of(run(*arguments, '--csv')[1])
        status, page, errors = page_of(os.path.dirname(folder), *arguments)
        text = run(*arguments, '--text')[1].decode('utf-8')
        counts = review['fleet']['counts']
        wrong += page.wrong
        real = [row for row in rows if row['practice'] != 'yes']
        by_rows = {'sites': len(real), 'practice': len(rows) - len(real),
                   'unread': sum(row['state'] == 'unread' for row in real), 'done': sum(row['state'] == 'done' for row in real),
                   'ready': sum(row['state'] == 'ready' for row in real),
                   'stopped': sum(row['severity'] == 'stop' for row in real)}
        by_page = {'sites': page.counts['sites'], 'practice': page.counts['for practice'],
                   'unread': page.counts['could not be read'], 'done': page.counts['done'],
                   'ready': page.counts['ready for the next move'], 'stopped': page.counts['stopped by a finding']}
        numbers = {key: value for key, value in counts.items() if key != 'next'}
        if by_rows != numbers or by_page != numbers:
            wrong.append((by_rows, by_page, numbers))
        said = ' '.join(text.split())
        sentence = '%(sites)d sites: %(done)d done, %(ready)d ready for the next move, %(stopped)d stopped by a finding, ' \
                   '%(unread)d could not be read' % counts
        if sentence not in said:
            wrong.append(said[-600:])
        for who, count in counts['next'].items():
            if who != 'nobody' and page.counts['next move: ' + who] != count:
                wrong.append((who, count))
            if sum(row['next move'] == who and row['practice'] == 'no' for row in rows) != count:
                wrong.append((who, count, 'in the rows'))
        jobs = review['jobs']
        if not len(jobs) == len(rows) == len(page.rows):
            wrong.append((len(jobs), len(rows), len(page.rows)))
        for job, row, card in zip(jobs, rows, page.rows):
            if job['file'] != row['file'] or job['file'] not in card:
                wrong.append((job['file'], row['file'], card))
            if 'fault' in job:
                if row['state'] != 'unread' or job['fault']['message'] not in card:
                    wrong.append((job, row))
                continue
            stops = sum(f['severity'] == 'stop' and not f['waived'] for f in job['findings'])
            addresses = job['addresses']
            if (job['phase'], str(addresses['confirmed']), str(stops)) != (row['phase'], row['confirmed'], row['stops']):
                wrong.append((job['site'], row))
            if '%d/%d' % (addresses['confirmed'], addresses['expected']) not in card and '+' not in card:
                wrong.append(card)
        everything = ' '.join(page.text)
        for finding in review['fleet']['findings']:
            if finding['message'] not in everything or ' '.join(finding['message'].split()) not in said:
                wrong.append(finding['message'])
        if any(len(line) > 80 for line in text.split('\n')):
            wrong.append('a line is too wide')
    report('the forms agree', wrong, 2)


# --- hostile and broken files ----------------------------------------------------------

def quoted(text):
    return '"%s"' % ''.join(c if c.isalnum() and ord(c) < 128 or c in ' -_/.,:' else '\\U%08x' % ord(c) for c in text)


def job_text(code, name='Weir', crew='crew 1', readings=()):
    lines = ['format: "1"', 'plan: "router-swap"', 'gear: "eg-12"', 'site:', '  code: ' + quoted(code), '  name: ' + quoted(name),
             '  crew: ' + quoted(crew), 'readings:' if readings else 'readings: []']
    for of, value in readings:
        lines.append('  - { of: %s, value: %s, source: "typed", by: %s, at: "2026-10-01T09:00:00Z" }'
                     % (quoted(of), quoted(value), quoted('by ' + code)))
    return '\n'.join(lines) + '\n'


def write(folder, name, text):
    path = os.path.join(folder, name)
    with open(path, 'w', encoding='utf-8') as file:
        file.write(text)
    return path


NASTY = ['<script>alert(1)</script>', '"><img src=x onerror=alert(1)>', "' onmouseover='x", '&amp;&#60;b', '=1+1', '@SUM(A1)',
         '+1', '-1', 'a,b;"c"', '\x1b[2J\x07', '\u202e\u2028x', '</style><style>*{display:none}', '\x7f', '\x85', 'long' * 60]


def hostile(scratch):
    folder = os.path.join(scratch, 'hostile')
    os.mkdir(folder)
    names = ['<b>bold<.yaml', '"quoted" & \'single\'.yaml', '=1+1.yaml', 'line\nbreak.yaml', 'esc\x1b[31m.yaml', 'plain.yaml']
    for i, name in enumerate(names):
        write(folder, name, job_text('=TB-%02d' % i, name=NASTY[i], crew=NASTY[-i - 1]))
    for i, text in enumerate(NASTY):
        write(folder, 'site-%02d.yaml' % i, job_text(text, name=text, crew=text,
                                                     readings=[('port/port1', '00-00-5E-00-53-0%d' % (i % 10)), ('step/outage', text),
                                                               ('desk/appointment', '2026-10-12T08:00:00Z/2026-10-12T09:00:00Z')]))
    wrong = []
    forms = {form: run(*NOW, form, folder)[1] for form in ('--text', '--json', '--csv')}
    for form, data in forms.items():
        text = data.decode('utf-8')
        wrong += [(form, c) for c in text if (ord(c) < 32 and c not in '\r\n') or 0x7f <= ord(c) < 0xa0 or c in '\u202e\u2028']
    os.chdir(folder)
    status, page, errors = page_of(scratch, *NOW, '.')
    os.chdir(TOP)
    wrong += page.wrong
    if len(page.rows) != len(names) + len(NASTY):
        wrong.append(len(page.rows))
    whole = ''.join(page.text)
    for text in ('<script>alert(1)</script>', '"><img src=x onerror=alert(1)>', '&amp;&#60;b', '<b>bold<.yaml'):
        if text not in whole:
            wrong.append('not shown as it is: ' + text)
    rows = rows_of(forms['--csv'])
    for row in rows:
        for key, cell in row.items():
            if cell and cell[0] in '=+-@\t\r' and not (key == 'slack' and re.fullmatch(r'-?\d+', cell)):
                wrong.append((key, cell))
    if sorted(row['name'] for row in rows).count("'=1+1") != 2:
        wrong.append('an apostrophe is missing')
    sites = {job['site'] for job in json.loads(forms['--json'])['jobs'] if 'site' in job}
    if len(sites) != len(names) + len(NASTY):
        wrong.append(sites)
    report('hostile file names and fields', wrong, len(names) + len(NASTY))


def broken(scratch):
    """A file that cannot be read is one row in every form, and the status 1."""
    folder = os.path.join(scratch, 'broken')
    os.mkdir(folder)
    write(folder, 'a-good.yaml', job_text('TB-81'))
    bad = write(folder, 'b-bad.yaml', 'format: "1"\n\tplan: "router-swap"\n')
    write(folder, 'c-gear.yaml', job_text('TB-83').replace('eg-12', 'no-such-gear'))
    wrong = []
    status, data, errors = run(*NOW, '--json', folder)
    jobs = json.loads(data)['jobs']
    if status != 1 or ['fault' in job for job in jobs] != [False, True, True]:
        wrong.append((status, jobs))
    fault = jobs[1]['fault']
    if jobs[1]['file'] != bad or fault['line'] != 2 or not fault['message']:
        wrong.append(jobs[1])
    if json.loads(data)['fleet']['counts']['unread'] != 2:
        wrong.append('counts')
    rows = rows_of(run(*NOW, '--csv', folder)[1])
    if [row['state'] for row in rows] != ['ready', 'unread', 'unread']:
        wrong.append([row['state'] for row in rows])
    text = run(*NOW, folder)[1].decode('utf-8')
    if sum(line.startswith('b-bad.yaml ') for line in text.split('\n')) != 1 or 'b-bad.yaml:2' not in text:
        wrong.append(text)
    status, page, errors = page_of(scratch, *NOW, folder)
    if status != 1 or len(page.rows) != 3 or fault['message'] not in page.rows[1] or page.wrong:
        wrong.append((status, page.rows, page.wrong))
    report('broken files are rows', wrong, 3)


def planted(scratch):
    """An address, planted in two files, is named with both."""
    folder = os.path.join(scratch, 'planted')
    os.mkdir(folder)
    files = [write(folder, name, job_text(code, readings=[('port/port3', '00-00-5E-00-53-A7')]))
             for name, code in (('one.yaml', 'TB-91'), ('two.yaml', 'TB-92'))]
    write(folder, 'three.yaml', job_text('TB-93', readings=[('port/port3', '00-00-5E-00-53-A8')]))
    wrong = []
    status, data, errors = run(*NOW, '--json', folder)
    found = [f for f in json.loads(data)['fleet']['findings'] if f['code'] == 'address-elsewhere']
    if status != 1 or len(found) != 1 or sorted(found[0]['files']) != files or '00-00-5E-00-53-A7' not in found[0]['message']:
        wrong.append((status, found))
    text = ' '.join(run(*NOW, folder)[1].decode('utf-8').split())
    status, page, errors = page_of(scratch, *NOW, folder)
    whole = ''.join(page.text)
    for file in files:
        if file.replace(' ', '') not in text.replace(' ', '') or file not in whole:
            wrong.append(file)
    report('a planted address is named with both files', wrong, 2)


# --- options -------------------------------------------------------------------------

def statuses(scratch):
    clean = os.path.join(scratch, 'clean')
    empty = os.path.join(scratch, 'empty')
    for folder in (clean, empty):
        os.mkdir(folder)
    write(clean, 'one.yaml', job_text('TB-71'))
    page = os.path.join(scratch, 'kept.html')
    cases = [
        ([clean], 0), ([DEMO], 1), (['no-such-folder'], 2), ([clean, 'no-such-folder'], 1), ([empty], 2), ([], 2),
        (['--seed', '7', clean], 0), (['--seed', '-7', clean], 2), (['--seed', 'x', clean], 2),
        (['--deadline', '2026-12-01', clean], 0), (['--deadline', 'soon', clean], 2), (['--now', 'today', clean], 2),
        (['--json', '--csv', clean], 2), (['--json', '--html', '-', clean], 2), (['--html', page, '--calendar', page, clean], 2),
        (['--html', os.path.join(scratch, 'no', 'such', 'x.html'), clean], 2), (['--no-such-option', clean], 2),
        (['--html', page, clean], 0), (['--text', clean], 0), ([os.path.join(clean, 'one.yaml')], 0), (['--help'], 0),
    ]
    wrong = []
    for arguments, expected in cases:
        options = arguments if '--now' in arguments else NOW + arguments
        status, data, errors = run(*options)
        if status != expected or (status == 2) != bool(errors) or (status == 2 and data):
            wrong.append((arguments, status, data[:80], errors))
    report('exit status', wrong, len(cases))


def options(scratch):
    wrong = []
    base = json.loads(run(*NOW, '--json', DEMO)[1])['fleet']['forecast']
    again = json.loads(run(*NOW, '--json', DEMO)[1])['fleet']['forecast']
    other = json.loads(run(*NOW, '--json', '--seed', '99', DEMO)[1])['fleet']['forecast']
    if base != again or base == other or other['seed'] != 99:
        wrong.append('seed')
    moved = json.loads(run(*NOW, '--json', '--deadline', '2026-10-09', DEMO)[1])['fleet']['forecast']
    if moved['deadline'] != '2026-10-09' or moved['hits'] >= base['hits']:
        wrong.append(moved)
    status, data, errors = run(*NOW, '--html', '-', DEMO)
    if status != 1 or not data.startswith(b'<!DOCTYPE html>') or Page(data.decode('utf-8')).wrong:
        wrong.append('--html -')
    if run(*NOW, DEMO)[1] != run(*NOW, '--text', DEMO)[1]:
        wrong.append('plain text without a terminal')
    report('options', wrong, 5)


def calendar(scratch):
    """The same events as the calendar command writes."""
    path, other = os.path.join(scratch, 'a.ics'), os.path.join(scratch, 'b.ics')
    wrong = []
    status, data, errors = run(*NOW, '--calendar', path, DEMO)
    run(*NOW, '--out', other, *job_files(DEMO), command='calendar')
    with open(path, 'rb') as a, open(other, 'rb') as b:
        written = a.read()
        if status != 1 or data or errors or written != b.read():
            wrong.append((status, data, errors))
    events = [e for e in icalendar.Calendar.from_ical(written).walk() if e.name == 'VEVENT']
    windows = [row for row in rows_of(run(*NOW, '--csv', DEMO)[1]) if row['from']]
    if len(events) != len(windows) or len(events) != 3:
        wrong.append((len(events), len(windows)))
    report('the calendar', wrong, len(events))


def revision(scratch):
    """The job files of a git revision, not those on disk."""
    folder = os.path.join(scratch, 'kept-in-git')
    os.mkdir(folder)
    path = write(folder, 'one.yaml', job_text('TB-61'))
    git = ['git', '-C', folder, '-c', 'user.name=lead 1', '-c', 'user.email=lead@example.invalid']
    for arguments in (['init', '-q'], ['add', '.'], ['commit', '-q', '-m', 'begin']):
        subprocess.run(git + arguments, check=True, stdout=subprocess.DEVNULL)
    write(folder, 'one.yaml', job_text('TB-62'))
    write(folder, 'two.yaml', job_text('TB-63'))
    wrong = []
    for arguments, expected in ((['--revision', 'HEAD'], ['TB-61']), ([], ['TB-62', 'TB-63'])):
        status, data, errors = run(*NOW, '--json', *arguments, folder)
        if status != 0 or [job.get('site') for job in json.loads(data)['jobs']] != expected:
            wrong.append((arguments, status, data[:300], errors))
    status, data, errors = run(*NOW, '--revision', 'no-such', folder)
    if status != 2 or data or not errors:
        wrong.append((status, data, errors))
    report('a git revision', wrong, 3)


def read_until(descriptor, wanted):
    """What a terminal shows until `wanted` stands in it, or until it is closed."""
    seen = b''
    while wanted not in seen and select.select([descriptor], [], [], 20)[0]:
        try:
            more = os.read(descriptor, 65536)
        except OSError:
            break
        if not more:
            break
        seen += more
    return seen


def terminal():
    """The board where a terminal can show it, plain text elsewhere."""
    wrong = []
    for term, more, board in (('xterm', [], True), ('xterm', ['--text'], False), ('dumb', [], False)):
        ours, theirs = pty.openpty()
        process = subprocess.Popen([PROGRAM, 'review', *NOW, *more, DEMO], stdin=theirs, stdout=theirs, stderr=theirs,
                                   env=dict(os.environ, TERM=term))
        os.close(theirs)
        seen = read_until(ours, b'TB-18' if board else b'forecast: ')
        if board:
            process.send_signal(signal.SIGTERM)
        read_until(ours, b'never to be seen')
        status = process.wait(20)
        os.close(ours)
        if status != (128 + signal.SIGTERM if board else 1) or (b'\x1b[' in seen) != board or b'TB-18' not in seen:
            wrong.append((term, more, status, seen[:200]))
    report('a terminal', wrong, 3)


# --- how it looks ----------------------------------------------------------------------

PROBE = '<script>addEventListener("load",()=>{document.title=document.documentElement.scrollWidth+"/"+innerWidth})</script>'
FRAME = ('<iframe id="f" src="inner.html" style="width:%dpx;height:4000px;border:0"></iframe><script>'
         'addEventListener("load",()=>{document.body.dataset.reach=f.contentDocument.title})</script>')


def looks(scratch):
    """At the width of a telephone and of a desk nothing is wider than the page: a
    browser draws the page in a frame of that width and says how far it reaches.
    Printed, every site is there."""
    browser = shutil.which('chromium')
    if not browser or not shutil.which('pdftotext'):
        print('# figure pages looked at in a browser: none, chromium or pdftotext is not installed')
        return
    page = os.path.join(scratch, 'page.html')
    wrong = []
    for folder, width in ((DEMO, 360), (DEMO, 1280), (os.path.join(scratch, 'hostile'), 360)):
        run(*NOW, '--html', page, folder)
        with open(page, encoding='utf-8') as file:
            text = re.sub('<meta http-equiv[^>]*>', '', file.read())
        write(scratch, 'inner.html', text.replace('</body>', PROBE + '</body>'))
        outer = 'file://' + write(scratch, 'outer.html', FRAME % width)
        picture = os.path.join(scratch, '%s-%d.png' % (os.path.basename(folder), width))
        common = [browser, '--headless', '--no-sandbox', '--disable-gpu', '--allow-file-access-from-files',
                  '--user-data-dir=' + os.path.join(scratch, 'browser'), '--window-size=%d,4000' % (width + 40)]
        done = subprocess.run(common + ['--dump-dom', outer], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
        found = re.search(r'data-reach="(\d+)/(\d+)"', done.stdout.decode('utf-8'))
        if not found or int(found.group(2)) != width or int(found.group(1)) > width:
            wrong.append((folder, width, found and found.group(0)))
        subprocess.run(common + ['--screenshot=' + picture, outer], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        if not os.path.exists(picture) or os.path.getsize(picture) < 20000:
            wrong.append((folder, width, 'no picture'))
    report('on a telephone and on a desk', wrong, 3)
    run(*NOW, '--html', page, DEMO)
    pdf = os.path.join(scratch, 'page.pdf')
    subprocess.run(common + ['--no-pdf-header-footer', '--print-to-pdf=' + pdf, 'file://' + page], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    printed = subprocess.run(['pdftotext', '-layout', pdf, '-'], stdout=subprocess.PIPE).stdout.decode('utf-8')
    codes = sorted(job['site'] for job in json.loads(run(*NOW, '--json', DEMO)[1])['jobs'])
    report('printed, every site is there', [code for code in codes if code not in printed], len(codes))
    print('# figure pages looked at in a browser: 3 widths, a print of %d pages' % (printed.count('\f')))


TOP = os.getcwd()
PROGRAM = os.path.abspath(PROGRAM)
scratch = tempfile.mkdtemp()
try:
    demo_json()
    hostile(scratch)
    broken(scratch)
    same_everywhere(os.path.join(scratch, 'broken'))
    terminal()
    for test in (planted, statuses, options, calendar, revision, looks):
        test(scratch)
finally:
    shutil.rmtree(scratch, ignore_errors=True)
sys.exit(1 if failures else 0)
