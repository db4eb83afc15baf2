"""A real writer process for the fault tests: writes a second at a time and says what is saved.

``python record_writer.py FOLDER [SECONDS_APART]``: one line a change of ``saved`` on stdout.
"""

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from cabapp.events import Bytes, Tick
from cabapp.outcome import Outcome
from cabapp.record.writer import Writer
from tests.record.making import FACTS, alert, row


def main() -> None:
    folder, apart = Path(sys.argv[1]), float(sys.argv[2])
    writer = Writer(folder)
    writer.begin(FACTS)
    told = (0, 0)
    for second in range(100_000):
        writer.event(Tick(float(second)))
        writer.event(Bytes(float(second), "gnss", b"$GPRMC,%d*00\r\n" % second))
        writer.put(Outcome(rows=(row(second),), moments=(alert(second),)))
        if (saved := writer.saved) != told:
            print(*saved, flush=True)
            told = saved
        time.sleep(apart)


if __name__ == "__main__":
    main()
