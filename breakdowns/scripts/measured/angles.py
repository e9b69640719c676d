"""What a clause says about angles: amounts and postures tied to a part of the body. Imports no Django.

A tie is a chain of words that are all known to tie; an unknown word in between breaks it, and nothing is said.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from breakdowns.scripts.measured.amounts import Unit
from breakdowns.scripts.measured.lexicon import StateRow, states
from breakdowns.scripts.measured.mentions import Mention, only
from breakdowns.scripts.measured.said import Amount, AngleSaid, Reading, Scale

__all__ = ["angles_said"]

_TIES = (
    "FILL",
    "BE",
    "PREP",
    "DET",
    "BENT",
    "RAISED",
    "LEAN",
    "REACH",
    "HEDGE",
    "FLEXVERB",
    "FLEXONLY",
    "INSTANT",
)
_MARKS = ", : ( – — -"
_BENT = ("BENT", "FLEXVERB", "FLEXONLY")
_JOINTS = {"knee": "knee_flexion", "elbow": "elbow_flexion", "hip": "hip_flexion"}
_LIMBS = {"thigh": "thigh", "shank": "shank", "forearm": "forearm", "upper_arm": "upper_arm"}
_GROUPS = {
    "knee": "joint", "elbow": "joint", "arm": "joint", "leg": "joint", "shoulders": "line", "hips": "line",
    "trunk": "trunk", "thigh": "limb", "shank": "limb", "forearm": "limb", "upper_arm": "limb",
}  # fmt: skip
_STATE_MENDS = {
    "joint": "bent by {about}", "line": "tilted by {about}", "trunk": "leaning by {about}",
    "limb": "at {about} to the vertical", "separation": "{about} apart", "alone": "{about} of separation",
}  # fmt: skip


def angles_said(units: Sequence[Unit], mentions: Sequence[Mention]) -> Iterator[AngleSaid]:
    """Every angle that the clause tells, in order."""
    for at, unit in enumerate(units):
        if unit.amount is not None:
            yield from _of_amount(units, mentions, at, unit.amount)
        elif unit.is_("STATE"):
            yield from _of_state(units, mentions, at)


# --- amounts ---------------------------------------------------------------------------------------


def _of_amount(
    units: Sequence[Unit], mentions: Sequence[Mention], at: int, amount: Amount
) -> Iterator[AngleSaid]:
    if amount.quantity not in ("deg", "plain") or _is_of_something_else(units, at, amount):
        return
    mention = _tied_right(units, mentions, at) or _tied_left(units, mentions, at, amount)
    if mention is None or mention.foreign or not mention.part:
        return
    part = "separation" if _is_separation(units, mentions, mention) else mention.part
    first, limit = min(mention.first, at), max(mention.limit, at + 4)
    readings = _readings(part, units[first:limit], at - first)
    if readings:
        yield AngleSaid(
            amount.start, amount.end, part, mention.side, readings, amount.low, amount.high, amount,
            both=mention.both, role=mention.role,
        )  # fmt: skip


def _is_of_something_else(units: Sequence[Unit], at: int, amount: Amount) -> bool:
    """ "another ninety degrees", "ninety kilos", "ninety degrees to the goal", "ninety degrees more"."""
    before = units[at - 1] if at else None
    after = units[at + 1 : at + 4]
    if before is not None and (
        before.is_("CHANGE") or (before.amount is None and before.item.text in ("frame", "through"))
    ):
        return True
    if not after:
        return False
    follows = after[0]
    if follows.amount is not None or follows.is_("CHANGE", "DIFFERENCE", "PERS", "FRAMES", "TIMES"):
        return True
    unknown = not follows.item.kinds
    if unknown and follows.item.text not in ("as", "when", "that"):
        return amount.quantity == "plain" or not follows.is_("MARK")
    if follows.item.text == "to":
        rest = [unit for unit in after[1:] if not unit.is_("DET")]
        return not rest or not rest[0].is_("REF", "PART")
    return False


def _tied_right(units: Sequence[Unit], mentions: Sequence[Mention], at: int) -> Mention | None:
    """ "ninety degrees at the right elbow", "sixty degrees of separation", "a 90-degree bend of the left knee"."""
    for mention in mentions:
        if mention.first <= at:
            continue
        between = units[at + 1 : mention.first]
        good = only(units, at + 1, mention.first, ("PREP", "DET", *_BENT, "FILL"), "between")
        starts = bool(between) and between[0].is_("PREP", "BENT", "FLEXONLY", "FLEXVERB", "APART")
        starts = starts and between[0].item.text != "to"
        return mention if good and starts and not _blocked(units, at + 1, mention.first) else None
    return None


def _tied_left(units: Sequence[Unit], mentions: Sequence[Mention], at: int, amount: Amount) -> Mention | None:
    before = [one for one in mentions if one.limit <= at]
    if not before:
        return None
    mention = before[-1]
    if not only(units, mention.limit, at, _TIES, _MARKS) or _blocked(units, mention.limit, at):
        return None
    if amount.quantity == "plain" and units[at - 1].is_("DET"):
        return None
    return mention


def _blocked(units: Sequence[Unit], first: int, limit: int) -> bool:
    """A change of an angle is no angle; "by" after a bend is."""
    return any(
        unit.is_("CHANGE") and not unit.is_("BENT", "RAISED", "LEAN", "REACH") for unit in units[first:limit]
    )


def _is_separation(units: Sequence[Unit], mentions: Sequence[Mention], mention: Mention) -> bool:
    parts = {one.part for one in mentions}
    apart = any(unit.is_("APART") for unit in units)
    return mention.part in ("hips", "shoulders") and (
        "separation" in parts or (apart and {"hips", "shoulders"} <= parts)
    )


def _readings(part: str, near: Sequence[Unit], at: int) -> tuple[Reading, ...]:
    """What the amount may count, from the words around it."""
    bent = any(unit.is_(*_BENT) for unit in near)
    by = at > 0 and near[at - 1].amount is None and near[at - 1].item.text == "by"
    only_bend = any(unit.is_("FLEXONLY", "FLEXVERB") for unit in near) or (
        bent and (by or _is_measure_of_bend(near))
    )
    refs = {unit.item.kinds["REF"] for unit in near if unit.is_("REF")}
    if part in _JOINTS:
        sizes: tuple[Scale, ...] = ("size",) if only_bend else ("size", "supplement")
        return tuple(Reading(f"{{side}}_{_JOINTS[part]}", scale) for scale in sizes)
    if part in ("shoulders", "hips") and (refs or any(unit.is_("LEAN") for unit in near)):
        return (Reading(f"{part.removesuffix('s')}_line_inclination", "line"),)
    if part == "separation":
        return (Reading("hip_shoulder_separation", "size"),)
    if part == "trunk":
        return tuple(Reading("trunk_lean", scale) for scale in _upright(refs))
    if part in ("shoulder", "arm") and any(unit.is_("RAISED") for unit in near):
        return Reading("{side}_shoulder_elevation", "size"), Reading("{side}_upper_arm_inclination", "size")
    if part == "upper_arm":
        more = tuple(
            Reading("{side}_upper_arm_inclination", scale) for scale in ("size", "complement", "supplement")
        )
        return (
            Reading("{side}_shoulder_elevation", "size"),
            Reading("{side}_shoulder_elevation", "complement"),
            *more,
        )
    if part in _LIMBS:
        return tuple(Reading(f"{{side}}_{part}_inclination", scale) for scale in _upright(refs))
    return ()


def _is_measure_of_bend(near: Sequence[Unit]) -> bool:
    return any(unit.is_("BENT") and unit.item.text in ("flexion", "bend") for unit in near)


def _upright(refs: set[str]) -> tuple[Scale, ...]:
    if refs == {"vertical"}:
        return ("size",)
    return ("complement",) if refs == {"horizontal"} else ("size", "complement")


# --- postures --------------------------------------------------------------------------------------


def _of_state(units: Sequence[Unit], mentions: Sequence[Mention], at: int) -> Iterator[AngleSaid]:
    item = units[at].item
    rows = states()[tuple(item.kinds["STATE"].split(" "))]
    if (alone := _row(rows, "alone")) is not None:
        yield _state(
            units[at], "separation", Mention(at, at + 1, at, "separation"), alone, _STATE_MENDS["alone"]
        )
        return
    mention, before = _state_of(units, mentions, at)
    if mention is None or mention.foreign or not mention.part:
        return
    parts = {one.part for one in mentions}
    both = {"hips", "shoulders"} <= parts
    if both and mention.part in ("hips", "shoulders") and (row := _row(rows, "separation")) is not None:
        yield _state(units[at], "separation", mention, row, _STATE_MENDS["separation"])
        return
    if mention.part in ("arm", "elbow", "upper_arm") and (row := _row(rows, "height")) is not None:
        yield _state(units[at], mention.part, mention, row, "")
        return
    group = _GROUPS.get(mention.part, "")
    if (row := _row(rows, group)) is not None and not (group == "line" and both):
        yield _state(units[at], mention.part, mention, row, "" if before else _STATE_MENDS[group])


def _row(rows: Sequence[StateRow], group: str) -> StateRow | None:
    return next((row for row in rows if row.group == group), None)


def _state(unit: Unit, part: str, mention: Mention, row: StateRow, instead: str) -> AngleSaid:
    side = mention.side
    return AngleSaid(
        unit.start, unit.end, part, side, _state_readings(part, row), row.low, row.high, None, instead,
        mention.both, mention.role,
    )  # fmt: skip


def _state_readings(part: str, row: StateRow) -> tuple[Reading, ...]:
    if row.group in ("separation", "alone"):
        return (Reading("hip_shoulder_separation", "size"),)
    if row.group == "joint":
        joint = {"arm": "elbow", "leg": "knee"}.get(part, part)
        return (Reading(f"{{side}}_{joint}_flexion", "size"),)
    if row.group == "line":
        return (Reading(f"{part.removesuffix('s')}_line_inclination", "line"),)
    if row.group == "trunk":
        return (Reading("trunk_lean", "size"),)
    if row.group == "height":
        return (
            Reading("{side}_upper_arm_inclination", "size"),
            Reading("{side}_shoulder_elevation", "size"),
        )
    return tuple(Reading(f"{{side}}_{part}_inclination", scale) for scale in ("size", "supplement"))


def _state_of(units: Sequence[Unit], mentions: Sequence[Mention], at: int) -> tuple[Mention | None, bool]:
    """Whose posture it is, and whether the word stands before it ("the straight left knee")."""
    right = next((one for one in mentions if one.first == at + 1), None)
    if right is not None and not any(unit.is_("DET") for unit in units[at + 1 : right.at]):
        return right, True
    left = [one for one in mentions if one.limit <= at]
    if not left or not _ends_well(units, at):
        return None, False
    mention = left[-1]
    ties = only(units, mention.limit, at, ("FILL", "BE", "HEDGE", "INSTANT"), ", :")
    is_said = any(unit.is_("BE") or unit.item.text == ":" for unit in units[mention.limit : at])
    return (mention, False) if ties and is_said else (None, False)


def _ends_well(units: Sequence[Unit], at: int) -> bool:
    """ "straight" as a posture is not "straight at the keeper"."""
    if at + 1 >= len(units):
        return True
    follows = units[at + 1]
    if follows.amount is not None:
        return False
    return follows.is_("FILL", "INSTANT", "AND", "BUT") or follows.item.text in (
        ",",
        ":",
        "–",
        "—",
        ")",
        "as",
        "when",
        "and",
    )
