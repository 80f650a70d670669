"""The pages of a journal file read from raw bytes, for a file that SQLite cannot read.

Each row and index key is read separately, so that a bad page loses only its own content. Cells that cannot be read
as rows are left out and counted.

Layout: the SQLite database file format (sqlite.org/fileformat2.html: 1.3 header, 1.6 b-tree pages, 2.1 record
format, 4.1 WAL format). From memory; tests compare the result with what SQLite reads.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator, Mapping
from typing import Final

from msgspec import Struct

_MAGIC: Final = b"SQLite format 3\x00"
_SIZES: Final = frozenset(2**power for power in range(9, 17))
DEFAULT_PAGE_SIZE: Final = 4096

_TABLE_LEAF: Final = 0x0D
_INDEX_LEAF: Final = 0x0A
_INDEX_INTERIOR: Final = 0x02
_WAL_HEADER: Final = 32
_FRAME_HEADER: Final = 24
_INTEGER_BYTES: Final = {1: 1, 2: 2, 3: 3, 4: 4, 5: 6, 6: 8}

Value = int | str | bytes | None


class Unreadable(ValueError):
    """Bytes that do not have the expected form."""


class Frame(Struct, frozen=True):
    """One page in the -wal file. `sound`: its checksum follows from the frame before it."""

    page: int
    content: bytes
    pages_after: int
    sound: bool


class Image(Struct, frozen=True):
    """A journal's bytes. `pages`: the newest version of each by number, from 1; `versions`: all, oldest first."""

    page_size: int
    pages: Mapping[int, bytes]
    versions: tuple[tuple[int, bytes], ...]
    missing: int


def read_image(main: bytes, wal: bytes) -> Image:
    """Cut the database and its -wal file into pages. Accepts any bytes and never raises."""
    size = _page_size(main)
    frames = tuple(frame for frame in committed_frames(wal, verify=True) if len(frame.content) == size)
    versions = [(at // size + 1, main[at : at + size]) for at in range(0, len(main) - size + 1, size)]
    pages = dict(versions)
    declared = int.from_bytes(main[28:32], "big") if main.startswith(_MAGIC) else 0
    for frame in frames:
        versions.append((frame.page, frame.content))
        if frame.sound or frame.page not in pages:
            pages[frame.page] = frame.content
        declared = frame.pages_after or declared
    missing = declared - sum(number <= declared for number in pages)
    return Image(size, pages, tuple(versions), missing)


def committed_frames(wal: bytes, *, verify: bool = False) -> tuple[Frame, ...]:
    """The frames of a -wal file up to its last commit; `sound` is worked out only when `verify` is asked for."""
    if len(wal) < _WAL_HEADER + _FRAME_HEADER:
        return ()
    magic, _, size, _, salt_1, salt_2, sum_1, sum_2 = struct.unpack_from(">8I", wal)
    order = ">" if magic & 1 else "<"
    if size not in _SIZES:
        size = DEFAULT_PAGE_SIZE
    salts, sums = (salt_1, salt_2), (sum_1, sum_2)
    if verify and _checksum(order, (0, 0), wal[:24]) != sums:
        salts = struct.unpack_from(">2I", wal, _WAL_HEADER + 8)
    found: list[Frame] = []
    committed = 0
    for at in range(_WAL_HEADER, len(wal) - _FRAME_HEADER - size + 1, _FRAME_HEADER + size):
        page, pages_after, own_1, own_2, *stated = struct.unpack_from(">6I", wal, at)
        before, sums = sums, (stated[0], stated[1])
        if (own_1, own_2) != salts or page == 0:
            continue  # a frame from before the -wal file was last reset
        content = wal[at + _FRAME_HEADER : at + _FRAME_HEADER + size]
        sound = verify and _checksum(order, before, wal[at : at + 8] + content) == sums
        found.append(Frame(page, content, pages_after, sound))
        if pages_after:
            committed = len(found)
    return tuple(found[:committed])


def table_rows(image: Image, page: bytes) -> Iterator[tuple[int, tuple[Value, ...]] | Unreadable]:
    """(rowid, values) of each cell, if `page` is a leaf of a table; an `Unreadable` for each that fails."""
    if page[:1] != bytes([_TABLE_LEAF]):
        return
    usable = image.page_size
    for start in _cell_starts(page, 8):
        try:
            length, at = _varint(page, start)
            rowid, at = _varint(page, at)
            payload = _payload(image, page, at, length, usable - 35)
            yield rowid, _record(payload)
        except Unreadable as problem:
            yield problem


def index_keys(image: Image, page: bytes) -> Iterator[tuple[Value, ...]]:
    """The values of each cell that reads, if `page` belongs to an index."""
    if page[:1] not in (bytes([_INDEX_LEAF]), bytes([_INDEX_INTERIOR])):
        return
    interior = page[0] == _INDEX_INTERIOR
    most = (image.page_size - 12) * 64 // 255 - 23
    for start in _cell_starts(page, 12 if interior else 8):
        try:
            length, at = _varint(page, start + (4 if interior else 0))
            yield _record(_payload(image, page, at, length, most))
        except Unreadable:
            continue


def _page_size(main: bytes) -> int:
    stated = int.from_bytes(main[16:18], "big")
    stated = 65536 if stated == 1 else stated
    return stated if main.startswith(_MAGIC) and stated in _SIZES else DEFAULT_PAGE_SIZE


def _checksum(order: str, start: tuple[int, int], content: bytes) -> tuple[int, int]:
    first, second = start
    words = struct.unpack(f"{order}{len(content) // 4}I", content)
    for one, two in zip(words[::2], words[1::2], strict=True):
        first = (first + one + second) & 0xFFFFFFFF
        second = (second + two + first) & 0xFFFFFFFF
    return first, second


def _cell_starts(page: bytes, header: int) -> Iterator[int]:
    count = int.from_bytes(page[3:5], "big")
    for at in range(header, min(header + 2 * count, len(page) - 1), 2):
        yield int.from_bytes(page[at : at + 2], "big")


def _varint(data: bytes, at: int) -> tuple[int, int]:
    """A whole number of one to nine bytes and where it ends."""
    value = 0
    for place in range(9):
        if at >= len(data):
            raise Unreadable("a number runs over the end")
        byte = data[at]
        at += 1
        if place == 8:
            return (value << 8) | byte, at
        value = (value << 7) | (byte & 0x7F)
        if byte < 0x80:
            break
    return value, at


def _payload(image: Image, page: bytes, at: int, length: int, most: int) -> bytes:
    """The bytes of one cell, those on overflow pages included."""
    usable = image.page_size
    if length > usable * len(image.pages):
        raise Unreadable("a row longer than the file")
    local = length
    if length > most:
        least = (usable - 12) * 32 // 255 - 23
        local = least + (length - least) % (usable - 4)
        local = local if local <= most else least
    parts = [page[at : at + local]]
    if len(parts[0]) < local:
        raise Unreadable("a row runs over the end of its page")
    left = length - local
    following = int.from_bytes(page[at + local : at + local + 4], "big")
    while left > 0:
        if (overflow := image.pages.get(following)) is None:
            raise Unreadable("a part of a row is on a page that is missing")
        parts.append(overflow[4 : 4 + left])
        left -= len(parts[-1])
        following = int.from_bytes(overflow[:4], "big")
    return b"".join(parts)


def _record(payload: bytes) -> tuple[Value, ...]:
    header, at = _varint(payload, 0)
    if header > len(payload):
        raise Unreadable("a row's header is longer than the row")
    body = header
    values: list[Value] = []
    while at < header:
        kind, at = _varint(payload, at)
        value, body = _value(payload, kind, body)
        values.append(value)
    if body != len(payload):
        raise Unreadable("a row is not as long as it says")
    return tuple(values)


def _value(payload: bytes, kind: int, at: int) -> tuple[Value, int]:
    if kind == 0:
        return None, at
    if kind in (8, 9):
        return kind - 8, at
    if (width := _INTEGER_BYTES.get(kind)) is not None:
        end = at + width
        if end <= len(payload):
            return int.from_bytes(payload[at:end], "big", signed=True), end
    elif kind >= 12:
        end = at + (kind - 12) // 2
        if end <= len(payload):
            return _text(payload[at:end]) if kind % 2 else payload[at:end], end
    raise Unreadable("a value of no known kind, or one that runs over the end")


def _text(raw: bytes) -> str:
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as problem:
        raise Unreadable("a text that is not UTF-8") from problem
