"""Which column of a text export holds its times, where they are numbers and others look like some."""

import pytest

from sevenppb.detect.exports import header
from sevenppb.detect.exports.head import Head


def time_columns(*rows: str) -> tuple[int, ...]:
    return header.find("export.csv", Head("utf-8", True, rows, True), ()).time


@pytest.mark.parametrize("scale", [1, 1000])
def test_a_quality_of_opc_codes_is_no_time(scale: int) -> None:
    rows = (f"{(1741100400 + 60 * k) * scale},PT-101,1.2{k},192" for k in range(40))
    assert time_columns("t,name,val,q", *rows) == (0,)


def test_a_constant_that_could_be_a_time_is_none_beside_one_that_changes() -> None:
    assert time_columns("Batch,Time,PT", *(f"45000,{45720 + k / 48:.6f},1.2" for k in range(40))) == (1,)
    days = (f"2024-01-01,2025-03-{k:02d},1.2" for k in range(1, 30))
    assert time_columns("Fitted,Time,PT", *days) == (1,)


def test_few_readings_of_one_time_keep_it() -> None:
    assert time_columns("t,name,val", "1741100400,FT1,45000", "1741100400,FT2,50000") == (0,)
