"""Makes docs/example-certificate.pdf: the demo's sample unit, worked through by a simulated hand, so it says SIMULATED;
and pictures of its first page on A4 and Letter. Run: python docs/example_certificate.py [--folder F]

The records, the key and the number are made for it and thrown away: nobody has the key again. The pictures are drawn by
poppler's pdftoppm; half a minute on two cores.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
from pathlib import Path

os.environ["QT_QPA_PLATFORM"] = "offscreen"
HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent))

from station.app.certify import certify  # noqa: E402
from station.app.opening import RULES  # noqa: E402
from station.app.samples import DEMO_LOT, DEMO_SHOP, demo_unit, work_through  # noqa: E402
from station.records.store import open_store  # noqa: E402
from station.ui.start import make_app  # noqa: E402

UNIT = "SM-07-06"
DOTS_PER_INCH = 110


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--folder", type=Path, default=HERE)
    target = parser.parse_args().folder
    app = make_app()  # held: Qt paints the certificate
    with tempfile.TemporaryDirectory() as data:
        os.environ["RESTPOINT_DATA"] = str(Path(data) / "records")
        with open_store(Path(data) / "records", RULES) as store:
            for key, value in DEMO_SHOP.items():
                store.set_setting(key, value)
            store.add_lot(DEMO_LOT)
            unit = store.add_unit(demo_unit(UNIT))
            sheet = work_through(store, unit).sheet
            for paper in ("A4", "Letter"):
                store.set_setting("paper", paper)
                made = certify(store, unit.id, sheet, now=store.now()).path
                picture = target / "screenshots" / f"certificate-{paper.lower()}"
                picture.parent.mkdir(parents=True, exist_ok=True)
                first_page = ("-f", "1", "-l", "1", "-singlefile", "-r", str(DOTS_PER_INCH), "-png")
                subprocess.run(("pdftoppm", *first_page, made, picture), check=True)
                if paper == "A4":
                    (target / "example-certificate.pdf").write_bytes(made.read_bytes())
    del app


if __name__ == "__main__":
    main()
