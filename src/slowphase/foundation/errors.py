"""The exceptions that Slowphase raises.

    SlowphaseError
    ├── InputError        the session cannot be used at all; carries its problems
    ├── UsageError        the caller asked for something that does not exist or makes no sense
    └── StoreError        the store did not do what was asked (``store/errors.py``)

What is wrong with *part* of a session is not an exception but a `Problem` on the session: the
sound trials go on. What is poor about *data* is a reason on a measure.
"""

from collections.abc import Sequence

from slowphase.foundation.problem import Problem


class SlowphaseError(Exception):
    """Base of everything that Slowphase raises on purpose."""


class UsageError(SlowphaseError):
    """The call itself is wrong: an unknown option, kind or name."""


class InputError(SlowphaseError):
    """Nothing of the input can be used; ``problems`` says why, one by one."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(problem.message for problem in self.problems))
