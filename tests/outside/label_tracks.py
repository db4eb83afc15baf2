"""Labels of the machine tracks from their geometry alone: pass, turn, standing, other.

Run as a script it writes tracks/labels-*.csv. A person's eye would do the same on paper: find the
straight stretches, and call what joins two that point different ways a turn.

* A seed is a row whose course and all courses within 20 m of it agree within 10 degrees.
* A pass grows from its seed outward while the course stays within 10 degrees of the mean over the
  30 m of seed next to it, and is at least 25 m long.
* Rows between two passes are a turn where the two point more than 40 degrees apart (a reversal is
  over 135); where they do not, the machine went round something: "other", and so are the ends.
* Ten seconds or more under 0.1 m/s are standing.
"""

import csv
import itertools

import numpy as np

from tests.outside.track_tools import TRACKS, Track, track

SEED_M = 20.0
SEED_DEG = 10.0
GROW_DEG = 10.0
GROW_M = 30.0
PASS_M = 25.0
TURN_DEG = 40.0
STANDING_MPS = 0.1
STANDING_S = 10


def label(one: Track) -> list[tuple[float, float, str]]:
    """Runs of labels over the rows of a track, gaps left out."""
    course = np.degrees(np.unwrap(np.radians(one.course_deg)))
    travel = np.concatenate([[0.0], np.cumsum(one.speed_mps[1:])])
    spans = passes(course, travel)
    names = np.full(len(course), "other", dtype=object)
    for first, last in spans:
        names[first : last + 1] = "pass"
    for (_, end), (start, _) in itertools.pairwise(spans):
        apart = _apart(_mean(course, travel, end, -1), _mean(course, travel, start, 1))
        if apart > TURN_DEG:
            names[end + 1 : start] = "turn"
    names[_standing(one.speed_mps)] = "standing"
    return _runs(one.t_s, names)


def passes(course: np.ndarray, travel: np.ndarray) -> list[tuple[int, int]]:
    """First and last row of each straight stretch."""
    low = np.searchsorted(travel, travel - SEED_M)
    high = np.searchsorted(travel, travel + SEED_M, side="right")
    spread = [np.ptp(_about(course[a:b])) for a, b in zip(low, high, strict=True)]
    seed = np.array(spread) < 2 * SEED_DEG
    spans: list[tuple[int, int]] = []
    edges = np.flatnonzero(np.diff(np.concatenate([[False], seed, [False]]).astype(int)))
    for first, stop in edges.reshape(-1, 2):
        last = stop - 1
        back, ahead = _mean(course, travel, first, 1), _mean(course, travel, last, -1)
        while first > 0 and _apart(course[first - 1], back) < GROW_DEG:
            first -= 1
        while last + 1 < len(course) and _apart(course[last + 1], ahead) < GROW_DEG:
            last += 1
        if spans and first <= spans[-1][1] + 1:
            first = spans.pop()[0]
        if travel[last] - travel[first] >= PASS_M:
            spans.append((int(first), int(last)))
    return spans


def _about(courses: np.ndarray) -> np.ndarray:
    """Courses as differences from the first, -180 to 180: a full circle more is the same way."""
    return (courses - courses[0] + 180.0) % 360.0 - 180.0


def _apart(one: float, other: float) -> float:
    return abs((one - other + 180.0) % 360.0 - 180.0)


def _mean(course: np.ndarray, travel: np.ndarray, row: int, way: int) -> float:
    """Mean course over the 30 m from a row on, forward (1) or backward (-1)."""
    if way > 0:
        stretch = course[row : np.searchsorted(travel, travel[row] + GROW_M) + 1]
    else:
        stretch = course[np.searchsorted(travel, travel[row] - GROW_M) : row + 1]
    return float(stretch[0] + _about(stretch).mean())


def _standing(speed: np.ndarray) -> np.ndarray:
    still = speed < STANDING_MPS
    edges = np.flatnonzero(np.diff(np.concatenate([[False], still, [False]]).astype(int)))
    chosen = np.zeros(len(speed), dtype=bool)
    for first, stop in edges.reshape(-1, 2):
        chosen[first:stop] = stop - first >= STANDING_S
    return chosen


def _runs(t: np.ndarray, names: np.ndarray) -> list[tuple[float, float, str]]:
    runs: list[tuple[float, float, str]] = []
    for at, name in zip(t, names, strict=True):
        if runs and runs[-1][2] == name and at == runs[-1][1]:
            runs[-1] = (runs[-1][0], at + 1.0, name)
        else:
            runs.append((float(at), at + 1.0, name))
    return runs


def write(name: str) -> None:
    """Write the label file of one machine."""
    with (TRACKS / f"labels-{name}.csv").open("w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(("from_s", "to_s", "label"))
        writer.writerows((f"{a:.0f}", f"{b:.0f}", text) for a, b, text in label(track(name)))


if __name__ == "__main__":
    for machine in ("a", "c"):
        write(machine)
