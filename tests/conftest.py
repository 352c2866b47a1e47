"""Being here, this file puts the tests' own modules (``scenarios``) on the import path."""

import os

from hypothesis import settings

# No test may fail for being slow on a busy machine, and CI meets the same examples every time.
settings.register_profile("patient", deadline=None, derandomize="CI" in os.environ)
settings.load_profile("patient")
