"""Excerpts and policies on their pages."""

from __future__ import annotations

import pytest
from django.urls import reverse

from breakdowns.excerpts.models import Excerpt, ExcerptPolicy
from breakdowns.excerpts.policies import UnknownPolicy, preset, presets
from breakdowns.excerpts.rules import wording
from breakdowns.excerpts.selectors import policy_choices, policy_key, policy_named, policy_of
from breakdowns.excerpts.services import policy_from_preset
from breakdowns.scripts.models import Beat, Breakdown
from tests.factory import make_excerpt, make_source, make_user

HTMX = {"HX-Request": "true"}


@pytest.fixture
def editor(client, db):
    user = make_user()
    client.force_login(user)
    return user


def text_of(response) -> str:
    return response.content.decode()


@pytest.mark.media
class TestExcerpts:
    @pytest.fixture
    def source(self, db):
        return make_source()

    @pytest.fixture
    def create_url(self, source):
        return reverse("excerpts:create", args=[source.key])

    def test_made_without_script(self, client, editor, source, create_url):
        answer = client.post(
            create_url,
            {"in_frame": "00:00:00:10", "out_frame": "30", "name": "Release", "purpose": "Shows it."},
        )
        excerpt = Excerpt.objects.get()
        assert answer.url == f"{source.get_absolute_url()}?frame=10#excerpts"
        assert (excerpt.in_frame, excerpt.out_frame, excerpt.made_by) == (10, 30, editor)

    def test_a_name_is_given_where_none_is_typed(self, client, editor, create_url):
        client.post(create_url, {"in_frame": "10", "out_frame": "0.8 s"})
        excerpt = Excerpt.objects.get()
        assert (excerpt.name, excerpt.out_frame) == ("Excerpt at 00:00:00:10", 20)

    @pytest.mark.parametrize("headers", [{}, HTMX], ids=["page", "piece"])
    @pytest.mark.parametrize(
        ("start", "end", "sentence"),
        [
            ("30", "30", "The out point (frame 30) must come after the in point (frame 30)"),
            ("31", "30", "must come after the in point"),
            ("10", "51", "lies past the end: the footage has 50 frames"),
            ("x", "30", "is no moment"),
            ("", "30", "This field is required"),
            ("10", "00:00:00:25", "does not exist at 25"),
        ],
    )
    def test_faults_stand_beside_the_thing_and_keep_what_was_typed(
        self, client, editor, create_url, headers, start, end, sentence
    ):
        typed = {"in_frame": start, "out_frame": end, "name": "Kept name", "purpose": "Kept purpose"}
        answer = client.post(create_url, typed, headers=headers)
        page = text_of(answer)
        assert answer.status_code == 422
        assert sentence in page
        assert 'value="Kept name"' in page
        assert "Kept purpose" in page
        assert ("<html" in page) is not bool(headers)
        assert not Excerpt.objects.exists()

    def test_the_last_frame_can_be_had(self, client, editor, create_url):
        client.post(create_url, {"in_frame": "49", "out_frame": "50"})
        assert Excerpt.objects.get().span.frame_count == 1

    def test_change(self, client, editor, source):
        excerpt = make_excerpt(source)
        url = reverse("excerpts:edit", args=[excerpt.pk])
        assert reverse("footage:still", args=[source.key, 29]) in text_of(client.get(url))
        client.post(
            url, {"name": "Landing", "in_frame": "5", "out_frame": "9", "purpose": "", "version": "1"}
        )
        excerpt.refresh_from_db()
        assert (excerpt.name, excerpt.in_frame, excerpt.out_frame, excerpt.version) == ("Landing", 5, 9, 2)

    def test_a_late_change_is_told_and_not_written(self, client, editor, source):
        excerpt = make_excerpt(source, version=3, name="Newer")
        typed = {"name": "Older", "in_frame": "5", "out_frame": "9", "purpose": "mine", "version": "2"}
        answer = client.post(reverse("excerpts:edit", args=[excerpt.pk]), typed)
        assert answer.status_code == 409
        assert "Somebody changed this excerpt meanwhile" in text_of(answer)
        assert "mine" in text_of(answer)
        excerpt.refresh_from_db()
        assert excerpt.name == "Newer"

    def test_points_can_not_leave_a_beat_outside(self, client, editor, source):
        excerpt = make_excerpt(source)
        piece = Breakdown.objects.create(slug="late-hips", title="Late hips")
        Beat.objects.create(
            breakdown=piece, position=0, kind="excerpt", excerpt=excerpt, in_frame=12, out_frame=28
        )
        url = reverse("excerpts:edit", args=[excerpt.pk])
        typed = {"name": "Throw", "in_frame": "13", "out_frame": "30", "version": "1"}
        assert "Late hips · 1 shows frames outside" in text_of(client.post(url, typed))
        assert client.post(url, {**typed, "in_frame": "12", "out_frame": "28"}).status_code == 302

    @pytest.mark.parametrize("headers", [{}, HTMX], ids=["page", "piece"])
    def test_delete_unless_a_script_uses_it(self, client, editor, source, headers):
        excerpt = make_excerpt(source)
        piece = Breakdown.objects.create(slug="late-hips", title="Late hips")
        beat = Beat.objects.create(breakdown=piece, position=0, kind="excerpt", excerpt=excerpt)
        url = reverse("excerpts:delete", args=[excerpt.pk])
        assert "is used in a script" in text_of(client.post(url, headers=headers, follow=True))
        beat.delete()
        client.post(url, headers=headers)
        assert not Excerpt.objects.exists()

    def test_strangers_and_readers_change_nothing(self, client, db, source, create_url):
        excerpt = make_excerpt(source)
        urls = [
            create_url,
            reverse("excerpts:edit", args=[excerpt.pk]),
            reverse("excerpts:delete", args=[excerpt.pk]),
        ]
        typed = {"in_frame": "1", "out_frame": "2", "name": "No", "version": "1"}
        assert [client.post(url, typed).status_code for url in urls] == [302, 302, 302]
        client.force_login(make_user("reader"))
        assert [client.post(url, typed).status_code for url in urls] == [403, 403, 403]
        assert [one.name for one in Excerpt.objects.all()] == [excerpt.name]


class TestPolicies:
    def test_every_preset_stands_with_its_source_and_the_wording(self, client, editor):
        from django.utils.html import escape

        page = text_of(client.get(reverse("excerpts:policies")))
        for one in presets().values():
            for text in (one.title, one.source, *(limit.source for limit in one.limits)):
                assert escape(text) in page
        for key, text in wording().items():
            assert key == "opposite" or escape(text) in page

    def test_one_of_ones_own_starts_from_a_preset_and_keeps_its_sources(self, client, editor):
        client.post(reverse("excerpts:policy_make"), {"preset": "edu_multimedia"})
        row = ExcerptPolicy.objects.get()
        assert policy_of(row).limits == preset("edu_multimedia").limits
        client.post(reverse("excerpts:policy_make"), {"preset": "edu_multimedia"})
        assert len({one.name for one in ExcerptPolicy.objects.all()}) == 2
        assert client.post(reverse("excerpts:policy_make"), {"preset": "none"}).status_code == 404

    def test_a_changed_number_is_ones_own_an_unchanged_one_keeps_its_source(self, client, editor):
        row = policy_from_preset(preset("edu_multimedia"))
        typed = {
            "name": "Shorter",
            "note": "",
            "limit-share_of_source-source-max": "10 %",
            "limit-union_seconds-source-max": "45.5",
            "limit-source_named-source-min": "1",
        }
        assert client.post(reverse("excerpts:policy", args=[row.pk]), typed).status_code == 302
        row.refresh_from_db()
        limits = {limit.rule: limit for limit in policy_of(row).limits}
        assert limits["share_of_source"] == preset("edu_multimedia").limits[0]
        assert (str(limits["union_seconds"].value), limits["union_seconds"].how_read) == ("91/2", "own")
        assert limits["source_named"].value == 1
        assert len(limits) == 3

    @pytest.mark.parametrize(
        ("field", "value", "words"),
        [
            ("limit-union_seconds-source-max", "ninety", "is not a rational number"),
            ("limit-union_seconds-source-max", "-1", "must lie between"),
            ("limit-share_of_source-source-max", "110 %", "a share is at most 1"),
            ("limit-times_repeated-source-max", "1/2", "needs a whole number"),
            ("name", "", "This field is required"),
        ],
    )
    def test_faults_keep_what_was_typed(self, client, editor, field, value, words):
        row = policy_from_preset(preset("own"))
        answer = client.post(reverse("excerpts:policy", args=[row.pk]), {"name": "Mine", field: value})
        assert answer.status_code == 422
        assert words in text_of(answer)
        assert f'value="{value}"' in text_of(answer) or not value
        row.refresh_from_db()
        assert row.limits == []

    def test_limits_that_no_rule_knows_any_more_are_told(self, client, editor):
        row = ExcerptPolicy.objects.create(name="Old", limits=[{"rule": "gone", "value": "1"}])
        assert "set them afresh" in text_of(client.get(reverse("excerpts:policies")))
        assert client.get(reverse("excerpts:policy", args=[row.pk])).status_code == 200

    def test_a_name_only_once(self, client, editor):
        first, second = policy_from_preset(preset("own")), policy_from_preset(preset("own"))
        answer = client.post(reverse("excerpts:policy", args=[second.pk]), {"name": first.name})
        assert answer.status_code == 422

    def test_deleted_only_while_no_script_names_it(self, client, editor):
        row = policy_from_preset(preset("quotation"))
        piece = Breakdown.objects.create(slug="late-hips", title="Late hips", policy=policy_key(row))
        url = reverse("excerpts:policy_remove", args=[row.pk])
        assert "is used by Late hips" in text_of(client.post(url, follow=True))
        assert ExcerptPolicy.objects.exists()
        piece.delete()
        client.post(url)
        assert not ExcerptPolicy.objects.exists()

    def test_policies_are_found_by_the_name_in_a_script(self, editor):
        row = policy_from_preset(preset("eu_short_news"))
        assert policy_named("preset:quotation") == preset("quotation")
        assert policy_named(policy_key(row)).title == row.name
        assert (policy_key(row), row.name) in policy_choices()
        for name in ("own:999", "own:x", "preset:none", ""):
            with pytest.raises(UnknownPolicy):
                policy_named(name)

    def test_strangers_and_readers_stay_outside(self, client, db):
        row = policy_from_preset(preset("own"))
        urls = [reverse("excerpts:policies"), reverse("excerpts:policy", args=[row.pk])]
        assert [client.get(url).status_code for url in urls] == [302, 302]
        client.force_login(make_user("reader"))
        assert [client.get(url).status_code for url in urls] == [403, 403]
        assert client.post(reverse("excerpts:policy_remove", args=[row.pk])).status_code == 403
