"""Whether a file is shorter than its own header says that it is: a copy that broke off, a stick pulled out."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

MAGIC = b"SQLite format 3\x00"
HEADER_LENGTH = 100
_PAGES = tuple(2**power for power in range(9, 17))


def cut_short(path: Path, header: bytes, size_before: int = 0) -> str:
    """``it holds 3000 bytes of 307200``; "" for a whole file, and where only SQLite itself can tell.

    The header, big-endian: the size of a page at 16 (1 stands for 65536) and how many pages there are at 28, which
    holds only where the counters at 24 and 92 are alike.  Source: SQLite's own description of its file format,
    section 1.3.  While a journal or a log lies beside the file, a program that broke off may have left the two apart.
    ``size_before``: of the file before the header was read, since others may write meanwhile.
    """
    if len(header) < HEADER_LENGTH:
        return f"it holds {len(header)} bytes"
    size = _size(path)
    said = int.from_bytes(header[16:18])
    page = 65536 if said == 1 else said
    whole = int.from_bytes(header[28:32]) * page
    if page not in _PAGES or header[24:28] != header[92:96] or max(size, size_before) >= whole:
        return ""
    if any(_size(Path(f"{path}{beside}")) for beside in ("-journal", "-wal")):
        return ""
    return f"it holds {size} bytes of {whole}"


def _size(path: Path) -> int:
    with suppress(OSError):
        return path.stat().st_size
    return 0


def in_plain_words(fault: str) -> str:
    """What SQLite says of a damaged file, with words before it that say what that is."""
    if fault.startswith("malformed database schema") or "list of its tables" in fault:
        return f"the list of what is in it cannot be read ({fault})"
    if "disk image is malformed" in fault:
        return f"its parts do not fit together ({fault})"
    return fault
