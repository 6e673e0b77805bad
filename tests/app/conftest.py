"""What is left of a test of the window goes when it ends, in the thread of the window."""

import gc

import pytest


@pytest.fixture(autouse=True, scope="module")
def old_rubbish():
    # As `app.tidying`: the collector may not run in a thread that reads or writes while a test goes on.
    gc.disable()
    yield
    gc.collect()
    gc.enable()


@pytest.fixture(autouse=True)
def young_rubbish(old_rubbish):
    yield
    gc.collect(1)
