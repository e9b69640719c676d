"""Reads a member's question for signs that must not wait for an answer, and says where to go now."""

from breakdowns.questions.screening.actions import Advice, advice
from breakdowns.questions.screening.rules import URGENCIES
from breakdowns.questions.screening.screen import Flag, Screening, screen

__all__ = ["URGENCIES", "Advice", "Flag", "Screening", "advice", "screen"]
