"""Reports as plain lines of 80 columns, the same at a terminal and in a pipe."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import TYPE_CHECKING

from freezerbox.chores import wording
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import Row, totals
from freezerbox.chores.rows import as_json as row_json
from freezerbox.cli.output import NO_BREAK, folded, paragraph, table
from freezerbox.core.code import show_code
from freezerbox.core.dates import long_date, month_year, short_date
from freezerbox.food import keeping

if TYPE_CHECKING:
    from freezerbox.chores.find import Found
    from freezerbox.chores.parted import Parted
    from freezerbox.chores.rotation import Rotation
    from freezerbox.chores.scanned import Scanned
    from freezerbox.chores.story import Story

_BANDS = {
    keeping.Band.PAST_BEST: "past best",
    keeping.Band.USE_NEXT: "use next",
    keeping.Band.KEEPS: "keeps",
}
_MOST_NEARBY = 5
_MOST_NAMED = 3
OUTCOMES = (
    *("taken", "put-back", "moved", "counted", "weighed", "given", "discarded", "duplicate", "already-gone"),
    *("unknown", "damaged", "void", "held", "place", "card", "undone"),
    *("refused", "paused", "shown"),
    "recorded",
)
"""What a scan can come to, for programs.  ``refused``: the book says no for a reason that no other word names, or it
could not be read or written; ``paused``: a mode rests after two quiet minutes; ``shown``: only looked at;
``recorded``: it is in the book, which then could not be read to tell what it came to."""
QUIET_MODES = ("", "take")
"""Modes whose lines say of themselves what was done."""
_LOUD = "*" * 60


def found_lines(kitchen: Kitchen, found: Found, *, gone: bool) -> Iterator[str]:
    """What ``find`` says."""
    found = found.counted()
    if not found.rows:
        of_ours = " of ours" if found.theirs else ""
        if found.reserved:
            yield paragraph(f"None free of {found.words}. Reserved: {_reserved(kitchen, found)}.", hang="  ")
        else:
            wholly = " wholly" if found.parted else ""
            yield f"None: no {found.words}{of_ours} {f'has left{wholly}' if gone else 'in the freezer'}."
        if found.theirs:
            owners = ", ".join(dict.fromkeys(row.package.owner for row in found.theirs))
            yield paragraph(
                f"Not ours, not counted: {wording.packs_and_held(kitchen, found.theirs)} of {owners}. "
                "With --everyone they are shown.",
                hang="  ",
            )
    else:
        yield f"{_headline(kitchen, found, gone)}"
        groups: Sequence[tuple[str, Sequence[Row]]] = [("", found.rows)]
        if found.meanings:
            names = {row.package.cut: row for row in found.rows}
            groups = [(key, [row for row in found.rows if row.package.cut == key]) for key in names]
        for key, rows in groups:
            if key:
                from freezerbox.food import cuts

                yield f"{cuts.cut(key).name} ({wording.packs_and_weight(kitchen, totals(rows))}):"
            yield from _found_lines(kitchen, rows, gone, found.finished)
    if found.parted:
        from freezerbox.chores.parted import parted_words

        yield "Of lots that are still there:"
        for one in found.parted:
            what = f"{show_code(one.row.code)}  {wording.package_line(kitchen, one.row)}"
            yield paragraph(f"{what}: {parted_words(kitchen, one)}", "  ", "    ")
    if found.nearby:
        yield paragraph(f"Nearby, not the same: {wording.packs_and_held(kitchen, found.nearby)}", hang="  ")
        yield from _found_lines(kitchen, found.nearby[:_MOST_NEARBY], gone, found.finished)
        if more := found.nearby[_MOST_NEARBY:]:
            yield paragraph(f"... and {_more_nearby(found, more, gone)}", "  ", "    ")
    if found.not_for_people:
        yield paragraph(
            f"NOT FOR PEOPLE, not counted: {wording.packs_and_held(kitchen, found.not_for_people)}", hang="  "
        )
        yield from _found_lines(kitchen, found.not_for_people, gone)
    if found.away:
        yield paragraph(f"Elsewhere, not here: {wording.packs_and_held(kitchen, found.away)}", hang="  ")
        yield from _found_lines(kitchen, found.away, gone)
    if found.reserved and found.rows:
        yield paragraph(f"Reserved, not counted: {_reserved(kitchen, found)}.", hang="  ")


def _headline(kitchen: Kitchen, found: Found, gone: bool) -> str:
    words = wording.packs_and_weight(kitchen, found.totals)
    held = [row for row in found.rows if row.holds]
    if held and len(held) == len(found.rows):
        same = {wording.holds_words(row.holds, kitchen.today) for row in held}
        return f"{words}, HELD: {'; '.join(sorted(same))}"
    free = [row for row in found.rows if not row.holds]
    astray = [row for row in free if row.package.missing_since is not None and not gone]
    there = [row for row in free if gone or row.package.missing_since is None]
    not_found = f"{wording.packs_and_weight(kitchen, totals(astray))} that a count did not find"
    if there:
        oldest = month_year(min(row.package.first_frozen_on for row in there)).title()
        words = f"{wording.packs_and_weight(kitchen, totals(there))}, oldest {oldest}"
        words += f"; besides, {not_found}" if astray else ""
    else:
        words = not_found
    if held:
        words += f"; besides, HELD: {wording.packs_and_weight(kitchen, totals(held))}"
    return words


def _reserved(kitchen: Kitchen, found: Found) -> str:
    """What is set aside, for what, and how to see it."""
    for_what = ", ".join(dict.fromkeys(wording.for_words(row.package) for row in found.reserved))
    words = f"{wording.packs_and_held(kitchen, found.reserved)}, {for_what}"
    return words if found.rows else f"{words} (see: freezerbox find {found.words} --reserved)"


def _more_nearby(found: Found, more: Sequence[Row], gone: bool) -> str:
    """How many are not shown, and what to type to see them."""
    ask = "freezerbox find --gone" if gone else "freezerbox find"
    names = list(dict.fromkeys(row.cut_name.lower() for row in more))
    typed = [f"{ask} {name} {found.besides}".rstrip() for name in names[:_MOST_NAMED]]
    return f"{totals(more).packages} more: {'; '.join(typed)}{'; ...' if len(names) > _MOST_NAMED else ''}"


def _found_lines(
    kitchen: Kitchen, rows: Sequence[Row], gone: bool, lots: Mapping[str, Parted] = MappingProxyType({})
) -> Iterator[str]:
    """Packages that differ in nothing but weight share a line that says what and where; codes and weights follow."""
    groups: dict[tuple[str, str], list[Row]] = {}
    for row in rows:
        groups.setdefault(_found_words(kitchen, row, gone, lots), []).append(row)
    for (what, where), alike in groups.items():
        yield paragraph(f"{what}: {where}", "  ", "    ")
        cells = [f"{show_code(row.code)} {kitchen.mass(row.net_mg)}" for row in alike]
        yield paragraph("   ".join(cell.replace(" ", NO_BREAK) for cell in cells), "    ").replace(NO_BREAK, " ")


def _found_words(kitchen: Kitchen, row: Row, gone: bool, lots: Mapping[str, Parted]) -> tuple[str, str]:
    where = wording.gone_words(row, kitchen.today) if gone else row.where or "place not said"
    if row.code in lots:
        from freezerbox.chores.parted import parted_words

        where = parted_words(kitchen, lots[row.code])
    if row.package.missing_since and not gone:
        where += f" - not found there on {short_date(row.package.missing_since, today=kitchen.today)}"
    if row.holds:
        where += f" - HELD, {wording.holds_words(row.holds, kitchen.today)}"
    quantity = row.package.state.quantity
    details = (
        row.cut_name + (f" x{quantity}" if quantity > 1 else ""),
        wording.origin_words(row),
        wording.pieces_words(row),
        wording.fat_words(row.package.fat_percent),
        row.package.seasoning,
        f"with {row.package.added}" if row.package.added else "",
        wording.for_words(row.package),
        f"{row.package.owner}'s" if row.package.owner else "",
        row.package.note,
        f"frozen {month_year(row.package.first_frozen_on).title()}",
    )
    return ", ".join(detail for detail in details if detail), where


def rotation_lines(kitchen: Kitchen, report: Rotation) -> Iterator[str]:
    """What ``rotation`` says."""
    yield f"What to eat first, {long_date(report.as_of)}"
    if report.out:
        yield ""
        for row, by in report.out:
            out = row.package.state.since.strftime("%A")
            line = f"OUT since {out}, cook by {by.strftime('%A')}: {wording.coded_line(kitchen, row)}"
            yield paragraph(line, hang="    ")
    yield ""
    if not report.rows:
        yield "Nothing with a keeping figure matches."
    several = len({row.freezer for row in report.rows}) > 1
    for band, name in _BANDS.items():
        cells = [_rotation_cells(kitchen, row, several) for row in report.rows if row.band is band]
        if cells:
            yield f"{name.capitalize()}:"
            yield from table(cells, right=(1, 2, 3), indent=2)
    if report.more:
        yield f"... and {report.more} more: --all shows every one."
    parts = [
        f"{name}: {wording.packs_and_weight(kitchen, report.totals[band])}"
        for band, name in _BANDS.items()
        if report.totals[band].packages
    ]
    if parts:
        yield ""
        yield paragraph("; ".join(parts) + ".")
    if report.held:
        yield ""
        yield f"HELD, not to be eaten: {wording.packs_and_weight(kitchen, totals(report.held))}"
        for why, rows in _by_hold(kitchen, report.held).items():
            names = dict.fromkeys(f"{row.cut_name}, {wording.origin_words(row)}" for row in rows)
            yield paragraph(f"{why}: {'; '.join(names)} ({wording.packs_and_weight(kitchen, totals(rows))})", "  ")
    if report.reminders:
        yield ""
        yield from (paragraph(one.words, hang="  ") for one in report.reminders)
    if report.no_figure:
        yield ""
        yield f"No keeping figure in this guide: {wording.packs_and_weight(kitchen, totals(report.no_figure))}"
        cells = [
            (show_code(row.code), row.cut_name, f"{row.age_months} mo", row.where or "place not said")
            for row in report.no_figure
        ]
        yield from table(cells, right=(2,), indent=2)
    yield ""
    yield paragraph(f"By: {report.guide.name}. Columns: code, weight, age, best by.")
    for source in report.sources:
        yield paragraph(f"Source: {source}")
    yield paragraph(report.quality)


def _rotation_cells(kitchen: Kitchen, row: Row, several: bool) -> tuple[str, ...]:
    """``several``: packages lie in more than one freezer, so that its name says something."""
    quantity = row.package.state.quantity
    name = row.cut_name + (f" x{quantity}" if quantity > 1 else "")
    where = row.where if several else row.place
    if row.package.missing_since:
        where = f"{where} - not found there" if where else "not found"
    return (
        show_code(row.code),
        kitchen.mass(row.net_mg) if row.net_mg is not None else "-",
        f"{row.age_months} mo",
        long_date(row.best_by) if row.best_by else "",
        ", ".join(part for part in (name, wording.origin_words(row), where, wording.seal_words(row)) if part),
    )


def _by_hold(kitchen: Kitchen, rows: Sequence[Row]) -> dict[str, list[Row]]:
    groups: dict[str, list[Row]] = {}
    for row in rows:
        groups.setdefault(wording.holds_words(row.holds, kitchen.today), []).append(row)
    return groups


def scan_lines(result: Scanned) -> Iterator[str]:
    """What a scan says, folded to the screen with the rest set in; held packages in large plain words."""
    if result.outcome == "held":
        yield _LOUD
        yield f"***  {wording.HELD_WORDS}".ljust(57) + "***"
        yield _LOUD
    mode = result.mode.upper()
    quiet = result.mode in QUIET_MODES or result.message.startswith((f"{mode}:", f"{mode} |"))
    message = folded(result.message) if result.outcome == "held" else result.message
    yield message if quiet else folded(f"{mode} | {message}")
    if result.hint:
        yield f"  {result.hint}"


def scan_json(result: Scanned) -> dict[str, object]:
    """A scan of the JSON contract."""
    return {
        "code": result.code,
        "outcome": result.outcome,
        "message": result.message,
        "package": row_json(result.row) if result.row else None,
        "mode": result.mode or None,
    }


def package_lines(kitchen: Kitchen, found: Story) -> Iterator[str]:
    """What ``show`` says."""
    from freezerbox.chores.cues import cook_words, cues
    from freezerbox.chores.mixing import mix_words

    row, package = found.row, found.row.package
    yield f"{show_code(row.code)}  {row.cut_name}"
    if row.holds:
        yield f"{wording.HELD_WORDS}: {wording.holds_words(row.holds, kitchen.today)}"
    state = package.state
    where = row.where or "place not said"
    now = where if state.state == "frozen" else wording.gone_words(row, kitchen.today)
    if state.state == "spare":
        now = "label printed ahead, nothing weighed yet"
    quantity = (
        f"{state.quantity} of {kitchen.mass(package.net_mg)} each"
        if state.quantity > 1
        else kitchen.mass(package.net_mg)
    )
    facts = [
        ("from", wording.origin_words(row) or "not said"),
        ("weight", quantity + (f", {wording.pieces_words(row)}" if package.pieces else "")),
        ("packed", long_date(package.packed_on)),
        (
            "frozen",
            f"{long_date(package.first_frozen_on)}, {wording.age_words(row.age_months)} ago"
            + (", FROZEN TWICE" if package.times_frozen > 1 else ""),
        ),
        ("keeps", wording.best_by_words(row) + (f" [{row.source}]" if row.source else "")),
        ("fat", wording.fat_words(package.fat_percent)),
        ("mix", mix_words(row.mix)),
        ("batch", package.batch),
        ("contains", package.added),
        ("seasoned", package.seasoning),
        ("wrap", package.wrap),
        ("owner", package.owner),
        ("for", package.reserved_for),
        ("note", package.note),
        ("cook", cook_words(row)),
        ("now", now),
    ]
    yield from table([(name, value) for name, value in facts if value], indent=2)
    for one in cues(row):
        yield paragraph(one.words(), "  ")
    yield "History"
    yield from history_lines(kitchen, found)


def history_lines(kitchen: Kitchen, found: Story) -> Iterator[str]:
    """What happened, a line each."""
    cells = [
        (
            short_date(step.on, today=kitchen.today),
            f"act {step.act_id}",
            step.words + (f" (by {step.by})" if step.by else ""),
        )
        for step in found.steps
    ]
    yield from table(cells, indent=2)


def steps_json(found: Story) -> list[dict[str, object]]:
    """History of the JSON contract."""
    return [
        {
            "on": step.on.isoformat(),
            "act": step.act_id,
            "kind": step.kind,
            "words": step.words,
            "by": step.by or None,
            "recorded_at": step.recorded_at,
        }
        for step in found.steps
    ]
