"""The templates, styles and scripts that ship with the package."""

from importlib.resources import files


def read(name: str) -> str:
    """A file of this folder."""
    return files("sevenppb.reports.templates").joinpath(name).read_text(encoding="utf-8")
