"""Numbers as text: the form is found from samples, and what is of another form is no number, never a wrong one."""

import duckdb
import pytest

from sevenppb.detect.exports import values


@pytest.mark.parametrize(
    ("samples", "delimiter", "decimal", "thousands"),
    [
        (["1.5", "20", "-3e4"], ",", ".", ""),
        (["1,5", "20", "3,25"], ";", ",", ""),
        (["1,234", "104,237"], ";", ",", ""),
        (["1,234", "104,237"], ",", ".", ","),
        (["1,234.5", "20.25"], ",", ".", ","),
        (["1.234,5", "20,25"], ";", ",", "."),
        (["1 234,5", "20,25"], ";", ",", " "),
        (["1\u202f234,5", "20,25"], ";", ",", " "),
        (["1'234.5", "20.25"], ";", ".", "'"),
        (["Bad", "", "NaN"], ",", ".", ""),
    ],
)
def test_the_form_of_numbers(samples: list[str], delimiter: str, decimal: str, thousands: str) -> None:
    form = values.number_form(samples, delimiter)
    assert form.decimal == decimal
    assert form.thousands[:1] == thousands


@pytest.mark.parametrize(
    ("form", "text", "number"),
    [
        (values.NumberForm(".", ""), "12.5", 12.5), (values.NumberForm(".", ""), " 12.5 ", 12.5), (values.NumberForm(".", ""), "1,5", None),
        (values.NumberForm(",", ""), "1,5", 1.5), (values.NumberForm(",", ""), "1.000", None), (values.NumberForm(",", ""), "1.000,5", None),
        (values.NumberForm(".", ","), "1,234.5", 1234.5), (values.NumberForm(".", ","), "1,5", None), (values.NumberForm(".", ","), "12,34,567", None),
        (values.NumberForm(".", ","), "-12,345,678", -12345678.0), (values.NumberForm(".", ","), "1234.5", 1234.5),
        (values.NumberForm(",", "."), "1.234,5", 1234.5), (values.NumberForm(",", "."), "1.5", None),
        (values.NumberForm(",", " \u00a0\u202f"), "1\u00a0234,5", 1234.5), (values.NumberForm(".", "'’"), "1’234.5", 1234.5),
        (values.NumberForm(",", "."), "-,5e3", -500.0),
    ],
)  # fmt: skip
def test_a_number_of_another_form_is_none(form: values.NumberForm, text: str, number: float | None) -> None:
    (got,) = duckdb.execute(f"SELECT {values.number_sql('x', form)} FROM (SELECT ? AS x)", [text]).fetchall()[
        0
    ]
    assert got == number
    assert form.is_number(text) == (number is not None)


def test_words_for_bad_values_are_told_from_other_text() -> None:
    sql = values.kind_sql(values.number_sql("x", values.FORMS[0]), "x", None)
    texts = ["1.5", "", "  ", "Bad", "no data", "I/O Timeout", "#N/A", "twelve", None]
    got = [duckdb.execute(f"SELECT {sql} FROM (SELECT ?::VARCHAR AS x)", [t]).fetchall()[0][0] for t in texts]
    assert [values.KINDS[k] for k in got] == [
        "used", "empty", "empty", "text for bad", "text for bad", "text for bad", "text for bad", "not a number", "empty",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("name", "cells", "good", "bad"),
    [
        ("quality", ["Good", "Bad"], ["Good", "GOOD", "good (192)"], ["Bad", "Uncertain", "", "purple"]),
        ("quality", ["192", "0"], ["192", "216", "65472", "192.0"], ["0", "64", "127", "x"]),
        ("good", ["0", "1"], ["1", "true"], ["0", "false"]),
        ("status", ["0", "1"], ["0"], ["1"]),
        ("quality", ["0", "0"], ["0"], ["1"]),
    ],
)
def test_quality_columns(name: str, cells: list[str], good: list[str], bad: list[str]) -> None:
    found = values.quality("x", name, cells)
    assert found.sql is not None
    for texts, expected in ((good, True), (bad, False)):
        for text in texts:
            (got,) = duckdb.execute(f"SELECT {found.sql} FROM (SELECT ? AS x)", [text]).fetchall()[0]
            assert bool(got) is expected, text
