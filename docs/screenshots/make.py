"""Makes the screenshots of the docs. Run: python docs/screenshots/make.py [folder]

Every picture is the real window on a scene of the demo scenario (invented), drawn without a display.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "ui")]

import scenes  # noqa: E402
from fake_desk import FakeDesk  # noqa: E402

from station.ui.start import make_app  # noqa: E402
from station.ui.window import MainWindow  # noqa: E402

SIZES = ((1280, 720), (1920, 1080))


def settle(window: MainWindow) -> None:
    """Let layouts and one tick happen."""
    app = make_app()
    for _ in range(4):
        app.processEvents()
    window.tick()
    app.processEvents()


def shoot(window: MainWindow, folder: Path, name: str) -> None:
    settle(window)
    window.grab().save(str(folder / f"{name}.png"))
    print(folder / f"{name}.png")


def main() -> None:
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else HERE
    folder.mkdir(parents=True, exist_ok=True)
    make_app([])
    for theme in ("dark", "light"):
        for wide, tall in SIZES:
            desk = FakeDesk()
            scenes.left_shoulder(desk)
            window = MainWindow(desk, theme, scenes.LIMITS)
            window._timer.stop()
            window.resize(wide, tall)
            window.show()
            settle(window)
            seen, reach = scenes.rim_marks()
            from station.ui.dial import RimView

            window.live.dials["left_stick"].set_rim(RimView(seen, reach))
            window.live.dials["left_stick"].set_settled([(10.2, -1.0), (12.6, -2.0), (9.0, 1.0)])
            right = seen.copy()
            right[42:62] = False
            window.live.dials["right_stick"].set_rim(RimView(right, reach * 0 + 99))
            shoot(window, folder, f"bench-{theme}-{wide}")
            window.close()


if __name__ == "__main__":
    main()
