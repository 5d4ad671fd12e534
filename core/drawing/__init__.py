"""Charts, instruments and sheets as data."""
