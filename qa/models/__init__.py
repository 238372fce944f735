"""Rows of what was built and what was measured."""

from qa.models.buildups import KeptBuildUp, Layer, Location, Outline
from qa.models.construction import CheckEntry, ConstructionCheck, ConstructionRecord, CorrectiveWork
from qa.models.files import Attachment
from qa.models.inspections import Inspection, InspectionFinding, Remedy, SourceChange
from qa.models.presets import OwnBand, OwnLimit
from qa.models.rain import RainCover, RainFall, RainRecord
from qa.models.rounds import InfiltrationTest, TestRound
from qa.models.sievings import Sieving
from qa.models.sites import Site
from qa.models.soil_tests import SoilTest
from qa.models.surfaces import Surface

__all__ = [
    "Attachment",
    "CheckEntry",
    "ConstructionCheck",
    "ConstructionRecord",
    "CorrectiveWork",
    "InfiltrationTest",
    "Inspection",
    "InspectionFinding",
    "KeptBuildUp",
    "Layer",
    "Location",
    "Outline",
    "OwnBand",
    "OwnLimit",
    "RainCover",
    "RainFall",
    "RainRecord",
    "Remedy",
    "Sieving",
    "Site",
    "SoilTest",
    "SourceChange",
    "Surface",
    "TestRound",
]
