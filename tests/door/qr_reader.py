"""Reads a QR code from its picture, knowing nothing of the library that drew it.

Written from ISO/IEC 18004:2015 (from memory): finder patterns and version (6.1), format information and its mask
pattern (7.9), data mask conditions (7.8.2, table 10), placement of the codewords (7.7.3), blocks of versions 1 to 6
(table 9), Reed-Solomon over GF(256) with x⁸+x⁴+x³+x²+1 (7.5), byte mode (7.4.5).  It corrects nothing: a single wrong
module gives a remainder and is refused.
"""

from __future__ import annotations

import re

#: (version, level) → error correction codewords a block, blocks as data codewords each (ISO/IEC 18004, table 9).
BLOCKS = {
    (2, "Q"): (22, [22]),
    (3, "Q"): (18, [17, 17]),
    (4, "Q"): (26, [24, 24]),
    (5, "Q"): (18, [15, 15, 16, 16]),
    (6, "Q"): (24, [19, 19, 19, 19]),
    (2, "H"): (28, [16]),
    (3, "H"): (22, [13, 13]),
    (4, "H"): (16, [9, 9, 9, 9]),
    (5, "H"): (22, [11, 11, 12, 12]),
    (6, "H"): (28, [15, 15, 15, 15]),
}
LEVELS = {0b01: "L", 0b00: "M", 0b11: "Q", 0b10: "H"}
MASKS = [
    lambda i, j: (i + j) % 2,
    lambda i, j: i % 2,
    lambda i, j: j % 3,
    lambda i, j: (i + j) % 3,
    lambda i, j: (i // 2 + j // 3) % 2,
    lambda i, j: i * j % 2 + i * j % 3,
    lambda i, j: (i * j % 2 + i * j % 3) % 2,
    lambda i, j: ((i + j) % 2 + i * j % 3) % 2,
]


def modules_of(svg: str) -> list[list[int]]:
    """The dark modules of the drawing, as rows of 0 and 1 without the quiet zone.

    The drawing is one path of horizontal strokes one unit high: ``M x y`` begins, ``m dx dy`` moves on, ``h n`` draws.
    """
    wide = int(re.search(r'viewBox="0 0 (\d+) \1"', svg).group(1))
    path = re.search(r'<path[^>]*stroke="#000"[^>]*d="([^"]+)"|<path[^>]*d="([^"]+)"[^>]*stroke="#000"', svg)
    picture = [[0] * wide for _ in range(wide)]
    x, y = 0.0, 0.0
    for command, numbers in re.findall(r"([Mmh])([-\d. ]+)", next(part for part in path.groups() if part)):
        values = [float(number) for number in numbers.split()]
        if command == "M":
            x, y = values
        elif command == "m":
            x, y = x + values[0], y + values[1]
        else:
            for step in range(int(values[0])):
                picture[int(y)][int(x) + step] = 1
            x += values[0]
    rows = [number for number, row in enumerate(picture) if any(row)]
    first, last = rows[0], rows[-1]
    assert first >= 4 and wide - 1 - last >= 4, "the quiet zone is four modules wide (ISO/IEC 18004, 6.3.8)"
    return [row[first : last + 1] for row in picture[first : last + 1]]


def format_of(code: list[list[int]]) -> tuple[str, int]:
    """Level and mask pattern, from both copies of the format information."""
    size = len(code)
    around = [(8, j) for j in (0, 1, 2, 3, 4, 5, 7, 8)] + [(i, 8) for i in (7, 5, 4, 3, 2, 1, 0)]
    apart = [(size - 1 - k, 8) for k in range(7)] + [(8, size - 8 + k) for k in range(8)]
    found = set()
    for places in (around, apart):
        bits = int("".join(str(code[i][j]) for i, j in places), 2) ^ 0b101010000010010
        rest = bits
        for shift in range(4, -1, -1):  # BCH (15,5) with 10100110111
            if rest >> (shift + 10) & 1:
                rest ^= 0b10100110111 << shift
        assert rest == 0, "the format information does not check"
        found.add((LEVELS[bits >> 13], bits >> 10 & 7))
    assert len(found) == 1
    return found.pop()


def is_function(size: int, i: int, j: int) -> bool:
    """Finders with separators and format, timing, the dark module and the one alignment pattern of versions 2 to 6."""
    corner = (i < 9 and j < 9) or (i < 9 and j >= size - 8) or (i >= size - 8 and j < 9)
    alignment = abs(i - (size - 7)) <= 2 and abs(j - (size - 7)) <= 2
    return corner or i == 6 or j == 6 or alignment


def codewords(code: list[list[int]], mask: int) -> list[int]:
    size, bits, upward = len(code), [], True
    right = size - 1
    while right > 0:
        if right == 6:
            right -= 1
        for row in range(size - 1, -1, -1) if upward else range(size):
            for column in (right, right - 1):
                if not is_function(size, row, column):
                    bits.append(code[row][column] ^ (MASKS[mask](row, column) == 0))
        upward, right = not upward, right - 2
    return [int("".join(map(str, bits[n : n + 8])), 2) for n in range(0, len(bits) - 7, 8)]


def times(a: int, b: int) -> int:
    product = 0
    while b:
        product ^= a if b & 1 else 0
        a = a << 1 ^ (0b100011101 if a & 0x80 else 0)
        b >>= 1
    return product


def checks(block: list[int], correction: int) -> bool:
    """Every syndrome of the block is zero."""
    root = 1
    for _ in range(correction):
        value = 0
        for word in block:
            value = times(value, root) ^ word
        if value:
            return False
        root = times(root, 2)
    return True


def read(svg: str) -> str:
    """The text of a QR code in byte mode; AssertionError if anything of it does not check."""
    code = modules_of(svg)
    size = len(code)
    version = (size - 17) // 4
    assert size == 17 + 4 * version and code[size - 8][8] == 1
    level, mask = format_of(code)
    correction, data = BLOCKS[version, level]
    words = iter(codewords(code, mask))
    blocks: list[list[int]] = [[] for _ in data]
    for number in range(max(data)):
        for block, length in zip(blocks, data, strict=True):
            if number < length:
                block.append(next(words))
    for _ in range(correction):
        for block in blocks:
            block.append(next(words))
    assert all(checks(block, correction) for block in blocks), "a block does not check"
    stream = "".join(f"{word:08b}" for block, length in zip(blocks, data, strict=True) for word in block[:length])
    assert stream[:4] == "0100", "not in byte mode"
    length = int(stream[4:12], 2)
    return bytes(int(stream[12 + 8 * n : 20 + 8 * n], 2) for n in range(length)).decode("utf-8")
