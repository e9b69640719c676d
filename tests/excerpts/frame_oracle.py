"""A second ledger that shares nothing with the engine: sets of frames, counted one by one.

Plans must lie on the grid: source times on 1/10 s, screen times on 1/40 s. Definitions of the project
(quantities of the excerpt ledger), written down again from their words.
"""

from __future__ import annotations

from fractions import Fraction

from breakdowns.excerpts.plan import ExcerptSegment, Plan

TICK = Fraction(1, 40)
FRAME = Fraction(1, 10)


def _count(seconds: Fraction, unit: Fraction) -> int:
    whole = seconds / unit
    assert whole.denominator == 1, "the plan is off the grid"
    return int(whole)


def _longest(flags: list[bool]) -> Fraction:
    best = now = 0
    for flag in flags:
        now = now + 1 if flag else 0
        best = max(best, now)
    return best * TICK


def account(plan: Plan) -> dict:
    """Figures by name; per source under its id."""
    counted = {source.id for source in plan.sources if source.terms == "third_party"}
    ticks: list[dict] = []
    frames = {source.id: [] for source in plan.sources}
    stills = {source.id: set() for source in plan.sources}
    sums = {
        source.id: dict.fromkeys(("screen", "hold", "sound", "longest", "longest_screen"), Fraction(0))
        for source in plan.sources
    }
    used = set()
    for segment in plan.segments:
        if not isinstance(segment, ExcerptSegment):
            ticks += [{"on": set(), "moving": set(), "marked": False}] * _count(segment.duration, TICK)
            continue
        shown = [segment.main] + ([segment.beside] if segment.beside else [])
        moving = [_count((view.end - view.start) / view.speed, TICK) for view in shown]
        length = max(m + _count(view.hold, TICK) for m, view in zip(moving, shown, strict=True))
        for tick in range(length):
            marked = segment.annotated == "all" or (segment.annotated == "hold" and tick >= moving[0])
            moves = {view.source for m, view in zip(moving, shown, strict=True) if tick < m}
            ticks.append({"on": {view.source for view in shown}, "moving": moves, "marked": marked})
        for m, view in zip(moving, shown, strict=True):
            if not length:
                continue
            used.add(view.source)
            mine = range(_count(view.start, FRAME), _count(view.end, FRAME))
            frames[view.source] += mine
            row = sums[view.source]
            row["screen"] += length * TICK
            row["hold"] += (length - m) * TICK
            row["sound"] += 0 if view.muted else m * TICK
            row["longest"] = max(row["longest"], len(mine) * FRAME)
            row["longest_screen"] = max(row["longest_screen"], length * TICK)
            if length > m:
                stills[view.source].add(view.start if view.reverse else view.end)
    total = len(ticks) * TICK
    spoken = plan.narration.intervals
    said = (
        [any(a <= n * TICK < b for a, b in spoken) for n in range(len(ticks))] if spoken is not None else None
    )
    on = [bool(tick["on"] & counted) for tick in ticks]
    marked = [tick["marked"] and flag for tick, flag in zip(ticks, on, strict=True)]
    made = {
        "piece_seconds": total,
        "excerpt_screen_seconds": sum(on) * TICK,
        "own_seconds": total - sum(on) * TICK,
        "longest_any_source_run_seconds": _longest(on),
        "annotated_excerpt_seconds": sum(marked) * TICK,
        "original_sound_seconds": sum((sums[key]["sound"] for key in counted), Fraction(0)),
        "sources_used": len(used & counted),
    }
    if said is not None:
        silent = [flag and not word for flag, word in zip(on, said, strict=True)]
        bare = [flag and not mark for flag, mark in zip(silent, marked, strict=True)]
        made |= {
            "narration_seconds": sum(said) * TICK,
            "narration_over_excerpt_seconds": (sum(on) - sum(silent)) * TICK,
            "uncommented_excerpt_seconds": sum(silent) * TICK,
            "bare_excerpt_seconds": sum(bare) * TICK,
            "longest_uncommented_run_seconds": _longest(silent),
        }
    per_source = {}
    for source in plan.sources:
        key, mine = source.id, frames[source.id]
        edges = {n * FRAME for n in mine} | {(n + 1) * FRAME for n in mine}
        stretches = sum(n - 1 not in set(mine) for n in set(mine))
        runs, now = [0], 0
        for n in range(_count(source.duration, FRAME) + 1):
            now = now + 1 if n in set(mine) else 0
            runs.append(now)
        per_source[key] = {
            "union_seconds": len(set(mine)) * FRAME,
            "played_seconds": len(mine) * FRAME,
            "replayed_seconds": (len(mine) - len(set(mine))) * FRAME,
            "times_repeated": max((mine.count(n) - 1 for n in set(mine)), default=0),
            "screen_seconds": sums[key]["screen"],
            "hold_seconds": sums[key]["hold"],
            "longest_excerpt_seconds": sums[key]["longest"],
            "longest_excerpt_screen_seconds": sums[key]["longest_screen"],
            "longest_union_stretch_seconds": max(runs) * FRAME,
            "union_stretches": stretches,
            "stills_outside_union": len(stills[key] - edges),
            "longest_timeline_run_seconds": _longest([key in tick["on"] for tick in ticks]),
            "longest_moving_run_seconds": _longest([key in tick["moving"] for tick in ticks]),
            "original_sound_seconds": sums[key]["sound"],
        }
    return made | {"sources": per_source}
