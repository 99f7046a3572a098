"""At the wrapping table a label comes out as each weight is entered; nobody waits for the printer."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass, field, replace
from pathlib import Path

from freezerbox.chores import label, printing
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.printing import Press, Settled
from freezerbox.chores.rows import Row
from freezerbox.cli.options import ask
from freezerbox.cli.output import paragraph, say
from freezerbox.cli.pressing import press_of, queue_of
from freezerbox.core.code import show_code
from freezerbox.errors import FreezerboxError
from freezerbox.labels.printer import PATIENCE, PAUSE_SECONDS, available, cancel


@dataclass
class TablePress:
    """The label printer beside the table.  told: what was said of which job, so that it is said once."""

    press: Press
    told: set[tuple[str, str]] = field(default_factory=set)

    def strike(self, kitchen: Kitchen, row: Row) -> None:
        """Send the label of one package; trouble is said and stops nothing, since the package is kept already."""
        try:
            with tempfile.TemporaryDirectory() as folder:
                how = label.How(to=Path(folder) / "label.pdf", press=self.press)
                drawn = label.draw_rows(kitchen, [row], how)
                paper = label.paper_of(kitchen, drawn.stock)
                printing.hand_over(kitchen, self.press, drawn.files[0], drawn.marks, paper, drawn.next_start)
        except FreezerboxError as error:
            say(f"  no label for {show_code(row.code)} yet: {error.message}")

    def look(self, kitchen: Kitchen) -> Settled:
        """Note what came out meanwhile; say what does not, once."""
        settled = printing.settle(kitchen.afresh(), self.press.jobs)
        for one in (*settled.waiting, *settled.failed):
            if one.state.why and (one.owed.job.name, one.state.why) not in self.told:
                self.told.add((one.owed.job.name, one.state.why))
                codes = ", ".join(show_code(mark.code) for mark in one.owed.marks)
                say(f"  {one.owed.job.queue}: {one.state.why}. No label for {codes} yet.")
        return settled

    def take_back(self, kitchen: Kitchen, codes: set[str]) -> None:
        """Cancel labels of struck packages that are not out yet."""
        for owed in self.press.jobs.of(printing.book_uid(kitchen)):
            if {mark.code for mark in owed.marks} <= codes:
                cancel(owed.job)
                self.press.jobs.forget(owed.job)

    def end(self, kitchen: Kitchen) -> None:
        """Wait a little for the last labels; say what is left at the printer."""
        settled = self.look(kitchen)
        looks = 0
        while settled.waiting and looks < PATIENCE and not all(one.state.why for one in settled.waiting):
            self.press.pause(PAUSE_SECONDS)
            settled = self.look(kitchen)
            looks += 1
        left = [show_code(mark.code) for one in settled.waiting for mark in one.owed.marks]
        if left:
            say(f"Still at the printer: {', '.join(left)}. To take them back: freezerbox label cancel")


def table_press(kitchen: Kitchen) -> TablePress | None:
    """The house's printer, when it prints on a roll: single labels from a sheet would waste the sheet."""
    queue = queue_of(kitchen, "", None)
    if not queue or not available() or label.paper_of(kitchen, "").kind != "roll":
        return None
    try:
        doubt, caution = label.usual_doubts(kitchen, queue)
    except FreezerboxError as error:
        say(f"No labels tonight: {error.message}")
        return None
    if doubt:
        say(doubt.message[0].upper() + doubt.message[1:])
        if not ask("Print each label there all the same?", pad=True):
            say("No labels tonight; later: freezerbox label")
            return None
    if caution:
        say(paragraph(caution))
    return TablePress(press=replace(press_of(queue), tell=lambda job, state: None))
