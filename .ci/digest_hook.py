"""Build hook: the wheel carries the digest of its data ready-made, so that first use reads no YAML."""

from __future__ import annotations

import importlib.util
import tempfile
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class DigestHook(BuildHookInterface):
    """Adds woodref/_data/DIGEST to the wheel."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        if version == "editable":
            return
        root = Path(self.root)
        spec = importlib.util.spec_from_file_location("paths", root / "woodref" / "paths.py")
        assert spec and spec.loader
        paths = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(paths)
        target = Path(tempfile.mkdtemp()) / "DIGEST"
        target.write_text(paths.digest_of(root / "data") + "\n", encoding="ascii")
        build_data["force_include"][str(target)] = "woodref/_data/DIGEST"
