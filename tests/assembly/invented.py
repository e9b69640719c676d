"""Invented handball pieces and a strategy for any piece: what the tests of the written files share."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import strategies as st

from breakdowns.assembly.piece import (
    CameraPicture,
    ExcerptPicture,
    Piece,
    PieceBeat,
    PieceSource,
    PlatePicture,
    StillPicture,
)

NTSC = Fraction(30000, 1001)
RATES = [Fraction(24000, 1001), Fraction(24), Fraction(25), NTSC, Fraction(30), Fraction(50), Fraction(60)]


def make_source(key="A", *, rate=Fraction(25), frame_count=2500, **more) -> PieceSource:
    facts = {
        "id": key,
        "title": f"Semi-final, camera {key}",
        "path": f"/kept/elsewhere/semi final {key}.mp4",
        "digest": f"{ord(key[0]):02x}" * 32,
        "width": 1280,
        "height": 720,
        "has_audio": True,
        "event": "Cup semi-final (invented)",
        "view": "baseline" if key == "A" else "overhead",
        "rights_holder": "The organiser (invented)",
        "attribution": "Pictures: the organiser (invented)",
    } | more
    return PieceSource(rate=rate, frame_count=frame_count, **facts)


PLANT_WORDS = (
    "Watch the left foot. It lands *before* the trunk turns, and that is what makes the throw fast: "
    "the hips lead by about 35° and the shoulders follow some 60 ms later.\n\n"
    "[point at the knee] Now look at the knee of player number 9, the back-court player, when she plants it; "
    "it bends to 40 degrees, not more, because the quadriceps brake the fall."
)
CONTACT_WORDS = (
    "A blow here could hurt the spleen. A doctor would look for pain under the left ribs, "
    "e.g. when breathing in. If it gets worse – or she feels faint – go to hospital at once."
)


def jump_throw(rate=Fraction(30), **more) -> Piece:
    """Two cameras, slow motion with a hold, a still, plates and a part to camera."""
    baseline = make_source("A")
    overhead = make_source("B", rate=Fraction(30000, 1001), frame_count=1800)
    beats = (
        PieceBeat("b0", PlatePicture("title", "Jump throw", "From the ground up", Fraction(3))),
        PieceBeat(
            "b1",
            ExcerptPicture(baseline, 100, 350, Fraction(1, 2), Fraction(5), name="Plant and release"),
            PLANT_WORDS,
            "The plant",
            "drive",
            "/takes/b1 take 2.wav",
            Fraction(24),
        ),
        PieceBeat("b2", ExcerptPicture(overhead, 30, 330, original_sound=True), "", "", "release"),
        PieceBeat(
            "b3",
            StillPicture(baseline, 350, Fraction(15), mirrored=True),
            CONTACT_WORDS,
            "",
            "contact",
            None,
            Fraction(14),
        ),
        PieceBeat("b4", PlatePicture("caution", "Caution", "Not a diagnosis", Fraction(4)), "", "Caution"),
        PieceBeat("b5", CameraPicture(Fraction(6)), "Thank you for watching.", "", "", None, Fraction(2)),
    )
    return Piece("Jump throw of number 9", "jump-throw", beats, rate, **more)


rates = st.sampled_from(RATES)
seconds = st.fractions(Fraction(1, 25), 20, max_denominator=100)
speeds = st.sampled_from([Fraction(1), Fraction(1, 2), Fraction(1, 4), Fraction(3, 10), Fraction(2)])


@st.composite
def sources(draw) -> PieceSource:
    key = draw(st.sampled_from("ABC"))
    rate = {"A": Fraction(25), "B": NTSC, "C": Fraction(120)}[key]
    return make_source(key, rate=rate, frame_count=1200)


@st.composite
def pictures(draw):
    kind = draw(st.sampled_from(["excerpt", "still", "plate", "camera"]))
    if kind == "plate":
        return PlatePicture(
            draw(st.sampled_from(["title", "text", "caution", "house"])), "T", "x", draw(seconds)
        )
    if kind == "camera":
        return CameraPicture(draw(seconds))
    source = draw(sources())
    start = draw(st.integers(0, source.frame_count - 1))
    if kind == "still":
        return StillPicture(source, start, draw(seconds), draw(st.booleans()))
    end = draw(st.integers(start + 1, min(source.frame_count, start + 400)))
    hold = draw(st.just(Fraction(0)) | seconds)
    return ExcerptPicture(source, start, end, draw(speeds), hold, draw(st.booleans()), draw(st.booleans()))


SAID = [
    "the knee",
    "of the hip",
    "35 degrees",
    "player number 9",
    "bends early",
    "she lands",
    "and then",
    "because it turns",
    "60 ms",
    "the left shoulder,",
    "at release.",
    "not more;",
    "Look!",
    "the trunk turns",
]
sentences = st.lists(st.sampled_from(SAID), max_size=40).map(" ".join)


@st.composite
def pieces(draw, words=sentences) -> Piece:
    beats = []
    for number in range(draw(st.integers(0, 6))):
        spoken = draw(words)
        take = draw(st.sampled_from([None, f"/takes/take {number}.wav"])) if spoken else None
        beats.append(
            PieceBeat(
                f"b{number}",
                draw(pictures()),
                spoken,
                draw(st.sampled_from(["", "The plant", "Contact & <care>"])),
                draw(st.sampled_from(["", "drive", "release"])),
                take,
                draw(st.fractions(0, 25, max_denominator=50)),
            )
        )
    return Piece("Any piece", "any-piece", tuple(beats), draw(rates))
