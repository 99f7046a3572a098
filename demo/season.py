"""One season in an invented household, the Hollow Road house, played with the installed program into ``demo/out/``.

Every command is printed as a person would type it and run as a process of its own; the clock stands where the story
is, and chance is fixed, so that every run says the same.  ``demo/run.py`` makes the environment first.
"""

from __future__ import annotations

import io
import re
import shutil
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
OUT = ROOT / "demo" / "out"
DATA = ("doe-26B.csv",)
BOOK = "hollow-road.book"
SEED = "hollow road"
CODE = re.compile(r"\b[A-Z][0-9A-Z]{2}-[0-9A-Z]{3}\b")
WIDTH = 80
EXPECTED = (0, 1, 2)
"""Done, the book says no, wrong as typed: all three are part of the story.  Anything else ends the demo."""


class Season:
    """The household at work in one folder.  now: where the clock stands.  environment: what each command is given."""

    def __init__(self, folder: Path, environment: dict[str, str]) -> None:
        self.folder = folder
        self.environment = environment | {
            "FREEZERBOX_BOOK": BOOK,
            "FREEZERBOX_SEED": SEED,
            "FREEZERBOX_STATION": "kitchen",
            "COLUMNS": "80",
            "TERM": "dumb",
            "LC_ALL": "C.UTF-8",
            "PYTHONUTF8": "1",
        }

    def chapter(self, now: str, title: str, *story: str) -> None:
        """Move the clock and say what happens."""
        self.environment["FREEZERBOX_NOW"] = now
        print(f"\n{'=' * 78}\n{title}\n{'=' * 78}")
        for line in story:
            print(line)

    def tell(self, *story: str) -> None:
        """Say what the people think or do."""
        print()
        for line in story:
            print(f"# {line}")

    def do(self, *words: str, lines: Sequence[tuple[str, str]] = (), keep: str = "") -> list[str]:
        """Run ``freezerbox`` with these words; returns the codes it printed, in order.

        ``lines``: what is typed or scanned into it, each with a remark.  ``keep``: a file for what it printed.
        """
        print("\n" + typed(["freezerbox", *words]), flush=True)
        for line, remark in lines:
            print(f"  > {line:<14} {remark}".rstrip(), flush=True)
        done = subprocess.run(
            [sys.executable, "-m", "freezerbox", *words],
            cwd=self.folder,
            env=self.environment,
            input="".join(f"{line}\n" for line, _ in lines),
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            encoding="utf-8",
            check=False,
        )
        print(done.stdout, end="", flush=True)
        if done.returncode not in EXPECTED:
            raise SystemExit(f"freezerbox ended with {done.returncode}; the season stops here")
        if keep:
            (self.folder / keep).write_text(done.stdout, encoding="utf-8")
        return CODE.findall(done.stdout)


def typed(words: Sequence[str]) -> str:
    """The command as one types it, going on in a new line behind a backslash where it is long."""
    lines, line = [], "$"
    for word in map(quoted, words):
        if len(f"{line} {word} \\") > WIDTH:
            lines.append(f"{line} \\")
            line = "   "
        line = f"{line} {word}"
    return "\n".join([*lines, line])


def quoted(word: str) -> str:
    """The word as one types it."""
    return word if re.fullmatch(r"[\w.,:/%+-]+", word) else f'"{word}"'


def before_the_season(season: Season) -> tuple[list[str], list[str]]:
    """The book, the places, and what is left of last year; returns the codes of the old ground and the chili."""
    season.chapter(
        "2026-11-14T18:30",
        "14 November 2026 - before the season",
        "The Hollow Road house has a 15 cu ft chest freezer, some ground venison left",
        "from last year's buck (tested, nothing detected), and three tubs of chili.",
    )
    season.do("start", "--units", "lb", "--freezer", "Garage chest", "--volume", "15 cu ft")
    season.do("place", "add", "red bag")
    season.do("place", "add", "green basket")
    season.do(
        *("animal", "add", "25A", "whitetail buck", "--killed", "8 nov 2025", "--processed", "15 nov 2025"),
        *("--test", "not-detected"),
    )
    old = season.do(
        *("pack", "ground", "1.02", ".98", "1.05", "1.00", "--animal", "25A", "--fat", "none"),
        *("--packed", "15 nov 2025", "--place", "green basket", "--wrap", "zip-bag"),
    )
    return old, season.do(
        *("pack", "other", "chili", "2.1", "2.0", "1.9", "--packed", "3 oct", "--place", "green basket"),
        *("--note", "mild"),
    )


def wrapping_evening(season: Season) -> tuple[list[str], list[str]]:
    """The doe is cut and wrapped; returns the codes of the backstraps and of the ground."""
    season.chapter(
        "2026-11-21T19:00",
        "21 November 2026 - the wrapping evening",
        "A doe hangs in the garage. Her sample went to the laboratory; no answer yet.",
    )
    season.do(
        *("animal", "add", "26B", "whitetail doe", "--killed", "14 nov", "--processed", "21 nov"),
        *("--test", "pending", "--sample", "4471"),
    )
    backstraps = season.do(
        *("pack", "backstrap", ".9", ".95", ".88", ".87"),
        *("--animal", "26B", "--form", "half", "--place", "red bag", "--wrap", "vacuum"),
    )
    season.tell("A slip of the decimal point is asked about before anything is recorded:")
    season.do("pack", "flank", ".60", "6.5", ".55", "--animal", "26B", "--place", "red bag", "--wrap", "vacuum")
    season.do("pack", "flank", ".60", ".65", ".55", "--animal", "26B", "--place", "red bag", "--wrap", "vacuum")
    season.tell("A word that stands for two cuts asks; nothing is guessed:")
    season.do("pack", "fillet", ".5", "--animal", "26B")
    season.tell("The rest of the doe was written down as a table while wrapping, doe-26B.csv:")
    season.do("pack", "--table", "doe-26B.csv")
    season.do("label", "--to", "labels-doe.pdf")
    season.tell(
        "Ground goes into bags that are labelled while still dry and flat; the weight",
        "comes at the scale. Eight labels ahead, six bags filled:",
    )
    season.do(
        *("label", "ahead", "8", "ground", "--animal", "26B", "--fat", "none", "--wrap", "zip-bag"),
        *("--place", "green basket", "--to", "labels-ground.png"),
    )
    spare = season.do("scan", "--photo", "labels-ground.png")
    weights = ("1.02", "1.00", ".98", "1.04", "1.01", ".97")
    season.do("weigh", lines=[(f"{code} {weight}", "") for code, weight in zip(spare, weights, strict=False)])
    season.do("label", "void", "--unused")
    return backstraps, spare


def half_a_hog(season: Season) -> tuple[list[str], list[str]]:
    """The hog is wrapped past midnight; returns the codes of the chops and of the bacon."""
    season.chapter(
        "2026-11-22T00:40",
        "Still that evening, at twenty to one - half a hog from a neighbour",
        "The household's day turns at four in the morning, so this is 21 November.",
    )
    season.do("animal", "add", "26H", "pig", "--what", "half hog", "--processed", "20 nov")
    chops = season.do(
        *("pack", "loin chops", "1.10", "1.05", ".98", "1.12", "1.08", "1.02", "1.15"),
        *(".95", "1.00", "1.06", "1.11", ".99", "1.03", "1.07"),
        *("--animal", "26H", "--pieces", "4", "--wrap", "vacuum"),
    )
    bacon = season.do("pack", "bacon", "1", "1", "1.1", ".9", "--animal", "26H", "--wrap", "vacuum")
    season.do(
        *("pack", "breakfast sausage", "1", "1", "1", "1", "1", "--animal", "26H"),
        *("--seasoning", "sage", "--place", "green basket"),
    )
    season.do("label", "--to", "labels-hog.pdf", "--start-at", "next")
    season.do("label", "again", chops[0], "--stock", "roll-2x1in-203dpi", "--to", "one-label.png")
    return chops, bacon


def a_buck_with_a_test(season: Season) -> tuple[list[str], list[str]]:
    """A second deer, ground with bought fat while its test is out; returns the codes of its backstraps and tubes."""
    season.chapter(
        "2026-11-28T19:00",
        "28 November 2026 - a buck, and a grinding before its test is back",
        "The buck comes from a unit where every deer is tested. Ground with fat, all of",
        "the batch waits with it; the program says so before anything is mixed.",
    )
    season.do(
        *("animal", "add", "26C", "whitetail buck", "--killed", "21 nov", "--processed", "28 nov"),
        *("--test", "pending", "--test-for", "CWD", "--sample", "4502"),
    )
    backstraps = season.do(
        *("pack", "backstrap", ".8", ".85", ".82", "--animal", "26C", "--place", "red bag", "--wrap", "vacuum")
    )[:3]
    mix = ("grind", "--from", "26C=8", "--with", "pork back fat", "--fat", "20", "--size", "1")
    season.do(*mix)
    season.do(*mix, "9x1", "--with-held", "--place", "green basket")
    tubes = season.do("find", "ground", "26C")
    season.do("label", "--to", "labels-buck.pdf")
    season.tell("His sister asks for a tube. It is held, so it does not go out by the way:")
    season.do("give", tubes[0], "--to", "Sister")
    season.tell("She knows, and will wait for the result. The hold goes with it, slip and all:")
    season.do(
        *("give", tubes[0], "--to", "Sister", "--yes", "--held-too", "--slip", "slip.pdf", "--not-for-sale"),
        *("--from", "Hollow Road house"),
    )
    season.tell("One went into a pan before anybody looked. That is written down as it was:")
    season.do("take", tubes[1], "--already-eaten")
    return backstraps, tubes


def recall(season: Season, backstraps: list[str], tubes: list[str]) -> None:
    """Bad news of the buck: what to fetch, who is told, and what is scanned out."""
    season.chapter(
        "2026-12-18T18:00",
        "18 December 2026 - bad news of the buck",
        "The laboratory found it. One line names all that came of the buck: what lies",
        "where, what was eaten and when, and who has some.",
    )
    season.do("result", "26C", "detected", "--sample", "4502", "--on", "17 dec", "--yes", "--to", "pull.pdf")
    season.do("trace", "26C", "--who", "--notices", "notices")
    season.tell("Nobody takes one out for dinner now:")
    season.do("scan", lines=((tubes[2], "a child fetches something for tacos"),))
    season.tell("What has been pulled is scanned out, and the rest stays on the list, held:")
    season.do(
        *("scan", "--as", "discarded"),
        lines=((backstraps[0], ""), (backstraps[1], ""), (tubes[2], "")),
    )
    season.do("trace", "26C", "--pull", keep="pull-26C.txt")
    season.do("animal", "show", "26C", keep="animal-26C.txt")


def scanning(season: Season, chili: list[str], backstraps: list[str], chops: list[str]) -> None:
    """A fortnight of taking out, with the mistakes that people make."""
    season.chapter(
        "2026-12-02T17:20",
        "2 December 2026 - taking out, with mistakes",
        "A scanner by the freezer types what it reads. Here the lines come first and",
        "the answers after them.",
    )
    season.do("find", "chops")
    broken = chops[3][:-1] + ("7" if chops[3][-1] != "7" else "8")
    season.do(
        "scan",
        lines=(
            (chops[0], "chops for tonight"),
            (chops[0], "the scanner was held there too long"),
            (chili[0], "and a tub of chili"),
            (broken, "frost over the last letter, typed by hand"),
            (backstraps[1], "a child fancies backstrap"),
            ("K7P-3MT", "a label of the cousin's freezer"),
            ("undo", "the chili goes back after all"),
            (chops[2], "these instead"),
        ),
    )
    season.do("history", chili[0])
    season.tell("The second pack of chops was not needed and never thawed:")
    season.do("put-back", chops[2])
    season.tell("One pack was weighed with its tray; two labels went onto each other's packs:")
    season.do("fix", chops[4], "--weight", "1.0")
    season.do("swap", chops[5], chops[6])

    season.chapter(
        "2026-12-05T18:05",
        "5 December 2026 - a photograph",
        "The phone took a picture of a label. Looking changes nothing; --take does.",
    )
    season.do("scan", "--photo", "one-label.png")
    season.do("put-back", chops[0], "--still-frozen")
    season.do("scan", "--photo", "one-label.png", "--take")
    season.do("undo")


def good_news(season: Season) -> None:
    """The doe's test comes back."""
    season.chapter(
        "2026-12-14T19:10",
        "14 December 2026 - the test comes back",
        "One line lifts the hold from everything that came of the doe.",
    )
    season.do("result", "26B", "not-detected", "--yes")


def winter(season: Season, old: list[str], ground: list[str], bacon: list[str]) -> None:
    """A winter's meals."""
    season.chapter("2027-01-12T17:30", "12 January 2027 - Tuesday, something ground")
    season.tell("A seal gave him doubts; he looked again by daylight:")
    season.do("hold", bacon[3], "--why", "seal was open")
    season.do("take", bacon[3])
    season.do("release", bacon[3], "--why", "looked again, tight")
    season.do("find", "ground")
    season.tell("The first pack at hand is taken; the answer names an older one:")
    season.do("take", ground[0])
    season.do("undo")
    season.do("take", old[0], old[1])
    season.do("take", *bacon[:3], "--on", "sun")
    season.tell("What is out is shown on top until it has been cooked:")
    season.do("rotation", "--limit", "3")


def what_first(season: Season) -> None:
    """What to eat first, in spring."""
    season.chapter("2027-03-06T10:00", "6 March 2027 - what to eat first")
    season.do("rotation", keep="rotation-march.txt")
    season.chapter(
        "2027-05-08T10:00", "8 May 2027 - chops due within two months; the doe's story; a look over the book"
    )
    season.do("rotation", "--within", "2", "--species", "pork", keep="rotation-may.txt")
    season.do("animal", "show", "26B", keep="animal-26B.txt")
    season.do("check")


def play(folder: Path, environment: dict[str, str]) -> None:
    """The whole season into ``folder``, which is emptied first."""
    if folder.exists():
        shutil.rmtree(folder)
    folder.mkdir(parents=True)
    for name in DATA:
        shutil.copyfile(ROOT / "demo" / name, folder / name)
    season = Season(folder, environment)
    print("One season at the Hollow Road house. After $ is what is typed, then the answer.")
    old, chili = before_the_season(season)
    backstraps, ground = wrapping_evening(season)
    chops, bacon = half_a_hog(season)
    buck, tubes = a_buck_with_a_test(season)
    scanning(season, chili, backstraps, chops)
    good_news(season)
    recall(season, buck, tubes)
    winter(season, old, ground, bacon)
    what_first(season)
    print(f"\n{'=' * 78}\nTo look at, in demo/out/:")
    for name, what in (
        ("labels-doe.pdf", "labels of the doe, with their hold; print at 100 %"),
        ("labels-hog.pdf", "labels of the hog, begun where the last sheet ended"),
        ("labels-ground.png", "labels printed ahead of filling"),
        ("one-label.png", "the same label for a 2 x 1 in roll"),
        ("labels-buck.pdf", "labels of a deer whose test is out, with the box to tick"),
        ("slip.pdf", "the slip of a gift that is on hold"),
        ("pull.pdf", "what to fetch after the bad news, in the order it lies"),
        ("pull-26C.txt", "the same an hour later: what is pulled, what still lies there"),
        ("animal-26C.txt", "the story of the buck"),
        ("rotation-march.txt", "what to eat first in March, and who says so"),
        ("rotation-may.txt", "pork that is due by July"),
        ("animal-26B.txt", "the story of the doe"),
        (BOOK, "the book itself"),
    ):
        print(f"  {name:<20} {what}")


def main(arguments: Sequence[str]) -> int:
    """Play into ``demo/out``, or into the folder named."""
    sys.path.insert(0, str(ROOT))
    from demo import workshop

    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(encoding="utf-8")
    play(Path(arguments[0]).absolute() if arguments else OUT, workshop.clean_environment())
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
