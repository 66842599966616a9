"""Names for the arrays that the measures take and give."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

F64 = NDArray[np.float64]
I64 = NDArray[np.int64]
Bool = NDArray[np.bool_]

NS_PER_S = 1_000_000_000
NS_PER_MS = 1_000_000
