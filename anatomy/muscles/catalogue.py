"""The paths of the model by the muscles that they stand for, and the muscles that the model does not have."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache, cached_property

from anatomy.muscles.coordinates import table
from anatomy.muscles.faults import PostureError
from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.naming import fold

__all__ = ["Path", "base_of", "find_muscles", "missing_muscles", "paths_on"]


@dataclass(frozen=True)
class Path:
    """One path of the model: a muscle or a part of one.

    ``name`` is the package's, which is on the wrong side for rectus abdominis; ``side`` is where the path lies.
    ``vocabulary`` is the muscle's standard name in the vocabulary, empty where it has none.
    """

    name: str
    muscle: str
    part: str
    side: str
    region: str
    vocabulary: str
    note: str

    @cached_property
    def base(self) -> str:
        """The name without its side."""
        return base_of(self.name)


def base_of(name: str) -> str:
    """A path's name without the ending that tells its side."""
    return name[:-2] if name.endswith(("_r", "_l")) else name


@cache
def paths_on(side: str) -> tuple[Path, ...]:
    """The paths on one side of the body, the same order on either side."""
    rows = table("paths")
    order = {base: place for place, base in enumerate(dict.fromkeys(base_of(row["path"]) for row in rows))}
    found = [Path(row["path"], *(row[k] for k in list(row)[1:])) for row in rows if row["side"] == side]
    return tuple(sorted(found, key=lambda path: order[path.base]))


@cache
def missing_muscles() -> dict[str, str]:
    """Muscles of the body that the model lacks, each with the reason."""
    return {row["muscle"]: row["why"] for row in table("missing")}


def find_muscles(names: Iterable[str], vocabulary: Vocabulary) -> frozenset[str]:
    """The bases of the paths that muscles, parts, groups, synonyms or the model's own names ask for.

    Raises PostureError for a muscle that the model lacks and for a name that is nobody's.
    """
    found: set[str] = set()
    for name in names:
        found |= _bases(name, vocabulary)
    return frozenset(found)


def _bases(name: str, vocabulary: Vocabulary) -> set[str]:
    wanted = fold(name.replace("_", " "))
    here = {path.base for path in paths_on("right") if wanted in _names(path)}
    if here:
        return here
    meant = {
        muscle
        for term in vocabulary.terms
        if term.kind in ("muscle", "group") and fold(term.text) == wanted
        for muscle in vocabulary.members(term.of)
    }
    here = {path.base for path in paths_on("right") if path.vocabulary in meant and path.vocabulary}
    if here:
        return here
    lacking = sorted(({wanted} | meant) & missing_muscles().keys())
    shown = f"“{name[:40]}”" if name.isprintable() else ascii(name[:40])
    if lacking:
        raise PostureError(
            f"The model has no {lacking[0]} ({missing_muscles()[lacking[0]]}): leave it out of “muscles”."
        )
    if meant:
        raise PostureError(f"The model lacks {shown}: leave it out of “muscles”.")
    known = sorted({path.muscle for path in paths_on("right")})
    near = difflib.get_close_matches(wanted[:60], known, n=1)
    mend = f"did you mean {near[0]}?" if near else "write names such as gluteus maximus."
    raise PostureError(f"Nobody knows a muscle {shown}: {mend}")


def _names(path: Path) -> set[str]:
    names = {path.muscle, path.vocabulary, path.base, path.name, f"{path.muscle} {path.part}"}
    if path.muscle.startswith("fibularis"):
        names |= {
            path.muscle.replace("fibularis", "peroneus"),
            path.muscle.replace("fibularis", "fibularis (peroneus)"),
        }
    return {fold(name.replace("_", " ")) for name in names if name}
