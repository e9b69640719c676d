from __future__ import annotations

from uuid import UUID

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, render
from django.utils.cache import patch_cache_control
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST

from anatomy.vocabulary.selectors import current_vocabulary
from breakdowns.people.access import studio_required
from breakdowns.scripts.forms import MOST_WORDS
from breakdowns.scripts.models import Breakdown
from breakdowns.scripts.selectors import beats_of
from breakdowns.scripts.vocabulary_stamps import vocabulary_stamp

from .selectors import marks_of_words, meanings_shown, terms_listed

_LONGEST_TERM = 120
_KEPT_SECONDS = 24 * 3600


@studio_required
@never_cache
@require_POST
def beat_check(request: HttpRequest, slug: str, key: UUID) -> HttpResponse:
    """Marks under the words that were sent, as the words of this beat. Nothing is saved."""
    breakdown = get_object_or_404(Breakdown.objects.select_related("voice"), slug=slug)
    beat = get_object_or_404(beats_of(breakdown), key=key)
    # Characters that can't be stored are counted, so that every place stays where the page has it.
    words = request.POST.get("words", "").replace("\r\n", "\n").replace("\r", "\n")
    if len(words) > MOST_WORDS:
        return JsonResponse({"error": f"A beat holds at most {MOST_WORDS} characters: split it."}, status=422)
    return JsonResponse({"marks": marks_of_words(breakdown, beat, words)})


def _kept(request: HttpRequest, response: HttpResponse) -> HttpResponse:
    """An address with the stamp of the vocabulary as it stands always answers the same: the browser keeps it."""
    if request.GET.get("v") == vocabulary_stamp(current_vocabulary()):
        patch_cache_control(response, private=True, max_age=_KEPT_SECONDS, immutable=True)
    else:
        patch_cache_control(response, private=True, no_cache=True)
    return response


@studio_required
@require_GET
def vocabulary_terms(request: HttpRequest) -> HttpResponse:
    """Every term, for completion and for finding the one at the cursor."""
    return _kept(request, JsonResponse(dict(terms_listed(current_vocabulary()))))


@studio_required
@require_GET
def vocabulary_meaning(request: HttpRequest) -> HttpResponse:
    """What ``text`` means, as a piece of a page; 404 where it is no term."""
    text, vocabulary = request.GET.get("text", ""), current_vocabulary()
    meanings = meanings_shown(text, vocabulary) if text and len(text) <= _LONGEST_TERM else []
    if not meanings:
        sentence = "The vocabulary has no such term."
        return HttpResponse(sentence, status=404, content_type="text/plain; charset=utf-8")
    return _kept(
        request, render(request, "scripts/_meaning.html", {"meanings": meanings, "vocabulary": vocabulary})
    )
