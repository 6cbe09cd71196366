"""Do the units named fit the physics? Water at the bottom of a deaerator is all but boiling at the shell's
pressure, so pressure and temperature check each other; steam comes from a higher pressure; water in is about
water out."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from sevenppb.detect import units
from sevenppb.detect.physics.steam import HIGHEST_PRESSURE, LOWEST_PRESSURE, saturation_temperature

# subcooling of storage in degC that a deaerator in any state of repair shows: common practice, no source
_LOWEST, _HIGHEST = -2.5, 9.0
_HOTTER = 2.0  # degC by which water in may read above storage: what two thermometers may differ by
_NEAREST = 1.0  # where the median of vessels in use lies: common practice, no source
_PRESSURES = (
    "kPa gauge", "kPa abs", "psi gauge", "psi abs", "bar gauge", "bar abs", "MPa gauge", "MPa abs",
    "kgf/cm2 gauge",
    "kgf/cm2 abs", "mbar gauge", "mbar abs", "Pa gauge", "Pa abs", "inHg gauge", "inHg abs",
)  # fmt: skip
_TEMPERATURES = ("degC", "degF", "K")
_FLOW_RATIOS = {
    2204.62: "t/h and lb/h", 2.20462: "t/h and klb/h", 3.6: "t/h and kg/s", 1000.0: "t/h and kg/h",
}  # fmt: skip


@dataclass(frozen=True)
class Named:
    """A tag, its unit as the fleet file or the export names it, and its median hour in that unit before any
    cut."""

    tag: str
    unit: str
    usual: float


def problems(hourly: pd.DataFrame, named: dict[str, Named], barometer: float) -> list[str]:
    """A sentence for each pair of tags whose units can't both be right, with the likely one; `hourly` as in
    Readings, `barometer` [Pa]."""
    told = _saturation(hourly, named, barometer)
    if not told:  # what storage and shell show is right, so others can be held against it
        told = [*_inlet(hourly, named, barometer), *_steam(hourly, named, barometer)]
    return [*told, *_flows(hourly, named)]


def subcooling(pressure: pd.Series, temperature: pd.Series) -> float:
    """Median of saturation at shell pressure [Pa] less storage temperature [degC]; NaN where it can't be
    had."""
    inside = pressure.between(LOWEST_PRESSURE, HIGHEST_PRESSURE) & temperature.notna()
    if not inside.any():
        return float("nan")
    return float(
        np.median(saturation_temperature(pressure[inside].to_numpy()) - temperature[inside].to_numpy())
    )


def likely(
    pressure: pd.Series,
    temperature: pd.Series,
    pressure_units: tuple[str, ...],
    temperature_units: tuple[str, ...],
    barometer: float,
) -> tuple[str, str] | None:
    """The pair of units under which raw readings of both fit saturation best; None where none does, or where
    several do about as well."""
    fits = []
    for p in pressure_units:
        for t in temperature_units:
            absolute = pd.Series(units.to_inside(_array(pressure), p, "pressure", barometer))
            celsius = pd.Series(units.to_inside(_array(temperature), t, "temperature", barometer))
            depth = subcooling(absolute, celsius)
            if _LOWEST <= depth <= _HIGHEST and absolute.median() > 0.3 * barometer:
                fits.append((abs(depth - _NEAREST), p, t))
    fits.sort()
    if not fits or (len(fits) > 1 and fits[1][0] < fits[0][0] + 1.0 and fits[1][0] < 3.0):
        return None
    return fits[0][1:]


def _array(series: pd.Series) -> units.Floats:
    return np.asarray(series, dtype=np.float64)


def _saturation(hourly: pd.DataFrame, named: dict[str, Named], barometer: float) -> list[str]:
    p, t = named["shell_pressure"], named["storage_temperature"]
    pressure, temperature = hourly["shell_pressure"], hourly["storage_temperature"]
    hot = (
        temperature >= temperature.quantile([0.05, 0.95]).mean()
    )  # hours that it runs, if it stands in others
    pressure, temperature = pressure[hot], temperature[hot]
    raw_p = pd.Series(units.from_inside(_array(pressure), p.unit, "pressure", barometer))
    raw_t = pd.Series(units.from_inside(_array(temperature), t.unit, "temperature", barometer))
    if not (raw_p.notna() & raw_t.notna()).any():  # all out of range: the usual value still tells the unit
        raw_p, raw_t = pd.Series([p.usual]), pd.Series([t.usual])
        pressure = pd.Series(units.to_inside(_array(raw_p), p.unit, "pressure", barometer))
        temperature = pd.Series(units.to_inside(_array(raw_t), t.unit, "temperature", barometer))
    depth = subcooling(pressure, temperature)
    if _LOWEST <= depth <= _HIGHEST or not (raw_p.notna() & raw_t.notna()).any():
        return []
    one = likely(raw_p, raw_t, _PRESSURES, (t.unit,), barometer)
    other = likely(raw_p, raw_t, (p.unit,), _TEMPERATURES, barometer)
    both = likely(raw_p, raw_t, _PRESSURES, _TEMPERATURES, barometer)
    seen = f"{abs(depth):.0f} degC {'below' if depth > 0 else 'hotter than'} boiling"
    if np.isnan(depth):
        seen = "at no pressure that water boils at"
    what = (
        f'shell_pressure ("{p.tag}", {p.unit}) and storage_temperature ("{t.tag}", {t.unit}) don\'t fit: '
        f"the water would be {seen}"
    )
    if one and not other:
        return [f'{what}. Most likely "{p.tag}" is in {one[0]}.']
    if other and not one:
        return [f'{what}. Most likely "{t.tag}" is in {other[1]}.']
    if both and not one:
        return [f'{what}. Most likely "{p.tag}" is in {both[0]} and "{t.tag}" in {both[1]}.']
    return [f"{what}. Check both tags and units: no single other unit explains it."]


def _inlet(hourly: pd.DataFrame, named: dict[str, Named], barometer: float) -> list[str]:
    if "inlet_temperature" not in hourly:
        return []
    above = float((hourly["inlet_temperature"] - hourly["storage_temperature"]).median())
    if not above > _HOTTER:
        return []
    tag = named["inlet_temperature"]
    what = (
        f'inlet_temperature ("{tag.tag}", {tag.unit}) lies {above:.0f} degC above storage_temperature, but water '
        "comes in to be heated"
    )
    storage = float(hourly["storage_temperature"].median())
    raw = np.array([tag.usual])
    fits = [
        unit for unit in _TEMPERATURES
        if unit != tag.unit and 0.0 < units.to_inside(raw, unit, "temperature", barometer)[0] < storage
    ]  # fmt: skip
    if len(fits) == 1:
        return [f'{what}. Most likely "{tag.tag}" is in {fits[0]}.']
    return [f"{what}. Check its tag and unit."]


def _steam(hourly: pd.DataFrame, named: dict[str, Named], barometer: float) -> list[str]:
    if "steam_pressure" not in hourly:
        return []
    lead = float((hourly["steam_pressure"] - hourly["shell_pressure"]).median())
    if not lead < -2000.0:
        return []
    s = named["steam_pressure"]
    below = f"lies {-lead / 1000:.0f} kPa below shell_pressure, but steam flows into the shell"
    what = f'steam_pressure ("{s.tag}", {s.unit}) {below}'
    if s.unit.endswith("abs") and lead > -1.2 * barometer:
        return [f'{what}. Most likely "{s.tag}" is gauge.']
    return [f"{what}. Check its tag and unit."]


def _flows(hourly: pd.DataFrame, named: dict[str, Named]) -> list[str]:
    if not {"inlet_flow", "outlet_flow"} <= set(hourly):
        return []
    both = hourly[["inlet_flow", "outlet_flow"]].dropna()
    both = both[both["inlet_flow"] > 0]
    ratio = float((both["outlet_flow"] / both["inlet_flow"]).median()) if len(both) else float("nan")
    for factor, what in _FLOW_RATIOS.items():
        for one in (factor, 1.0 / factor):
            if 0.85 * one < ratio < 1.35 * one and not 0.55 < ratio < 1.9:
                i, o = named["inlet_flow"], named["outlet_flow"]
                return [
                    f'outlet_flow ("{o.tag}", {o.unit}) is {ratio:.3g} times inlet_flow ("{i.tag}", '
                    f"{i.unit}): "
                    f"most likely {what} are mixed up. Check both units."
                ]
    return []
