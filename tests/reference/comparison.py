"""Reading a table and printing one PASS or FAIL line per value; used by the scripts beside it.

Run a script as `python3 tests/reference/planar_cell.py` with numpy, scipy and mpmath installed
(`pip install numpy scipy mpmath`). The exit status is 0 when every line says PASS.
"""

import json
import pathlib
import sys


class Comparison:
    """Cases of one table and the tally of what has been compared with them."""

    def __init__(self, name):
        path = pathlib.Path(__file__).with_name(name + ".json")
        self.table = json.loads(path.read_text(encoding="utf-8"))
        self.cases = self.table["cases"]
        self.failures = 0
        self.lines = 0

    def case(self, name):
        """The case of that name."""
        return next(case for case in self.cases if case["name"] == name)

    def value(self, case, key, got, tolerance, expected=None):
        """Compares `got` with the expected (or given) value of `key`; `tolerance` is relative to it."""
        if expected is None:
            expected = case["expected"][key]
        difference = abs(got - expected)
        passed = difference <= tolerance * (abs(expected) if expected else 1.0)
        self.lines += 1
        self.failures += not passed
        scale = abs(expected) if expected else 1.0
        print(
            f"{'PASS' if passed else 'FAIL'}  {case['name']}: {key} = {got:.12g}, "
            f"listed {expected:.12g}, off by {difference / scale:.1e} (allowed {tolerance:.0e})"
        )

    def finish(self):
        """Prints the tally and ends the program."""
        print(f"{self.lines - self.failures} of {self.lines} agree: {self.table['title']}")
        sys.exit(1 if self.failures or not self.lines else 0)
