"""Windows of traces, decoded as the page does it."""

import json
from types import SimpleNamespace

import numpy as np


def decoded_window(data):
    """The header, and by channel its low, high and missing."""
    length = int.from_bytes(data[:4], "little")
    header = json.loads(data[4 : 4 + length])
    at, n, found = 4 + length, header["columns"], {}
    for channel in header["channels"]:
        low, high = np.frombuffer(data, "<f4", 2 * n, at).reshape(2, n)
        missing = np.frombuffer(data, np.uint8, n, at + 8 * n)
        found[channel] = SimpleNamespace(low=low, high=high, missing=missing)
        at += 8 * n + n + (-n % 4)
    assert at == len(data)
    return header, found
