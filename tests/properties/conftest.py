"""One profile for all properties: the same examples each time, no clock."""
from hypothesis import HealthCheck, settings

settings.register_profile("plank", derandomize=True, deadline=None, max_examples=30, database=None,
                          suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("plank")
