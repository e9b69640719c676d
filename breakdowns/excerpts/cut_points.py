"""How far each view of a plan may be cut: whole frames inside it, around the moments to keep.

A view may start later and end earlier, at whole frames of its source, and hold for fewer whole frames.
Moments to keep stay, in whole frames: a single moment stands for the frame that shows it. A point that a
moment to keep ties to a part of a frame stays where it was written; a view that moves for less than
one whole frame can only be left out.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from .intervals import Interval
from .layout import Role
from .ledger import Ledger
from .plan import ExcerptSegment, PlanError, View

__all__ = ["CutView", "Key", "cut_views"]

Key = tuple[int, Role]
"""Number of the segment in the plan as it was given, and which of its views."""


@dataclass(frozen=True)
class CutView:
    """A counted view that may be cut to [first, last) and less, never inside ``kept``. Source seconds.

    ``first`` equals ``last`` for a still, and for a view in which no whole frame lies.
    """

    key: Key
    view: View
    rate: Fraction
    first: Fraction
    last: Fraction
    kept: Interval | None

    @property
    def still(self) -> bool:
        """Whether nothing moves in the view as it was given."""
        return self.view.start == self.view.end

    @property
    def usable(self) -> bool:
        """Whether anything of it can be shown in whole frames."""
        return self.still or self.first < self.last


def _floor(moment: Fraction, rate: Fraction) -> Fraction:
    return Fraction(moment * rate // 1) / rate


def _ceiling(moment: Fraction, rate: Fraction) -> Fraction:
    return Fraction(-(-moment * rate // 1)) / rate


def kept_stretch(view: View, rate: Fraction) -> Interval | None:
    """From the first to the last moment to keep, widened to whole frames as far as the view goes."""
    if not view.keep or view.start == view.end:
        return None
    frame = 1 / rate
    starts, ends = [], []
    for a, b in view.keep:
        # The out point itself is no longer shown: the frame before it stands for it.
        first = min(a, _ceiling(view.end, rate) - frame) if a == b else a
        starts.append(max(_floor(first, rate), view.start))
        ends.append(min(_ceiling(b, rate) if b > a else _floor(first, rate) + frame, view.end))
    return min(starts), max(ends)


def cut_view(key: Key, view: View, rate: Fraction) -> CutView:
    """What may be taken from one view."""
    if view.start == view.end:
        return CutView(key, view, rate, view.start, view.end, None)
    first, last = _ceiling(view.start, rate), _floor(view.end, rate)
    kept = kept_stretch(view, rate)
    if kept is not None:
        first = view.start if kept[0] < first else first
        last = view.end if kept[1] > last else last
    return CutView(key, view, rate, first, max(first, last), kept)


def cut_views(ledger: Ledger) -> dict[Key, CutView]:
    """Every counted view on screen. Raises PlanError where a source has no rate."""
    made: dict[Key, CutView] = {}
    for showing in ledger.layout.showings:
        source = ledger.sources[showing.view.source].source
        if not source.counted:
            continue
        if source.rate is None:
            sentence = (
                f"Segment {showing.segment} shows source {source.id[:40]!r}, which has no rate: give its "
                '"rate", since tightening cuts to whole frames.'
            )
            raise PlanError("rate_missing", sentence, showing.segment)
        key = (showing.segment, showing.role)
        made[key] = cut_view(key, showing.view, source.rate)
    must_stay = {key[0] for key, cut in made.items() if cut.view.keep}
    return {
        key: cut if cut.usable or key[0] not in must_stay else _as_written(cut) for key, cut in made.items()
    }


def _as_written(cut: CutView) -> CutView:
    """Less than a frame long, but beside a view that must stay."""
    view = cut.view
    return replace(cut, first=view.start, last=view.end, kept=(view.start, view.end))


def views_of(segment: ExcerptSegment) -> dict[Role, View]:
    """The segment's views by role."""
    return (
        {"main": segment.main} if segment.beside is None else {"main": segment.main, "beside": segment.beside}
    )
