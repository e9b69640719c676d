"""A small, faultless folder of data files to read, to break and to load. Facts as in any textbook, from memory."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from pathlib import Path

from anatomy.vocabulary.tables import TABLES, table_of_file

Files = dict[str, list[list[str]]]


def small_files() -> Files:
    """File name → rows below the header."""
    return {
        "sources_small.csv": [["book", "A textbook (from memory)", "from memory"]],
        "planes.csv": [
            ["sagittal", "mediolateral", "parts left from right", "book"],
            ["frontal", "anteroposterior", "parts front from back", "book"],
        ],
        "joints.csv": [
            ["lower limb", "leg", "", "", "", "", "", "hip to toes", "", "book"],
            ["hip", "leg", "lower limb", "ball and socket", "three", "pelvis", "femur", "ball of the thigh", "", "book"],
            ["knee", "leg", "lower limb", "hinge", "two", "femur", "tibia", "middle of the leg", "", "book"],
        ],
        "motions.csv": [
            ["hip", "flexion", "extension", "sagittal", "mediolateral", "thigh forwards", "", "book"],
            ["hip", "extension", "flexion", "sagittal", "mediolateral", "thigh backwards", "", "book"],
            ["knee", "flexion", "extension", "sagittal", "mediolateral", "heel to the buttock", "", "book"],
            ["knee", "extension", "flexion", "sagittal", "mediolateral", "straightening", "", "book"],
        ],
        "nerves.csv": [
            ["lumbar plexus", "plexus", "", "L1; L2; L3; L4", "", "roots of the thigh", "book"],
            ["femoral nerve", "nerve", "lumbar plexus", "L2; L3; L4", "", "front of the thigh", "book"],
        ],
        "groups.csv": [
            ["quadriceps femoris", "whole", "rectus femoris; vastus medialis", "front of the thigh", "book"],
            ["knee extensors", "functional", "quadriceps femoris", "what straightens the knee", "book"],
        ],
        "muscles.csv": [
            ["rectus femoris", "", "quadriceps femoris", "thigh", "", "", "", "femoral nerve", "L2; L3; L4", "", "", "", "book"],
            ["vastus medialis", "", "quadriceps femoris", "thigh", "", "", "", "femoral nerve", "L2; L3", "L4", "", "", "book"],
        ],
        "actions.csv": [
            ["rectus femoris", "hip", "flexion", "prime", "no", "no", "weak when the knee is straight", "book"],
            ["rectus femoris", "knee", "extension", "prime", "yes", "no", "", "book"],
            ["vastus medialis", "knee", "extension", "prime", "no", "yes", "", "book"],
        ],
        "ranges.csv": [["knee", "flexion", "130", "150.5", "adults", "", "book"]],
        "structures.csv": [["left kidney", "organ", "left", "left upper", "T12; L1", "11; 12", "", "", "", "book"]],
        "contractions.csv": [["eccentric", "lengthens", "pulls while it is drawn out", "book"]],
        "phases.csv": [["jump", "load", "1", "", "book"], ["jump", "drive", "2", "", "book"]],
        "segments.csv": [["pelvis", "the hip bones", "book"], ["trunk", "the body above it", "book"]],
        "chains.csv": [["throw", "pelvis; trunk", "", "book"]],
        "concepts.csv": [["moment arm", "the lever of a pull", "book"]],
        "terms_small.csv": [
            ["quads", "group", "quadriceps femoris", "short", "book"],
            ["rec fem", "muscle", "rectus femoris", "slang", "book"],
            ["straightening the knee", "motion", "knee: extension", "plain", "book"],
            ["bending", "motion", "flexion", "plain", "book"],
        ],
    }  # fmt: skip


def write_folder(folder: Path, files: Mapping[str, list[list[str]]]) -> Path:
    """Writes the files with their headers; returns the folder, emptied of other CSV files before."""
    folder.mkdir(exist_ok=True)
    for old in folder.glob("*.csv"):
        old.unlink()
    for name, rows in files.items():
        table = table_of_file(name)
        assert table is not None
        with (folder / name).open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows([table.columns, *rows])
    return folder


def cell(files: Files, file: str, row: int, column: str, value: str) -> Files:
    """The files with one cell changed; ``row`` counts from 0 below the header."""
    table = table_of_file(file)
    assert table is not None
    files[file][row][table.columns.index(column)] = value
    return files


assert set(TABLES) == {table.name for name in small_files() if (table := table_of_file(name))}
