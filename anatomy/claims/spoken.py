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
    "rotation same side": "turn {} to the same side",
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
    "reposition": "bring the thumb back beside the hand",
    "inspiration": "draw the breath in",
    "forced expiration": "push the breath out",
    "intra-abdominal pressure rise": "raise the pressure in the abdomen",
    "capsule retraction": "draw the capsule of the knee out of the way",
    "lateral excursion": "move {} sideways",
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


def motion_verb(joint: str, motion: str, form: Form = "s", thing: str = "") -> str:
    """A motion as a verb phrase: "extends the knee"; ``thing`` is said in place of the joint ("it")."""
    verb, _, rest = VERBS.get(motion, "produce " + motion).partition(" ")
    said = next(text for text, name in verb_forms(verb) if name == form)
    return f"{said} {rest}".format(thing or joint_said(joint)).strip()


def motions_said(pairs: Sequence[tuple[str, str]], form: Form = "s", side: str = "", before: str = "") -> str:
    """Motions as one predicate: "extends and adducts the shoulder", "abducts the shoulder and rotates it externally".

    ``side`` is the muscle's own side and makes "the opposite side" the left or the right. A joint that the sentence
    named ``before`` is "it".
    """
    given = list(dict.fromkeys(pairs))
    joints = {joint_said(joint) for joint, _ in given}
    plain = [VERBS.get(motion, "").endswith(" {}") and VERBS[motion].count(" ") == 1 for _, motion in given]
    thing = (
        _pronoun(given[0][0]) if before and given and joint_said(given[0][0]) == joint_said(before) else ""
    )
    if len(given) > 1 and len(joints) == 1 and all(plain):
        verbs = [motion_verb(joint, motion, form, " ").strip() for joint, motion in given]
        return f"{joined(verbs)} {thing or joint_said(given[0][0])}"
    if len(given) > 1 and len({motion for _, motion in given}) == 1 and all(plain) and not thing:
        return motion_verb(given[0][0], given[0][1], form, joined(joint_said(joint) for joint, _ in given))
    said = []
    for k, (joint, motion) in enumerate(given):
        again = k and joint_said(joint) == joint_said(given[k - 1][0])
        said.append(motion_verb(joint, motion, form, _pronoun(joint) if again or (thing and not k) else ""))
    text = joined(said)
    if side:
        other = "left" if side == "right" else "right"
        text = text.replace("the opposite side", f"the {other}").replace("the same side", f"the {side}")
    return text


def _pronoun(joint: str) -> str:
    return "them" if joint_said(joint).endswith(("fingers", "toes", "ribs")) else "it"


COMPOUND = frozenset(["flexion", "extension", "abduction", "adduction", "dorsiflexion", "plantarflexion"])


def motion_noun(joint: str, motion: str) -> str:
    """A motion as a noun phrase: "knee extension", "external rotation of the shoulder"."""
    where = joint_said(joint)
    if motion in COMPOUND and where.count(" ") == 1:
        part = {"the fingers": "finger", "the toes": "toe"}.get(where, where.removeprefix("the "))
        return f"{part} {motion}"
    if motion.startswith("rotation "):
        return f"rotation of {where} to the {motion.removeprefix('rotation ')}"
    return motion if motion in AIRY else f"{motion} of {where}"


AIRY = frozenset(
    ["inspiration", "forced expiration", "intra-abdominal pressure rise", "capsule retraction", "opposition"]
)


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
