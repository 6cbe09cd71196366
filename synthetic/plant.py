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

from sevenppb.synthetic.steam import MOLAR_NITROGEN, MOLAR_OXYGEN, MOLAR_WATER, Array, ln_bar, steam
from sevenppb.synthetic.vessel import CRITICAL_FACTOR, Sizes

SPRAY_CELLS, TRAY_CELLS = 2, 4
SEGMENT_DAYS, WARM_UP_DAYS = 30, 15
LONGEST_STEP = 5.0  # [min] inside the loop
VENT_EXPONENT = 1.135  # isentropic exponent of wet saturated steam (computed from IF97: 1.13 to 1.14)
FLASH_SECONDS = 90.0  # in which storage hotter than the shell's saturation boils down
BREATHING = 2e-6  # [1/s] of the gas that leaves a shell without a pressure difference over its vent
TRAY_HEAT_EXPONENT = 0.7  # broken trays lose less heating than scrubbing: falling water still meets the steam


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


def _loop(z: Sizes, d: Drivers, step_minutes: float, warm: int) -> States:  # noqa: PLR0915
    # One long function on purpose: at some two hundred small array operations a step, calls would cost as
    # much as the arithmetic, and the step reads from the water's entry to the storage.
    log, exp, low, high = np.log, np.exp, np.minimum, np.maximum
    substeps = int(np.ceil(step_minutes / max(LONGEST_STEP, step_minutes / 4)))
    dt = 60.0 * step_minutes / substeps
    horner = steam().loop
    rows, columns = d.outflow.shape
    out = {f.name: np.empty((rows - warm, columns)) for f in fields(States)}

    rated, span = z["rated"], z["storage_mass"]
    level_gain = rated / z["level_band"]
    level_rate = dt / (60.0 * z["level_minutes"])
    one_level = 1 + level_gain * dt / span
    spray_design = z["spray_crack"] + z["spray_rise"]
    units_per_cell = np.stack([z["spray_units"] / SPRAY_CELLS, z["tray_units"] / TRAY_CELLS])
    oxygen_ratio = np.stack([z["spray_oxygen"], z["tray_oxygen"]])
    response = 1 - exp(-dt / (60.0 * z["valve_minutes"]))
    # gas drawn down by back-mixing thins out from tray to tray
    thinning = z["backmix"] ** (np.arange(1, TRAY_CELLS + 1)[:, None] / TRAY_CELLS)
    to_moles = np.array([[MOLAR_WATER / MOLAR_OXYGEN], [MOLAR_WATER / MOLAR_NITROGEN]])
    at_design = ln_bar(z["gauge"] + z["barometer"])
    top_mass = z["top_volume"] * exp(steam().ln_density(at_design))
    # what a change of pressure stores in the steam space and the steel and water skin around it [kg/Pa]
    steam_space = 3.0 * top_mass / (z["gauge"] + z["barometer"])
    steam_design = z["rated"] * 0.1

    pressure = d.set_pressure[0].copy()
    storage = steam().liquid(ln_bar(pressure)) - 4.2 * z["target_subcooling"]
    storage_gas = np.stack([z["target_oxygen"], z["target_oxygen"]])
    level = z["level_set"].copy()
    bias = 0.85 * d.outflow[0]
    stem = z["target_opening"].copy()
    top = np.full((2, columns), 1e-4)
    steam_flow = 0.12 * d.outflow[0] + 0.01 * rated
    column = np.empty((3, columns))
    target = np.empty((3, columns))
    tray_x = np.empty((TRAY_CELLS + 1, 2, columns))
    carried = np.zeros((TRAY_CELLS, 2, columns))

    for i in range(rows):
        outflow, h_in, h_steam, h_drain = (
            d.outflow[i],
            d.inlet_enthalpy[i],
            d.steam_enthalpy[i],
            d.drain_enthalpy[i],
        )
        barometer, header, drain = d.barometer[i], d.header_pressure[i], d.drain_flow[i]
        ln_area, running, vent_gain = log(d.spray_area[i]), d.running[i], 1 / (1 - d.vent_condensing[i])
        vent_area = d.vent_area[i]
        for _ in range(substeps):
            x = log(pressure * 1e-5)
            block = horner[0]
            for row in horner[1:]:
                block = block * x + row
            h_liquid, h_slope, h_vapour, flux, phi = block[0], block[1], block[2], block[3], block[4:]

            # vent: nozzle flow, choked or not
            ln_ratio = log(high(barometer / pressure, 0.5774))
            nozzle = exp(2 / VENT_EXPONENT * ln_ratio) - exp((1 + 1 / VENT_EXPONENT) * ln_ratio)
            vent = vent_area * flux * np.sqrt(high(nozzle, 0) * (VENT_EXPONENT / (VENT_EXPONENT - 1)))

            # level control, its proportional part implicit: a 5 min step is long beside a small drum
            error = z["level_set"] - level
            bias = low(high(bias + level_gain * level_rate * error, 0), 1.2 * rated)
            others = steam_flow - vent + drain - outflow
            inlet = high((bias + level_gain * (error - dt * others / span)) / one_level, 0)
            inlet = low(inlet, 1.4 * rated)

            # transfer in sprays and trays
            load = log(high(inlet / rated, 0.02))
            differential = z["spray_crack"] * d.spray_spring[i] + z["spray_rise"] * exp(
                z["spray_exponent"] * (load - ln_area)
            )
            steam_share = log(high(steam_flow / steam_design, 0.02)) - load
            held_up = z["flood_steep"] * high(inlet / (rated * d.flood_load[i]) - 1, 0)
            growth = np.empty((2, columns))
            growth[0] = d.spray_cover[i] * exp(z["spray_drop"] * log(differential / spray_design))
            growth[1] = exp(-z["tray_flow"] * load + z["tray_steam"] * steam_share - held_up)
            units = units_per_cell * growth
            gas_units = units * oxygen_ratio
            units[1] *= d.trays[i] ** TRAY_HEAT_EXPONENT
            gas_units[1] *= d.trays[i]
            keep_heat, keep_gas = exp(-units), exp(-gas_units)
            keep_spray = np.stack([keep_heat[0], keep_gas[0], keep_gas[0]])
            keep_tray = np.stack([keep_heat[1], keep_gas[1], keep_gas[1]])

            # down through the cells
            column[0], column[1], column[2] = h_in, d.inlet_oxygen[i], d.inlet_nitrogen[i]
            entering = column[1:].copy()
            target[0] = h_liquid + h_slope * np.log1p(-(top[0] + top[1]))
            target[1:] = top * phi
            for _cell in range(SPRAY_CELLS):
                column = target + (column - target) * keep_spray
            tray_x[0] = column[1:]
            for cell in range(TRAY_CELLS):
                gas = carried[cell] + thinning[cell] * top
                target[0] = h_liquid + h_slope * np.log1p(-(gas[0] + gas[1]))
                target[1:] = gas * phi
                column = target + (column - target) * keep_tray
                tray_x[cell + 1] = column[1:]
            # gas set free below rises with the steam past the trays above
            freed = (tray_x[:-1] - tray_x[1:]) * (inlet * 1e-9)
            rising = freed[::-1].cumsum(axis=0)[::-1] * to_moles / high(steam_flow, 0.01 * steam_design)
            carried = low(high(rising, 0), 0.1)

            # steam wanted at this pressure
            gap = h_liquid - storage
            conductance = np.where(gap > 0, z["surface"], (level * span + z["storage_heel"]) / FLASH_SECONDS)
            surface_heat = conductance * gap
            heat = inlet * (column[0] - h_in) + vent * (h_vapour - column[0]) - drain * (h_drain - column[0])
            heat += z["shell_loss"] * d.exposure[i]
            wanted = heat / (h_steam - column[0]) + surface_heat / (h_steam - storage)

            # steam valve: compressible flow, a loop that seeks the set pressure, a stem that sticks
            drop = low(high(1 - pressure / header, 0.004), CRITICAL_FACTOR)
            expansion = 1 - drop / (3 * CRITICAL_FACTOR)
            full = z["valve_capacity"] * d.supply[i] * d.header_root[i] * expansion * np.sqrt(drop)
            falling = np.where(
                drop < CRITICAL_FACTOR,
                full / header * (1 / (3 * CRITICAL_FACTOR * expansion) - 0.5 / drop),
                0.0,
            )
            stiffness = ((inlet + conductance) * h_slope / (h_steam - h_liquid)) / pressure + steam_space / dt
            away = d.set_pressure[i] - pressure
            ideal = (wanted + stiffness * away) / high(full + falling * away, 0.2 * full)
            asked = stem + response * (low(high(ideal, 0), 1) - stem)
            stem = np.where(abs(asked - stem) > z["valve_stick"] * stem, asked, stem) * running
            move = (stem * full - wanted) / (stiffness - stem * falling)
            move = high(low(move, 0.2 * pressure), -0.2 * pressure)
            after = high(low(pressure + move, 1.2 * d.set_pressure[i]), barometer)
            move = after - pressure
            pressure = after
            steam_flow = high(stem * (full + falling * move), 0)
            # at the barometer a vacuum breaker holds the shell: water is heated by what steam there is
            short = steam_flow / high(wanted + stiffness * move, 1e-6)
            column[0] = np.where(
                after > barometer, column[0], h_in + (column[0] - h_in) * low(high(short, 0), 1)
            )

            # gas over the sprays
            freed_all = (entering - column[1:]) * (inlet * 1e-9) * to_moles / top_mass
            leaving = vent * vent_gain / top_mass + BREATHING
            settled = freed_all / leaving
            top = low(settled + (top - settled) * exp(-leaving * dt), 0.35)
            top = high(top, 0)

            # storage
            falls = inlet + steam_flow - vent + drain
            mass = level * span + z["storage_heel"]
            level = low(high(level + dt * (falls - outflow) / span, 0.02), 1.1)
            cooling = z["storage_loss"] * d.exposure[i] * (storage / 4.22 - d.ambient[i]) + d.extra_loss[i]
            into = high(falls, 1e-4 * rated)
            rate = (into + conductance) / mass
            settled = (into * column[0] + conductance * h_liquid - cooling) / (into + conductance)
            storage = settled + (storage - settled) * exp(-rate * dt)
            storage_gas = column[1:] + (storage_gas - column[1:]) * exp(-into / mass * dt)
        if i >= warm:
            j = i - warm
            out["pressure"][j], out["storage_enthalpy"][j], out["storage_oxygen"][j] = (
                pressure,
                storage,
                storage_gas[0],
            )
            out["inlet_flow"][j], out["steam_flow"][j], out["valve_area"][j] = inlet, steam_flow, stem
            out["level"][j], out["top_air"][j], out["vent_flow"][j] = level, top[0] + top[1], vent
    return States(**out)
