"""Settings of the whole suite."""

import signal

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

# A shell that starts the suite in the background has it ignore interrupts, and tests send them.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)
