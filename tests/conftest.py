"""What all tests share. No test here depends on how fast the machine is: hypothesis is told so."""

from hypothesis import HealthCheck, settings

settings.register_profile(
    "house",
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("house")
