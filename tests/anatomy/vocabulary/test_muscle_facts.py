"""Muscle facts typed in from published books, held against the vocabulary's own data.

OpenStax: Anatomy and Physiology 2e (2022), chapter 11; its tables, table descriptions and running text were read.
Gray: Anatomy of the Human Body, 20th US edition (1918), paragraphs "Actions"; the pages named were read.
A book is not always right: where the vocabulary says otherwise, the difference stands in DIFFERENCES with its reason,
and a difference that no longer is one fails too.
"""

from __future__ import annotations

import re

import pytest

from anatomy.vocabulary.packaged import packaged_vocabulary

SHORT = {
    "neck": "cervical spine",
    "upper back": "thoracic spine",
    "low back": "lumbar spine",
    "head": "atlanto-occipital",
    "jaw": "temporomandibular",
    "eye": "eyeball",
    "mouth corners": "corners of the mouth",
    "ribs": "costovertebral",
    "shoulder": "glenohumeral",
    "scapula": "scapulothoracic",
    "clavicle": "sternoclavicular",
    "forearm": "radioulnar",
    "ankle": "talocrural",
    "foot": "subtalar",
    "knuckles": "metacarpophalangeal (fingers 2-5)",
    "middle joints": "proximal interphalangeal (fingers 2-5)",
    "fingertips": "distal interphalangeal (fingers 2-5)",
    "finger joints": "interphalangeal (fingers 2-5)",
    "thumb base": "carpometacarpal (thumb)",
    "thumb knuckle": "metacarpophalangeal (thumb)",
    "thumb tip": "interphalangeal (thumb)",
    "little finger knuckle": "metacarpophalangeal (finger 5)",
    "little finger base": "carpometacarpal (finger 5)",
    "index knuckle": "metacarpophalangeal (finger 2)",
    "big toe": "first metatarsophalangeal",
    "toes": "metatarsophalangeal (toes 2-5)",
    "middle toes": "metatarsophalangeal (toes 2-4)",
    "outer toes": "metatarsophalangeal (toes 3-5)",
    "little toe": "metatarsophalangeal (toe 5)",
    "toe joints": "interphalangeal (toes 2-5)",
    "middle toe joints": "interphalangeal (toes 2-4)",
}

# One line for each muscle or group: name | joint motion, motion; joint motion. The source stands above its lines.
OPENSTAX = """
# OpenStax 11.1, text and table of agonists and antagonists
biceps brachii | elbow flexion
brachialis | elbow flexion
brachioradialis | elbow flexion
triceps brachii | elbow extension
hamstrings | knee flexion
quadriceps femoris | knee extension
flexor digitorum superficialis | middle joints flexion; wrist flexion
flexor digitorum profundus | fingertips flexion; wrist flexion
extensor digitorum | knuckles extension; wrist extension
deltoid | shoulder abduction
anterior deltoid | shoulder flexion, abduction
# OpenStax 11.3, table of the lower jaw and text on the anterior neck
masseter | jaw elevation
temporalis | jaw elevation, retraction
lateral pterygoid | jaw depression, protraction, lateral excursion
medial pterygoid | jaw elevation, protraction, lateral excursion
digastric | jaw depression; hyoid elevation
geniohyoid | jaw depression
stylohyoid | hyoid elevation, retraction
mylohyoid | hyoid elevation
sternohyoid | hyoid depression
omohyoid | hyoid depression
# OpenStax 11.3, tables of facial expression, of the eye and of the tongue
frontalis | eyebrows elevation
corrugator supercilii | eyebrows depression
orbicularis oculi | eyelids depression
levator palpebrae superioris | eyelids elevation
zygomaticus major | mouth corners elevation
levator labii superioris | lips opening
depressor labii inferioris | lips opening
superior rectus | eye elevation, adduction
inferior rectus | eye depression, adduction
lateral rectus | eye abduction
medial rectus | eye adduction
superior oblique | eye depression, abduction
inferior oblique | eye elevation, abduction
genioglossus | tongue protraction, depression
styloglossus | tongue elevation, retraction
hyoglossus | tongue depression
# OpenStax 11.3, table of muscles that move the head; text on the posterior neck and back
sternocleidomastoid | neck rotation opposite side, flexion, lateral flexion; head flexion
semispinalis capitis | neck lateral flexion, rotation same side, extension; head extension
splenius capitis | neck lateral flexion, rotation same side, extension; head extension
longissimus capitis | neck lateral flexion, rotation same side, extension; head extension
splenius cervicis | neck extension, lateral flexion, rotation same side
iliocostalis lumborum | low back extension, lateral flexion, rotation same side
longissimus thoracis | upper back extension, lateral flexion, rotation same side; low back extension
iliocostalis cervicis | neck extension, lateral flexion, rotation same side
spinalis thoracis | upper back extension, lateral flexion
multifidus | low back extension, lateral flexion
scalenus anterior | neck flexion, lateral flexion, rotation same side; thorax inspiration
scalenus medius | neck flexion, lateral flexion; thorax inspiration
scalenus posterior | neck lateral flexion, flexion; thorax inspiration
# OpenStax 11.4, tables of abdomen and thorax, text on the pelvic floor
external oblique | upper back rotation opposite side; low back lateral flexion
internal oblique | upper back rotation same side; low back lateral flexion
transversus abdominis | abdomen intra-abdominal pressure rise; thorax forced expiration
rectus abdominis | low back flexion; upper back flexion
quadratus lumborum | low back lateral flexion
diaphragm | thorax inspiration; abdomen intra-abdominal pressure rise
external intercostals | ribs elevation; thorax inspiration
internal intercostals | ribs depression; thorax forced expiration
innermost intercostals | thorax forced expiration
levator ani | pelvic floor elevation
coccygeus | sacrococcygeal flexion
# OpenStax 11.5, table of the pectoral girdle
subclavius | clavicle depression
pectoralis minor | scapula depression, protraction; ribs elevation; thorax inspiration
serratus anterior | scapula protraction; ribs elevation; thorax inspiration
trapezius | scapula elevation, retraction, depression, downward rotation; neck extension
rhomboid major | scapula retraction, downward rotation
rhomboid minor | scapula retraction, downward rotation
# OpenStax 11.5, text and table of muscles that move the humerus
pectoralis major | shoulder horizontal adduction, flexion
latissimus dorsi | shoulder extension, abduction
posterior deltoid | shoulder extension, external rotation
anterior deltoid | shoulder internal rotation
subscapularis | shoulder internal rotation, horizontal adduction
supraspinatus | shoulder abduction, external rotation
infraspinatus | shoulder external rotation
teres major | shoulder extension, adduction, internal rotation
teres minor | shoulder external rotation, extension
coracobrachialis | shoulder flexion, adduction, horizontal adduction
# OpenStax 11.5, text and table of muscles that move the forearm
biceps brachii | forearm supination; shoulder flexion
anconeus | elbow extension
pronator teres | forearm pronation
pronator quadratus | forearm pronation
supinator | forearm supination, pronation
# OpenStax 11.5, table of muscles that move wrist, hand and fingers
flexor carpi radialis | wrist flexion, radial deviation
palmaris longus | wrist flexion
flexor carpi ulnaris | wrist flexion, radial deviation
flexor digitorum superficialis | knuckles flexion
flexor digitorum profundus | middle joints flexion; knuckles flexion
flexor pollicis longus | thumb tip flexion
extensor carpi radialis longus | wrist extension, radial deviation
extensor carpi radialis brevis | wrist extension, radial deviation
extensor digitorum | knuckles abduction
extensor digiti minimi | little finger knuckle extension
extensor carpi ulnaris | wrist extension, ulnar deviation
abductor pollicis longus | thumb base extension, adduction; wrist ulnar deviation
extensor pollicis brevis | thumb knuckle extension
extensor pollicis longus | thumb tip extension
extensor indicis | index knuckle extension; wrist extension
# OpenStax 11.5, table of intrinsic muscles of the hand
abductor pollicis brevis | thumb base abduction
opponens pollicis | thumb base opposition
flexor pollicis brevis | thumb knuckle flexion
adductor pollicis | thumb base adduction
abductor digiti minimi (hand) | little finger knuckle abduction
flexor digiti minimi brevis (hand) | little finger knuckle flexion
opponens digiti minimi | little finger base opposition
lumbricals (hand) | knuckles flexion; finger joints extension
palmar interossei | metacarpophalangeal (fingers 2, 4, 5) adduction, flexion
palmar interossei | interphalangeal (fingers 2, 4, 5) extension
dorsal interossei (hand) | metacarpophalangeal (fingers 2-4) abduction, flexion
dorsal interossei (hand) | interphalangeal (fingers 2-4) extension
# OpenStax 11.6, table of the gluteal region, text and glossary
psoas major | hip flexion, external rotation; low back flexion
iliacus | hip flexion, external rotation
gluteus maximus | hip extension
gluteus medius | hip abduction
gluteus minimus | hip adduction
tensor fasciae latae | hip flexion, abduction
piriformis | hip external rotation
obturator internus | hip external rotation
obturator externus | hip external rotation
gemellus superior | hip external rotation
gemellus inferior | hip external rotation
quadratus femoris | hip external rotation
adductor longus | hip adduction, flexion, internal rotation, external rotation
adductor brevis | hip adduction, flexion, internal rotation, external rotation
adductor magnus | hip adduction, flexion, extension, internal rotation, external rotation
pectineus | hip abduction, adduction, flexion, internal rotation
# OpenStax 11.6, table of thigh muscles and text
gracilis | knee flexion; hip adduction, abduction
rectus femoris | knee extension; hip flexion
vastus lateralis | knee extension
vastus medialis | knee extension
vastus intermedius | knee extension
sartorius | knee flexion; hip flexion, abduction, external rotation
biceps femoris | knee flexion; hip extension, external rotation
semitendinosus | knee flexion; hip extension, internal rotation
semimembranosus | knee flexion; hip extension, internal rotation
# OpenStax 11.6, table of muscles that move feet and toes, text and glossary
tibialis anterior | ankle dorsiflexion; foot inversion
extensor hallucis longus | ankle dorsiflexion; big toe extension
extensor digitorum longus | ankle dorsiflexion; toes extension
fibularis longus | ankle plantarflexion; foot eversion
fibularis brevis | ankle plantarflexion; foot eversion
gastrocnemius | ankle plantarflexion; knee flexion
soleus | ankle plantarflexion
plantaris | ankle plantarflexion; knee flexion
tibialis posterior | ankle plantarflexion
popliteus | knee flexion
flexor digitorum longus | ankle plantarflexion; foot inversion; toes flexion
flexor hallucis longus | big toe flexion
# OpenStax 11.6, table of intrinsic muscles of the foot
extensor digitorum brevis | middle toes extension
abductor hallucis | big toe abduction, flexion
flexor digitorum brevis | toe joints flexion
abductor digiti minimi (foot) | little toe abduction, flexion
quadratus plantae | toe joints flexion
lumbricals (foot) | toe joints extension; toes flexion
flexor hallucis brevis | big toe flexion
adductor hallucis | big toe adduction, flexion
flexor digiti minimi brevis (foot) | little toe flexion
dorsal interossei (foot) | middle toes abduction, flexion; middle toe joints extension
plantar interossei (foot) | outer toes abduction, flexion; toe joints extension
"""

GRAY_ACTIONS = """
# Gray 1918, p. 396
longus colli | neck flexion
longus capitis | head flexion
rectus capitis anterior | head flexion
rectus capitis lateralis | head lateral flexion
# Gray 1918, p. 408
scalenus anterior | ribs elevation
scalenus medius | ribs elevation
sternocleidomastoid | thorax inspiration; neck flexion, rotation opposite side
# Gray 1918, p. 435
trapezius | scapula retraction, elevation, depression
# Gray 1918, p. 442
supraspinatus | shoulder abduction
infraspinatus | shoulder external rotation, extension
teres minor | shoulder external rotation, extension
teres major | shoulder extension, internal rotation
# Gray 1918, p. 474
pectineus | hip adduction, flexion, external rotation
adductor longus | hip adduction, flexion, external rotation
adductor brevis | hip adduction, flexion, external rotation
adductor magnus | hip adduction, external rotation
gracilis | knee flexion, internal rotation; hip adduction
# Gray 1918, p. 480
biceps femoris | knee flexion, external rotation
semitendinosus | knee flexion, internal rotation
semimembranosus | knee flexion, internal rotation
popliteus | knee internal rotation
# Gray 1918, p. 482
tibialis anterior | ankle dorsiflexion; foot inversion
tibialis posterior | foot inversion
fibularis tertius | ankle dorsiflexion; foot eversion
fibularis longus | foot eversion
fibularis brevis | foot eversion
extensor digitorum longus | toes extension
extensor hallucis longus | big toe extension
"""

SAID_EITHER_WAY = "small and bound to posture: OpenStax says either way by foot placement, Gray says outward"
OTHER_WAY = "a slip in the book: the muscle's name, its line of pull and the other books say the opposite"
DIFFERENCES = {
    "semispinalis capitis: cervical spine: rotation same side": "disputed: Moore gives the opposite side (from memory)",
    "sternocleidomastoid: atlanto-occipital: flexion": "disputed: Neumann has it tip the head back (from memory)",
    "iliocostalis lumborum: lumbar spine: rotation same side": "disputed: the lever is small and books differ",
    "scalenus anterior: cervical spine: rotation same side": "disputed: OpenStax names no side, books differ",
    "scalenus posterior: cervical spine: flexion": "disputed: OpenStax speaks of all three scalenes together",
    "adductor longus: hip: flexion": "only from a straight hip; the lever turns to extension as the hip bends (Neumann 2010)",
    "adductor brevis: hip: flexion": "only from a straight hip; the lever turns to extension as the hip bends (Neumann 2010)",
    "serratus anterior: costovertebral: elevation": "disputed: only with the shoulder blade fixed, if at all",
    "serratus anterior: thorax: inspiration": "disputed: only with the shoulder blade fixed, if at all",
    "trapezius: scapulothoracic: downward rotation": OTHER_WAY
    + " (upward rotation: Moore, Neumann, from memory)",
    "anterior deltoid: glenohumeral: abduction": "disputed: small with the arm at the side (Ackland 2008, from memory)",
    "latissimus dorsi: glenohumeral: abduction": OTHER_WAY + "; spreading the elbows is meant",
    "subscapularis: glenohumeral: horizontal adduction": "no other book read prints it; the lever is small",
    "supraspinatus: glenohumeral: external rotation": "disputed: small, and other tables print abduction only",
    "supinator: radioulnar: pronation": OTHER_WAY,
    "flexor carpi ulnaris: wrist: radial deviation": OTHER_WAY,
    "abductor pollicis longus: carpometacarpal (thumb): adduction": OTHER_WAY,
    "abductor pollicis longus: wrist: ulnar deviation": OTHER_WAY,
    "psoas major: hip: external rotation": "small, turns with the position of the hip; books differ",
    "psoas major: lumbar spine: flexion": "disputed: upper and lower fibres differ (Bogduk 1992, from memory)",
    "iliacus: hip: external rotation": "small, turns with the position of the hip; books differ",
    "gluteus minimus: hip: adduction": OTHER_WAY,
    "adductor longus: hip: internal rotation": SAID_EITHER_WAY,
    "adductor longus: hip: external rotation": SAID_EITHER_WAY,
    "adductor brevis: hip: internal rotation": SAID_EITHER_WAY,
    "adductor brevis: hip: external rotation": SAID_EITHER_WAY,
    "adductor magnus: hip: flexion": "only from a straight hip; from a bent hip it extends (Neumann, from memory)",
    "adductor magnus: hip: internal rotation": SAID_EITHER_WAY,
    "adductor magnus: hip: external rotation": SAID_EITHER_WAY,
    "pectineus: hip: abduction": OTHER_WAY + ", as does the running text of the same section",
    "pectineus: hip: internal rotation": "disputed: Gray 1918 gives outward rotation",
    "pectineus: hip: external rotation": "disputed: OpenStax and Moore give inward rotation",
    "gracilis: hip: abduction": OTHER_WAY + ", as does the running text of the same section",
    "plantar interossei (foot): metatarsophalangeal (toes 3-5): abduction": OTHER_WAY,
    "infraspinatus: glenohumeral: extension": "disputed: small, modern tables leave it out",
}


def _facts(text: str) -> list[tuple[str, str, str]]:
    """(muscle or group, joint, motion) of each statement in a table above."""
    found = []
    for line in text.strip().splitlines():
        if line.startswith("#"):
            continue
        name, statements = line.split(" | ")
        for statement in statements.split("; "):
            joint, motions = _joint_of(statement)
            found += [(name, joint, motion) for motion in re.split(r", ", motions)]
    return found


def _joint_of(statement: str) -> tuple[str, str]:
    names = {**{name: name for name in packaged_vocabulary().joints}, **SHORT}
    said = max((name for name in names if statement.startswith(f"{name} ")), key=len)
    return names[said], statement.removeprefix(f"{said} ")


def _holds(name: str, joint: str, motion: str) -> bool:
    """Whether the vocabulary says it plainly: undisputed, without a condition, of one muscle or part at least."""
    vocabulary = packaged_vocabulary()
    return any(
        (action.joint, action.motion) == (joint, motion) and not action.conditional and not action.disputed
        for muscle in vocabulary.members(name)
        for action in vocabulary.actions_of(muscle)
    )


ACTIONS = list(dict.fromkeys(_facts(OPENSTAX) + _facts(GRAY_ACTIONS)))


def test_there_are_enough_facts_from_outside() -> None:
    assert len(_facts(OPENSTAX)) >= 200
    assert len(_facts(GRAY_ACTIONS)) >= 40


@pytest.mark.parametrize(("name", "joint", "motion"), ACTIONS)
def test_an_action_in_the_books_holds_or_is_explained(name: str, joint: str, motion: str) -> None:
    assert packaged_vocabulary().members(name), name
    explained = f"{name}: {joint}: {motion}" in DIFFERENCES
    assert _holds(name, joint, motion) != explained


def test_every_difference_is_from_a_book() -> None:
    assert set(DIFFERENCES) <= {f"{name}: {joint}: {motion}" for name, joint, motion in ACTIONS}


def test_no_muscle_plainly_moves_a_joint_both_ways() -> None:
    vocabulary = packaged_vocabulary()
    plain = {
        (action.muscle, action.joint, action.motion)
        for action in vocabulary.actions
        if not action.conditional and not action.disputed
    }
    both = [
        (muscle, joint, motion)
        for muscle, joint, motion in plain
        if (muscle, joint, vocabulary.motions[f"{joint}: {motion}"].opposite) in plain
    ]
    assert both == []


def test_a_condition_is_named_wherever_the_bare_statement_would_mislead() -> None:
    for action in packaged_vocabulary().actions:
        assert action.depends_on or not action.conditional, action


# common practice, no source: what speech recognition makes of the names.
@pytest.mark.parametrize(
    ("heard", "meant"),
    [
        ("super spinatus", "supraspinatus"),
        ("infra spinatus", "infraspinatus"),
        ("sub scapularis", "subscapularis"),
        ("glutius medius", "gluteus medius"),
        ("ilio so as", "iliopsoas"),
        ("peck major", "pectoralis major"),
        ("tibby posterior", "tibialis posterior"),
        ("stern o cleido mastoid", "sternocleidomastoid"),
        ("rom boyds", "rhomboids"),
        ("latissimus dorsey", "latissimus dorsi"),
        ("try ceps", "triceps brachii"),
        ("Peroneus Longus", "fibularis longus"),
        ("VMO", "vastus medialis"),
        ("biceps", "biceps brachii"),
        ("glutes", "gluteal muscles"),
    ],
)
def test_names_as_heard_lead_to_the_muscle(heard: str, meant: str) -> None:
    assert {term.of for term in packaged_vocabulary().meanings(heard)} == {meant}


def test_misheard_names_are_many_and_never_everyday_words() -> None:
    misheard = [
        term.text
        for term in packaged_vocabulary().terms
        if term.style == "dictation" and term.kind in ("muscle", "group")
    ]
    assert len(misheard) >= 120
    assert not {"so as", "sore as", "add doctors", "sole us", "a doctor", "core"} & set(misheard)
