"""The rules against what is published: each case is a criterion of the publication in everyday words."""

from __future__ import annotations

import pytest

from breakdowns.questions.screening import screen

# Ottawa ankle, foot and knee rules: Stiell et al., Ann Emerg Med 1992;21:384; as listed at
# https://www.roshreview.com/blog/rapid-review-ottawa-ankle-rules/ and, for the foot,
# https://www.rcemlearning.co.uk/modules/foot-injuries-and-foot-pain-part-1/lessons/ottawa-ankle-and-foot-rules/ (read).
# Knee: https://spoonfulsugar.wordpress.com/2012/04/30/ottawa-rules/ (read).
OTTAWA = {
    "I rolled my ankle and it is tender on the bone at the back edge of the outer malleolus": "bone_tender_ankle_foot",
    "Twisted my ankle, pressing the tip of the inner malleolus hurts": "bone_tender_ankle_foot",
    "Twisted my foot and the base of the fifth metatarsal is very sore when I press it": "bone_tender_ankle_foot",
    "My navicular is tender since I landed on the side of my foot": "bone_tender_ankle_foot",
    "I sprained my ankle and cannot take four steps": "cannot_bear_weight",
    "I twisted my knee and cannot put weight on it": "cannot_bear_weight",
    "I fell on my knee and cannot bend my knee to 90 degrees": "knee_urgent",
}
# Canadian C-spine rule: Stiell et al., JAMA 2001;286:1841; criteria at https://fpnotebook.com/Ortho/Exam/CndnCSpnRl.htm
# (read): dangerous mechanism (fall from 3 feet or 5 stairs, axial load such as diving, high-speed crash, bicycle
# collision), tingling of the limbs, less than 45 degrees of rotation. NEXUS: Hoffman et al., Ann Emerg Med 1998;32:461:
# midline tenderness.
C_SPINE = {
    "I fell down five stairs and my neck hurts": "neck_injury",
    "She dived into shallow water and now her neck is painful": "neck_injury",
    "Car crash at high speed on Friday, my neck aches": "neck_injury",
    "I fell off my bike and cannot turn my neck to either side": "neck_injury",
    "The middle of my neck is tender to touch since the tackle": "neck_injury",
    "Since the fall both hands and feet are tingling": "cord_signs",
}
# Concussion Recognition Tool 5 and 6, red flags: https://www.informedtbi.org/concussion-assessment-tool and
# https://www.basketballconcussion.ca/recognize-remove (read); CRT6: Br J Sports Med 2023;57:689.
CONCUSSION = {
    "He was hit on the head and has neck pain": "neck_injury",
    "She hit her head and has double vision": "head_vision",
    "After a blow to the head his arms and legs are weak and tingling": "cord_signs",
    "I hit my head and my headache is getting worse": "head_worsening_headache",
    "He banged his head and had a seizure": "head_fit",
    "She was hit in the head and lost consciousness": "head_knocked_out",
    "He hit his head and is getting more and more drowsy": "head_drowsy_confused",
    "He was hit on the head and is vomiting": "head_vomiting",
    "Since the head knock she is agitated and combative": "head_drowsy_confused",
    "I bumped my head and feel like I am in a fog": "concussion_symptoms",
    "Light bothers me since I hit my head": "concussion_symptoms",
}
# NICE head injury guideline, referral criteria, wording at https://www.nasgp.org.uk/resource/nice-head-injury/ (read).
NICE_HEAD = {
    "I take warfarin and hit my head": "head_blood_thinner",
    "I have a bleeding disorder and banged my head on the post": "head_blood_thinner",
    "I hit my head and cannot remember the match": "head_drowsy_confused",
}
# GIRFT national suspected cauda equina syndrome pathway, presentation in primary and community care,
# https://girft-interactivepathways.org.uk/cauda-equina-1/ces-pres-primary-comm-3a-1/ (read).
CAUDA_EQUINA = {
    "My back hurts and I have difficulty starting to pee": "cauda_equina",
    "I have back pain and cannot feel myself peeing": "cauda_equina",
    "Numbness around my back passage since my slipped disc": "cauda_equina",
    "My genitals feel numb and I have sciatica": "cauda_equina",
    "I have back pain and both legs are getting weaker": "both_legs",
    "Bad back and I can't feel when my bowel is full": "cauda_equina",
    "Since my back pain began I cannot get an erection": "cauda_equina",
}
# NHS Lothian RefHelp, testicular torsion (read); American College of Obstetricians and Gynecologists, warning signs, at
# https://www.babymed.com/daily-living/exercise-when-stop-during-pregnancy (read); NIOSH on rhabdomyolysis (second-hand);
# NICE NG158, two-level Wells score for deep vein thrombosis (from memory); national health service on heatstroke (read).
OTHERS = {
    "My son has sudden severe pain in one testicle and feels sick": "testicle",
    "I am pregnant and have vaginal bleeding after the gym": "pregnancy",
    "I am pregnant and my baby is moving less": "pregnancy",
    "After the workout my urine is the colour of tea": "rhabdo",
    "My calf is swollen and tender, I was in plaster until last week": "deep_clot",
    "He ran in the heat, is confused and has stopped sweating": "heat_stroke",
}
EVERY = OTTAWA | C_SPINE | CONCUSSION | NICE_HEAD | CAUDA_EQUINA | OTHERS


@pytest.mark.parametrize(("text", "key"), EVERY.items())
def test_a_published_criterion_raises_its_flag(text: str, key: str) -> None:
    assert key in {flag.key for flag in screen(text).flags}


# The same rules leave these alone: able to walk and not tender on the bone; GIRFT: none of the signs; a neck that turns.
SILENT = [
    "I rolled my ankle, it is not tender on the bone and I can walk fine. Which exercises help?",
    "My lower back is stiff. No numbness, no trouble peeing, no weakness. Which stretch do you suggest?",
    "My neck is a bit stiff from the desk, I can turn it fully to both sides and nothing tingles.",
]


@pytest.mark.parametrize("text", SILENT)
def test_nothing_is_flagged_where_the_criteria_are_denied(text: str) -> None:
    assert screen(text).flags == ()
