"""The page that sets a second view and a curve beside a beat's picture, and shows both views at one instant."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from breakdowns.footage.models import Source
from breakdowns.footage.selectors import tied_view
from breakdowns.footage.services import source_nudge, sources_tie
from breakdowns.footage.timebase import TimeError, decimal_text, frames_nearest, parse_timecode
from breakdowns.footage.views_offset import offset_seconds
from breakdowns.people.access import studio_required
from breakdowns.scripts.models import Beat, Breakdown
from breakdowns.scripts.selectors import beats_of
from breakdowns.scripts.services import beat_picture_save
from breakdowns.tracks.plot import plot_svg
from breakdowns.tracks.plot_cursor import cursor_words

from .forms import TwoViewsForm
from .selectors import beside_source, curve_fault, curve_of, footage_of, second_view, view_fault

_CURVES = {"wide": (1200, 260), "narrow": (400, 220)}
_STEPS = (("10 back", -10, "⇧←"), ("1 back", -1, "←"), ("1 on", 1, "→"), ("10 on", 10, "⇧→"))
_KEYS = {"⇧←": "Shift+ArrowLeft", "←": "ArrowLeft", "→": "ArrowRight", "⇧→": "Shift+ArrowRight"}


@dataclass(frozen=True)
class Picture:
    """One view's frame as the page shows it; ``frame`` is None where it has no picture of the instant."""

    source: Source
    frame: int | None
    mirrored: bool
    says: str = ""

    @property
    def label(self) -> str:
        return "" if self.frame is None else self.source.timecode_at(self.frame)


@dataclass(frozen=True)
class Step:
    label: str
    href: str
    shown_key: str
    key: str
    name: str


@dataclass
class Instants:
    """Both views at one instant, and where one can go from there."""

    first: Picture
    second: Picture | None
    steps: list[Step]
    to_tie: Source | None = None
    steps_there: list[Step] = field(default_factory=list)
    nudge: Source | None = None
    query: str = ""
    curve: dict[str, str] = field(default_factory=dict)
    faults: list[str] = field(default_factory=list)
    together: str = ""


def _frame(text: str, source: Source, default: int) -> int:
    """A typed frame or timecode, held inside the source."""
    try:
        at = int(text) if text.isdecimal() and len(text) < 10 else parse_timecode(text, source.rate)
    except TimeError:
        at = default
    return max(0, min(at, (source.frame_count or 1) - 1))


def _steps(query: QueryDict, name: str, at: int, ends: tuple[int, int], keys: bool) -> list[Step]:
    made = []
    for label, by, key in _STEPS:
        goal = query.copy()
        goal[name] = str(max(ends[0], min(at + by, ends[1])))
        made.append(
            Step(
                label, f"?{goal.urlencode()}", key if keys else "", _KEYS[key] if keys else "", f"{name}{by}"
            )
        )
    return made


def _instants(asked: QueryDict, shown: Beat, form: TwoViewsForm) -> Instants:
    found = footage_of(shown)
    assert found is not None
    source, start, end = found
    to_tie = form.to_tie if form.is_bound and form.is_valid() else None
    at = _frame(asked.get("at", ""), source, start)
    if to_tie is None:
        at = max(start, min(at, end - 1))
    query = asked.copy()
    for name in ("at", "there", "csrfmiddlewaretoken", "base_picture"):
        query.pop(name, None)
    query["at"] = str(at)
    first, last = (0, (source.frame_count or 1) - 1) if to_tie else (start, end - 1)
    made = Instants(Picture(source, at, shown.mirrored), None, [], to_tie)
    if to_tie is not None:
        tied = tied_view(to_tie) if to_tie.event_id and to_tie.event_id == source.event_id else None
        there = _frame(asked.get("there", ""), to_tie, tied.sync_frame if tied else 0)
        query["there"] = str(there)
        made.second = Picture(to_tie, there, False, "not tied yet")
        made.steps_there = _steps(query, "there", there, (0, (to_tie.frame_count or 1) - 1), False)
    elif (other := beside_source(shown)) is not None:
        made.second = _second(shown, source, other, at, start)
        if shown.beside_source_id and tied_view(source) and tied_view(other):
            made.nudge = other
            made.together = reverse("footage:together", args=[source.event_id]) if source.event_id else ""
    made.steps = _steps(query, "at", at, (first, last), True)
    made.query = query.urlencode()
    made.curve = _curve(shown, made)
    made.faults = [fault for fault in (view_fault(shown), curve_fault(shown)) if fault]
    return made


def _second(shown: Beat, source: Source, other: Source, at: int, start: int) -> Picture:
    """The second view while the first shows frame ``at``."""
    if shown.beside_source_id:
        view, goal = tied_view(source), tied_view(other)
        if view is None or goal is None:
            return Picture(other, None, shown.beside_mirrored, "not tied any more")
        moment = at / source.rate + offset_seconds(view, goal)
        frame = frames_nearest(moment, goal.rate).count
        if not 0 <= frame < (other.frame_count or 0):
            return Picture(other, None, shown.beside_mirrored, "no picture of this instant")
        return Picture(other, frame, shown.beside_mirrored, _apart(frame / goal.rate - moment))
    found = second_view(shown)
    if found is None:
        return Picture(other, None, shown.beside_mirrored, "no picture of this instant")
    frame = found.in_frame + frames_nearest((at - start) / source.rate, found.rate).count
    says = "" if frame < found.out_frame else "it stays on its last frame"
    return Picture(other, min(frame, found.out_frame - 1), shown.beside_mirrored, says)


def _apart(seconds: Fraction) -> str:
    if not seconds:
        return "the same instant, exactly"
    way = "after" if seconds > 0 else "before"
    return f"the nearest frame, {decimal_text(abs(seconds) * 1000, 1)} ms {way} the same instant"


def _curve(shown: Beat, made: Instants) -> dict[str, str]:
    """The curve with its cursor at the frame that is shown, in both widths."""
    curve = curve_of(shown)
    if curve is None:
        return {}
    followed = made.second if curve.follows_beside else made.first
    at = None
    if followed is not None and followed.frame is not None:
        at = float((followed.frame - curve.first) / curve.rate)
    says = "" if at is None else cursor_words(curve.plot, at)
    return {
        name: plot_svg(curve.plot, size, at, backing=1, cursor_says=says) for name, size in _CURVES.items()
    }


@studio_required
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def two_views(request: HttpRequest, slug: str, key: UUID) -> HttpResponse:
    """Choose the second view and the curve (POST with ``do`` = keep); tie the two views or move one by a frame
    (``do`` = tie, earlier, later); GET with the same fields only shows."""
    breakdown = get_object_or_404(Breakdown, slug=slug)
    beat = get_object_or_404(beats_of(breakdown), key=key)
    page: dict[str, Any] = {"breakdown": breakdown, "beat": beat, "number": beat.position + 1}
    if footage_of(beat) is None:
        return render(request, "scripts/two_views.html", page)
    do = request.POST.get("do", "keep") if request.method == "POST" else ""
    if do in ("tie", "earlier", "later"):
        return _tied(request, beat, do)
    asked = request.POST if do else request.GET
    form = TwoViewsForm(asked if do or "beside" in asked else None, beat=beat, saving=do == "keep")
    if do == "keep" and form.is_valid():
        beat_picture_save(breakdown, key, by=request.user, **form.values())
        messages.success(request, "Kept; undo takes it back.")
        return redirect(f"{breakdown.get_absolute_url()}#beat-{key}")
    shown = form.applied() if form.is_bound and form.is_valid() else beat
    page |= {"form": form, "instants": _instants(asked, shown, form), "shown": shown}
    template = "scripts/_instants.html" if request.htmx else "scripts/two_views.html"
    return render(request, template, page, status=422 if do == "keep" else 200)


def _tied(request: HttpRequest, beat: Beat, do: str) -> HttpResponse:
    """Tie two views, or move the second by one frame, and show it."""
    goal = request.GET.copy()
    found = footage_of(beat)
    assert found is not None
    pk = request.POST.get("source", "")
    other = get_object_or_404(Source, pk=int(pk) if pk.isdecimal() and len(pk) < 10 else 0)
    at, there = (
        _frame(request.POST.get(name, ""), one, 0) for name, one in (("at", found[0]), ("there", other))
    )
    try:
        if do == "tie":
            other = sources_tie(found[0], at, other, there)
            messages.success(
                request, f"Tied: frame {at} of “{found[0]}” and frame {there} of “{other}” are one instant."
            )
        else:
            source_nudge(other, 1 if do == "later" else -1)
    except ValueError as fault:
        messages.error(request, str(fault))
    else:
        goal["beside"] = f"view:{other.pk}"
        goal.pop("there", None)
    goal["at"] = str(at)
    return redirect(
        f"{reverse('scripts:two_views', args=[beat.breakdown.slug, beat.key])}?{goal.urlencode()}"
    )
