"""For every outcome of every rule, findings that make it: the table that the tests go through.

Values are chosen to lie clearly on one side of the limits of limits.toml, or across them.
"""

from tests.reading.cases.battery import CASES as BATTERY
from tests.reading.cases.nystagmus import CASES as NYSTAGMUS
from tests.reading.cases.positions import CASES as POSITIONS
from tests.reading.cases.rotation import CASES as ROTATION
from tests.reading.cases.targets import CASES as TARGETS

CASES = NYSTAGMUS | POSITIONS | ROTATION | BATTERY | TARGETS
