"""Nerves and roots typed in from Gray, Anatomy of the Human Body, 20th US edition (1918), held against the data.

The pages named were read; rows marked "from memory" come from the paragraphs "Nerves" without a look at the page.
"""

from __future__ import annotations

import pytest

from anatomy.vocabulary.packaged import packaged_vocabulary

# Gray 1918, "Nerves": muscle, nerve in today's words, roots, page or "from memory".
GRAY_NERVES = [
    ("levator scapulae", "dorsal scapular nerve", "C3 C4", "435"),
    ("rhomboid major", "dorsal scapular nerve", "C5", "435"),
    ("rhomboid minor", "dorsal scapular nerve", "C5", "435"),
    ("pectoralis minor", "medial pectoral nerve", "C8 T1", "439"),
    ("subclavius", "nerve to subclavius", "C5 C6", "439"),
    ("serratus anterior", "long thoracic nerve", "C5 C6 C7", "439"),
    ("pectoralis major (sternocostal part)", "medial pectoral nerve", "C8 T1", "439 and 933"),
    ("pectoralis major (clavicular part)", "lateral pectoral nerve", "C5 C6 C7", "933"),
    ("supraspinatus", "suprascapular nerve", "C5 C6", "442"),
    ("infraspinatus", "suprascapular nerve", "C5 C6", "442"),
    ("teres minor", "axillary nerve", "C5", "442"),
    ("teres major", "lower subscapular nerve", "C5 C6", "442"),
    ("subscapularis", "upper subscapular nerve", "C5 C6", "933"),
    ("subscapularis", "lower subscapular nerve", "C5 C6", "933"),
    ("latissimus dorsi", "thoracodorsal nerve", "C5 C6 C7", "933"),
    ("biceps brachii", "musculocutaneous nerve", "C5 C6 C7", "933"),
    ("adductor longus", "obturator nerve", "L3 L4", "474"),
    ("adductor brevis", "obturator nerve", "L3 L4", "474"),
    ("adductor magnus (adductor part)", "obturator nerve", "L3 L4", "474"),
    ("gracilis", "obturator nerve", "L3 L4", "474"),
    ("pectineus", "femoral nerve", "L2 L3 L4", "474"),
    ("biceps femoris short head", "common fibular nerve", "L5 S1 S2", "480"),
    ("biceps femoris long head", "tibial nerve", "L4 L5 S1 S2 S3", "480"),
    ("semitendinosus", "tibial nerve", "L4 L5 S1 S2 S3", "480"),
    ("semimembranosus", "tibial nerve", "L4 L5 S1 S2 S3", "480"),
    ("tibialis anterior", "deep fibular nerve", "L4 L5 S1", "482"),
    ("extensor hallucis longus", "deep fibular nerve", "L4 L5 S1", "482"),
    ("extensor digitorum longus", "deep fibular nerve", "L4 L5 S1", "482"),
    ("fibularis tertius", "deep fibular nerve", "L4 L5 S1", "482"),
    ("obturator externus", "obturator nerve", "L3 L4", "954"),
    ("piriformis", "nerve to piriformis", "S1 S2", "959"),
    ("gluteus medius", "superior gluteal nerve", "L4 L5 S1", "959"),
    ("gluteus minimus", "superior gluteal nerve", "L4 L5 S1", "959"),
    ("tensor fasciae latae", "superior gluteal nerve", "L4 L5 S1", "959"),
    ("gluteus maximus", "inferior gluteal nerve", "L5 S1 S2", "959"),
    ("upper trapezius", "spinal accessory nerve", "C3 C4", "from memory"),
    ("psoas minor", "anterior ramus of first lumbar nerve", "L1", "from memory"),
    ("psoas major", "anterior rami of lumbar spinal nerves", "L2 L3", "from memory"),
    ("iliacus", "femoral nerve", "L2 L3", "from memory"),
    ("sartorius", "femoral nerve", "L2 L3 L4", "from memory"),
    ("rectus femoris", "femoral nerve", "L2 L3 L4", "from memory"),
    ("vastus lateralis", "femoral nerve", "L2 L3 L4", "from memory"),
    ("gemellus inferior", "nerve to quadratus femoris", "L5 S1", "from memory"),
    ("quadratus femoris", "nerve to quadratus femoris", "L5 S1", "from memory"),
    ("obturator internus", "nerve to obturator internus", "S1 S2 S3", "from memory"),
    ("gastrocnemius", "tibial nerve", "S1 S2", "from memory"),
    ("soleus", "tibial nerve", "S1 S2", "from memory"),
    ("plantaris", "tibial nerve", "L4 L5 S1", "from memory"),
    ("popliteus", "tibial nerve", "L4 L5 S1", "from memory"),
    ("tibialis posterior", "tibial nerve", "L5 S1", "from memory"),
    ("flexor digitorum longus", "tibial nerve", "L5 S1", "from memory"),
    ("flexor hallucis longus", "tibial nerve", "L5 S1 S2", "from memory"),
    ("fibularis longus", "superficial fibular nerve", "L4 L5 S1", "from memory"),
    ("fibularis brevis", "superficial fibular nerve", "L4 L5 S1", "from memory"),
    ("middle deltoid", "axillary nerve", "C5 C6", "from memory"),
    ("coracobrachialis", "musculocutaneous nerve", "C6 C7", "from memory"),
    ("brachialis", "musculocutaneous nerve", "C5 C6", "from memory"),
    ("triceps brachii lateral head", "radial nerve", "C7 C8", "from memory"),
    ("brachioradialis", "radial nerve", "C5 C6", "from memory"),
    ("extensor carpi radialis longus", "radial nerve", "C6 C7", "from memory"),
    ("anconeus", "radial nerve", "C7 C8", "from memory"),
    ("supinator", "deep branch of radial nerve", "C6", "from memory"),
    ("extensor carpi ulnaris", "deep branch of radial nerve", "C7", "from memory"),
    ("extensor digitorum", "deep branch of radial nerve", "C7", "from memory"),
    ("pronator teres", "median nerve", "C6", "from memory"),
    ("flexor carpi radialis", "median nerve", "C6", "from memory"),
    ("flexor digitorum superficialis", "median nerve", "C7 C8 T1", "from memory"),
    ("flexor carpi ulnaris", "ulnar nerve", "C8 T1", "from memory"),
    ("flexor digitorum profundus", "ulnar nerve", "C8 T1", "from memory"),
    ("flexor digitorum profundus", "anterior interosseous nerve", "C8 T1", "from memory"),
    ("flexor pollicis longus", "anterior interosseous nerve", "C8 T1", "from memory"),
    ("pronator quadratus", "anterior interosseous nerve", "C8 T1", "from memory"),
    ("abductor pollicis brevis", "recurrent branch of median nerve", "C6 C7", "from memory"),
    ("adductor pollicis", "deep branch of ulnar nerve", "C8", "from memory"),
    ("dorsal interossei (hand)", "deep branch of ulnar nerve", "C8", "from memory"),
    ("lumbricals (hand)", "median nerve", "C6 C7", "from memory"),
    ("lumbricals (hand)", "deep branch of ulnar nerve", "C8", "from memory"),
]


@pytest.mark.parametrize(("muscle", "nerve", "roots", "page"), GRAY_NERVES)
def test_nerves_and_roots_agree_with_gray(muscle: str, nerve: str, roots: str, page: str) -> None:
    entry = packaged_vocabulary().muscles[muscle]
    assert nerve in entry.nerve.split("; "), page
    assert set(roots.split()) <= {*entry.roots, *entry.also_roots}, page


def test_parts_of_one_muscle_with_two_supplies_differ() -> None:
    """Gray 1918, p. 480 and 474: the short head of biceps and the hamstring part of adductor magnus stand apart."""
    muscles = packaged_vocabulary().muscles
    assert "common fibular nerve" not in muscles["biceps femoris long head"].nerve
    assert "obturator nerve" not in muscles["adductor magnus (hamstring part)"].nerve
