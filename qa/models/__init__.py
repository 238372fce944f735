"""Rows of what was built and what was measured."""

from core.models.files import StoredFile
from qa.models.buildups import Layer, LayerKind, Location, Outline, Zone
from qa.models.construction import (
    CheckEntry,
    ConstructionCheck,
    ConstructionRecord,
    CorrectiveWork,
    HeaviestUse,
    Outcome,
    Stage,
)
from qa.models.files import Attachment
from qa.models.presets import OwnBand, OwnLimit
from qa.models.rounds import InfiltrationTest, MethodChoice, Purpose, TestRound
from qa.models.sievings import SieveEntry, Sieving
from qa.models.sites import Site
from qa.models.surfaces import Surface, SurfaceType, Traffic

__all__ = [
    "Attachment",
    "CheckEntry",
    "ConstructionCheck",
    "ConstructionRecord",
    "CorrectiveWork",
    "HeaviestUse",
    "InfiltrationTest",
    "Layer",
    "LayerKind",
    "Location",
    "MethodChoice",
    "Outcome",
    "Outline",
    "OwnBand",
    "OwnLimit",
    "Purpose",
    "SieveEntry",
    "Sieving",
    "Site",
    "Stage",
    "StoredFile",
    "Surface",
    "SurfaceType",
    "TestRound",
    "Traffic",
    "Zone",
]
