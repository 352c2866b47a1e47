"""Being built."""

COLUMNS_MOST = 8192
MEDIA_TYPE = "application/vnd.slowphase.traces"
