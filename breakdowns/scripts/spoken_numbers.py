"""Numbers, units, signs and abbreviations as they are spoken in English.

``spell_out("35°")`` is ``"thirty-five degrees"``. What a script writes in figures takes longer to
say than to read, so the speech model spells everything out before it counts syllables. British
usage: "one hundred and five". Units and abbreviations are tables with a source beside each row.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache
from typing import Final

from breakdowns.scripts.tables import rows

__all__ = ["cardinal", "clock", "fraction", "ordinal", "spell_out", "year"]

_SMALL: Final = (
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
    "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
)  # fmt: skip
_TENS: Final = ("", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_SCALES: Final = ((10**12, "trillion"), (10**9, "billion"), (10**6, "million"), (1000, "thousand"))
_IRREGULAR_ORDINALS: Final = {
    "one": "first",
    "two": "second",
    "three": "third",
    "five": "fifth",
    "eight": "eighth",
    "nine": "ninth",
    "twelve": "twelfth",
}
_LARGEST: Final = 10**15


def cardinal(number: int) -> str:
    """A whole number in words: 0 "zero", 35 "thirty-five", 105 "one hundred and five", −3 "minus three".

    From 10^15 on, digit by digit, as people read long codes.
    """
    if number < 0:
        return f"minus {cardinal(-number)}"
    if number >= _LARGEST:
        return _digits(str(number))
    if number < 100:
        return _below_hundred(number)
    if number < 1000:
        hundreds, rest = divmod(number, 100)
        head = f"{_SMALL[hundreds]} hundred"
        return f"{head} and {_below_hundred(rest)}" if rest else head
    for scale, name in _SCALES:
        if number >= scale:
            many, rest = divmod(number, scale)
            joint = " and " if 0 < rest < 100 else " "
            return f"{cardinal(many)} {name}" + (joint + cardinal(rest) if rest else "")
    raise AssertionError("every number of four digits or more has a scale")


def _below_hundred(number: int) -> str:
    if number < 20:
        return _SMALL[number]
    tens, ones = divmod(number, 10)
    return _TENS[tens] + (f"-{_SMALL[ones]}" if ones else "")


def _digits(text: str) -> str:
    return " ".join(_SMALL[int(digit)] for digit in text)


def ordinal(number: int) -> str:
    """1 "first", 22 "twenty-second", 100 "one hundredth"."""
    words = cardinal(number)
    head, joint, last = re.match(r"(.*?)([ -]?)([a-z]+)$", words).groups()  # type: ignore[union-attr]
    if last in _IRREGULAR_ORDINALS:
        last = _IRREGULAR_ORDINALS[last]
    elif last.endswith("y"):
        last = last[:-1] + "ieth"
    else:
        last += "th"
    return head + joint + last


def year(number: int) -> str:
    """A year of four digits: 1998 "nineteen ninety-eight", 2005 "two thousand and five"."""
    century, rest = divmod(number, 100)
    if century % 10 == 0 and rest < 10:
        return cardinal(number)
    if rest == 0:
        return f"{_below_hundred(century)} hundred"
    return f"{_below_hundred(century)} {'oh ' if rest < 10 else ''}{_below_hundred(rest)}"


def fraction(top: int, bottom: int) -> str:
    """1/2 "one half", 3/4 "three quarters", 120/80 "one hundred and twenty over eighty", 4/10 "four out of ten"."""
    if bottom == 10 and top <= 10:
        return f"{cardinal(top)} out of ten"
    if (top, bottom) == (24, 7):
        return "twenty-four seven"
    if not 2 <= bottom <= 16 or top >= 20:
        return f"{cardinal(top)} over {cardinal(bottom)}"
    part = {2: "half", 4: "quarter"}.get(bottom) or ordinal(bottom)
    plural = "halves" if bottom == 2 else part + "s"
    return f"{cardinal(top)} {part if top == 1 else plural}"


def clock(hours: int, minutes: int) -> str:
    """10:30 "ten thirty", 1:04 "one oh four", 9:00 "nine o'clock"."""
    if minutes == 0:
        return f"{cardinal(hours)} o'clock"
    return f"{cardinal(hours)} {'oh ' if minutes < 10 else ''}{cardinal(minutes)}"


def _decimal(text: str) -> str:
    """ "1,250.5" → "one thousand two hundred and fifty point five"; codes with a leading 0 digit by digit."""
    whole, point, rest = text.replace(",", "").partition(".")
    if len(whole) > 1 and whole.startswith("0"):
        head = _digits(whole)
    else:
        head = cardinal(int(whole or 0)) if len(whole) <= 15 else _digits(whole)
    return f"{head} point {_digits(rest)}" if point and rest else head


# --- signs -------------------------------------------------------------------------------------

_VULGAR: Final = {
    "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5",
    "⅙": "1/6", "⅚": "5/6", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
_SIGNS: Final = {
    "±": " plus or minus ", "≈": " about ", "~": " about ", "≤": " at most ", "≥": " at least ", "<": " less than ",
    ">": " more than ", "=": " equals ", "&": " and ", "×": " times ", "÷": " divided by ", "@": " at ",
    "%": " percent ", "°": " degrees ", "→": " to ", "√": " root ", "²": " squared", "³": " cubed",
}  # fmt: skip
_MONEY: Final = {
    "£": ("pound", "pounds"),
    "$": ("dollar", "dollars"),
    "€": ("euro", "euros"),
}

# --- patterns ----------------------------------------------------------------------------------

_NUMBER: Final = r"(?:\d{1,3}(?:,\d{3})+(?!\d)|\d+)(?:\.\d+)?"
_DASH: Final = r"\s?[-–—−]\s?"
_SPINE: Final = {"C": 8, "T": 12, "L": 5, "S": 5}  # vertebral levels; C8 is a root
_NEXT_REGION: Final = {("C", 7, "T", 1), ("T", 12, "L", 1), ("L", 5, "S", 1)}


@cache
def _units() -> dict[str, tuple[str, str]]:
    return {row["symbol"]: (row["singular"], row["plural"]) for row in rows("units")}


@cache
def _unit_pattern() -> str:
    symbols = sorted(_units(), key=len, reverse=True)
    return "(?:" + "|".join(re.escape(symbol) for symbol in symbols) + r")(?![A-Za-zµ])"


def _spine_level(match: re.Match[str]) -> str:
    """ "T10" "T ten"; "L4/5" "L four five"; a real range gets its "to": "C3-C6" "C three to C six"."""
    region, upper, joint, second, lower = match.groups()
    if int(upper) > _SPINE[region] or int(upper) == 0:
        return f" {region} {_decimal(upper)} " + (f"{joint}{second or ''}{lower}" if joint else "")
    head = f" {region} {cardinal(int(upper))}"
    if not joint:
        return head + " "
    same, number = second or region, int(lower)
    touching = (region == same and number == int(upper) + 1) or (
        region,
        int(upper),
        same,
        number,
    ) in _NEXT_REGION
    return f"{head} {'' if touching else 'to '}{second + ' ' if second else ''}{cardinal(number)} "


def _date(match: re.Match[str]) -> str:
    return f" {year(int(match[1]))} {cardinal(int(match[2]))} {cardinal(int(match[3]))} "


def _timecode(match: re.Match[str]) -> str:
    return " " + " ".join(_decimal(str(int(part))) for part in re.split(r"[:;.]", match[0])) + " "


def _clock_time(match: re.Match[str]) -> str:
    half = f" {match[3][0].upper()} M" if match[3] else ""
    said = clock(int(match[1]), int(match[2]))
    return f" {said.removesuffix(' o' + chr(39) + 'clock') if half else said}{half} "


def _ratio(match: re.Match[str]) -> str:
    return f" {_decimal(match[1])} to {_decimal(match[2])} "


def _money(match: re.Match[str]) -> str:
    one, many = _MONEY[match[1]]
    whole, _, pence = match[2].replace(",", "").partition(".")
    said = f"{_decimal(whole)} {one if whole == '1' else many}"
    return f" {said}{' ' + cardinal(int(pence)) if len(pence) == 2 and int(pence) else ''} "


def _mixed(match: re.Match[str]) -> str:
    return (
        f" {_decimal(match[1])} and {fraction(int(match[2]), int(match[3])).replace('one half', 'a half')} "
    )


def _simple_fraction(match: re.Match[str]) -> str:
    return f" {fraction(int(match[1]), int(match[2]))} "


def _ordinal(match: re.Match[str]) -> str:
    return f" {ordinal(int(match[1].replace(',', '')))} "


def _decade(match: re.Match[str]) -> str:
    said = year(int(match[2])) if len(match[2]) == 4 else cardinal(int(match[2]))
    return f"{match[1]} {said[:-1] + 'ies' if said.endswith('y') else said + 's'} "


def _year(match: re.Match[str]) -> str:
    return f" {year(int(match[0]))} "


def _years(match: re.Match[str]) -> str:
    return f" {year(int(match[1]))} to {year(int(match[2]))} "


def _quantity(match: re.Match[str]) -> str:
    """A number or a range with its unit: "10–15 cm", "35°", "4-2-3-1", "90-degree"."""
    numbers = re.findall(_NUMBER, match["numbers"])
    unit, adjective = match["unit"], match["hyphen"]
    joint = " to " if len(numbers) == 2 else " "
    said = ("minus " if match["minus"] else "") + joint.join(_decimal(number) for number in numbers)
    if not unit:
        return f" {said} "
    one, many = _units()[unit]
    return f" {said} {one if numbers == ['1'] or adjective else many} "


@cache
def _readers() -> tuple[tuple[re.Pattern[str], Callable[[re.Match[str]], str]], ...]:
    """What is looked for, in order; each pattern's text becomes words before the next one looks."""
    unit = _unit_pattern()
    quantity = (
        rf"(?P<minus>(?<![\w.)])[-−](?=\d))?(?P<numbers>{_NUMBER}(?:(?:\s?{unit})?{_DASH}{_NUMBER}(?![\d:]))*)"
        rf"(?:(?P<hyphen>-)?\s?(?P<unit>{unit}))?(?:-(?=[A-Za-z]))?"
    )
    pairs = (
        (r"(?<!\d)(\d{4})-(\d{2})-(\d{2})(?!\d)", _date),
        (r"(?<!\d)\d{1,2}:\d{2}:\d{2}(?:[:;.]\d{1,3})?(?!\d)", _timecode),
        (r"(?<![\d:])([01]?\d|2[0-3]):([0-5]\d)(?![\d:])(?:\s?([ap])\.?m\b\.?)?", _clock_time),
        (rf"(?<![\d:])({_NUMBER})\s?:\s?({_NUMBER})(?![\d:])", _ratio),
        (rf"([£$€])\s?({_NUMBER})", _money),
        (r"\b([CTLS])(\d{1,2})(?:\s?([-–—/])\s?([CTLS]?)(\d{1,2}))?(?!\w)", _spine_level),
        (r"(?<![\d/])(\d{1,6})\s+(\d{1,4})/(\d{1,4})(?![\d/])", _mixed),
        (r"(?<![\d/])(\d{1,6})\s?/\s?(\d{1,6})(?![\d/])", _simple_fraction),
        (r"(?<![\w.])(\d{1,3}(?:,\d{3})+|\d{1,9})(?:st|nd|rd|th)\b", _ordinal),
        (r"\b((?:her|his|their|the|early|mid|late|my|our|your)[ -])'?(\d0|\d{3}0)s\b", _decade),
        (r"(?<![\d.,–-])((?:19|20)\d{2})\s?[-–—]\s?((?:19|20)\d{2})(?![\d–-]|[.,]\d)", _years),
        (rf"(?<![\d.,–-])(?:19|20)\d{{2}}(?![\d–-]|[.,]\d|\s?{unit})", _year),
        (quantity, _quantity),
    )
    return tuple((re.compile(pattern), reader) for pattern, reader in pairs)


@cache
def _abbreviations(*, before_number: bool) -> tuple[re.Pattern[str], dict[str, str]]:
    chosen = [row for row in rows("abbreviations") if (row["kind"] == "number") == before_number]
    spoken = {row["written"]: row["spoken"] for row in chosen}
    parts = (
        re.escape(written) + (r"(?=\s*\d)" if before_number else "" if written[-1] in "./" else r"(?!\w)")
        for written in sorted(spoken, key=len, reverse=True)
    )
    return re.compile(r"(?<![\w.])(?:" + "|".join(parts) + ")"), spoken


_CAPITALS: Final = re.compile(r"(?<![\w'’])([A-Z]{2,5})(s?)(?![\w'’]*[a-z])(?!\w)")
_VULGAR_AFTER_DIGIT: Final = re.compile(f"(?<=\\d)([{''.join(_VULGAR)}])")
_SHOUTED: Final = re.compile(r"[^a-z]*[A-Z]{4,}[^a-z]*[A-Z]{2,}[^a-z]*")
_SOMETHING_TO_READ: Final = re.compile(r"[^a-z\s,.!?;:'’]")


def spell_out(text: str) -> str:
    """The text with every figure, unit, sign and abbreviation in words. Letters to be named stay single.

    "35°" → "thirty-five degrees", "L4/5" → "L four five", "ACL" → "A C L", "2:1" → "two to one".
    Spacing may change; punctuation between words stays.
    """
    if not _SOMETHING_TO_READ.search(text):
        return _abbreviated(text)
    text = _VULGAR_AFTER_DIGIT.sub(r" \1", text)
    text = "".join(_VULGAR.get(sign, sign) for sign in text)
    if any(map(str.isdigit, text)):
        text = _figures(text)
    text = "".join(_SIGNS.get(sign, sign) for sign in _abbreviated(text))
    text = re.sub(r"\s\+\s|\+(?=\s?\w)", " plus ", text)
    text = re.sub(r"(?<=\w)/(?=\w)", " ", text)
    shouted = bool(_SHOUTED.fullmatch(text))
    return _CAPITALS.sub(lambda match: _spelled(match, shouted), text)


def _figures(text: str) -> str:
    text = _abbreviated(re.sub(r"#(?=\d)", " number ", text), before_number=True)
    for pattern, reader in _readers():
        text = pattern.sub(reader, text)
    return text


def _abbreviated(text: str, *, before_number: bool = False) -> str:
    pattern, spoken = _abbreviations(before_number=before_number)
    return pattern.sub(lambda match: spoken[match[0]], text)


def _spelled(match: re.Match[str], shouted: bool) -> str:
    letters = match[1]
    has_vowel = any(letter in "AEIOUY" for letter in letters)
    if has_vowel and (shouted or len(letters) > 3):
        return match[0]
    return " ".join(letters) + ("'s" if match[2] else "")
