"""Coverage-guided fuzzing of every reader of `hostile.py`:

    python tests/faults/fuzz_atheris.py [RUNS] [NAME...]

Needs the extra `fuzz`. Each reader is fuzzed in a process of its own, since a fuzzer ends the one it runs
in: RUNS inputs (usual: 3000) from one seed; exit 1 when a reader failed, and the input that did it lies in
the folder that is told. What is fed is made up from a good file, at most 12,000 bytes; an input that takes
over 2 s or a gigabyte fails too.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).resolve().parent
CLONE = HERE.parent.parent
SEED, LONGEST = 20260601, 12_000
#: a data check reads a whole folder each time: such a reader is given a fiftieth of the inputs
SLOW = {"wood", "evidence", "law"}
#: what a reader begins with, beside the empty file
BEGIN = {
    "yaml": "data/species/alnus-rubra.yaml", "layup": "data/demo/seat-shell.yaml",
    "wood": "data/species/alnus-rubra.yaml", "evidence": "data/trade/evidence.yaml",
    "law": "data/trade/listings.yaml", "events": "tests/provenance/data/scenario.json",
}  # fmt: skip


def fuzz(name: str, runs: int, corpus: str) -> None:
    """Fuzz one reader in this process, which ends with it."""
    import atheris

    with atheris.instrument_imports(include=["woodref"]):
        sys.path.insert(0, str(HERE))
        import hostile

        target = hostile.TARGETS[name]
        # what is imported when it is first needed is instrumented too
        hostile.refused_or_read(target, b"x: 1\n")

    def one(body: bytes) -> None:
        hostile.refused_or_read(target, body)

    atheris.Setup(
        [
            sys.argv[0], corpus, f"-atheris_runs={runs}", f"-runs={runs}", f"-seed={SEED}",
            f"-max_len={LONGEST}", "-timeout=2", "-rss_limit_mb=1024",
            f"-artifact_prefix={corpus}/",
        ],
        one,
    )  # fmt: skip
    atheris.Fuzz()


def main(runs: int, names: list[str]) -> int:
    """Fuzz each reader in a child process; 1 when any of them failed."""
    sys.path.insert(0, str(HERE))
    import hostile

    failed = []
    for name in names or list(hostile.TARGETS):
        place = tempfile.mkdtemp(prefix=f"woodref-fuzz-{name.replace(' ', '-')}-")
        cache = os.environ.get("WOODREF_CACHE") or place
        Path(cache).mkdir(parents=True, exist_ok=True)
        if name in BEGIN:
            (Path(place) / "begin").write_bytes((CLONE / BEGIN[name]).read_bytes())
        count = max(1, runs // 50 if name in SLOW else runs)
        done = subprocess.run(
            [sys.executable, __file__, "--one", name, str(count), place],
            capture_output=True, text=True, check=False, env={**os.environ, "WOODREF_CACHE": cache},
        )  # fmt: skip
        # the fuzzer tells how many it ran only where it came to the end
        tried = re.findall(r"^Done ([0-9]+) in", done.stderr, re.MULTILINE)
        # a failure ends the fuzzer before that and leaves its input; how the process is taken down after it
        # is no matter of the readers, and told
        left = [
            path for kind in ("crash", "timeout", "oom", "leak") for path in Path(place).glob(f"{kind}-*")
        ]
        sound = tried and int(tried[0]) >= count and not left
        print(f"{name}: {tried[0] if tried else 0} inputs, {'sound' if sound else f'FAILED, see {place}'}")
        if sound and done.returncode:
            print(
                f"{name}: ended with {done.returncode} after the last of them", done.stderr[-500:], sep="\n"
            )
        if not sound:
            failed.append(name)
            print(done.stdout[-3000:], done.stderr[-3000:], sep="\n")
    return 1 if failed else 0


if __name__ == "__main__":
    if sys.argv[1:2] == ["--one"]:
        fuzz(sys.argv[2], int(sys.argv[3]), sys.argv[4])
    else:
        sys.exit(main(int(sys.argv[1]) if sys.argv[1:] else 3000, sys.argv[2:]))
