"""The program of a later release, with one step more: what a book meets when the program is brought up to date."""

from __future__ import annotations

from typing import Any

from freezerbox.book import migrations

NEXT = migrations.CURRENT + 1
steps_of_today = migrations.steps


def steps() -> Any:
    made = steps_of_today()

    def next_step(database: Any) -> None:
        database.execute("ALTER TABLE freezer ADD COLUMN colour TEXT NOT NULL DEFAULT ''")
        for number in range(40):
            database.execute(f"CREATE TABLE extra_{number} (id INTEGER PRIMARY KEY) STRICT")

    made(name=f"m{NEXT:03}_next")(next_step)
    return made


# Only where this file is run: whoever collects tests imports every file, and must go on with the program of today.
if __name__ == "__main__":
    from freezerbox.cli.main import main

    migrations.steps = steps
    migrations.CURRENT = NEXT
    main()
