"""A certificate is issued within 1.5 s and verified within 0.5 s in this process, its file is at most 400 kB; the
checking page has at most 60 kB and answers within 1 s for a file of 1 MB.

    python tests/bench/certificate.py [--runs N]

The unit is the demo's sample, worked through by a simulated hand: every check of a whole plan with captures. Issuing is
all of it: records and captures read, dials worked out, pages painted, signed, the number taken, the file on the disk.
Verifying is what `restpoint verify` does with a file that nobody changed, without starting a process; the ratio is to
hashing the file and checking one bare signature of it. The page runs in chromium where that and Playwright are there,
with a certificate whose photo is noise, so that it has 1 MB.
"""

from __future__ import annotations

import argparse
import base64
import hashlib
import json
import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))
os.environ["QT_QPA_PLATFORM"] = "offscreen"

from PySide6.QtGui import QImage  # noqa: E402

from station.app.certify import certify  # noqa: E402
from station.app.opening import RULES  # noqa: E402
from station.app.samples import DEMO_LOT, DEMO_SHOP, demo_unit, work_through  # noqa: E402
from station.certificate.formats import A4  # noqa: E402
from station.certificate.keys import KnownKey  # noqa: E402
from station.certificate.page import render_pdf  # noqa: E402
from station.certificate.photo import Pictures  # noqa: E402
from station.certificate.signature import holds  # noqa: E402
from station.certificate.unpack import read_pdf  # noqa: E402
from station.certificate.verify import Verdict, check, find_seal  # noqa: E402
from station.records.store import open_store  # noqa: E402
from station.ui.start import make_app  # noqa: E402
from tests.certificate.browser import BROWSER, PAGE, judged_by, opened, started  # noqa: E402
from tests.certificate.signed import KEY  # noqa: E402
from tests.certificate.test_readable import full  # noqa: E402

MOST_S = {"issue": 1.5, "verify": 0.5, "page": 1.0}
MOST_BYTES = {"pdf": 400_000, "page": 60_000}
LARGE_BYTES = 1_000_000


def seconds(work: Callable[[], object], runs: int) -> float:
    """The median time of a piece of work."""
    found = []
    for _ in range(runs):
        began = time.perf_counter()
        work()
        found.append(time.perf_counter() - began)
    return statistics.median(found)


def issued(runs: int) -> tuple[bytes, float]:
    """A certificate of the demo's unit, and how long one takes."""
    with tempfile.TemporaryDirectory() as data:
        os.environ["RESTPOINT_DATA"] = str(Path(data) / "records")
        with open_store(Path(data) / "records", RULES) as store:
            for key, value in DEMO_SHOP.items():
                store.set_setting(key, value)
            store.add_lot(DEMO_LOT)
            unit = store.add_unit(demo_unit("SM-07-06"))
            sheet = work_through(store, unit).sheet
            first = certify(store, unit.id, sheet, now=store.now())  # makes the key, loads what is loaded once
            took = seconds(lambda: certify(store, unit.id, sheet, now=store.now()), runs)
            return first.path.read_bytes(), took


def verified(pdf: bytes, runs: int) -> tuple[float, float]:
    """How long a verdict takes, and the bare hash and signature in it."""
    found, seal = read_pdf(pdf), find_seal(pdf)
    assert seal is not None
    known = {seal.public: KnownKey("bench", seal.public)}
    assert check(pdf, found, known).verdict is Verdict.GENUINE
    signature = KEY.sign(pdf)
    bare = seconds(lambda: (hashlib.sha256(pdf).digest(), holds(KEY.public, pdf, signature)), 10 * runs)
    return seconds(lambda: check(pdf, read_pdf(pdf, text=False), known), runs), bare


def large() -> bytes:
    """A certificate of 1 MB: its photo is noise."""
    side = 300
    while True:
        noise = QImage(os.urandom(side * side * 4), side, side, QImage.Format.Format_RGB32)
        pdf = render_pdf(full(), KEY, A4, Pictures(noise.copy()))
        if len(pdf) >= LARGE_BYTES:
            return pdf
        side = int(side * 1.2)


def page_seconds(pdf: bytes, runs: int) -> float | None:
    """How long the checking page takes for a file; None where there is no browser."""
    try:
        import playwright  # noqa: F401
    except ImportError:
        return None
    if BROWSER is None:
        return None
    with started() as browser, opened(browser) as page:
        assert judged_by(page, pdf, KEY.fingerprint)[0] == "genuine"
        timed = """async ([data, told]) => {
          const bytes = Uint8Array.from(atob(data), (sign) => sign.charCodeAt(0)), began = performance.now();
          await judged(bytes, told);
          return (performance.now() - began) / 1000;
        }"""
        data = base64.b64encode(pdf).decode()
        return statistics.median(page.evaluate(timed, [data, KEY.fingerprint]) for _ in range(runs))


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=5)
    runs = parser.parse_args().runs
    app = make_app()  # held: Qt paints the certificates
    pdf, issue_s = issued(runs)
    verify_s, bare_s = verified(pdf, runs)
    one_mb = large()
    page_s = page_seconds(one_mb, runs)
    page_bytes = len(PAGE.read_bytes())
    took = {"issue": issue_s, "verify": verify_s} | ({} if page_s is None else {"page": page_s})
    sizes = {"pdf": len(pdf), "page": page_bytes}
    missed = [name for name, value in took.items() if value > MOST_S[name]]
    missed += [f"{name} size" for name, size in sizes.items() if size > MOST_BYTES[name]]
    print(f"issued in {issue_s:.2f} s (at most {MOST_S['issue']}), {len(pdf) / 1000:.0f} kB (at most 400)")
    print(f"verified in {verify_s:.3f} s (at most {MOST_S['verify']}), {verify_s / bare_s:.0f} bare signatures")
    told = "not measured, there is no browser" if page_s is None else f"{page_s:.3f} s (at most {MOST_S['page']})"
    print(f"page of {page_bytes / 1000:.0f} kB (at most 60): {len(one_mb) / 1e6:.1f} MB in {told}")
    for name in missed:
        print(f"MISSED: {name}")
    result = {f"{name}_s": round(value, 4) for name, value in took.items()}
    result |= {f"{name}_of_bar": round(value / MOST_S[name], 3) for name, value in took.items()}
    result |= {f"{name}_bytes": size for name, size in sizes.items()}
    print(json.dumps({"bench": "certificate", "runs": runs, **result, "missed": missed}))
    del app
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
