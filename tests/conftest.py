"""Settings of the whole suite."""

from effort import effort
from hypothesis import HealthCheck, settings

settings.register_profile(
    "default",
    max_examples=effort(100),
    deadline=None,
    derandomize=True,
    suppress_health_check=[
        HealthCheck.too_slow,
        HealthCheck.data_too_large,
        HealthCheck.filter_too_much,
    ],
)
settings.load_profile("default")
