"""Makes the report of a run again and again until it is killed; RUN.begun says that it began."""

import os
import sys
from pathlib import Path

from cabapp.review.apart import NICE
from cabapp.review.commands import make_report


def main(run: Path) -> None:
    os.nice(NICE)
    run.with_suffix(".begun").touch()
    while True:
        make_report(run, run.with_suffix(".html"), "us", False, lambda share: None)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
