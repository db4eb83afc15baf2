"""A report made in a process of its own, so that nothing on the driving path waits for it.

``python -m cabapp.review.apart RUN OUT UNITS KIND`` prints shares of the whole as it goes, one a
line, then the path of the report; ``Making`` starts that and listens.
"""

import os
import subprocess
import sys
from pathlib import Path

from cabapp.record.reader import RunFileError
from cabapp.review.commands import make_report

NICE = 10  # below engine, screen and speaker


class Making:
    """One report on its way. ``step`` is asked now and then; it never waits."""

    def __init__(self, run: Path, out: Path, units: str, customer: bool) -> None:
        kind = "customer" if customer else "owner"
        self._process = subprocess.Popen(
            [sys.executable, "-m", "cabapp.review.apart", str(run), str(out), units, kind],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        assert self._process.stdout is not None
        os.set_blocking(self._process.stdout.fileno(), False)
        self.share = 0.0
        self.path: Path | None = None
        self.fault = ""

    @property
    def going(self) -> bool:
        """Whether it is still being made."""
        return self.path is None and not self.fault

    def step(self) -> None:
        """Take up what it has said since."""
        assert self._process.stdout is not None and self._process.stderr is not None
        ended = self._process.poll() is not None
        for line in iter(self._process.stdout.readline, ""):
            if line.startswith("share "):
                self.share = float(line.split()[1])
            else:
                self.path = Path(line.rstrip("\n"))
        if ended and self.path is None:
            said = self._process.stderr.read().strip().splitlines()
            self.fault = said[-1] if said else "the report was not made; try again"

    def stop(self) -> None:
        """Give it up."""
        if self._process.poll() is None:
            self._process.kill()
        self._process.wait()


def main(words: list[str]) -> int:
    """Entry of the process."""
    run, out, units, kind = words
    os.nice(NICE)
    try:
        path = make_report(Path(run), Path(out), units, kind == "customer", _tell)
    except RunFileError as error:
        print(error, file=sys.stderr)
        return 1
    print(path, flush=True)
    return 0


def _tell(share: float) -> None:
    print(f"share {share:.2f}", flush=True)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
