"""Metres by the receiver's own speed, for a proof against a tape. Pure.

Rows of track come each second whether a shift is written or not, and while the installer's page is
away, as it is while the machine moves.
"""

from cabapp.outcome import Row

# Slower is taken for rest: a receiver that stands reads a little, and waiting must not add metres.
# Setting off and stopping lose some tenths of a metre each for it.
REST_MPS = 0.3
LONGEST_ROW_S = 2.0  # a longer gap between two rows is time without a speed


class Odometer:
    """``metres`` driven and ``lost_s`` seconds of no known speed, since it was made."""

    def __init__(self) -> None:
        self.metres = self.lost_s = 0.0
        self._last: tuple[float, float | None] | None = None

    def take(self, row: Row) -> None:
        """A closed second. Its own length is known when the next one begins."""
        speed = row.values.get("speed_mps")
        if self._last is not None:
            began, speed_mps = self._last
            took_s = max(0.0, row.t_s - began)
            known_s = min(took_s, LONGEST_ROW_S)
            self.lost_s += took_s - known_s
            if speed_mps is None:
                self.lost_s += known_s
            elif speed_mps >= REST_MPS:
                self.metres += speed_mps * known_s
        self._last = row.t_s, speed if isinstance(speed, float) else None
