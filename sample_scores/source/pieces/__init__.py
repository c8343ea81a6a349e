"""The pieces: each module has ``compose() -> Piece``."""
