"""A scanning session: each line is a package, a sign or a command card, with one line of plain words back.

Without a card each scan takes a package out.  A card changes the mode until another does; two quiet minutes pause
every mode but the first, so that tonight's dinner is not moved into a bag by whoever scans next.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import TypeVar

from freezerbox.book import at_hand, journal, queries
from freezerbox.chores import count as counting
from freezerbox.chores import scanner
from freezerbox.chores import undo as undoing
from freezerbox.chores.count_lots import meant_here
from freezerbox.chores.count_words import new_labels, saw_words, seen_line
from freezerbox.chores.give import give
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.move import inside_of, move
from freezerbox.chores.out_of_lot import is_lot
from freezerbox.chores.people import find_person
from freezerbox.chores.rows import Rows, totals
from freezerbox.chores.scanned import (
    ANSWERS,
    ASKS,
    SIGN_ALONE,
    UNNAMED,
    Scanned,
    given_words,
    in_the_way,
    named,
    out_words,
    pause_words,
    perhaps_a_name,
    place_name,
    refused,
    shown,
    twice,
    who_gets_it,
)
from freezerbox.chores.sign_words import unused_words
from freezerbox.chores.take import find_row, last_taken, put_back, read_code, take
from freezerbox.chores.units import units_of
from freezerbox.chores.weigh import weigh
from freezerbox.chores.wording import coded_line, count, holds_words, of_lot_words
from freezerbox.core.cards import CARDS, Card
from freezerbox.core.code import compact, is_valid, looks_like_code, show_code
from freezerbox.core.records import Place, Reason, State
from freezerbox.errors import BookTrouble, CannotUndo, FreezerboxError, InvalidCode, OutOfLine, Refused
from freezerbox.reading.lines import Asked, read_line

Answer = TypeVar("Answer")
SAME_SCAN_SECONDS = 10
SAME_SCAN_SECONDS_LOT = 1
QUIET = timedelta(minutes=2)
_OUTCOMES = {Reason.EATEN: "taken", Reason.GIVEN: "given", Reason.DISCARDED: "discarded"}
_LEAVING = {Card.TAKE: Reason.EATEN, Card.GIVE: Reason.GIVEN, Card.DISCARD: Reason.DISCARDED}
_CARD_OF = {reason: card for card, reason in _LEAVING.items()}
_TYPED = {card.value: card for card in Card}


@dataclass
class Session:
    """A scanning session at one station; ``reason`` is how the packages leave while no card says otherwise.

    troubled: whether for some line the book could not be read or written.
    """

    kitchen: Kitchen
    reason: Reason = Reason.EATEN
    already_eaten: bool = False
    on: str = ""
    card: Card = Card.TAKE
    place: Place | None = None
    person: str = ""
    troubled: bool = False
    _first: Reason = Reason.EATEN
    _first_card: Card = Card.TAKE
    _before: int = 0
    _waiting: str = ""
    _doubted: str = ""
    _quiet_since: datetime | None = None
    _last: dict[str, datetime] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._first = self.reason
        self.card = self._first_card = _CARD_OF.get(self.reason, Card.TAKE)
        self._before = journal.latest(self.kitchen.book)

    @property
    def mode(self) -> str:
        """What scans do now, in words."""
        return self._mode(place_name(self.kitchen, self.place) if self.place else "")

    def _mode(self, where: str) -> str:
        if self.card is Card.GIVE and self.person:
            return f"give to {self.person}"
        doing = {Card.DONE: "counted", Card.MOVE: "move to", Card.COUNT: "count"}.get(self.card)
        return f"{doing} {where}" if where and doing else self.card.value

    def handle(self, raw: str) -> Scanned | None:
        """One line; ``None`` for an empty one or the end word.  Never raises, whatever was scanned."""
        return self._steadily(self._heard, raw)

    def _heard(self, raw: str) -> Scanned | None:
        self.kitchen = self.kitchen.afresh()
        if (tested := scanner.test(self.kitchen, raw)) is not None:
            return self._said(Scanned(code=None, outcome="card", message=tested))
        line = read_line(raw)
        if line.asked is Asked.NOTHING or self.ends(raw):
            return None
        if line.asked is Asked.DONE:
            return self._said(self._card(Card.DONE))
        paused = self._paused()
        if line.asked is Asked.UNDO:
            return self._said(self._undo())
        text = scanner.meant(self.kitchen, line.text)
        if card := CARDS.get(compact(text)) or _TYPED.get(text.lower()):
            return self._said(self._card(card))
        if paused:
            return self._said(self._pause(text))
        return self._code(text)

    def ends(self, raw: str) -> bool:
        """Whether a line ends the session: the end word, while no card's mode is on."""
        return read_line(raw).asked is Asked.DONE and self.card is self._first_card

    def code(self, text: str) -> Scanned:
        """One code, as scanned or typed; in the weighing mode also a weight, in a count a number."""
        return self._steadily(self._code, text)

    def _steadily(self, answer: Callable[[str], Answer], raw: str) -> Answer | Scanned:
        """The answer, or that the book could not be read or written for this line: the next one may find it free."""
        try:
            with self.kitchen.book.told():
                return answer(raw)
        except BookTrouble as error:
            self.troubled = True
            said = in_the_way(error, raw)
            # The book is not asked again, not even which places have one name.
            return replace(said, mode=self._mode(self.place.name if self.place else ""))

    def _code(self, text: str) -> Scanned:
        self._quiet_since = self.kitchen.clock.stamp()
        try:
            return self._said(self._do(text))
        except BookTrouble:
            raise
        except InvalidCode as error:
            name, hint = perhaps_a_name(text) if self.card is Card.GIVE else ("", "")
            self._doubted = name or self._doubted
            return self._said(Scanned(code=None, outcome="damaged", message=f"{error.message}{hint}"))
        except FreezerboxError as error:
            return self._said(refused(self.kitchen, compact(text), error))

    def _do(self, text: str) -> Scanned:
        kitchen = self.kitchen
        if self.card is Card.DONE and self.place is not None:
            # The count waits for its answer: what is scanned now was meant for another mode.
            return Scanned(code=None, outcome="refused", message=f"Nothing changed. {ANSWERS}")
        if self._waiting and not looks_like_code(text):
            return self._number(text)
        if to_whom := named(kitchen, text, giving=self.card is Card.GIVE, again=self._doubted):
            return self._give_to(to_whom)
        text, number = units_of(text) if self.card in (*_LEAVING, Card.PUT_BACK) else (text, None)
        code = read_code(kitchen, text)
        if sign := self._sign(code):
            return sign
        if self.card in (Card.MOVE, Card.COUNT) and self.place is None:
            return Scanned(code=code, outcome="refused", message=f"Nothing changed: {ASKS[self.card]}.")
        if self.card is Card.SHOW:
            return shown(kitchen, find_row(kitchen, code))
        if self.card is Card.WEIGH:
            return self._weigh(code)
        if self.card is Card.COUNT:
            return self._count(code)
        if self.card is Card.MOVE:
            return self._move(code)
        if self.card is Card.GIVE and self._doubted:
            raise Refused(who_gets_it(self._doubted), code=code)
        return self._take_or_put_back(code, number)

    def _give_to(self, name: str) -> Scanned:
        try:
            person = find_person(self.kitchen, name, new=self._doubted == name)
        except OutOfLine as error:
            self._doubted = name
            message = f"{error.message.split('. ')[0]}. Type it again if {name} is somebody else."
            return Scanned(code=None, outcome="refused", message=message)
        self._doubted, self._waiting, self.place = "", "", None
        self.card, self.reason, self.person = Card.GIVE, Reason.GIVEN, person
        message = f"GIVE TO {person.upper()}: each scan is given to {person}."
        return Scanned(code=None, outcome="card", message=message)

    def _take_or_put_back(self, code: str, number: int | None) -> Scanned:
        kitchen, now, units = self.kitchen, self.kitchen.clock.stamp(), 1 if number is None else number
        again = self._again(code, now) if number is None else None
        if again is not None:
            return again
        if self.card is Card.PUT_BACK:
            done = put_back(kitchen, code, number=units)
            self._last[code] = now
            return Scanned(code=code, outcome="put-back", message=done.message, row=done.row)
        if self.card is Card.GIVE and self.person:
            some = code if number is None else f"{code}*{number}"
            given = give(kitchen, [some], self.person, yes=True)
            self._last[code] = now
            message = given_words(self.kitchen, given, number)
            return Scanned(code=code, outcome="given", message=message, row=given.rows[0])
        done = take(kitchen, code, self.reason, on=self.on, number=units, already_eaten=self.already_eaten)
        self._last[code] = now
        hint = UNNAMED if self.card is Card.GIVE else done.hint
        message = out_words(self.kitchen, done)
        outcome = _OUTCOMES.get(self.reason, "taken")
        return Scanned(code=code, outcome=outcome, message=message, row=done.row, hint=hint)

    def _again(self, code: str, now: datetime) -> Scanned | None:
        """The same code again within seconds counts once: a scanner bounced, or a hand was unsure."""
        fresh = code not in self._last and at_hand.is_frozen(self.kitchen.book, code)
        package = None if fresh else queries.package(self.kitchen.book, code)
        if package is None:
            return None
        frozen = package.state.state is State.FROZEN
        before = self._last.get(code)
        left = package.state.state is State.GONE and package.state.reason is not Reason.VOID
        if left and before is None and self.card is not Card.PUT_BACK:
            stamp = last_taken(self.kitchen, code)
            before = datetime.fromisoformat(stamp) if stamp else None
        lot = frozen and (self.card is not Card.PUT_BACK or is_lot(self.kitchen, package))
        window = timedelta(seconds=SAME_SCAN_SECONDS_LOT if lot else SAME_SCAN_SECONDS)
        if before is None or not timedelta(0) <= now - before < window:
            return None
        return twice(self.kitchen, Rows(self.kitchen, only=[code]).row(package))

    def _move(self, code: str) -> Scanned:
        assert self.place is not None
        row = find_row(self.kitchen, code)
        if row.package.state.place_id == self.place.id and row.package.state.state is State.FROZEN:
            message = f"THERE ALREADY: {seen_line(self.kitchen, row)}."
            return Scanned(code=code, outcome="duplicate", message=message, row=row)
        moved = move(self.kitchen, [code], to=self.place.code)
        after = moved.rows[0]
        held = f" HELD: {holds_words(after.holds, self.kitchen.today)}." if after.holds else ""
        came_from = (row.place if row.freezer == after.freezer else row.where) or "no place"
        seen = seen_line(self.kitchen, after) + of_lot_words(after, after.package.state.quantity)
        message = f"MOVED from {came_from}: {seen}.{held}"
        return Scanned(code=code, outcome="moved", message=message, row=after)

    def _count(self, code: str) -> Scanned:
        assert self.place is not None
        code = meant_here(self.kitchen, self.place, code)
        if code in counting.look_of(self.kitchen, self.place).seen:
            rows = Rows(self.kitchen).of_codes([code])
            if rows and rows[0].package.state.quantity > 1:
                self._waiting = code
            if rows:
                message = f"SEEN BEFORE, counted once: {seen_line(self.kitchen, rows[0])}."
                return Scanned(code=code, outcome="duplicate", message=message, row=rows[0])
        counted = counting.see(self.kitchen, self.place, [code])
        rows = Rows(self.kitchen.afresh()).of_codes([code])
        hint = ""
        if rows and rows[0].package.state.quantity > 1:
            self._waiting, hint = code, "A lot: type how many lie here."
        outcome = "counted" if rows else "unknown"
        message = saw_words(self.kitchen.afresh(), counted, code)
        return Scanned(code=code, outcome=outcome, message=message, row=rows[0] if rows else None, hint=hint)

    def _weigh(self, code: str) -> Scanned:
        row = find_row(self.kitchen, code)
        self._waiting = code
        words = coded_line(self.kitchen, row)
        return Scanned(code=code, outcome="card", message=f"{words}: type its weight.", row=row)

    def _number(self, text: str) -> Scanned:
        """A line that is no code while one is waited for: the weight, or how many of the lot."""
        code, words = self._waiting, text.strip()
        if self.card is Card.COUNT and self.place is not None and words.isascii() and words.isdigit():
            self._waiting = ""
            number = min(int(words[:6]), counting.MOST_OF_A_LOT)
            counted = counting.see(self.kitchen, self.place, [code], number=number)
            rows = Rows(self.kitchen.afresh()).of_codes([code])
            message = saw_words(self.kitchen.afresh(), counted, code)
            return Scanned(code=code, outcome="counted", message=message, row=rows[0])
        if self.card is not Card.WEIGH:
            raise InvalidCode(f"{words!r} is not a package code.", value=text)
        try:
            done = weigh(self.kitchen, code, words, yes=self._doubted == f"{code} {words}")
        except OutOfLine as error:
            self._doubted = f"{code} {words}"
            message = f"{error.message.split('. ')[0]}. Type it again if the scale says so."
            return Scanned(code=code, outcome="refused", message=message)
        self._waiting = self._doubted = ""
        return Scanned(code=code, outcome="weighed", message=done.message, row=done.row)

    def _sign(self, code: str) -> Scanned | None:
        if queries.code_kind(self.kitchen.book, code) != "place":
            return None
        place = queries.place_of_sign(self.kitchen.book, code)
        if place is None:
            return Scanned(code=code, outcome="unknown", message=unused_words(self.kitchen, code))
        number = totals(inside_of(self.kitchen, place)).packages
        by_the_list = f"{count(number, 'package')} by the list"
        self._waiting = ""
        if self.card is Card.MOVE:
            self.place = place
            return Scanned(code=code, outcome="place", message=f"{by_the_list}. Now scan what goes there.")
        if self.card is Card.COUNT:
            self.place = place
            seen = len(counting.look_of(self.kitchen, place).seen)
            going_on = f"Going on, {seen} seen before" if seen else "Scan what lies there"
            return Scanned(code=code, outcome="place", message=f"{by_the_list}. {going_on}; then DONE.")
        message = f"{place.name}, {place.freezer}: {by_the_list}. Nothing changed."
        return Scanned(code=code, outcome="place", message=message, hint=SIGN_ALONE)

    def _card(self, card: Card) -> Scanned:
        code = next(code for code, one in CARDS.items() if one is card)
        resumes = card is self.card and self._quiet_since is not None
        # After two quiet minutes whoever comes means a move of their own, and not the answer to a count.
        accepts = card is Card.MOVE and self.card is Card.DONE and self.place is not None and not self._paused()
        self._quiet_since = self.kitchen.clock.stamp()
        self._waiting = self._doubted = ""
        self._last.clear()
        if card is Card.UNDO:
            return self._undo()
        if card is Card.DONE:
            return self._end(code)
        if not (resumes and card is Card.GIVE):
            self.person = ""
        if accepts:
            return self._accept(code)
        if not (resumes and card in (Card.MOVE, Card.COUNT)):
            self.place = None
        self.card, self.reason = card, _LEAVING.get(card, self.reason)
        going_on = self.place.name if self.place else self.person
        asks = f"going on with {going_on}" if going_on else ASKS[card]
        return Scanned(code=code, outcome="card", message=f"{self.mode.upper()}: {asks}.")

    def _end(self, code: str) -> Scanned:
        if self.card is not Card.COUNT or self.place is None:
            self._to_first()
            return Scanned(code=code, outcome="card", message=f"DONE. {self._now()}")
        counted = counting.finish(self.kitchen, self.place)
        name, hint = self.place.name, ""
        if counted.surprises:
            self.card = Card.DONE
            message, hint = f"checked today: {counting.summary(counted)}.", ANSWERS
        else:
            self._to_first()
            message = f"{name} checked today: {counting.summary(counted)}. {self._now()}"
        return Scanned(code=code, outcome="card", message=message, hint=hint)

    def _accept(self, code: str) -> Scanned:
        assert self.place is not None
        counted, rows = counting.accept(self.kitchen, self.place)
        self._to_first()
        missing = sum(row.package.missing_since is not None for row in rows)
        right = f"{count(len(rows) - missing, 'package')} made right, {missing} to search for"
        message = f"{counted.place.name}: {right}. {self._now()}"
        return Scanned(code=code, outcome="card", message=message, hint=new_labels(counted, rows))

    def _now(self) -> str:
        return f"Now {self.mode.upper()}: {ASKS[self.card]}."

    def _to_first(self) -> None:
        self.reason, self.place, self.card, self.person = self._first, None, self._first_card, ""

    def _undo(self) -> Scanned:
        if self.card is Card.COUNT and self.place is not None:
            last = counting.unsee(self.kitchen, self.place)
            if last is None:
                return Scanned(code=None, outcome="refused", message="Nothing seen yet; nothing to take back.")
            return Scanned(code=last, outcome="undone", message=f"{show_code(last)} not seen.")
        try:
            undone = undoing.undo(self.kitchen, undoing.target(self.kitchen, after=self._before))
        except CannotUndo as error:
            return Scanned(code=None, outcome="refused", message=error.message)
        for row in undone.rows:
            self._last.pop(row.code, None)
        if self.card is Card.DONE:
            self.card = Card.COUNT
        first = undone.rows[0] if undone.rows else None
        return Scanned(code=first.code if first else None, outcome="undone", message=f"{undone.words}.", row=first)

    def _paused(self) -> bool:
        """Whether a mode that a card began has had two quiet minutes."""
        if self.card is self._first_card or self._quiet_since is None:
            return False
        return self.kitchen.clock.stamp() - self._quiet_since >= QUIET

    def _pause(self, text: str) -> Scanned:
        code = compact(text)
        message = pause_words(self.card, self.mode, self.place)
        return Scanned(code=code if is_valid(code) else None, outcome="paused", message=message)

    def _said(self, scanned: Scanned) -> Scanned:
        return replace(scanned, mode=self.mode)
