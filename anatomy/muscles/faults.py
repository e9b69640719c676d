"""What can be wrong with a posture, and with the place where the model should be."""

from __future__ import annotations

__all__ = ["ModelNotInstalled", "PostureError"]


class PostureError(ValueError):
    """What is wrong with the posture, where, and how to mend it: one sentence."""


class ModelNotInstalled(RuntimeError):
    """The open musculoskeletal model is an extra and is not there."""

    def __init__(self) -> None:
        super().__init__(
            "The open musculoskeletal model is not installed: install the project with its extra “muscles” "
            "(packages myo-sim and mujoco); everything else works without it."
        )
