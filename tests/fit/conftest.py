import pytest
from threadpoolctl import threadpool_limits


@pytest.fixture(scope="session", autouse=True)
def one_thread():
    """As `analyze` and `explain` do: the matrices are small, threads would only wait."""
    with threadpool_limits(limits=1):
        yield
