"""Settings that hold for every test."""

import os

from hypothesis import settings

# A shared machine is slow at times: time is measured by the benchmark, never by a test.
settings.register_profile("leadline", deadline=None, derandomize=bool(os.environ.get("CI")))
settings.load_profile("leadline")
