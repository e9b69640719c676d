from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any, BinaryIO
from urllib.parse import urlencode

from django.conf import settings
from django.contrib import messages
from django.core.exceptions import RequestDataTooBig, ValidationError
from django.db import transaction
from django.http import (
    Http404,
    HttpRequest,
    HttpResponse,
    HttpResponseBase,
    JsonResponse,
    StreamingHttpResponse,
)
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST, require_safe

from breakdowns.people.access import studio_required

from .byte_ranges import answer_for
from .file_names import NotInFolder, ServerFile, find_file
from .forms import BeginForm, DetailsForm, ServerFileForm, SyncForm, UploadForm
from .media.errors import MediaError
from .media.frames import extract_frame
from .models import Event, Source, Upload
from .moments import read_moment
from .selectors import (
    master_path,
    media_path,
    player_data,
    probe_of,
    source_page,
    sources_listed,
    tied_sources,
    tied_view,
)
from .services import (
    FootageRefused,
    WrongOffset,
    source_change,
    source_create,
    source_delete,
    source_sync,
    upload_append,
    upload_begin,
    upload_drop,
    upload_whole,
)
from .timebase import TimeError
from .views_offset import frame_beside, offset_seconds

# --- files ---------------------------------------------------------------------------------------

STILL_WIDTHS = (160, 320, 480, 640, 960, 1280, 1920)
_PIECE = 1 << 18


class _Part:
    """Bytes [start, end) of an open file, a piece at a time; closed with the response."""

    def __init__(self, file: BinaryIO, start: int, end: int) -> None:
        self.file, self.left = file, end - start
        file.seek(start)

    def __iter__(self) -> Iterator[bytes]:
        while self.left and (piece := self.file.read(min(_PIECE, self.left))):
            self.left -= len(piece)
            yield piece

    def close(self) -> None:
        self.file.close()


def send_file(
    request: HttpRequest, path: Path, content_type: str, *, keep: str = "no-cache"
) -> HttpResponseBase:
    """A stored file, whole or a range of it, to somebody whose right was checked before. 404 if it is gone."""
    try:
        file = open(path, "rb")  # noqa: SIM115  closed with the response
    except OSError:
        raise Http404("The file is gone.") from None
    found = os.fstat(file.fileno())
    answer = answer_for(
        request.method or "GET",
        request.headers,
        size=found.st_size,
        etag=f'"{found.st_mtime_ns:x}-{found.st_size:x}"',
        modified=found.st_mtime,
    )
    response: HttpResponseBase
    if request.method == "HEAD" or not answer.length:
        file.close()
        response = HttpResponse(status=answer.status)
    else:
        response = StreamingHttpResponse(_Part(file, answer.start, answer.end), status=answer.status)
    response.headers["Content-Type"] = content_type
    response.headers["Cache-Control"] = f"private, {keep}"
    for name, value in answer.headers.items():
        response.headers[name] = value
    return response


@studio_required
@require_safe
def media(request: HttpRequest, key: str, which: str) -> HttpResponseBase:
    """A working file of a source: "copy", "strip", or "frame" with ?n=."""
    source = get_object_or_404(Source, key=key, state=Source.State.READY)
    if which == "copy":
        return send_file(request, media_path(source.browser_copy), "video/mp4")
    if which == "strip":
        return send_file(request, media_path(source.strip), "image/jpeg")
    if which == "frame":
        return _still(request, source, _typed_frame(request.GET.get("n", "0"), source))
    raise Http404


@studio_required
@require_safe
def still(request: HttpRequest, key: str, frame: int) -> HttpResponseBase:
    """One exact frame as JPEG, ?w= wide (the next of a few fixed widths), made once and kept."""
    return _still(request, get_object_or_404(Source, key=key, state=Source.State.READY), frame)


def _still(request: HttpRequest, source: Source, frame: int) -> HttpResponseBase:
    if frame >= (source.frame_count or 0):
        raise Http404("There is no such frame.")
    path = still_file(source, frame, _width(request.GET.get("w", ""), source))
    return send_file(request, path, "image/jpeg", keep="max-age=86400")


def _width(asked: str, source: Source) -> int | None:
    """The smallest fixed width that is wide enough; None is full size."""
    if not asked.isascii() or not asked.isdigit() or len(asked) > 6:
        return None
    full = probe_of(source).display_width
    return next((width for width in STILL_WIDTHS if int(asked) <= width < full), None)


def still_file(source: Source, frame: int, width: int | None = None) -> Path:
    """The kept JPEG of a frame, made from the master where it is not there yet. 404 when it can't be."""
    made_from = hashlib.sha256(f"{source.sha256} {source.master}".encode()).hexdigest()[:12]
    goal = media_path(f"sources/{source.key}/stills/{made_from}-{frame}-{width or 'full'}.jpg")
    if not goal.exists():
        try:
            picture = extract_frame(master_path(source), probe_of(source), frame, width=width)
        except (MediaError, NotInFolder) as fault:
            raise Http404(str(fault)) from fault
        goal.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=goal.parent, suffix=".part", delete=False) as part:
            picture.save(part, "JPEG", quality=90)
        os.replace(part.name, goal)
    return goal


def _typed_frame(text: str, source: Source) -> int:
    """A frame out of an address: held inside the footage, 0 where it can't be read."""
    try:
        return max(0, min(read_moment(text, source.rate), (source.frame_count or 1) - 1))
    except TimeError:
        return 0


# --- pages ---------------------------------------------------------------------------------------


@studio_required
@require_GET
def index(request: HttpRequest) -> HttpResponse:
    return render(request, "footage/index.html", {"sources": sources_listed()})


@studio_required
@never_cache
@require_GET
def source(request: HttpRequest, key: str) -> HttpResponse:
    found = get_object_or_404(Source.objects.select_related("event"), key=key)
    page = source_page(found)
    if found.is_ready:
        page["frame"] = _typed_frame(request.GET.get("frame", "0"), found)
        page["typed"] = {name: request.GET.get(name, "") for name in ("in", "out", "name", "purpose")}
        page["edges"] = _edges(page["typed"], found)
    return render(request, "footage/source.html", page)


def _edges(typed: dict[str, str], source: Source) -> list[tuple[str, int]]:
    """The first and the last frame of what was typed, to be shown without script."""
    edges = []
    if typed["in"].strip():
        edges.append(("first frame", _typed_frame(typed["in"], source)))
    if typed["out"].strip():
        edges.append(("last frame", max(0, _typed_frame(typed["out"], source) - 1)))
    return edges


@studio_required
@require_http_methods(["GET", "POST"])
def edit(request: HttpRequest, key: str) -> HttpResponse:
    found = get_object_or_404(Source, key=key)
    form = DetailsForm(request.POST or None, instance=found)
    if request.method == "POST" and form.is_valid():
        with transaction.atomic():
            source_change(found, form.details())
        return redirect(found)
    page = {"form": form, "source": found, "name": found.original_name}
    return render(request, "footage/details.html", page, status=422 if form.errors else 200)


@studio_required
@require_POST
def delete(request: HttpRequest, key: str) -> HttpResponse:
    found = get_object_or_404(Source, key=key)
    if source_delete(found):
        messages.success(request, f"{found} was deleted with its working copies.")
        return redirect("footage:index")
    messages.error(request, "This footage is in use. Delete its excerpts and stills first, then the footage.")
    return redirect(found)


@studio_required
@require_POST
def sync(request: HttpRequest, key: str) -> HttpResponse:
    """This frame is the instant that every view of the event shows."""
    found = get_object_or_404(Source, key=key, state=Source.State.READY)
    form = SyncForm(request.POST, source=found)
    if not form.is_valid():
        messages.error(request, " ".join(form.errors["frame"]))
        return redirect(found)
    frame = form.cleaned_data["frame"]
    source_sync(found, frame)
    messages.success(
        request, "No common instant now." if frame is None else f"The common instant is frame {frame}."
    )
    return redirect(f"{found.get_absolute_url()}?frame={frame or 0}")


@studio_required
@require_GET
def together(request: HttpRequest, pk: int) -> HttpResponse:
    """Views of one event side by side, each at its frame nearest to the same instant."""
    event = get_object_or_404(Event, pk=pk)
    sources = tied_sources(event)
    rows: list[dict[str, Any]] = []
    if sources:
        lead = sources[0]
        frame = _typed_frame(request.GET.get("frame", str(lead.sync_frame)), lead)
        rows = [_beside(lead, one, frame) for one in sources]
    return render(
        request, "footage/together.html", {"event": event, "rows": rows, "all": event.sources.count()}
    )


def _beside(lead: Source, other: Source, frame: int) -> dict[str, Any]:
    view, beside = tied_view(lead), tied_view(other)
    assert view
    assert beside
    at = frame_beside(frame, view, beside)
    return {
        "source": other,
        "data": player_data(other),
        "offset": offset_seconds(view, beside),
        "frame": max(0, min(at, (other.frame_count or 1) - 1)),
        "has_picture": 0 <= at < (other.frame_count or 0),
    }


# --- bringing footage in -------------------------------------------------------------------------


@studio_required
@never_cache
@require_http_methods(["GET", "POST"])
def add(request: HttpRequest) -> HttpResponse:
    """Choose footage: a file of one's own, in one form here or in pieces by script, or one on the server."""
    upload_form, file_form = UploadForm(), ServerFileForm()
    if request.method == "POST" and "registered" in request.POST:
        file_form = ServerFileForm(request.POST)
        if file_form.is_valid():
            return _to_details(registered=file_form.cleaned_data["registered"].name)
    elif request.method == "POST":
        upload_form = UploadForm(request.POST, request.FILES)
        if upload_form.is_valid() and (made := _taken(request, upload_form)):
            return _to_details(upload=made.key)
    faulty = upload_form.errors or file_form.errors
    page = {"upload_form": upload_form, "file_form": file_form, "piece_bytes": settings.UPLOAD_CHUNK_BYTES}
    page["uploads"] = Upload.objects.filter(owner=request.user).order_by("-touched_at")
    return render(request, "footage/add.html", page, status=422 if faulty else 200)


def _taken(request: HttpRequest, form: UploadForm) -> Upload | None:
    file = form.cleaned_data["file"]
    try:
        return upload_whole(owner=request.user, name=file.name, size=file.size, pieces=file.chunks())
    except FootageRefused as refusal:
        form.add_error("file", str(refusal))
        return None


def _to_details(**what: Any) -> HttpResponse:
    return redirect(f"{reverse('footage:details')}?{urlencode(what)}")


@studio_required
@never_cache
@require_http_methods(["GET", "POST"])
def details(request: HttpRequest) -> HttpResponse:
    """What the footage is and whose; then it is handed to the worker."""
    try:
        upload, file = _chosen(request)
    except NotInFolder as fault:
        messages.error(request, str(fault))
        return redirect("footage:add")
    name = upload.file_name if upload else file.shown if file else ""
    form = DetailsForm(request.POST or None, initial={"title": Path(name).stem[:160]})
    if request.method == "POST" and form.is_valid():
        try:
            with transaction.atomic():
                made = source_create(by=request.user, details=form.details(), upload=upload, file=file)
            return redirect(made)
        except FootageRefused as refusal:
            form.add_error(None, str(refusal))
    return render(
        request, "footage/details.html", {"form": form, "name": name}, status=422 if form.errors else 200
    )


def _chosen(request: HttpRequest) -> tuple[Upload | None, ServerFile | None]:
    """The finished upload of this person, or the file on the server, that the address names."""
    if registered := request.GET.get("registered"):
        return None, find_file(settings.FOOTAGE_FOLDERS, registered)
    upload = _own_upload(request, request.GET.get("upload", ""))
    if upload.received_bytes < upload.total_bytes:
        raise NotInFolder(
            "That upload isn't finished: choose the same file again and it goes on where it stopped."
        )
    return upload, None


def _own_upload(request: HttpRequest, key: Any) -> Upload:
    try:
        return get_object_or_404(Upload, key=key, owner=request.user)
    except ValidationError:
        raise Http404 from None


@studio_required
@require_POST
def begin(request: HttpRequest) -> JsonResponse:
    """Say a file's name and size; the answer says where its next piece goes."""
    form = BeginForm(request.POST)
    if not form.is_valid():
        return JsonResponse({"error": "Say the file's name and size."}, status=422)
    try:
        upload = upload_begin(owner=request.user, **form.cleaned_data)
    except FootageRefused as refusal:
        return JsonResponse({"error": str(refusal)}, status=refusal.status)
    return JsonResponse(_told(upload), status=201)


def _told(upload: Upload) -> dict[str, Any]:
    done = upload.received_bytes >= upload.total_bytes
    return {
        "offset": upload.received_bytes,
        "total": upload.total_bytes,
        "piece": reverse("footage:upload", args=[upload.key]),
        "next": f"{reverse('footage:details')}?upload={upload.key}" if done else None,
    }


@studio_required
@never_cache
@require_http_methods(["GET", "PATCH", "POST"])
def upload(request: HttpRequest, key: str) -> HttpResponse:
    """GET tells how far an upload is; PATCH adds a piece at Upload-Offset; POST drops it."""
    found = _own_upload(request, key)
    if request.method == "GET":
        return JsonResponse(_told(found))
    if request.method == "POST":
        upload_drop(found)
        return redirect("footage:add")
    offset = request.headers.get("Upload-Offset", "")
    if not offset.isascii() or not offset.isdigit() or len(offset) > 18:
        return JsonResponse({"error": "Upload-Offset must be a whole number of bytes."}, status=400)
    return _add_piece(request, found, int(offset))


def _add_piece(request: HttpRequest, found: Upload, offset: int) -> JsonResponse:
    try:
        return JsonResponse(_told(upload_append(found, offset=offset, piece=request.body)))
    except RequestDataTooBig:
        return JsonResponse({"error": "The piece is too large; send smaller ones."}, status=413)
    except WrongOffset as fault:
        return JsonResponse({"error": str(fault), "offset": fault.offset}, status=409)
    except FootageRefused as refusal:
        return JsonResponse({"error": str(refusal)}, status=refusal.status)
