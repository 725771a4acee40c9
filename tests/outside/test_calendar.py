"""The iCalendar, read by python3-icalendar and held against the job files,
which python3-yaml reads."""
import datetime
import glob
import os
import re
import shutil
import subprocess
import sys
import tempfile

import icalendar
import yaml

PROGRAM = os.environ.get('PROGRAM', 'build/bin/portmuster')
FLEET = sorted(glob.glob('data/demo/fleet/tb-*.yaml'))
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


def run(*arguments):
    done = subprocess.run([PROGRAM, 'calendar'] + list(arguments), stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    return done.returncode, done.stdout, done.stderr.decode('utf-8')


def events_of(data):
    return [part for part in icalendar.Calendar.from_ical(data).walk() if part.name == 'VEVENT']


def windows(job):
    return [r for r in job.get('readings', []) if r['of'] == 'desk/appointment']


def time_of(text):
    return datetime.datetime.fromisoformat(text.replace('Z', '+00:00'))


def physical_lines(data):
    """What RFC 5545 3.1 asks of the bytes, whatever they say."""
    wrong = []
    if not data.endswith(b'\r\n') or b'\n' in data.replace(b'\r\n', b'') or b'\r' in data.replace(b'\r\n', b''):
        wrong.append('line ends')
    for line in data.split(b'\r\n'):
        if len(line) > 75:
            wrong.append('%d octets: %r' % (len(line), line))
        try:
            line.decode('utf-8')
        except UnicodeDecodeError:
            wrong.append('a character is split: %r' % line)
        if any(byte < 32 or byte == 127 for byte in line):
            wrong.append('a control byte: %r' % line)
    return wrong


def fleet():
    status, data, errors = run(*NOW, *FLEET)
    wrong = physical_lines(data)
    calendar = icalendar.Calendar.from_ical(data)
    if status != 0 or errors or calendar['version'] != '2.0' or not calendar['prodid'] or calendar.is_broken:
        wrong.append((status, errors, calendar))
    events = events_of(data)
    jobs = [job for job in (yaml.safe_load(open(path, encoding='utf-8')) for path in FLEET) if windows(job)]
    if len(events) != len(jobs) or len(jobs) < 3:
        wrong.append('%d events of %d jobs' % (len(events), len(jobs)))
    for event, job in zip(events, jobs):
        site, window = job['site'], windows(job)[-1]
        start, end = map(time_of, window['value'].split('/'))
        sent = [r['value'] for r in job['readings'] if r['of'] == 'desk/sent'][-1]
        expected = {
            'start': start, 'end': end, 'stamp': time_of(NOW[1]), 'summary': 'Router swap %(code)s %(name)s' % site,
            'location': '%(name)s (%(code)s)' % site, 'status': 'CONFIRMED', 'sequence': 0,
            'description': '\n'.join(['unit: ' + site['unit'], 'parent: ' + site['parent'], 'seal: ' + sent,
                                      'crew: ' + site['crew'], 'set by: ' + window['by']]),
        }
        got = {
            'start': event['dtstart'].dt, 'end': event['dtend'].dt, 'stamp': event['dtstamp'].dt,
            'summary': str(event['summary']), 'location': str(event['location']), 'status': str(event['status']),
            'sequence': int(event['sequence']), 'description': str(event['description']),
        }
        wrong += ['%s %s: %r, not %r' % (site['code'], key, got[key], expected[key])
                  for key in expected if got[key] != expected[key]]
        if event.subcomponents:
            wrong.append('%s has an alarm' % site['code'])
    uids = [str(event['uid']) for event in events]
    host = os.uname().nodename
    if len(set(uids)) != len(uids) or any(not re.fullmatch('[0-9a-f]{32}', uid) for uid in uids) or host.encode() in data:
        wrong.append(uids)
    later = [str(event['uid']) for event in events_of(run('--now', '2026-12-01T00:00:00Z', *reversed(FLEET))[1])]
    if sorted(later) != sorted(uids):
        wrong.append('other uids on another day')
    report('fleet', wrong, len(events))


def job_text(readings, name='Weir', code='TB-90'):
    lines = ['format: "1"', 'plan: "router-swap"', 'gear: "eg-12"', 'site:', '  code: %s' % quoted(code),
             '  name: %s' % quoted(name), '  crew: %s' % quoted(name), 'readings:']
    for of, value, source, by in readings:
        lines.append('  - { of: %s, value: %s, source: "%s", by: %s, at: "2026-10-01T09:00:00Z" }'
                     % (quoted(of), quoted(value), source, quoted(by)))
    return '\n'.join(lines) + '\n'


def quoted(text):
    """A double-quoted YAML scalar with every doubtful character escaped."""
    return '"%s"' % ''.join(c if c.isalnum() or c in ' -_/.,;:()' and ord(c) < 128 else
                            '\\U%08x' % ord(c) for c in text)


WINDOW = '2026-10-20T08:00:00Z/2026-10-20T12:00:00Z'


def one(folder, **about):
    path = os.path.join(folder, 'job.yaml')
    with open(path, 'w', encoding='utf-8') as file:
        file.write(job_text(**about))
    return run(*NOW, path)


# names: awkward for folding, for escaping, for a reader of lines
NAMES = ['Weir', 'a, b; c\\d, \\n', '"quoted": 50% \'x\'', 'é' * 90, '水' * 60, 'x' + '🌊' * 50, 'words ' * 40, '\\' * 80, ';' * 75,
         '-' * 200, ' ' + 'leading', 'a:b;c=d,e']


def names(folder):
    wrong = []
    for name in NAMES:
        status, data, errors = one(folder, name=name, readings=[('desk/appointment', WINDOW, 'desk', name)])
        wrong += physical_lines(data)
        events = events_of(data)
        if status != 0 or len(events) != 1:
            wrong.append((name, status, errors))
            continue
        # icalendar 4.0.3 takes an escaped backslash and an n for a line break, so those are compared as bytes
        plain = data.replace(b'\r\n ', b'').decode('utf-8')
        escaped = name.replace('\\', '\\\\').replace(';', '\\;').replace(',', '\\,')
        if 'SUMMARY:Router swap TB-90 %s\r\n' % escaped not in plain or 'set by: %s\r\n' % escaped not in plain:
            wrong.append((name, plain))
        if '\\' not in name and str(events[0]['summary']) != 'Router swap TB-90 ' + name:
            wrong.append((name, events[0]['summary']))
    report('names of every kind', wrong, len(NAMES))


def hostile(folder):
    wrong = []
    nasty = ['x\r\nEND:VEVENT\r\nBEGIN:VEVENT', 'x\nATTACH:file', '\x1b[2J', '\u202e\u2028\x85x', '\x07']
    for text in nasty:
        status, data, errors = one(folder, name=text, code='TB' + text,
                                   readings=[('desk/appointment', WINDOW, 'desk', text)])
        wrong += physical_lines(data)
        plain = data.replace(b'\r\n ', b'').decode('utf-8')
        keys = [line.split(':')[0] for line in plain.split('\r\n') if line]
        if status != 0 or keys != ['BEGIN', 'VERSION', 'PRODID', 'BEGIN', 'UID', 'DTSTAMP', 'DTSTART', 'DTEND', 'SUMMARY',
                                   'LOCATION', 'DESCRIPTION', 'STATUS', 'SEQUENCE', 'END', 'END']:
            wrong.append((text, status, keys, errors))
        if any(c in plain for c in '\u202e\u2028\x85'):
            wrong.append(plain)
    report('hostile text', wrong, len(nasty))


def appointments(folder):
    """Readings of the appointment -> status, start, sequence."""
    other = '2026-10-21T08:00:00+05:45/2026-10-21T12:00:00+05:45'
    desk, gone = 'desk', 'withdrawn'
    cases = [
        ([(WINDOW, desk)], 0, '2026-10-20T08:00:00Z', 0),
        ([(WINDOW, desk), (other, desk)], 0, '2026-10-21T02:15:00Z', 1),
        ([(other, desk), (WINDOW, desk)], 0, '2026-10-20T08:00:00Z', 1),
        ([(WINDOW, desk), (other, desk), (other, gone)], 0, '2026-10-20T08:00:00Z', 2),
        ([(WINDOW, desk), ('', gone)], 1, None, 0),
        ([(WINDOW, desk), ('', gone), (other, desk)], 0, '2026-10-21T02:15:00Z', 2),
        ([('tomorrow', desk)], 2, None, 0),
        ([('', 'skipped')], 1, None, 0),
    ]
    wrong, uids = [], set()
    for readings, expected, start, sequence in cases:
        status, data, errors = one(folder, readings=[('desk/appointment', value, source, 'centre 1')
                                                     for value, source in readings])
        if status != expected or (status == 0) != (errors == '') or (status != 0 and data):
            wrong.append((readings, status, errors, data))
        if start and status == 0:
            event = events_of(data)[0]
            if event['dtstart'].dt != time_of(start) or event['sequence'] != sequence or event['status'] != 'TENTATIVE':
                wrong.append((readings, data))
            if readings[0][0] == WINDOW:
                uids.add(str(event['uid']))
    if len(uids) != 1:
        wrong.append('moved events change their uid: %r' % uids)
    report('appointments booked, moved and taken back', wrong, len(cases))


def files(folder):
    wrong = []
    out, job = os.path.join(folder, 'out.ics'), os.path.join(folder, 'job.yaml')
    status, data, errors = run(*NOW, '--out', out, *FLEET)
    written = open(out, 'rb').read()
    if status != 0 or data or errors or written != run(*NOW, *FLEET)[1]:
        wrong.append(('--out', status, errors))
    # a job that can't be read: the others go to standard output, but no file is replaced
    status, data, errors = run(*NOW, 'no-such.yaml', *FLEET)
    if status != 2 or len(events_of(data)) != 3 or 'no-such.yaml' not in errors:
        wrong.append(('missing job', status, errors))
    status, data, errors = run(*NOW, '--out', out, FLEET[4], 'no-such.yaml')
    if status != 2 or data or open(out, 'rb').read() != written or 'out.ics' not in errors:
        wrong.append(('missing job and --out', status, errors))
    with open(job, 'w') as file:
        file.write(job_text(readings=[('step/outage', 'x', 'stated', 'y')]))
    status, data, errors = run(*NOW, '--out', out, job)
    if status != 1 or data or not errors or open(out, 'rb').read() != written:
        wrong.append(('no event', status, errors))
    for arguments in ([], ['--now', 'today', FLEET[0]], ['--alarm', FLEET[0]],
                      ['--out', os.path.join(folder, 'no', 'such', 'folder'), FLEET[4]]):
        status, data, errors = run(*arguments)
        if status != 2 or data or not errors:
            wrong.append((arguments, status, errors))
    report('files and faults', wrong, 8)


def practice(folder):
    """The practice site, walked by its answers."""
    site = os.path.join(folder, 'practice')
    quiet = {'stdout': subprocess.DEVNULL, 'stderr': subprocess.DEVNULL}
    subprocess.run([PROGRAM, 'new', '--practice', site], **quiet)
    subprocess.run([PROGRAM, 'walk', '--answers', os.path.join(site, 'answers.yaml'), os.path.join(site, 'site.yaml')],
                   **quiet)
    status, data, errors = run(*NOW, os.path.join(site, 'site.yaml'))
    events = events_of(data)
    good = (status == 0 and len(events) == 1 and events[0]['dtstart'].dt == time_of('2026-09-14T10:00:00Z')
            and str(events[0]['summary']) == 'Practice: router swap TB-00 Orsketh practice cabinet')
    report('the practice site', [] if good else [(status, data, errors)], 1)


scratch = tempfile.mkdtemp()
try:
    fleet()
    for test in (names, hostile, appointments, files, practice):
        test(scratch)
finally:
    shutil.rmtree(scratch)
sys.exit(1 if failures else 0)
