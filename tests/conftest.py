"""What holds for all tests."""

from hypothesis import settings

# How long an example takes is no promise: a busy machine fails no test.
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
