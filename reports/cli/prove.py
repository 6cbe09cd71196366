"""`sevenppb prove`: faults of known size in copies of the user's own readings."""

import os
from importlib.metadata import version
from pathlib import Path

import click

from sevenppb.reports.cli import options, progress, running


@click.command()
@options.fleet_argument
@click.option("--vessel", "vessels", metavar="ID", multiple=True, help="Only this vessel; may be repeated.")
@click.option(
    "--trials",
    type=click.IntRange(min=2),
    default=6,
    show_default=True,
    help="Faults tried of each cause, and copies without any.",
)
@click.option(
    "--seed", type=click.IntRange(min=0), default=1, show_default=True, help="Chooses sizes, days and weeks."
)
@options.out_option("proof")
@options.workers_option
@options.quiet_option
@click.pass_context
def prove(
    ctx: click.Context,
    fleet: Path,
    vessels: tuple[str, ...],
    trials: int,
    seed: int,
    out: Path | None,
    workers: int | None,
    quiet: bool,
) -> None:
    """Tell which sizes of fault a scan of your readings would find.

    It puts faults of known size into copies of them and scans these.

    \b
    Example:
      sevenppb prove fleet.toml --vessel DA-1 --trials 20
    """
    from sevenppb.detect import prove as proving
    from sevenppb.detect.fleet import read_fleet
    from sevenppb.detect.settings import DEFAULTS
    from sevenppb.reports import html, proof_document, write
    from sevenppb.reports.views.proof import proof_view

    described = read_fleet(fleet)
    folder = out if out is not None else fleet.parent / "proof"
    with progress.shown(quiet=quiet) as show:
        proof = proving.prove_fleet(
            described,
            vessels=vessels,
            trials_each=trials,
            seed=seed,
            workers=workers or os.cpu_count() or 1,
            progress=show,
            tool=f"sevenppb {version('sevenppb')}",
        )
        view = proof_view(proof, described, DEFAULTS)
        files = {"proof.html": html.proof_page(view), "proof.json": proof_document.encoded(proof)}
        write.write_all(folder, files)
    for vessel in proof.vessels:
        if vessel.state != "scanned":
            click.echo(vessel.error or f"{vessel.id}: {vessel.state}", err=True)
    click.echo(view.lead)
    running.tell_place(folder / "proof.html")
    if any(vessel.state == "failed" for vessel in proof.vessels):
        ctx.exit(options.VESSEL_FAILED)
