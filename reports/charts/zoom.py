"""The evidence charts as a page can zoom them: the same specification over the days that the reader chose.

The static drawing is what prints and what a reader without scripts sees; this only adds to it.
"""

import json
from datetime import date
from functools import cache
from typing import Any

from sevenppb.reports.charts import bundled, style

_FROM, _TO = "from", "to"
_DAYS = "days"
_BY_DAY = (_DAYS, "dots")
_CHOSEN = {"filter": f"datum.day >= {_FROM} && datum.day <= {_TO}"}


@cache
def library() -> str:
    """The chart library for the page, as vl-convert supplies it: the version that draws the static charts."""
    script = bundled.script("window.vegaEmbed = vegaEmbed;")
    # nothing in a script may look like its end
    return script.replace("</script", "<\\/script")


def payload(drawn: dict[str, Any]) -> dict[str, Any]:
    """What the page's script needs: `spec`, with parameters `from` and `to` [ms since 1970] for the days
    shown, and the days' `columns`, from which it makes the rows (a tenth of their bytes); `day` counts from `start`.

    drawn   the chart's static specification; it stays as it is
    """
    spec: dict[str, Any] = {
        **drawn,
        "params": [{"name": _FROM, "value": 0}, {"name": _TO, "value": 0}],
        "layer": [_within(layer) for layer in drawn["layer"]],
        "datasets": {name: rows for name, rows in drawn["datasets"].items() if name not in _BY_DAY},
    }
    spec = json.loads(style.screen(json.dumps(spec)))  # in the page's own colours
    rows = drawn["datasets"][_DAYS]
    days = [date.fromisoformat(str(row["day"])).toordinal() for row in rows]
    columns = {name: [row[name] for row in rows] for name in rows[0] if name != "day"}
    return {
        "spec": spec,
        "start": rows[0]["day"],
        "columns": {"day": [day - days[0] for day in days], **columns},
    }


def _within(layer: dict[str, Any]) -> dict[str, Any]:
    """The layer over the chosen days alone; its values then fill the height."""
    encoding = dict(layer["encoding"])
    if encoding.get("x", {}).get("type") == "temporal":
        scale = {**encoding["x"]["scale"], "domainMin": {"expr": _FROM}, "domainMax": {"expr": _TO}}
        encoding["x"] = {**encoding["x"], "scale": scale}
    found = {**layer, "encoding": encoding, "mark": {**layer["mark"], "clip": True}}
    if layer["data"]["name"] in _BY_DAY:
        found["transform"] = [_CHOSEN]
    return found
