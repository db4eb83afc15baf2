"""The words of one alert as things are now: which shank, how much, which cable."""

from cabapp.rig import AdjusterKind, Rig
from cabapp.trade.adjuster import Adjuster
from cabapp.units import INCH_M, UnitSystem, depth_text
from cabapp.watch.judge import ABOUT_FAMILY, Alert
from cabapp.watch.now import Now
from cabapp.words import (
    Rule,
    Said,
    advice_text,
    distance_text,
    next_step,
    peg_words,
    say,
    speed_text,
)

HALF_STEP_M = {UnitSystem.US: 0.5 * INCH_M, UnitSystem.METRIC: 0.01}


class Teller:
    """Fills in the words of alerts for one rig, in the units the person reads."""

    def __init__(self, rig: Rig, units: UnitSystem) -> None:
        self._rig = rig
        self.units = units
        self._step_m = _hand_step_m(rig)

    def say(self, alert: Alert, now: Now) -> Said:
        """Headline, action and chip of an alert at this tick."""
        rule, variant = alert.rule, self._variant(alert, now)
        return say(rule, variant, **self._values(alert, now))

    def advice_m(self, now: Now) -> float:
        """Metres deeper (positive) that bring depth, or the layer's bottom, back to the target."""
        if now.target_m is None or now.depth_m is None:
            return 0.0
        wanted = now.target_m - now.depth_m
        steps = max(1.0, float(round(abs(wanted) / self._step_m)))
        return steps * self._step_m * (1.0 if wanted >= 0 else -1.0)

    def sensor_step(self, channel: str, cause: str) -> str:
        """What to check about a sensor that is not read."""
        sensor = self._rig.sensor(channel)
        if sensor is None:
            return next_step(cause)
        return next_step(cause, sensor.cable, sensor.side)

    def _variant(self, alert: Alert, now: Now) -> str:
        rule = alert.rule
        if rule is Rule.HARD_HERE:
            slipping = now.slip is not None and now.slip > 0.10
            return "slipping" if slipping else ""
        if rule is Rule.NO_SWITCH:
            return "no_speed" if now.speed_mps is None else ""
        if rule is Rule.EASE_OFF and alert.shank is not None:
            return "one"
        return alert.variant

    def _values(self, alert: Alert, now: Now) -> dict[str, object]:
        values: dict[str, object] = {
            "speed": speed_text(now.speed_high_mps, self.units),
            "half_step": depth_text(HALF_STEP_M[self.units], self.units),
            "percent": _percent(alert.rule, now),
            "angle": f"{now.row_angle_deg or 0.0:.0f}",
            "kind": peg_words(now.peg_kind) or "Peg",
            "sensor": now.suspect.removeprefix("depth"),
        }
        values["advice"] = now.to_adjust or advice_text(self.advice_m(now), self.units)
        if alert.rule in (Rule.ABOVE_LAYER, Rule.DEPTH, Rule.DEPTH_FAR, Rule.TOO_DEEP_SLIGHTLY):
            values["advice"] = advice_text(self._signed(alert, now), self.units)
        ahead = now.pipe_ahead_m if alert.rule is Rule.PIPE_AHEAD else now.peg_ahead_m
        values["distance"] = distance_text(ahead or 0.0, self.units)
        values["shank"] = self._shank(alert, now)
        values["next_step"] = self._next_step(alert, now)
        if alert.row.each == "depth":
            values["sensor"] = str(alert.key).removeprefix("depth")
        return values

    def _signed(self, alert: Alert, now: Now) -> float:
        """Advice that never points the wrong way, whatever the depth does meanwhile."""
        deeper = alert.fact == "shallow"
        amount = max(abs(self.advice_m(now)), self._step_m)
        if alert.rule is Rule.ABOVE_LAYER and now.layer_bottom_m is not None:
            ends = [end for end in (now.front_m, now.rear_m, now.depth_m) if end is not None]
            missing = now.layer_bottom_m - min(ends) if ends else 0.0
            amount = max(amount, round(missing / self._step_m) * self._step_m)
        return amount if deeper else -amount

    def _shank(self, alert: Alert, now: Now) -> int:
        if alert.shank is not None:
            return now.shanks[alert.shank].number
        sensor = self._rig.sensor(str(alert.key))
        return sensor.shank if sensor is not None and sensor.shank is not None else 0

    def _next_step(self, alert: Alert, now: Now) -> str:
        if alert.rule in (Rule.NO_POSITION, Rule.NO_SPEED):
            return next_step(now.speed_cause or "receiver_plug")
        if alert.rule is Rule.NOT_SAVING:
            return next_step(now.record_trouble or "disk_failed")
        if alert.rule is Rule.DEPTH_STUCK:
            return self.sensor_step(str(alert.key), "arm")
        if alert.rule is Rule.NO_SWITCH:
            return self._lost_step("tool_down", now)
        if alert.rule in ABOUT_FAMILY and not alert.key:
            return self._lost_step(ABOUT_FAMILY[alert.rule], now)
        return self.sensor_step(str(alert.key), now.causes.get(str(alert.key), "") or "cable")

    def _lost_step(self, family: str, now: Now) -> str:
        """Nothing of a family is read: the one cause of all, the node they hang on, or a cable."""
        lost = [s for s in self._rig.fitted(family) if s.channel in now.unread]
        causes = {now.causes.get(sensor.channel, "") or "cable" for sensor in lost}
        ports = {sensor.port for sensor in lost}
        beside = [s.channel in now.unread for s in self._rig.sensors if s.port in ports]
        if causes == {"cable"} and len(beside) > 1 and all(beside):
            return next_step("node_plug")
        if len(lost) == 1:
            return self.sensor_step(lost[0].channel, causes.pop())
        return next_step(causes.pop() if len(causes) == 1 else "")


def _percent(rule: Rule, now: Now) -> str:
    share = now.storage_share if rule is Rule.STORAGE else now.slip
    return f"{100.0 * (share or 0.0):.0f}"


def _hand_step_m(rig: Rig) -> float:
    """The least change of depth that advice may speak of: a hand's step, and one a person reads."""
    adjuster = Adjuster.of(rig.tool.adjuster)
    least = HALF_STEP_M[rig.units]
    step = adjuster.step_m * adjuster.smallest
    if rig.tool.adjuster.kind in (AdjusterKind.COLLARS, AdjusterKind.PINS):
        return max(step, least)
    return max(1.0, round(least / step)) * step
