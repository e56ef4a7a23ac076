"""The store of answers of the tests is their own; compiled code is still found where it is."""

import os

import numba
import pytest

import sim.compiled  # noqa: F401  names the folder of compiled code


@pytest.fixture(scope="session", autouse=True)
def own_cache(tmp_path_factory):
    """Keep answers out of the user's cache, in this process and in those it starts."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(os.environ, "NUMBA_CACHE_DIR", numba.config.CACHE_DIR)
        patch.setitem(os.environ, "XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
        yield
