"""Show notes: what they say, and that no typed text can become marks or HTML."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from html.parser import HTMLParser

import markdown
import nh3
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from breakdowns.assembly.piece import CameraPicture, Piece, PieceBeat, PlatePicture, StillPicture
from breakdowns.assembly.plain_text import file_name, markdown_escaped, one_line
from breakdowns.assembly.show_notes import show_notes, standing_lines

from .invented import jump_throw, make_source


class Seen(HTMLParser):
    """The tags (with attributes) and the text of a page."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple] = []
        self.text = ""
        self.feed(page)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, *attrs))

    def handle_data(self, data):
        self.text += data

    def handle_comment(self, data):
        self.tags.append(("comment", data))


# Two independent renderers: python-markdown (with the extensions that know most marks), and
# markdown-it-py, which follows the CommonMark 0.31 specification, plain and with tables and strikes.
RENDERERS = {
    "python-markdown": lambda text: markdown.markdown(text, extensions=["extra", "sane_lists", "admonition"]),
    "commonmark": MarkdownIt("commonmark").render,
    "tables": MarkdownIt("commonmark").enable(["table", "strikethrough"]).render,
}
HOSTILE = [
    "<script>alert(1)</script>", "<img src=x onerror=alert(1)>", "[link](javascript:alert(1))", "![x](y.png)",
    "**bold** _it_ `code` ~~gone~~", "# heading", "## x ##", "- item", "+ item", "1. item", "2) item", "> quote",
    "a | b | c", "&lt;b&gt; &amp;", "<https://example.org>", "https://example.org", "www.example.org",
    "\\*kept\\*", "***", "---", "===", "[x]: http://y", "[^1]: note", ": definition", "!!! note", "{#id .class}",
    "*[HTML]: x", "```", "    code", "a  \nb", "\n\n# x", "<!-- c -->", "a@example.org", "_", "\\", "x_y_z",
    "2*3*4", "+1", "-1°", "5 < 6", "$x$", "0. x",
]  # fmt: skip
typed = st.sampled_from(HOSTILE) | st.text(max_size=30) | st.lists(st.sampled_from(HOSTILE)).map(" ".join)


@pytest.mark.parametrize("renderer", RENDERERS)
class TestEscaping:
    @given(text=typed)
    @settings(deadline=None, max_examples=200)
    @pytest.mark.parametrize("frame", ["- {}\n", "# {}\n", "{}\n", "- x, {}. y\n"])
    def test_any_text_is_shown_as_typed_and_brings_no_marks(self, renderer, frame, text):
        plain = one_line(text)
        if not plain:
            return
        render = RENDERERS[renderer]
        shown, harmless = (
            Seen(render(frame.format(markdown_escaped(text)))),
            Seen(render(frame.format("word"))),
        )
        assert shown.tags == harmless.tags
        words = " ".join(shown.text.split())
        assert words == " ".join(harmless.text.replace("word", plain).split())

    @pytest.mark.parametrize("text", HOSTILE)
    def test_a_hostile_title_changes_no_tag_of_the_notes(self, renderer, text):
        def notes(title: str) -> str:
            source = make_source(
                title=title, view=f"{title}.", attribution=title, rights_holder=title, event=title
            )
            beats = (
                PieceBeat("a", PlatePicture("caution", title, title, Fraction(1)), heading=title),
                PieceBeat("b", StillPicture(source, 1, Fraction(1))),
            )
            more = {
                "summary": title,
                "cautions": [f"{title}!"],
                "policy_lines": [title],
                "references": [title],
            }
            return show_notes(Piece(title, "x", beats), **more)

        render = RENDERERS[renderer]
        assert Seen(render(notes(text))).tags == Seen(render(notes("Plain words"))).tags

    def test_the_sites_sanitiser_has_nothing_to_take_out(self, renderer):
        page = RENDERERS[renderer](show_notes(jump_throw()))
        assert Seen(nh3.clean(page)).tags == Seen(page).tags


class TestReadable:
    @pytest.mark.parametrize(
        "text",
        [
            "Jump throw, number 9",
            "Hip–shoulder separation: 35°",
            "It's late-cocking (phase 2).",
            "Why? Because! 3.5 m",
        ],
    )
    def test_common_titles_stay_as_they_are(self, text):
        assert markdown_escaped(text) == text

    @pytest.mark.parametrize(
        ("path", "name"), [("/a/b c.mp4", "b c.mp4"), ("C:\\x\\y.mov", "y.mov"), ("z", "z"), ("/a/", "")]
    )
    def test_file_names_lose_their_folders(self, path, name):
        assert file_name(path) == name

    @given(st.text())
    def test_one_line_is_one_line_and_settles_at_once(self, text):
        line = one_line(text)
        assert line.splitlines() in ([], [line])
        assert one_line(line) == line
        line.encode("utf-8")


class TestContents:
    def notes(self, **more) -> str:
        return show_notes(jump_throw(), **more)

    def section(self, title: str, **more) -> list[str]:
        found = re.search(rf"(?m)^## {re.escape(title)}\n\n((?:- .*\n)+)", self.notes(**more))
        return found[1].splitlines() if found else []

    def test_title_and_summary_come_first(self):
        text = self.notes(summary="How the front leg\nbrakes.")
        assert text.startswith("# Jump throw of number 9\n\nHow the front leg brakes.\n\n## What is shown\n")

    def test_what_is_shown_is_counted(self):
        assert self.section("What is shown") == [
            "- Semi-final, camera A, baseline: 1 excerpt and 1 still",
            "- Semi-final, camera B, overhead: 1 excerpt",
            "- 1 title plate",
            "- 1 caution plate",
            "- 1 part spoken to camera",
        ]

    def test_several_are_told_in_the_plural(self):
        pictures = [PlatePicture("text", "x", "", Fraction(1)), CameraPicture(Fraction(1))] * 2
        text = show_notes(Piece("P", "p", tuple(PieceBeat(f"b{n}", p) for n, p in enumerate(pictures))))
        assert "- 2 plates\n- 2 parts spoken to camera\n" in text

    def test_a_house_message_is_never_listed_without_its_disclosure(self):
        plates = [
            PlatePicture("house", "Join us", "", Fraction(1)),
            PlatePicture("house", "", "", Fraction(1), disclosure="Advertisement for *us*"),
        ]
        text = show_notes(Piece("P", "p", tuple(PieceBeat(f"b{n}", p) for n, p in enumerate(plates))))
        assert "- Paid message: Join us\n- Advertisement for \\*us\\*\n" in text

    def test_a_scratch_voice_is_said(self):
        assert "synthetic scratch voice" not in self.notes()
        assert "synthetic scratch voice" in show_notes(replace(jump_throw(), scratch_voice=True))

    def test_chapters_with_times(self):
        assert self.section("Chapters") == [
            "- 0:00 Jump throw of number 9",
            "- 0:03 The plant",
            "- 0:28 Release",
            "- 0:38 Contact",
            "- 0:53 Caution",
        ]

    def test_every_source_once_with_attribution_holder_and_event(self):
        assert self.section("Footage used") == [
            "- Semi-final, camera A, baseline, Cup semi-final (invented). Pictures: the organiser (invented). "
            "Rights: The organiser (invented).",
            "- Semi-final, camera B, overhead, Cup semi-final (invented). Pictures: the organiser (invented). "
            "Rights: The organiser (invented).",
        ]

    def test_own_footage_is_named_as_own_and_needs_no_excerpt_line(self):
        source = make_source(own_terms=True, rights_holder="", attribution="", event="", view="")
        text = show_notes(Piece("P", "p", (PieceBeat("b", StillPicture(source, 1, Fraction(1))),)))
        assert "Used on its own terms (own, licensed or openly licensed)." in text
        assert standing_lines()["excerpts"] not in text

    def test_cautions_given_shown_and_standing_each_once(self):
        lines = self.section("Cautions", cautions=["No jumping with pain.", "No jumping with pain."])
        assert lines[:2] == ["- No jumping with pain.", "- Caution: Not a diagnosis"]
        assert lines[2:] == [f"- {standing_lines()['not_advice']}", f"- {standing_lines()['urgent']}"]

    def test_policy_lines_end_with_the_standing_one(self):
        lines = self.section("Use of other people's footage", policy_lines=["Excerpts of 10 s at most."])
        assert lines == ["- Excerpts of 10 s at most.", f"- {standing_lines()['excerpts']}"]
        for part in (
            "planning aid",
            "not legal advice",
            "No number of seconds is a safe harbour",
            "separate",
        ):
            assert part in lines[1]

    def test_standing_cautions_defer_and_diagnose_nobody(self):
        lines = standing_lines()
        assert "not a diagnosis of anyone shown" in lines["not_advice"]
        assert "licensed" in lines["not_advice"]
        assert "local" in lines["urgent"]

    def test_references_are_listed(self):
        assert self.section("Sources for what is said", references=["Example et al. 2020"]) == [
            "- Example et al. 2020"
        ]

    def test_an_empty_piece_has_notes(self):
        text = show_notes(replace(jump_throw(), beats=(), title=""))
        assert text.startswith("# Untitled\n")
        assert "## Chapters" not in text
