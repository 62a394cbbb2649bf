def sweep(
    moves: object,
    tip_radius: float,
    slope: float,
    radius: float,
    columns: int,
    rows: int,
    cell: float,
    left: float,
    top: float,
) -> bytes: ...
def seconds(moves: object, speeds: object, acceleration: float, corner: float) -> bytes: ...
