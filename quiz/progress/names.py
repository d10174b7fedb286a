"""The names of the charts, apart so that the command line knows them without loading any."""

CHARTS = (
    "weeks", "devices", "keys", "kinds", "mistaken", "forecast", "days", "minutes", "calibration",
)  # fmt: skip
"""In the order in which they are shown."""
