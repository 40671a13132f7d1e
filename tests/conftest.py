"""What all tests share: a property test fails for what it finds, never for how long it took to find it.

It tries the same examples every time, so that what fails for one fails for all; the long ones look for new ones.
"""

from hypothesis import HealthCheck, settings

settings.register_profile(
    "steady", deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("steady")
