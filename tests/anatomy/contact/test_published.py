"""What lies under a place, held against published texts; the source stands beside each check."""

from __future__ import annotations

import pytest

from anatomy.contact.at_risk import structures_under
from anatomy.contact.read import read_contact
from tests.anatomy.contact.reading import names

UNDER: list[tuple[str, str | None, tuple[str, ...], set[str], set[str], str]] = [
    # place, side, levels, under it, not under it, source
    ("lower-ribs-side", "left", ("10",), {"spleen"}, {"liver"}, "Ellis p. 57; Holden s. 81: spleen under ribs 9 to 11, axis along rib 10"),
    ("lower-ribs-back", "left", ("9",), {"spleen"}, {"liver"}, "Ellis p. 57: ribs 9, 10 and 11 posteriorly, 5 cm from the midline"),
    ("lower-ribs-side", "right", ("8",), {"liver"}, {"spleen"}, "Gray 1918 p. 1320: liver from the 7th rib at the side of the thorax"),
    ("lower-ribs-back", "left", ("11",), {"left kidney"}, {"right kidney"}, "Davis: left kidney rises to the upper border of rib 11"),
    ("lower-ribs-back", "right", ("12",), {"right kidney"}, {"left kidney"}, "Ellis p. 57: upper pole deep to the 12th rib"),
    ("beside-low-spine", "left", ("L2",), {"left kidney"}, {"right kidney"}, "Morris, kidney box: T11 to L3, 2.5 to 9.5 cm from the midline"),
    ("beside-low-spine", "left", ("L5",), {"transverse process"}, {"left kidney"}, "the same: ends at L3"),
    ("kidney-angle", "right", (), {"right kidney"}, {"spleen", "left kidney"}, "Holden: least protected below the last rib"),
    ("lower-belly", "right", (), {"appendix", "caecum"}, {"sigmoid colon"}, "Gray 1918 p. 1319; Rawling: appendix in the right iliac region"),
    ("lower-belly", "left", (), {"sigmoid colon"}, {"appendix", "caecum"}, "Moore (from memory)"),
    ("upper-belly", "right", (), {"liver", "gallbladder"}, {"spleen"}, "Ellis pp. 55, 57: gallbladder at the tip of the ninth cartilage"),
    ("waist", "left", (), {"descending colon"}, {"ascending colon"}, "Gray 1918 p. 1320: descending colon to the left iliac crest"),
    ("stomach-pit", None, (), {"pancreas", "left lobe of liver", "duodenum"}, set(), "Ellis p. 57: pancreas across L1; Gray 1918 p. 1320: left lobe crosses the midline"),
    ("heart-front", None, (), {"heart"}, {"liver"}, "Link et al. as in Madias 2007: blow over the left precordium"),
    ("neck-root", "left", (), {"lung apex", "subclavian artery", "brachial plexus"}, set(), "Gray 1918 p. 1310: apex 2.5 cm above the clavicle"),
    ("temple", "right", (), {"middle meningeal artery", "pterion", "brain"}, set(), "Neurosurgical Atlas, epidural hematoma"),
    ("eye", "left", (), {"orbital floor", "infraorbital nerve", "retina", "eyes"}, set(), "Kellogg, Hyphema; trapdoor fracture 2020"),
    ("nose", None, (), {"nasal septum", "nasal bone", "cribriform plate"}, set(), "RACGP 2016; AO Surgery Reference, septal haematoma"),
    ("neck-front", None, (), {"larynx", "trachea", "hyoid bone"}, set(), "Mendis and Anderson 2017"),
    ("shoulder-point", "right", (), {"acromioclavicular joint"}, set(), "StatPearls, Acromioclavicular Joint Injury"),
    ("collarbone-inner", "right", (), {"sternoclavicular joint", "brachiocephalic veins"}, set(), "Br J Sports Med 2005;39:e28"),
    ("elbow-inner", "left", (), {"ulnar nerve"}, set(), "FPnotebook, ulnar neuropathy at the elbow"),
    ("upper-arm-outer", "left", (), {"radial nerve"}, set(), "J Hand Surg Am 2024, radial nerve palsy"),
    ("wrist-thumb", "left", (), {"scaphoid", "distal radius"}, set(), "JETem, scaphoid fracture"),
    ("knuckles", "right", (), {"metacarpophalangeal joint (fingers 2-5)", "metacarpal neck"}, set(), "Fife Virtual Hand Clinic, fight bite"),
    ("fibula-head", "left", (), {"common fibular nerve"}, set(), "StatPearls, Peroneal Nerve Injury"),
    ("knee-back", "left", (), {"popliteal artery", "tibial nerve"}, set(), "StatPearls, Knee Dislocation"),
    ("knee-outer", "left", (), {"medial collateral ligament of knee", "anterior cruciate ligament"}, set(), "valgus blow, as cited in the data"),
    ("thigh-outer", "left", (), {"vastus lateralis", "iliotibial band"}, set(), "Ryan 1991, quadriceps contusions"),
    ("thigh-inner", "left", (), {"femoral artery", "saphenous nerve"}, set(), "StatPearls, medial thigh: adductor canal"),
    ("shin-outer", "left", (), {"anterior compartment of leg", "deep fibular nerve"}, set(), "StatPearls, Acute Compartment Syndrome"),
    ("ankle-inner", "left", (), {"posterior tibial artery", "tibial nerve"}, set(), "Moore (from memory): tarsal tunnel"),
    ("buttock", "left", (), {"sciatic nerve", "hip joint"}, set(), "UMEM pearl 2022, posterior hip dislocation"),
    ("genitals", None, (), {"testes"}, set(), "Sharp 2013, testicular torsion"),
]  # fmt: skip


@pytest.mark.parametrize(("place", "side", "levels", "under", "not_under", "source"), UNDER)
def test_structures_under_a_place(
    place: str, side: str | None, levels: tuple[str, ...], under: set[str], not_under: set[str], source: str
) -> None:
    found = {row.name for row in structures_under(place, side, levels=levels)}
    assert under <= found, source
    assert not found & not_under, source


URGENT = [
    # text, structure, words of the source that must stand in watch_for, source
    ("blow to the left temple", "brain", ("one pupil larger", "vomiting", "fit"), "CDC HEADS UP, Concussion Danger Signs"),
    ("elbow into the lower left ribs", "spleen", ("left shoulder-tip pain",), "Ann Emerg Med 2005; Kehr's sign"),
    ("knee to the left lower ribs at the back", "left kidney", ("urine", "does not rule it out"), "5-Minute Emergency Medicine Consult: no haematuria does not exclude"),
    ("ball to the chest over the heart", "heart", ("collapse", "defibrillator"), "Madias 2007: defibrillation within 3 minutes"),
    ("ball to the nose", "nasal septum", ("both sides",), "Canty and Berkowitz: obstruction in all but one of 20"),
    ("ball in the eye", "eyes", ("do not press",), "Medscape: no pressure on a ruptured globe"),
    ("puck to the teeth", "teeth", ("milk", "crown", "milk tooth is not put back"), "IADT guidelines, dental trauma guide"),
    ("kicked in the testicles", "testes", ("high-riding",), "Sharp 2013"),
    ("knee in the front of the thigh", "vastus intermedius", ("hard thigh",), "Kanlic 2010: tense thigh in 69.5 %"),
    ("landed head first, back of the neck", "cervical vertebrae", ("45 degrees",), "Canadian C-spine rule"),
    ("kicked in the buttock", "hip joint", ("six hours",), "UMEM 2022: osteonecrosis 5 % before, up to 53 % after six hours"),
    ("ball to the throat", "larynx", ("hoarse", "crackle"), "J Emerg Med 2019;57:e85"),
    ("fell on the seat, low back", "cauda equina", ("saddle", "bladder"), "BMJ Best Practice, cauda equina syndrome"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "name", "words", "source"), URGENT)
def test_what_needs_care_at_once_carries_the_published_signs(
    text: str, name: str, words: tuple[str, ...], source: str
) -> None:
    rows = [row for row in read_contact(text).structures if row.name == name and row.urgency == "emergency"]
    assert any(all(word in row.watch_for.lower() for word in words) for row in rows), (source, rows)


@pytest.mark.parametrize(
    "text",
    [
        "fell on the outstretched hand",
        "falls on an outstretched left hand",
        "fell on her outstretched right arm",
    ],
)
def test_a_fall_on_the_outstretched_hand_reaches_up_the_arm(text: str) -> None:
    """aneskey.com, FOOSH injuries: wrist, elbow, shoulder; scaphoid the most common carpal, clavicle in children."""
    found = names(text)
    assert {
        "scaphoid",
        "distal radius",
        "head of radius",
        "clavicle",
        "surgical neck of humerus",
        "elbow joint",
    } <= found
    assert "nail bed" not in found


def test_the_cautions_that_the_guidance_asks_for_are_carried() -> None:
    """NICE QS74 (anticoagulants and head injury), CDC (danger signs), AAP (spine: never move the person), AMA 8.12."""
    head = " ".join(caution.line for caution in read_contact("elbow to the temple").cautions)
    for word in (
        "not a diagnosis",
        "blood thinner",
        "Children",
        "emergency services",
        "vomiting",
        "do not move",
    ):
        assert word in head, word
    knee = " ".join(caution.line for caution in read_contact("kick to the shin").cautions)
    assert "vomiting" not in knee
    assert "do not move head" not in knee
    assert "tetanus" in " ".join(caution.line for caution in read_contact("stud cut on the shin").cautions)
