"""Print the two set-up commands of README.md, one per line."""

from __future__ import annotations

import re
from pathlib import Path

text = (Path(__file__).resolve().parent.parent / "README.md").read_text(encoding="utf-8")
blocks = re.findall(r"```sh\n(.*?)```", text, re.DOTALL)
for block in blocks[:2]:
    print(block.strip())
