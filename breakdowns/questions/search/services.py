# ruff: noqa: S608 - the names of tables are ours, nothing typed gets into them
"""Full-text indexes in the database itself: it keeps them in the transaction that changes a row, so none is ever behind.

SQLite: an FTS5 table for each with its triggers. PostgreSQL: a generated column and a GIN index. Both are made after each
``migrate``, because changing a table in SQLite may take its triggers away.
"""

from __future__ import annotations

from typing import Any

from django.db import DEFAULT_DB_ALIAS, connections

TABLES = ("questions_answer", "questions_question")
# Beside the index of all answers one of those that stand in the library: it alone answers what members search.
_GIN = {
    "questions_answer_search": ("questions_answer", ""),
    "questions_answer_library": (
        "questions_answer",
        " WHERE taken_back_at IS NULL AND withdrawn_at IS NULL AND audience <> 'private'",
    ),
    "questions_question_search": ("questions_question", " WHERE state = 'waiting'"),
}


def indexes_make(using: str = DEFAULT_DB_ALIAS, **_: Any) -> None:
    """Make what is missing. Does nothing where the tables are not there (yet)."""
    connection = connections[using]
    with connection.cursor() as cursor:
        there = set(connection.introspection.table_names(cursor))
        for table in TABLES:
            if table not in there:
                continue
            columns = [one.name for one in connection.introspection.get_table_description(cursor, table)]
            if "search_words" not in columns:
                continue
            if connection.vendor == "sqlite":
                _fts5(cursor, table)
            elif connection.vendor == "postgresql":
                _gin(cursor, table, columns)


def _gin(cursor: Any, table: str, columns: list[str]) -> None:
    if "search_vector" not in columns:
        cursor.execute(
            f"ALTER TABLE {table} ADD COLUMN search_vector tsvector "
            "GENERATED ALWAYS AS (to_tsvector('simple'::regconfig, search_words)) STORED"
        )
    for name, (of, only) in _GIN.items():
        if of == table:
            cursor.execute(
                f"CREATE INDEX IF NOT EXISTS {name} ON {table} USING gin (search_vector) WITH (fastupdate = off){only}"
            )


def _fts5(cursor: Any, table: str) -> None:
    words = f"{table}_words"
    cursor.execute(
        "SELECT count(*) FROM sqlite_master WHERE type = 'trigger' AND name LIKE %s", [f"{words}_%"]
    )
    if cursor.fetchone()[0] == 3:
        return
    cursor.execute(
        f"CREATE VIRTUAL TABLE IF NOT EXISTS {words} USING fts5(search_words, content='{table}', "
        "content_rowid='id', detail='none', tokenize='ascii')"
    )
    cursor.execute(f"CREATE VIRTUAL TABLE IF NOT EXISTS {table}_terms USING fts5vocab('{words}', 'row')")
    put = f"INSERT INTO {words}(rowid, search_words) VALUES (new.id, new.search_words);"
    take = f"INSERT INTO {words}({words}, rowid, search_words) VALUES ('delete', old.id, old.search_words);"
    for when, does in (
        ("INSERT", put), ("DELETE", take), ("UPDATE OF search_words", take + put),
    ):  # fmt: skip
        name = f"{words}_{when.split()[0].lower()}"
        cursor.execute(f"DROP TRIGGER IF EXISTS {name}")
        cursor.execute(f"CREATE TRIGGER {name} AFTER {when} ON {table} BEGIN {does} END")
    cursor.execute(f"INSERT INTO {words}({words}) VALUES ('rebuild')")
