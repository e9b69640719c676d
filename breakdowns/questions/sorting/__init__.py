"""What a member's question is about, how long an answer will take, and which questions are the same in other words."""

from breakdowns.questions.sorting.likeness import LikenessIndex, group_questions, most_similar
from breakdowns.questions.sorting.prints import Fingerprint, fingerprint, similarity
from breakdowns.questions.sorting.question import Sorted, concepts, search_words, sort_question
from breakdowns.questions.sorting.sentences import sentence_encoder
from breakdowns.questions.sorting.topics import TOPICS

__all__ = [
    "TOPICS",
    "Fingerprint",
    "LikenessIndex",
    "Sorted",
    "concepts",
    "fingerprint",
    "group_questions",
    "most_similar",
    "search_words",
    "sentence_encoder",
    "similarity",
    "sort_question",
]
