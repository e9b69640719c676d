"""Every word and phrase that the reader knows, in one look-up: the vocabulary's terms and the plain words of speech.

A phrase is found by its longest match from left to right. A word may belong to several classes at once ("back" is a
direction and a part of the body); the grammar chooses. Misspellings are mended only where a long word of the
vocabulary lies one slip away (two for words of ten letters and more) and the word itself is unknown.
"""

from __future__ import annotations

import csv
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import cached_property
from importlib import resources
from itertools import product
from typing import Any

from anatomy.claims.inflection import plural, singular_forms, verb_forms
from anatomy.claims.sounding import sound_of
from anatomy.claims.spelling import Speller, distance
from anatomy.claims.tokens import Token, tokens_of
from anatomy.vocabulary.collection import Vocabulary

AFTER_VERBS = ("off", "up", "in", "out", "down")
VERB_CLASSES = frozenset(
    {"PROD", "OPP", "STRETCH", "HELP", "CONTRACT", "SUPPLY", "LEAD", "FOLLOW", "CROSS", "TRAIN"}
)
"""Classes whose words are verbs: every form of each is known, with its name."""
Classes = dict[str, Any]
Pair = tuple[str, str]


def rows(name: str) -> list[dict[str, str]]:
    """The rows of one of this package's data files."""
    text = (resources.files("anatomy.claims") / "data" / f"{name}.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


def _with_smaller(parts: list[str]) -> list[str]:
    """What is said of the fingers may be said of their joints."""
    smaller = ["knuckle", "fingertip", "middle finger joint", "little finger"] if "finger" in parts else []
    return list(dict.fromkeys([*parts, *smaller]))


def _of_anyone(text: str) -> Iterator[str]:
    """A phrase that speaks of "you", said of others as well."""
    yield text
    words = text.split()
    if "your" in words:
        for other in ("his", "her", "their", "my", "our", "the"):
            yield " ".join(other if word == "your" else word for word in words)
    elif "you" in words:
        for other in ("him", "her", "them", "me", "us"):
            yield " ".join(other if word == "you" else word for word in words)


def word_files() -> list[str]:
    """The names of the data files that hold words of speech by class."""
    folder = resources.files("anatomy.claims") / "data"
    return sorted(
        file.name[:-4]
        for file in folder.iterdir()
        if file.name.startswith("words") and file.name.endswith(".csv")
    )


def listed(cell: str) -> list[str]:
    """The entries of a cell, separated by semicolons; an empty cell holds none."""
    return [part.strip() for part in cell.split(";") if part.strip()]


SPECIES: dict[str, tuple[str, ...]] = {
    "maximus": ("max",),
    "medius": ("med",),
    "minimus": ("min",),
    "magnus": ("mag",),
    "longus": (),
    "brevis": (),
    "radialis": (),
    "ulnaris": (),
    "lateralis": (),
    "medialis": (),
    "intermedius": (),
    "profundus": (),
    "superficialis": (),
    "major": (),
    "minor": (),
}
"""Last words of muscles' names that stand for the whole name once its first words were said, with short forms."""
REGION_HEADS = ("muscle", "muscles", "the muscle", "the muscles", "big muscles", "long muscles", "deep muscles", "small muscles", "muscle group", "ones")  # fmt: skip
WHOSE = ("the", "your", "his", "her", "their", "my")
FEWEST_SOUNDS = 3
SHORTEST_PIECE = 3
SLIPS_WHEN_TORN = 3
VOWELS = "aeiouyhw"
"""Letters that count only at the start of a sound key, and so not in the middle of a torn name."""
WORDS_KEPT = 20_000
"""Words whose meaning is remembered, so that no text can fill the memory."""
WORDS_BY_THEMSELVES = frozenset(
    {"us", "or", "all", "and", "for", "her", "his", "him", "our", "out", "the", "you"}
)
AGENT_VERBS = [
    "bend",
    "straighten",
    "lift",
    "raise",
    "turn",
    "roll",
    "twist",
    "open",
    "close",
    "spread",
    "squeeze",
    "hike",
    "shrug",
    "curl",
    "lower",
    "pull",
    "push",
]


@dataclass(frozen=True)
class Phrase:
    words: tuple[str, ...]
    classes: Classes


@dataclass(frozen=True, slots=True)
class Alone:
    """What a word means by itself, and the words that may follow it in a longer phrase."""

    classes: Classes
    seconds: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Starts:
    """The phrases that begin with one word, found by their second: few are left to compare however many there are."""

    single: Phrase | None
    by_second: dict[str, list[tuple[int, Phrase]]]

    @classmethod
    def of(cls, phrases: list[Phrase]) -> Starts:
        """From the phrases in the order in which they are preferred, longest first."""
        by_second: dict[str, list[tuple[int, Phrase]]] = defaultdict(list)
        for rank, phrase in enumerate(phrases):
            if len(phrase.words) > 1:
                by_second[phrase.words[1]].append((rank, phrase))
        return cls(next((phrase for phrase in phrases if len(phrase.words) == 1), None), dict(by_second))

    def longest(self, tokens: list[Token], place: int, limit: int) -> Phrase | None:
        """The longest of them that stands at a token; the last word of a phrase may be a plural."""
        best: tuple[int, Phrase] | None = None
        for form in singular_forms(tokens[place + 1].text) if self.by_second and place + 1 < limit else ():
            for rank, phrase in self.by_second.get(form, ()):
                if best is not None and rank > best[0]:
                    break
                if _follows(phrase.words, tokens, place, limit):
                    best = rank, phrase
                    break
        return best[1] if best is not None else self.single


@dataclass
class Lexicon:
    """The compiled look-up for one vocabulary. Building takes a fraction of a second; keep it."""

    vocabulary: Vocabulary
    by_first: dict[str, list[Phrase]] = field(default_factory=dict)
    plain: dict[tuple[str, str, str], tuple[Pair, ...]] = field(default_factory=dict)
    plain_parts: dict[str, set[str]] = field(default_factory=dict)
    plain_directions: dict[Pair, set[str]] = field(default_factory=dict)
    part_joints: dict[str, tuple[str, ...]] = field(default_factory=dict)
    families: dict[tuple[str, str], str] = field(default_factory=dict)
    movers: dict[str, tuple[str, ...]] = field(default_factory=dict)
    over_first: dict[str, list[Phrase]] = field(default_factory=dict)
    alone: dict[str, Alone | None] = field(default_factory=dict)
    slips: dict[str, str | None] = field(default_factory=dict)

    @classmethod
    def of(cls, vocabulary: Vocabulary) -> Lexicon:
        """The lexicon of a vocabulary's terms together with the words of speech."""
        self = cls(vocabulary)
        adding: dict[tuple[str, ...], Classes] = defaultdict(dict)
        for text, kind, value in (*self._everything(), *self._nicknames()):
            words = tuple(token.text for token in tokens_of(text))
            if not words:
                continue
            held = adding[words]
            if kind in ("FAM", "PV"):
                held.setdefault(kind, [])
                if value not in held[kind]:
                    held[kind].append(value)
            elif kind == "MUS" and held.get("MUS", value) != value:
                held["ALT"] = (*held.get("ALT", ()), value)
            elif kind in VERB_CLASSES:
                held.setdefault(kind, value)
            else:
                held.setdefault(kind, value)
        for word in self.species:
            adding[(word,)].setdefault("SPEC", word)
        agents = [(words, held) for words, held in adding.items() if "MUS" in held]
        for words, held in adding.items():
            if len(words) > 1 and held.keys() <= {"SEG", "STR"}:
                last = next((adding[(form,)] for form in singular_forms(words[-1]) if (form,) in adding), {})
                if "PART" in last:
                    held["PART"] = last["PART"]
        by_first: dict[str, list[Phrase]] = defaultdict(list)
        over_first: dict[str, list[Phrase]] = defaultdict(list)
        for words, held in adding.items():
            if self._holds_motion(words, held, adding):
                over_first[words[0]].append(Phrase(words, held))
            else:
                by_first[words[0]].append(Phrase(words, held))
        self.over_first = dict(over_first)
        for phrases in by_first.values():
            phrases.sort(key=lambda phrase: -len(phrase.words))
        self.by_first = dict(by_first)
        self._read_agents(agents)
        for row in rows("word_slips"):
            self.slips.update((said, row["word"]) for said in listed(row["said"]))
        return self

    @cached_property
    def species(self) -> dict[str, dict[str, str]]:
        """The last words of names that several muscles share but for it: "medius" → {"gluteus": "gluteus medius"}."""
        shared: dict[str, list[str]] = defaultdict(list)
        for name in self.vocabulary.muscles:
            stem, _, last = name.partition(" (")[0].rpartition(" ")
            if stem and last in SPECIES:
                shared[stem].append(name)
        found: dict[str, dict[str, str]] = defaultdict(dict)
        for stem, names in shared.items():
            for name in names if len(names) > 1 else ():
                last = name.partition(" (")[0].rpartition(" ")[2]
                for word in (last, *SPECIES[last]):
                    found[word].setdefault(stem, name)
        return dict(found)

    @cached_property
    def _muscle_words(self) -> list[str]:
        """The long words of muscles' names."""
        names = {
            word
            for phrases in self.by_first.values()
            for p in phrases
            if "MUS" in p.classes
            for word in p.words
        }
        return sorted(name for name in names if len(name) > 5 and name.isalpha())

    @cached_property
    def _sounding(self) -> dict[str, tuple[str, ...]]:
        """Words of muscles' names by how they sound."""
        found: dict[str, list[str]] = defaultdict(list)
        for word in self._muscle_words:
            found[sound_of(word)].append(word)
        return {sound: tuple(words) for sound, words in found.items() if len(sound) >= FEWEST_SOUNDS}

    @cached_property
    def _endings(self) -> frozenset[str]:
        """How the names of muscles may end, by their sounds."""
        return frozenset(sound[at:] for sound in self._sounding for at in range(len(sound) + 1))

    @cached_property
    def never_torn(self) -> set[str]:
        """Words that were asked for and end no muscle's name."""
        return set()

    @cached_property
    def words_alone(self) -> frozenset[str]:
        """Words that mean something without the word before them."""
        return frozenset(self.by_first) | self.common

    def torn(self, first: str, second: str) -> str | None:
        """The name of a muscle that dictation has torn and misspelt: "glue tius"; its second piece is no word."""
        said = first + second
        if second in self.words_alone or len(second) < SHORTEST_PIECE or not said.isalpha():
            return None
        if sound_of(second).lstrip(VOWELS) not in self._endings:
            if len(self.never_torn) < WORDS_KEPT and len(second) <= 40:
                self.never_torn.add(second)
            return None
        near = [
            (distance(said, whole, SLIPS_WHEN_TORN), whole)
            for whole in self._sounding.get(sound_of(said), ())
            if whole[0] == said[0]
        ]
        steps, whole = min(near, default=(SLIPS_WHEN_TORN + 1, ""))
        return whole if steps <= SLIPS_WHEN_TORN else None

    @cached_property
    def splits(self) -> dict[str, dict[str, str]]:
        """Names of muscles that dictation tears in two, by their second piece and then their first."""
        found: dict[str, dict[str, str]] = defaultdict(dict)
        for word in self._muscle_words:
            for place in range(2, len(word) - 1):
                first, second = word[:place], word[place:]
                whole = "PART" in self._single(first) or first in self.common
                if (len(second) > 2 or second == "us") and not (whole and second in WORDS_BY_THEMSELVES):
                    found[second].setdefault(first, word)
        return dict(found)

    @cached_property
    def speller(self) -> Speller:
        """The words of the vocabulary that a misspelling may stand for."""
        wanted: set[str] = set()
        for phrases in self.by_first.values():
            for phrase in phrases:
                if phrase.classes.keys() & {"MUS", "NRV", "FAM"}:
                    wanted.update(word for word in phrase.words if len(word) > 5)
        known = {word for phrases in self.by_first.values() for phrase in phrases for word in phrase.words}
        return Speller(wanted, known | self.common)

    @cached_property
    def common(self) -> frozenset[str]:
        """Ordinary words that resemble a term and are never taken for its misspelling."""
        return frozenset(row["word"] for row in rows("ordinary_words"))

    def joints_of(self, part: str) -> tuple[str, ...]:
        """The joints that a part of the body moves at, "joint:NAME" being that joint itself."""
        if part.startswith("joint:"):
            return (part[6:],)
        return self.part_joints.get(part, ())

    def pairs(self, joints: Iterable[str], motions: Iterable[str]) -> tuple[Pair, ...]:
        """Those (joint, motion) pairs that the vocabulary has."""
        held = self.vocabulary.motions
        return tuple(dict.fromkeys((j, m) for j in joints for m in motions if f"{j}: {m}" in held))

    def all_pairs(self, motion: str) -> tuple[Pair, ...]:
        """Every joint that has this motion."""
        return tuple((entry.joint, entry.name) for entry in self.vocabulary.motions_named(motion))

    def _everything(self) -> Iterator[tuple[str, str, Any]]:
        yield from self._parts()
        yield from self._motion_words()
        yield from self._terms()
        yield from self._words()
        for verb in AGENT_VERBS:
            agent = verb[:-1] + "er" if verb.endswith("e") else verb + "er"
            yield agent, "PAGT", verb
            yield agent + "s", "PAGT", verb
        for family in ("flex", "extend", "abduct", "adduct", "rotate", "elevate"):
            agent = family[:-1] + "er" if family.endswith("e") else family + "er"
            yield agent, "FAM", (family, "agent")
            yield agent + "s", "FAM", (family, "agent")
        for row in rows("directions"):
            for text in listed(row["words"]):
                for said in _of_anyone(text):
                    yield said, "DIR", row["direction"]

    def _parts(self) -> Iterator[tuple[str, str, Any]]:
        sets = {
            "@finger": [j for j in self.vocabulary.joints if "finger" in j and "thumb" not in j],
            "@knuckle": [
                j for j in self.vocabulary.joints if j.startswith("metacarpophalangeal") and "thumb" not in j
            ],
            "@dip": [
                j
                for j in self.vocabulary.joints
                if "interphalangeal" in j and "finger" in j and not j.startswith("proximal")
            ],
            "@ip": [j for j in self.vocabulary.joints if "interphalangeal" in j and "finger" in j],
            "@thumb": [j for j in self.vocabulary.joints if "thumb" in j],
            "@toe": [j for j in self.vocabulary.joints if "toe" in j or j.startswith("metatarsophalangeal")],
            "@hallux": [
                j for j in self.vocabulary.joints if "hallux" in j or j == "first metatarsophalangeal"
            ],
        }
        for row in rows("parts"):
            found: list[str] = []
            for joint in listed(row["joints"]):
                found += sets.get(joint, [joint])
            self.part_joints[row["part"]] = tuple(dict.fromkeys(found))
            for text in listed(row["words"]):
                yield text, "PART", row["part"]
        self.sets = sets

    def _motion_words(self) -> Iterator[tuple[str, str, Any]]:
        for row in rows("families"):
            self.families[row["family"], row["direction"]] = row["motion"]
        for row in rows("family_words"):
            family = row["family"]
            for noun in listed(row["noun"]):
                yield noun, "FAM", (family, "noun")
            for verb in listed(row["verb"]):
                before, _, inflected = verb.rpartition("*")
                for form, name in verb_forms(inflected):
                    yield before + form, "FAM", (family, name)
            for agent in listed(row["agent"]):
                yield agent, "FAM", (family, "agent")
                yield plural(agent), "FAM", (family, "agent")
        gathered: dict[tuple[str, str, str], list[Pair]] = defaultdict(list)
        verbs: set[str] = set()
        for row in rows("plain_motions"):
            motions = listed(row["motions"])
            given = listed(row["joints"])
            for part in _with_smaller(listed(row["parts"])):
                joints: list[str] = []
                for joint in given or self.part_joints.get(part, ()):
                    joints += self.sets.get(joint, [joint])
                named = [tuple(motion.split(": ", 1)) for motion in motions if ": " in motion]
                pairs = self.pairs(joints, [motion for motion in motions if ": " not in motion])
                pairs += tuple(pair for j, m in named for pair in self.pairs([j], [m]))
                directions = [part_.strip() for part_ in row["directions"].split(";")] or [""]
                for verb in listed(row["verbs"]):
                    verbs.add(verb)
                    self.plain_parts.setdefault(verb, set()).add(part)
                    for direction in directions:
                        gathered[verb, part, direction] += pairs
        for row in rows("movers"):
            self.movers[row["verb"]] = tuple(listed(row["like"]))
            verbs.add(row["verb"])
        self.plain = {key: tuple(dict.fromkeys(pairs)) for key, pairs in gathered.items()}
        for verb, part, direction in self.plain:
            self.plain_directions.setdefault((verb, part), set()).add(direction)
        for verb in sorted(verbs):
            for form, name in verb_forms(verb):
                yield form, "PV", (verb, name)

    def _terms(self) -> Iterator[tuple[str, str, Any]]:
        classes = {
            "muscle": "MUS",
            "group": "MUS",
            "nerve": "NRV",
            "structure": "STR",
            "plane": "PLN",
            "axis": "AXS",
        }
        classes |= {"contraction": "CON", "chain": "MVT", "segment": "SEG", "concept": "CPT"}
        for term in self.vocabulary.terms:
            if term.kind == "joint":
                yield term.text, "PART", f"joint:{term.of}"
            elif term.kind == "motion" and (term.style != "plain" or ": " not in term.of):
                yield from self._motion_term(term.text, term.of)
            elif term.kind in classes:
                yield term.text, classes[term.kind], term.of
                # "The muscles" alone points back to what was said before.
                if term.text.startswith("muscles "):
                    yield f"the {term.text}", classes[term.kind], term.of

    def _nicknames(self) -> Iterator[tuple[str, str, Any]]:
        """What people call a muscle where the vocabulary has no such name: initials, shop talk, dictation."""
        for row in rows("muscles_said"):
            for text in listed(row["said"]):
                yield text, "MUS", row["muscle"]
        for row in rows("regions_said"):
            for place, region, head, whose in product(
                listed(row["preposition"]), listed(row["region"]), REGION_HEADS, WHOSE
            ):
                yield f"{head} {place} {whose} {region}", "MUS", row["muscle"]

    def _motion_term(self, text: str, of: str) -> Iterator[tuple[str, str, Any]]:
        """A name for a motion that the grammar of verbs and families does not read by itself."""
        joint, _, motion = of.rpartition(": ")
        words = [token.text for token in tokens_of(text)]
        if any(word in self.motion_words for word in words) or words[-1] in ("up", "down", "in", "out"):
            return
        family = next(
            (f for (f, direction), named in self.families.items() if named == motion and not direction), ""
        )
        if family and not joint:
            yield text, "FAM", (family, "noun")
        elif joint:
            yield text, "MOTN", (joint, motion)

    @cached_property
    def motion_words(self) -> frozenset[str]:
        """Every word that the grammar itself reads as a motion."""
        found: set[str] = set()
        for row in rows("family_words"):
            for text in listed(row["noun"]) + listed(row["agent"]):
                found.update(text.split()[-1:])
            for verb in listed(row["verb"]):
                found.update(form for form, _ in verb_forms(verb.rpartition("*")[2]))
        for row in rows("plain_motions"):
            for verb in listed(row["verbs"]):
                found.update(form for form, _ in verb_forms(verb))
        return frozenset(found)

    def _words(self) -> Iterator[tuple[str, str, Any]]:
        for row in (row for name in word_files() for row in rows(name)):
            kind = row["class"]
            for text in listed(row["words"]):
                if (kind in VERB_CLASSES and kind != "CONTRACT") or kind == "CONTRACT":
                    for form, name in verb_forms(text):
                        yield form, kind, (text, name)
                else:
                    yield text, kind, text

    def _holds_motion(
        self, words: tuple[str, ...], held: Classes, known: dict[tuple[str, ...], Classes]
    ) -> bool:
        """Whether a phrase of one kind of claim is a verb with the part that it moves, which the others must read."""
        if len(words) < 2 or not held.keys() <= self.special:
            return False
        first = known.get((words[0],), {})
        if "DET" in first or (len(words) == 2 and words[1] in AFTER_VERBS and first.keys() & {"PV", "PART"}):
            return True
        moves = any(form in ("base", "s", "ing") for _, form in (*first.get("PV", ()), *first.get("FAM", ())))
        return (
            len(words) > 2
            and moves
            and any(
                known.get((form,), {}).keys() & {"PART", "MUS"}
                for word in words[1:]
                for form in singular_forms(word)
            )
        )

    @cached_property
    def special(self) -> frozenset[str]:
        """Classes that belong to a single kind of claim."""
        return frozenset(row["class"] for name in word_files() if name != "words" for row in rows(name))

    def overlaid(self, tokens: list[Token], place: int, limit: int) -> Classes | None:
        """Classes of a longer phrase that begins here and leaves its words to be read one by one."""
        for phrase in self.over_first.get(tokens[place].text, ()):
            if _follows(phrase.words, tokens, place, limit):
                return phrase.classes
        return None

    def _read_agents(self, agents: list[tuple[tuple[str, ...], Classes]]) -> None:
        """Give groups that are named for what they do ("hip flexors") that reading as well."""
        for words, held in agents:
            read = self._agent(words)
            if read:
                held["AGT"] = read

    def _agent(self, words: tuple[str, ...]) -> tuple[tuple[str, ...], tuple[str, ...]] | None:
        parts: list[str] = []
        direction, family = "", ""
        for word in words:
            classes = self._single(word)
            named = [value for value in classes.get("FAM", ()) if value[1] == "agent"]
            if named:
                family = named[0][0]
            elif "PART" in classes:
                parts.append(classes["PART"])
            elif "DIR" in classes:
                direction = classes["DIR"]
            elif word in ("of", "the", "at"):
                continue
            else:
                return None
        motion = self.families.get((family, direction))
        return (tuple(parts), (motion,)) if motion else None

    def _single(self, word: str) -> Classes:
        return next((self._singles[form] for form in singular_forms(word) if form in self._singles), {})

    @cached_property
    def _singles(self) -> dict[str, Classes]:
        """What is known of single words."""
        phrases = (phrase for same in self.by_first.values() for phrase in same)
        return {phrase.words[0]: phrase.classes for phrase in phrases if len(phrase.words) == 1}

    def match(self, tokens: list[Token], place: int, limit: int) -> tuple[int, Classes] | None:
        """The longest phrase that begins at a token: how many tokens it takes, and its classes."""
        token = tokens[place]
        best: tuple[int, Classes] | None = None
        for form in singular_forms(token.text) if token.sort == "word" else (token.text,):
            starts = self.starts.get(form)
            if starts is None:
                continue
            found = starts.longest(tokens, place, limit)
            if found is not None and (best is None or len(found.words) > best[0]):
                best = (len(found.words), found.classes)
        return best

    @cached_property
    def starts(self) -> dict[str, Starts]:
        """The phrases by their first word."""
        return {word: Starts.of(phrases) for word, phrases in self.by_first.items()}

    @cached_property
    def longest(self) -> int:
        """How many words the longest phrase has."""
        lists = (*self.by_first.values(), *self.over_first.values())
        return max((len(phrase.words) for phrases in lists for phrase in phrases), default=1)


def _follows(words: tuple[str, ...], tokens: list[Token], place: int, limit: int) -> bool:
    if place + len(words) > limit:
        return False
    for offset in range(1, len(words)):
        said = tokens[place + offset].text
        if said != words[offset] and (offset < len(words) - 1 or words[offset] not in singular_forms(said)):
            return False
    return True
