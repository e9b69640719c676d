from __future__ import annotations

import re
from typing import Any

from django.contrib import messages
from django.core.exceptions import RequestDataTooBig
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import content_disposition_header
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from breakdowns.footage.models import Source
from breakdowns.people.access import studio_required
from breakdowns.people.middleware import runs_webassembly
from breakdowns.stills.sent import SentError, read_sent

from . import services
from .choices import choice
from .context import panel as panel_context
from .context import state_of, whole_page
from .curves_csv import curves_csv, points_csv, read_file, track_json
from .document import TrackError
from .forms import ChoicesForm, FileForm, KeysForm, MakeForm, PointForm
from .models import Track
from .plot import angle_plot, plot_svg, speed_plot
from .selectors import reckoned, tracks_listed

_RUN = re.compile(r"[A-Za-z0-9-]{1,40}", re.ASCII)


def _track(key: Any) -> Track:
    return get_object_or_404(Track.objects.select_related("source__event", "excerpt"), key=key)


def _frame(track: Track, text: str) -> int:
    """A frame out of an address or a form: held inside the track."""
    if not text.isascii() or not text.isdigit() or len(text) > 9:
        return track.in_frame
    return max(track.in_frame, min(int(text), track.last_frame))


@studio_required
@never_cache
@require_safe
def index(request: HttpRequest) -> HttpResponse:
    return render(request, "tracks/index.html", {"tracks": tracks_listed()[:200]})


@studio_required
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def make(request: HttpRequest, key: str) -> HttpResponse:
    """A new track on a source; ?excerpt=, ?in= and ?out= fill the form."""
    source = get_object_or_404(Source, key=key, state=Source.State.READY)
    typed = {
        "in_frame": request.GET.get("in", ""),
        "out_frame": request.GET.get("out", ""),
        "excerpt": request.GET.get("excerpt", ""),
    }
    form = MakeForm(request.POST or None, source=source, initial=typed | {"chain": "arm", "side": "right"})
    if request.method == "POST" and form.is_valid():
        try:
            return redirect(services.track_make(source=source, by=request.user, **form.cleaned_data))
        except TrackError as fault:
            form.add_error(None, str(fault))
    page = {
        "source": source,
        "form": form,
        "tracks": tracks_listed().filter(source=source),
        "longest": choice("longest_track"),
    }
    return render(request, "tracks/make.html", page, status=422 if form.errors else 200)


@studio_required
@never_cache
@require_safe
@runs_webassembly
def track(request: HttpRequest, key: str) -> HttpResponse:
    found = _track(key)
    return render(
        request, "tracks/track.html", whole_page(found, _frame(found, request.GET.get("frame", "")))
    )


@studio_required
@never_cache
@require_safe
def panel(request: HttpRequest, key: str) -> HttpResponse:
    """Strip, curves and sequence as they stand: a piece of the page."""
    found = _track(key)
    return render(
        request, "tracks/_panel.html", panel_context(found, _frame(found, request.GET.get("frame", "")))
    )


# --- by script -----------------------------------------------------------------------------------


def _refused(sentence: str, status: int) -> JsonResponse:
    return JsonResponse({"error": sentence}, status=status)


@studio_required
@require_POST
def points(request: HttpRequest, key: str) -> HttpResponse:
    """Points of some frames, as JSON: ``{"base_version", "frames", "suggest", "run"}``. Answers the state after it."""
    found = _track(key)
    try:
        sent = read_sent(request.body, choice("sent_bytes"))
    except SentError as fault:
        return _refused(str(fault), fault.status)
    except RequestDataTooBig:
        return _refused("Too many points at once: send fewer frames.", 413)
    run, base = sent.get("run", ""), sent.get("base_version")
    run = run if isinstance(run, str) and _RUN.fullmatch(run) else ""
    base = base if isinstance(base, int) and not isinstance(base, bool) and 0 < base < 2**31 else None
    try:
        if sent.get("suggest") is True:
            done = services.track_points_suggest(
                found, sent.get("frames"), what="suggest points", by=request.user, run=run
            )
        else:
            done = services.track_points_set(
                found, sent.get("frames"), what="place points", by=request.user, base_version=base, run=run
            )
    except TrackError as fault:
        return _refused(str(fault), 422)
    said = ""
    if done.overtaken:
        said = f"Somebody changed {len(done.overtaken)} of these points meanwhile; yours stand now, undo has theirs back."
    return JsonResponse(_answer(done.track, base) | {"said": said, "changed": done.cells, "kept": done.kept})


def _answer(track: Track, base: int | None) -> dict[str, Any]:
    """The state; without the landmarks where the page knows them."""
    state = state_of(track)
    if base is not None and track.version <= base + 1:
        del state["landmarks"]
    return state


def _answered(
    request: HttpRequest, track: Track, said: str, frame: int, *, fault: bool = False
) -> HttpResponse:
    if request.headers.get("Accept", "").startswith("application/json"):
        return _refused(said, 422) if fault else JsonResponse(state_of(track) | {"said": said})
    if said:
        (messages.error if fault else messages.success)(request, said)
    return redirect(f"{track.get_absolute_url()}?frame={frame}")


@studio_required
@require_POST
def undo(request: HttpRequest, key: str) -> HttpResponse:
    found = services.track_undo(_track(key))
    return _answered(request, found, "", _frame(found, request.POST.get("frame", "")))


@studio_required
@require_POST
def redo(request: HttpRequest, key: str) -> HttpResponse:
    found = services.track_redo(_track(key))
    return _answered(request, found, "", _frame(found, request.POST.get("frame", "")))


# --- changes from plain forms, and the same by script --------------------------------------------


@studio_required
@require_POST
def change(request: HttpRequest, key: str) -> HttpResponse:
    """One change; ``do`` says which."""
    found, do = _track(key), request.POST.get("do", "")
    frame = _frame(found, request.POST.get("frame", ""))
    if do in _FORMS:
        return _FORMS[do](request, found, frame)
    if do not in _PLAIN:
        return _answered(request, found, "This page knows no such change: load it again.", frame, fault=True)
    try:
        said = _PLAIN[do](request, found, frame)
    except TrackError as fault:
        return _answered(request, found, str(fault), frame, fault=True)
    return _answered(request, _track(key), said, frame)


def _number(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"


def _confirm(request: HttpRequest, track: Track, frame: int) -> str:
    everywhere = request.POST.get("all") == "yes"
    done = services.track_confirm(track, by=request.user, frame=None if everywhere else frame)
    return f"{_number(done.cells, 'point')} confirmed."


def _swap(request: HttpRequest, track: Track, frame: int) -> str:
    done = services.track_swap(track, frame, onward=request.POST.get("onward") == "yes", by=request.user)
    return "Left and right are swapped." if done.cells else "There is nothing to swap."


def _clear(request: HttpRequest, track: Track, frame: int) -> str:
    done = services.track_clear(track, frame, by=request.user, name=request.POST.get("landmark", ""))
    return f"{_number(done.cells, 'point')} taken away."


def _key(request: HttpRequest, track: Track, frame: int) -> str:
    services.track_keys_set(track, {*track.key_frames} ^ {frame}, by=request.user)
    return f"Frame {frame} is {'no longer' if frame in track.key_frames else 'now'} a key frame."


def _stills(request: HttpRequest, track: Track, frame: int) -> str:
    done = services.track_stills_take(track, by=request.user, as_keys="as_keys" in request.POST)
    return f"{_number(done.cells, 'point')} taken over, {done.kept} placed here before kept."


_PLAIN = {"confirm": _confirm, "swap": _swap, "clear": _clear, "key": _key, "stills": _stills}


def _faulty(request: HttpRequest, track: Track, frame: int, **form: Any) -> HttpResponse:
    return render(request, "tracks/track.html", whole_page(_track(track.key), frame, **form), status=422)


def _point(request: HttpRequest, track: Track, frame: int) -> HttpResponse:
    form = PointForm(request.POST)
    if form.is_valid():
        data = form.cleaned_data
        try:
            goal = {str(frame): {data["landmark"]: [data["x"], data["y"]]}}
            services.track_points_set(track, goal, what="place a point by its coordinates", by=request.user)
            return _answered(request, _track(track.key), "The point is placed.", frame)
        except TrackError as fault:
            form.add_error(None, str(fault))
    return _faulty(request, track, frame, point_form=form)


def _choices(request: HttpRequest, track: Track, frame: int) -> HttpResponse:
    form = ChoicesForm(request.POST, instance=_track(track.key))
    if form.is_valid():
        services.track_settings_save(track, by=request.user, **form.cleaned_data)
        return _answered(request, _track(track.key), "", frame)
    return _faulty(request, track, frame, choices_form=form)


def _keys(request: HttpRequest, track: Track, frame: int) -> HttpResponse:
    form = KeysForm(request.POST)
    if form.is_valid():
        try:
            services.track_keys_set(track, form.cleaned_data["frames"], by=request.user)
            return _answered(request, _track(track.key), "", frame)
        except TrackError as fault:
            form.add_error("frames", str(fault))
    return _faulty(request, track, frame, keys_form=form)


def _file(request: HttpRequest, track: Track, frame: int) -> HttpResponse:
    form = FileForm(request.POST, request.FILES)
    if form.is_valid():
        most = choice("sent_bytes")
        try:
            found = read_file(form.cleaned_data["file"].read(most + 1), services.span_of(track), most)
            done = services.track_points_set(track, found, what="read points from a file", by=request.user)
            return _answered(request, done.track, f"{_number(done.cells, 'point')} read.", frame)
        except TrackError as fault:
            form.add_error("file", str(fault))
    return _faulty(request, track, frame, file_form=form)


_FORMS = {"point": _point, "choices": _choices, "keys": _keys, "file": _file}


@studio_required
@require_POST
def delete(request: HttpRequest, key: str) -> HttpResponse:
    found = _track(key)
    source = found.source
    if not services.track_delete(found):
        messages.error(
            request, "This track stays: a script shows its curve. Take the curve off that beat first."
        )
        return redirect(found)
    messages.success(request, f"{found} was deleted; the footage is untouched.")
    return redirect(source)


# --- out -----------------------------------------------------------------------------------------


@studio_required
@never_cache
@require_safe
def export(request: HttpRequest, key: str, kind: str) -> HttpResponse:
    """curves.csv, points.csv, json, or the plots as SVG (speed-svg, angle-svg; ?cursor= seconds of the source)."""
    found = _track(key)
    done = reckoned(found)
    if kind == "curves":
        answer, ending = HttpResponse(curves_csv(done), content_type="text/csv; charset=utf-8"), "csv"
    elif kind == "points":
        answer, ending = (
            HttpResponse(points_csv(found.landmarks), content_type="text/csv; charset=utf-8"),
            "csv",
        )
    elif kind == "json":
        answer, ending = (
            HttpResponse(track_json(done, _about(found)), content_type="application/json"),
            "json",
        )
    elif kind in ("speed", "angle"):
        plot = (speed_plot if kind == "speed" else angle_plot)(done) if done.curves else None
        if plot is None:
            raise Http404("There are no curves yet.")
        answer, ending = (
            HttpResponse(plot_svg(plot, (960, 360), backing=1), content_type="image/svg+xml"),
            "svg",
        )
    else:
        raise Http404("There is no such form of a track.")
    plain = "".join(letter if letter.isalnum() or letter in "-_ " else "-" for letter in found.name[:60])
    answer.headers["Content-Disposition"] = (
        content_disposition_header(True, f"{plain}-{kind}.{ending}") or "attachment"
    )
    return answer


def _about(track: Track) -> dict[str, Any]:
    return {
        "track": track.name,
        "source": str(track.source),
        "view": track.source.view,
        "rate": track.source.rate_text,
        "in_frame": track.in_frame,
        "out_frame": track.out_frame,
        "side": track.side,
        "chain": track.chain,
        "smoothing": track.smoothing,
        "cutoff_hz": track.cutoff_hz,
        "click_sd_px": track.click_sd_px,
        "key_frames": track.key_frames,
    }
