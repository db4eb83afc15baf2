"""The engine process with everything real in it: ``python -m cabapp.engine.main``."""

import sys

from cabapp.cab import Cab
from cabapp.engine.grid import Clock
from cabapp.engine.home import Home
from cabapp.engine.known import Known, read_known, write_known
from cabapp.engine.loop import Loop
from cabapp.engine.names import names_known
from cabapp.engine.pipes import wires_of
from cabapp.engine.ports import Ports, Tools
from cabapp.engine.process import Fitted, run
from cabapp.engine.shifts import Facts, Shifts
from cabapp.engine.spare import SpareLook
from cabapp.plan import default_plan
from cabapp.record.writer import Writer
from cabapp.rig import Rig
from cabapp.rigcheck import read_rig


def fit(home: Home, clock: Clock, loop: Loop) -> Fitted:
    """The rig's own cab, its record and its ports; RigError for a rig file at fault."""
    text = home.rig.read_text(encoding="utf-8") if home.rig.exists() else ""
    rig = read_rig(text, str(home.rig)) if text else Rig()
    plan, names = default_plan(rig), names_known(home.book)
    cab = Cab(rig, plan, drivers=names.drivers, fields=names.fields)
    writer = Writer(home.runs, clock.now)
    facts = Facts(rig, text, lambda: cab.plan, plan, names.drivers, names.fields)
    shifts = Shifts(writer, home, facts, loop.post, loop.end, clock.now)
    known = read_known(home.ports)

    def remember(name: str, found: Known) -> None:
        known[name] = found
        write_known(home.ports, known)

    tools = Tools(clock.now, loop.post, remember)
    ports = Ports(rig.ports, tools, known)
    loop.look_round = SpareLook(tools.claims, clock.real_now).look

    def close() -> None:
        ports.stop()
        writer.stop()

    return Fitted(cab, shifts, ports.start, close)


if __name__ == "__main__":
    sys.exit(run(wires_of(sys.argv[1:]), fit))
