"""A test result comes: what it is about, first; then, in one act, every package made of the animal follows."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from freezerbox.book import origins, queries
from freezerbox.chores.animals import parse_result
from freezerbox.chores.header import find_animal
from freezerbox.chores.holding import Held, Subject, lifted, reached
from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.naming import same_name
from freezerbox.chores.rows import Row, Rows
from freezerbox.chores.take import read_day
from freezerbox.chores.wording import animal_words, count
from freezerbox.core.dates import iso, long_date
from freezerbox.core.records import Animal, AnimalTest, State, TestResult
from freezerbox.errors import AmbiguousWord, InputError, InvalidDate, OutOfLine, Refused
from freezerbox.food.tests import same_disease

SAID = {
    TestResult.PENDING: "pending",
    TestResult.NOT_DETECTED: "not detected",
    TestResult.DETECTED: "DETECTED",
    TestResult.INCONCLUSIVE: "inconclusive",
    TestResult.NOT_TESTED: "not tested",
    TestResult.SAMPLE_LOST: "sample lost",
}
NO_ANSWER = frozenset({TestResult.NOT_TESTED, TestResult.SAMPLE_LOST})
"""Results that say nothing of the meat: it stays held until the owner lets go."""
NO_RESULT = "no test result"


@dataclass(frozen=True, slots=True, kw_only=True)
class Coming:
    """A result understood, nothing written yet.

    test: the test it answers; None when the animal had none.  rows: every package of the animal, those in the
    freezer first.  in_freezer: how many are there, lots counted by what is left.
    """

    animal: Animal
    test: AnimalTest | None
    sample: str
    result: TestResult
    on: date
    rows: tuple[Row, ...]

    @property
    def in_freezer(self) -> int:
        """How many packages of it are in the freezer."""
        return sum(row.package.state.quantity for row in self.rows if row.package.state.state is State.FROZEN)

    def words(self) -> str:
        """What will be recorded, to be confirmed: animal, sample, result, day, packages."""
        sample = f", sample {self.sample}" if self.sample else ", no sample number"
        what_for = f" for {self.test.what_for}" if self.test and self.test.what_for else ""
        new = ""
        if self.test is None and self.animal.tests:
            new = " No such test of it was in the book; this one is new, and the others stand as they are."
        if self.test and self.test.result is TestResult.DETECTED and self.result is not TestResult.DETECTED:
            when = f" on {long_date(self.test.result_on)}" if self.test.result_on else ""
            new = f" The book said DETECTED{when}; this takes it back."
        return (
            f"{animal_words(self.animal)}{sample}{what_for}: {SAID[self.result]} on {long_date(self.on)}. "
            f"{count(self.in_freezer, 'package')} in the freezer came of it.{new}"
        )


def understand(
    kitchen: Kitchen, code: str, result: str, *, on: str = "", sample: str = "", what_for: str = "", yes: bool = False
) -> Coming:
    """What a result means, before anything is written.

    Raises: UnknownRecord for the animal; UnknownWord for the result; Refused for a sample number that is not this
    animal's, naming whose it is, or a result that stands already; AmbiguousWord when several tests wait; OutOfLine
    when it would take back "detected", or is of a test never heard of while others wait, and ``yes`` does not say so;
    InvalidDate.
    """
    animal = find_animal(kitchen, code)
    said = parse_result(result)
    if said is TestResult.PENDING:
        raise InputError(
            f"Pending is no result. To say that a test waits: freezerbox animal test {animal.code} --sample NUMBER",
            value=result,
        )
    test = _test(kitchen, animal, " ".join(sample.split()), " ".join(what_for.split()))
    waiting = [one for one in animal.tests if one.result is TestResult.PENDING]
    if test is None and waiting and not yes:
        known = ", ".join(one.what_for for one in animal.tests)
        raise OutOfLine(
            f"Nothing recorded: no test of {animal.code} is for {what_for!r}; those in the book are for {known}. "
            "Name one of these with --for, or add --yes when it is another test altogether.",
            code=animal.code,
        )
    day = read_day(kitchen, on)
    for name, earlier in (("was killed", animal.killed_on), ("had its sample sent", test.sent_on if test else None)):
        if earlier and day < earlier:
            raise InvalidDate(
                f"A result on {long_date(day)} comes before {animal.code} {name}, on {long_date(earlier)}. "
                "One of the two days is wrong.",
                value=on,
            )
    if test and test.result is said and test.result_on is not None:
        raise Refused(
            f"{animal.code} has that result already: {SAID[said]} on {long_date(test.result_on)}.", code=animal.code
        )
    if test and test.result is TestResult.DETECTED and not yes:
        when = f" on {long_date(test.result_on)}" if test.result_on else ""
        raise OutOfLine(
            f"The book says {animal.code} was DETECTED{when}. Nothing changed. If that was wrong, "
            f"say so with --yes: freezerbox result {animal.code} {said} --yes",
            code=animal.code,
        )
    subject = Subject(row=None, animal=animal, words=animal_words(animal))
    return Coming(
        animal=animal,
        test=test,
        sample=test.sample if test else " ".join(sample.split()),
        result=said,
        on=day,
        rows=reached(kitchen, subject),
    )


@one_writer
def record(kitchen: Kitchen, coming: Coming, *, what_for: str = "", request_id: str | None = None) -> Held:
    """Write the result: one act.  What is held and what is not follows by itself, wherever the meat went.

    A sample that was lost or never tested answers nothing: meat that waited stays held until the owner lets go.
    """
    animal, test = coming.animal, coming.test
    of = test.what_for if test else " ".join(what_for.split())
    words = f"test result for {animal_words(animal)}{f' ({of})' if of else ''}: {SAID[coming.result]}"
    day = coming.on.isoformat()
    with kitchen.book.act("result", kitchen.today, request_id=request_id, words=words) as act:
        if test is None:
            act.add(
                "animal_test",
                animal_id=animal.id,
                what_for=" ".join(what_for.split()),
                sample=coming.sample,
                sent_on=day,
                result=coming.result.value,
                result_on=day,
            )
        else:
            act.change("animal_test", test.id, "result", test.result.value, coming.result.value)
            act.change("animal_test", test.id, "result_on", iso(test.result_on), day)
            if test.released_on is not None:
                # A new answer: what the owner released from was the old one.
                act.change("animal_test", test.id, "released_on", test.released_on.isoformat(), None)
        waited = test is not None and test.result is TestResult.PENDING and test.released_on is None
        if coming.result is TestResult.NOT_DETECTED:
            for own in origins.own_holds(kitchen.book, animal.code):
                if own.why.startswith(NO_RESULT):
                    act.change(own.table, own.id, "released_on", None, day)
        if coming.result in NO_ANSWER and waited:
            why = f"{NO_RESULT}: {SAID[coming.result]}"
            act.add("animal_hold", animal_id=animal.id, why=why, since=day)
    kitchen = kitchen.afresh()
    rows = Rows(kitchen).of_codes([row.code for row in coming.rows])
    message = f"Recorded: {words}, {long_date(coming.on)}."
    if coming.result is TestResult.NOT_DETECTED:
        return lifted(kitchen, coming.rows, rows, message, animal.code)
    if coming.result in NO_ANSWER and waited:
        message += (
            f" That answers nothing, so its meat stays on hold until you decide: "
            f"freezerbox release {animal.code} --why REASON"
        )
    elif coming.result is TestResult.INCONCLUSIVE:
        message += " Its meat stays on hold."
    elif coming.result is TestResult.DETECTED:
        message += f" {count(coming.in_freezer, 'package')} to pull."
    return Held(rows=rows, message=message)


def _test(kitchen: Kitchen, animal: Animal, sample: str, what_for: str) -> AnimalTest | None:
    """The test that a result answers; None when the animal has none."""
    if sample:
        found = [test for test in animal.tests if same_name(test.sample, sample)]
        if found:
            return found[0]
        for other in queries.animals(kitchen.book):
            if any(same_name(test.sample, sample) for test in other.tests):
                raise Refused(
                    f"Sample {sample} is {other.code}'s, not {animal.code}'s. Nothing was changed; look at the "
                    "number and the animal again.",
                    sample=sample,
                    animal=other.code,
                )
        numbered = [test.sample for test in animal.tests if test.sample]
        if numbered:
            raise Refused(
                f"{animal.code} has no sample {sample}; its number is {', '.join(numbered)}. Nothing was changed.",
                sample=sample,
                known=numbered,
            )
    tests = list(animal.tests)
    if what_for:
        named = [test for test in tests if same_disease(animal.species, test.what_for, what_for)]
        unsaid = [test for test in tests if not test.what_for]
        if not named and not unsaid and tests:
            return None
        tests = named or unsaid
    waiting = [test for test in tests if test.result is TestResult.PENDING]
    tests = waiting or tests
    if len(tests) > 1:
        choices = [_named(test, what_for) for test in tests]
        asked = "; ".join(f"{how} ({what})" for how, what in choices if how)
        nameless = [what for how, what in choices if not how]
        more = (
            f" The one {nameless[0]} has neither number nor name; give it one first: "
            f"freezerbox animal test {animal.code} --for WHAT"
            if nameless
            else ""
        )
        raise AmbiguousWord(
            f"{animal.code} has {len(tests)} tests. Say which, with {asked}.{more}",
            word=animal.code,
            choices=[(how or what, what) for how, what in choices],
        )
    return tests[0] if tests else None


def _named(test: AnimalTest, what_for: str) -> tuple[str, str]:
    """The option that tells a test from the animal's others, "" without any, and a word on it."""
    sent = f"sent {long_date(test.sent_on)}"
    if test.sample and (not test.what_for or what_for):
        return f"--sample {test.sample}", test.what_for or sent
    if test.what_for:
        return f'--for "{test.what_for}"', f"sample {test.sample}" if test.sample else sent
    return "", sent
