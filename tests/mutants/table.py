"""Twenty small mistakes, each on one line, and the tests of the room that have to catch it.

Every row is a slip somebody could make in a driving program: a deadband or a delay forgotten, a
sign turned round, a unit mixed up, a validity not looked at, a commit that is not synced, a
heartbeat nobody listens to. ``old`` stands in ``file`` exactly once.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Mutant:
    """One mistake: what it is called, where, what stands there, what is put there, who sees it."""

    name: str
    file: str
    old: str
    new: str
    tests: str


MUTANTS = (
    Mutant(
        "deadband: an alert ends at its limit",
        "cabapp/watch/rules.py",
        "return Verdict.HOLD if beyond > -self.deadband else Verdict.CLEAR",
        "return Verdict.CLEAR",
        "tests/cab/test_speed_stories.py",
    ),
    Mutant(
        "on-delay: the seconds are not waited for",
        "cabapp/watch/attention.py",
        "if held_back or self._seconds < delays.on_s - _SLACK or",
        "if held_back or",
        "tests/watch",
    ),
    Mutant(
        "on-delay: the metres are not waited for",
        "cabapp/watch/attention.py",
        "or self._metres < delays.on_m - _SLACK:",
        ":",
        "tests/watch",
    ),
    Mutant(
        "off-delay: clear for a moment ends an alert",
        "cabapp/watch/attention.py",
        "if self._seconds < self._delays.off_s - _SLACK:",
        "if self._seconds < 0.0:",
        "tests/watch",
    ),
    Mutant(
        "validity: lost data lets an alert go on clearing",
        "cabapp/watch/attention.py",
        "if self.state is State.CLEARING:\n            self.state = State.ACTIVE",
        "if self.state is State.CLEARING:\n            self._seconds += step_s",
        "tests/watch",
    ),
    Mutant(
        "validity: no value counts as inside the band",
        "cabapp/watch/rules.py",
        "if value is None:\n            return Verdict.UNKNOWN",
        "if value is None:\n            return Verdict.CLEAR",
        "tests/cab/test_sensor_stories.py",
    ),
    Mutant(
        "sign: too little is taken for too much",
        "cabapp/watch/rules.py",
        "beyond = limit - value if self.under else value - limit",
        "beyond = value - limit if self.under else limit - value",
        "tests/cab/test_speed_stories.py",
    ),
    Mutant(
        "sign: nose-down level is shown as tail-down",
        "cabapp/trade/plane.py",
        "return self.rear_m - self.front_m",
        "return self.front_m - self.rear_m",
        "tests/trade",
    ),
    Mutant(
        "unit: knots are taken for miles an hour",
        "cabapp/units.py",
        "KNOT_MPS = 1852.0 / 3600.0",
        "KNOT_MPS = 1609.344 / 3600.0",
        "tests/hear",
    ),
    Mutant(
        "unit: the km/h of VTG are taken for knots",
        "cabapp/hear/sentences.py",
        "speed = _speed(fields[7], KMH_MPS)",
        "speed = _speed(fields[7], KNOT_MPS)",
        "tests/hear",
    ),
    Mutant(
        "validity: RMC's mode N is believed",
        "cabapp/hear/sentences.py",
        'has_fix = claim and fields[2] == "A"',
        'has_fix = fields[2] == "A"',
        "tests/hear",
    ),
    Mutant(
        "validity: a wrong checksum is believed",
        "cabapp/hear/lines.py",
        "if _HEX.get(sentence[-2:]) != checksum(body):",
        "if sentence[-2:] not in _HEX:",
        "tests/hear",
    ),
    Mutant(
        "validity: a high byte under a right checksum is believed",
        "cabapp/hear/lines.py",
        "if not (body.isascii() and text.isprintable()):",
        "if not text.isprintable():",
        "tests/hear",
    ),
    Mutant(
        "delay: a silent sensor is shown for ten periods",
        "cabapp/hear/tracks.py",
        "LONGEST_SILENCE_S = 3.0",
        "LONGEST_SILENCE_S = 30.0",
        "tests/hear",
    ),
    Mutant(
        "delay: standing is said at once",
        "cabapp/watch/phase.py",
        "STANDING_AFTER_S = 3.0",
        "STANDING_AFTER_S = 0.0",
        "tests/cab/test_speed_stories.py",
    ),
    Mutant(
        "commit mode: a commit is not synced",
        "cabapp/record/disk.py",
        "PRAGMA synchronous = FULL",
        "PRAGMA synchronous = NORMAL",
        "tests/record",
    ),
    Mutant(
        "commit mode: an alert waits for the next row",
        "cabapp/record/waiting.py",
        "if moment.what not in PATIENT or moment.level in (Level.ACT, Level.LOOK):",
        "if moment.what not in PATIENT and moment.level is None:",
        "tests/record",
    ),
    Mutant(
        "commit mode: an ended run stays in WAL mode",
        "cabapp/record/runfile.py",
        'self._connection.execute("PRAGMA journal_mode = DELETE")',
        'self._connection.execute("PRAGMA journal_mode = WAL")',
        "tests/record",
    ),
    Mutant(
        "heartbeat: the speaker waits half a minute for a dead engine",
        "cabapp/engine/wire.py",
        "ENGINE_GONE_SPEAKER_S = 2.0",
        "ENGINE_GONE_SPEAKER_S = 30.0",
        "tests/sound",
    ),
    Mutant(
        "heartbeat: the service manager is fed for a dead screen",
        "cabapp/engine/supervise.py",
        "for part in (Part.ENGINE, Part.SCREEN))",
        "for part in (Part.ENGINE,))",
        "tests/engine",
    ),
)
