"""What a contact's plate says and shows: the drawing with the place marked, what lies there from the skin inwards.

A plate keeps the state of the map as ``name=value`` texts and is read afresh each time. No Django here.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from anatomy.contact.entries import URGENCIES
from anatomy.vocabulary.packaged import packaged_vocabulary
from breakdowns.contacts.body import HEIGHT, MIDLINE, WIDTH, View
from breakdowns.contacts.drawing import PLATE_STYLE, best_view, body_svg
from breakdowns.contacts.reading import Reading, read, sentences
from breakdowns.contacts.state import State, read_rows, state_rows

__all__ = ["CAVEAT", "ContactPlate", "NoContact", "contact_plate", "plate_of", "state_rows"]

CAVEAT = "What lies there, not what was hurt: nobody can be diagnosed from a picture."
_MOST_NAMES = 4
_WINDOW = 320
"""Side of the square of the drawing that a plate shows, in its own units (the body is 1,000 tall): own choice."""
_ON_PAPER = ".skin{fill:#f5f1e7}.chosen{fill-opacity:.26}"
"""The body in the colour of a plate's paper, so that where the drawing is cut shows no edge."""
_BOX = re.compile(r'viewBox="[^"]*"')
_MARKED = re.compile(r'<circle class="marker" cx="([\d.]+)" cy="([\d.]+)"')
_WORDS = {
    "front": "from the front",
    "back": "from behind",
    "left": "from the left",
    "right": "from the right",
}


class NoContact(ValueError):
    """Why there is nothing to show, and how to mend it: one sentence."""


@dataclass(frozen=True)
class ContactPlate:
    """``layers``: (layer, names); ``watch`` what would need help at once, "" where nothing would; ``figure`` an SVG.

    ``owed``: the keys of the cautions that a piece which shows it must carry. ``spared``: the layers in the order in which
    they are left out where there is little room, the least urgent first.
    """

    heading: str
    says: str
    layers: tuple[tuple[str, str], ...]
    watch: str
    sources: tuple[str, ...]
    figure: str
    seen: str
    owed: tuple[str, ...] = ()
    spared: tuple[str, ...] = ()

    @property
    def reading(self) -> str:
        """What a viewer takes in of it."""
        return " ".join([self.heading, *(names for _, names in self.layers), self.watch])

    @property
    def text(self) -> str:
        """The same in words, as Markdown lines, for what shows no picture."""
        rows = "\n".join(f"- {layer.capitalize()}: {names}" for layer, names in self.layers)
        return "\n\n".join(part for part in (self.says, rows, self.watch, CAVEAT) if part)


def contact_plate(rows: Sequence[str]) -> ContactPlate:
    """The plate of a kept state. Raises NoContact where it names no place of the map."""
    return plate_of(read_rows(rows))


def plate_of(state: State) -> ContactPlate:
    """The plate of a state. Raises NoContact where it names no place of the map."""
    reading = read(state)
    if not reading.places:
        raise NoContact("This contact names no place of the body: choose one on the contact map.")
    wanted: View | None = next((one for one in _WORDS if one == state.view), None)  # type: ignore[misc]
    view = best_view(reading.place, reading.side, wanted) or "front"
    urgent = [row for row in reading.structures if row.urgency == "emergency" and not row.who]
    said = sentences(state, reading)
    return ContactPlate(
        f"{reading.name[:1].upper()}{reading.name[1:]}",
        said[0] if said else "",
        tuple((layer, _names(reading, layer)) for layer, _ in reading.layers),
        f"Help at once for: {urgent[0].watch_for}." if urgent else "",
        _sources(reading),
        _figure(state, reading, view),
        _WORDS[view],
        tuple(duty.key for duty in reading.owed),
        _spared(reading),
    )


def _figure(state: State, reading: Reading, view: View) -> str:
    """The drawing with the place marked: the part that was looked at on the map, else what lies around the marker."""
    title, style = reading.name, f"<style>{PLATE_STYLE}{_ON_PAPER}</style><defs>"
    figure = body_svg(view, place=reading.place, side=reading.side, closer=state.closer, title=title)
    figure = figure.replace("<defs>", style, 1)
    if state.closer or not (marked := _MARKED.findall(figure)):
        return figure
    across, down = ([float(one[place]) for one in marked] for place in (0, 1))
    middle = (
        sum(across) / len(across) + MIDLINE
    ) / 2  # towards the midline: both sides help to find one's way
    left = min(max(middle - _WINDOW / 2, 0), WIDTH - _WINDOW)
    top = min(max(sum(down) / len(down) - _WINDOW * 0.46, 0), HEIGHT - _WINDOW)
    return _BOX.sub(f'viewBox="{left:.0f} {top:.0f} {_WINDOW} {_WINDOW}"', figure, count=1)


def _spared(reading: Reading) -> tuple[str, ...]:
    """The layers from the least urgent one; of two as urgent the one nearer to the skin first."""
    urgent = {layer: min(URGENCIES.index(row.urgency) for row in rows) for layer, rows in reading.layers}
    return tuple(sorted(urgent, key=lambda layer: -urgent[layer]))


def _names(reading: Reading, layer: str) -> str:
    rows = next(rows for one, rows in reading.layers if one == layer)
    names = list(
        dict.fromkeys(row.name for row in rows if not row.only_if) or dict.fromkeys(row.name for row in rows)
    )
    more = len(names) - _MOST_NAMES
    return ", ".join(names[:_MOST_NAMES]) + (f" and {more} more" if more > 0 else "")


def _sources(reading: Reading) -> tuple[str, ...]:
    keys = dict.fromkeys(key for row in reading.structures for key in row.sources)
    return tuple(packaged_vocabulary().cite(keys))
