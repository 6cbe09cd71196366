"""Dating on series whose changes people marked. Series from river 0.26.1 (BSD-3), read as files of the package."""

import csv
from importlib import resources

import numpy as np
import pandas as pd
import pytest

from sevenppb.detect.drift import change, innovations

# Positions marked by five people (van den Burg and Williams 2020, An Evaluation of Change Point Detection Algorithms,
# arXiv 2003.06222; as annotated in river's RunLog and UKCoalEmploy).
RUN_LOG = (
    (60, 96, 114, 174, 204, 240, 258, 317),
    (60, 96, 114, 177, 204, 240, 258, 317),
    (60, 96, 114, 174, 204, 240, 258, 317),
    (2, 60, 96, 114, 174, 204, 240, 258, 317),
    (),
)
COAL = ((15, 28, 45, 60, 68, 80), (18, 47, 81), (), (15, 27, 46, 68, 81), (19, 28, 45, 68, 80))
MARGIN = 5  # rows within which a date is right, as in that paper
LEAST = 5  # rows of a stretch between two changes


def column(folder, name, field):
    with (resources.files("river") / folder / name).open(encoding="utf-8") as lines:
        return [row[field] for row in csv.DictReader(lines)]


def dated(y, noise):
    """Rows on which something changed: the dating of one change, asked again of each side while the gain beats what
    a change costs (1.5 log n, Zhang and Siegmund 2007, Biometrics 63, 22)."""
    found = []

    def look(first, end):
        if end - first < 2 * LEAST:
            return
        told = change.fit(y[first:end], noise.sd, noise.phi, 1, np.inf)
        if told.gain < 1.5 * np.log(len(y)):
            return
        rows = [first + told.onset]
        if told.shape == "ramp" and told.full:
            rows.append(first + told.full)
        found.extend(rows)
        for one, next_one in zip([first, *rows], [*rows, end], strict=True):
            look(one, next_one)

    look(0, len(y))
    return sorted(found)


def f1(found, marked):
    """The paper's score: precision against all marks together, recall as the mean over people; row 0 is a mark of
    everybody's and of the method's."""
    found = {0, *found}
    people = [{0, *one} for one in marked]

    def hits(marks):
        left, count = set(found), 0
        for mark in sorted(marks):
            near = min(left, key=lambda row: abs(row - mark), default=None)
            if near is not None and abs(near - mark) <= MARGIN:
                left.remove(near)
                count += 1
        return count

    precision = hits(set().union(*people)) / len(found)
    recall = np.mean([hits(one) / len(one) for one in people])
    return 2 * precision * recall / (precision + recall)


def noise_of_the_first_sixth(y):
    n = len(y) // 6
    return innovations.estimate_noise(y[:n], np.ones((n, 1)), np.array([np.inf]))


@pytest.mark.parametrize(
    ("name", "field", "marked", "nothing", "to_beat"),
    [
        # default settings in the paper's results: Bayesian online 1.0, ECP 0.792, nothing at all 0.446
        ("run_log.csv", "Pace", RUN_LOG, 0.4455958549222798, 0.792),
        # the best of the methods that ran: Prophet 0.639; nothing at all 0.513
        ("uk_coal_employment.csv", "Employment", COAL, 0.5132743362831859, 0.639),
    ],
)
def test_marked_changes_are_dated(name, field, marked, nothing, to_beat):
    assert abs(f1([], marked) - nothing) < 1e-12  # the score is the paper's
    y = np.array(column("drift/datasets", name, field), dtype=float)
    assert f1(dated(y, noise_of_the_first_sixth(y)), marked) > to_beat


def test_every_change_of_a_runners_pace_is_dated():
    y = np.array(column("drift/datasets", "run_log.csv", "Pace"), dtype=float)
    found = np.array(dated(y, noise_of_the_first_sixth(y)))
    assert all(abs(found - mark).min() <= MARGIN for mark in RUN_LOG[0])


@pytest.fixture(scope="module")
def flow():
    """Hourly flow in a water main [l/s] less its daily rhythm, 20 March to 16 May 2022, NaN where no reading; the
    noise of three quiet weeks; the hours at which its low moments begin and end (under 60 l/s, usually 102)."""
    stamps = pd.to_datetime(column("datasets", "water-flow.csv", "Time"), utc=True)
    values = np.array(column("datasets", "water-flow.csv", "Water flow [l/s]"), dtype=float)
    series = pd.Series(values, index=stamps).groupby(level=0).mean().asfreq("h")
    hour = 2 * np.pi * np.asarray(series.index.tz_convert("Europe/Rome").hour) / 24
    terms = np.column_stack(
        [np.ones(len(series)), *(wave(k * hour) for k in (1, 2) for wave in (np.cos, np.sin))]
    )
    quiet = np.asarray((series.index >= "2022-04-05") & (series.index < "2022-04-26") & series.notna())
    y = series.to_numpy()
    known = np.linalg.lstsq(terms[quiet], y[quiet], rcond=None)[0]
    noise = innovations.estimate_noise(y[quiet], terms[quiet], np.array([np.inf, 2, 2, 1, 1]))
    return y - terms @ known, noise, np.flatnonzero(np.diff(np.asarray(y < 60).astype(int))) + 1


def test_the_low_moments_of_a_water_main_are_told_as_coming_and_going(flow):
    """river's WaterFlow: three low moments, by losses or maintenance, are described. They are a hundred standard
    deviations deep; as in the scan, a move is dated as if of 15."""
    rest, noise, edges = flow
    assert len(edges) == 6
    sd = max(noise.sd, np.nanmax(abs(rest)) / 15)
    told = change.fit(rest, sd, noise.phi, 24, 0.3 * sd)
    assert told.shape == "intermittent"
    assert told.low <= edges[0] <= told.high
    found = np.array(dated(rest, innovations.Noise(sd, noise.phi)))
    assert all(abs(found - edge).min() <= 6 for edge in edges)  # the flow comes back over hours
    assert all(abs(edges - row).min() <= 24 for row in found)  # and nothing in the 46 other days
