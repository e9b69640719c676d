"""What stands beside a beat's picture and what runs along with it, and why it can't be shown where it can't."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from breakdowns.footage.models import Source
from breakdowns.footage.selectors import tied_view
from breakdowns.footage.views_offset import offset_seconds
from breakdowns.scripts.models import Beat
from breakdowns.scripts.recording import places_of
from breakdowns.scripts.script import SecondView, Trouble
from breakdowns.stills.marks import MarksError
from breakdowns.stills.models import Still
from breakdowns.stills.selectors import still_document
from breakdowns.tracks.plot import Plot, angle_plot, speed_plot
from breakdowns.tracks.plot_cut import has_values, plot_between
from breakdowns.tracks.reckoning import segment_words
from breakdowns.tracks.selectors import reckoned


def footage_of(beat: Beat) -> tuple[Source, int, int] | None:
    """(source, first frame, frame behind the last) that a beat shows; None without usable footage."""
    if beat.kind == Beat.Kind.EXCERPT and beat.excerpt and beat.excerpt.source.is_ready:
        start = beat.excerpt.in_frame if beat.in_frame is None else beat.in_frame
        end = beat.excerpt.out_frame if beat.out_frame is None else beat.out_frame
        return beat.excerpt.source, start, end
    if beat.kind == Beat.Kind.STILL and beat.source and beat.source.is_ready and beat.frame is not None:
        return beat.source, beat.frame, beat.frame + 1
    return None


def beside_source(beat: Beat) -> Source | None:
    """The source of the second view of an excerpt or a still."""
    if beat.kind == Beat.Kind.EXCERPT:
        return beat.beside_source or (beat.beside_excerpt.source if beat.beside_excerpt else None)
    if beat.kind == Beat.Kind.STILL:
        held = beat.beside_still or beat.beside_excerpt
        return beat.beside_source or (held.source if held else None)
    return None


def second_view(beat: Beat) -> SecondView | None:
    """The second view as plain values; None without one, and where it has no picture of what it should show."""
    source, found = beside_source(beat), footage_of(beat)
    if source is None or found is None or not source.is_ready:
        return None
    first, start, end = found
    if beat.beside_source_id:
        view, other = tied_view(first), tied_view(source)
        if view is None or other is None or first.event_id != source.event_id:
            return None
        shift = offset_seconds(view, other)
        tied = SecondView(str(source.key), source.rate, 0, 1, beat.beside_mirrored, shift)
        into, out = tied.same_instants(start, end - 1, first.rate)
        return replace(tied, in_frame=into, out_frame=out) if _inside(source, into, out) else None
    if beat.kind == Beat.Kind.STILL and beat.beside_still is not None:
        into, out = beat.beside_still.frame, beat.beside_still.frame + 1
    else:
        assert beat.beside_excerpt is not None
        into = beat.beside_excerpt.in_frame if beat.beside_in is None else beat.beside_in
        out = beat.beside_excerpt.out_frame if beat.beside_out is None else beat.beside_out
    return SecondView(str(source.key), source.rate, into, out, beat.beside_mirrored)


def beside_marked(beat: Beat, view: SecondView) -> Still | None:
    """The still whose marks lie over the second view: only while that view stands, and on its very frame."""
    still, source = beat.beside_still, beside_source(beat)
    if still is None or source is None or (beat.kind == Beat.Kind.EXCERPT and not beat.hold_ms):
        return None
    return still if (still.source_id, still.frame) == (source.pk, view.out_frame - 1) else None


def _inside(source: Source, start: int, end: int) -> bool:
    return 0 <= start < end <= (source.frame_count or 0)


@dataclass(frozen=True)
class RunningCurve:
    """A track's curves over what is on screen. ``plot`` runs in seconds from frame ``first`` of the view that it
    follows, at ``rate`` frames a second: the view beside where ``follows_beside``."""

    plot: Plot
    rate: Fraction
    first: int
    last: int
    follows_beside: bool


def curve_of(beat: Beat) -> RunningCurve | None:
    """The curve as it runs along with an excerpt; None without one, and where it has nothing to show there."""
    track = beat.curve_track
    if track is None or beat.kind != Beat.Kind.EXCERPT:
        return None
    for source, first, last, mirrored, beside in _spans(beat):
        if source.pk == track.source_id and track.in_frame <= last and first < track.out_frame:
            made = speed_plot if beat.curve_quantity == Beat.CurveQuantity.SPEED else angle_plot
            start, end = (float(frame / source.rate) for frame in (first, max(last, first + 1)))
            labels = {segment_words(name) for name in beat.curve_names}
            plot = plot_between(made(reckoned(track)), start, end, labels, mirrored=mirrored)
            if has_values(plot):
                return RunningCurve(plot, source.rate, first, last, beside)
    return None


def _spans(beat: Beat) -> Iterator[tuple[Source, int, int, bool, bool]]:
    """(source, first frame, last frame, mirrored, whether it is the view beside) of each view of an excerpt."""
    found = footage_of(beat)
    if found is not None:
        yield found[0], found[1], found[2] - 1, beat.mirrored, False
    view, other = second_view(beat), beside_source(beat)
    if view is not None and other is not None:
        yield other, view.in_frame, view.out_frame - 1, view.mirrored, True


def view_fault(beat: Beat) -> str:
    """Why the second view can't be shown, as one sentence; "" where it can, and where none is chosen."""
    source, found = beside_source(beat), footage_of(beat)
    if source is None or found is None or second_view(beat) is not None:
        return ""
    if not source.is_ready:
        return f"“{source}” has not been read yet: wait until it is ready, or choose another second view."
    first = found[0]
    if first.event_id != source.event_id or tied_view(first) is None or tied_view(source) is None:
        return f"“{source}” is no longer tied to “{first}”: tie the two again, or choose another second view."
    return (
        f"“{source}” has no picture of all these instants: show less here, tie the two views again, or choose "
        "another second view."
    )


def curve_fault(beat: Beat) -> str:
    """Why the curve can't be shown, as one sentence; "" where it can, and where none is chosen."""
    track = beat.curve_track
    if track is None or beat.kind != Beat.Kind.EXCERPT or footage_of(beat) is None or curve_of(beat):
        return ""
    if not any(track.source_id == span[0].pk for span in _spans(beat)):
        return f"The track “{track}” is of footage that is not shown here: choose another curve, or none."
    return f"The track “{track}” has measured nothing in what is shown here: mark it there, or choose another curve."


def marks_faults(beat: Beat) -> Iterator[Trouble]:
    """Why marks that were chosen can't be seen."""
    still, marked = beat.still, beat.marked
    if marked is not None:
        yield from _unreadable(beat, marked)
    elif still is not None and beat.kind in (Beat.Kind.EXCERPT, Beat.Kind.STILL):
        says = f"The marks of “{still.name or still.timecode}” are not seen"
        if beat.kind == Beat.Kind.EXCERPT and not beat.hold_ms:
            yield Trouble(
                "near", says, "They lie over the frame that is held: hold the last frame, or let them go."
            )
        else:
            mend = (
                f"They are of frame {still.frame}, and another frame stands here: choose a still of this one."
            )
            yield Trouble("near", says, mend)


def _unreadable(beat: Beat, still: Still) -> Iterator[Trouble]:
    try:
        still_document(still)
        if beat.marks_way == Beat.MarksWay.WORDS:
            places_of(beat.words, beat.marks_at)
    except MarksError as fault:
        yield Trouble("over", "The marks chosen here can't be read", str(fault))
    except ValueError as fault:
        yield Trouble("over", "A mark waits for words that are not spoken", str(fault))


_GONE = {
    "excerpt_id": "The excerpt that was shown here has been deleted",
    "source_id": "The footage that was shown here has been deleted",
    "still_id": "The marks that lay over this picture have been deleted",
    "beside_source_id": "The second view that stood here has been deleted",
    "beside_excerpt_id": "The second view that stood here has been deleted",
    "beside_still_id": "The still that stood beside this picture has been deleted",
    "curve_track_id": "The track whose curve ran along here has been deleted",
}


def troubles_of(beat: Beat) -> tuple[Trouble, ...]:
    """What of a beat's chosen picture can't be shown, so that it is said before anything is assembled."""
    gone = "Choose another one, or keep the picture as it is now: then this is no longer said."
    found = [Trouble("over", _GONE[name], gone) for name in dict.fromkeys(beat.gone) if name in _GONE]
    found += marks_faults(beat)
    if fault := view_fault(beat):
        found.append(Trouble("over", "The second view can't be shown", fault, two_views=True))
    if fault := curve_fault(beat):
        found.append(Trouble("over", "The curve can't be shown", fault, two_views=True))
    return tuple(found)
