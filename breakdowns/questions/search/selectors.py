# ruff: noqa: S611, S608 - the names of tables are ours; what was typed goes in as a parameter
"""Rows that share words with a text, through the full text of the database at hand; the same rows on both."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.core.cache import cache
from django.db import connections
from django.db.models import BooleanField, QuerySet
from django.db.models.expressions import RawSQL

from .terms import SMALL, as_fts5, as_tsquery, asked_for

MOST = 300
_CACHED = 300  # seconds
# Of questions only those that wait are asked for; so many are there as this index of theirs has.
_ONLY = {"questions_question": "question_waiting_oldest"}


def matching(
    rows: QuerySet[Any], terms: Sequence[str], *, must: Sequence[str] = (), most: int = MOST
) -> QuerySet[Any]:
    """Of ``rows`` (answers or questions) the newest ``most`` that share enough of the terms of the index."""
    table = rows.model._meta.db_table
    connection = connections[rows.db]
    count, shares = _frequencies(connection, table, terms)
    clauses = asked_for(terms, shares, count, most, must)
    if not clauses:
        return rows.none()
    if connection.vendor == "postgresql":
        test = RawSQL(f"{table}.search_vector @@ %s::tsquery", [as_tsquery(clauses)], BooleanField())
    else:
        words = f"{table}_words"
        test = RawSQL(
            f"{table}.id IN (SELECT rowid FROM {words} WHERE {words} MATCH %s)",
            [as_fts5(clauses)],
            BooleanField(),
        )
    return rows.filter(test).order_by("-pk")[:most]


def _frequencies(connection: Any, table: str, terms: Sequence[str]) -> tuple[int, dict[str, float]]:
    """How many rows there are, about, and which part of them has each of the terms that are common."""
    if connection.vendor == "postgresql":
        key = f"questions-terms-{connection.settings_dict['NAME']}-{table}"
        if (kept := cache.get(key)) is None:
            kept = _of_statistics(connection, table)
            cache.set(key, kept, _CACHED if kept[0] > SMALL else 1)
        return kept
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT max(id) FROM {table}")
        count = cursor.fetchone()[0] or 0
        if count <= SMALL or not terms:
            return count, {}
        places = ", ".join(["%s"] * len(terms))
        cursor.execute(
            f"SELECT term, doc FROM {table}_terms WHERE term IN ({places})",
            list(terms),
        )
        return count, {one: doc / count for one, doc in cursor.fetchall()}


def _of_statistics(connection: Any, table: str) -> tuple[int, dict[str, float]]:
    """What ANALYZE found; a term that it does not name is rare."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT c.reltuples::bigint, s.most_common_elems::text::text[], s.most_common_elem_freqs "
            "FROM pg_class c LEFT JOIN pg_stats s ON s.tablename = c.relname AND s.attname = 'search_vector' "
            "AND s.schemaname = current_schema() WHERE c.oid = to_regclass(%s)",
            [table],
        )
        count, names, shares = cursor.fetchone() or (0, None, None)
        if index := _ONLY.get(table):
            cursor.execute("SELECT reltuples::bigint FROM pg_class WHERE relname = %s", [index])
            count = (cursor.fetchone() or (0,))[0]
    return max(count, 0), dict(zip(names or [], shares or [], strict=False))
