"""Settings shared by all tests."""

from hypothesis import settings

# No deadline: how long one example takes depends on what else the machine does.
settings.register_profile("project", deadline=None, print_blob=True)
settings.load_profile("project")
