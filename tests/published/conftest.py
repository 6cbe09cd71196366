"""Published values, one file a source: `#` lines name title, organisation, year and table; then columns with
a head."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest

Table = dict[str, npt.NDArray[np.float64]]


@pytest.fixture
def table() -> Callable[[str], Table]:
    def load(name: str) -> Table:
        lines = (Path(__file__).with_name(name)).read_text(encoding="utf-8").splitlines()
        head, *rows = [line.split(",") for line in lines if line and not line.startswith("#")]
        assert all(len(row) == len(head) for row in rows)
        return {
            name: np.array(column, dtype=np.float64)
            for name, column in zip(head, zip(*rows, strict=True), strict=True)
        }

    return load
