"""Footage on its way in: in pieces, in one form, from a folder; by friends and by others."""

from __future__ import annotations

import errno
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from breakdowns.footage import services
from breakdowns.footage.file_names import NotInFolder, clean_name, find_file, list_files, safe_suffix
from breakdowns.footage.models import Event, Source, Upload
from breakdowns.footage.selectors import media_path
from breakdowns.work.models import WorkItem
from tests.factory import make_user

BYTES = bytes(range(256)) * 40
SIZE = len(BYTES)
DETAILS = {"title": "Jump throw from the baseline", "view": "baseline", "terms": "third_party"}


@pytest.fixture
def user(client, db):
    user = make_user()
    client.force_login(user)
    return user


def begin(client, name="throw.mp4", size=SIZE):
    return client.post(reverse("footage:begin"), {"name": name, "size": size})


def send(client, url, offset, piece):
    return client.patch(
        url, piece, content_type="application/octet-stream", headers={"Upload-Offset": str(offset)}
    )


class TestPieces:
    def test_pieces_arrive_whole_and_become_a_source(self, client, user):
        told = begin(client).json()
        for offset in range(0, len(BYTES), 4000):
            assert told["offset"] == offset
            answer = send(client, told["piece"], offset, BYTES[offset : offset + 4000])
            assert answer.status_code == 200
            told = answer.json()
        page = client.post(told["next"], DETAILS)
        source = Source.objects.get()
        assert page.url == source.get_absolute_url()
        assert (source.original, source.original_name) == (f"sources/{source.key}/original.mp4", "throw.mp4")
        assert media_path(source.original).read_bytes() == BYTES
        assert not Upload.objects.exists()
        work = WorkItem.objects.get()
        assert (work.kind, work.subject, work.ordered_by) == ("footage.prepare", str(source.key), user)

    def test_the_old_name_goes_after_the_commit(self, client, user, django_capture_on_commit_callbacks):
        upload = services.upload_whole(owner=user, name="a.mov", size=len(BYTES), pieces=[BYTES])
        part = services.upload_path(upload)
        with django_capture_on_commit_callbacks(execute=True):
            client.post(f"{reverse('footage:details')}?upload={upload.key}", DETAILS)
        assert not part.exists()
        assert media_path(Source.objects.get().original).read_bytes() == BYTES

    def test_a_wrong_offset_is_answered_with_the_right_one(self, client, user):
        url = begin(client).json()["piece"]
        send(client, url, 0, BYTES[:100])
        for offset in (0, 50, 101, 10**9):
            answer = send(client, url, offset, b"xyz")
            assert (answer.status_code, answer.json()["offset"]) == (409, 100)
        assert client.get(url).json()["offset"] == 100
        assert services.upload_path(Upload.objects.get()).read_bytes() == BYTES[:100]

    def test_choosing_the_same_file_again_goes_on(self, client, user):
        first = begin(client).json()
        send(client, first["piece"], 0, BYTES[:100])
        assert begin(client).json() == {**first, "offset": 100}
        assert begin(client, size=7).json()["piece"] != first["piece"]

    def test_bytes_of_a_piece_that_was_cut_short_are_written_over(self, client, user):
        url = begin(client).json()["piece"]
        send(client, url, 0, BYTES[:100])
        path = services.upload_path(Upload.objects.get())
        path.write_bytes(BYTES[:100] + b"left over by a crash")
        send(client, url, 100, BYTES[100:110])
        assert path.read_bytes() == BYTES[:110]

    @pytest.mark.parametrize("offset", ["", "-1", "a", "1.0", "٣", "9" * 30])
    def test_an_offset_that_is_none(self, client, user, offset):
        url = begin(client).json()["piece"]
        answer = client.patch(
            url,
            b"x",
            content_type="application/octet-stream",
            headers={"Upload-Offset": offset.encode().decode("latin-1")},
        )
        assert answer.status_code == 400

    def test_more_than_was_said_is_refused(self, client, user):
        answer = send(client, begin(client, size=10).json()["piece"], 0, b"x" * 11)
        assert answer.status_code == 422
        assert "More bytes came" in answer.json()["error"]

    def test_a_piece_too_large_for_memory(self, client, user, settings):
        settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 50
        url = begin(client).json()["piece"]
        assert send(client, url, 0, b"x" * 60).status_code == 413

    @pytest.mark.parametrize(
        ("size", "status", "words"), [(0, 422, "empty"), (-5, 422, "empty"), (101, 413, "at most")]
    )
    def test_sizes_that_cannot_be(self, client, user, settings, size, status, words):
        settings.UPLOAD_LIMIT_BYTES = 100
        answer = begin(client, size=size)
        assert answer.status_code == status
        assert words in answer.json()["error"]

    def test_a_full_disk_is_told_before_and_during(self, client, user, monkeypatch):
        url = begin(client).json()["piece"]

        def full(*_):
            raise OSError(errno.ENOSPC, "No space left on device")

        monkeypatch.setattr(services.os, "fsync", full)
        answer = send(client, url, 0, BYTES[:10])
        assert (answer.status_code, "no room" in answer.json()["error"]) == (507, True)
        assert client.get(url).json()["offset"] == 0
        monkeypatch.setattr(services, "RESERVE_BYTES", 10**18)
        assert begin(client, name="b.mp4").status_code == 507

    def test_other_people_can_neither_see_nor_add(self, client, user):
        url = begin(client).json()["piece"]
        client.force_login(make_user("editor"))
        assert client.get(url).status_code == 404
        assert send(client, url, 0, b"x").status_code == 404
        client.force_login(make_user("reader"))
        assert begin(client).status_code == 403
        client.logout()
        assert begin(client).status_code == 302

    def test_an_unfinished_upload_can_not_be_described_but_can_be_dropped(
        self, client, user, django_capture_on_commit_callbacks
    ):
        url = begin(client).json()["piece"]
        send(client, url, 0, b"xyz")
        upload = Upload.objects.get()
        page = client.post(f"{reverse('footage:details')}?upload={upload.key}", DETAILS, follow=True)
        assert "isn&#x27;t finished" in page.content.decode()
        with django_capture_on_commit_callbacks(execute=True):
            client.post(url)
        assert not Upload.objects.exists()
        assert not services.upload_path(upload).exists()

    @pytest.mark.parametrize(
        "query", ["", "?upload=", "?upload=nonsense", "?upload=00000000-0000-0000-0000-000000000000"]
    )
    def test_nothing_to_describe(self, client, user, query):
        assert client.get(reverse("footage:details") + query).status_code == 404


class TestOneForm:
    def test_works_without_script(self, client, user):
        page = client.post(reverse("footage:add"), {"file": SimpleUploadedFile("throw.MOV", BYTES)})
        assert page.status_code == 302
        form = client.get(page.url).content.decode()
        assert 'value="throw"' in form
        client.post(
            page.url,
            {**DETAILS, "new_event": "Cup semi-final (invented)", "new_event_ended": "2031-05-04T18:30"},
        )
        source = Source.objects.get()
        assert source.original.endswith("/original.mov")
        assert source.event.name == "Cup semi-final (invented)"
        assert source.event.ended_at.hour == 18

    def test_an_empty_file_gets_one_sentence(self, client, user):
        page = client.post(reverse("footage:add"), {"file": SimpleUploadedFile("throw.mp4", b"")})
        assert page.status_code == 422
        assert "The file is empty" in page.content.decode()

    def test_no_file_at_all(self, client, user):
        assert client.post(reverse("footage:add"), {}).status_code == 422

    def test_faulty_details_keep_what_was_typed(self, client, user):
        page = client.post(reverse("footage:add"), {"file": SimpleUploadedFile("throw.mp4", BYTES)})
        event = Event.objects.create(name="Training (invented)")
        typed = {**DETAILS, "title": "", "notes": "kept words", "event": event.pk, "new_event": "Another"}
        again = client.post(page.url, typed)
        assert again.status_code == 422
        assert "kept words" in again.content.decode()
        assert "not both" in again.content.decode()
        assert not Source.objects.exists()
        assert Upload.objects.exists()
        assert Event.objects.count() == 1


HOSTILE = [
    "../../etc/passwd",
    "..\\..\\windows\\system.ini",
    "/etc/shadow",
    "a\0b.mp4",
    "<script>alert(1)</script>.mp4",
    "‮4pm.exe",
    "x" * 400 + ".mp4",
    "-i http.mp4",
    "..",
    ".",
    "CON.mp4",
    "a.mp4/../../b.sh",
    "\ud83d\udc4d.mp4",
]


class TestHostileNames:
    @pytest.mark.parametrize("name", HOSTILE)
    def test_stored_names_are_ours(self, user, name):
        upload = services.upload_whole(owner=user, name=name, size=3, pieces=[b"abc"])
        source = services.source_create(by=user, details={"title": "Throw"}, upload=upload)
        path = media_path(source.original)
        assert path.parent == media_path(f"sources/{source.key}")
        assert path.name in ("original", "original.mp4")
        assert path.read_bytes() == b"abc"

    @pytest.mark.parametrize("name", HOSTILE)
    def test_a_shown_name_is_one_line_without_control_characters(self, name):
        shown = clean_name(name)
        assert 0 < len(shown) <= 255
        assert "/" not in shown
        assert shown.isprintable()

    def test_it_is_escaped_on_the_page(self, client, user):
        upload = services.upload_whole(owner=user, name="<b>x.mp4", size=3, pieces=[b"abc"])
        page = client.get(f"{reverse('footage:details')}?upload={upload.key}").content.decode()
        assert "<b>x" not in page
        assert "&lt;b&gt;x.mp4" in page

    @pytest.mark.parametrize(
        ("name", "suffix"),
        [("a.MP4", ".mp4"), ("a.sh", ""), ("a", ""), ("a.mp4.exe", ""), ("a.m2ts", ".m2ts")],
    )
    def test_suffixes(self, name, suffix):
        assert safe_suffix(name) == suffix


class TestFolders:
    @pytest.fixture
    def folder(self, tmp_path, settings) -> Path:
        folder = tmp_path / "footage"
        (folder / "cup").mkdir(parents=True)
        (folder / "cup" / "baseline.mp4").write_bytes(BYTES)
        (folder / "notes.txt").write_text("no footage")
        outside = tmp_path / "outside.mp4"
        outside.write_bytes(b"secret")
        (folder / "link.mp4").symlink_to(outside)
        (folder / "linked").symlink_to(tmp_path)
        (folder / "loop.mp4").symlink_to(folder / "loop.mp4")
        (tmp_path / "footage-not").mkdir()
        (tmp_path / "footage-not" / "b.mp4").write_bytes(b"secret")
        settings.FOOTAGE_FOLDERS = [folder]
        return folder

    def test_lists_footage_only(self, folder):
        assert [file.shown for file in list_files([folder])] == ["cup/baseline.mp4"]

    @pytest.mark.parametrize(
        "name",
        [
            "0:../outside.mp4",
            "0:cup/../../outside.mp4",
            "0:link.mp4",
            "0:linked/outside.mp4",
            "0:loop.mp4",
            "0:../footage-not/b.mp4",
            "0:/etc/passwd",
            "0:cup",
            "0:notes.txt",
            "0:missing.mp4",
            "1:cup/baseline.mp4",
            "-1:cup/baseline.mp4",
            "²:cup/baseline.mp4",
            "cup/baseline.mp4",
            "0:a\0.mp4",
            "",
            "0:" + "a" * 5000 + ".mp4",
        ],
    )
    def test_nothing_leads_out(self, folder, name):
        with pytest.raises(NotInFolder, match="choose one"):
            find_file([folder], name)

    def test_registering_leaves_the_file_where_it_is(self, client, user, folder):
        page = client.post(reverse("footage:add"), {"registered": "0:cup/baseline.mp4"})
        client.post(page.url, DETAILS)
        source = Source.objects.get()
        assert source.registered
        assert source.original == str(folder / "cup" / "baseline.mp4")

    def test_a_forged_choice_is_refused(self, client, user, folder):
        assert client.post(reverse("footage:add"), {"registered": "0:link.mp4"}).status_code == 422
        page = client.post(f"{reverse('footage:details')}?registered=0:link.mp4", DETAILS)
        assert page.url == reverse("footage:add")
        assert not Source.objects.exists()


class TestTwoWindows:
    def test_what_another_window_ended_is_told_and_nothing_is_lost(self, user):
        """Both windows hold the same row; one is quicker."""
        upload = services.upload_whole(owner=user, name="throw.mp4", size=SIZE, pieces=[BYTES])
        made = services.source_create(by=user, details=DETAILS, upload=Upload.objects.get(pk=upload.pk))
        with pytest.raises(services.FootageRefused, match="another window") as late:
            services.source_create(by=user, details=DETAILS, upload=upload)
        assert late.value.status == 409
        with pytest.raises(services.FootageRefused, match="another window"):
            services.upload_append(upload, offset=SIZE, piece=b"x")
        assert list(Source.objects.all()) == [made]
