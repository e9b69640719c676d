"""Which entry of the vocabulary a typed text means, where a plate is to be made of it."""

from __future__ import annotations

from functools import lru_cache

from anatomy.lookup.index import index_of, resolve
from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.naming import split_motion

from .plate_content import ENTRY_KINDS, NoEntry

__all__ = ["entry_meant", "entry_text", "plate_names"]


def entry_text(kind: str, name: str) -> str:
    """An entry as one would type it: a motion without its colon."""
    return " ".join(part for part in split_motion(name) if part) if kind == "motion" else name


def entry_meant(vocabulary: Vocabulary, text: str) -> tuple[str, str]:
    """(kind, standard name) of the entry that a text names. Raises NoEntry with what to type instead."""
    if not text.strip():
        raise NoEntry("Name a muscle, or another entry of the vocabulary.")
    found = resolve(vocabulary, text, ENTRY_KINDS)
    muscles = [one for one in found if one[0] in ("muscle", "group")]
    if len(found) == 1 or len(muscles) == 1:
        return (muscles or found)[0]
    if found:
        raise NoEntry(f"“{text}” can mean {_listed(found)}: write which.")
    near = index_of(vocabulary).search(text, kinds=ENTRY_KINDS)
    shown = [(hit.kind, hit.name) for hit in near if vocabulary.entry(hit.kind, hit.name)][:3]
    if shown:
        raise NoEntry(f"The vocabulary has no “{text}”. Is it {_listed(shown)}?")
    raise NoEntry(f"The vocabulary has no “{text}”: look for it there, or add it as a term of your own.")


def _listed(entries: list[tuple[str, str]]) -> str:
    names = [f"“{entry_text(kind, name)}” ({kind})" for kind, name in entries[:5]]
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"


@lru_cache(maxsize=4)
def plate_names(vocabulary: Vocabulary) -> tuple[str, ...]:
    """What a search field proposes: muscles and groups, then joints and what they do."""
    motions = [entry_text("motion", name) for name in vocabulary.motions]
    return tuple(dict.fromkeys([*vocabulary.muscles, *vocabulary.groups, *vocabulary.joints, *motions]))
