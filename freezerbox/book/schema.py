"""The tables of a book, and the triggers that keep its promises.

Acts, movements and changes are append-only.  Everything else follows from them: ``package_state`` is the fold of the
movements, and every field in ``CHANGEABLE`` is what its latest change says.  Triggers do both, and refuse any other
update, whoever writes.  Nothing is ever deleted.
"""

from __future__ import annotations

from collections.abc import Iterator

TABLES = """
CREATE TABLE meta (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT;
CREATE TABLE setting (key TEXT PRIMARY KEY, value TEXT) STRICT;
CREATE TABLE code (
  code TEXT PRIMARY KEY,
  kind TEXT NOT NULL CHECK (kind IN ('package', 'place', 'card')),
  act_id INTEGER NOT NULL REFERENCES act (id)
) STRICT;
CREATE TABLE act (
  id INTEGER PRIMARY KEY,
  uid TEXT NOT NULL UNIQUE,
  kind TEXT NOT NULL,
  happened_on TEXT NOT NULL,
  recorded_at TEXT NOT NULL,
  "by" TEXT NOT NULL DEFAULT '',
  station TEXT NOT NULL DEFAULT '',
  request_id TEXT UNIQUE,
  undoes_act INTEGER UNIQUE REFERENCES act (id),
  words TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE TABLE freezer (
  id INTEGER PRIMARY KEY,
  uid TEXT NOT NULL UNIQUE,
  act_id INTEGER NOT NULL REFERENCES act (id),
  name TEXT NOT NULL,
  volume_ml INTEGER CHECK (volume_ml > 0),
  away INTEGER NOT NULL DEFAULT 0,
  retired INTEGER NOT NULL DEFAULT 0,
  void INTEGER NOT NULL DEFAULT 0
) STRICT;
CREATE UNIQUE INDEX freezer_name ON freezer (name COLLATE NOCASE) WHERE void = 0;
CREATE TABLE place (
  id INTEGER PRIMARY KEY,
  uid TEXT NOT NULL UNIQUE,
  act_id INTEGER NOT NULL REFERENCES act (id),
  freezer_id INTEGER NOT NULL REFERENCES freezer (id),
  parent_id INTEGER REFERENCES place (id),
  name TEXT NOT NULL,
  kind TEXT NOT NULL DEFAULT '',
  code TEXT NOT NULL UNIQUE REFERENCES code (code),
  last_checked_on TEXT,
  last_surprises INTEGER,
  retired INTEGER NOT NULL DEFAULT 0,
  void INTEGER NOT NULL DEFAULT 0
) STRICT;
CREATE UNIQUE INDEX place_name ON place (freezer_id, name COLLATE NOCASE) WHERE void = 0;
CREATE TABLE person (
  id INTEGER PRIMARY KEY,
  uid TEXT NOT NULL UNIQUE,
  act_id INTEGER NOT NULL REFERENCES act (id),
  name TEXT NOT NULL,
  void INTEGER NOT NULL DEFAULT 0
) STRICT;
CREATE UNIQUE INDEX person_name ON person (name COLLATE NOCASE) WHERE void = 0;
CREATE TABLE animal (
  id INTEGER PRIMARY KEY,
  uid TEXT NOT NULL UNIQUE,
  act_id INTEGER NOT NULL REFERENCES act (id),
  code TEXT NOT NULL,
  species TEXT NOT NULL,
  sex_age TEXT NOT NULL DEFAULT '',
  what TEXT NOT NULL DEFAULT '',
  killed_on TEXT,
  processed_on TEXT,
  tag TEXT NOT NULL DEFAULT '',
  note TEXT NOT NULL DEFAULT '',
  taken_by TEXT NOT NULL DEFAULT '',
  taken_at TEXT NOT NULL DEFAULT '',
  live_mg INTEGER CHECK (live_mg > 0),
  dressed_mg INTEGER CHECK (dressed_mg > 0),
  hanging_mg INTEGER CHECK (hanging_mg > 0),
  hide TEXT NOT NULL DEFAULT '' CHECK (hide IN ('', 'on', 'off')),
  ammunition TEXT NOT NULL DEFAULT '',
  wound_note TEXT NOT NULL DEFAULT '',
  taste TEXT NOT NULL DEFAULT '',
  void INTEGER NOT NULL DEFAULT 0
) STRICT;
CREATE UNIQUE INDEX animal_code ON animal (code COLLATE NOCASE) WHERE void = 0;
CREATE TABLE animal_test (
  id INTEGER PRIMARY KEY,
  uid TEXT NOT NULL UNIQUE,
  act_id INTEGER NOT NULL REFERENCES act (id),
  animal_id INTEGER NOT NULL REFERENCES animal (id),
  what_for TEXT NOT NULL DEFAULT '',
  sample TEXT NOT NULL DEFAULT '',
  sent_on TEXT NOT NULL,
  result TEXT NOT NULL,
  result_on TEXT,
  released_on TEXT,
  released_why TEXT NOT NULL DEFAULT '',
  void INTEGER NOT NULL DEFAULT 0
) STRICT;
CREATE TABLE animal_hold (
  id INTEGER PRIMARY KEY,
  uid TEXT NOT NULL UNIQUE,
  act_id INTEGER NOT NULL REFERENCES act (id),
  animal_id INTEGER NOT NULL REFERENCES animal (id),
  why TEXT NOT NULL,
  since TEXT NOT NULL,
  released_on TEXT,
  released_why TEXT NOT NULL DEFAULT '',
  void INTEGER NOT NULL DEFAULT 0
) STRICT;
CREATE TABLE batch (
  id INTEGER PRIMARY KEY,
  uid TEXT NOT NULL UNIQUE,
  act_id INTEGER NOT NULL REFERENCES act (id),
  code TEXT NOT NULL,
  recipe TEXT NOT NULL DEFAULT '',
  fat_percent INTEGER,
  made_on TEXT NOT NULL,
  void INTEGER NOT NULL DEFAULT 0
) STRICT;
CREATE UNIQUE INDEX batch_code ON batch (code COLLATE NOCASE) WHERE void = 0;
CREATE TABLE package (
  code TEXT PRIMARY KEY REFERENCES code (code),
  uid TEXT NOT NULL UNIQUE,
  act_id INTEGER NOT NULL REFERENCES act (id),
  cut TEXT NOT NULL,
  form TEXT NOT NULL DEFAULT '',
  species TEXT NOT NULL DEFAULT '',
  other_words TEXT NOT NULL DEFAULT '',
  net_mg INTEGER CHECK (net_mg > 0),
  typed TEXT NOT NULL DEFAULT '',
  pieces INTEGER CHECK (pieces > 0),
  packed_on TEXT NOT NULL,
  first_frozen_on TEXT NOT NULL,
  times_frozen INTEGER NOT NULL DEFAULT 1 CHECK (times_frozen BETWEEN 1 AND 9),
  wrap TEXT NOT NULL DEFAULT '',
  seasoning TEXT NOT NULL DEFAULT '',
  fat_percent INTEGER CHECK (fat_percent BETWEEN 0 AND 100),
  added TEXT NOT NULL DEFAULT '',
  owner TEXT NOT NULL DEFAULT '',
  reserved_for TEXT NOT NULL DEFAULT '',
  note TEXT NOT NULL DEFAULT '',
  batch TEXT NOT NULL DEFAULT '',
  missing_since TEXT,
  run_number INTEGER,
  run_size INTEGER
) STRICT;
CREATE INDEX package_cut ON package (cut, species, first_frozen_on);
CREATE TABLE lineage (
  id INTEGER PRIMARY KEY,
  act_id INTEGER NOT NULL REFERENCES act (id),
  child TEXT NOT NULL REFERENCES package (code),
  kind TEXT NOT NULL CHECK (kind IN ('animal', 'package', 'bought')),
  name TEXT NOT NULL,
  mass_mg INTEGER CHECK (mass_mg > 0),
  fat_percent INTEGER CHECK (fat_percent BETWEEN 0 AND 100),
  void INTEGER NOT NULL DEFAULT 0
) STRICT;
CREATE INDEX lineage_child ON lineage (child);
CREATE TABLE own_hold (
  id INTEGER PRIMARY KEY,
  uid TEXT NOT NULL UNIQUE,
  act_id INTEGER NOT NULL REFERENCES act (id),
  code TEXT NOT NULL REFERENCES package (code),
  why TEXT NOT NULL,
  since TEXT NOT NULL,
  released_on TEXT,
  released_why TEXT NOT NULL DEFAULT '',
  void INTEGER NOT NULL DEFAULT 0
) STRICT;
CREATE TABLE cost (
  id INTEGER PRIMARY KEY,
  uid TEXT NOT NULL UNIQUE,
  act_id INTEGER NOT NULL REFERENCES act (id),
  subject_kind TEXT NOT NULL CHECK (subject_kind IN ('animal', 'batch')),
  subject TEXT NOT NULL,
  what TEXT NOT NULL,
  cents INTEGER NOT NULL CHECK (cents > 0),
  void INTEGER NOT NULL DEFAULT 0
) STRICT;
CREATE TABLE batch_step (
  id INTEGER PRIMARY KEY,
  uid TEXT NOT NULL UNIQUE,
  act_id INTEGER NOT NULL REFERENCES act (id),
  batch TEXT NOT NULL,
  what TEXT NOT NULL,
  due_on TEXT NOT NULL,
  done_on TEXT,
  void INTEGER NOT NULL DEFAULT 0
) STRICT;
CREATE TABLE label (
  id INTEGER PRIMARY KEY,
  act_id INTEGER NOT NULL REFERENCES act (id),
  code TEXT NOT NULL REFERENCES package (code),
  stock TEXT NOT NULL,
  text TEXT NOT NULL,
  mask INTEGER,
  banner TEXT NOT NULL DEFAULT '',
  printed_on TEXT NOT NULL,
  void INTEGER NOT NULL DEFAULT 0
) STRICT;
CREATE INDEX label_code ON label (code);
CREATE TABLE movement (
  id INTEGER PRIMARY KEY,
  act_id INTEGER NOT NULL REFERENCES act (id),
  code TEXT NOT NULL REFERENCES package (code),
  happened_on TEXT NOT NULL,
  state TEXT NOT NULL CHECK (state IN ('spare', 'frozen', 'gone')),
  reason TEXT CHECK (state <> 'gone' OR reason IS NOT NULL),
  freezer_id INTEGER REFERENCES freezer (id),
  place_id INTEGER REFERENCES place (id),
  delta INTEGER NOT NULL,
  person TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX movement_code ON movement (code, happened_on, id);
CREATE INDEX movement_act ON movement (act_id);
CREATE TABLE change (
  id INTEGER PRIMARY KEY,
  act_id INTEGER NOT NULL REFERENCES act (id),
  subject_kind TEXT NOT NULL,
  subject TEXT NOT NULL,
  field TEXT NOT NULL,
  old ANY,
  new ANY
) STRICT;
CREATE INDEX change_subject ON change (subject_kind, subject, field, id);
CREATE INDEX change_act ON change (act_id);
CREATE TABLE package_state (
  code TEXT PRIMARY KEY REFERENCES package (code),
  state TEXT NOT NULL,
  reason TEXT,
  freezer_id INTEGER,
  place_id INTEGER,
  quantity INTEGER NOT NULL CHECK (quantity >= 0),
  since TEXT NOT NULL
) STRICT;
"""

APPEND_ONLY = ("act", "movement", "change", "code")
"""Rows of these are written once and never touched again."""

CHANGEABLE: dict[str, tuple[str, tuple[str, ...]]] = {
    "freezer": ("id", ("name", "volume_ml", "away", "retired", "void")),
    "place": (
        "id",
        ("name", "kind", "freezer_id", "parent_id", "last_checked_on", "last_surprises", "retired", "void"),
    ),
    "person": ("id", ("name", "void")),
    "animal": (
        "id",
        (
            "species", "sex_age", "what", "killed_on", "processed_on", "tag", "note", "taken_by", "taken_at",
            "live_mg", "dressed_mg", "hanging_mg", "hide", "ammunition", "wound_note", "taste", "void",
        ),
    ),
    "animal_test": (
        "id",
        ("what_for", "sample", "sent_on", "result", "result_on", "released_on", "released_why", "void"),
    ),
    "animal_hold": ("id", ("released_on", "released_why", "void")),
    "batch": ("id", ("recipe", "fat_percent", "made_on", "void")),
    "package": (
        "code",
        (
            "cut", "form", "species", "other_words", "net_mg", "typed", "pieces", "packed_on", "first_frozen_on",
            "times_frozen", "wrap", "seasoning", "fat_percent", "added", "owner", "reserved_for", "note", "batch",
            "run_number", "run_size", "missing_since",
        ),
    ),
    "lineage": ("id", ("child", "mass_mg", "void")),
    "own_hold": ("id", ("released_on", "released_why", "void")),
    "cost": ("id", ("what", "cents", "void")),
    "batch_step": ("id", ("due_on", "done_on", "void")),
    "label": ("id", ("void",)),
}  # fmt: skip
"""Tables whose fields follow changes: key column and fields."""

OVERRULED = "overruled"
"""Kind of the changes by which a join says that a step counts for nothing: subject the code of the package, field the
uid of the act, and 1 as long as it is so."""

ANSWERED = "answered"
"""Kind of the changes by which a join says what two of one name are: subject their table, field their uids."""

SIGN = "sign"
"""Kind of the changes by which a join says what the sign of a place means that is another one now: subject the code
on the sign, field the uid of the place that it was, and the uid of the one it is."""

_LATEST = """FROM movement m WHERE m.code = NEW.code ORDER BY m.happened_on DESC, m.id DESC LIMIT 1"""


def statements() -> Iterator[str]:
    """Every statement that makes an empty book, in order."""
    yield from (statement.strip() for statement in TABLES.split(";") if statement.strip())
    yield from triggers()


def columns(table: str) -> tuple[str, ...]:
    """The columns of a table, in order."""
    body = TABLES.partition(f"CREATE TABLE {table} (\n")[2].partition("\n)")[0]
    return tuple(line.split()[0].strip('"') for line in body.splitlines())


def triggers() -> Iterator[str]:
    """The triggers: what follows from the journal, and what is refused."""
    for table in APPEND_ONLY:
        for verb in ("UPDATE", "DELETE"):
            yield _refusal(f"{table}_no_{verb.lower()}", f"{verb} ON {table}", f"{table} rows are never changed")
    for table in (*CHANGEABLE, "package_state", "setting", "meta"):
        yield _refusal(f"{table}_no_delete", f"DELETE ON {table}", f"{table} rows are never deleted")
    for table, (key, fields) in CHANGEABLE.items():
        yield from _projection(table, key, fields)
    yield """CREATE TRIGGER change_setting AFTER INSERT ON change WHEN NEW.subject_kind = 'setting' BEGIN
  INSERT INTO setting (key, value) VALUES (NEW.subject, NEW.new)
  ON CONFLICT (key) DO UPDATE SET value = excluded.value;
END"""
    yield f"""CREATE TRIGGER movement_folds AFTER INSERT ON movement BEGIN
  INSERT INTO package_state (code, state, reason, freezer_id, place_id, quantity, since)
  SELECT NEW.code, m.state, CASE WHEN m.state = 'gone' THEN m.reason END, m.freezer_id, m.place_id,
    (SELECT sum(delta) FROM movement WHERE code = NEW.code), m.happened_on
  {_LATEST}
  ON CONFLICT (code) DO UPDATE SET state = excluded.state, reason = excluded.reason,
    freezer_id = excluded.freezer_id, place_id = excluded.place_id, quantity = excluded.quantity,
    since = excluded.since;
END"""
    same = " OR ".join(
        f"NEW.{column} IS NOT (SELECT {source} {_LATEST})"
        for column, source in (
            ("state", "m.state"), ("reason", "CASE WHEN m.state = 'gone' THEN m.reason END"),
            ("freezer_id", "m.freezer_id"), ("place_id", "m.place_id"), ("since", "m.happened_on"),
        )
    )  # fmt: skip
    yield f"""CREATE TRIGGER package_state_only_folds BEFORE UPDATE ON package_state
WHEN {same} OR NEW.quantity IS NOT (SELECT sum(delta) FROM movement WHERE code = NEW.code) BEGIN
  SELECT RAISE (ABORT, 'package state follows its movements');
END"""


def _refusal(name: str, event: str, why: str) -> str:
    return f"CREATE TRIGGER {name} BEFORE {event} BEGIN SELECT RAISE (ABORT, '{why}'); END"


def _projection(table: str, key: str, fields: tuple[str, ...]) -> Iterator[str]:
    for field in fields:
        yield f"""CREATE TRIGGER change_{table}_{field} AFTER INSERT ON change
WHEN NEW.subject_kind = '{table}' AND NEW.field = '{field}' BEGIN
  UPDATE {table} SET {field} = NEW.new WHERE CAST({key} AS TEXT) = NEW.subject;
END"""
        yield f"""CREATE TRIGGER {table}_{field}_only_by_change BEFORE UPDATE OF {field} ON {table}
WHEN NEW.{field} IS NOT OLD.{field} AND NEW.{field} IS NOT (
  SELECT new FROM change WHERE subject_kind = '{table}' AND subject = CAST(OLD.{key} AS TEXT)
  AND field = '{field}' ORDER BY id DESC LIMIT 1
) BEGIN
  SELECT RAISE (ABORT, '{table}.{field} follows its changes');
END"""
    facts = [column for column in columns(table) if column not in fields]
    changed = " OR ".join(f"NEW.{column} IS NOT OLD.{column}" for column in facts)
    yield f"""CREATE TRIGGER {table}_facts_stay BEFORE UPDATE OF {", ".join(facts)} ON {table}
WHEN {changed} BEGIN
  SELECT RAISE (ABORT, '{", ".join(facts)} of {table} are never changed');
END"""
