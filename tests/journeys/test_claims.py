"""The claim check while one writes, in a real browser: underlines, notes, keys, meanings, completion, and without script.

What is wrong here is wrong by OpenStax, Anatomy and Physiology 2e (2022), chapter 11: infraspinatus rotates the arm
laterally, the hamstrings flex the knee. From memory.
"""

from __future__ import annotations

import pytest

from breakdowns.scripts import services
from breakdowns.scripts.models import AnsweredNote
from tests.journeys.test_screens import AXE, BARRIERS, OVER
from tests.journeys.test_script_page import desk, person, stored, tab_to, until  # noqa: F401

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

WRONG = "Infraspinatus internally rotates the shoulder."
RIGHT = "Infraspinatus rotates the shoulder externally."
DEPENDS = "The deltoid rotates the arm inwards."
MARK = ".cm-content .words-mark"
NOTE = ".margin .note.over:has-text('Infraspinatus')"


@pytest.fixture
def breakdown(person):  # noqa: F811
    return services.breakdown_create(by=person, title="Late hips")


def written(breakdown, person, *texts):  # noqa: F811
    for text in texts:
        services.beat_insert(breakdown, by=person, words=text, seconds_ms=5000)
    services.beat_delete(breakdown, breakdown.beats.order_by("position").first().key, by=person)
    return breakdown


def caret(page) -> int:
    return page.evaluate("document.activeElement.closest('.stack').querySelector('textarea').selectionStart")


def in_words(page) -> bool:
    return page.evaluate("document.activeElement.matches('.cm-content')")


def aloud(page) -> str:
    return page.text_content("#aloud") or ""


def test_a_wrong_sentence_is_marked_and_mended_by_keys_alone(desk, breakdown):  # noqa: F811
    page = desk(breakdown.get_absolute_url())
    tab_to(page, ".beat [role=textbox]")
    page.keyboard.type(f"From above you can see it. {WRONG}")
    page.wait_for_selector(f"{MARK}.over")
    assert page.text_content(f"{MARK}.over") == WRONG.removesuffix(".")
    page.wait_for_selector(NOTE)
    assert "OpenStax" in page.text_content(f"{NOTE} .cite")
    assert "rotates it externally" in aloud(page)
    assert stored(breakdown) == [f"From above you can see it. {WRONG}"]
    page.keyboard.press("Alt+n")
    assert caret(page) == len("From above you can see it. ")
    page.keyboard.press("Alt+u")
    until(page, lambda: stored(breakdown) == [f"From above you can see it. {RIGHT}"])
    until(page, lambda: page.query_selector(NOTE) is None and page.query_selector(f"{MARK}.over") is None)
    assert in_words(page)
    assert "rotates the shoulder externally" in aloud(page)
    page.keyboard.press("Control+z")
    until(page, lambda: stored(breakdown) == [f"From above you can see it. {WRONG}"])
    assert desk.faults == []


def test_the_note_itself_mends_by_its_key(desk, breakdown, person):  # noqa: F811
    page = desk(written(breakdown, person, f"{WRONG} Look at the arm.").get_absolute_url())
    page.focus(".cm-content")
    page.keyboard.press("Alt+m")
    while "Infraspinatus" not in page.evaluate("document.activeElement.textContent"):
        page.keyboard.press("Alt+m")
    page.keyboard.press("Enter")
    until(page, lambda: stored(breakdown) == [f"{RIGHT} Look at the arm."])
    until(page, lambda: page.query_selector(NOTE) is None and in_words(page))
    assert page.input_value("textarea") == f"{RIGHT} Look at the arm."
    assert desk.faults == []


def test_the_cursor_goes_from_mark_to_mark_across_beats(desk, breakdown, person):  # noqa: F811
    texts = [WRONG, "Nothing to say about this one.", f"And now. {DEPENDS}"]
    page = desk(written(breakdown, person, *texts).get_absolute_url())
    page.focus(".beat:nth-child(2) .cm-content")
    places = []
    for _ in range(3):
        page.keyboard.press("Alt+n")
        number = page.evaluate("document.activeElement.closest('.beat').querySelector('.grip').textContent")
        places.append((number, caret(page)))
    assert places == [("3", 9), ("1", 0), ("3", 9)]
    assert "depends on which part" in aloud(page)
    assert page.text_content(f".beat:nth-child(3) {MARK}.near") == DEPENDS.removesuffix(".")
    # States differ in the shape of their lines, not in colour alone (WCAG 2.2, 1.4.1 Use of Color).
    lines = {
        state: page.evaluate(
            "(one) => getComputedStyle(document.querySelector(one)).textDecorationStyle", f"{MARK}.{state}"
        )
        for state in ("over", "near")
    }
    assert lines == {"over": "solid", "near": "dashed"}


def test_what_is_meant_keeps_its_reason(desk, breakdown, person):  # noqa: F811
    page = desk(written(breakdown, person, WRONG).get_absolute_url())
    page.focus(".cm-content")
    page.wait_for_selector(f"{MARK}.over")
    page.keyboard.press("Alt+i")
    until(page, lambda: page.evaluate("document.activeElement.name") == "reason")
    page.keyboard.type("quoted from the other coach, corrected in")
    # The margin comes afresh while the reason is being typed; nothing of it goes.
    page.evaluate("htmx.trigger(document.body, 'script-changed')")
    page.wait_for_timeout(900)
    page.keyboard.type(" beat two")
    page.keyboard.press("Enter")
    until(page, lambda: page.query_selector(f"{MARK}.over") is None and page.query_selector(NOTE) is None)
    answer = AnsweredNote.objects.get()
    assert answer.reason == "quoted from the other coach, corrected in beat two"
    page.reload()
    page.wait_for_selector(".cm-content")
    assert page.query_selector(f"{MARK}.over") is None
    assert page.query_selector(NOTE) is None
    page.click(".silenced summary")
    assert answer.reason in page.text_content(".silenced")
    # It speaks again where the words change.
    page.click(".cm-content")
    page.keyboard.press("Control+Home")
    page.keyboard.type("The ")
    page.keyboard.press("Delete")
    page.keyboard.type("i")
    page.wait_for_selector(f"{MARK}.over")
    assert desk.faults == []


def test_notes_come_on_when_a_beat_was_added_elsewhere(desk, breakdown, person):  # noqa: F811
    page = desk(written(breakdown, person, "Look here.").get_absolute_url())
    services.beat_insert(breakdown, by=person, words="Added in another window.")
    page.focus(".cm-content")
    page.keyboard.press("Control+End")
    page.keyboard.type(f" {WRONG}")
    page.wait_for_selector(NOTE)
    assert page.locator(".beat").count() == 1
    assert desk.faults == []


def test_marks_keep_to_their_words_while_one_types_on(desk, breakdown, person):  # noqa: F811
    page = desk(written(breakdown, person, WRONG).get_absolute_url())
    page.wait_for_selector(f"{MARK}.over")
    # Half a sentence before it changes what is read: no answer comes while this types.
    page.route("**/check/", lambda route: None)
    page.focus(".cm-content")
    page.keyboard.press("Control+Home")
    for word in ["Now", "look", "at", "the", "arm", "from", "behind,", "and", "listen", "to", "this:", ""]:
        page.keyboard.type(f"{word} ".removesuffix("  "), delay=12)
        mark = page.text_content(f"{MARK}.over")
        assert mark == WRONG.removesuffix("."), mark
    # A mark that is typed into says nothing of the new words until they have been read.
    page.keyboard.press("End")
    page.keyboard.press("Control+ArrowLeft")
    page.keyboard.press("Control+ArrowLeft")
    page.keyboard.type("upper ")
    assert page.query_selector(f"{MARK}.over") is None or "upper" in page.text_content(f"{MARK}.over")


def test_letters_beyond_the_basic_plane_shift_no_mark(desk, breakdown):  # noqa: F811
    page = desk(breakdown.get_absolute_url())
    page.focus(".cm-content")
    page.keyboard.insert_text(f"🤾🏽 up. {WRONG}")
    page.wait_for_selector(f"{MARK}.over")
    assert page.text_content(f"{MARK}.over") == WRONG.removesuffix(".")
    page.keyboard.press("Alt+u")
    until(page, lambda: stored(breakdown) == [f"🤾🏽 up. {RIGHT}"])


def test_what_a_term_means_by_keyboard_and_by_pointer(desk, breakdown, person):  # noqa: F811
    page = desk(written(breakdown, person, "Here infraspinatus brakes the arm.").get_absolute_url())
    page.focus(".cm-content")
    page.keyboard.press("Control+Home")
    for _ in range(8):
        page.keyboard.press("ArrowRight")
    page.keyboard.press("Alt+g")
    page.wait_for_selector(".meaning")
    told = page.text_content(".meaning")
    # OpenStax 2e, table 11.x "Muscles that move the humerus": lateral rotation; suprascapular nerve (from memory).
    for part in ("Infraspinatus", "shoulder blade", "external rotation", "suprascapular nerve", "OpenStax"):
        assert part in told, part
    until(page, lambda: page.evaluate("document.activeElement.matches('.meaning')"))
    assert page.get_attribute(".meaning", "aria-label") == "What infraspinatus means"
    page.keyboard.press("Escape")
    until(page, lambda: in_words(page) and page.query_selector(".meaning") is None)
    page.keyboard.press("Control+End")
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("ArrowLeft")
    box = middle(page, 6, 16)
    page.mouse.move(*box)
    page.mouse.move(box[0] + 2, box[1])
    page.wait_for_selector(".meaning")
    assert in_words(page)
    page.mouse.move(5, 5)
    until(page, lambda: page.query_selector(".meaning") is None)
    assert desk.faults == []


def test_terms_are_finished_only_when_one_pauses_and_asks(desk, breakdown):  # noqa: F811
    page = desk(breakdown.get_absolute_url())
    page.focus(".cm-content")
    page.keyboard.type("And for")
    page.wait_for_timeout(1000)
    assert page.query_selector(".words-options") is None  # an ordinary word, though terms begin with it
    page.keyboard.press("Control+Space")  # but it comes when it is asked for
    page.wait_for_selector(".words-options li")
    page.keyboard.press("Escape")
    page.keyboard.type(" the subsc")
    page.wait_for_selector(".words-options li")
    page.keyboard.press("Enter")  # nothing is chosen yet: a new line
    page.keyboard.type("then infrasp")
    page.wait_for_selector(".words-options li:has-text('infraspinatus')")
    page.wait_for_timeout(120)
    page.keyboard.press("Tab")
    page.keyboard.type(" and rhomb")
    page.keyboard.press("Control+Space")
    page.wait_for_selector(".words-options li[aria-selected]:has-text('rhomboid')")
    page.keyboard.press("Escape")
    page.keyboard.press("Tab")
    assert not in_words(page)  # Tab leaves the field when no list is open
    until(page, lambda: stored(breakdown) == ["And for the subsc\nthen infraspinatus and rhomb"])
    assert desk.faults == []


def test_plain_words_are_offered_once_and_put_in(desk, breakdown, person):  # noqa: F811
    page = desk(
        written(
            breakdown, person, "The vastus lateralis drives.", "So does gluteus medius."
        ).get_absolute_url()
    )
    assert not page.is_visible("#plain-words .note")
    page.click("#plain-words summary")
    page.click("#plain-words .note:has-text('vastus lateralis') button:has-text('Put it in')")
    until(page, lambda: stored(breakdown)[0].startswith("The vastus lateralis, the "))
    assert stored(breakdown)[0].endswith(", drives.")
    until(page, lambda: "vastus" not in (page.text_content("#plain-words") or ""))
    assert page.get_attribute("#plain-words", "open") is not None
    page.click("#plain-words .note:has-text('gluteus medius') button:has-text('Leave it')")
    until(page, lambda: page.query_selector("#plain-words") is None)
    assert desk.faults == []


def test_without_script_words_and_notes_work(browser_without_script, breakdown, person):  # noqa: F811
    page = browser_without_script(written(breakdown, person, WRONG).get_absolute_url())
    assert page.is_visible("textarea")
    assert page.query_selector(".cm-content") is None
    assert page.text_content(".backdrop mark.over") == WRONG.removesuffix(".")
    page.click(f"{NOTE} button:has-text('Use these words')")
    assert page.input_value("textarea") == RIGHT
    page.fill("textarea", f"{RIGHT} {DEPENDS}")
    page.click("button.save")
    assert stored(breakdown) == [f"{RIGHT} {DEPENDS}"]
    note = ".margin .note.near:has-text('depends on which part')"
    page.click(f"{note} .mean summary")
    page.fill(f"{note} input[name=reason]", "said of the front part before")
    page.click(f"{note} .mean button")
    assert page.query_selector(note) is None
    assert AnsweredNote.objects.get().reason == "said of the front part before"


def test_a_tap_tells_what_a_technical_term_means(live_server, desk, breakdown, person):  # noqa: F811
    first = desk(written(breakdown, person, "Infraspinatus. Shoulder. Nothing.").get_absolute_url())
    context = first.context.browser.new_context(has_touch=True, viewport={"width": 400, "height": 800})
    context.add_cookies(first.context.cookies())
    page = context.new_page()
    page.goto(live_server.url + breakdown.get_absolute_url())
    page.wait_for_selector(".cm-content")
    for start, shown in ((2, True), (17, False), (4, True), (27, False)):
        page.touchscreen.tap(*middle(page, start, start + 3))
        until(page, lambda shown=shown: (page.query_selector(".meaning") is not None) == shown)
    assert desk.faults == []


def test_only_beats_near_what_is_seen_are_edited_until_one_goes_there(desk, breakdown, person):  # noqa: F811
    many = written(breakdown, person, *[f"Beat number {number} says {WRONG}" for number in range(1, 41)])
    page = desk(many.get_absolute_url())
    page.wait_for_selector(".cm-content")
    assert page.locator(".cm-editor").count() < 20
    page.focus(".beat:nth-child(40) textarea")
    until(page, lambda: in_words(page))
    page.keyboard.press("Control+End")
    page.keyboard.type(" The end.")
    until(page, lambda: stored(breakdown)[39].endswith(" The end."))
    page.keyboard.press("Alt+n")
    assert page.evaluate("document.activeElement.closest('.beat').querySelector('.grip').textContent") == "1"
    assert desk.faults == []


def middle(page, start: int, end: int) -> list[float]:
    """The middle of some letters of the first line, in pixels of the window."""
    return page.evaluate(
        """([start, end]) => { const range = document.createRange();
        const walk = document.createTreeWalker(document.querySelector('.cm-line'), NodeFilter.SHOW_TEXT);
        let node = walk.nextNode();
        while (node.length <= start) { start -= node.length; end -= node.length; node = walk.nextNode(); }
        range.setStart(node, start); range.setEnd(node, end); const box = range.getBoundingClientRect();
        return [box.x + box.width / 2, box.y + box.height / 2]; }""",
        [start, end],
    )


@pytest.fixture
def browser_without_script(live_server, client, person, desk):  # noqa: F811
    """Opens a page signed in, with scripts switched off."""
    page = desk("/scripts/")
    context = page.context.browser.new_context(java_script_enabled=False)
    context.add_cookies(page.context.cookies())

    def opened(path: str):
        made = context.new_page()
        made.goto(live_server.url + path)
        return made

    return opened


@pytest.mark.parametrize("width", [360, 1440])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_it_fits_and_bars_nobody(desk, breakdown, person, width, scheme):  # noqa: F811
    long = f"{WRONG} The pec major helps, and {'overlong' * 12} too. {DEPENDS}"
    page = desk(written(breakdown, person, long).get_absolute_url())
    page.emulate_media(color_scheme=scheme)
    page.set_viewport_size({"width": width, "height": 800})
    page.focus(".cm-content")
    page.wait_for_selector(f"{MARK}.near")
    for summary in ("#keys summary", "#plain-words summary"):
        page.click(summary)
    assert page.evaluate(OVER) == 0
    page.evaluate(AXE.read_text(encoding="utf-8"))
    assert page.evaluate(BARRIERS) == []
    page.focus(".cm-content")
    page.keyboard.press("Control+Home")
    page.keyboard.press("Alt+g")
    page.wait_for_selector(".meaning")
    assert page.evaluate(OVER) == 0
    box = page.locator(".meaning").bounding_box()
    assert box["x"] >= 0
    assert box["x"] + box["width"] <= width
    assert page.evaluate(BARRIERS) == []
    assert desk.faults == []
