"""A batch put into bags whose labels were printed ahead: each spare label becomes the package it is stuck on; those
left over become void.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from freezerbox.book import queries
from freezerbox.book.writer import Writer
from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.late import go_whole
from freezerbox.chores.pack import Run, package_fields
from freezerbox.chores.rows import Row, Rows
from freezerbox.chores.take import find_row
from freezerbox.core.code import show_code
from freezerbox.core.lineage import Lineage
from freezerbox.core.records import Reason, State
from freezerbox.errors import InputError, Refused


def onto_labels(kitchen: Kitchen, weights: Sequence[str]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Codes and weights of outputs typed as ``K7P-3MT=1.25``; no codes when none was.

    Raises: InputError when only some name a label, or one is named twice; InvalidCode, UnknownCode.
    """
    pairs = [text.partition("=") for text in weights]
    if not any(equals for _, equals, _ in pairs):
        return (), tuple(weights)
    if not all(equals for _, equals, _ in pairs):
        raise InputError(
            "Some of the weights name a label and some do not. Write each as K7P-3MT=1.25, or none.",
            value=list(weights),
        )
    codes = [find_row(kitchen, code).code for code, _, _ in pairs]
    for code in codes:
        if codes.count(code) > 1:
            raise InputError(f"{show_code(code)} is named twice; one label is one package.", value=code)
    return tuple(codes), tuple(weight for _, _, weight in pairs)


def refuse_circles(lineage: Lineage, children: Sequence[str], sources: Sequence[str]) -> None:
    """Raises: InputError when a package would be made of itself, directly or through others."""
    for child in children:
        lineage.refuse_circle(child, sources)


def spares(kitchen: Kitchen, codes: Sequence[str], cut: str) -> tuple[Row, ...]:
    """The spare labels of those codes.  Raises: Refused for one that is none, or says another cut."""
    rows = tuple(find_row(kitchen, code) for code in codes)
    for row in rows:
        if row.package.state.state is not State.SPARE:
            raise Refused(
                f"{show_code(row.code)} is no label printed ahead; it stands for {row.cut_name} already.",
                code=row.code,
            )
        if row.package.cut != cut:
            raise Refused(
                f"The label {show_code(row.code)} says {row.cut_name}. Print the right ones: freezerbox label ahead",
                code=row.code,
            )
    return rows


def fill(kitchen: Kitchen, act: Writer, run: Run, codes: Sequence[str], batch: str) -> None:
    """Inside an act: the labels become the packages of a run, with what was said of them before corrected."""
    for number, code in enumerate(codes, start=1):
        package = find_row(kitchen, code).package
        for field, new in package_fields(run, number, batch).items():
            old: object = getattr(package, field)
            old = old.isoformat() if isinstance(old, date) else old
            if old != new:
                act.change("package", code, field, old, new)  # type: ignore[arg-type]
        for row_id, _ in queries.lineage_rows(kitchen.book, code):
            act.change("lineage", row_id, "void", 0, 1)
        header = run.header
        act.move(
            code,
            state=State.FROZEN,
            freezer_id=header.freezer_id or package.state.freezer_id,
            place_id=header.place.id if header.place else package.state.place_id,
            delta=run.quantity - package.state.quantity,
        )


@one_writer
def void_unused(kitchen: Kitchen) -> tuple[Row, ...]:
    """Mark every spare label void: no package will come of it.  Raises: Refused when there is none."""
    rows = Rows(kitchen).all(State.SPARE)
    if not rows:
        raise Refused("There are no unused spare labels.")
    with kitchen.book.act("label-void", kitchen.today, words=f"{len(rows)} unused labels voided") as act:
        for row in rows:
            go_whole(act, row, Reason.VOID)
    return Rows(kitchen.afresh()).of_codes([row.code for row in rows])
