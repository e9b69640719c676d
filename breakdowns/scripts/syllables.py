"""How many syllables an English word has when it is spoken.

The list of exceptions is asked first; after it, rules on the spelling: a run of vowel letters is
one syllable, silent e's are taken away, and runs that are spoken as two are counted as two. The
rules alone and the rules with the list are held against the CMU Pronouncing Dictionary in
``tests/scripts/test_syllables.py``, which prints the agreement it found.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from typing import Final

from breakdowns.scripts.tables import syllable_exceptions

__all__ = ["count_by_rules", "count_syllables"]

_VOWELS: Final = re.compile(r"[aeiouy]+")

# Solid compounds whose first part ends in a silent e: "sideline", "forearm", "somebody".
_COMPOUND: Final = re.compile(
    r"^(?:some|home|space|life|time|base|case|care|nose|knee|whole|side|fire|wire|love|house|horse|stone|wave"
    r"|take|lime|name|wine|face|lake|lone|tide|white|snake|smoke|spare|state|store|trade|tape|drive|bare|safe"
    r"|make|rope|game|wide|more|where|there|here|brake|strike|stage|bone|spine|fore(?=[schmwtgkapr])(?!st|nsic))"
    r"(?=[bcdfghjklmnpqrstvwz][a-z]{2}|arm|ach)(?!ring|red$|ment|less|ness|ly$)"
)

# An e that an ending leaves silent: "careful", "movement", "safety", "rarely".
_SILENT_BEFORE_ENDING: Final = (
    re.compile(r"(?<=[aeiouy][^aeiouyl])e(?=(?:ly|full?y?|less(?:ly)?|ness|some)(?:ness)?$)"),
    re.compile(r"(?<=[aeiouy][^aeiouy][^aeiouyl])e(?=(?:ly|ful|less|ness)$)"),
    re.compile(r"(?<=[aeiouy][^aeiouyl])e(?=ments?$)"),
    re.compile(r"(?<=saf|nin|max)e(?=ty$|ties$)"),
)

# Endings whose e is silent; the first that fits is cut off. A vowel must stand before it.
_SILENT_ENDING: Final = (
    (re.compile(r"(?<=[gq])ue(?=s?$)"), ""),  # technique, fatigues
    (re.compile(r"(?<![aeiouy])(?<![^aeiouylr]l)(?<![bcdfgkpt]r)e$"), ""),  # late; not able, centre
    (re.compile(r"(?<![aeiouydt])(?<![^aeiouylr]l)(?<![bcdfgpt]r)ed$"), "d"),  # jumped; not landed, cradled
    (re.compile(r"(?<![aeiouyszxcgh])(?<![^aeiouylr]l)(?<![bcdfgkpt]r)es$|(?<=[tpg]h)es$"), "s"),
)

# Places where one run of vowel letters is spoken as two syllables (or a consonant as one): +1 each.
_SPLITS: Final = tuple(
    re.compile(pattern)
    for pattern in (
        r"[aeiouy]ing(?=$|s$|ly$)",  # going, carrying
        r"(?<![ctsgl])ia",  # medial, triangle
        r"(?<=[^aeiouy][sl])ia(?=[^nlr]|$)|(?<=[aeiou])lia(?=$|s$|t|c|b)|lliar?(?=d|nt)(?!nt)",
        r"[ct]ia(?=t)(?!tr$)|tia(?=s[tm])|^[vd]ia$|^(?:g|s)ia",  # appreciate, enthusiast
        r"(?<![ctsgxhnl])io|[aeiou]nio(?!ns?$|r)|[aeou]lio|^[lgscnt]io",  # radio, violin
        r"(?<=[ctx])io(?!n|us|r)|sio(?=l)",  # ratio, physiology
        r"iu",  # radius
        r"(?<![csthgy])i(?=et|ence|ent)|(?:^|r|s)ci(?=en)(?!ence$)|^sci(?=ence)|[sdh]i(?=et)",  # quiet, client
        r"(?<=[^aeiouy])i(?=er$|ers$|est$)(?<!shi)(?<!^.i)",  # easier
        r"(?<![qg])ua(?=[lrt]|ble|$)",  # manual
        r"(?<![qg])u(?=enc|ent|els?$|ity|itio|ous)",  # fluent, continuous
        r"(?<!g)eo(?=[^uprn]|$)|[td]eon|^[cgln]eo",  # video, osteopath
        r"sms?$|thms?$",  # spasm, rhythm
        r"yi(?!ng)",
        r"[aou]y(?=er|ors?$|al|ou|an)",  # player, employer
        r"oe(?=[mt])|oi(?=cs?$|cal|sm)",  # poem, heroic
        r"crea(?=t)(?!tu)|theat|reali|rea(?=ct|ss)|[nrd]ea(?=s?$)|(?:nucl|lin|permea|cochl|troch)ea(?=r|t)",
        r"(?<![gqb])ui(?=n|d)(?<!bui)|coa(?=g|l[ie])|aeo(?=l)",  # ruin, fluid
    )
)

# Places where a run of its own is not spoken: -1 each.
_MERGES: Final = (re.compile(r"ically$"), re.compile(r"(?<=^ev)e(?=ry)"), re.compile(r"(?<=^bus)i(?=ness)"))


def count_by_rules(word: str) -> int:
    """Syllables of one lower-case word of letters a to z, from its spelling alone. At least 1."""
    skeleton = _without_silent_ending(_without_silent_inside(word))
    count = len(_VOWELS.findall(skeleton))
    count += sum(len(pattern.findall(word)) for pattern in _SPLITS)
    return max(1, count - sum(1 for pattern in _MERGES if pattern.search(word)))


def _without_silent_inside(word: str) -> str:
    for pattern in _SILENT_BEFORE_ENDING:
        word = pattern.sub("", word, count=1)
    compound = _COMPOUND.match(word)
    return f"{word[: compound.end() - 1]}'{word[compound.end() :]}" if compound else word


def _without_silent_ending(word: str) -> str:
    for pattern, left in _SILENT_ENDING:
        cut = pattern.search(word)
        if cut and _VOWELS.search(word[: cut.start()]):
            return word[: cut.start()] + left + word[cut.end() :]
    return word


_SIBILANT: Final = re.compile(r"(?:[sxz]|[cs]h|[cg]e|[sz]e)$")
_ENDINGS: Final = frozenset({"", "s", "t", "ve", "ll", "re", "d", "m"})


@lru_cache(maxsize=16384)
def count_syllables(word: str) -> int:
    """Syllables of one spoken English word; 0 for a text without letters.

    Takes any case, accents and apostrophes ("isn't" is two); a single letter is its name ("w" is
    three). Hyphenated words are the sum of their parts. The list of exceptions goes before the
    rules, also for a plural or possessive of a listed word.
    """
    plain = word.lower().replace("’", "'")
    if not plain.isascii():
        plain = unicodedata.normalize("NFKD", plain.replace("é", "ay")).encode("ascii", "ignore").decode()
    if "-" in plain:
        return sum(count_syllables(part) for part in plain.split("-"))
    base, mark, ending = plain.strip("'").partition("'")
    if plain.endswith("in'"):
        return count_syllables(base + "g")
    if mark and ending in _ENDINGS:
        return _contracted(base, ending)
    letters = "".join(filter(str.isalpha, plain))
    if len(letters) == 1:
        return 3 if letters == "w" else 1
    return (_listed(letters) or count_by_rules(letters)) if letters else 0


def _contracted(base: str, ending: str) -> int:
    """Syllables of ``base'ending``: could've two, it'd two, coach's two, don't and aren't one."""
    if ending == "t" and base.endswith("n") and len(base) > 2:
        base = base[:-1]
        own = not base.endswith(("o", "a", "i", "u", "y", "re"))
    elif ending == "s":
        own = bool(_SIBILANT.search(base))
    elif ending == "d":
        own = base.endswith(("t", "d"))
    else:
        own = ending in ("ve", "ll", "re") and not base.endswith(("a", "e", "i", "o", "u", "y", "w"))
    return count_syllables(base) + own


def _listed(word: str) -> int | None:
    """The exception's count, also for the plural of a listed word; None when it is not listed."""
    known = syllable_exceptions()
    if word in known or not word.endswith("s"):
        return known.get(word)
    singular = known.get(word[:-1])
    if singular is None:
        return None
    return singular + (1 if _SIBILANT.search(word[:-1]) else 0)
