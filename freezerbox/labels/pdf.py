"""Black and white pages as a PDF, each written as soon as it is drawn, so that one page at a time is in memory."""

from __future__ import annotations

import io
import math
from collections.abc import Callable, Iterable, Iterator
from itertools import count
from typing import TYPE_CHECKING, BinaryIO

from freezerbox.errors import BookTrouble

if TYPE_CHECKING:
    from PIL.Image import Image

# The same labels give the same bytes, so a PDF carries no time of its own.
_INFO = b"<< /Title (freezerbox labels) /CreationDate (D:20000101000000Z) >>"
_CATALOG, _TREE, _ABOUT = 1, 2, 3
_STRIP_START, _STRIP_BYTES = 273, 279  # TIFF 6.0, section 8: StripOffsets, StripByteCounts


def write_pdf(pages: Iterable[Image], out: BinaryIO, dpi: int) -> None:
    """Pages of mode ``1``, as CCITT group 4 images of exactly their own dots (ISO 32000-1, 7.4.6).

    Raises: BookTrouble when this Pillow cannot compress black and white.
    """
    refuse_without_libtiff()
    starts: dict[int, int] = {}
    kids: list[int] = []
    numbers = count(_ABOUT + 1)

    def put(number: int, body: bytes) -> None:
        starts[number] = out.tell()
        out.write(b"%d 0 obj\n%s\nendobj\n" % (number, body))

    out.write(b"%PDF-1.4\n%\xe2\xe3\xcf\xd3\n")
    for page in pages:
        kids.append(_page(page, dpi, numbers, put))
    put(_CATALOG, b"<< /Type /Catalog /Pages %d 0 R >>" % _TREE)
    refs = b" ".join(b"%d 0 R" % kid for kid in kids)
    put(_TREE, b"<< /Type /Pages /Count %d /Kids [%s] >>" % (len(kids), refs))
    put(_ABOUT, _INFO)
    table = out.tell()
    entries = b"".join(b"%010d 00000 n \n" % starts[number] for number in sorted(starts))
    out.write(b"xref\n0 %d\n0000000000 65535 f \n%s" % (len(starts) + 1, entries))
    trailer = (len(starts) + 1, _CATALOG, _ABOUT, table)
    out.write(b"trailer\n<< /Size %d /Root %d 0 R /Info %d 0 R >>\nstartxref\n%d\n%%%%EOF\n" % trailer)


def refuse_without_libtiff() -> None:
    """Raises: BookTrouble when black and white could only be stored as JPEG, with rings around every module."""
    from PIL import features

    if not features.check("libtiff"):
        raise BookTrouble("This Pillow lacks libtiff, which a sharp PDF needs. Write a .png, or reinstall Pillow.")


def _page(page: Image, dpi: int, numbers: Iterator[int], put: Callable[[int, bytes], None]) -> int:
    image, contents, own = next(numbers), next(numbers), next(numbers)
    width, height = page.size
    fax = b"<< /K -1 /BlackIs1 true /Columns %d /Rows %d >>" % (width, height)
    kind = b"/Type /XObject /Subtype /Image /Width %d /Height %d" % (width, height)
    data = group4(page)
    put(
        image,
        b"<< %s /BitsPerComponent 1 /ColorSpace /DeviceGray /Filter /CCITTFaxDecode /DecodeParms %s /Length %d >>\n"
        b"stream\n%s\nendstream" % (kind, fax, len(data), data),
    )
    across, down = (b"%.4f" % (dots * 72 / dpi) for dots in (width, height))
    drawing = b"q %s 0 0 %s 0 0 cm /image Do Q" % (across, down)
    put(contents, b"<< /Length %d >>\nstream\n%s\nendstream" % (len(drawing), drawing))
    put(
        own,
        b"<< /Type /Page /Parent %d 0 R /MediaBox [0 0 %s %s] /Contents %d 0 R "
        b"/Resources << /XObject << /image %d 0 R >> >> >>" % (_TREE, across, down, contents, image),
    )
    return own


def group4(page: Image) -> bytes:
    """The page as one CCITT group 4 strip, cut out of a TIFF."""
    from PIL import Image

    tiff = io.BytesIO()
    whole = math.ceil(page.width / 8) * page.height
    page.save(tiff, "TIFF", compression="group4", strip_size=whole)
    with Image.open(tiff, formats=("TIFF",)) as made:
        tags = made.tag_v2  # type: ignore[attr-defined]
        (start,), (size,) = tags[_STRIP_START], tags[_STRIP_BYTES]
    return tiff.getvalue()[start : start + size]
