"""Texts of our own: what they name and whether a caution stands in them. Team handball, invented."""

NAMES = [
    ("The elbow lands on the left flank and could rupture the spleen.", {"organ"}),
    ("A blow there may bruise the left kidney.", {"organ"}),
    ("Defender's elbow into the left side, about the tenth rib, towards the back.", {"organ"}),
    ("The keeper takes the ball to the face and could have a concussion.", {"head", "spine"}),
    ("Ball to the throat: the larynx could be hurt.", {"spine"}),
    ("He fell on his back and could have injured the spine.", {"spine", "organ"}),
    ("Here the cervical vertebrae are in danger.", {"spine"}),
    ("The liver lies right under these ribs. It could tear here.", {"organ"}),
    ("Two heads clash: a concussion is possible.", {"head"}),
    ("The lung might be punctured by a broken rib.", {"organ"}),
    ("She is hit in the pit of the stomach.", {"organ"}),
    ("The knee lands in the belly.", {"organ"}),
]
SILENT = [
    "The trunk rotates to the left and the neck follows.",
    "The spleen lies under the ninth to eleventh rib.",
    "He lands on the left foot with the head up and throws the ball.",
    "The hamstrings could tear here.",
    "External rotation of the shoulder loads infraspinatus.",
    "She keeps her head still and her spine long.",
    "The ankle rolls and the outer ligament could be sprained.",
    "The elbow drops, so the ball leaves late.",
    "A kick in the calf leaves a bruise.",
]
CARRIES = [
    ("He comes off, and if he vomits, gets drowsy or confused he belongs in hospital.", {"head"}),
    ("No more sport that day. Growing headache, a seizure: call an ambulance.", {"head"}),
    ("Nobody moves her. Numbness or tingling in the limbs is a matter for paramedics.", {"spine"}),
    ("Do not move the neck; with weak or numb limbs call for help.", {"spine"}),
    (
        "If the pain gets worse, or she turns pale or faints, even tomorrow: to the emergency department.",
        {"organ"},
    ),
    ("Red urine and growing pain need a doctor at once.", {"organ"}),
    ("I can’t tell from a video whether anyone is hurt.", {"no_diagnosis"}),
    ("None of this is a diagnosis of her; only an examination can give one.", {"no_diagnosis"}),
]
DOES_NOT_CARRY = [
    "Take care of your head.",
    "If he vomits or gets drowsy, there is no need for a doctor.",
    "Headache and confusion come and go; you can play on.",
    "Call an ambulance.",
    "Growing pain and paleness are harmless. See a doctor about your knee.",
    "The spleen could be hurt, so watch out.",
    "Pain gets worse and she is pale.",
    "Do not move too fast into the jump; call for help from the pivot.",
    "He stops playing with a headache.",
    "That is my diagnosis.",
]
