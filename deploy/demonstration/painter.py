"""One frame after another of a view: the still hall, shadows, players and ball, and the goal in front."""

from __future__ import annotations

import numpy as np
from PIL import Image

from .ball import ball_course
from .body import body_surface, sphere_surface
from .court import goal_overlay, hall_picture, measure_of
from .draw import Solid, paint, seen_by, set_apart
from .scene import PLAYERS, players_at
from .shadows import ball_limb, limbs_of, with_shadows
from .views import View

__all__ = ["ViewPainter"]

_BALL = np.array([0.82, 0.54, 0.25]), np.array([0.94, 0.87, 0.71])


class ViewPainter:
    """Everything that stays the same in a view is made once; ``frame(n)`` paints the rest."""

    def __init__(self, view: View) -> None:
        self.view = view
        self.skeletons = players_at(view.event_times())
        self.ball = ball_course(self.skeletons["attacker"])
        self._surfaces = {
            p.role: body_surface(p.role, p.number, p.stature, self._detail(p.role)) for p in PLAYERS
        }
        self._sphere = sphere_surface(measure_of("ball_radius"), *_BALL)
        hall = (hall_picture(view.camera) * 255 + 0.5).astype(np.uint8)
        self._hall = Image.fromarray(hall)
        self._goal = goal_overlay(view.camera)

    def _detail(self, role: str) -> float:
        """Finer surfaces for players who stand near to the camera."""
        away = self.skeletons[role].joints["thorax"][0] - np.array(self.view.camera.position)
        pixels_a_metre = self.view.camera.focal / float(np.linalg.norm(away))
        return float(np.clip(pixels_a_metre / 160, 0.9, 1.5))

    def _solids(self, n: int) -> list[Solid]:
        solids = [
            Solid(s.placed(self.skeletons[role], n), s.faces, s.colours, s.bias)
            for role, s in self._surfaces.items()
        ]
        points, faces, colours = self._sphere
        # The ball rolls over in the air; its turn has no bearing on anything measured.
        turn = 9.0 * float(self.skeletons["attacker"].times[n])
        cos, sin = np.cos(turn), np.sin(turn)
        rolled = points @ np.array([[1, 0, 0], [0, cos, sin], [0, -sin, cos]])
        return [*solids, Solid(rolled + self.ball[n], faces, colours, np.zeros(len(faces)))]

    def frame(self, n: int) -> Image.Image:
        """The RGB picture of frame ``n``."""
        picture = self._hall.copy()
        bodies = [limbs_of(skeleton, n) for skeleton in self.skeletons.values()]
        bodies.append(ball_limb(self.ball[n], measure_of("ball_radius")))
        with_shadows(picture, bodies, self.view.camera)
        seen = [part for solid in self._solids(n) if (part := seen_by(self.view.camera, solid))]
        for group in set_apart(seen):
            paint(picture, group)
        if self._goal:
            overlay, box = self._goal
            picture.paste(overlay, box[:2], overlay)
        return picture
