"""What the browser lists: results of a search by kind, or everything of a kind, a region, a joint."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from anatomy.lookup.index import KINDS, Hit, index_of
from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.naming import fold, split_motion

from .pages import title_of

__all__ = ["KIND_LABELS", "Found", "Group", "browse", "counts", "find", "regions"]

KIND_LABELS = {
    "muscle": "Muscles", "group": "Groups of muscles", "motion": "Motions", "joint": "Joints", "nerve": "Nerves",
    "structure": "Structures", "contraction": "Contractions", "plane": "Planes", "segment": "Body segments",
    "chain": "Orders of movement", "concept": "Terms of the trade",
}  # fmt: skip
MOST_OF_A_KIND = 12


@dataclass(frozen=True, slots=True)
class Found:
    """An entry in a list. ``because`` says why a search found it where the name does not show it."""

    kind: str
    name: str
    title: str
    gloss: str
    because: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    """Entries of one kind; ``more`` are left out."""

    kind: str
    label: str
    found: tuple[Found, ...]
    more: int = 0


def _found(vocabulary: Vocabulary, kind: str, name: str, because: str = "") -> Found:
    record = vocabulary.entry(kind, name)
    return Found(kind, name, title_of(kind, name), getattr(record, "gloss", ""), because)


def _because(hit: Hit) -> str:
    if hit.through == "action":
        return f"produces {hit.said}"
    shown = (fold(hit.name), fold(title_of(hit.kind, hit.name)))
    return f"also “{hit.said}”" if hit.through == "name" and fold(hit.said) not in shown else ""


def find(
    vocabulary: Vocabulary, question: str, *, kind: str = "", region: str = "", joint: str = ""
) -> list[Group]:
    """What a question may mean, by kind; the kind with the best hit first."""
    hits = index_of(vocabulary).search(question, kinds=(kind,) if kind in KINDS else KINDS)
    hits = [hit for hit in hits if _is_at(vocabulary, hit.kind, hit.name, region, joint)]
    groups = []
    for one in dict.fromkeys(hit.kind for hit in hits):
        of_kind = [hit for hit in hits if hit.kind == one]
        shown = of_kind if kind else of_kind[:MOST_OF_A_KIND]
        found = tuple(_found(vocabulary, hit.kind, hit.name, _because(hit)) for hit in shown)
        groups.append(Group(one, KIND_LABELS[one], found, len(of_kind) - len(found)))
    return groups


def browse(vocabulary: Vocabulary, *, kind: str = "", region: str = "", joint: str = "") -> list[Group]:
    """Every entry of a kind, or what belongs to a region or a joint, by name."""
    groups = []
    for one in (kind,) if kind in KINDS else KINDS:
        names = sorted(_names(vocabulary, one), key=fold)
        found = [name for name in names if _is_at(vocabulary, one, name, region, joint)]
        if found:
            entries = tuple(_found(vocabulary, one, name) for name in found)
            groups.append(Group(one, KIND_LABELS[one], entries))
    return groups


def _names(vocabulary: Vocabulary, kind: str) -> Iterable[str]:
    return (name for name in dict.fromkeys(vocabulary.names(kind)) if kind != "motion" or ":" in name)


def _is_at(vocabulary: Vocabulary, kind: str, name: str, region: str, joint: str) -> bool:
    if not region and not joint:
        return True
    here = _places(vocabulary).get((kind, name), _NOWHERE)
    return (not region or region in here[0]) and (not joint or joint in here[1])


Place = tuple[frozenset[str], frozenset[str]]
_NOWHERE: Place = (frozenset(), frozenset())


@lru_cache(maxsize=2)
def _places(vocabulary: Vocabulary) -> dict[tuple[str, str], Place]:
    """(regions, joints) that each muscle, group, joint and motion belongs to."""
    found: dict[tuple[str, str], Place] = {}
    for name, joint in vocabulary.joints.items():
        found["joint", name] = (
            frozenset({joint.region}),
            frozenset({*vocabulary.parts_of(name), joint.within}),
        )
    for name in vocabulary.motions:
        joint_name = split_motion(name)[0]
        regions_here = found.get(("joint", joint_name), _NOWHERE)[0]
        found["motion", name] = (regions_here, frozenset({joint_name}))
    for kind, names in (("muscle", vocabulary.muscles), ("group", vocabulary.groups)):
        for name in names:
            members = [one for one in vocabulary.members(name) if one in vocabulary.muscles]
            actions = (one for member in members for one in vocabulary.actions_of(member))
            of_members = frozenset(vocabulary.muscles[one].region for one in members)
            found[kind, name] = (of_members, frozenset(one.joint for one in actions))
    return found


def regions(vocabulary: Vocabulary) -> list[str]:
    of_muscles = {one.region for one in vocabulary.muscles.values()}
    return sorted((of_muscles | {one.region for one in vocabulary.joints.values()}) - {""})


def counts(vocabulary: Vocabulary) -> list[tuple[str, str, int]]:
    """(kind, label, number of entries) for each kind that has any."""
    found = [(kind, KIND_LABELS[kind], len(list(_names(vocabulary, kind)))) for kind in KINDS]
    return [one for one in found if one[2]]
