"""A measured sentence put at the end of a chosen beat's words; undo takes it out again."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from breakdowns.people.access import studio_required
from breakdowns.scripts.models import Beat, Breakdown
from breakdowns.scripts.selectors import beats_of, breakdown_rows
from breakdowns.scripts.services import beat_words_save

LONGEST = 500


def _clean(text: str) -> str:
    return " ".join(text.replace("\0", "").split())[:LONGEST]


def _beat(text: str) -> Beat:
    try:
        key = UUID(text)
    except ValueError:
        key = UUID(int=0)
    return get_object_or_404(Beat.objects.select_related("breakdown"), key=key)


@studio_required
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def put(request: HttpRequest) -> HttpResponse:
    """Choose a script and a beat for ``?sentence=``; posting appends it there."""
    sentence = _clean(request.POST.get("sentence", "") or request.GET.get("sentence", ""))
    if request.method == "POST" and sentence and "beat" in request.POST:
        beat = _beat(request.POST["beat"])
        words = f"{beat.words.rstrip()} {sentence}".strip()
        saved = beat_words_save(
            beat.breakdown, beat.key, words, base_version=beat.version, base_words=beat.words, by=request.user
        )
        if saved.outcome in ("saved", "merged"):
            messages.success(
                request, f"The sentence stands at the end of beat {beat.position + 1}; undo takes it out."
            )
        return redirect(f"{beat.breakdown.get_absolute_url()}#beat-{beat.key}")
    slug = request.GET.get("script", "")
    chosen = Breakdown.objects.filter(slug=slug[:80]).first() if "\0" not in slug else None
    page = {"sentence": sentence, "rows": breakdown_rows(), "chosen": chosen}
    if chosen:
        page["beats"] = beats_of(chosen)
    return render(request, "scripts/put_sentence.html", page)
