"""What the pages of a track are filled with."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from django.urls import reverse

from anatomy.motion.wording import milliseconds
from breakdowns.footage.selectors import player_data

from .choices import choice
from .document import counted, outside, walk
from .models import Track
from .plot import Plot, angle_plot, plot_svg, residual_plot, speed_plot
from .reckoning import Reckoned, segment_words, sentence_of
from .selectors import next_steps, picture_is_there, picture_size, reckoned, upright_aspect
from .strip import StripRow, strip_rows

# The lines that stand for the segments, with the tones of their curves.
_LINES = {
    "arm": [("left_hip", "right_hip", 2), ("left_shoulder", "right_shoulder", 1), ("{s}_shoulder", "{s}_elbow", 3), ("{s}_elbow", "{s}_wrist", 4)],
    "leg": [("left_hip", "right_hip", 2), ("{s}_hip", "{s}_knee", 1), ("{s}_knee", "{s}_ankle", 3), ("{s}_heel", "{s}_foot_index", 4)],
}  # fmt: skip
_FROM_ABOVE = re.compile(r"\b(overhead|above|top|bird)", re.IGNORECASE)
WIDE, NARROW = (880, 330), (380, 300)


@dataclass(frozen=True)
class PeakLine:
    """One row of the sequence, as it is written."""

    words: str
    timecode: str
    frame: int
    after: str
    sd: str
    speed: str
    unclear: str


def shown_names(track: Track) -> list[str]:
    """The landmarks of the walk first, then every other that is marked somewhere."""
    first = list(walk(track.chain, track.side))
    return first + sorted({name for row in track.landmarks.values() for name in row} - set(first))


def lines_of(track: Track) -> list[tuple[str, str, int]]:
    """From, to and tone of each segment's line."""
    return [(a.format(s=track.side), b.format(s=track.side), tone) for a, b, tone in _LINES[track.chain]]


def _strip(track: Track, done: Reckoned) -> list[StripRow]:
    names = shown_names(track)
    return strip_rows(track.landmarks, names, (track.in_frame, track.out_frame), done.made(names))


def _peak_lines(track: Track, done: Reckoned) -> list[PeakLine]:
    first = done.peaks[0].time_s if done.peaks else 0.0
    return [
        PeakLine(
            segment_words(peak.segment),
            track.source.timecode_at(max(0, round(peak.time_s * float(track.source.rate)))),
            round(peak.time_s * float(track.source.rate)),
            f"{round(1000 * (peak.time_s - first))}",
            milliseconds(0, peak.sd_s).split("± ")[1],
            f"{abs(peak.deg_per_s):.0f} ± {peak.sd_deg_per_s:.0f}°/s",
            peak.unclear,
        )
        for peak in done.peaks
    ]


def _sentences(done: Reckoned) -> list[dict[str, Any]]:
    near = max(0, len(done.peaks) - 1)
    return [{"text": sentence_of(lag), "order": lag.order} for lag in done.lags[:near]]


def _plots(plot: Plot, cursor: float | None) -> dict[str, str]:
    return {"wide": plot_svg(plot, WIDE, cursor), "narrow": plot_svg(plot, NARROW, cursor)}


def panel(track: Track, frame: int) -> dict[str, Any]:
    """Strip, curves, sequence and what has to be said of them."""
    done = reckoned(track)
    cursor = frame / float(track.source.rate)
    suggested = counted(track.landmarks, ["suggested"])
    page: dict[str, Any] = {
        "track": track,
        "frame": frame,
        "at": frame - track.in_frame,
        "rows": _strip(track, done),
        "total": counted(track.landmarks),
        "suggested": suggested,
        "outside": outside(track.landmarks, picture_size(track.source)),
        "left_out": [(segment_words(segment), why) for segment, why in done.left_out],
        "peaks": _peak_lines(track, done),
        "sentences": _sentences(done),
        "all_sentences": [sentence_of(lag) for lag in done.lags[max(0, len(done.peaks) - 1) :]],
        "from_above": bool(_FROM_ABOVE.search(f"{track.source.view} {track.source.title}")),
        "smoothing_why": done.smoothing_asked[1],
        "keys": [key - track.in_frame for key in track.key_frames],
    }
    if done.curves:
        page["speed"], page["angle"] = _plots(speed_plot(done), cursor), _plots(angle_plot(done), cursor)
        page["cutoffs"] = [
            {"words": segment_words(name), "hz": curve.smoothing.cutoff_hz}
            for name, curve in done.curves.items()
        ]
        if track.smoothing == "automatic":
            page["residuals"] = [
                plot_svg(residual_plot(name, one), NARROW) for name, one in done.residuals.items()
            ]
    page["undo"], page["redo"] = next_steps(track)
    return page


def state_of(track: Track) -> dict[str, Any]:
    """What the page's script holds."""
    undo, redo = next_steps(track)
    return {
        "version": track.version,
        "landmarks": track.landmarks,
        "keys": track.key_frames,
        "undo": undo.what if undo else "",
        "redo": redo.what if redo else "",
    }


def editor_data(track: Track) -> dict[str, Any]:
    """What the page's script starts from."""
    size, aspect = picture_size(track.source), upright_aspect(track.source)
    urls = {
        name: reverse(f"tracks:{name}", args=[track.key])
        for name in ("points", "change", "undo", "redo", "panel")
    }
    return state_of(track) | {
        "size": size,
        "stretch": [max(aspect, 1.0), max(1 / aspect, 1.0)],
        "span": [track.in_frame, track.out_frame],
        "walk": walk(track.chain, track.side),
        "names": shown_names(track),
        "lines": lines_of(track),
        "batch": choice("frames_a_batch"),
        "urls": urls | {"frame": reverse("footage:still", args=[track.source.key, 0]).removesuffix("0/")},
    }


def overlay_of(track: Track, frame: int) -> dict[str, Any]:
    """The landmarks of a frame for the plain page: places in per mille of the picture's width and height."""
    size, row = picture_size(track.source), track.landmarks.get(str(frame), {})
    at = {name: (1000 * p[0] / size[0], 1000 * p[1] / size[1], p[2]) for name, p in row.items()}
    return {
        "points": [(name.replace("_", " "), *place) for name, place in at.items()],
        "lines": [(at[a][:2], at[b][:2], tone) for a, b, tone in lines_of(track) if a in at and b in at],
    }


def whole_page(track: Track, frame: int, **more: Any) -> dict[str, Any]:
    """The context of the track's page; ``more`` replaces parts, such as a faulty form."""
    from .forms import ChoicesForm, FileForm, KeysForm, PointForm

    row = track.landmarks.get(str(frame), {})
    names = shown_names(track)
    page = panel(track, frame) | {
        "source": track.source,
        "data": player_data(track.source),
        "editor": editor_data(track),
        "overlay": overlay_of(track, frame),
        "here": [
            (name, name.replace("foot_index", "toes").replace("_", " "), row.get(name)) for name in names
        ],
        "picture_there": picture_is_there(track.source),
        "choices_form": ChoicesForm(instance=track),
        "point_form": PointForm(),
        "keys_form": KeysForm(initial={"frames": " ".join(map(str, track.key_frames))}),
        "file_form": FileForm(),
        "stills": track.source.stills.filter(frame__gte=track.in_frame, frame__lt=track.out_frame).count(),
        "before": max(track.in_frame, frame - 1),
        "after": min(track.last_frame, frame + 1),
        "is_key": frame in track.key_frames,
        "longest": choice("longest_track"),
    }
    return page | more
