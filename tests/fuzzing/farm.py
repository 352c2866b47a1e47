"""One target under atheris: ``python -m tests.fuzzing.farm NAME -runs=5000 -seed=1``."""

import sys
import tempfile
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["slowphase", "tomllib", "json"]):
    from tests.fuzzing.targets import SEEDS, survives

name = sys.argv[1]


@atheris.instrument_func
def one_input(data):
    survives(name, data)


with tempfile.TemporaryDirectory() as corpus:
    for number, seed in enumerate(SEEDS[name]):
        (Path(corpus) / str(number)).write_bytes(seed)
    atheris.Setup([sys.argv[0], corpus, *sys.argv[2:]], one_input)
    atheris.Fuzz()
