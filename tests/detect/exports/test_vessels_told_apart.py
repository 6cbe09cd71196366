"""Which tags a draft takes for one vessel where no name has a deaerator's number."""

import re
from pathlib import Path

import numpy as np
import pandas as pd

from sevenppb.detect.exports.draft import draft

LETTERS = ("PT{}01", "TT{}03", "FT{}10", "AT{}20")
WORDS = ("Druck Entgaser", "Temp Speicher", "Kondensat Menge", "O2")


def frame(names: list[str], start: str = "2025-01-01") -> pd.DataFrame:
    rng = np.random.default_rng(len(names))
    time = pd.date_range(start, periods=200, freq="30min", name="time")
    return pd.DataFrame(50 + rng.standard_normal((200, len(names))), index=time, columns=names).round(2)


def vessels(folder: Path, **frames: pd.DataFrame) -> dict[str, set[str]]:
    """Each drafted vessel's tags, by its id."""
    paths = [folder / f"{name}.csv" for name in frames]
    for path, rows in zip(paths, frames.values(), strict=True):
        rows.to_csv(path)
    blocks = draft(paths, folder).split("[[vessel]]")[1:]
    named = {one for rows in frames.values() for one in rows.columns}
    return {
        re.search(r'id = "(.*)"', block)[1]: {
            tag for tag in named if f'"{tag}"' in block or f" {tag}" in block
        }
        for block in blocks
    }


def test_files_of_tags_that_are_alike_but_for_numbers_are_of_two_vessels(tmp_path: Path) -> None:
    one, ten = (["X" + letters.format(n) for letters in LETTERS] for n in (1, 10))
    assert vessels(tmp_path, U1=frame(one), U10=frame(ten)) == {"U1": set(one), "U10": set(ten)}


def test_files_of_years_name_their_vessel_without_a_part_of_the_year(tmp_path: Path) -> None:
    tags = {n: [letters.format(n) for letters in LETTERS] for n in (1, 2)}
    years = {
        f"K-{n}-{year}": frame(those, f"{year}-01-01") for n, those in tags.items() for year in (2024, 2025)
    }
    assert vessels(tmp_path, **years) == {f"K-{n}": set(those) for n, those in tags.items()}


def test_a_sites_tag_in_several_files_is_of_each_vessel_and_brings_no_other_ones_file(tmp_path: Path) -> None:
    tags = {n: [letters.format(n) for letters in LETTERS] for n in (1, 2)}
    files = {f"K-{'AB'[n - 1]}": frame([*those, "SITE_BARO"]) for n, those in tags.items()}
    assert vessels(tmp_path, **files) == {
        "K-A": {*tags[1], "SITE_BARO"}, "K-B": {*tags[2], "SITE_BARO"},
    }  # fmt: skip
    text = draft([tmp_path / "K-A.csv", tmp_path / "K-B.csv"], tmp_path)
    assert re.findall(r"exports = (.*)", text) == ['["K-A.csv"]', '["K-B.csv"]']


def test_names_that_begin_with_different_numbers_are_of_two_vessels(tmp_path: Path) -> None:
    one, two = ([f"KV{n}/{word}" for word in WORDS] for n in (1, 2))
    assert vessels(tmp_path, plant=frame([*one, *two])) == {"KV1": set(one), "KV2": set(two)}


def test_files_of_one_vessel_stay_one(tmp_path: Path) -> None:
    tags = [letters.format(1) for letters in LETTERS]
    months = vessels(tmp_path, jan=frame(tags), feb=frame([*tags, "LT102"], "2025-02-01"))
    assert months == {"DA-1": {*tags, "LT102"}}
    areas = vessels(
        tmp_path, water=frame(["FT110", "TT105", "AT110"]), steam=frame(["PT130", "TT131", "FT131"])
    )
    assert list(areas) == ["DA-1"]


def test_points_of_one_vessel_are_no_vessels(tmp_path: Path) -> None:
    names = [f"{tag}.{what}" for tag in ("PIC101", "TIC103", "FIC110") for what in ("PV", "SP", "OP")]
    assert list(vessels(tmp_path, plant=frame(names))) == ["DA-1"]


def test_letters_behind_a_number_count_vessels_too(tmp_path: Path) -> None:
    lines = {n: [f"K1-{n}.{letters.format(1)}" for letters in LETTERS] for n in "AB"}
    files = {f"k1{n.lower()}": frame(tags) for n, tags in lines.items()}
    assert vessels(tmp_path, **files) == {f"K1-{n}": set(tags) for n, tags in lines.items()}


def test_a_letter_that_does_not_count_vessels_parts_none(tmp_path: Path) -> None:
    tags = ["K1-A.PT101", "K1-A.PT102", "K1-A.PT103", "K1-B.TT101", "K1-B.FT102", "K1-B.AT103"]
    assert len(vessels(tmp_path, plant=frame(tags))) == 1
