"""How long the everyday things take, as ratios measured in one run: ``python tests/bench.py``.

It informs and gates nothing.  Seconds differ from machine to machine, so each is set against an empty command of the
same command-line library in the same environment, taken in turns with it.  Goal for ``rotation`` on a book of 500
packages: at most 1.6 of that.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from random import Random
from statistics import median

ROUNDS = 11
PACKAGES = 500
TODAY = date(2026, 11, 21)
EMPTY = "import typer\n\n\ndef nothing() -> None:\n    pass\n\n\ntyper.run(nothing)\n"
RUNS = (
    ("26B", "backstrap", "half", 0.9),
    ("26B", "ground", "", 1.25),
    ("25A", "ground", "", 1.0),
    ("25A", "shank", "", 2.0),
    ("26H", "loin chops", "", 1.05),
    ("26H", "bacon", "", 1.0),
    ("26H", "breakfast sausage", "", 1.0),
    ("26H", "boston butt roast", "", 3.5),
    ("25A", "sirloin tip", "roast", 2.2),
    ("26B", "stew", "", 1.0),
)
WEIGHTS = (1.1, 1.05, 0.98, 1.12, 1.08, 1.02, 1.15, 0.95, 1.0, 1.06, 1.11, 0.99, 1.03, 1.07)


@dataclass(frozen=True, slots=True)
class BenchClock:
    """A clock that stands in the evening of a day."""

    day: date

    def now(self) -> datetime:
        return datetime(self.day.year, self.day.month, self.day.day, 21)

    def stamp(self) -> datetime:
        return self.now().replace(tzinfo=UTC)


def build(path: Path, packages: int = PACKAGES) -> list[str]:
    """A book of ``packages`` packages from three animals, made through the chores; returns their codes."""
    from freezerbox.book import door
    from freezerbox.chores import animals, house, pack
    from freezerbox.chores.header import Words
    from freezerbox.chores.kitchen import Kitchen

    chance = Random(1)
    tools = door.Chance(uid=lambda: f"{chance.getrandbits(80):020x}", number=lambda below: chance.randrange(below))
    codes: list[str] = []
    start = BenchClock(TODAY - timedelta(days=400))
    book = door.create_book(path, chance=tools, now=start.stamp, station="bench")
    kitchen = Kitchen(book, start)
    house.start(kitchen, units="lb", guide="split-2018", freezer="Garage chest", volume="15 cu ft")
    known = (
        animals.NewAnimal(code="25A", species="whitetail buck", test="not-detected"),
        animals.NewAnimal(code="26B", species="whitetail doe", test="pending"),
        animals.NewAnimal(code="26H", species="pig", what="half hog"),
    )
    for animal in known:
        animals.add_animal(kitchen, animal)
    size = packages // len(RUNS)
    for number, (animal_code, cut, form, usual) in enumerate(RUNS if size else ()):
        evening = Kitchen(book, BenchClock(TODAY - timedelta(days=38 * number)))
        words = Words(cut=cut, form=form, animals=(animal_code,), wrap="vacuum")
        weights = [f"{usual * chance.uniform(0.9, 1.1):.2f}" for _ in range(size)]
        packed = pack.write(evening, pack.prepare(evening, words, weights))
        codes += [row.code for row in packed.rows]
    book.close()
    return codes


def timed(do: Callable[[], object]) -> float:
    start = time.perf_counter()
    do()
    return time.perf_counter() - start


def in_pipe(command: Sequence[str], environment: Mapping[str, str]) -> Callable[[], object]:
    def do() -> object:
        return subprocess.run(command, env=environment, check=True, capture_output=True)

    return do


def in_terminal(command: Sequence[str], environment: Mapping[str, str]) -> Callable[[], object]:
    """The same with a pseudo-terminal on both ends, read until the program closes it."""
    import pty

    def do() -> object:
        ours, theirs = pty.openpty()
        with subprocess.Popen(command, env=environment, stdin=theirs, stdout=theirs, stderr=theirs) as process:
            os.close(theirs)
            try:
                while os.read(ours, 65536):
                    pass
            except OSError:
                pass  # Linux tells the end of a pseudo-terminal as an input/output error.
            finally:
                os.close(ours)
        if process.returncode:
            raise SystemExit(f"ended with {process.returncode}: {' '.join(command)}")
        return None

    return do


@dataclass(frozen=True, slots=True)
class Measured:
    """seconds: median.  ratio: median of the ratios to an empty command run right before, a busy minute for both."""

    name: str
    seconds: float
    ratio: float


def against(nothing: Callable[[], object], name: str, do: Callable[[], object], rounds: int) -> Measured:
    nothing()
    do()
    pairs = [(timed(nothing), timed(do)) for _ in range(rounds)]
    return Measured(name, median(some for _, some in pairs), median(some / none for none, some in pairs))


class Scanner:
    """A scan session that runs; each scan is a line in and the answer back."""

    def __init__(self, program: Sequence[str], environment: Mapping[str, str], codes: Iterator[str]) -> None:
        self.codes = codes
        self.process = subprocess.Popen(
            [*program, "scan", "--json"],
            env=environment,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            bufsize=1,
        )

    def scan(self) -> None:
        if self.process.stdin is None or self.process.stdout is None:
            raise SystemExit("the scan session has no pipe")
        self.process.stdin.write(next(self.codes) + "\n")
        self.process.stdin.flush()
        answer = self.process.stdout.readline()
        if '"taken"' not in answer:
            raise SystemExit(f"not taken: {answer}")

    def close(self) -> None:
        self.process.communicate()


def measure(folder: Path, rounds: int) -> Iterator[Measured]:
    """Each thing, measured as it is asked for."""
    codes = build(folder / "bench.book")
    (folder / "empty.py").write_text(EMPTY, encoding="utf-8")
    # Compiled modules are kept, as pip does when it installs.
    left_out = ("PYTHONDONTWRITEBYTECODE", "PYTHONPATH", "PYTHONUNBUFFERED")
    own = {key: value for key, value in os.environ.items() if not key.startswith(("FREEZERBOX_", *left_out))}
    environment = own | {
        "FREEZERBOX_BOOK": str(folder / "bench.book"),
        "FREEZERBOX_NOW": f"{TODAY}T21:00",
        "TERM": "xterm",
        "PYTHONPYCACHEPREFIX": str(folder / "compiled"),
    }
    program = [str(Path(sys.executable).parent / "freezerbox")]
    empty = [sys.executable, str(folder / "empty.py")]
    nothing = in_pipe(empty, environment)

    yield against(nothing, "rotation", in_pipe([*program, "rotation"], environment), rounds)
    if os.name == "posix":
        at_terminal = in_terminal([*program, "rotation"], environment)
        yield against(in_terminal(empty, environment), "rotation at a terminal", at_terminal, rounds)
    yield against(nothing, "find", in_pipe([*program, "find", "backstrap"], environment), rounds)

    # 26B is held; the others are free to take.
    free = [code for number, code in enumerate(codes) if RUNS[number * len(RUNS) // len(codes)][0] != "26B"]
    to_take = iter(free)
    yield against(nothing, "take", lambda: in_pipe([*program, "take", next(to_take)], environment)(), rounds)
    scanner = Scanner(program, environment, to_take)
    yield against(nothing, "a scan in a running session", scanner.scan, rounds)
    scanner.close()

    build(folder / "run.book", packages=0)
    with_run = environment | {"FREEZERBOX_BOOK": str(folder / "run.book")}

    def evening() -> None:
        pack = [*program, "pack", "loin chops", *map(str, WEIGHTS), "--animal", "26H", "--pieces", "4"]
        in_pipe(pack, with_run)()
        in_pipe([*program, "label", "--to", str(folder / "labels.pdf"), "--yes"], with_run)()

    yield against(nothing, "14 packages to a PDF (pack, label)", evening, max(3, rounds // 3))


def photographs(folder: Path, rounds: int) -> Iterator[Measured]:
    """Reading a photograph of 12 megapixels, against decoding its JPEG and one call of the decoder on it.

    Goal for one readable label: 1.5 times that.  Of one under frost no decoder reads, only its seconds are of use.
    """
    import zxingcpp
    from PIL import Image, ImageDraw

    from freezerbox.labels.symbols import qr_modules
    from freezerbox.reading.known import Expected, Known
    from freezerbox.reading.pictures import read_picture

    code, side, module = "K7P3MT", 29, 14
    modules = qr_modules(code)
    label = Image.new("L", (side, side), 255)
    for row, line in enumerate(modules):
        for column, dark in enumerate(line):
            label.putpixel((column + 4, row + 4), 0 if dark else 255)
    label = label.resize((side * module, side * module), Image.Resampling.NEAREST)
    frosted = label.copy()
    ImageDraw.Draw(frosted).rectangle((60, 60, 60 + 7 * module, 60 + 7 * module), fill=225)
    formats = zxingcpp.BarcodeFormat.QRCode | zxingcpp.BarcodeFormat.Code128
    known = Known(lambda: [Expected(code=code, text=code, modules=modules)])
    for name, drawn in (("a photograph of one readable label", label), ("the same, matched through frost", frosted)):
        photo = Image.new("L", (4000, 3000), 150)
        photo.paste(drawn, (1800, 1300))
        path = folder / "photo.jpg"
        photo.save(path, quality=88)

        def least(path: Path = path) -> object:
            with Image.open(path) as opened:
                return zxingcpp.read_barcodes(opened.convert("L"), formats=formats)

        def ours(path: Path = path) -> object:
            return read_picture(path, known)

        if [one.text for one in read_picture(path, known)] != [code]:
            raise SystemExit(f"not read: {name}")
        yield against(least, name, ours, rounds)


def main() -> None:
    print(f"{PACKAGES} packages, median of {ROUNDS}; ratio to an empty command of the same library, new process each")
    with tempfile.TemporaryDirectory() as folder:
        for measured in measure(Path(folder), ROUNDS):
            print(f"  {measured.name:<36} {measured.seconds * 1000:6.0f} ms  {measured.ratio:6.2f}", flush=True)
    print("a photograph of 12 megapixels; ratio to decoding its JPEG and one call of the decoder")
    with tempfile.TemporaryDirectory() as folder:
        for measured in photographs(Path(folder), 5):
            print(f"  {measured.name:<36} {measured.seconds * 1000:6.0f} ms  {measured.ratio:6.2f}", flush=True)
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
    from tests.keeping import years

    years.main()


if __name__ == "__main__":
    main()
