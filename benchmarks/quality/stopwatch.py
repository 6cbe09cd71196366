"""Processor seconds by what they were spent on: what else a machine does makes them no more."""

import time


class Stopwatch:
    """`seconds` by name: each lap is entered under the name of what has been done since the last."""

    def __init__(self) -> None:
        self.seconds: dict[str, float] = {}
        self._last = time.process_time()

    def lap(self, what: str) -> None:
        now = time.process_time()
        self.seconds[what] = self.seconds.get(what, 0.0) + now - self._last
        self._last = now
