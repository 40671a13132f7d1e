"""What all tests share: a property test fails for what it finds, never for how long it took to find it."""

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
