"""colour-science (the package of that name, BSD-3-Clause), asked in a process of its own.

It puts mocks of what it misses into ``sys.modules`` and brings numpy along: neither should be in
the process that runs the other tests.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Mapping, Sequence
from typing import Final

_CHILD: Final = """
import json, sys, warnings
warnings.simplefilter("ignore")
import colour
import colour.models
asked = json.load(sys.stdin)
json.dump({
    name: [getattr(colour.models, name)(value).tolist() for value in values]
    for name, values in asked.items()
}, sys.stdout)
"""


def converted(
    asked: Mapping[str, Sequence[Sequence[float]]],
) -> dict[str, list[list[float]]]:
    """By the name of a conversion of its ``colour.models``, what each value becomes."""
    done = subprocess.run(
        [sys.executable, "-c", _CHILD],
        input=json.dumps(asked),
        capture_output=True,
        check=True,
        text=True,
        timeout=60,
    )
    answered: dict[str, list[list[float]]] = json.loads(done.stdout)
    return answered
