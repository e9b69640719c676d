"""Files of footage: who may have them, and which bytes of them."""

from __future__ import annotations

import io
from fractions import Fraction

import numpy as np
import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from breakdowns.footage.byte_ranges import RangeNotSatisfiable, answer_for, wanted_range
from breakdowns.footage.selectors import media_path
from tests.factory import make_source, make_user
from tests.numbered import read_frame_number


class TestWantedRange:
    # The examples of RFC 9110 14.1.2, for a representation of 10000 bytes.
    @pytest.mark.parametrize(
        ("header", "span"),
        [
            ("bytes=0-499", (0, 500)),
            ("bytes=500-999", (500, 1000)),
            ("bytes=-500", (9500, 10000)),
            ("bytes=9500-", (9500, 10000)),
            ("bytes=0-0", (0, 1)),
            ("bytes= 0-999, 4500-5499, -1000", None),
            ("bytes=0-0,-1", None),
            ("bytes=500-600,601-999", None),
        ],
    )
    def test_examples_of_the_standard(self, header, span):
        assert wanted_range(header, 10000) == span

    # RFC 9110 14.1.1 and 14.2: other units and faulty ranges are ignored.
    @pytest.mark.parametrize(
        "header",
        [
            "",
            "bytes",
            "bytes=",
            "bytes=9-3",
            "bytes=a-b",
            "bytes=--1",
            "lines=0-1",
            "bytes=0-1;2",
            "bytes=٣-٤",
            "bytes=1",
        ],
    )
    def test_faulty_ones_are_ignored(self, header):
        assert wanted_range(header, 100) is None

    @pytest.mark.parametrize("header", ["bytes=100-", "bytes=100-200", "bytes=-0", "bytes=200-300,400-"])
    def test_beyond_the_file_nothing_can_be_had(self, header):
        with pytest.raises(RangeNotSatisfiable):
            wanted_range(header, 100)

    @given(st.integers(0, 500), st.integers(0, 500), st.integers(1, 400))
    def test_a_span_always_lies_in_the_file(self, first, last, size):
        try:
            span = wanted_range(f"bytes={first}-{last}", size)
        except RangeNotSatisfiable:
            assert first >= size
        else:
            assert span == ((first, min(last + 1, size)) if last >= first else None)

    def test_head_knows_no_range(self):  # RFC 9110 14.2: range handling is defined for GET only
        answer = answer_for("HEAD", {"Range": "bytes=0-1"}, size=9, etag='"a"', modified=0)
        assert (answer.status, answer.headers["Content-Length"]) == (200, "9")


@pytest.fixture
def source(db):
    return make_source()


@pytest.fixture
def copy_url(source):
    return reverse("footage:media", args=[source.key, "copy"])


def _body(response) -> bytes:
    return b"".join(response.streaming_content) if response.streaming else response.content


@pytest.mark.media
class TestCopy:
    @pytest.fixture(autouse=True)
    def _signed_in(self, client, source):
        client.force_login(make_user())
        self.whole = media_path(source.browser_copy).read_bytes()

    def test_whole(self, client, copy_url):
        response = client.get(copy_url)
        assert (response.status_code, response["Accept-Ranges"], response["Content-Type"]) == (
            200,
            "bytes",
            "video/mp4",
        )
        assert response["Content-Length"] == str(len(self.whole))
        assert _body(response) == self.whole

    @pytest.mark.parametrize(
        ("header", "start", "end"), [("bytes=5-14", 5, 15), ("bytes=-7", -7, None), ("bytes=3-", 3, None)]
    )
    def test_a_part(self, client, copy_url, header, start, end):
        response = client.get(copy_url, headers={"Range": header})
        part, size = self.whole[start:end], len(self.whole)
        first = start % size
        assert response.status_code == 206
        assert response["Content-Range"] == f"bytes {first}-{first + len(part) - 1}/{size}"
        assert response["Content-Length"] == str(len(part))
        assert _body(response) == part

    def test_past_the_end(self, client, copy_url):
        response = client.get(copy_url, headers={"Range": f"bytes={len(self.whole)}-"})
        assert (response.status_code, response["Content-Range"]) == (416, f"bytes */{len(self.whole)}")
        assert _body(response) == b""

    def test_if_range_takes_the_same_file_only(self, client, copy_url):
        head = client.head(copy_url)
        etag, date = head["ETag"], head["Last-Modified"]
        assert (_body(head), head["Content-Length"]) == (b"", str(len(self.whole)))
        for value, status in [
            (etag, 206),
            (date, 206),
            ('"other"', 200),
            (f"W/{etag}", 200),
            ("Thu, 01 Jan 1970 00:00:00 GMT", 200),
            ("nonsense", 200),
        ]:
            response = client.get(copy_url, headers={"Range": "bytes=0-1", "If-Range": value})
            assert response.status_code == status, value
            _body(response)

    def test_not_modified(self, client, copy_url):
        etag = client.head(copy_url)["ETag"]
        response = client.get(copy_url, headers={"If-None-Match": f'"x", W/{etag}', "Range": "bytes=0-1"})
        assert (response.status_code, _body(response)) == (304, b"")

    def test_other_names_and_lost_files_are_not_found(self, client, source, copy_url):
        assert client.get(reverse("footage:media", args=[source.key, "original"])).status_code == 404
        media_path(source.browser_copy).unlink()
        assert client.get(copy_url).status_code == 404

    def test_only_reading(self, client, copy_url):
        assert client.post(copy_url).status_code == 405


@pytest.mark.media
class TestWhoMayHaveThem:
    @pytest.mark.parametrize("which", ["copy", "strip", "frame"])
    def test_studio_only(self, client, source, which):
        url = reverse("footage:media", args=[source.key, which])
        answer = client.get(url)
        assert (answer.status_code, answer.url.split("?")[0]) == (302, reverse("people:sign_in"))
        client.force_login(make_user("reader"))
        assert client.get(url).status_code == 403
        client.force_login(make_user("editor"))
        response = client.get(url)
        assert response.status_code == 200
        assert "private" in response["Cache-Control"]
        _body(response)

    def test_every_view_is_guarded(self):
        from breakdowns.excerpts import urls as excerpts_urls
        from breakdowns.footage import urls as footage_urls

        for pattern in [*footage_urls.urlpatterns, *excerpts_urls.urlpatterns]:
            view = pattern.callback
            while not getattr(view, "access_checked", False):
                assert hasattr(view, "__wrapped__"), pattern
                view = view.__wrapped__


@pytest.mark.media
class TestStill:
    def test_is_the_very_frame_and_is_kept(self, client, db):
        source = make_source(rate=Fraction(30000, 1001), frame_count=60)
        client.force_login(make_user())
        for frame in (0, 17, 59):
            url = reverse("footage:still", args=[source.key, frame])
            response = client.get(f"{url}?w=200")
            picture = Image.open(io.BytesIO(_body(response)))
            assert picture.format == "JPEG"
            assert picture.width == 320
            assert read_frame_number(np.asarray(picture.convert("RGB"))) == frame
            again = client.get(f"{url}?w=160")
            assert Image.open(io.BytesIO(_body(again))).width == 160
        kept = sorted(media_path(f"sources/{source.key}/stills").iterdir())
        assert len(kept) == 6
        for file in kept:
            file.write_bytes(b"kept")
        assert _body(client.get(reverse("footage:still", args=[source.key, 17]) + "?w=160")) == b"kept"

    @pytest.mark.parametrize("asked", ["", "0", "9" * 9, "-3", "x", "٣"])
    def test_any_width_is_answered(self, client, source, asked):
        client.force_login(make_user())
        response = client.get(reverse("footage:still", args=[source.key, 3]), {"w": asked})
        assert response.status_code == 200
        _body(response)

    def test_past_the_end_is_not_found(self, client, source):
        client.force_login(make_user())
        assert client.get(reverse("footage:still", args=[source.key, source.frame_count])).status_code == 404
