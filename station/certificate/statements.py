"""The sentences that stand on every certificate."""

from __future__ import annotations

DECISION_RULE = (
    "A value passes when it lies inside its limit by at least its expanded uncertainty U; it fails when it lies "
    "outside by more than U, or beyond the fail limit; anything else is borderline (guard band w = U, after JCGM 106 "
    "and ILAC-G8). With k = 2 and a normal distribution, a value that passes is really outside its limit in at most "
    "2.5 % of cases. Counts carry no uncertainty."
)
UNCERTAINTY = (
    "U is expanded with k = 2 (about 95 %) from the resolution of the unit's codes (one code / √12, JCGM 100 F.2.2.1) "
    "and the scatter of the readings, with their correlation in mind (JCGM 100 4.2). Durations include the report "
    "interval. What happens between two reports cannot be seen."
)
SIGNED = (
    "The file is signed: its last line is an Ed25519 signature over all of it, and it carries what is printed here as "
    "JSON with a signature of its own. “restpoint verify FILE.pdf” says whether both hold and whose key it is; compare "
    "the key with the one that the bench gave you by another way. A print-out cannot be checked: its QR code names the "
    "file to ask for."
)
UNSIGNED = "This file is not signed: nothing in it shows who wrote it, or whether it was changed since."
LIMITS = (
    "Limits are customary in the repair trade and have no published source, unless the model sheet gives its own; "
    "each stands beside its value. An axis reads −100 … +100 % of half travel, a trigger 0 … 100 % of travel."
)
SCOPE = (
    "These results hold for this unit only, as it was on the dates given. They say nothing of the life left in it. "
    "A bench test cannot replace the safety tests of cells and chargers. This is no accredited certificate. "
    "Copy it only as a whole."
)
