"""The made-up plant: vessels stepped through time together, with closures of its own.

The water falls through two spray cells and four tray (or scrubber) cells; in each, its heat, oxygen and
nitrogen close the same kind of gap to the steam around it by exp(-transfer units). The gas they set free
gathers over the sprays, leaves by the vent, and by back-mixing reaches the steam below. Storage is a mixed
tank that flashes when pressure falls. Pressure, level, the sticking steam valve, the gas and the storage
are states; what lasts seconds (the falling water, the steam space) is taken as settled within a step.

A vessel forgets its past within two weeks (the longest outage), so long histories are cut into segments
that run side by side, each after a warm-up on the days before it: the loop over time then has few steps.
"""

from dataclasses import dataclass, fields

import numpy as np

from sevenppb.synthetic.closures import TRAY_CELLS, fall, gaps_kept, valve_flow, vent_flow
from sevenppb.synthetic.steam import MOLAR_NITROGEN, MOLAR_OXYGEN, MOLAR_WATER, Array, ln_bar, steam
from sevenppb.synthetic.vessel import Sizes

SEGMENT_DAYS, WARM_UP_DAYS = 30, 15
LONGEST_STEP = 5.0  # [min] inside the loop
FLASH_SECONDS = 90.0  # in which storage hotter than the shell's saturation boils down
BREATHING = 2e-6  # [1/s] of the gas that leaves a shell without a pressure difference over its vent


@dataclass(frozen=True)
class Drivers:
    """What is done to the vessels, each an array (steps, vessels). The last block is health: 1, or 0 kW."""

    outflow: Array  # kg/s
    inlet_enthalpy: Array  # kJ/kg
    inlet_oxygen: Array  # ug/kg
    inlet_nitrogen: Array  # ug/kg
    header_pressure: Array  # Pa
    header_root: Array  # sqrt(Pa kg/m³)
    steam_enthalpy: Array  # kJ/kg
    ambient: Array  # °C
    exposure: Array  # factor of rain and wind on heat loss
    barometer: Array  # Pa
    set_pressure: Array  # Pa absolute
    running: Array  # 1 steam on, 0 off
    drain_flow: Array  # kg/s
    drain_enthalpy: Array  # kJ/kg
    spray_area: Array
    spray_cover: Array
    spray_spring: Array
    vent_area: Array
    vent_condensing: Array
    supply: Array
    trays: Array
    flood_load: Array
    extra_loss: Array  # kW


@dataclass(frozen=True)
class States:
    """What the vessels did, each an array (steps, vessels); Pa absolute, kJ/kg, ug/kg, kg/s, fractions."""

    pressure: Array
    storage_enthalpy: Array
    storage_oxygen: Array
    inlet_flow: Array
    steam_flow: Array
    valve_area: Array
    level: Array
    top_air: Array  # mole fraction of oxygen and nitrogen over the sprays
    vent_flow: Array


def _fold(values: Array, segment: int, warm: int, count: int) -> Array:
    """(steps, vessels) → (warm + segment, count * vessels): segments side by side, each after its warm-up."""
    short = count * segment - len(values)
    padded = np.concatenate([values[:1].repeat(warm, axis=0), values, values[-1:].repeat(short, axis=0)])
    pieces = [padded[k * segment : k * segment + warm + segment] for k in range(count)]
    return np.concatenate(pieces, axis=1)


def _unfold(values: Array, steps: int, count: int) -> Array:
    """The way back, from (segment, count * vessels)."""
    segment, columns = values.shape
    vessels = columns // count
    return np.ascontiguousarray(
        values.reshape(segment, count, vessels).swapaxes(0, 1).reshape(count * segment, vessels)[:steps]
    )


def run(sizes: Sizes, drivers: Drivers, step_minutes: float) -> States:
    """Step the vessels through the drivers' time. Rows are steps of `step_minutes` [min]."""
    steps = len(drivers.outflow)
    per_day = round(24 * 60 / step_minutes)
    count = max(1, -(-steps // (SEGMENT_DAYS * per_day)))
    segment, warm = -(-steps // count), min(WARM_UP_DAYS * per_day, steps)
    folded = Drivers(
        **{f.name: _fold(getattr(drivers, f.name), segment, warm, count) for f in fields(Drivers)}
    )
    states = _loop(sizes.tile(count), folded, step_minutes, warm)
    return States(**{f.name: _unfold(getattr(states, f.name), steps, count) for f in fields(States)})


def _loop(z: Sizes, d: Drivers, step_minutes: float, warm: int) -> States:  # noqa: PLR0915  one step, as the water goes
    exp, low, high = np.exp, np.minimum, np.maximum
    substeps = int(np.ceil(step_minutes / max(LONGEST_STEP, step_minutes / 4)))
    dt = 60.0 * step_minutes / substeps
    horner = steam().loop
    rows, columns = d.outflow.shape
    out = {f.name: np.empty((rows - warm, columns)) for f in fields(States)}

    rated, span, heel = z["rated"], z["storage_mass"], z["storage_heel"]
    level_gain, level_rate = rated / z["level_band"], dt / (60.0 * z["level_minutes"])
    response = 1 - exp(-dt / (60.0 * z["valve_minutes"]))
    # gas drawn down by back-mixing thins out from tray to tray
    thinning = z["backmix"] ** (np.arange(1, TRAY_CELLS + 1)[:, None, None] / TRAY_CELLS)
    to_moles = np.array([[MOLAR_WATER / MOLAR_OXYGEN], [MOLAR_WATER / MOLAR_NITROGEN]]) * 1e-9
    shell = z["gauge"] + z["barometer"]
    top_mass = z["top_volume"] * exp(steam().ln_density(ln_bar(shell)))
    # what a change of pressure stores in the steam space and the skin of steel and water around it [kg/Pa]
    steam_space = 3.0 * top_mass / shell

    pressure, level, stem = d.set_pressure[0].copy(), z["level_set"].copy(), z["target_opening"].copy()
    storage = steam().liquid(ln_bar(pressure)) - 4.2 * z["target_subcooling"]
    storage_oxygen = z["target_oxygen"].copy()
    bias, steam_flow = 0.85 * d.outflow[0], 0.12 * d.outflow[0] + 0.01 * rated
    top, rising = np.full((2, columns), 1e-4), np.zeros((TRAY_CELLS, 2, columns))
    entering = np.empty((3, columns))

    for i in range(rows):
        outflow, drain, h_steam = d.outflow[i], d.drain_flow[i], d.steam_enthalpy[i]
        entering[0], entering[1], entering[2] = d.inlet_enthalpy[i], d.inlet_oxygen[i], d.inlet_nitrogen[i]
        ln_area, gas_gain = np.log(d.spray_area[i]), 1 / (1 - d.vent_condensing[i])
        capacity = z["valve_capacity"] * d.supply[i]
        for _ in range(substeps):
            at = np.log(pressure * 1e-5)
            block = horner[0]
            for row in horner[1:]:
                block = block * at + row
            h_liquid, h_slope, h_vapour, flux, phi = block[0], block[1], block[2], block[3], block[4:]
            vent = vent_flow(d.vent_area[i], flux, pressure, d.barometer[i])

            # level control, its proportional part implicit: a step is long beside a small drum
            error = z["level_set"] - level
            bias = low(high(bias + level_gain * level_rate * error, 0), 1.2 * rated)
            surplus = steam_flow - vent + drain - outflow
            inlet = (bias + level_gain * (error - dt * surplus / span)) / (1 + level_gain * dt / span)
            inlet = low(high(inlet, 0), 1.4 * rated)

            in_sprays, in_trays = gaps_kept(
                z,
                inlet,
                steam_flow,
                ln_area,
                d.spray_spring[i],
                d.spray_cover[i],
                d.trays[i],
                d.flood_load[i],
            )
            below = low(rising, 0.1) + thinning * top
            water, freed = fall(entering, top, below, (h_liquid, h_slope, phi), in_sprays, in_trays)
            # what a tray frees rises with the steam past the trays above it
            upward = inlet * to_moles / high(steam_flow, 1e-3 * rated)
            rising = high(freed[::-1].cumsum(axis=0)[::-1] * upward, 0)

            # steam wanted at this pressure: by the falling water, the vent, losses, and the storage's
            # surface, which takes steam where it is colder than saturation and gives it where it boils
            gap = h_liquid - storage
            conductance = np.where(gap > 0, z["surface"], (level * span + heel) / FLASH_SECONDS)
            heat = inlet * (water[0] - entering[0]) + vent * (h_vapour - water[0])
            heat += z["shell_loss"] * d.exposure[i] - drain * (d.drain_enthalpy[i] - water[0])
            wanted = heat / (h_steam - water[0]) + conductance * gap / (h_steam - storage)

            # pressure control: the stem seeks the opening that would hold the set pressure, and sticks; then
            # pressure goes where valve and demand meet, both taken as straight lines over the step
            full, slope = valve_flow(capacity, d.header_pressure[i], d.header_root[i], pressure)
            stiff = (inlet + conductance) * h_slope / ((h_steam - h_liquid) * pressure) + steam_space / dt
            away = d.set_pressure[i] - pressure
            ideal = (wanted + stiff * away) / high(full + slope * away, 0.2 * full)
            asked = stem + response * (low(high(ideal, 0), 1) - stem)
            stem = np.where(abs(asked - stem) > z["valve_stick"] * stem, asked, stem) * d.running[i]
            move = (stem * full - wanted) / (stiff - stem * slope)
            after = pressure + low(high(move, -0.2 * pressure), 0.2 * pressure)
            after = high(low(after, 1.2 * d.set_pressure[i]), d.barometer[i])
            move, pressure = after - pressure, after
            steam_flow = high(stem * (full + slope * move), 0)
            # at the barometer a vacuum breaker holds the shell: water is heated by what steam there is
            share = low(steam_flow / high(wanted + stiff * move, 1e-6), 1)
            share = np.where(after > d.barometer[i], 1.0, share)
            h_falls = entering[0] + (water[0] - entering[0]) * share

            # gas over the sprays: freed by the water, carried off by the vent
            gained = (entering[1:] - water[1:]) * (inlet * to_moles / top_mass)
            leaving = vent * gas_gain / top_mass + BREATHING
            top = gained / leaving + (top - gained / leaving) * exp(-leaving * dt)
            top = low(high(top, 0), 0.35)

            # storage, mixed
            falls = high(inlet + steam_flow - vent + drain, 1e-4 * rated)
            mass = level * span + heel
            level = low(high(level + dt * (inlet + steam_flow - vent + drain - outflow) / span, 0.02), 1.1)
            cooling = z["storage_loss"] * d.exposure[i] * (storage / 4.22 - d.ambient[i]) + d.extra_loss[i]
            settled = (falls * h_falls + conductance * h_liquid - cooling) / (falls + conductance)
            storage = settled + (storage - settled) * exp(-(falls + conductance) / mass * dt)
            storage_oxygen = water[1] + (storage_oxygen - water[1]) * exp(-falls / mass * dt)
        if i >= warm:
            states = (
                *(pressure, storage, storage_oxygen, inlet, steam_flow),
                *(stem, level, top[0] + top[1], vent),
            )
            for rows_of, values in zip(out.values(), states, strict=True):
                rows_of[i - warm] = values
    return States(**out)
