"""The hand-over packet: its HTML read by html.parser, its QR code by a reader of
our own, its text by columns and bytes, all held against the job files, which
python3-yaml reads. No browser is needed."""
import glob
import hashlib
import html
import html.parser
import os
import re
import resource
import shutil
import subprocess
import sys
import tempfile
import unicodedata

import yaml

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import qr_read

PROGRAM = os.environ.get('PROGRAM', 'build/bin/portmuster')
FLEET = sorted(glob.glob('data/demo/fleet/tb-*.yaml'))
GEAR = 'data/gear/eg-12.yaml'
NOW = ['--now', '2026-10-08T09:00:00Z']
VOID = {'meta', 'rect', 'path'}
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
    done = subprocess.run([PROGRAM, 'packet'] + list(arguments), stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    return done.returncode, done.stdout, done.stderr.decode('utf-8')


class Page(html.parser.HTMLParser):
    """Elements must nest; what they hold is kept by tag."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.open, self.wrong, self.tags, self.attributes, self.texts, self.rows = [], [], [], [], [], []
        self.feed(text)
        self.close()
        if self.open:
            self.wrong.append('left open: %r' % self.open)

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += [(tag, key, value) for key, value in attrs]
        if tag not in VOID:
            self.open.append(tag)
        if tag == 'tr':
            self.rows.append([])
        if tag in ('td', 'th'):
            self.rows[-1].append('')

    def handle_startendtag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += [(tag, key, value) for key, value in attrs]

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.wrong.append('closed out of turn: %s' % tag)

    def handle_data(self, data):
        self.texts.append(data)
        if self.open and self.open[-1] in ('td', 'th'):
            self.rows[-1][-1] += data

    def handle_comment(self, data):
        self.wrong.append('a comment: %r' % data)

    def handle_pi(self, data):
        self.wrong.append('an instruction: %r' % data)

    def unknown_decl(self, data):
        self.wrong.append('a declaration: %r' % data)

    def paths(self):
        return [value for tag, key, value in self.attributes if (tag, key) == ('path', 'd')]


def stands_alone(page, text):
    """Nothing runs, nothing is fetched."""
    wrong = list(page.wrong)
    fetching = {'script', 'link', 'img', 'iframe', 'object', 'embed', 'base', 'form', 'image', 'use', 'audio', 'video', 'a',
                'foreignobject', 'animate', 'set'}
    wrong += ['element %s' % tag for tag in page.tags if tag in fetching]
    wrong += ['attribute %s of %s' % (key, tag) for tag, key, _ in page.attributes
              if key.startswith('on') or 'href' in key or key in ('src', 'srcset', 'style', 'action', 'http-equiv')]
    style = re.search('<style>(.*?)</style>', text, re.S).group(1)
    wrong += ['style: %s' % word for word in ('url(', '@import', 'expression', '\\', '<') if word in style]
    wrong += ['no %s' % word for word in ('@page', 'break-after') if word not in style]
    wrong += ['control %r' % c for c in set(text) if unicodedata.category(c) in ('Cc', 'Cf') and c != '\n']
    wrong += [word for word in ('http:', 'https:', '//', 'data:', 'javascript') if word in text]
    return wrong


def columns(line):
    return sum(2 if unicodedata.east_asian_width(c) in 'WF' else 1 for c in line)


def text_laid_out(data, jobs):
    text, wrong = data.decode('utf-8'), []
    lines = text.split('\n')
    wrong += ['%d columns: %r' % (columns(line), line) for line in lines if columns(line) > 80]
    wrong += ['control %r' % c for c in set(text) if unicodedata.category(c) in ('Cc', 'Cf') and c != '\n']
    if lines[-1] != '' or (len(text) and lines[-2] == ''):
        wrong.append('the end')
    pages = [i for i, line in enumerate(lines) if re.fullmatch('.*for the (door|file), page \\d+ of \\d+', line)]
    if any(i % 60 for i in pages) or len(pages) != (len(lines) - 1 + 59) // 60 or len(pages) < 2 * jobs:
        wrong.append('pages at lines %r of %d' % (pages, len(lines)))
    return wrong


def value_of(job, of):
    taken = [r['value'] for r in job['readings'] if r['of'] == of]
    return taken[0] if taken else None


def canonical(job, ports):
    """The sealed text as include/portmuster/seal.h has it, from the file alone."""
    lines = ['portmuster-seal 1', 'site=' + job['site']['code'], 'unit=' + value_of(job, 'site/unit'),
             'parent=' + value_of(job, 'site/parent'), 'serial=' + value_of(job, 'router/serial')]
    lines += ['port %s=%s' % (port['name'], value_of(job, 'port/' + port['name'])) for port in ports]
    for device in job.get('attached', []):
        lines += ['attached=' + device['name'], ' kind=' + device['kind'], ' serial=' + device.get('serial', ''),
                  ' address=' + device.get('address', '')]
    return ''.join(line + '\n' for line in lines)


def seal_of(text):
    alphabet, number = 'ACDEFHJKLMNPRTVWXY23456789', int(hashlib.sha256(text.encode()).hexdigest()[:16], 16)
    letters = ''
    for _ in range(8):
        number, digit = divmod(number, 26)
        letters = alphabet[digit] + letters
    return '%s-%s-%s' % (letters[:4], letters[4:], check_of(letters))


def check_of(text):
    """ISO/IEC 7064 MOD 37-2."""
    alphabet, total = '0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*', 0
    for c in text:
        total = (total + alphabet.index(c)) * 2 % 37
    return alphabet[(38 - total) % 37]


def code_of(path):
    """The path's rectangles as modules, the quiet zone of four taken off."""
    runs = re.findall('M(\\d+) (\\d+)h(\\d+)v1h-(\\d+)z', path)
    if ''.join('M%s %sh%sv1h-%sz' % run for run in runs) != path or any(run[2] != run[3] for run in runs):
        raise qr_read.Unreadable('another path')
    runs = [(int(x) - 4, int(y) - 4, int(w)) for x, y, w, _ in runs]
    size = max(x + w for x, _, w in runs)
    if min(x for x, _, _ in runs) or min(y for _, y, _ in runs):
        raise qr_read.Unreadable('quiet zone')
    rows = [[False] * size for _ in range(size)]
    for x, y, w in runs:
        rows[y][x:x + w] = [True] * w
    return rows


def load(path):
    with open(path, encoding='utf-8') as file:
        return yaml.safe_load(file)


def html_of(folder, *arguments):
    path = os.path.join(folder, 'packet.html')
    status, data, errors = run(*NOW, '--html', path, *arguments)
    with open(path, encoding='utf-8') as file:
        return status, data, errors, file.read()


def fleet(folder):
    ports, wrong = load(GEAR)['ports'], []
    for path in FLEET:
        job = load(path)
        code = job['site']['code']
        status, data, errors, text = html_of(folder, path)
        plain_status, plain, plain_errors = run(*NOW, path)
        page = Page(text)
        wrong += [(code, line) for line in stands_alone(page, text) + text_laid_out(plain, 1)]
        expected = 1 if code in ('TB-12', 'TB-14') else 0   # a wrong digit; a rejected sheet
        if (status, plain_status) != (expected, expected) or data or errors or plain_errors:
            wrong.append((code, status, plain_status, errors))
        said = plain.decode('utf-8')
        readings = [r for r in job['readings'] if r['of'].startswith('port/')]
        for port in ports:
            address = value_of(job, 'port/' + port['name'])
            row = [port['panel'], port['name'], address or '', check_of(address.replace('-', '')) if address else '',
                   'confirmed' if address else 'open', port['role']]
            if row not in page.rows:
                wrong.append((code, 'no row', row))
            if not any(line.split() == ' '.join(row).split() for line in said.split('\n')):
                wrong.append((code, 'no line', row))
            if address and ['%s %s' % (address[12:], row[3])] != [t for t in page.texts if t.startswith(address[12:] + ' ')]:
                wrong.append((code, 'not in the panel', address))
        seal = next((row[1] for row in page.rows if row[0] == 'seal'), None)
        if len(readings) < 13:
            if page.paths() or not seal.startswith('none'):
                wrong.append((code, 'a code of facts that are not there'))
            continue
        facts = canonical(job, ports)
        version, level, read = qr_read.read(code_of(page.paths()[0]))
        if read != facts or seal != seal_of(facts) or seal not in said or version > 25:
            wrong.append((code, read, seal))
        for digest in {r['capture'] for r in readings if re.fullmatch('[0-9a-f]{64}', r.get('capture', ''))}:
            if not os.path.exists('data/demo/fleet/evidence/%s.log' % digest):
                wrong.append((code, 'no evidence', digest))
            if digest not in said or [digest] != [row[0] for row in page.rows if row[0] == digest]:
                wrong.append((code, 'evidence', digest))
        for reading in job['readings']:
            if reading['of'] in ('desk/sent', 'desk/decision') and not any(
                    row[0] == reading['at'] and reading['value'] in row[1] and reading.get('note', '') == row[2]
                    and row[3] == reading['by'] for row in page.rows if len(row) == 4):
                wrong.append((code, 'history', reading))
        if 'Local code, the employer\'s' not in said or 'licensed practice' not in text:
            wrong.append((code, 'no word on who governs'))
    report('fleet', wrong, len(FLEET))


def several(folder):
    wrong = []
    status, data, errors, text = html_of(folder, *FLEET)
    page = Page(text)
    if status != 1 or data or errors or page.tags.count('section') != 2 * len(FLEET) or page.tags.count('html') != 1:
        wrong.append((status, errors, page.tags.count('section')))
    wrong += stands_alone(page, text)
    status, data, errors = run(*NOW, *FLEET)
    wrong += text_laid_out(data, len(FLEET))
    report('several jobs in one', wrong, 2)


def quoted(text):
    """A double-quoted YAML scalar with every doubtful character escaped."""
    return '"%s"' % ''.join(c if c.isalnum() and ord(c) < 128 else '\\U%08x' % ord(c) for c in text)


NASTY = ['<script>alert("1")</script>', '</td></tr></table><img src=x onerror="x">', '"\' onload=\'x\' x="', '&lt;b&gt;&#60;',
         '\x1b[2J\x1b]0;title\x07', 'a\r\nb\tc\x0bd', '\u202eright to left\u2066', '<!-- -->]]><?php ?>', '\x85\x9b\u2028',
         'x' * 300, 'words and words ' * 40, '水路' * 100, 'e\u0301' * 120, '=1+1', '{{7*7}}']


def hostile(folder):
    wrong = []
    base = load(GEAR)
    for text in NASTY:
        q = quoted(text)
        with open(os.path.join(folder, 'eg-12.yaml'), 'w', encoding='utf-8') as file:
            file.write('format: "1"\ngear: "eg-12"\ntitle: %s\nports:\n' % q)
            for port in base['ports']:
                file.write('  - { name: "%s", panel: %s, role: %s }\n' % (port['name'], q, q))
        job = os.path.join(folder, 'job.yaml')
        with open(job, 'w', encoding='utf-8') as file:
            file.write('format: "1"\nplan: "router-swap"\ngear: "eg-12"\nsite:\n')
            file.write(''.join('  %s: %s\n' % (key, q) for key in ('code', 'name', 'unit', 'parent', 'crew', 'old-serial')))
            file.write('attached:\n  - { kind: %s, name: %s, serial: %s, address: %s }\nreadings:\n' % (q, q, q, q))
            readings = [('port/%s' % port['name'], 'typed') for port in base['ports']]
            readings += [('router/serial', 'label'), ('desk/sent', 'desk'), ('desk/decision', 'desk'), ('old/serial', 'label'),
                         ('desk/appointment', 'desk'), ('step/outage', 'skipped'), (text, 'stated'), (text, 'withdrawn')]
            for of, source in readings:
                file.write('  - { of: %s, value: %s, source: "%s", by: %s, at: "2026-10-01T09:00:00Z", capture: %s, note: %s }\n'
                           % (quoted(of), q, source, q, q, q))
            file.write('waivers:\n  - { phase: %s, gate: "open", condition: %s, by: %s, reason: %s, '
                       'at: "2026-10-01T09:00:00Z" }\n' % (q, q, q, q))
        status, data, errors, page_text = html_of(folder, job)
        page = Page(page_text)
        wrong += [(text[:20], line) for line in stands_alone(page, page_text)]
        if status not in (0, 1) or errors:
            wrong.append((text[:20], status, errors))
        if page.tags.count('section') != 2 or page.tags.count('title') != 14 or page.tags.count('rect') > 14:
            wrong.append((text[:20], 'forged elements', page.tags))
        status, plain, errors = run(*NOW, job)
        wrong += [(text[:20], line) for line in text_laid_out(plain, 1)]
        # plain text comes out whole, character for character
        if text.isprintable() and not any(unicodedata.category(c) == 'Cf' for c in text):
            if ['name', text] not in page.rows:
                wrong.append((text[:20], 'not whole'))
        os.unlink(os.path.join(folder, 'eg-12.yaml'))
    report('hostile text', wrong, len(NASTY))


def large(folder):
    """So many devices that the code needs level L, then that it does not fit."""
    wrong, ports = [], load(GEAR)['ports']
    with open(FLEET[0], encoding='utf-8') as file:
        base = re.sub('^attached:\n(?: .*\n)*', '', file.read(), flags=re.M)
    for count, level in ((5, 'M'), (9, 'L'), (40, None)):
        path = os.path.join(folder, 'large.yaml')
        with open(path, 'w', encoding='utf-8') as file:
            file.write(base + 'attached:\n' + ''.join(
                '  - { kind: "sensor", name: "gauge %d é", serial: "S-%04d", address: "00-00-5E-00-53-%02X" }\n' % (i, i, i + 0xA0)
                for i in range(count)))
        _, _, errors, text = html_of(folder, path)
        page, said = Page(text), run(*NOW, path)[1]
        wrong += stands_alone(page, text) + text_laid_out(said, 1) + ([errors] if errors else [])
        if level is None:
            if page.paths() or not any('No QR code' in part for part in page.texts):
                wrong.append((count, 'no word about the missing code'))
            continue
        _, got, read = qr_read.read(code_of(page.paths()[0]))
        if (got, read) != (level, canonical(load(path), ports)):
            wrong.append((count, got, read))
        if ['gauge 3 é', 'sensor', 'S-0003', '00-00-5E-00-53-A3', check_of('00005E0053A3')] not in page.rows:
            wrong.append((count, 'no device'))
    report('many attached devices', wrong, 3)


def files(folder):
    wrong = []
    out, page = os.path.join(folder, 'out.txt'), os.path.join(folder, 'out.html')
    status, data, errors = run(*NOW, '--out', out, '--html', page, FLEET[0])
    if status != 0 or data or errors or open(out, 'rb').read() != run(*NOW, FLEET[0])[1]:
        wrong.append(('--out and --html', status, errors))
    before = open(page, 'rb').read()
    if run(*NOW, '--html', '-', FLEET[0])[1] != before:
        wrong.append('--html -')
    status, data, errors = run(*NOW, 'no-such.yaml', FLEET[0])
    if status != 2 or b'TB-11' not in data or 'no-such.yaml' not in errors:
        wrong.append(('missing job', status, errors))
    status, data, errors = run(*NOW, '--html', page, FLEET[1], 'no-such.yaml')
    if status != 2 or data or open(page, 'rb').read() != before or 'out.html' not in errors:
        wrong.append(('missing job and --html', status, errors))
    # a file that may grow no more is a fault like a full disk, no sudden end
    done = subprocess.run([PROGRAM, 'packet', *NOW, '--html', page, FLEET[1]], stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                          preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (4000, 4000)))
    if done.returncode != 2 or open(page, 'rb').read() != before or b'out.html' not in done.stderr \
            or any('.tmp' in name for name in os.listdir(folder)):
        wrong.append(('a file that may grow no more', done.returncode, done.stderr))
    for arguments in ([], ['--now', 'today', FLEET[0]], ['--pdf', FLEET[0]], ['--out', out, '--html', out, FLEET[0]],
                      ['--html', os.path.join(folder, 'no', 'such', 'folder'), FLEET[0]]):
        status, data, errors = run(*arguments)
        if status != 2 or data or not errors:
            wrong.append((arguments, status, errors))
    report('files and faults', wrong, 10)


def practice(folder):
    """The practice site, walked by its answers."""
    site = os.path.join(folder, 'practice')
    quiet = {'stdout': subprocess.DEVNULL, 'stderr': subprocess.DEVNULL}
    subprocess.run([PROGRAM, 'new', '--practice', site], **quiet)
    job = os.path.join(site, 'site.yaml')
    subprocess.run([PROGRAM, 'walk', '--answers', os.path.join(site, 'answers.yaml'), job], **quiet)
    status, _, errors, text = html_of(folder, job)
    page = Page(text)
    wrong = stands_alone(page, text)
    facts = canonical(load(job), load(GEAR)['ports'])
    if status != 0 or errors or qr_read.read(code_of(page.paths()[0]))[2] != facts or ['seal', seal_of(facts)] not in page.rows:
        wrong.append((status, errors))
    if 'TB-00 Orsketh practice cabinet, practice' not in page.texts or ['terminal', 'a training site'] not in page.rows:
        wrong.append('not marked as practice')
    report('the practice site', wrong, 1)


scratch = tempfile.mkdtemp()
try:
    for test in (fleet, several, hostile, large, files, practice):
        test(scratch)
finally:
    shutil.rmtree(scratch)
sys.exit(1 if failures else 0)
