"""The benchmarks are no part of the package: they are imported from the checkout."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))
