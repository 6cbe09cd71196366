"""One made-up deaerator: its sizes, drawn at random within what the trade builds.

All ranges are common practice from memory, no source; they are meant to be wide, not typical.
The sizes that set the healthy outlet (tray transfer, vent and steam valve) are first guesses here and are
brought to the drawn targets by `tuning`.
"""

from dataclasses import dataclass, fields
from typing import Literal

import numpy as np

from sevenppb.synthetic.steam import (
    MOLAR_NITROGEN,
    MOLAR_OXYGEN,
    MOLAR_WATER,
    SUPERHEAT_CAPACITY,
    Array,
    ln_bar,
    steam,
)

NITROGEN_BESIDE_OXYGEN = 1.7  # kg of N2 dissolved with a kg of O2 in air-saturated water
CRITICAL_FACTOR = 0.67  # x_T of the steam valve: beyond this pressure drop over P1 the flow no longer grows

Kind = Literal["spray-tray", "spray-scrubber"]
Rhythm = Literal["process", "heating", "base", "shifts", "batches", "levels"]


@dataclass(frozen=True)
class VesselSpec:
    """Sizes of one vessel. Flows kg/s, pressures Pa, temperatures °C, powers kW, oxygen ug/kg (ppb)."""

    id: str
    kind: Kind
    rhythm: Rhythm
    site: int
    rated: float  # outlet flow at full load
    gauge: float  # shell set pressure above the barometer
    sliding: float  # share by which the set pressure follows the load, 0 where it is held
    barometer: float  # usual barometer at the site's height
    gauge_transmitters: bool  # else they are absolute
    # water
    makeup_share: float  # of the inlet water
    makeup_warmed: float  # K above the season's raw water
    condensate_temperature: float
    condensate_oxygen: float
    drain_share: float  # hot drains as a share of the outlet flow
    drain_above: float  # K by which drains are hotter than saturation in the shell
    # sprays: differential = crack + rise * (flow / rated / area) ** exponent
    spray_crack: float
    spray_rise: float
    spray_exponent: float
    spray_units: float  # heat transfer units at rated flow
    spray_drop: float  # exponent of transfer on the differential: finer drops
    spray_cover: float  # exponent of transfer on the share of nozzle area that sprays as it should
    spray_oxygen: float  # transfer units for oxygen over those for heat
    # trays or scrubber
    tray_units: float
    tray_oxygen: float
    tray_flow: float  # exponent on 1 / load
    tray_steam: float  # exponent on the steam share
    flood_load: float  # load at which trays begin to hold up water
    flood_steep: float
    backmix: float  # share of the gas above that is drawn into the steam below the sprays
    # vent
    vent_area: float  # effective area [m²]
    vent_condensing: float  # share of the vent's steam condensed in the vent condenser
    vent_line_loss: float  # kW lost by the line up to its thermometer at 100 K above ambient
    vent_film: float  # share of (line - ambient) that the thermometer reads low at design vent flow
    vent_design: float  # vent flow at design
    vent_opening: float  # at which the vent valve was left
    top_volume: float  # m³ of steam that holds the gas
    # storage
    storage_mass: float  # kg between level 0 and 1
    storage_heel: float  # kg below level 0
    storage_loss: float  # kW/K
    shell_loss: float  # kW
    surface: float  # kg/s of water that would be as well heated by the steam over the storage
    # steam
    header: float  # steam supply pressure
    superheat: float
    valve_capacity: float  # kg/s per sqrt(Pa kg/m³), wide open
    valve_range: float  # rangeability of the equal-percentage plug
    valve_stick: float  # share of its opening by which the stem must be asked to move before it does
    valve_minutes: float  # response of the pressure loop
    # level
    level_set: float
    level_band: float  # proportional band
    level_minutes: float  # integral time
    scavenger: float  # share of storage oxygen that a scavenger dosed to storage takes away
    # what the tuning aims at
    target_oxygen: float
    target_subcooling: float
    target_opening: float  # share of the valve's capacity
    # habits
    set_points: float = 0.5  # times a year that the shell's set pressure is moved
    restless: float = 1.0  # wander of the instruments' errors over that of usual ones


@dataclass(frozen=True)
class Sizes:
    """The numbers of many specs, an array (vessels,) a field; `tile` repeats them for segments of time."""

    of: dict[str, Array]

    @staticmethod
    def stack(specs: list[VesselSpec]) -> "Sizes":
        names = [f.name for f in fields(VesselSpec) if f.type in ("float", float)]
        return Sizes({n: np.array([getattr(s, n) for s in specs], dtype=np.float64) for n in names})

    def __getitem__(self, name: str) -> Array:
        return self.of[name]

    def tile(self, times: int) -> "Sizes":
        return Sizes({name: np.tile(values, times) for name, values in self.of.items()})


def _log_uniform(rng: np.random.Generator, low: float, high: float) -> float:
    return float(np.exp(rng.uniform(np.log(low), np.log(high))))


def draw_vessel(rng: np.random.Generator, vessel_id: str, site: int, site_barometer: float) -> VesselSpec:
    """A vessel at random. The draws come in a fixed order, so a seed gives the same vessel for ever."""
    s = steam()
    kind: Kind = "spray-tray" if rng.random() < 0.65 else "spray-scrubber"
    rhythm: Rhythm = ("process", "heating", "base")[int(rng.choice(3, p=[0.45, 0.3, 0.25]))]
    rated = _log_uniform(rng, 5.0, 2000.0) / 3.6
    gauge = 1e5 * (_log_uniform(rng, 0.15, 0.9) if rng.random() < 0.65 else _log_uniform(rng, 0.1, 10.0))
    shell = gauge + site_barometer
    at = ln_bar(np.array(shell))
    boiling = float(s.saturation(at))
    makeup_share = 1.0 if rng.random() < 0.08 else _log_uniform(rng, 0.02, 0.95)
    makeup_warmed = float(rng.choice([0.0, rng.uniform(10.0, 45.0)]))
    condensate_temperature = float(rng.uniform(55.0, min(95.0, boiling - 13.0)))
    condensate_oxygen = _log_uniform(rng, 20.0, 900.0)
    inlet = makeup_share * (12.0 + makeup_warmed) + (1 - makeup_share) * condensate_temperature
    inlet_oxygen = makeup_share * 8500.0 + (1 - makeup_share) * condensate_oxygen

    # enough vent to keep the gas over the sprays at the drawn share, and never less than a wisp
    air = inlet_oxygen * 1e-9 * (1 / MOLAR_OXYGEN + NITROGEN_BESIDE_OXYGEN / MOLAR_NITROGEN) * MOLAR_WATER
    vent_condensing = float(rng.uniform(0.3, 0.7)) if rng.random() < 0.3 else 0.0
    vent_share = max(
        air * (1 - vent_condensing) / _log_uniform(rng, 0.004, 0.025), _log_uniform(rng, 2e-4, 1e-3)
    )
    vent_design = rated * vent_share
    top_oxygen = 0.34 * air * (1 - vent_condensing) / vent_share  # mole fraction of it over the sprays
    rise_of_sprays = boiling - inlet
    subcooling = _log_uniform(rng, 0.12, 1.3)
    all_units = float(np.log(rise_of_sprays / subcooling))
    spray_units = max(min(float(rng.uniform(1.8, 3.4)), all_units - 1.4), 1.2)
    tray_units = max(all_units - spray_units, 0.8)
    target_oxygen = min(_log_uniform(rng, 1.2, 5.5), 0.08 * inlet_oxygen)
    in_balance = float(np.polyval(s.loop[:, 4, 0], at))
    backmix = _log_uniform(rng, 2e-4, 6e-3) * (1.0 if kind == "spray-tray" else 2.0)
    spray_exponent = float(rng.choice([rng.uniform(0.9, 1.5), 2.0], p=[0.75, 0.25]))
    sprayed = spray_exponent < 2.0
    header = shell + 1e5 * _log_uniform(rng, 1.5, 8.0)
    steam_needed = rated * 4.2 * rise_of_sprays / 2150.0
    minutes = float(rng.uniform(8.0, 20.0))
    storage_mass = rated * 60.0 * minutes
    has_drains = rng.random() < 0.3
    return VesselSpec(
        id=vessel_id,
        kind=kind,
        rhythm=rhythm,
        site=site,
        rated=rated,
        gauge=gauge,
        sliding=float(rng.uniform(0.1, 0.5)) if rng.random() < 0.15 else 0.0,
        barometer=site_barometer,
        gauge_transmitters=bool(rng.random() < 0.7),
        makeup_share=makeup_share,
        makeup_warmed=makeup_warmed,
        condensate_temperature=condensate_temperature,
        condensate_oxygen=condensate_oxygen,
        drain_share=float(rng.uniform(0.03, 0.1)) if has_drains else 0.0,
        drain_above=float(rng.uniform(4.0, 30.0)),
        spray_crack=float(rng.uniform(4e3, 2e4)) if sprayed else 0.0,
        spray_rise=float(rng.uniform(2e4, 7e4)),
        spray_exponent=spray_exponent,
        spray_units=spray_units,
        spray_drop=float(rng.uniform(0.1, 0.3)),
        spray_cover=float(rng.uniform(1.1, 1.9)),
        spray_oxygen=float(rng.uniform(1.0, 1.4)),
        tray_units=tray_units,
        tray_oxygen=float(rng.uniform(1.0, 1.5)),
        tray_flow=float(rng.uniform(0.03, 0.22)) if kind == "spray-tray" else float(rng.uniform(0.0, 0.12)),
        tray_steam=float(rng.uniform(0.0, 0.15)) if kind == "spray-tray" else float(rng.uniform(0.1, 0.3)),
        flood_load=float(rng.uniform(1.15, 1.5)),
        flood_steep=float(rng.uniform(2.0, 4.0)),
        # at design, the gas drawn down makes at most a third of the healthy outlet oxygen
        backmix=min(backmix, target_oxygen / 3 / (top_oxygen * in_balance)),
        vent_area=vent_design / 200.0,
        vent_condensing=vent_condensing,
        vent_line_loss=_log_uniform(rng, 0.03, 0.35) * vent_design * 2200.0,
        vent_film=_log_uniform(rng, 0.005, 0.06),
        vent_design=vent_design,
        vent_opening=float(rng.choice([0.15, 0.25, 0.3, 0.5, 1.0])),
        top_volume=0.3 * storage_mass / 940.0 * float(rng.uniform(0.5, 1.5)),
        storage_mass=storage_mass,
        storage_heel=0.15 * storage_mass,
        storage_loss=rated * 4.2 * _log_uniform(rng, 0.02, 0.12) / 90.0,
        shell_loss=rated * 4.2 * _log_uniform(rng, 0.03, 0.2),
        surface=rated * _log_uniform(rng, 0.05, 0.4),
        header=header,
        superheat=float(rng.uniform(5.0, 80.0)),
        valve_capacity=steam_needed / np.sqrt(header * 0.55 * header / 1e5) * 3.0,
        valve_range=float(rng.choice([30.0, 50.0])),
        valve_stick=float(rng.uniform(0.0, 0.006)),
        valve_minutes=float(rng.uniform(1.0, 4.0)),
        level_set=float(rng.uniform(0.5, 0.7)),
        level_band=float(rng.uniform(0.3, 0.8)),
        level_minutes=float(rng.uniform(30.0, 120.0)),
        scavenger=float(rng.uniform(0.2, 0.6)) if rng.random() < 0.1 else 0.0,
        target_oxygen=target_oxygen,
        target_subcooling=subcooling,
        target_opening=float(rng.uniform(0.3, 0.6)),
    )


def superheated_enthalpy(pressure: Array, superheat: Array) -> Array:
    """Enthalpy [kJ/kg] of steam `superheat` [K] above saturation at `pressure` [Pa]."""
    return np.asarray(steam().vapour(ln_bar(pressure)) + SUPERHEAT_CAPACITY * superheat)


def supply_root(pressure: Array, superheat: Array) -> Array:
    """sqrt(P rho) [sqrt(Pa kg/m³)] of supply steam, its density falling with absolute temperature."""
    s = steam()
    at = ln_bar(pressure)
    kelvin = s.saturation(at) + 273.15
    return np.asarray(np.sqrt(pressure * np.exp(s.ln_density(at)) * kelvin / (kelvin + superheat)))
