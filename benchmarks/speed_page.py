"""A run's figures and curves → docs/performance.md, as tables between its markers, and docs/images/performance.svg."""

from pathlib import Path
from typing import Any

import altair as alt
import pandas as pd

from benchmarks import record
from benchmarks.quality import page
from benchmarks.quality.charts import as_svg, heading
from benchmarks.record import Run
from benchmarks.suite import MOST_MEMORY
from sevenppb.reports.charts import style

WIDTH, HEIGHT = 300, 190
Point = dict[str, float]


def write(folder: Path, run: Run) -> None:
    """Fill performance.md in `folder` and draw the curves. Raises ValueError where the run measured no curves."""
    if not run.curves:
        raise ValueError("this run measured no curves: run with --curve")
    at = folder / "performance.md"
    parts = {"speed": f"Commit {run.commit}, Python {run.python}, {run.cores} cores.\n\n{record.table(run)}"}
    parts |= {f"by-{what}": page.markdown(table(points)) for what, points in run.curves.items()}
    at.write_text(page.filled(at.read_text(encoding="utf-8"), parts), encoding="utf-8")
    (folder / "images" / "performance.svg").write_text(curves(run) + "\n", encoding="utf-8")


def table(points: list[Point]) -> pd.DataFrame:
    """A row a scan; `more`, processor seconds for each vessel or year more than the row before."""
    (what, *_), before = points[0], [None, *points]
    return pd.DataFrame(
        {
            what: f"{point[what]:g}",
            "processor time": f"{point['cpu']:.1f} s",
            f"a {what.removesuffix('s')} more": "" if last is None else f"{_more(what, last, point):.2f} s",
            "wall time": f"{point['wall']:.1f} s",
            "peak memory of all processes": f"{point['peak_MB']:.0f} MB",
        }
        for last, point in zip(before, points, strict=False)
    )


def _more(what: str, last: Point, point: Point) -> float:
    return (point["cpu"] - last["cpu"]) / (point[what] - last[what])


def curves(run: Run) -> str:
    """Seconds, and memory beside its goal, against vessels and against years."""
    rows = [
        alt.hconcat(_seconds(what, points), _memory(what, points), spacing=40)
        for what, points in run.curves.items()
    ]
    return as_svg(alt.vconcat(*rows, spacing=30).to_dict())


def _seconds(what: str, points: list[Point]) -> alt.LayerChart:
    looks = {"cpu": ("processor", style.OBSERVED, [1, 0]), "wall": ("wall", style.EXPECTED, [6, 3])}
    layers: list[alt.Chart] = []
    for key, (name, colour, dash) in looks.items():
        base = _chart(what, [{what: point[what], "s": point[key]} for point in points]).encode(
            y=alt.Y("s:Q", title="s")
        )
        layers += [
            base.mark_line(color=colour, strokeDash=dash),
            base.mark_point(color=colour, filled=True, opacity=1),
            _chart(what, [{what: points[-1][what], "s": points[-1][key], "name": name}])
            .mark_text(align="right", dx=-8, dy=-8 if key == "cpu" else 14, color=colour)
            .encode(y="s:Q", text="name:N"),
        ]
    return _panel(layers, f"time against {what}")


def _memory(what: str, points: list[Point]) -> alt.LayerChart:
    base = _chart(what, [{what: point[what], "MB": point["peak_MB"]} for point in points]).encode(
        y=alt.Y("MB:Q", title="MB", scale=alt.Scale(domain=[0, MOST_MEMORY]))
    )
    goal = alt.Chart(alt.InlineData(values=[{"MB": MOST_MEMORY}])).mark_rule(
        color=style.MUTED, strokeDash=[4, 3]
    )
    layers = [
        goal.encode(y="MB:Q"),
        base.mark_line(color=style.OBSERVED),
        base.mark_point(color=style.OBSERVED, filled=True, opacity=1),
    ]
    return _panel(layers, f"peak memory against {what}; dashed, the goal")


def _chart(what: str, rows: list[dict[str, Any]]) -> alt.Chart:
    return alt.Chart(alt.InlineData(values=rows)).encode(
        x=alt.X(f"{what}:Q", title=what, scale=alt.Scale(domainMin=0))
    )


def _panel(layers: list[alt.Chart], title: str) -> alt.LayerChart:
    panel: alt.LayerChart = alt.layer(*layers).properties(width=WIDTH, height=HEIGHT, title=heading(title))
    return panel
