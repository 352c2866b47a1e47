"""Do the tests of a session agree? One module for each question, in the order they are read."""

from slowphase.reading.agreement.battery import Battery
from slowphase.reading.agreement.compare import compare
from slowphase.reading.agreement.comparison import AgreementRule, Comparison
from slowphase.reading.agreement.table import RULES

__all__ = ["RULES", "AgreementRule", "Battery", "Comparison", "compare"]
