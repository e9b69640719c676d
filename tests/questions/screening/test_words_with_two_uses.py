"""The words of a danger sign in another use raise nothing, and in their own use still do. Sentences are our own."""

from __future__ import annotations

import pytest

from breakdowns.questions.screening import screen

OTHER_USE = [
    "I can't finish a sentence when I talk about this final",
    "I have not finished my rehab, can I run?",
    "I can't go to training on Friday, what can I do at home?",
    "I can't go below parallel in a squat",
    "I can't get going in the morning, my back is stiff",
    "I can't empty my schedule, how short can a session be?",
    "I can't hold it in a plank for long",
    "I lost control of the ball, how do I train that?",
    "I can't feel my glutes working in the bridge",
    "I nearly passed out laughing at your last video",
    "I blacked out the dates in my diary",
    "How long should I hold a glute bridge?",
    "How much jump rope should I do for my calves?",
    "Do the scars from my surgery need massage?",
    "Should I drink coffee before a match?",
    "My heart rate rose to 160, is that fine for zone two?",
    "I clench my jaw when I lift, is it bad?",
    "A curtain of defenders, how do I jump higher?",
    "The elephant exercise for hamstrings, how often?",
    "My wheelchair rugby team asks about shoulder load",
    "How do I do a tiptoe walk for my calves?",
    "Which velcro ankle brace do you suggest?",
    "Is BMI useful for a goalkeeper?",
    "Would calories matter for tendon healing?",
    "My arms are trembling at the end of planks, is that normal?",
    "My heat rash has not faded since Tuesday",
    "The rash fades under a glass, it itches after the gym mat",
]
OWN_USE = {
    "I stand at the loo and can't go, and my back is killing me": "cauda_equina",
    "My back hurts and I can't hold it any more": "cauda_equina",
    "Back's bad, and when I've peed it feels like I've not finished": "cauda_equina",
    "I can't feel when I need to go, since the deadlift": "cauda_equina",
    "I can't feel my legs": "both_legs",
    "My inhaler does not help and I can't finish a sentence": "asthma",
    "I was standing on the bridge last night and thought about it": "self_harm",
    "My pee looks like coffee after the workout": "urine_blood_flank",
    "A black curtain came down over one eye": "eye_sight_loss",
    "I took 12 painkillers at once": "medicines",
    "It feels like an elephant on my chest": "chest_pain_effort",
    "I'm on crutches, I can't get to the kitchen": "cannot_bear_weight",
    # The glass test, as national health services describe it (from memory).
    "I have a rash that doesn't fade under a glass": "meningitis",
    "My rash does not go away when I press a glass on it": "meningitis",
}


@pytest.mark.parametrize("text", OTHER_USE)
def test_in_another_use_nothing_is_raised(text: str) -> None:
    assert screen(text).flags == ()


@pytest.mark.parametrize(("text", "key"), OWN_USE.items())
def test_in_its_own_use_the_sign_is_raised(text: str, key: str) -> None:
    assert key in {flag.key for flag in screen(text).flags}
