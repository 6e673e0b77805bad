"""What every test of the window needs before Qt is loaded, and what holds for every project that is saved."""

import gc
import os

import pytest

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
os.environ.setdefault("PYQTGRAPH_QT_LIB", "PySide6")


@pytest.fixture(autouse=True)
def rubbish_is_collected_between_tests_alone():
    """Where there is no window, nobody keeps Python from ending widgets in a thread that is not theirs."""
    from app.tidying import collect_due  # noqa: PLC0415 - after Qt has been told what it needs

    gc.disable()
    yield
    collect_due()


@pytest.fixture(scope="session")
def _misfits():
    """What was saved, by any test in any thread, and does not fit the published schema."""
    from core import project_file  # noqa: PLC0415 - a test that saves nothing may run without
    from tests.core.project_strategies import check_schema  # noqa: PLC0415

    misfits, real = [], project_file.to_bytes

    def checked(project):
        data = real(project)
        try:
            check_schema(data)
        except Exception as error:
            misfits.append(str(error))
        return data

    project_file.to_bytes = checked
    yield misfits
    project_file.to_bytes = real


@pytest.fixture(autouse=True)
def every_saved_project_fits_the_schema(_misfits):
    yield
    found, _misfits[:] = list(_misfits), []
    assert not found, found
