"""Three invented days and what the cab told about them, stored as text that a person has reviewed.

Rewrite the stored logs after a change that is meant, then read the difference before keeping it:

    python -m tests.cab.golden          # the stretches of 45 minutes
    python -m tests.cab.golden --long   # the whole days as well
"""

import sys
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from cabapp.cab import Cab
from cabapp.events import Bytes, PortCondition, PortState, Tick
from cabapp.outcome import Moment, Outcome, Sound, What
from cabapp.plan import default_plan
from cabapp.rig import Rig
from cabapp.rigcheck import read_rig
from cabapp.world.scenarios import SCENARIOS
from cabapp.world.world import PHASES, PortEvent, Table, World
from cabapp.world.world import Phase as TruePhase

HERE = Path(__file__).parent / "golden"
CONFIG = Path(__file__).parents[2] / "config"
STRETCH_S = 45 * 60.0
DAYS = {
    "receiver_only_day": "rig-metric-receiver.toml",
    "stony_day": "rig-us-full.toml",
    "sensor_fault_day": "rig-us-full.toml",
}
CABLES = {PortEvent.PULLED: PortCondition.MISSING, PortEvent.BACK: PortCondition.OK}


@dataclass(frozen=True)
class Day:
    """A day as it was and as it was told."""

    name: str
    world: World
    rig: Rig
    truth: Table
    moments: tuple[Moment, ...]
    sounds: tuple[Sound, ...]
    trips: tuple[int, ...]

    @property
    def hours(self) -> float:
        """Hours that were played."""
        return len(self.truth) / 36_000.0

    def onsets(self) -> list[Moment]:
        """Every alert's beginning, in order."""
        return [moment for moment in self.moments if moment.what is What.ONSET]

    def true_phase(self, at: float) -> TruePhase:
        """What the machine truly did."""
        return PHASES[self.truth["phase"][min(len(self.truth) - 1, round(at * 10.0))]]

    def log(self) -> str:
        """One line a moment or sound."""
        told = [(m.t_s, _line(m)) for m in self.moments]
        told += [(s.at, f"sound {s.pattern.value} {s.rule}") for s in self.sounds]
        told.sort(key=lambda one: one[0])
        return "".join(f"{at:8.1f}  {text}\n" for at, text in told)


@cache
def lived(name: str, whole: bool = False) -> Day:
    """A day through the cab, receiver at 1 Hz, its first 45 minutes or the whole of it."""
    rig = read_rig((CONFIG / DAYS[name]).read_text(encoding="utf-8"), DAYS[name])
    world = World(SCENARIOS[name], rig)
    cab = Cab(rig, default_plan(rig), snapshots=False)
    end_s = world.duration_s if whole else min(STRETCH_S, world.duration_s)
    moments: list[Moment] = []
    sounds: list[Sound] = []

    def keep(outcome: Outcome) -> None:
        moments.extend(outcome.moments)
        sounds.extend(outcome.sounds)

    ticks = 0
    for chunk in world.chunks():
        if chunk.t_s >= end_s:
            break
        while ticks / 10 < chunk.t_s:
            keep(cab.step(Tick(ticks / 10)))
            ticks += 1
        if chunk.event is PortEvent.BYTES:
            keep(cab.step(Bytes(chunk.t_s, chunk.port, chunk.data)))
        else:
            keep(cab.step(PortState(chunk.t_s, chunk.port, CABLES[chunk.event])))
    keep(cab.end(ticks / 10))
    truth = world.truth()
    truth = truth[truth["t_s"] < end_s]
    trips = cab.sense.springs.totals()
    return Day(name, world, rig, truth, tuple(moments), tuple(sounds), trips)


def stored(name: str, whole: bool = False) -> Path:
    """Where the reviewed log of a day lies."""
    return HERE / f"{name}{'_whole' if whole else ''}.txt"


def _line(moment: Moment) -> str:
    level = moment.level.value if moment.level else ""
    words = [moment.what.value, level, moment.rule, moment.headline, moment.action]
    words += ["" if moment.value is None else str(moment.value), moment.detail]
    return " | ".join(word for word in words if word)


def main() -> None:
    """Rewrite the stored logs."""
    HERE.mkdir(exist_ok=True)
    for whole in (False, True) if "--long" in sys.argv[1:] else (False,):
        for name in DAYS:
            stored(name, whole).write_text(lived(name, whole).log(), encoding="utf-8")
            print(f"{stored(name, whole)}: written; read the difference before keeping it")


if __name__ == "__main__":
    main()
