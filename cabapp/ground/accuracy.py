"""What a kind of fix lets area claim: how well the edge of a swath is known."""

from cabapp.readings import FixKind

# Metres either way at the swath's edge. Field judgement, no printed source.
EDGE_ERROR_M: dict[FixKind, float] = {
    FixKind.FIXED: 0.05,
    FixKind.FLOAT: 0.5,
    FixKind.CORRECTED: 0.5,
    FixKind.SATELLITE_CORRECTED: 1.0,
    FixKind.PLAIN: 3.0,
}
OVERLAP_NEEDS_M = 0.5  # with a worse edge the overlap is noise
SHARE_THAT_COUNTS = 0.01  # a worse fix for less than this share of the area changes nothing


def edge_error_m(area_by_kind: dict[FixKind, float]) -> float | None:
    """The worst edge error among kinds of fix with a share that counts; None with no area."""
    whole = sum(area_by_kind.values())
    if whole <= 0:
        return None
    return max(
        EDGE_ERROR_M[kind]
        for kind, area in area_by_kind.items()
        if area >= SHARE_THAT_COUNTS * whole
    )


def overlap_measurable(area_by_kind: dict[FixKind, float]) -> bool:
    """Whether overlap may be stated with these fixes."""
    error = edge_error_m(area_by_kind)
    return error is not None and error <= OVERLAP_NEEDS_M
