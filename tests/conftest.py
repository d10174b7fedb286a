"""What every test shares: how the property tests draw their examples."""

import pytest
from hypothesis import settings


def pytest_configure(config: pytest.Config) -> None:
    """The same examples on every run, unless `--hypothesis-profile=explore` asks for new ones."""
    settings.register_profile("steady", derandomize=True, deadline=None, max_examples=60)
    settings.register_profile("explore", deadline=None, max_examples=2000)
    settings.load_profile("steady")
