"""Read a QR code of version 1 to 25, level L or M, from its modules: written
from ISO/IEC 18004 (from memory) and nothing else, so that an encoder's word is
not taken for it. No error is corrected: every block's syndromes must be zero,
which also proves that the blocks were taken apart rightly.
"""

# level -> per version: check codewords a block, blocks
BLOCKS = {
    'L': [(7, 1), (10, 1), (15, 1), (20, 1), (26, 1), (18, 2), (20, 2), (24, 2), (30, 2), (18, 4), (20, 4), (24, 4),
          (26, 4), (30, 4), (22, 6), (24, 6), (28, 6), (30, 6), (28, 7), (28, 8), (28, 8), (28, 9), (30, 9), (30, 10),
          (26, 12)],
    'M': [(10, 1), (16, 1), (26, 1), (18, 2), (24, 2), (16, 4), (18, 4), (22, 4), (22, 5), (26, 5), (30, 5), (22, 8),
          (22, 9), (24, 9), (24, 10), (28, 10), (28, 11), (26, 13), (26, 14), (26, 16), (26, 17), (28, 17), (28, 18),
          (28, 20), (28, 21)],
}
MASKS = [lambda x, y: (x + y) % 2, lambda x, y: y % 2, lambda x, y: x % 3, lambda x, y: (x + y) % 3,
         lambda x, y: (y // 2 + x // 3) % 2, lambda x, y: x * y % 2 + x * y % 3,
         lambda x, y: (x * y % 2 + x * y % 3) % 2, lambda x, y: ((x + y) % 2 + x * y % 3) % 2]
ALPHANUMERIC = '0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:'


class Unreadable(Exception):
    pass


def exponents():
    table, value = [], 1
    for _ in range(255):
        table.append(value)
        value = value << 1 ^ (0x11D if value & 0x80 else 0)
    return table


EXP = exponents()
LOG = {value: power for power, value in enumerate(EXP)}


def syndromes(block, checks):
    """The block as a polynomial, at the powers 0 to checks - 1 of 2."""
    result = []
    for power in range(checks):
        total = 0
        for codeword in block:
            total = (EXP[(LOG[total] + power) % 255] if total else 0) ^ codeword
        result.append(total)
    return result


def centres(version):
    if version == 1:
        return []
    count, last = version // 7 + 2, 4 * version + 10
    step = (version * 4 + count * 2 + 1) // (count * 2 - 2) * 2
    return [6] + sorted(last - i * step for i in range(count - 1))


def reserved(version):
    size = 17 + 4 * version
    taken = {(x, y) for x in range(9) for y in range(9)}
    taken |= {(size - 1 - x, y) for x in range(8) for y in range(9)}
    taken |= {(x, size - 1 - y) for x in range(9) for y in range(8)}
    taken |= {(6, i) for i in range(size)} | {(i, 6) for i in range(size)}
    at = centres(version)
    for x in at:
        for y in at:
            if (x, y) not in ((6, 6), (6, size - 7), (size - 7, 6)):
                taken |= {(x + i, y + j) for i in range(-2, 3) for j in range(-2, 3)}
    if version >= 7:
        taken |= {(size - 9 - i, j) for i in range(3) for j in range(6)}
        taken |= {(j, size - 9 - i) for i in range(3) for j in range(6)}
    return taken


def codewords(rows, version, mask):
    size, taken, bits, upward = len(rows), reserved(version), [], True
    right = size - 1
    while right > 0:
        if right == 6:
            right -= 1
        for step in range(size):
            y = size - 1 - step if upward else step
            for x in (right, right - 1):
                if (x, y) not in taken:
                    bits.append(rows[y][x] ^ (MASKS[mask](x, y) == 0))
        upward = not upward
        right -= 2
    return [int(''.join(map(str, map(int, bits[i:i + 8]))), 2) for i in range(0, len(bits) // 8 * 8, 8)]


def data_of(words, level, version):
    checks, blocks = BLOCKS[level][version - 1]
    short, longer = divmod(len(words) - checks * blocks, blocks)
    lengths = [short + (i >= blocks - longer) for i in range(blocks)]
    parts, at = [[] for _ in lengths], 0
    for i in range(short + 1):
        for k, length in enumerate(lengths):
            if i < length:
                parts[k].append(words[at])
                at += 1
    for _ in range(checks):
        for part in parts:
            part.append(words[at])
            at += 1
    for part in parts:
        if any(syndromes(part, checks)):
            raise Unreadable('a block has errors')
    return [word for part, length in zip(parts, lengths) for word in part[:length]]


class Bits:
    def __init__(self, data):
        self.text, self.at = ''.join('{:08b}'.format(word) for word in data), 0

    def take(self, count):
        self.at += count
        return int(self.text[self.at - count:self.at] or '0', 2)

    def left(self):
        return len(self.text) - self.at


def text_of(data, version):
    bits, out = Bits(data), b''
    size = 0 if version < 10 else 1
    while bits.left() >= 4:
        mode = bits.take(4)
        if mode == 0:
            break
        if mode == 1:
            left = bits.take((10, 12)[size])
            while left:
                digits = min(left, 3)
                out += '{:0{}d}'.format(bits.take((0, 4, 7, 10)[digits]), digits).encode()
                left -= digits
        elif mode == 2:
            left = bits.take((9, 11)[size])
            while left > 1:
                pair = bits.take(11)
                out += (ALPHANUMERIC[pair // 45] + ALPHANUMERIC[pair % 45]).encode()
                left -= 2
            if left:
                out += ALPHANUMERIC[bits.take(6)].encode()
        elif mode == 4:
            out += bytes(bits.take(8) for _ in range(bits.take((8, 16)[size])))
        else:
            raise Unreadable('mode %d' % mode)
    return out.decode('utf-8')


def read(rows):
    """rows of booleans, no quiet zone -> (version, level, text)"""
    size = len(rows)
    version = (size - 17) // 4
    if size != 17 + 4 * version or any(len(row) != size for row in rows):
        raise Unreadable('no square of a known size')
    line = [(i, 8) for i in range(6)] + [(7, 8), (8, 8), (8, 7)] + [(8, 5 - i) for i in range(6)]
    found = int(''.join(str(int(rows[y][x])) for x, y in line), 2) ^ 0x5412
    level = {0: 'M', 1: 'L'}.get(found >> 13)
    if not level:
        raise Unreadable('another level')
    words = codewords(rows, version, found >> 10 & 7)
    return version, level, text_of(data_of(words, level, version), version)
