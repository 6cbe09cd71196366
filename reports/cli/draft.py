"""`sevenppb draft`: exports → a fleet file for a person to correct."""

from pathlib import Path

import click


@click.command()
@click.argument("exports", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("fleet.toml"),
    show_default=True,
    help="The fleet file to write; one that is there is left alone.",
)
def draft(exports: tuple[Path, ...], out: Path) -> None:
    """Look at exports and draft a fleet file for you to correct.

    It guesses roles and units of tags, each with its reason beside it.

    \b
    Example:
      sevenppb draft exports/*.csv --out fleet.toml
    """
    from sevenppb.detect.exports.draft import draft as drafted
    from sevenppb.reports import write

    if out.exists():
        raise write.WriteFault(f"{out} is there already and is left alone. Choose another name with --out.")
    text = drafted(exports, out.parent)
    write.write_all(out.parent, {out.name: text.encode("utf-8")})
    click.echo(f"Drafted {out.resolve()}: correct it, then run sevenppb check on it.")
