"""The table of causes: the health parameter that moves, its sign, plain words, what to check, cautions.

Adding a cause is one row here and one parameter in balance/health.py.
Checks and cautions are common practice, no source, except where one is named.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Cause:
    """One row. `parameter` is a field of balance.health.Health (None for causes that no parameter makes);
    `sign` is the direction in which the cause moves it; `what` names the magnitude and `unit` its unit;
    `resets` is the word in a work record that gives this cause a fresh baseline; `role_checks`, further checks (role,
    check) of one role's sensor alone; `starves`: where it goes far, it leaves the shell short of steam, whose pressure
    falls, and the water's temperature with it."""

    slug: str
    parameter: str | None
    sign: int
    label: str
    what: str
    unit: str
    meaning: str
    checks: tuple[str, ...]
    cautions: tuple[str, ...]
    resets: str | None
    role_checks: tuple[tuple[str, str], ...] = ()
    starves: bool = False

    def checks_of(self, role: str | None) -> tuple[str, ...]:
        """What to check, where the sensor at fault is of this role (None: no sensor)."""
        return (*self.checks, *(check for of, check in self.role_checks if of == role))


_HOT = (
    "Hot pressurised water and steam: a deaerator's water flashes if pressure is lost. "
    "Work on it only under the site's isolation and permit rules."
)
_VENT = (
    "The vent discharges hot steam and may cough water: keep clear of its outlet. "
    "Only licensed or authorised staff change a vent or relief path, under local codes."
)
_ENTRY = "A vessel is a confined space, possibly short of oxygen: entry only with isolation, gas test, permit, standby."
_WELD = (
    "Deaerator welds are known to crack: an internal inspection should follow the local code's weld examination "
    "(National Board Bulletin, April 1988)."
)
_PLUME = "Look at the vent outlet from a safe place: is the plume as strong as usual?"
_TEST = "Have a chemist test outlet oxygen before the scavenger feed."
_BOILING = "Compare storage temperature with saturation at shell pressure, barometer included, at two loads."
_OXYGEN = "A portable oxygen test draws hot sample water: use the sample cooler and eye protection."

_TABLE = (
    Cause(
        "fouled-sprays",
        "spray_openness",
        -1,
        "fouled sprays",
        "spray flow area lost",
        "fraction",
        "Spray valves are scaled or blocked: the same water needs more differential and is heated less.",
        (
            "Compare the spray differential at today's flow with the value at the same flow in the baseline.",
            _BOILING,
            _TEST,
            "At the next planned outage, have the spray valves inspected for scale, debris and stuck springs.",
        ),
        (_HOT, _ENTRY, _WELD),
        "sprays",
    ),
    Cause(
        "worn-sprays",
        "spray_openness",
        +1,
        "worn sprays",
        "spray flow area gained",
        "fraction",
        "Spray valves are worn, broken or their springs have relaxed: less differential, a coarse spray, poor heating.",
        (
            "Compare the spray differential at today's flow with the value at the same flow in the baseline.",
            "Compare storage temperature with saturation at shell pressure at low load, where weak sprays show first.",
            "At the next planned outage, have spray springs, seats and stems inspected.",
        ),
        (_HOT, _ENTRY, _WELD),
        "sprays",
    ),
    Cause(
        "choked-vent",
        "vent_openness",
        -1,
        "choked vent",
        "vent area lost",
        "fraction",
        "The vent line, orifice or vent condenser passes less: gases stay inside and oxygen rises all over the shell.",
        (
            _PLUME,
            "Have the vent line's surface temperature read along its length, untouched, with an infrared thermometer.",
            _TEST,
            "Ask whether the vent valve's position was changed; compare it with the last record.",
            "At the next opportunity, have authorised staff inspect the vent orifice, line and condenser.",
        ),
        (_VENT, _HOT, _OXYGEN),
        "vent",
    ),
    Cause(
        "open-vent",
        "vent_openness",
        +1,
        "vent too far open",
        "vent area gained",
        "fraction",
        "The vent passes more than it did: steam and heat are lost, for little or no gain in oxygen.",
        (
            "Look at the vent outlet from a safe place: is the plume stronger than usual?",
            "Ask whether the vent valve's position was changed, or its orifice replaced.",
            "Have authorised staff inspect the vent orifice for erosion.",
        ),
        (_VENT, _HOT),
        "vent",
        starves=True,
    ),
    Cause(
        "steam-starvation",
        "supply_capacity",
        -1,
        "steam starvation",
        "steam supply capacity lost",
        "fraction",
        "The steam supply passes less for the same opening and pressure: the valve opens wider, and at high load "
        "shell pressure and heating fall short.",
        (
            "Compare the steam valve's opening at today's load with the baseline's.",
            "Compare steam supply pressure with shell pressure at high load.",
            "Check the strainer, trap and isolating valve of the supply line by their differential, from outside.",
            "Have the control valve's travel and positioner checked by an instrument technician.",
        ),
        (_HOT,),
        "steam-supply",
        starves=True,
    ),
    Cause(
        "tray-damage",
        "tray_transfer",
        -1,
        "damaged trays",
        "tray transfer lost",
        "fraction",
        "Trays are displaced, broken or scaled: the last scrubbing is poorer, with the sprays in order.",
        (
            "Have a chemist test outlet oxygen before the scavenger feed, at high and low load.",
            "Look back for a water hammer, a fast load change or a loss of pressure near the onset date.",
            "At the next planned outage, have the trays inspected for displacement, breakage and scale.",
        ),
        (_HOT, _ENTRY, _WELD, _OXYGEN),
        "trays",
    ),
    Cause(
        "flooded-trays",
        "flood_margin",
        -1,
        "flooded trays",
        "flooding load lowered",
        "fraction",
        "Water is held up on the trays at high load: heating and scrubbing fail at high load and recover at low load.",
        (
            "Compare storage temperature with saturation at the highest and the lowest load of the week.",
            "Compare the level reading with the gauge glass; look for surging shell pressure at high load.",
            "Compare the peak water flow with the rated flow.",
            "At the next planned outage, have trays, downcomers and equalising lines inspected.",
        ),
        (_HOT, _ENTRY, _WELD),
        "trays",
    ),
    Cause(
        "air-in-leakage",
        "inlet_gas",
        +1,
        "air in-leakage",
        "inlet oxygen raised",
        "fraction",
        "More air comes in with the water: a pump gland, flange or condenser under vacuum is drawing it.",
        (
            "Have a chemist test inlet oxygen, and the condensate and make-up separately.",
            "Check pump glands, flanges and vacuum breakers upstream for in-leakage with the site's usual test.",
            "Compare the share of make-up with the baseline's.",
        ),
        (_OXYGEN, _HOT),
        "air-in-leakage",
    ),
    Cause(
        "heat-loss",
        "heat_loss",
        +1,
        "heat loss",
        "extra heat loss",
        "kW",
        "The shell or storage loses more heat than it did: insulation is wet, missing or a cold stream leaks in.",
        (
            "Walk round the insulation after rain: wet, missing, or hot by an infrared thermometer?",
            "Have the shell surveyed with an infrared camera.",
            "Check for cold water leaking into storage past a closed valve, by pipe temperature from outside.",
        ),
        (_HOT,),
        "insulation",
        starves=True,
    ),
    Cause(
        "sensor-drift",
        None,
        0,
        "sensor drift",
        "reading shifted",
        "",
        "One instrument reads differently from what all the others say.",
        (
            "Compare the reading with a second instrument or a local gauge.",
            "Ask the instrument technician for the last calibration and any change of range, and have it calibrated.",
        ),
        (_HOT,),
        None,
        (
            (
                "steam_valve",
                "Look for steam that comes by another way than the valve, such as a leaking by-pass: by pipe "
                "temperature, from outside.",
            ),
        ),
    ),
    Cause(
        "sensor-stuck",
        None,
        0,
        "stuck sensor",
        "reading held at",
        "",
        "One instrument shows one value although the vessel moves.",
        (
            "Compare the reading with a second instrument or a local gauge.",
            "Ask whether the point was forced, replaced or left in simulation in the control system.",
            "Have the transmitter and its impulse line checked (plugged or frozen line).",
        ),
        (_HOT,),
        None,
    ),
    Cause(
        "unexplained",
        None,
        0,
        "unexplained change",
        "largest residual's move",
        "",
        "The readings have moved more than chance and weather allow, and no single cause in the table fits.",
        (
            "Read the evidence: which readings moved, and which did not.",
            "Ask what changed at the onset: piping, control settings, water source, instruments.",
            "Compare the four checkpoints: water hot for its pressure, shell above atmosphere, steam above shell, "
            "vent open.",
        ),
        (_HOT,),
        None,
    ),
)

CAUSES: dict[str, Cause] = {row.slug: row for row in _TABLE}
# what to check, and its cautions, where a reading is over its limit without a change that could be the cause
OVER_LIMIT: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "outlet_oxygen": ((_TEST, _PLUME), (_OXYGEN, _VENT)),
    "subcooling": ((_BOILING,), (_HOT,)),
}
GENERAL_CAUTION = (
    "This report advises checks; it does not tell anyone to operate a valve. Local codes, the maker's manual and "
    "licensed staff come first."
)
