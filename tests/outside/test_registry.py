"""Hold the registry look-up against an independent reading of the same files.

The judge is Python's csv module and a dictionary a prefix length: nothing of
the program's own reading, ordering or searching is used.
"""
import csv
import json
import os
import random
import subprocess
import sys
import tempfile

PROGRAM = os.environ.get('PROGRAM', 'build/bin/portmuster')
SHARE = os.environ.get('SHARE', 'build/share/portmuster')
IEEE = os.environ.get('IEEE', '/usr/share/ieee-data')
INDEX = os.path.join(SHARE, 'registry.idx')
FILES = [('oui.csv', 'MA-L', 6), ('mam.csv', 'MA-M', 7), ('oui36.csv', 'MA-S', 9), ('iab.csv', 'IAB', 9)]
failures = 0


def report(name, wrong, count=None):
    """One line a block of checks; the first few that are wrong below it."""
    global failures
    if wrong or count == 0:
        failures += 1
        print('not ok %s: %d wrong of %s' % (name, len(wrong), count))
        for line in wrong[:5]:
            print('  ', line)
    else:
        print('ok %s' % name + (' (%d)' % count if count is not None else ''))


def lookup(addresses, *options, env=None, status=0):
    """The program's answers, one an address."""
    run = subprocess.run([PROGRAM, 'lookup', '--json', *options, '-'], input='\n'.join(addresses) + '\n',
                         stdout=subprocess.PIPE, stderr=subprocess.PIPE, encoding='utf-8', env=env)
    if run.returncode != status:
        raise SystemExit('not ok lookup ended with %d: %s' % (run.returncode, run.stderr))
    answers = json.loads(run.stdout)
    if len(answers) != len(addresses):
        raise SystemExit('not ok %d addresses gave %d answers' % (len(addresses), len(answers)))
    return answers


class Registry:
    def __init__(self, folder):
        self.rows = {name: [] for _, name, _ in FILES}
        self.first = {6: {}, 7: {}, 9: {}}      # prefix -> (register, holder), the first listed
        self.holders = {}
        for file, name, digits in FILES:
            with open(os.path.join(folder, file), encoding='utf-8', newline='') as source:
                for row in csv.DictReader(source):
                    assert row['Registry'] == name and len(row['Assignment']) == digits
                    prefix = row['Assignment'].upper()
                    self.rows[name].append((prefix, row['Organization Name']))
                    self.first[digits].setdefault(prefix, (name, row['Organization Name']))
                    self.holders[prefix] = self.holders.get(prefix, 0) + 1
        self.parents = {prefix[:6] for digits in (7, 9) for prefix in self.first[digits]}
        # a prefix that is known to be split for MA-S tells the authority's name
        self.authority = self.first[6]['70B3D5'][1]

    def answer(self, address):
        """(assignment, bits, prefix, holder, register, holders) of twelve hex digits."""
        if int(address[:2], 16) & 3:
            return ('not-applicable', None, None, None, None, None)
        for digits in (9, 7, 6):
            prefix = address[:digits]
            if prefix not in self.first[digits]:
                continue
            register, holder = self.first[digits][prefix]
            split = digits == 6 and (prefix in self.parents or holder == self.authority)
            return ('block-unlisted' if split else 'assigned', digits * 4, prefix, holder, register,
                    self.holders[prefix])
        return ('block-unlisted' if address[:6] in self.parents else 'unassigned',
                None, None, None, None, None)


def compare(name, registry, addresses):
    wrong = []
    for address, got in zip(addresses, lookup(addresses, '--registry', INDEX)):
        block = got['block'] or {}
        seen = (got['assignment'], block.get('bits'), block.get('prefix'), block.get('holder'),
                got['register'], block.get('holders'))
        want = registry.answer(address)
        if seen != want or not got['valid'] or got['address'].replace('-', '') != address:
            wrong.append('%s: %r, expected %r' % (address, seen, want))
    report(name, wrong, len(addresses))
    return len(addresses)


def every_entry(registry):
    """Each listed prefix, padded with zeros and with ones, and its two neighbours."""
    looked_up = 0
    for _, name, digits in FILES:
        rows = registry.rows[name]
        for pad in '0F':
            looked_up += compare('%s, every entry padded with %s' % (name, pad), registry,
                                 [prefix.ljust(12, pad) for prefix, _ in rows])
        step = 1 << (48 - 4 * digits)
        bases = {int(prefix.ljust(12, '0'), 16) for prefix, _ in rows}
        near = sorted({n for base in bases for n in (base - 1, base + step) if 0 <= n < 1 << 48})
        looked_up += compare('%s, one below and one above every entry' % name, registry,
                             ['%012X' % n for n in near])
    return looked_up


def known_cases(registry):
    """Computed beforehand from the files of 2022-08-27 (Debian 12)."""
    if [len(registry.rows[name]) for _, name, _ in FILES] != [32530, 4390, 5029, 4575]:
        print('# figure known cases not held: these are other files than those of 2022-08-27')
        return
    cases = {28: '741AE09 741AE08 208593B B0C5CAF B01F81F 9806375 241510B 1C88790',
             36: '70B3D5F2F 70B3D5719 8C1F64000 001BC5000 70B3D59F3 0050C27D5 40D85511C',
             24: '741AE0F 001BC5FFF 70B3D5000 0050C204D 00005E 080030',
             None: '123456 021234'}
    unlisted = {'741AE0F', '001BC5FFF', '70B3D5000', '0050C204D'}
    iab = {'0050C27D5', '40D85511C'}
    wrong, count = [], 0
    for bits, text in cases.items():
        prefixes = text.split()
        got = lookup([prefix.ljust(12, '0') for prefix in prefixes], '--registry', INDEX)
        for prefix, answer in zip(prefixes, got):
            count += 1
            block = answer['block']
            good = (block and block['bits']) == bits
            if bits:
                good = good and prefix.startswith(block['prefix'])
                good = good and answer['assignment'] == ('block-unlisted' if prefix in unlisted else 'assigned')
            if bits == 36:
                good = good and answer['register'] == ('IAB' if prefix in iab else 'MA-S')
            if not good:
                wrong.append('%s: %r' % (prefix, answer))
    report('cases computed beforehand', wrong, count)
    repeated = lookup(['080030000000', '0001C8000000'], '--registry', INDEX)
    report('repeated prefixes count their holders',
           [a for a, n in zip(repeated, (3, 2)) if a['block']['holders'] != n], 2)


def bits_first():
    """Local and group addresses are not looked up, though rows exist for some."""
    cases = [('11-00-AA-00-00-01', True, False), ('AA-00-04-00-00-01', False, True),
             ('02-07-01-00-00-01', False, True), ('FF-FF-FF-FF-FF-FF', True, True)]
    got = lookup([address for address, _, _ in cases], '--registry', INDEX)
    report('bits come before the registry',
           [a for (_, group, local), a in zip(cases, got)
            if (a['group'], a['local'], a['block'], a['assignment']) != (group, local, None, 'not-applicable')],
           len(cases))


def without_index():
    """Never a silent pass."""
    with tempfile.TemporaryDirectory() as empty:
        env = dict(os.environ, PORTMUSTER_DATA=empty, XDG_DATA_HOME=empty, HOME=empty)
        got = lookup(['00-00-5E-00-53-01'], env=env)[0]
        report('without an index, JSON', [] if (got['assignment'], got['block']) == ('not-checked', None) else [got])
        run = subprocess.run([PROGRAM, 'lookup', '00-00-5E-00-53-01'], env=env, stdout=subprocess.PIPE,
                             encoding='utf-8')
        report('without an index, text',
               [] if run.returncode == 0 and 'not checked: no registry index' in run.stdout else [run.stdout])
        run = subprocess.run([PROGRAM, 'registry'], env=env, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                             encoding='utf-8')
        report('without an index, registry', [] if run.returncode == 2 and 'no registry index' in run.stderr
               and not run.stdout else [run.stderr])
        missing = os.path.join(empty, 'none.idx')
        run = subprocess.run([PROGRAM, 'lookup', '--registry', missing, '00-00-5E-00-53-01'], stdout=subprocess.PIPE,
                             stderr=subprocess.PIPE, encoding='utf-8')
        report('an index asked for and not there', [] if run.returncode == 2 and not run.stdout else [run.stdout])
        damaged = os.path.join(empty, 'registry.idx')
        with open(INDEX, 'rb') as source, open(damaged, 'wb') as target:
            target.write(source.read()[:-1])
        run = subprocess.run([PROGRAM, 'lookup', '00-00-5E-00-53-01'], env=env, stdout=subprocess.PIPE,
                             stderr=subprocess.PIPE, encoding='utf-8')
        report('a damaged index is named and nothing passes', [] if run.returncode == 2
               and 'damaged registry index' in run.stderr and 'not checked' in run.stdout else [run.stderr])


def about_the_index(registry):
    run = subprocess.run([PROGRAM, 'registry', '--json', '--registry', INDEX], stdout=subprocess.PIPE,
                         check=True, encoding='utf-8')
    about = json.loads(run.stdout)
    want = {name: len(registry.rows[name]) for _, name, _ in FILES}
    report('rows of each register', [] if about['rows'] == want else [about['rows']])
    prefixes = {'28': len(registry.first[7]), '36': len(registry.first[9]),
                '24': len(set(registry.first[6]) | registry.parents)}
    report('distinct prefixes', [] if about['prefixes'] == prefixes else [about['prefixes']])
    print('# figure rows: %s, dated %s' % (', '.join('%s %d' % row for row in want.items()), about['dated']))


def what_it_catches(registry):
    """Share of slips in an address with an MA-L prefix after which the answer is
    no longer a plain assignment."""
    chance = random.Random(9542)
    makers = [prefix for prefix, holder in registry.rows['MA-L']
              if registry.answer(prefix + '000000')[:2] == ('assigned', 24)
              and prefix not in registry.parents and holder != registry.authority]
    digits = '0123456789ABCDEF'

    def wrong_digit(address, low, high):
        at = chance.randrange(low, high)
        return address[:at] + chance.choice(digits.replace(address[at], '')) + address[at + 1:]

    def swap(address, low, high):
        places = [at for at in range(low, high - 1) if address[at] != address[at + 1]]
        if not places:
            return None
        at = chance.choice(places)
        return address[:at] + address[at + 1] + address[at] + address[at + 2:]

    rates = {}
    for name, slip, low, high in (('one wrong digit among the first six', wrong_digit, 0, 6),
                                  ('neighbours swapped among the first six', swap, 0, 6),
                                  ('one wrong digit among the last six', wrong_digit, 6, 12),
                                  ('neighbours swapped among the last six', swap, 6, 12)):
        slipped = []
        while len(slipped) < 20000:
            address = slip(chance.choice(makers) + '%06X' % chance.randrange(1 << 24), low, high)
            if address:
                slipped.append(address)
        got = lookup(slipped, '--registry', INDEX)
        rates[name] = 100 * sum(a['assignment'] != 'assigned' for a in got) / len(got)
        print('# figure caught by the registry alone, %s: %.1f %% of %d' % (name, rates[name], len(got)))
    report('most slips in the prefix are caught', [r for n, r in rates.items() if 'first' in n and not 70 < r < 90])
    report('no slip behind the prefix is caught', [r for n, r in rates.items() if 'last' in n and r])


def main():
    if not os.path.isfile(os.path.join(IEEE, 'oui.csv')):
        print('not ok no registry files in %s (Debian package ieee-data)' % IEEE)
        return 1
    registry = Registry(IEEE)
    about_the_index(registry)
    looked_up = every_entry(registry)
    chance = random.Random(48)
    looked_up += compare('random addresses', registry, ['%012X' % chance.randrange(1 << 48) for _ in range(20000)])
    print('# figure addresses looked up and compared: %d' % looked_up)
    known_cases(registry)
    bits_first()
    without_index()
    what_it_catches(registry)
    return 1 if failures else 0


sys.exit(main())
