"""How the checker says things: joints, motions and muscles in the words of a clinician."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from anatomy.claims.inflection import Form, verb_forms

JOINT_WORDS = {
    "glenohumeral": "shoulder",
    "shoulder complex": "shoulder",
    "scapulothoracic": "shoulder blade",
    "sternoclavicular": "collarbone",
    "radioulnar": "forearm",
    "talocrural": "ankle",
    "subtalar": "foot",
    "atlanto-occipital": "head",
    "atlantoaxial": "head",
    "cervical spine": "neck",
    "thoracic spine": "upper back",
    "lumbar spine": "lower back",
    "thoracolumbar spine": "trunk",
    "costovertebral": "ribs",
    "temporomandibular": "jaw",
    "first metatarsophalangeal": "big toe",
    "interphalangeal (hallux)": "big toe",
}
VERBS = {
    "flexion": "flex {}",
    "extension": "extend {}",
    "abduction": "abduct {}",
    "adduction": "adduct {}",
    "internal rotation": "rotate {} internally",
    "external rotation": "rotate {} externally",
    "horizontal adduction": "bring the arm across the body",
    "horizontal abduction": "take the raised arm backwards",
    "lateral flexion": "bend {} sideways",
    "rotation same side": "turn {} to its own side",
    "rotation opposite side": "turn {} to the opposite side",
    "upward rotation": "rotate {} upwards",
    "downward rotation": "rotate {} downwards",
    "elevation": "raise {}",
    "depression": "lower {}",
    "protraction": "protract {}",
    "retraction": "retract {}",
    "anterior tilt": "tilt {} forwards",
    "posterior tilt": "tilt {} backwards",
    "pronation": "pronate {}",
    "supination": "supinate {}",
    "radial deviation": "bend {} to the thumb side",
    "ulnar deviation": "bend {} to the little-finger side",
    "dorsiflexion": "dorsiflex {}",
    "plantarflexion": "plantarflex {}",
    "inversion": "invert {}",
    "eversion": "evert {}",
    "opposition": "bring the thumb against the fingers",
    "lateral pelvic tilt": "keep the pelvis level",
}


def joint_said(joint: str) -> str:
    """A joint as a clinician names it: "the shoulder blade"."""
    if joint in JOINT_WORDS:
        return "the " + JOINT_WORDS[joint]
    if "thumb" in joint:
        return "the thumb"
    if "finger" in joint:
        return "the fingers"
    if "toe" in joint or joint == "metatarsophalangeal":
        return "the toes"
    return f"the {joint}"


def motion_verb(joint: str, motion: str, form: Form = "s") -> str:
    """A motion as a verb phrase: "extends the knee"."""
    phrase = VERBS.get(motion)
    if phrase is None:
        phrase = "produce " + motion
    verb, _, rest = phrase.partition(" ")
    said = next(text for text, name in verb_forms(verb) if name == form)
    return f"{said} {rest}".format(joint_said(joint)).strip()


def motion_noun(joint: str, motion: str) -> str:
    """A motion as a noun phrase: "extension of the knee"."""
    plain = {
        "rotation same side": "rotation to its own side",
        "rotation opposite side": "rotation to the opposite side",
    }
    return f"{plain.get(motion, motion)} of {joint_said(joint)}"


def joined(parts: Iterable[str], word: str = "and") -> str:
    """ "a, b and c"."""
    given: Sequence[str] = list(parts)
    if len(given) < 2:
        return "".join(given)
    return f"{', '.join(given[:-1])} {word} {given[-1]}"


def sentence(text: str) -> str:
    """With a capital and a full stop."""
    text = text.strip()
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "!", "?")) else ".")
