"""The command line: a file a command (demo, draft, check, scan, compare, digest, prove, note, close), which app puts
together; options, running, progress and interrupt are what several of them share."""

from sevenppb.reports.cli.app import main as main
from sevenppb.reports.cli.app import program as program
