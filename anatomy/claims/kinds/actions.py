"""Claims that a muscle makes a motion: read, judged, and the words to say instead."""

from __future__ import annotations

from anatomy.claims.in_posture import in_posture
from anatomy.claims.kinds.action_ellipsis import with_answers, with_ellipses, with_pairs, with_pronouns
from anatomy.claims.kinds.action_findings import replacement_for
from anatomy.claims.kinds.action_judging import judge_action
from anatomy.claims.kinds.action_statement import ActionReading, action_of, links_of
from anatomy.claims.reading import Reading


def read_actions(reading: Reading) -> list[ActionReading]:
    """Every muscle-action statement of a sentence."""
    moving = reading.has("PV", "FAM", "MOTN", "AGT", "MOVE", "ATWORK", "DOTHAT", "PAGT", "CROSS") and (
        reading.has("MUS", "FAM", "SPEC") or reading.memory.topic is not None
    )
    moving = moving or (reading.has("PART") and reading.has("DIR") and reading.has("MUS"))
    answering = reading.memory.asked or reading.has("OPPOSITE", "SAME")
    if not moving and not ((reading.memory.motion or answering) and reading.has("MUS")):
        return []
    if not reading.expressions and not (reading.has("MUS") and (reading.memory.motion or answering)):
        return []
    found: list[ActionReading] = []
    for expression in reading.expressions:
        for link in links_of(reading, expression):
            made = action_of(reading, expression, link)
            if made is not None:
                found.append(made)
    found += with_ellipses(reading, found)
    found += with_pronouns(reading, found) or with_answers(reading, found)
    return with_pairs(reading, found)


def claim_actions(reading: Reading) -> None:
    """Adds the sentence's muscle-action claims to the reading."""
    supposed = bool(reading.items) and reading.items[0].text == "if"
    for action in read_actions(reading):
        if supposed and action.expression.form == "ed" and not action.expression.passive:
            continue
        finding = in_posture(reading, action, judge_action(reading, action))
        mend = None if finding.estimate else replacement_for(reading, action, finding)
        reading.add("muscle_action", action.i, action.j, finding, mend)
        reading.memory.topic = action.subject
        reading.memory.last = action
