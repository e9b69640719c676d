"""A sentence said in full: "it" and "which" stand for the thing named before, an answer takes up its question.

"The spleen? It sits on the right." and "Which side is the spleen on? The right." say what "the spleen sits on the right"
says. Where a sentence holds a value (a side, a level, a number, a plane …) and no reader found a claim in it, the same
readers are given the sentence with its pronoun or its question filled in. The words filled in stand at the place of the
pronoun, or have no width at the start of the answer, so that a claim covers only what this sentence says.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from anatomy.claims.items import Item, Sentence

VALUES = frozenset({"DIR", "LEVEL", "NUM", "PLN", "AXS", "PLANEWORD", "CPT", "CHAINWORD", "CON", "CSHORT", "CLONG", "CSAME", "NRV", "NADJ", "LCOUNT"})  # fmt: skip
"""Classes of what the kinds other than muscle actions may say of a thing."""
THINGS = frozenset({"STR", "SPLACE", "SSUBJ", "NRV", "MVT", "EXERCISE", "MUS", "MOTN", "PART", "LEVEL", "LSIGN", "LAREA", "NSIGN", "PLN", "CON"})  # fmt: skip
VERBS = frozenset({"AUX", "SVERB", "LVERB", "PV", "MODAL", "DO", "NEG", "HAVE", "ADV", "COP", "HAPPEN"})
BEFORE = frozenset({"COMMA", "SUB", "AND", "BUT", "COLON", "DASH", "ADV", "QUOTE", "CORRECT"})
CONTRACTED = {
    "it's": "is",
    "that's": "is",
    "they're": "are",
    "it is": "is",
    "they are": "are",
    "which is": "is",
}
PRONOUNS = frozenset({"it", "they", "that one", "this one", "these", "those", "that", "this", "the latter"})
KINDS = {
    "organ": ("STR", "SPLACE", "SSUBJ"),
    "bone": ("STR",),
    "landmark": ("STR",),
    "nerve": ("NRV",),
    "muscle": ("MUS",),
    "movement": ("MVT", "MOTN", "EXERCISE"),
    "motion": ("MVT", "MOTN"),
    "exercise": ("EXERCISE", "MVT"),
    "root": ("LEVEL",),
}
"""Nouns that point back with "that …", and the classes of what they may mean."""
ASKING = ("which", "what", "where", "who", "how")
LONGEST_ANSWER = 10


def said_in_full(sentence: Sentence, before: Sequence[Item], asked: bool) -> Iterator[Sentence]:
    """The sentence with what it leaves out put in, likeliest first; nothing where it leaves nothing out."""
    if VALUES.isdisjoint(sentence.classes) and not asked:
        return
    items = sentence.items
    if asked and before:
        whole = _answered(items, before)
        if whole:
            yield Sentence(whole, False)
    for k, item in enumerate(items):
        length = _pointing(items, k)
        if not length:
            continue
        noun = items[k + length - 1].text
        for thing in _meant(items[:k], before, KINDS.get(noun), item.text == "which"):
            yield Sentence([*_standing(thing, items[k : k + length]), *items[k + length :]], False)
        return


def _pointing(items: Sequence[Item], k: int) -> int:
    """How many items from ``k`` point back as the subject of a clause; 0 where none do."""
    text = items[k].text
    if k and BEFORE.isdisjoint(items[k - 1].c) and items[k - 1].text not in ("that", "so"):
        return 0
    if text in CONTRACTED:
        return 1 if k + 1 < len(items) and items[k + 1].text not in ("where", "what", "why", "how") else 0
    if text in ("that", "this", "the") and k + 1 < len(items) and items[k + 1].text in KINDS:
        return 2 if _verb_at(items, k + 2) else 0
    if text in PRONOUNS or (text == "which" and k and items[k - 1].is_("COMMA")):
        return 1 if _verb_at(items, k + 1) else 0
    return 0


def _verb_at(items: Sequence[Item], k: int) -> bool:
    return k < len(items) and not VERBS.isdisjoint(items[k].c)


def _meant(
    here: Sequence[Item], before: Sequence[Item], classes: tuple[str, ...] | None, related: bool
) -> Iterator[list[Item]]:
    """The things that may be meant: the last one named here, else the first and the last of the sentence before."""
    wanted = frozenset(classes) if classes else THINGS
    last = _last_thing(here, wanted)
    if last is not None:
        yield last
        return
    if related:
        return
    first = next((k for k, item in enumerate(before) if not wanted.isdisjoint(item.c)), -1)
    if first < 0:
        return
    subject, last = _phrase(before, first), _last_thing(before, wanted) or []
    found = [subject, last] if last[-1] is not subject[-1] else [subject]
    # What hangs on a preposition or follows a verb is not what the sentence was about.
    governed = any(item.is_("PREP", "SEE", "PV", "WITH") for item in before[:first])
    yield from reversed(found) if governed else found


def _last_thing(items: Sequence[Item], wanted: frozenset[str]) -> list[Item] | None:
    place = next((k for k in range(len(items) - 1, -1, -1) if not wanted.isdisjoint(items[k].c)), -1)
    return _phrase(items, place) if place >= 0 else None


def _phrase(items: Sequence[Item], k: int) -> list[Item]:
    """The noun phrase around item ``k``: "knee flexion", "the tip of the heart"."""
    first, last = k, k + 1
    while first > 0 and k - first < 3 and not THINGS.isdisjoint(items[first - 1].c):
        first -= 1
    while (
        last < len(items)
        and last - k < 4
        and (
            not THINGS.isdisjoint(items[last].c)
            or items[last].is_("FAM")
            or (items[last].text == "of" and last + 1 < len(items))
        )
    ):
        last += 1
    return list(items[first:last])


def _standing(thing: Sequence[Item], pointer: Sequence[Item]) -> list[Item]:
    """The thing at the place of what points to it, with the verb that was drawn together with the pointer."""
    start, end = pointer[0].start, pointer[-1].end
    stands = [Item(item.text, start, end, item.c) for item in thing]
    verb = CONTRACTED.get(pointer[0].text)
    return [*stands, Item(verb, end, end, {"AUX": verb})] if verb else stands


# -- questions answered at once ------------------------------------------------------------------------------------------


def _answered(answer: Sequence[Item], question: Sequence[Item]) -> list[Item]:
    """A statement made of a question and its answer; empty where they do not make one."""
    answer = _stripped(answer)
    if not answer or len(answer) > LONGEST_ANSWER:
        return []
    start = answer[0].start
    asked = [Item(item.text, start, start, item.c) for item in question]
    wh = next((k for k, item in enumerate(asked) if item.text.split(" ")[0] in ASKING), -1)
    if wh < 0:
        return _agreed(answer, asked)
    if any(item.is_("AUX", "DO", "MODAL") for item in answer[:4]):
        return []
    verb = wh + 1
    while verb < len(asked) and verb - wh < 4 and not _auxiliary(asked[verb]):
        verb += 1
    if verb >= len(asked) or not _auxiliary(asked[verb]):
        many = 2 if asked[wh].text == "how" and wh + 1 < len(asked) and asked[wh + 1].text == "many" else 1
        return [*answer, *asked[wh + many :]]
    noun = [item for item in asked[wh + 1 : verb] if item.text not in ("many", "far", "much", "long")]
    noun = [] if noun and any(item.text == noun[-1].text for item in answer) else noun
    rest = asked[verb + 1 :]
    if rest and rest[0].text == "there":
        return [rest[0], asked[verb], *answer, *noun, *rest[1:]]
    if noun and not rest:
        return []
    if rest and rest[0].is_("PREP"):
        return [*answer, *noun, asked[verb], *rest]
    end = len(rest)
    while end and rest[end - 1].is_("PREP"):
        end -= 1
    linking = [] if asked[verb].is_("DO") else [asked[verb]]
    placed = rest[end:] if not answer[0].is_("PREP") else []
    return [*rest[:end], *linking, *placed, *answer, *noun]


def _auxiliary(item: Item) -> bool:
    return item.is_("AUX", "DO", "MODAL") or item.text in ("has", "have")


def _stripped(answer: Sequence[Item]) -> list[Item]:
    """An answer without "well, it's" before it."""
    k = 0
    while k < len(answer) and (
        answer[k].text in CONTRACTED
        or (answer[k].is_("COMMA", "ADV", "SUB") and not answer[k].is_("NEG", "DIR", "NUM"))
    ):
        k += 1
    return list(answer[k:])


YES = frozenset(
    {"yes", "yep", "sure", "yeah", "absolutely", "exactly", "indeed", "right", "of course", "certainly"}
)


def _agreed(answer: Sequence[Item], asked: Sequence[Item]) -> list[Item]:
    """ "Is the spleen on the right? Yes.", "The heart? Right side of the chest."."""
    place = next((k for k, item in enumerate(asked) if not THINGS.isdisjoint(item.c)), -1)
    if place < 0:
        return []
    start, end = answer[0].start, answer[-1].end
    if not any(item.is_("AUX", "DO", "MODAL", "SVERB", "LVERB") for item in asked):
        named = any(not THINGS.isdisjoint(item.c) and not item.is_("SNOUN", "PART") for item in answer)
        verbal = any(item.is_("AUX", "DO", "MODAL", "IT") for item in answer)
        if named or verbal or len(asked) > 6:
            return []
        return [*asked, Item("is", start, start, {"AUX": "is"}), *answer]
    if len(answer) > 4 or not _auxiliary(asked[0]) or asked[0].is_("MODAL") or answer[0].text not in YES:
        return []
    linking = [] if asked[0].is_("DO") else [asked[0]]
    agreed = [*asked[1 : place + 1], *linking, *asked[place + 1 :]]
    return [Item(item.text, start, end, item.c) for item in agreed]
