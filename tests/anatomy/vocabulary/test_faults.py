"""Every kind of fault in a data file is found, at its file and line, with a way to mend it."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.faults import Fault, VocabularyFaults
from anatomy.vocabulary.mirroring import rows_of, vocabulary_of
from anatomy.vocabulary.reading import read_vocabulary, survey
from tests.anatomy.vocabulary.small_folder import Files, cell, small_files, write_folder

Breaks = Callable[[Files], Files]


def _cell(file: str, row: int, column: str, value: str) -> Breaks:
    return lambda files: cell(files, file, row, column, value)


def _more(file: str, *rows: list[str]) -> Breaks:
    return lambda files: files | {file: [*files[file], *rows]}


def faults_of(folder: Path, files: Files) -> list[Fault]:
    try:
        read_vocabulary(write_folder(folder, files))
    except VocabularyFaults as error:
        return list(error.faults)
    return []


def test_the_small_folder_itself_is_faultless(tmp_path: Path) -> None:
    assert faults_of(tmp_path / "v", small_files()) == []


CASES: list[tuple[str, Breaks, str, int, str, str]] = [
    ("a name twice", _more("muscles.csv", ["Rectus  Femoris".replace("  ", " "), *[""] * 11, "book"]),
     "muscles.csv", 4, "again after muscles.csv, line 2", "take one"),
    ("an action twice", _more("actions.csv", ["rectus femoris", "hip", "flexion", "assist", "no", "no", "", "book"]),
     "actions.csv", 5, "again after actions.csv, line 2", "take one"),
    ("a term twice", _more("terms_small.csv", ["Quads", "group", "quadriceps femoris", "slang", "book"]),
     "terms_small.csv", 6, "again after terms_small.csv, line 2", "take one"),
    ("an unknown joint", _cell("motions.csv", 0, "joint", "hipp"), "motions.csv", 2, "unknown joint 'hipp'", "joints.csv"),
    ("an unknown joint of an action", _cell("actions.csv", 2, "joint", "toe"), "actions.csv", 4, "unknown joint 'toe'", "add"),
    ("an unknown larger joint", _cell("joints.csv", 1, "within", "arm"), "joints.csv", 3, "unknown joint 'arm'", "add"),
    ("an unknown motion", _cell("actions.csv", 0, "motion", "rotation"), "actions.csv", 2,
     "unknown motion 'rotation' at 'hip'", "motions.csv"),
    ("a range of an unknown motion", _cell("ranges.csv", 0, "motion", "bend"), "ranges.csv", 2, "unknown motion 'bend'", "add"),
    ("an unknown muscle", _cell("actions.csv", 0, "muscle", "rectus"), "actions.csv", 2, "unknown muscle 'rectus'", "muscles.csv"),
    ("an unknown member", _cell("groups.csv", 1, "members", "vasti"), "groups.csv", 3, "unknown member 'vasti'", "correct"),
    ("an unknown whole", _cell("muscles.csv", 0, "whole", "thigh"), "muscles.csv", 2, "unknown group 'thigh'", "groups.csv"),
    ("a whole that is a task", _cell("muscles.csv", 1, "whole", "knee extensors"), "muscles.csv", 3, "functional group", "whole"),
    ("a whole without its part", _cell("groups.csv", 0, "members", "vastus medialis"), "muscles.csv", 2,
     "does not have this muscle", "members"),
    ("a part without its whole", _cell("muscles.csv", 0, "whole", ""), "groups.csv", 2, "does not name it", "'rectus femoris'"),
    ("a group named as a muscle", _cell("groups.csv", 1, "name", "vastus medialis"), "groups.csv", 3, "as well as a group", "name"),
    ("an unknown nerve", _cell("muscles.csv", 0, "nerve", "tibial nerve"), "muscles.csv", 2, "unknown nerve 'tibial nerve'", "add"),
    ("one of two nerves", _cell("muscles.csv", 0, "nerve", "femoral nerve; ulnar nerve"), "muscles.csv", 2,
     "unknown nerve 'ulnar nerve'", "nerves.csv"),
    ("an unknown trunk of a nerve", _cell("nerves.csv", 1, "branch_of", "plexus"), "nerves.csv", 3, "unknown nerve 'plexus'", "add"),
    ("an unknown plane", _cell("motions.csv", 1, "plane", "median"), "motions.csv", 3, "unknown plane 'median'", "planes.csv"),
    ("an unknown source", _cell("joints.csv", 0, "sources", "book; atlas"), "joints.csv", 2, "unknown source 'atlas'", "sources_"),
    ("no source", _cell("concepts.csv", 0, "sources", ""), "concepts.csv", 2, "no source is named", "fill in"),
    ("no source of a term", _cell("terms_small.csv", 1, "sources", ""), "terms_small.csv", 3, "no source is named", "fill in"),
    ("the site's own key", _cell("sources_small.csv", 0, "key", "own"), "sources_small.csv", 2, "kept for a site's own", "another"),
    ("the site's own basis", _cell("sources_small.csv", 0, "basis", "own"), "sources_small.csv", 2, "'own' is no basis", "write"),
    ("an unknown segment", _cell("chains.csv", 0, "order", "pelvis; arm"), "chains.csv", 2, "unknown segment 'arm'", "segments.csv"),
    ("joints in a circle", _cell("joints.csv", 0, "within", "hip"), "joints.csv", 2, "lower limb → hip → lower limb", "break"),
    ("a nerve its own branch", _cell("nerves.csv", 0, "branch_of", "lumbar plexus"), "nerves.csv", 2,
     "lumbar plexus → lumbar plexus", "break"),
    ("groups in a circle", _cell("groups.csv", 0, "members", "rectus femoris; vastus medialis; knee extensors"), "groups.csv", 2,
     "quadriceps femoris → knee extensors → quadriceps femoris", "break"),
    ("a term that points to nothing", _cell("terms_small.csv", 1, "of", "sartorius"), "terms_small.csv", 3,
     "no muscle is called 'sartorius'", "muscles.csv"),
    ("a motion term that points to nothing", _cell("terms_small.csv", 2, "of", "toe: extension"), "terms_small.csv", 4,
     "no motion is called", "joint: motion"),
    ("a synonym of a synonym", _more("terms_small.csv", ["quad", "group", "quads", "slang", "book"]), "terms_small.csv", 6,
     "'quads' is itself a synonym", "'quadriceps femoris'"),
    ("synonyms in a circle", _more("terms_small.csv", ["a", "muscle", "b", "slang", "book"], ["b", "muscle", "a", "slang", "book"]),
     "terms_small.csv", 6, "in a circle: a → b → a", "standard name"),
    ("one text for two", _more("terms_small.csv", ["kicker", "muscle", "rectus femoris", "plain", "book"],
                               ["kicker", "muscle", "vastus medialis", "plain", "book"]),
     "terms_small.csv", 6, "stands for 'rectus femoris' and also for 'vastus medialis'", "short, slang, dictation"),
    ("one text for a muscle and a group", _more("terms_small.csv", ["quads", "muscle", "rectus femoris", "plain", "book"]),
     "terms_small.csv", 6, "also for 'quadriceps femoris'", "group"),
    ("a term that is another's name", _more("terms_small.csv", ["vastus medialis", "muscle", "rectus femoris", "slang", "book"]),
     "terms_small.csv", 6, "standard name already (muscles.csv, line 3)", "out"),
    ("a motion term that is another's name", _more("terms_small.csv", ["hip flexion", "motion", "hip: extension", "slang", "book"]),
     "terms_small.csv", 6, "standard name already (motions.csv, line 2)", "out"),
    ("an illegal role", _cell("actions.csv", 0, "role", "main"), "actions.csv", 2, "'main' is no role", "prime or assist"),
    ("an illegal style", _cell("terms_small.csv", 0, "style", "own"), "terms_small.csv", 2, "'own' is no style", "slang"),
    ("an illegal kind", _cell("terms_small.csv", 0, "kind", "bone"), "terms_small.csv", 2, "'bone' is no kind", "muscle"),
    ("an illegal kind of group", _cell("groups.csv", 0, "kind", "part"), "groups.csv", 2, "'part' is no kind", "whole or functional"),
    ("an illegal boolean", _cell("actions.csv", 1, "conditional", "true"), "actions.csv", 3, "'true' is no conditional", "yes or no"),
    ("an empty boolean", _cell("actions.csv", 1, "disputed", ""), "actions.csv", 3, "is no disputed", "yes or no"),
    ("low above high", _cell("ranges.csv", 0, "low", "151"), "ranges.csv", 2, "low (151) is above high (150.5)", "swap"),
    ("no number", _cell("ranges.csv", 0, "high", "about 150"), "ranges.csv", 2, "no number", "digits"),
    ("not a finite number", _cell("ranges.csv", 0, "high", "inf"), "ranges.csv", 2, "no number", "digits"),
    ("a place that is not whole", _cell("phases.csv", 0, "place", "1.5"), "phases.csv", 2, "no whole number", "digits"),
    ("a place below one", _cell("phases.csv", 0, "place", "0"), "phases.csv", 2, "below 1", "from 1"),
    ("a place taken twice", _cell("phases.csv", 1, "place", "1"), "phases.csv", 3, "'load' has place 1", "its own"),
    ("an opposite that is not there", _cell("motions.csv", 0, "opposite", "retraction"), "motions.csv", 2,
     "'retraction' does not exist at 'hip'", "add"),
    ("an opposite that is not mutual", _cell("motions.csv", 0, "opposite", ""), "motions.csv", 3,
     "has 'nothing' as its opposite", "name each other"),
    ("plane and axis", _cell("motions.csv", 0, "axis", "anteroposterior"), "motions.csv", 2,
     "'sagittal' does not go with the axis 'anteroposterior'", "'mediolateral'"),
    ("an axis without a plane", _cell("motions.csv", 0, "plane", ""), "motions.csv", 2, "without its plane", "plane"),
    ("an illegal root", _cell("nerves.csv", 1, "roots", "L2-L4"), "nerves.csv", 3, "'L2-L4' is no level", "one by one"),
    ("a root that no spine has", _cell("muscles.csv", 0, "also_roots", "L6"), "muscles.csv", 2, "'L6' is no level", "one by one"),
    ("a vertebra that no spine has", _cell("structures.csv", 0, "vertebrae", "C8"), "structures.csv", 2, "'C8' is no level", "T12"),
    ("a rib that nobody has", _cell("structures.csv", 0, "ribs", "13"), "structures.csv", 2, "'13' is no level", "ribs"),
    ("an illegal side", _cell("structures.csv", 0, "side", "middle"), "structures.csv", 2, "'middle' is no side", "midline"),
    ("an illegal quadrant", _cell("structures.csv", 0, "quadrants", "upper"), "structures.csv", 2, "no quadrant", "left upper"),
    ("stray spaces", _cell("muscles.csv", 1, "name", " vastus medialis"), "muscles.csv", 3, "stray spaces", "'vastus medialis'"),
    ("two spaces", _cell("concepts.csv", 0, "gloss", "the  lever"), "concepts.csv", 2, "stray spaces", "'the lever'"),
    ("a line break", _cell("concepts.csv", 0, "gloss", "the\nlever"), "concepts.csv", 2, "stray spaces", "'the lever'"),
    ("an invisible character", _cell("concepts.csv", 0, "gloss", "the lev\u200ber"), "concepts.csv", 2, "invisible", "write"),
    ("an empty key", _cell("joints.csv", 1, "name", ""), "joints.csv", 3, "“name” is empty", "fill it in"),
    ("a group of nobody", _cell("groups.csv", 1, "members", ""), "groups.csv", 3, "“members” is empty", "fill it in"),
    ("a list without spaces", _cell("nerves.csv", 1, "roots", "L2;L3"), "nerves.csv", 3, "list in “roots”", "one space"),
    ("a list with a hole", _cell("nerves.csv", 1, "roots", "L2; ; L3"), "nerves.csv", 3, "list in “roots”", "one space"),
    ("a list that says it twice", _cell("nerves.csv", 1, "roots", "L2; L2"), "nerves.csv", 3, "something twice", "out"),
    ("too many cells", _more("concepts.csv", ["lever", "a bar", "book", ""]), "concepts.csv", 3, "4 cells where the table has 3", "comma"),
    ("too few cells", _more("concepts.csv", ["lever", "a bar"]), "concepts.csv", 3, "2 cells where the table has 3", "comma"),
    ("a blank line", _more("concepts.csv", []), "concepts.csv", 3, "0 cells", "comma"),
    ("a colon in a joint's name", _more("joints.csv", ["toe: big", *[""] * 8, "book"]), "joints.csv", 5, "holds a ':'", "without"),
    ("a semicolon in a name", _more("segments.csv", ["arm; hand", "", "book"]), "segments.csv", 4, "holds a ';'", "without"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("breaks", "file", "line", "what", "mend"), [c[1:] for c in CASES], ids=[c[0] for c in CASES]
)
def test_a_fault_is_found_where_it_stands(
    tmp_path: Path, breaks: Breaks, file: str, line: int, what: str, mend: str
) -> None:
    faults = faults_of(tmp_path / "v", breaks(small_files()))
    found = [fault for fault in faults if (fault.file, fault.line) == (file, line) and what in fault.what]
    assert found, [str(fault) for fault in faults]
    assert mend in found[0].mend
    assert str(found[0]) == f"{file}, line {line}: {found[0].what}; {found[0].mend}."


@pytest.mark.parametrize("style", ["short", "slang", "dictation"])
def test_speakers_may_share_a_text_and_the_vocabulary_says_so(tmp_path: Path, style: str) -> None:
    files = _more(
        "terms_small.csv",
        ["kicker", "muscle", "rectus femoris", style, "book"],
        ["Kicker", "muscle", "vastus medialis", style, "book"],
    )(small_files())
    vocabulary = read_vocabulary(write_folder(tmp_path / "v", files))
    assert {term.of for term in vocabulary.ambiguous("KICKER")} == {"rectus femoris", "vastus medialis"}
    assert vocabulary.ambiguous("quads") == ()


def test_every_fault_is_gathered_before_the_folder_is_refused(tmp_path: Path) -> None:
    files = _cell("actions.csv", 0, "role", "main")(small_files())
    files = _cell("nerves.csv", 1, "roots", "L9")(_cell("joints.csv", 1, "sources", "")(files))
    found = {(fault.file, fault.line) for fault in faults_of(tmp_path / "v", files)}
    assert {("actions.csv", 2), ("nerves.csv", 3), ("joints.csv", 3)} <= found


def test_a_file_that_is_not_utf8_is_named_with_its_line(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "v", small_files())
    (folder / "concepts.csv").write_bytes(b"name,gloss,sources\nlever,a b\xe4r,book\n")
    faults = survey(folder)[1]
    assert [(fault.file, fault.line) for fault in faults] == [("concepts.csv", 2)]
    assert "UTF-8" in faults[0].what


@pytest.mark.parametrize(
    ("content", "line", "what"),
    [
        ("name,sources,gloss\n", 1, "header"),
        ("", 1, "empty"),
        ('name,gloss,sources\nlever,"a bar,book\n', 2, "no proper CSV"),
        ('name,gloss,sources\nlever,"a "bar"",book\n', 2, "no proper CSV"),
        ("name,gloss,sources\nlever,a\0bar,book\n", 2, ""),
    ],
)
def test_a_file_that_is_no_table_is_named(tmp_path: Path, content: str, line: int, what: str) -> None:
    folder = write_folder(tmp_path / "v", small_files())
    (folder / "concepts.csv").write_text(content, encoding="utf-8")
    faults = survey(folder)[1]
    assert ("concepts.csv", line) in {(fault.file, fault.line) for fault in faults}
    assert any(what in fault.what for fault in faults)


def test_a_stranger_among_the_files_is_named(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "v", small_files())
    (folder / "muskles.csv").write_text("name\n", encoding="utf-8")
    (folder / "README.txt").write_text("not a table, and nobody's business", encoding="utf-8")
    assert [fault.file for fault in survey(folder)[1]] == ["muskles.csv"]


@pytest.mark.parametrize("name", ["missing", "file.txt", "empty", "nul\0"])
def test_a_folder_without_data_files_is_a_fault(tmp_path: Path, name: str) -> None:
    (tmp_path / "file.txt").write_text("x", encoding="utf-8")
    (tmp_path / "empty").mkdir()
    with pytest.raises(VocabularyFaults) as error:
        read_vocabulary(tmp_path / name)
    assert len(error.value.faults) == 1
    assert "name " in error.value.faults[0].mend


def test_a_table_may_be_missing_and_a_mark_of_byte_order_is_no_fault(tmp_path: Path) -> None:
    files = small_files()
    for missing in ("actions.csv", "ranges.csv", "concepts.csv", "terms_small.csv"):
        del files[missing]
    folder = write_folder(tmp_path / "v", files)
    path = folder / "planes.csv"
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes())
    vocabulary = read_vocabulary(folder)
    assert vocabulary.actions == ()
    assert set(vocabulary.planes) == {"sagittal", "frontal"}


@given(st.lists(st.one_of(st.none(), st.integers(0, 6)), min_size=1, max_size=7))
def test_a_circle_of_joints_is_found_exactly_when_there_is_one(parents: list[int | None]) -> None:
    """Held against walking upwards from every joint as many steps as there are joints."""
    parents = [None if parent is None else parent % len(parents) for parent in parents]

    def in_circle(joint: int) -> bool:
        at: int | None = joint
        for _ in parents:
            at = None if at is None else parents[at]
            if at == joint:
                return True
        return False

    rows = [[f"j{n}", "", "" if p is None else f"j{p}", *[""] * 6, "book"] for n, p in enumerate(parents)]
    with tempfile.TemporaryDirectory() as folder:
        files = {"sources_small.csv": small_files()["sources_small.csv"], "joints.csv": rows}
        vocabulary, faults = survey(write_folder(Path(folder), files))
    named = {name for fault in faults for name in fault.what.split(": ")[1].split(" → ")}
    assert named == {f"j{n}" for n in range(len(parents)) if in_circle(n)}
    assert isinstance(vocabulary, Vocabulary)


_NEARLY = st.sampled_from(
    ["", " ", "hip", "hip; knee", "hip: flexion", "book", "yes", "2", "-1", '"', "\n", "\0", ";", "whole"]
)


@given(
    st.sampled_from(sorted(small_files())),
    st.lists(st.lists(st.one_of(_NEARLY, st.text(max_size=9)), max_size=13), max_size=4),
)
def test_whatever_a_file_holds_it_is_read_or_refused(name: str, rows: list[list[str]]) -> None:
    """No content makes the reader fail otherwise, and every fault names a file that is there."""
    rows = [[cell.encode("utf-8", "replace").decode() for cell in row] for row in rows]
    with tempfile.TemporaryDirectory() as folder:
        files = small_files()
        files[name] = [*files[name], *rows]
        vocabulary, faults = survey(write_folder(Path(folder), files))
    assert {fault.file for fault in faults} <= set(files)
    assert bool(faults) or vocabulary_of(rows_of(vocabulary)).tables() == vocabulary.tables()


@pytest.mark.parametrize("number", ["9" * 400, "9" * 5000, "\u0663\u0660", "1e3", "45.0000000001"])
def test_numbers_that_no_column_holds_are_faults(tmp_path: Path, number: str) -> None:
    """As long as these, a number is infinite, stops Python's own reading, or overflows the database."""
    files = cell(small_files(), "ranges.csv", 0, "high", number)
    found = faults_of(tmp_path / "v", files)
    assert [(fault.file, fault.line) for fault in found] == [("ranges.csv", 2)]


@pytest.mark.parametrize("spoil", ["caf\xe9\n".encode("latin-1"), b'"unclosed\n', b"\xff\xfe"])
def test_a_file_that_cannot_be_read_is_the_only_fault(tmp_path: Path, spoil: bytes) -> None:
    """Not one fault for every row elsewhere that names what could not be read."""
    folder = write_folder(tmp_path / "v", small_files())
    joints = folder / "joints.csv"
    joints.write_bytes(spoil if spoil[0] == 0xFF else joints.read_bytes() + spoil)
    with pytest.raises(VocabularyFaults) as error:
        read_vocabulary(folder)
    assert {fault.file for fault in error.value.faults} == {"joints.csv"}


def test_a_file_of_nothing_but_faults_is_not_read_to_its_end(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "v", small_files())
    joints = folder / "joints.csv"
    joints.write_bytes(joints.read_bytes() + b"x\n" * 20_000)
    with pytest.raises(VocabularyFaults) as error:
        read_vocabulary(folder)
    assert len(error.value.faults) < 1000
    assert "the rest was not read" in str(error.value.faults[-1])
