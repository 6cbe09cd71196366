"""A made-up fleet on disk: exports in many forms, the fleet file, and a file of the truth."""

import json
from pathlib import Path

import numpy as np

from sevenppb.synthetic.faults import TABLE
from sevenppb.synthetic.forms import FORMS, Form, Written, write_vessel
from sevenppb.synthetic.simulation import FleetPlan, Label, Simulated, simulate_each

DISCHARGE = 0.8  # of the vent orifice: its bore is that of effective area / discharge


def write_fleet(folder: Path, plan: FleetPlan) -> Path:
    """Writes folder/exports, folder/truth.json and folder/fleet.toml, and returns the last one's path.
    The vessels take the plan's forms in turn."""
    folder.mkdir(parents=True, exist_ok=True)
    forms = [form for name in plan.forms for form in FORMS if form.name == name] or list(FORMS)
    blocks = [_fleet_block(plan)]
    labels: list[Label] = []
    for number, vessel in enumerate(simulate_each(plan)):
        form = forms[number % len(forms)]
        written = write_vessel(folder, number + 1, vessel, form, plan.timezone)
        blocks.append(_vessel_block(vessel, written, form))
        labels += vessel.labels
    (folder / "truth.json").write_text(json.dumps([_truth(label) for label in labels], indent=1) + "\n")
    path = folder / "fleet.toml"
    path.write_text("\n".join(blocks))
    return path


def _fleet_block(plan: FleetPlan) -> str:
    return (
        f'[fleet]\nname = "{plan.name}"\ntimezone = "{plan.timezone}"\n'
        f'display = "si"\nbaseline = "{plan.baseline_days} days"\n'
    )


def _vessel_block(vessel: Simulated, written: Written, form: Form) -> str:
    spec = vessel.spec
    bore = 1e3 * np.sqrt(4 * spec.vent_area / DISCHARGE / np.pi)
    lines = [
        "[[vessel]]",
        f'id = "{spec.id}"',
        f"exports = [{', '.join(json.dumps(name) for name in written.exports)}]",
        f'layout = "{written.layout}"',
        f'capacity = "{spec.rated * 3.6:.4g} t/h"',
        f'barometer = "{spec.barometer / 1e3:.2f} kPa"',
        f'vent_bore = "{bore:.3g} mm"',
        "[vessel.tags]",
    ]
    for role, (tag, unit) in written.tags.items():
        said = "" if unit is None else f', unit = "{unit}"'
        lines.append(f'{role} = {{ tag = "{tag}"{said} }}')
    for label in vessel.labels:
        if label.ended is not None:
            resets = f"sensor:{label.role}" if label.role else TABLE[label.cause].resets
            lines += [
                "[[vessel.work]]",
                f"date = {label.ended:%Y-%m-%d}",
                f'what = "{label.cause.replace("-", " ")} put right"',
                f'resets = ["{resets}"]',
            ]
    return "\n".join(lines) + "\n"


def _truth(label: Label) -> dict[str, object]:
    return {
        "vessel": label.vessel,
        "cause": label.cause,
        "role": label.role,
        "onset": f"{label.onset:%Y-%m-%dT%H:%M:%SZ}",
        "full": f"{label.full:%Y-%m-%dT%H:%M:%SZ}",
        "ended": None if label.ended is None else f"{label.ended:%Y-%m-%dT%H:%M:%SZ}",
        "shape": label.shape,
        "size": round(label.size, 4),
        "unit": label.unit,
        "words": words(label),
    }


def words(label: Label) -> str:
    """One plain line about a fault."""
    what = TABLE[label.cause].what.split(",")[0]
    if label.cause == "sensor-stuck":
        how = f"the {str(label.role).replace('_', ' ')} instrument holds one value"
    else:
        size = f"{label.size:+.0%}" if label.unit == "fraction" else f"{label.size:+.4g} {label.unit}"
        how = f"{what}: {size}"
        if label.role:
            how = f"{label.role.replace('_', ' ')}: {how}"
    since = f"from {label.onset:%Y-%m-%d}"
    if label.full > label.onset:
        since += f", full by {label.full:%Y-%m-%d}"
    until = "" if label.ended is None else f", put right on {label.ended:%Y-%m-%d}"
    return f"{label.vessel}, {label.cause.replace('-', ' ')} ({label.shape}): {how}, {since}{until}."
