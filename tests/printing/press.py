"""A real print service with real queues on this machine's loopback, for tests: private, and stopped whole.

CUPS (``cupsd``) with two IPP printers (``ippeveprinter``): a sheet printer that takes PDF, and a label printer of
203 dpi that takes raster.  ``ippeveprinter`` refuses to start without service discovery, so a private message bus and
Avahi on the loopback stand behind it.  Everything lives in one folder; every process is ended by its own number.
"""

from __future__ import annotations

import fcntl
import os
import shutil
import socket
import struct
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO

from PIL import Image

NEEDED = ("cupsd", "lp", "lpadmin", "ippeveprinter", "avahi-daemon", "dbus-daemon", "gs")
PATIENCE_SECONDS = 60
"""A service that has not come up for so long never will; no test measures time."""

_BUS = """<!DOCTYPE busconfig PUBLIC "-//freedesktop//DTD D-Bus Bus Configuration 1.0//EN" "busconfig.dtd">
<busconfig><type>system</type><listen>unix:path={folder}/bus</listen><auth>EXTERNAL</auth>
<policy context="default"><allow user="*"/><allow own="*"/><allow send_destination="*"/><allow eavesdrop="true"/>
<allow send_type="method_call"/><allow send_type="signal"/><allow receive_type="method_call"/>
<allow receive_type="signal"/><allow receive_type="method_return"/><allow receive_type="error"/></policy></busconfig>
"""
_AVAHI = """[server]
use-ipv4=yes
use-ipv6=no
allow-interfaces=lo
enable-dbus=yes
[publish]
publish-hinfo=no
publish-workstation=no
"""
_CUPS = """Listen 127.0.0.1:{port}
LogLevel info
Browsing Off
DefaultAuthType None
WebInterface No
JobRetryInterval 2
<Location />
  Order allow,deny
  Allow all
</Location>
<Policy default>
  JobPrivateAccess all
  JobPrivateValues none
  SubscriptionPrivateAccess all
  SubscriptionPrivateValues none
  <Limit All>
    Order allow,deny
    Allow all
  </Limit>
</Policy>
"""
_CUPS_FILES = """ServerRoot {folder}/cups/root
CacheDir {folder}/cups/cache
StateDir {folder}/cups/state
RequestRoot {folder}/cups/spool
TempDir {folder}/cups/temporary
ErrorLog {folder}/cups/logs/error
AccessLog {folder}/cups/logs/access
PageLog {folder}/cups/logs/page
User lp
Group lp
SystemGroup root
"""
# Hundredths of a millimetre.  The range is what lets a job ask for a label of any size.
_LABELS = """ATTR mimeMediaType document-format-supported application/octet-stream,image/pwg-raster
ATTR keyword media-supported oe_2x1-label_2x1in,oe_4x6-label_4x6in,custom_min_25.4x12.7mm,custom_max_108x300mm
ATTR keyword media-default oe_2x1-label_2x1in
ATTR keyword media-ready oe_2x1-label_2x1in
ATTR collection media-size-supported {{
 MEMBER integer x-dimension 5080
 MEMBER integer y-dimension 2540
}},{{
 MEMBER integer x-dimension 10160
 MEMBER integer y-dimension 15240
}},{{
 MEMBER rangeOfInteger x-dimension 2540-10800
 MEMBER rangeOfInteger y-dimension 1270-30000
}}
ATTR integer media-bottom-margin-supported 0
ATTR integer media-left-margin-supported 0
ATTR integer media-right-margin-supported 0
ATTR integer media-top-margin-supported 0
ATTR resolution printer-resolution-supported {dpi}dpi
ATTR resolution printer-resolution-default {dpi}dpi
ATTR resolution pwg-raster-document-resolution-supported {dpi}dpi
ATTR keyword pwg-raster-document-type-supported black_1,sgray_8
ATTR keyword print-scaling-supported auto,auto-fit,fill,fit,none
"""
# What the printer does with a job: it reports trouble as long as a file of that name lies in its folder.
_WORKS = """#!/bin/sh
cd "{folder}"
for trouble in media-empty media-jam cover-open; do
  if [ -e $trouble ]; then
    echo "STATE: +$trouble-error" >&2
    while [ -e $trouble ]; do sleep 0.1; done
    echo "STATE: -$trouble-error" >&2
  fi
done
while [ -e slow ]; do sleep 0.1; done
if [ -e breaks ]; then exit 1; fi
exit 0
"""


def missing() -> list[str]:
    """Programs that this needs and that are not here."""
    places = os.environ.get("PATH", "") + os.pathsep + os.pathsep.join(("/usr/sbin", "/sbin"))
    return [name for name in NEEDED if shutil.which(name, path=places) is None]


@dataclass
class Device:
    """A printer that exists: where its jobs arrive, and the switches of its troubles."""

    name: str
    port: int
    folder: Path
    options: tuple[str, ...] = ()
    process: subprocess.Popen[bytes] | None = None

    @property
    def uri(self) -> str:
        return f"ipp://localhost:{self.port}/ipp/print"

    def arrived(self) -> list[Path]:
        """The documents that came, oldest first."""
        found = [path for path in (self.folder / "spool").iterdir() if path.suffix in (".pdf", ".pwg")]
        return sorted(found, key=lambda path: int(path.name.partition("-")[0]))

    def trouble(self, name: str, on: bool) -> None:
        """Switch a trouble: media-empty, media-jam, cover-open, slow, breaks."""
        switch = self.folder / name
        if on:
            switch.touch()
        else:
            switch.unlink(missing_ok=True)


@dataclass
class PrintShop:
    """Everything that runs, in the order it was started."""

    folder: Path
    port: int = 0
    processes: list[subprocess.Popen[bytes]] = field(default_factory=list)
    lock: IO[str] | None = None
    devices: dict[str, Device] = field(default_factory=dict)

    def environment(self) -> dict[str, str]:
        """What a program needs to find these queues and no others."""
        return {"CUPS_SERVER": f"127.0.0.1:{self.port}", "DBUS_SYSTEM_BUS_ADDRESS": f"unix:path={self.folder}/bus"}

    def open(self) -> None:
        """Start all of it; raises RuntimeError with the log of what does not come up."""
        # Avahi runs once a machine: a second shop waits until the first has closed.
        self.lock = (Path(tempfile.gettempdir()) / "freezerbox-print-shop.lock").open("w")
        fcntl.flock(self.lock, fcntl.LOCK_EX)
        self.port = free_port()
        (self.folder / "bus.conf").write_text(_BUS.format(folder=self.folder))
        self.run("dbus-daemon", f"--config-file={self.folder}/bus.conf", "--nofork", "--nopidfile")
        self.wait(lambda: (self.folder / "bus").exists(), "dbus-daemon")
        (self.folder / "avahi.conf").write_text(_AVAHI)
        self.run("avahi-daemon", "-f", f"{self.folder}/avahi.conf", "--no-drop-root", "--no-rlimits", "--no-chroot")
        self.wait(lambda: "startup complete" in self.log("avahi-daemon"), "avahi-daemon")
        self.device("sheets", "-f", "application/pdf,image/pwg-raster")
        labels = self.folder / "labels.conf"
        labels.write_text(_LABELS.format(dpi=203))
        self.device("labels", "-a", str(labels))
        self.cups()
        for device in self.devices.values():
            self.queue(device.name, device.uri)

    def cups(self) -> None:
        """Start the print service."""
        home = self.folder / "cups"
        for name in ("root", "cache", "state", "spool", "temporary", "logs"):
            (home / name).mkdir(parents=True, exist_ok=True)
            shutil.chown(home / name, "lp", "lp")
        (home / "root" / "cupsd.conf").write_text(_CUPS.format(port=self.port))
        (home / "root" / "cups-files.conf").write_text(_CUPS_FILES.format(folder=self.folder))
        root = home / "root"
        self.run("cupsd", "-f", "-c", f"{root}/cupsd.conf", "-s", f"{root}/cups-files.conf")
        self.wait(lambda: listens(self.port), "cupsd")

    def device(self, name: str, *options: str) -> Device:
        """Start a printer."""
        folder = self.folder / name
        (folder / "spool").mkdir(parents=True, exist_ok=True)
        works = folder / "works.sh"
        works.write_text(_WORKS.format(folder=folder))
        works.chmod(0o755)
        device = self.devices.setdefault(name, Device(name=name, port=free_port(), folder=folder, options=options))
        device.process = self.run(
            "ippeveprinter", "-p", str(device.port), "-n", "localhost", "-k", "-d", str(folder / "spool"),
            *options, "-c", str(works), "-v", name,
        )  # fmt: skip
        self.wait(lambda: listens(device.port), "ippeveprinter")
        return device

    def ensure(self, device: Device) -> None:
        """Switch a printer on again that a test switched off."""
        if device.process is None or device.process.poll() is not None:
            self.device(device.name, *device.options)

    def off(self, device: Device) -> None:
        """Pull the plug."""
        assert device.process is not None
        device.process.kill()
        device.process.wait()

    def busy(self, device: Device) -> bool:
        """Whether the queue still works at something."""
        return bool(self.tool("lpstat", "-W", "not-completed", "-o", device.name).strip())

    def queue(self, name: str, uri: str, *, accepting: bool = True) -> None:
        """Make a queue of that name."""
        self.tool("lpadmin", "-p", name, "-E", "-v", uri, "-m", "everywhere" if accepting else "raw")

    def tool(self, *command: str) -> str:
        """Run one of the print system's own programs to its end."""
        done = subprocess.run(
            command, env=self._environment(), capture_output=True, text=True, stdin=subprocess.DEVNULL, check=False
        )
        assert done.returncode == 0, (command, done.stderr)
        return done.stdout

    def run(self, *command: str) -> subprocess.Popen[bytes]:
        """Start a service."""
        with (self.folder / f"{command[0]}.log").open("ab") as log:
            process = subprocess.Popen(
                command,
                env=self._environment(),
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=log,
                start_new_session=True,
            )
        self.processes.append(process)
        return process

    def log(self, name: str) -> str:
        """What a service said so far."""
        path = self.folder / f"{name}.log"
        return path.read_text(errors="replace") if path.exists() else ""

    def wait(self, up: object, name: str) -> None:
        """Until ``up()`` is true."""
        assert callable(up)
        deadline = time.monotonic() + PATIENCE_SECONDS
        while not up():
            if time.monotonic() > deadline or self.processes[-1].poll() is not None:
                raise RuntimeError(f"{name} does not come up:\n{self.log(name)}")
            time.sleep(0.05)

    def close(self) -> None:
        """End every process that was started here, the last first."""
        for process in reversed(self.processes):
            end(process)
        self.processes.clear()
        if self.lock:
            self.lock.close()

    def _environment(self) -> Mapping[str, str]:
        places = os.environ.get("PATH", "") + os.pathsep + os.pathsep.join(("/usr/sbin", "/sbin"))
        return {"PATH": places, "LC_ALL": "C", "HOME": str(self.folder), **self.environment()}


def end(process: subprocess.Popen[bytes]) -> None:
    """Ask it to end, then make it."""
    if process.poll() is None:
        process.terminate()
        try:
            process.wait(timeout=10)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def free_port() -> int:
    """A port nobody listens at now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def listens(port: int) -> bool:
    """Whether somebody answers there."""
    with socket.socket() as probe:
        probe.settimeout(1)
        return probe.connect_ex(("127.0.0.1", port)) == 0


def pwg_pages(path: Path) -> list[Image.Image]:
    """The pages of a PWG raster file (PWG 5102.4): what a label printer is really given, dot for dot."""
    data, at, pages = path.read_bytes(), 4, []
    assert data[:4] == b"RaS2", "a PWG raster"
    while at < len(data):
        header = data[at : at + 1796]
        width, height = struct.unpack_from(">II", header, 372)
        bits, line_bytes = struct.unpack_from(">II", header, 388)
        (space,) = struct.unpack_from(">I", header, 400)
        at += 1796
        rows = bytearray()
        while len(rows) < line_bytes * height:
            repeat, at = data[at] + 1, at + 1
            line = bytearray()
            size = max(1, bits // 8)
            while len(line) < line_bytes:
                run, at = data[at], at + 1
                if run < 128:
                    line += data[at : at + size] * (run + 1)
                    at += size
                else:
                    literal = (257 - run) * size
                    line += data[at : at + literal]
                    at += literal
            rows += line * repeat
        mode = "1" if bits == 1 else "L"
        page = Image.frombytes(mode, (width, height), bytes(rows[: line_bytes * height]))
        if space == 3:  # black is 1
            page = page.point(lambda value: 255 - value)
        pages.append(page.convert("L"))
    return pages


def resolution(path: Path) -> tuple[int, int]:
    """Dots per inch of a PWG raster's first page."""
    return struct.unpack_from(">II", path.read_bytes(), 4 + 276)


if __name__ == "__main__":  # by hand: python tests/printing/press.py FOLDER keeps the shop open until Enter
    shop = PrintShop(Path(sys.argv[1]).resolve())
    try:
        shop.open()
        print(shop.environment())
        input()
    finally:
        shop.close()
