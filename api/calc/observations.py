"""The words of observations, so that other programs find in a test what they know.

Looked up: W3C/OGC Semantic Sensor Network Ontology with SOSA (Recommendation of 19 October 2017: observedProperty,
usedProcedure, phenomenonTime, resultTime, hasFeatureOfInterest, hasResult) and its mapping to ISO 19156 at
http://www.w3.org/ns/sosa/om (OM_Observation: procedure, result, featureOfInterest). Units by their case-sensitive code
in the Unified Code for Units of Measure (UCUM).
"""

from dataclasses import dataclass
from types import MappingProxyType

from core.calc.paving import TestMethod

SOSA = "http://www.w3.org/ns/sosa/"
RATE_UCUM = "mm/h"
# What a method that gives no rate shows, by the unit that is kept beside its value.
UCUM_OF = MappingProxyType({"m²/L": "m2/L", "1/s": "/s", "": "1"})


@dataclass(frozen=True, slots=True)
class ObservedProperty:
    """A property of a surface that tests observe."""

    id: str
    label: str


INFILTRATION_RATE = ObservedProperty("infiltration-rate", "Infiltration rate of the surface at a spot")
SPREAD_AREA = ObservedProperty("spread-area", "Area over which a litre spreads before it is taken in")
OUTFLOW = ObservedProperty("relative-outflow", "Outflow of a meter, one over the time it takes")
_BY_METHOD = MappingProxyType({TestMethod.SPREADING_AREA: SPREAD_AREA, TestMethod.OUTFLOW_METER: OUTFLOW})


def property_of(method: TestMethod) -> ObservedProperty:
    """What a method observes."""
    return _BY_METHOD.get(method, INFILTRATION_RATE)
