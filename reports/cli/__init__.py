from sevenppb.reports.cli.app import main as main
