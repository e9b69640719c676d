"""What the actions of a note do to the beats, by name, and what only a person can do."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Any, Final

from breakdowns.footage.timebase import TimeError, frames_nearest, parse_rational
from breakdowns.scripts.revisions import (
    Beats,
    RevisionError,
    correct_recording,
    edit,
    insert,
    place_of,
    replace_words,
    split,
)
from breakdowns.scripts.script import BeatView

__all__ = ["BY_HAND", "COMMANDS", "perform"]

# What a note's action may ask for: command → the names of its arguments. Numbers are texts such as "58/5".
COMMANDS: Final[Mapping[str, tuple[str, ...]]] = {
    # carried out by ``perform``
    "set_seconds": ("beat", "seconds"),
    "set_hold": ("beat", "seconds"),
    "set_speed": ("beat", "speed"),
    "set_mirrored": ("beat", "mirrored"),
    "set_sound": ("beat", "original_sound"),
    "set_plate_title": ("beat", "text"),
    "trim_in": ("beat", "seconds"),  # of the source
    "trim_out": ("beat", "seconds"),
    "replace_words": ("beat", "start", "end", "was", "text"),
    "split": ("beat", "offset"),
    "insert_own": ("beat", "seconds"),  # a plate before the beat; "" for the end
    # an anatomy plate behind the beat ("" for the end); ``rows``: keys of the entry's table, () for all
    "insert_anatomy": ("beat", "entry_kind", "entry", "rows", "seconds"),
    "insert_correction": ("beat", "said", "right", "source", "seconds"),
    "insert_caution": ("beat", "title", "text", "seconds"),  # a caution plate behind the beat
    # the same card as the picture over recorded words, which stay as they are
    "correct_recording": ("beat", "start", "end", "was", "said", "right", "source"),
    "several": ("commands",),  # ((command, ((name, value), …)), …) in order, one step to undo
    # a person goes on: the page puts the cursor there
    "write_words": ("beat", "start", "end"),
    "write_title": (),
    "choose_picture": ("beat",),
    "open_two_views": ("beat",),
    "state_purpose": ("beat",),
    "open_source": ("source",),
    "open_settings": ("field",),
}
BY_HAND: Final = frozenset(
    {
        "write_words",
        "write_title",
        "choose_picture",
        "open_two_views",
        "state_purpose",
        "open_source",
        "open_settings",
    }
)


def perform(beats: Beats, command: str, arguments: Mapping[str, Any], new_id: Callable[[], str]) -> Beats:
    """The beats after a note's command. ``new_id`` makes the id of a beat that is added.

    Raises RevisionError for a command that only a person can carry out, for one that is unknown or
    lacks an argument, and where the script has changed so that it no longer applies.
    """
    if command in BY_HAND or command not in COMMANDS:
        raise RevisionError(f"{command[:40]!r} is nothing that can be done to the beats by itself.")
    try:
        return _PERFORMED[command](beats, arguments, new_id)
    except (KeyError, TypeError, TimeError) as fault:
        raise RevisionError(f"The command {command} can't be read: {fault}.") from None


def _set(name: str, argument: str, least: Fraction | None = None) -> Callable[..., Beats]:
    """A command that sets a field from an argument: an exact number above ``least``, or a plain value."""

    def setter(beats: Beats, arguments: Mapping[str, Any], new_id: Callable[[], str]) -> Beats:
        value = arguments[argument]
        if least is not None:
            value = parse_rational(value)
            if value < least or (value == least and name != "hold"):
                raise RevisionError(f"{argument.capitalize()} must be above {least}, not {value}.")
        return edit(beats, arguments["beat"], **{name: value})

    return setter


def _trim(beats: Beats, arguments: Mapping[str, Any], field_name: str) -> Beats:
    beat = beats[place_of(beats, arguments["beat"])]
    frame = frames_nearest(parse_rational(arguments["seconds"]), beat.source_rate).count
    start, end = (frame, beat.out_frame) if field_name == "in_frame" else (beat.in_frame, frame)
    if beat.kind != "excerpt" or not beat.in_frame <= start < end <= beat.out_frame:
        raise RevisionError("The excerpt has changed since this was proposed: look at the note again.")
    return edit(beats, beat.id, **{field_name: frame})


def _own_picture(beats: Beats, arguments: Mapping[str, Any], new_id: Callable[[], str]) -> Beats:
    seconds = parse_rational(arguments["seconds"])
    place = place_of(beats, arguments["beat"]) if arguments["beat"] else len(beats)
    return insert(beats, place, BeatView(new_id(), "plate", seconds=seconds, plate="text"))


def _behind(beats: Beats, arguments: Mapping[str, Any], made: BeatView) -> Beats:
    place = place_of(beats, arguments["beat"]) + 1 if arguments["beat"] else len(beats)
    return insert(beats, place, made)


def _anatomy_plate(beats: Beats, arguments: Mapping[str, Any], new_id: Callable[[], str]) -> Beats:
    made = BeatView(
        new_id(),
        "plate",
        seconds=parse_rational(arguments["seconds"]),
        plate="anatomy",
        plate_entry_kind=arguments["entry_kind"],
        plate_entry=arguments["entry"],
        plate_rows=tuple(arguments["rows"]),
    )
    return _behind(beats, arguments, made)


def _correction(beats: Beats, arguments: Mapping[str, Any], new_id: Callable[[], str]) -> Beats:
    made = BeatView(
        new_id(),
        "plate",
        seconds=parse_rational(arguments["seconds"]),
        plate="correction",
        plate_said=arguments["said"],
        plate_text=arguments["right"],
        plate_source=arguments["source"],
    )
    return _behind(beats, arguments, made)


def _caution_plate(beats: Beats, arguments: Mapping[str, Any], new_id: Callable[[], str]) -> Beats:
    made = BeatView(
        new_id(),
        "plate",
        seconds=parse_rational(arguments["seconds"]),
        plate="caution",
        plate_title=arguments["title"],
        plate_text=arguments["text"],
    )
    return _behind(beats, arguments, made)


def _card(arguments: Mapping[str, Any]) -> dict[str, str]:
    return {
        "plate_said": arguments["said"],
        "plate_text": arguments["right"],
        "plate_source": arguments["source"],
    }


def _several(beats: Beats, arguments: Mapping[str, Any], new_id: Callable[[], str]) -> Beats:
    for command, given in arguments["commands"]:
        beats = perform(beats, command, dict(given), new_id)
    return beats


_PERFORMED: Final[Mapping[str, Callable[..., Beats]]] = {
    "set_seconds": _set("seconds", "seconds", Fraction(0)),
    "set_hold": _set("hold", "seconds", Fraction(0)),
    "set_speed": _set("speed", "speed", Fraction(0)),
    "set_mirrored": _set("mirrored", "mirrored"),
    "set_sound": _set("original_sound", "original_sound"),
    "set_plate_title": _set("plate_title", "text"),
    "trim_in": lambda beats, given, new_id: _trim(beats, given, "in_frame"),
    "trim_out": lambda beats, given, new_id: _trim(beats, given, "out_frame"),
    "replace_words": lambda beats, given, new_id: replace_words(
        beats, given["beat"], given["start"], given["end"], given["was"], given["text"]
    ),
    "split": lambda beats, given, new_id: split(beats, given["beat"], given["offset"], new_id()),
    "insert_own": _own_picture,
    "insert_anatomy": _anatomy_plate,
    "insert_correction": _correction,
    "insert_caution": _caution_plate,
    "correct_recording": lambda beats, given, new_id: correct_recording(
        beats, given["beat"], (given["start"], given["end"]), given["was"], _card(given), new_id
    ),
    "several": _several,
}
