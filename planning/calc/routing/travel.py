"""How long and how far it is from place to place: great circles times a road factor, or a matrix that was measured."""

from collections.abc import Sequence

import numpy as np

from planning.calc.routing.problem import Floats, Ints

EARTH_KM = 6371.0088  # mean radius, IUGG; from memory
ROAD_FACTOR = 1.3  # roads against the straight line; common practice, no source
SPEED_KM_H = 50.0  # of a crew's van on mixed roads; our judgement
SETTING_UP_MIN = 10  # of leaving one site and arriving at another; our judgement


def great_circle_km(latitudes_deg: Sequence[float], longitudes_deg: Sequence[float]) -> Floats:
    """(P, P) km between points on the globe (haversine formula, which keeps its digits for near points)."""
    lat, lon = np.radians(np.asarray(latitudes_deg)), np.radians(np.asarray(longitudes_deg))
    rise, run = lat[:, None] - lat, lon[:, None] - lon
    half = np.sin(rise / 2) ** 2 + np.cos(lat[:, None]) * np.cos(lat) * np.sin(run / 2) ** 2
    return np.asarray(2 * EARTH_KM * np.arcsin(np.sqrt(np.minimum(half, 1.0))))


def road_km(latitudes_deg: Sequence[float], longitudes_deg: Sequence[float]) -> Floats:
    """(P, P) km by road, as nearly as a factor tells."""
    return ROAD_FACTOR * great_circle_km(latitudes_deg, longitudes_deg)


def minutes_of(km: Floats, speed_km_h: float = SPEED_KM_H) -> Ints:
    """(P, P) whole minutes of a drive, with the time it takes to leave and arrive; none within a place."""
    drive = np.ceil(60.0 * km / speed_km_h).astype(np.int64)
    return np.where(km > 0.0, drive + SETTING_UP_MIN, 0)


def money_of(km: Floats, minutes: Ints, per_km: float, per_hour: float) -> Floats:
    """(P, P) money that a drive costs: the van by distance, the crew by time."""
    return per_km * km + per_hour * minutes / 60.0
