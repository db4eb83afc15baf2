"""Two rigs in one season: different columns, read together by name."""

from pathlib import Path

import numpy as np

from cabapp.record.disk import Disk
from cabapp.record.reader import open_run
from cabapp.record.runfile import Batch, RunFile
from tests.record.making import FACTS, row


def test_runs_of_two_rigs_are_read_together_by_name(tmp_path: Path) -> None:
    for number, more in ((1, {"spring1_ratio": 0.5}), (2, {"depth4_m": 0.4, "slip_ratio": 0.08})):
        run = RunFile.begin(tmp_path / f"shift-{number:04d}.gpkg", FACTS, Disk())
        run.write(Batch([row(second, **more) for second in range(3)]))
        run.end("ended")
    names = ["depth1_m", "depth4_m", "slip_ratio", "spring1_ratio"]
    together = []
    for path in sorted(tmp_path.glob("*.gpkg")):
        with open_run(path) as run_read:
            found = run_read.numbers(names)
            together.append(np.column_stack([found[name] for name in names]))
    season = np.vstack(together)
    assert season.shape == (6, 4)
    assert np.isnan(season[0]).tolist() == [False, True, True, False]
    assert np.isnan(season[5]).tolist() == [False, False, False, True]
