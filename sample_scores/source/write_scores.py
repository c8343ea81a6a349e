"""Write all sample scores: ``python write_scores.py [FOLDER]``, without a folder beside source/."""

from __future__ import annotations

import importlib
import sys
from pathlib import Path
from typing import cast

from score_writing.musicxml import compressed, musicxml
from score_writing.piece import Piece

PIECES = (
    "the_footbridge",
    "minuet_and_trio",
    "invention_in_e_minor",
    "evening_by_the_weir",
    "waltz_at_the_ferry",
    "study_in_d_minor",
)
ALSO_COMPRESSED = ("minuet_and_trio_in_d_major",)


def main() -> None:
    """Write every piece into the folder."""
    here = Path(__file__).resolve().parent
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else here.parent
    for name in PIECES:
        piece = cast(Piece, importlib.import_module(f"pieces.{name}").compose())
        xml = musicxml(piece)
        (folder / f"{piece.file_name}.musicxml").write_bytes(xml)
        if piece.file_name in ALSO_COMPRESSED:
            (folder / f"{piece.file_name}.mxl").write_bytes(
                compressed(xml, f"{piece.file_name}.musicxml")
            )


if __name__ == "__main__":
    main()
