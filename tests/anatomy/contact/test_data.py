"""The packaged data: whole, sourced, hedged, and refused with file, line and mend when broken."""

from __future__ import annotations

import csv
import re
import shutil
from importlib.resources import as_file, files
from pathlib import Path

import pytest

from anatomy.contact.at_risk import places, structures_under
from anatomy.contact.entries import LAYERS, TABLES, VIEWS
from anatomy.contact.facts import ROOT
from anatomy.contact.loading import packaged_facts, read_facts
from anatomy.vocabulary.faults import VocabularyFaults
from anatomy.vocabulary.packaged import packaged_vocabulary

DIAGNOSIS = re.compile(
    r"\b(has torn|is torn|is broken|has broken|ruptured|was concussed|is out for|weeks out|definitely|certainly)\b"
)


def test_every_place_has_structures_a_key_a_view_and_a_region() -> None:
    assert len(places()) > 120
    for place in places():
        assert re.fullmatch(r"[a-z-]+", place.key)
        assert place.views
        assert set(place.views) <= set(VIEWS)
        assert place.region
        assert structures_under(place.key, "left"), place.key
        assert place.key == ROOT or place.within


def test_the_smallest_places_cover_the_body_from_all_sides_and_in_every_layer() -> None:
    facts = packaged_facts()
    seen = {
        (place.region, view)
        for key, place in facts.places.items()
        if facts.is_leaf(key)
        for view in place.views
    }
    for region in ("head", "neck", "shoulder", "arm", "chest", "leg"):
        for view in VIEWS:
            assert (region, view) in seen, (region, view)
    for region, view in [
        ("belly", "front"),
        ("back", "back"),
        ("hip", "back"),
        ("hip", "front"),
        ("groin", "front"),
    ]:
        assert (region, view) in seen
    for region in {region for region, _ in seen}:
        layers = {
            risk.layer for risk in facts.risks for key in risk.places if facts.places[key].region == region
        }
        assert len(layers) >= 2, region
    assert {risk.layer for risk in facts.risks} == set(LAYERS)


def test_every_rib_and_every_vertebra_lies_under_a_smallest_place() -> None:
    facts = packaged_facts()
    leaves = [place for key, place in facts.places.items() if facts.is_leaf(key)]
    assert {rib for place in leaves for rib in place.ribs} == {str(n) for n in range(1, 13)}
    spanned = {level for place in leaves for level in place.vertebrae}
    assert {
        *(f"C{n}" for n in range(1, 8)),
        *(f"T{n}" for n in range(1, 13)),
        *(f"L{n}" for n in range(1, 6)),
    } <= spanned


def test_every_row_has_known_sources_and_every_emergency_says_what_to_watch_for() -> None:
    facts, sources = packaged_facts(), packaged_vocabulary().sources
    for rows in (
        facts.places.values(),
        facts.risks,
        facts.mechanisms.values(),
        facts.cautions,
        facts.surface,
        facts.parts,
        facts.words,
    ):
        for row in rows:
            assert row.sources
            assert set(row.sources) <= set(sources)
    for risk in facts.risks:
        if risk.urgency == "emergency":
            assert len(risk.watch_for) > 10, risk


def test_wording_is_hedged_and_diagnoses_nobody() -> None:
    for place in places():
        for row in structures_under(place.key):
            assert re.search(r"\b(could|may|might|Possible)\b", row.why), row.why
            assert not DIAGNOSIS.search(f"{row.why} {row.watch_for} {row.risk}".lower()), row


def test_names_are_the_vocabularys_own() -> None:
    vocabulary = packaged_vocabulary()
    for risk in packaged_facts().risks:
        assert vocabulary.entry(risk.kind, risk.of) is not None


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A copy of the packaged files that may be broken."""
    with as_file(files("anatomy.contact").joinpath("data")) as packaged:
        shutil.copytree(packaged, tmp_path / "data")
    return tmp_path / "data"


def broken(folder: Path, file: str, line: int, column: str, cell: str) -> VocabularyFaults:
    """The faults after one cell of a file was overwritten."""
    path = folder / file
    with path.open(encoding="utf-8", newline="") as opened:
        rows = list(csv.reader(opened))
    rows[line - 1][rows[0].index(column)] = cell
    with path.open("w", encoding="utf-8", newline="") as opened:
        csv.writer(opened, lineterminator="\n").writerows(rows)
    with pytest.raises(VocabularyFaults) as error:
        read_facts(folder, packaged_vocabulary())
    return error.value


@pytest.mark.parametrize(
    ("file", "line", "column", "cell", "words"),
    [
        ("risks.csv", 5, "of", "brian", "no structure 'brian'"),
        ("risks.csv", 5, "places", "haed", "unknown place 'haed'"),
        ("risks.csv", 5, "sources", "", "“sources” is empty"),
        ("risks.csv", 5, "sources", "nobody-2020", "unknown source 'nobody-2020'"),
        ("risks.csv", 5, "urgency", "urgent", "'urgent' is no urgency"),
        ("risks.csv", 5, "layer", "fat", "'fat' is no layer"),
        ("risks.csv", 5, "mechanisms", "bump", "unknown mechanism 'bump'"),
        ("risks.csv", 5, "watch_for", "", "“watch_for” is empty"),
        ("risks.csv", 5, "ribs", "13", "no rib '13'"),
        ("risks.csv", 5, "vertebrae", "L9", "no vertebra 'L9'"),
        ("risks.csv", 5, "why", "It hurts", "is no sentence"),
        ("places.csv", 4, "within", "haed", "unknown place 'haed'"),
        ("places.csv", 3, "within", "forehead", "lies within itself"),
        ("places.csv", 6, "name", "temple", "no {side} in its name"),
        ("places.csv", 6, "views", "top", "'top' is no view"),
        ("places.csv", 6, "key", "forehead", "stands in line"),
        ("parts.csv", 4, "places", "nowhere", "unknown place 'nowhere'"),
        ("words.csv", 2, "value", "tail", "says nowhere what 'tail' is"),
        ("mechanisms.csv", 2, "carries", "nowhere", "unknown place 'nowhere'"),
        ("cautions.csv", 6, "values", "haed", "unknown place 'haed'"),
        ("cautions.csv", 6, "when", "sometimes", "is no when"),
        ("surface.csv", 2, "of", "lunges", "no structure 'lunges'"),
        ("surface.csv", 2, "view", "below", "is no view"),
    ],
)
def test_a_broken_cell_is_refused_with_file_line_and_mend(
    folder: Path, file: str, line: int, column: str, cell: str, words: str
) -> None:
    faults = broken(folder, file, line, column, cell).faults
    mine = [fault for fault in faults if words in fault.what]
    assert mine, faults
    assert any(
        fault.file == file and (fault.line == line or "itself" in words) and fault.mend for fault in mine
    )


def test_an_unpaired_organ_on_the_wrong_side_is_refused(folder: Path) -> None:
    with (folder / "risks.csv").open(encoding="utf-8", newline="") as opened:
        rows = list(csv.DictReader(opened))
    line = next(n for n, row in enumerate(rows, 2) if row["of"] == "spleen")
    faults = broken(folder, "risks.csv", line, "side", "right").faults
    assert any(fault.line == line and "lies on the left" in fault.what for fault in faults)


def test_a_missing_file_a_strange_file_and_a_wrong_header_are_refused(folder: Path) -> None:
    (folder / "surface.csv").unlink()
    (folder / "extras.csv").write_text("a,b\n", encoding="utf-8")
    (folder / "cautions.csv").write_text("key,line\n", encoding="utf-8")
    with pytest.raises(VocabularyFaults) as error:
        read_facts(folder, packaged_vocabulary())
    told = {fault.file: fault.what for fault in error.value.faults}
    assert told.keys() == {"surface.csv", "extras.csv", "cautions.csv"}
    assert set(TABLES) == {name.removesuffix(".csv") for name in told} - {"extras"} | set(TABLES)


def test_not_utf_8_is_refused(folder: Path) -> None:
    (folder / "parts.csv").write_bytes(b"part,aspects,places,sources\nhead,,head,\xe4\n")
    with pytest.raises(VocabularyFaults) as error:
        read_facts(folder, packaged_vocabulary())
    assert "UTF-8" in str(error.value)
