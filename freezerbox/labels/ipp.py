"""The Internet Printing Protocol as far as asking goes: what printers there are, and what became of a job.

``lp`` hands jobs over, but its sisters do not say whether a job was printed or given up: both are "completed" to
them.  The print service itself does (RFC 8011), and it listens on this machine.
"""

from __future__ import annotations

import http.client
import os
import socket
import struct
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from freezerbox.errors import PrinterTrouble

# Operations: RFC 8011, 5.4.15; CUPS-Get-Printers from its own documentation of IPP.
CANCEL_JOB, GET_JOB, GET_PRINTER, CUPS_GET_PRINTERS = 0x0008, 0x0009, 0x000B, 0x4002
NOT_FOUND = 0x0406
_SUCCESS_BELOW = 0x0100
# Value tags: RFC 8010, 3.5.2.
_KEYWORD, _URI, _CHARSET, _LANGUAGE, _NAME = 0x44, 0x45, 0x47, 0x48, 0x42
_INTEGER, _BOOLEAN, _ENUM, _RESOLUTION = 0x21, 0x22, 0x23, 0x32
_WITH_LANGUAGE = (0x35, 0x36)
_BEGIN_COLLECTION, _END_COLLECTION = 0x34, 0x37
_END, _OPERATION = 0x03, 0x01
_PATIENCE_SECONDS = 10
_PORT = 631
_SOCKETS = ("/run/cups/cups.sock", "/var/run/cups/cups.sock", "/private/var/run/cupsd")

Values = dict[str, list[object]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What the print service said.  status: below 0x100 it did it.  groups: attributes, one a printer or job."""

    status: int
    groups: tuple[Values, ...]

    @property
    def done(self) -> bool:
        """Whether it did what was asked."""
        return self.status < _SUCCESS_BELOW


def ask(operation: int, uri: str, wanted: Sequence[str] = (), user: str = "") -> Answer:
    """Ask this machine's print service; ``uri`` names a queue or a job, "" neither.

    Raises: PrinterTrouble when nothing answers, or what answers is no print service.
    """
    path = "/" + uri.partition("//")[2].partition("/")[2] if uri else "/"
    connection = _connect()
    try:
        connection.request(
            "POST", path, body=_request(operation, uri, wanted, user), headers={"Content-Type": "application/ipp"}
        )
        answer = connection.getresponse()
        return decode(answer.read())
    except (OSError, http.client.HTTPException, struct.error, IndexError, UnicodeDecodeError) as error:
        why = error.strerror.lower() if isinstance(error, OSError) and error.strerror else str(error)
        raise PrinterTrouble(
            f"This machine's print service does not answer: {why}. Into a file instead: freezerbox label --to "
            "labels.pdf",
            state="no-service",
        ) from error
    finally:
        connection.close()


class _Local(http.client.HTTPConnection):
    """HTTP over a socket in the file system."""

    def __init__(self, path: str) -> None:
        super().__init__("localhost", timeout=_PATIENCE_SECONDS)
        self._path = path

    def connect(self) -> None:
        """Open the socket."""
        self.sock = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        self.sock.settimeout(_PATIENCE_SECONDS)
        self.sock.connect(self._path)


def _connect() -> http.client.HTTPConnection:
    """Where ``lp`` looks too: CUPS_SERVER, else the service's socket, else this computer's port."""
    named = os.environ.get("CUPS_SERVER", "")
    if named.startswith("/"):
        return _Local(named)
    if named:
        host, _, port = named.partition("/")[0].rpartition(":")
        if not port.isdigit():
            host, port = named.partition("/")[0], str(_PORT)
        return http.client.HTTPConnection(host or "localhost", int(port), timeout=_PATIENCE_SECONDS)
    for path in _SOCKETS:
        if hasattr(socket, "AF_UNIX") and Path(path).is_socket():
            return _Local(path)
    return http.client.HTTPConnection("localhost", _PORT, timeout=_PATIENCE_SECONDS)


def _request(operation: int, uri: str, wanted: Sequence[str], user: str) -> bytes:
    kind = "job-uri" if "/jobs/" in uri else "printer-uri"
    parts = [
        struct.pack(">BBHIB", 2, 0, operation, 1, _OPERATION),
        _attribute(_CHARSET, "attributes-charset", "utf-8"),
        _attribute(_LANGUAGE, "attributes-natural-language", "en"),
    ]
    if uri:
        parts.append(_attribute(_URI, kind, uri))
    if user:
        parts.append(_attribute(_NAME, "requesting-user-name", user))
    parts += [
        _attribute(_KEYWORD, "" if number else "requested-attributes", name) for number, name in enumerate(wanted)
    ]
    return b"".join(parts) + bytes([_END])


def _attribute(tag: int, name: str, value: str) -> bytes:
    raw_name, raw = name.encode(), value.encode()
    return struct.pack(">BH", tag, len(raw_name)) + raw_name + struct.pack(">H", len(raw)) + raw


def decode(data: bytes) -> Answer:
    """An answer as sent (RFC 8010, 3.1), collections passed over.  Raises: struct.error, IndexError when short."""
    _, _, status, _ = struct.unpack_from(">BBHI", data)
    groups: list[Values] = []
    name, depth = "", 0
    for tag, label, value in _attributes(data, 8):
        if tag < 0x10:
            groups.append({})
            continue
        depth += (tag == _BEGIN_COLLECTION) - (tag == _END_COLLECTION)
        if depth or tag == _END_COLLECTION:
            continue
        name = label or name
        groups[-1].setdefault(name, []).append(_value(tag, value))
    return Answer(status=status, groups=tuple(groups[1:]))


def _attributes(data: bytes, at: int) -> Iterator[tuple[int, str, bytes]]:
    while (tag := data[at]) != _END:
        at += 1
        if tag < 0x10:
            yield tag, "", b""
            continue
        (length,) = struct.unpack_from(">H", data, at)
        label = data[at + 2 : at + 2 + length].decode()
        at += 2 + length
        (length,) = struct.unpack_from(">H", data, at)
        yield tag, label, data[at + 2 : at + 2 + length]
        at += 2 + length


def _value(tag: int, raw: bytes) -> object:
    if tag in (_INTEGER, _ENUM):
        return int(struct.unpack(">i", raw)[0])
    if tag == _BOOLEAN:
        return raw != b"\0"
    if tag == _RESOLUTION:
        across, down, unit = struct.unpack(">iib", raw)
        # 4 is dots per centimetre (RFC 8011, 5.1.16).
        return (round(across * 2.54), round(down * 2.54)) if unit == 4 else (across, down)
    if tag in _WITH_LANGUAGE:
        (length,) = struct.unpack_from(">H", raw)
        return raw[4 + length :].decode()
    return raw.decode(errors="replace")


def texts(group: Mapping[str, Sequence[object]], name: str) -> tuple[str, ...]:
    """Every value of an attribute as text; nothing when it is not there."""
    return tuple(value for value in group.get(name, ()) if isinstance(value, str))


def number(group: Mapping[str, Sequence[object]], name: str) -> int:
    """An attribute's number; 0 when it is not there."""
    return next((value for value in group.get(name, ()) if isinstance(value, int)), 0)
