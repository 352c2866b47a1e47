import invented_analysis
import pytest


@pytest.fixture(scope="session")
def analysis():
    """An invented patient with a right-beating nystagmus after a loss on the left."""
    return invented_analysis.invented_analysis()
