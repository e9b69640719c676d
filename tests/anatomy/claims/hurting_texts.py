"""Texts of any length made to find work that grows faster than they do."""

from __future__ import annotations

from collections.abc import Callable


def repeated(text: str) -> Callable[[int], str]:
    return lambda size: (text * (size // len(text) + 1))[:size]


def hurting_texts() -> dict[str, Callable[[int], str]]:
    """Texts by length in characters, made to find work that grows faster than they do."""
    return {
        "one muscle, again and again": repeated("biceps "),
        "a muscle acts, without an end": repeated("the biceps flexes the elbow and "),
        "a list of muscles": repeated("biceps, deltoid, psoas, soleus, "),
        "a deep list": repeated("the long head of the left biceps and the upper part of the trapezius or "),
        "and and and": repeated("and "),
        "commas only": repeated(","),
        "one letter": repeated("a"),
        "one letter at a time": repeated("a "),
        "one apostrophe": repeated("a'"),
        "no sentence ends": repeated("well you know we go on and on about the shoulder and how it moves "),
        "full stops only": repeated("."),
        "opening brackets": repeated("("),
        "brackets of all kinds": repeated("([{<«„“(biceps)”»>}]) "),
        "digits": repeated("1234567890"),
        "numbers": repeated("120 degrees, a hundred and twenty, C5, one-forty "),
        "corrections": repeated("sorry, sorry, sorry, "),
        "corrected muscles": repeated("biceps, sorry, triceps, no, wait, deltoid, I mean "),
        "taken back": repeated("The biceps extends the elbow. The triceps flexes the elbow. That's wrong. "),
        "combining marks": repeated("e\u0301\u0300\u0323"),
        "hyphens": repeated("a-"),
        "blank lines": repeated("\n\n"),
        "misspellings": repeated("gastrocnemus sternocleidomastiod infraspinatsu quadricpes "),
        "prepositions": repeated("in the of the on the with the by the "),
        "possessives": repeated("biceps' deltoid's psoas's "),
        "verbs only": repeated("flexes bends rotates lifts pulls "),
        "directions only": repeated("up back internally out left "),
        "parts and levels": repeated("L4/5 T10 hip and knee and ankle, "),
        "links that never close": repeated("](a"),
        "list marks": repeated("\n- [ ] **biceps** _flexes_ "),
        "never": repeated("not never no it does not "),
    }
