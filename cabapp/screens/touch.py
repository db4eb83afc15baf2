"""What a finger means: pure, with time as an argument.

One tap, fired on release inside the target and a slop around it, since a glove on a shaking
machine slides. Repeats within 300 ms are one tap; a palm (three contacts and more) is none. A
target that asks for a hold fires when it has been held, not on release. One that has only just
appeared takes no touch: the finger was already on its way to what stood there before.
"""

from collections.abc import Callable
from dataclasses import dataclass, field

SLOP_MM = 12.0
REPEAT_S = 0.3
SETTLE_S = 0.5  # a glance and a finger's way take longer
PALM = 3
HOLD_S = 1.5


@dataclass(frozen=True)
class Area:
    """A target in panel pixels, y up."""

    x: float
    y: float
    w: float
    h: float

    def holds(self, x: float, y: float, slop: float = 0.0) -> bool:
        """Is the point inside, or within ``slop`` of it?"""
        return (
            self.x - slop <= x <= self.x + self.w + slop
            and self.y - slop <= y <= self.y + self.h + slop
        )


@dataclass
class Target:
    """Something to touch: what it is called, where, and what happens."""

    name: str
    area: Area
    fire: Callable[[], None]
    hold: bool = False
    pressed: Callable[[bool], None] = lambda down: None
    fill: Callable[[float], None] = lambda share: None  # of a hold, 0..1


@dataclass
class _Finger:
    target: Target | None
    began: float


@dataclass
class Fingers:
    """All contacts on the glass. ``targets`` answers what can be touched now."""

    targets: Callable[[], list[Target]]
    slop: float
    down: dict[object, _Finger] = field(default_factory=dict)
    palm: bool = False
    fired: dict[str, float] = field(default_factory=dict)
    _since: dict[tuple[str, Area], float] = field(default_factory=dict)

    def look(self, now: float) -> None:
        """What can be touched may have changed: note when each came to its place."""
        there = [(target.name, target.area) for target in self.targets()]
        self._since = {one: self._since.get(one, now) for one in there}

    def anew(self, now: float) -> None:
        """The page came to the front: all of it has only just appeared."""
        self._since = {}
        self.look(now)

    def touch(self, who: object, x: float, y: float, now: float) -> None:
        """A contact begins."""
        target = next((t for t in reversed(self.targets()) if t.area.holds(x, y)), None)
        if target and now - self._since.get((target.name, target.area), -1e9) < SETTLE_S:
            target = None
        self.down[who] = _Finger(target, now)
        if len(self.down) >= PALM:
            self.palm = True
            self.forget()
        elif target and not self.palm:
            target.pressed(True)

    def release(self, who: object, x: float, y: float, now: float) -> None:
        """A contact ends; fires its target if it may."""
        finger = self.down.pop(who, None)
        palm = self.palm
        if not self.down:
            self.palm = False
        if finger is None or finger.target is None:
            return
        target = finger.target
        target.pressed(False)
        if target.hold:
            target.fill(0.0)
        elif not palm and target.area.holds(x, y, self.slop) and self._still_there(target):
            self._fire(target, now)

    def move(self, who: object, x: float, y: float) -> None:
        """A contact slides; a hold that leaves its target is let go."""
        finger = self.down.get(who)
        target = finger.target if finger else None
        if finger and target and target.hold and not target.area.holds(x, y, self.slop):
            self._let_go(finger)

    def tick(self, now: float) -> bool:
        """Fill what is being held; True while something is."""
        held = [f for f in self.down.values() if f.target and f.target.hold]
        for finger in held:
            target = finger.target
            assert target is not None
            if not self._still_there(target):
                self._let_go(finger)
                continue
            share = min(1.0, (now - finger.began) / HOLD_S)
            target.fill(share)
            if share >= 1.0:
                self._let_go(finger)
                self._fire(target, now)
        return any(f.target and f.target.hold for f in self.down.values())

    def forget(self) -> None:
        """Let go of everything: a palm, or the page under the fingers has changed."""
        for finger in self.down.values():
            self._let_go(finger)

    def _let_go(self, finger: _Finger) -> None:
        if finger.target:
            finger.target.pressed(False)
            if finger.target.hold:
                finger.target.fill(0.0)
        finger.target = None

    def _still_there(self, target: Target) -> bool:
        return any(t.name == target.name and t.area == target.area for t in self.targets())

    def _fire(self, target: Target, now: float) -> None:
        if now - self.fired.get(target.name, -1e9) < REPEAT_S:
            return
        self.fired[target.name] = now
        target.fire()
