import pytest


@pytest.fixture
def window(shown, session, look):
    from viewer.app.window.main_window import MainWindow

    return shown(MainWindow(session, look), 1280, 720)
