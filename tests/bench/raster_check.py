"""The end-to-end raster check on as many open drawings as you like.

    python tests/bench/raster_check.py --count 1000

Prints each drawing whose stack differs from it, and the counts. The suite runs the same check on 200.
"""

import argparse
import sys
import tempfile
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))

from open_drawings import deal_into_layers, open_drawings
from raster import compare

from layercut import LayercutError, compile_drawing, load_job, sheet_files


def check(source: Path, path: Path) -> str:
    """What came of one drawing: holds, differs, refused or the code of an error."""
    dealt = deal_into_layers(source)
    path.write_text(dealt)
    job = load_job(None, ["islands.policy=loose"])
    try:
        build = compile_drawing(path, job)
    except LayercutError as error:
        return error.code
    if not build.makeable:
        return "refused"
    sheets = [text for _, text in sorted(sheet_files(build).items())]
    result = compare(dealt, sheets, job.panel.frame, job.panel.corner, px_per_mm=4)
    return "differs" if result.different else "holds"


def main() -> None:
    """Run the check and print the counts."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=1000)
    count = parser.parse_args().count
    counts: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        for source in open_drawings(count):
            outcome = check(source, Path(folder) / "dealt.svg")
            counts[outcome] += 1
            if outcome != "holds":
                print(f"{source.name}: {outcome}", flush=True)
    print(", ".join(f"{outcome} {number}" for outcome, number in sorted(counts.items())))


if __name__ == "__main__":
    main()
