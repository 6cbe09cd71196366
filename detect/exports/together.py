"""How tags move with each other, and which roles that speaks for: water and its steam boil together, and a steam flow
follows the water that it heats."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from sevenppb.detect import units
from sevenppb.detect.exports import guess, sanity
from sevenppb.detect.exports.guess import Seen
from sevenppb.detect.physics.steam import HIGHEST_PRESSURE, LOWEST_PRESSURE, saturation_temperature

_PRESSURES = ("kPa gauge", "kPa abs", "psi gauge", "psi abs", "bar gauge", "bar abs")
_TEMPERATURES = ("degC", "degF")
_AIR = units.STANDARD_ATMOSPHERE
_MOST = 40  # tags of a quantity that are compared with each other
# common practice, no source
_TOGETHER = 0.7  # correlation
_CLEARLY = 0.1  # by which the best pair must lead
_HOURS = 24  # that tell a correlation
_BETWEEN = 0.1  # of the hours: fewer between cold and hot, and the vessel stands in some and runs in others
_FITS_ALONE = 1.0  # what it tells that only one pair of known units fits boiling water
_STEAM_SHARE = (0.02, 0.35)  # of the water that it heats


@dataclass(frozen=True)
class Evidence:
    """What speaks for a role of a tag: how much, and why in words; `unit` where that tells it."""

    role: str
    score: float
    reason: str
    unit: str | None = None


@dataclass(frozen=True)
class _Boiling:
    pressure: Seen
    temperature: Seen
    units: tuple[str, str]
    moves: float  # correlation, NaN where it can't be told


def evidence(tags: Sequence[Seen]) -> dict[str, list[Evidence]]:
    """What the moves of a vessel's tags say, by tag."""
    found: dict[str, list[Evidence]] = {}
    if pair := _boiling(tags):
        p, t, together = pair.pressure, pair.temperature, pair.moves > _TOGETHER
        how = (
            f"moves with {{}} as boiling water does (correlation {pair.moves:.2f})"
            if together
            else "fits boiling water with {}"
        )
        known = p.unit is not None and t.unit is not None
        score = 2.0 if together else _FITS_ALONE if known else 0.0
        found[p.tag] = [Evidence("shell_pressure", score, how.format(t.tag), pair.units[0])]
        found[t.tag] = [Evidence("storage_temperature", score, how.format(p.tag), pair.units[1])]
    for small, large, moves in _flows(tags):
        percent = f"{100 * _share(small, large):.2g} %"
        how = f"moves with {{}} (correlation {moves:.2f})"
        steam = Evidence("steam_flow", 1.5, f"{how.format(large.tag)}, {percent} of it")
        found.setdefault(small.tag, []).append(steam)
        for role in ("inlet_flow", "outlet_flow"):
            water = Evidence(role, 1.0, f"{how.format(small.tag)}, which is {percent} of it")
            found.setdefault(large.tag, []).append(water)
    return found


def _boiling(tags: Sequence[Seen]) -> _Boiling | None:
    """The pressure and the temperature that are those of boiling water: the pair that moves together best, else the
    only one whose levels fit, else, in an export without units, the lowest pressure and the hottest water that do."""
    pairs = []
    pressures = [tag for tag in tags if _can_be(tag, "pressure")][:_MOST]
    temperatures = [tag for tag in tags if _can_be(tag, "temperature")][:_MOST]
    for p, t in itertools.product(pressures, temperatures):
        if p is t:
            continue
        level, heat = _running(p, t)
        ways, heats = _ways(p, "pressure", _PRESSURES), _ways(t, "temperature", _TEMPERATURES)
        if fits := sanity.likely(level, heat, ways, heats, _AIR):
            pairs.append(_Boiling(p, t, fits, _correlation(_saturation(level, fits[0]), heat)))
    moving = sorted((pair for pair in pairs if pair.moves > _TOGETHER), key=lambda pair: -pair.moves)
    if moving and (len(moving) == 1 or moving[0].moves > moving[1].moves + _CLEARLY):
        return moving[0]
    if len(pairs) > 1 and all(pair.pressure.unit is None for pair in pairs):
        # steam comes from a higher pressure, and all other water is colder
        return min(pairs, key=lambda pair: (pair.pressure.middle, -_celsius(pair)))
    return pairs[0] if len(pairs) == 1 else None


def _celsius(pair: _Boiling) -> float:
    """How hot the pair's water is in the unit in which it fits [degC]: the bare numbers may be of two units."""
    middle = np.array([pair.temperature.middle])
    return float(units.to_inside(middle, pair.units[1], "temperature", _AIR)[0])


def _can_be(tag: Seen, quantity: str) -> bool:
    if not np.isfinite(tag.middle) or not guess.measures(tag):
        return False
    if tag.unit is None:
        return guess.says(tag, quantity)
    if quantity == "pressure" and (guess.says(tag, "difference") or guess.is_air(tag)):
        return False
    return bool(guess.in_units(tag.unit, quantity))


def _ways(tag: Seen, quantity: str, usual: tuple[str, ...]) -> tuple[str, ...]:
    return guess.in_units(tag.unit, quantity) if tag.unit else usual


def _running(p: Seen, t: Seen) -> tuple["pd.Series[float]", "pd.Series[float]"]:
    """A pressure and a temperature in their common hours, without those in which the vessel would stand cold; else
    their levels."""
    if p.hourly is not None and t.hourly is not None:
        both = pd.concat([p.hourly, t.hourly], axis=1, join="inner").dropna().to_numpy(dtype=np.float64)
        if len(both) >= _HOURS:
            cold, hot = np.quantile(both[:, 1], [0.05, 0.95])
            share = (both[:, 1] - cold) / (hot - cold) if hot > cold else np.ones(len(both))
            if ((share > 0.25) & (share < 0.75)).mean() < _BETWEEN:
                both = both[share >= 0.5]
            return pd.Series(both[:, 0]), pd.Series(both[:, 1])
    return pd.Series([p.low, p.middle, p.high]), pd.Series([t.low, t.middle, t.high])


def _saturation(pressure: "pd.Series[float]", unit: str) -> "pd.Series[float]":
    """The boiling temperature [degC] at a pressure; left out where there is none."""
    absolute = units.to_inside(np.asarray(pressure, dtype=np.float64), unit, "pressure", _AIR)
    boils = pd.Series(absolute, pressure.index)
    boils = boils[boils.between(LOWEST_PRESSURE, HIGHEST_PRESSURE)]
    return pd.Series(saturation_temperature(boils.to_numpy()), boils.index)


def _flows(tags: Sequence[Seen]) -> list[tuple[Seen, Seen, float]]:
    """Pairs of flows of which the smaller could be the steam that heats the larger, each small one with the
    large one that it follows best."""
    flows = [tag for tag in tags if _can_be(tag, "flow")][:_MOST]
    found = []
    for small in flows:
        pairs = [
            (moves, large)
            for large in flows
            if (small.unit is None) == (large.unit is None)
            and _STEAM_SHARE[0] < _share(small, large) < _STEAM_SHARE[1]
            and (moves := _correlation(small.hourly, large.hourly)) > _TOGETHER
        ]
        if pairs:
            moves, large = max(pairs, key=lambda pair: pair[0])
            found.append((small, large, moves))
    return found


def _share(small: Seen, large: Seen) -> float:
    """How large a flow usually is in another, NaN where this is none."""
    sizes = [
        flow.middle
        * (units.resolve(guess.in_units(flow.unit, "flow")[0], "flow").scale if flow.unit else 1.0)
        for flow in (small, large)
    ]
    return sizes[0] / sizes[1] if sizes[1] > 0 else float("nan")


def _correlation(one: "pd.Series[float] | None", other: "pd.Series[float] | None") -> float:
    """Of common hours, without those in which either is at its ends: a vessel that stops moves everything."""
    if one is None or other is None:
        return float("nan")
    both = pd.concat([one, other], axis=1, join="inner").dropna()
    inside = both.ge(both.quantile(0.05)).all(axis=1) & both.le(both.quantile(0.95)).all(axis=1)
    both = both[inside]
    if len(both) < _HOURS or (both.std() == 0).any():
        return float("nan")
    return float(np.corrcoef(both.to_numpy().T)[0, 1])
