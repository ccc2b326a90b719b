"""Settings that hold for every test."""

import atexit
import os
import shutil
import tempfile

from hypothesis import settings

# A shared machine is slow at times: time is measured by the benchmark, never by a test.
settings.register_profile("leadline", deadline=None, derandomize=bool(os.environ.get("CI")))
settings.load_profile("leadline")

# What programs under test compute is kept for the tests alone, not in the cache of whoever runs them.  Processes that
# share the tests among them have it together: each boat state is solved by the first that needs it.
if "PYTEST_XDIST_WORKER" not in os.environ:
    os.environ["XDG_CACHE_HOME"] = tempfile.mkdtemp(prefix="leadline-tests-")
    atexit.register(shutil.rmtree, os.environ["XDG_CACHE_HOME"], ignore_errors=True)
